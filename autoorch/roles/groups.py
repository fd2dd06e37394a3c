"""The notes beside melody and bass, told apart by what they do; few groups, each of them one thing through the cue."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Any

from autoorch.roles.model import Phrase
from autoorch.roles.parameters import Section
from autoorch.roles.patterns import AFTER_BEATS, BROKEN, CHORDAL, Kind, by_attack, kind_of
from autoorch.roles.texture import Texture, Tone
from autoorch.roles.voices import in_voices

Group = tuple[str, str, list[Tone]]
"""Role, texture, tones in time order."""


def by_phrase(tones: Iterable[Tone], phrases: Sequence[Phrase]) -> list[tuple[int, list[Tone]]]:
    """Number of the phrase -> tones that start in it, only where there are any."""
    starts = [phrase.start for phrase in phrases]
    found: dict[int, list[Tone]] = {}
    for tone in tones:
        found.setdefault(max(0, bisect_right(starts, tone.onset) - 1), []).append(tone)
    return sorted(found.items())


def rest_of(
    texture: Texture,
    free: Sequence[Tone],
    tune: Sequence[Tone],
    bass: Sequence[Tone],
    figures: set[int],
    phrases: Sequence[Phrase],
    tables: tuple[Section, Section, Section],
    voices: Mapping[str, Any],
) -> list[Group]:
    """All other tones by role and texture.

    Args:
        texture: all notes.
        free: tones beside tune and bass.
        figures: indices of lowest notes that belong to a figure.
        tables: [texture], [figure], [lines] of constraints/reading.toml.
        voices: constraints/voices.toml.
    """
    table, figure, costs = tables
    hints = {staff.index: staff.hint for staff in texture.sketch.staves}
    found: list[Group] = []
    layers: dict[str, list[Tone]] = {}
    for tone in free:
        layers.setdefault(hints[tone.staff], []).append(tone)
    ground, over = dict(by_phrase(bass, phrases)), dict(by_phrase(tune, phrases))
    for hint, tones in _full(layers, table["few"]).items():
        pieces = []
        for phrase, part in by_phrase(tones, phrases):

            def named(group: Sequence[Tone], phrase: int = phrase) -> Kind:
                beside = over.get(phrase, ()), ground.get(phrase, ())
                return kind_of(texture, group, *beside, figures, table, figure)

            pieces += [piece for hand in _hands(part, table["few"]) for piece in _parted(texture, hand, named)]
        groups: dict[Kind, list[Tone]] = {}
        for kind, group in _settled(texture, pieces, table, 1.0 if hint else table["tiny"]):
            groups.setdefault(kind, []).extend(group)
        for (role, name), group in groups.items():
            group.sort(key=lambda t: t.index)
            if name != "line":
                found.append((role, name, group))
            elif hint:  # a staff of one instrument is one thing
                found.append((_line_role(texture, group, tune, table), name, group))
            else:
                found += _voices(texture, group, tune, table, costs, voices)
    return found


def _full(layers: Mapping[str, list[Tone]], few: float) -> dict[str, list[Tone]]:
    """The tones by the instrument that their staff names; those with a few stray tones go with the fullest."""
    fullest = max(layers, key=lambda hint: (len(layers[hint]), hint), default="")
    found: dict[str, list[Tone]] = {}
    for hint, tones in layers.items():
        found.setdefault(hint if len(tones) >= few else fullest, []).extend(tones)
    return {hint: sorted(tones, key=lambda t: t.index) for hint, tones in found.items()}


def _hands(tones: Sequence[Tone], few: float) -> list[list[Tone]]:
    """The tones of a phrase by staff; a staff with hardly any of them goes with the fullest."""
    staves: dict[int, list[Tone]] = {}
    for tone in tones:
        staves.setdefault(tone.staff, []).append(tone)
    fullest = max(staves, key=lambda staff: (len(staves[staff]), -staff))
    for staff in sorted(staves):
        if staff != fullest and len(staves[staff]) < few:
            staves[fullest] += staves.pop(staff)
    return [sorted(group, key=lambda t: t.index) for _, group in sorted(staves.items())]


def _parted(
    texture: Texture, tones: Sequence[Tone], named: Callable[[Sequence[Tone]], Kind]
) -> list[tuple[Kind, list[Tone]]]:
    """The tones of a hand in a phrase with their kind; bars of broken chords apart from those in which chords are struck."""
    whole = named(tones)
    by_bar: dict[int, list[Tone]] = {}
    for tone in tones:
        by_bar.setdefault(texture.sketch.bar_at(tone.onset).index, []).append(tone)
    found: dict[Kind, list[Tone]] = {}
    for group in by_bar.values():
        kind = named(group)
        other = whole[1] in CHORDAL and kind[1] in BROKEN
        found.setdefault(kind if other else whole, []).extend(group)
    return list(found.items())


def _settled(
    texture: Texture, pieces: Sequence[tuple[Kind, list[Tone]]], table: Section, tiny: float
) -> list[tuple[Kind, list[Tone]]]:
    """The same with kinds of few notes and bars gone over to the commonest of their family, and those of hardly any notes to the
    commonest.

    Broken chords are one thing however they are broken. With `tiny` = 1 all go over to the commonest.
    """
    counts: Counter[Kind] = Counter()
    bars: dict[Kind, set[int]] = {}
    for kind, group in pieces:
        counts[kind] += len(group)
        bars.setdefault(kind, set()).update(texture.sketch.bar_at(tone.onset).index for tone in group)

    def home(kind: Kind) -> Kind:
        share = counts[kind] / counts.total()
        near = {other for other in counts if _family(other) == _family(kind)}
        alike = kind[1] in AFTER_BEATS and any(other[1] in AFTER_BEATS for other in counts if other != kind)
        few = share < table["minor"] and (alike or len(bars[kind]) < table["minor_bars"])
        merged = few or kind[1] in BROKEN
        best = max(near, key=lambda other: (counts[other], other)) if merged else kind
        return max(counts, key=lambda other: (counts[other], other)) if counts[best] < tiny * counts.total() else best

    return [(home(kind), group) for kind, group in pieces]


def _family(kind: Kind) -> int:
    return 1 if kind[1] in CHORDAL else 2 if kind[1] in BROKEN else 3


def _voices(
    texture: Texture,
    tones: Sequence[Tone],
    tune: Sequence[Tone],
    table: Section,
    costs: Section,
    voices: Mapping[str, Any],
) -> list[Group]:
    """Single lines: voices that go their own way are strands of their own, those that go together are one."""
    lines = in_voices(tones, voices, costs)
    large = [line for line in lines if len(line) >= table["voice"] * len(tones)]
    attacks = [{t.onset for t in line} for line in large]
    apart = [
        len(one & other) < table["together"] * min(len(one), len(other))
        for k, one in enumerate(attacks)
        for other in attacks[k + 1 :]
    ]
    if len(large) < 2 or sum(apart) * 2 <= len(apart):
        together = len(large) > 1
        role = "inner" if together else _line_role(texture, tones, tune, table)
        hymn = together and len(by_attack(tones).keys() & by_attack(tune).keys()) >= table["together"] * len(attacks[0])
        return [(role, "hymn" if hymn else "line", list(tones))]
    own: list[list[Tone]] = [list(line) for line in large]
    for line in lines:
        if not any(line is other for other in large):
            middle = sum(t.pitch for t in line) / len(line)
            nearest = min(
                range(len(large)), key=lambda k: (abs(sum(t.pitch for t in large[k]) / len(large[k]) - middle), k)
            )
            own[nearest] += line
    return [
        (_line_role(texture, group, tune, table), "polyphony", sorted(group, key=lambda t: t.index)) for group in own
    ]


def _line_role(texture: Texture, tones: Sequence[Tone], tune: Sequence[Tone], table: Section) -> str:
    """A counterline moves by itself while the tune holds or rests, mostly by small intervals; else an inner voice."""
    attacks = by_attack(tones)
    struck = {tone.onset for tone in tune}
    if len(attacks) < table["counter_notes"] or len(tones) > table["chord"] * len(attacks):
        return "inner"
    alone = sum(onset not in struck for onset in attacks) / len(attacks)
    pitches = [group[0].pitch for group in attacks.values()]
    steps = [abs(b - a) for a, b in pairwise(pitches)]
    small = sum(0 < step <= table["counter_step"] for step in steps) / max(1, len(steps))
    return "counterline" if alone >= table["counter_alone"] and small >= table["counter_small"] else "inner"
