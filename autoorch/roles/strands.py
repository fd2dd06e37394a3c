"""Strands: the notes beside melody and bass, phrase by phrase told apart by texture, and joined through the cue."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from itertools import pairwise

from autoorch.roles.lines import in_lines
from autoorch.roles.model import Line, Phrase, Strand
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone

Kind = tuple[str, str]
ORDER = ("melody", "counterline", "inner", "figure", "rhythm", "pedal", "bass")


def doublings(
    texture: Texture, tune: Sequence[Tone], phrases: Sequence[Phrase], taken: set[int], share: float
) -> list[tuple[Tone, str]]:
    """Tones that go with the tune in octaves, thirds or sixths through a phrase, each with the texture's name."""
    found: list[tuple[Tone, str]] = []
    for _, tones in by_phrase(tune, phrases):
        for name, steps in (("unison", (0,)), ("octaves", (12, 24, -12)), ("thirds", (3, 4)), ("sixths", (8, 9))):
            copies = []
            for tone in tones:
                mates = [
                    t
                    for t in texture.attacks[tone.onset]
                    if t.index not in taken
                    and (t.end == tone.end or name == "unison")
                    and tone.pitch - t.pitch in steps
                ]
                if mates:
                    copies.append(mates[0])
            if tones and len(copies) >= share * len(tones):
                found += [(tone, name) for tone in copies]
                taken |= {tone.index for tone in copies}
                break
    return found


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
    figures: set[int],
    phrases: Sequence[Phrase],
    table: Section,
    figure: Section,
) -> dict[Kind, list[Tone]]:
    """All other tones by role and texture."""
    found: dict[Kind, list[Tone]] = {}
    for _, tones in by_phrase(free, phrases):
        groups: dict[int, list[Tone]] = {}
        for tone in tones:
            groups.setdefault(tone.staff, []).append(tone)
        small = [staff for staff, group in groups.items() if len(group) < table["few"]]
        large = [staff for staff in groups if staff not in small]
        for staff in small:
            if large:
                groups[large[0]] += groups.pop(staff)
        if len(groups) > 1 and not large:
            groups = {0: tones}
        for group in groups.values():
            group.sort(key=lambda t: t.index)
            found.setdefault(kind_of(texture, group, figures, table, figure), []).extend(group)
    return found


def kind_of(texture: Texture, tones: Sequence[Tone], figures: set[int], table: Section, figure: Section) -> Kind:
    """Role and texture of a group of tones in one phrase."""
    attacks: dict[int, list[Tone]] = {}
    for tone in tones:
        attacks.setdefault(tone.onset, []).append(tone)
    onsets = list(attacks)
    beats = [t.length / texture.beat_at(t.onset) for t in tones]
    mean = sum(beats) / len(beats)
    off = sum(not texture.on_bar(onset) for onset in onsets) / len(onsets)
    again = [{t.pitch for t in attacks[a]} == {t.pitch for t in attacks[b]} for a, b in pairwise(onsets)]
    repeated = sum(again) / len(again) if again else 0.0
    if len(tones) / len(onsets) >= table["chord"]:
        if off >= table["off_beat"] and mean <= table["held"] and repeated:
            return "rhythm", "off-beats"
        if repeated >= table["repeated"] and mean <= table["held"]:
            return "rhythm", "repeated chords"
        return "inner", "held chords"
    leaps = [abs(attacks[b][0].pitch - attacks[a][0].pitch) >= figure["third"] for a, b in pairwise(onsets)]
    short = mean <= figure["unit"] * 1.5
    if sum(t.index in figures for t in tones) * 2 > len(tones):
        return "figure", "alberti"
    if short and leaps and sum(leaps) >= figure["leaps"] * len(leaps):
        return "figure", "arpeggio"
    return "inner", "line"


def make_strands(
    texture: Texture,
    groups: Sequence[tuple[str, str, Sequence[Sequence[Tone]]]],
    table: Section,
    spans: Section,
    costs: Section,
) -> tuple[Strand, ...]:
    """Strands of at most so many lines, in score order, with the grace notes on the lines of their main notes.

    Args:
        texture: all notes.
        groups: role, texture, and layers of tones: each is laid into lines of its own, the principal layer first.
        table: [texture]; `spans`: [strand]; `costs`: [lines].
    """
    most = int(table["lines"])
    pieces: list[tuple[str, str, list[list[Tone]]]] = []
    for role, name, layers in sorted(groups, key=lambda g: ORDER.index(g[0])):
        lines = [line for tones in layers for line in in_lines(tones, costs)]
        for k in range(0, len(lines), most):
            pieces.append((role, name, lines[k : k + most]))
    if not pieces:
        pieces.append(("melody", "tune", [[]]))
    graces = _place_graces(texture, pieces)
    ids = [[[tone.id for tone in line] for line in lines] for _, _, lines in pieces]
    strands = []
    for number, (role, name, _) in enumerate(pieces, 1):
        lines_ = []
        for place, line in enumerate(ids[number - 1], 1):
            notes = [note for main in line for note in (*graces.get(main, ()), main)] + graces.get(
                f"{number}.{place}", []
            )
            lines_.append(Line(f"s{number}.{place}", tuple(notes)))
        cuts = cuts_of(texture, pieces[number - 1][2][0], spans)
        strands.append(Strand(f"s{number}", role, tuple(lines_), name, cuts=cuts))
    return tuple(strands)


def cuts_of(texture: Texture, line: Sequence[Tone], table: Section) -> tuple[int, ...]:
    """Places where a strand may be cut: after rests and at wide leaps of its first line, at least a bar apart."""
    found: list[int] = []
    last = texture.in_bars(line[0].onset) if line else 0.0
    for a, b in pairwise(line):
        rest = (b.onset - a.end) / texture.beat_at(b.onset) >= table["cut_rest"]
        leap = abs(b.pitch - a.pitch) >= table["cut_leap"]
        if (rest or leap) and texture.in_bars(b.onset) - last >= table["cut"]:
            found.append(b.onset)
            last = texture.in_bars(b.onset)
    return tuple(found)


def _place_graces(texture: Texture, pieces: Sequence[tuple[str, str, list[list[Tone]]]]) -> dict[str, list[str]]:
    """Id of a main note (or "strand.line" for its end) -> ids of the grace notes that stand before it.

    A grace note goes to the note of its own staff and voice that starts with it, nearest in pitch; without one to a line
    that is silent there, before its next note.
    """
    found: dict[str, list[str]] = {}
    flat = [(n, k, line) for n, (_, _, lines) in enumerate(pieces, 1) for k, line in enumerate(lines, 1)]
    for grace in texture.graces:
        pitch = grace.pitch.midi
        mains = texture.attacks.get(grace.onset, [])
        if mains:
            main = min(
                mains, key=lambda t: (t.staff != grace.staff, t.voice != grace.voice, abs(t.pitch - pitch), t.index)
            )
            found.setdefault(main.id, []).append(grace.id)
            continue
        silent = [
            (abs(line[0].pitch - pitch) if line else 0, n, k, line)
            for n, k, line in flat
            if all(t.end <= grace.onset or t.onset >= grace.onset for t in line)
        ]
        if not silent:  # everything is held through: a line of its own
            pieces[0][2].append([])
            flat.append((1, len(pieces[0][2]), []))
            found.setdefault(f"1.{len(pieces[0][2])}", []).append(grace.id)
            continue
        _, n, k, line = min(silent, key=lambda entry: entry[:3])
        later = [t for t in line if t.onset >= grace.onset]
        found.setdefault(later[0].id if later else f"{n}.{k}", []).append(grace.id)
    return found
