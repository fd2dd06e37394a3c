"""Strands: the tune's doublings, and all groups of notes as strands of lines in score order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from itertools import pairwise

from autoorch.roles.groups import by_phrase
from autoorch.roles.lines import in_lines
from autoorch.roles.model import SCORE_ORDER, Line, Phrase, Strand
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone
from autoorch.sketch.model import Sketch

COPIES = (
    ("unison", (0,)),
    ("octaves", (12, -12)),
    ("octaves", (24,)),
    ("octaves", (36,)),
    ("thirds", (3, 4)),
    ("sixths", (8, 9)),
)
STRAY = 10
"""A line that has so many times fewer notes than the fullest is not the strand's principal one."""
CUT = ("melody", "counterline", "pedal", "bass")
"""Roles of strands that rest and breathe, so that they may be cut there; chords and figures go on through a phrase."""
Layers = tuple[str, str, list[list[Tone]]]
"""Role, texture, and layers of tones: each is laid into lines of its own, the principal layer first."""


def doublings(
    texture: Texture, tune: Sequence[Tone], phrases: Sequence[Phrase], taken: Collection[int], table: Section
) -> list[tuple[Tone, str]]:
    """Tones that go with the tune through a phrase in unison, octaves, thirds or sixths, each with the texture's name.

    Octaves that the hand of the tune adds to some of its notes, as accents, go with it too, and runs in octaves, thirds, sixths.

    Args:
        texture: all notes.
        tune: the tune.
        phrases: of the whole cue.
        taken: indices of tones that can be no copies.
        table: [texture].
    """
    found: list[tuple[Tone, str]] = []
    used = set(taken) | {tone.index for tone in tune}
    for _, tones in by_phrase(tune, phrases):
        for name, steps in COPIES:
            copies = []
            for tone in tones:
                mates = [
                    t
                    for t in texture.attacks[tone.onset]
                    if t.index not in used and (t.end == tone.end or name == "unison") and tone.pitch - t.pitch in steps
                ]
                if mates:
                    copies.append((tone, mates[0]))
            accents = [copy for tone, copy in copies if name == "octaves" and _same_hand(texture, tone, copy)]
            if len(copies) >= table["double_share"] * len(tones):
                kept = [copy for _, copy in copies]
            elif len(accents) >= max(table["few"], table["accents"] * len(tones)):
                kept = accents
            else:
                kept = _runs(texture, tones, copies, table)
            found += [(tone, name) for tone in kept]
            used |= {tone.index for tone in kept}
    return found


def _runs(texture: Texture, tones: Sequence[Tone], copies: Sequence[tuple[Tone, Tone]], table: Section) -> list[Tone]:
    """Copies of so many quick notes of the tune one after the other, which the hand has with nothing else."""
    alone = {tone.index: copy for tone, copy in copies if _same_hand(texture, tone, copy)}
    found: list[Tone] = []
    run: list[Tone] = []
    for tone in (*tones, None):
        if tone is not None and tone.index in alone and tone.length <= table["run_unit"] * texture.beat_at(tone.onset):
            hand = sum(t.staff == tone.staff for t in texture.attacks[tone.onset])
            if hand == 2:
                run.append(alone[tone.index])
                continue
        found += run if len(run) >= table["run"] else []
        run = []
    return found


def _same_hand(texture: Texture, tone: Tone, copy: Tone) -> bool:
    """Both stand on one staff of several with nothing between, and something sounds below."""
    if len(texture.sketch.staves) < 2:
        return False
    between = any(copy.pitch < t.pitch < tone.pitch for t in texture.attacks[tone.onset])
    below = any(t.pitch <= copy.pitch and t is not copy for t in texture.sounding[tone.onset])
    return tone.staff == copy.staff and not between and below


def octaves_of(
    texture: Texture, bass: Sequence[Tone], phrases: Sequence[Phrase], taken: Collection[int], share: float
) -> list[Tone]:
    """Tones that the hand adds to a bass an octave above, nothing between, in phrases where a share of its notes has them."""
    found: list[Tone] = []
    for _, tones in by_phrase(bass, phrases):
        copies = []
        for tone in tones:
            above = [t for t in texture.attacks[tone.onset] if 0 < t.pitch - tone.pitch <= 12]
            if above and (above[-1].pitch - tone.pitch, above[-1].end, above[-1].staff) == (12, tone.end, tone.staff):
                copies.append(above[-1])
        copies = [copy for copy in copies if copy.index not in taken]
        if len(copies) >= share * len(tones):
            found += copies
    return found


def hint_of(sketch: Sketch, notes: Sequence[str], share: float) -> str:
    """The instrument that the names of the staves wish for, where most of the notes stand on such staves."""
    counts = Counter(sketch.staves[sketch.by_id[note].staff].hint for note in notes)
    best = max(counts, key=lambda hint: (counts[hint], hint), default="")
    return best if counts[best] >= share * len(notes) else ""


def make_strands(
    texture: Texture,
    groups: Sequence[Layers],
    table: Section,
    spans: Section,
    costs: Section,
) -> tuple[Strand, ...]:
    """Strands of at most so many lines, in score order, with the grace notes on the lines of their main notes.

    Args:
        texture: all notes.
        groups: what the strands are made of.
        table: [texture]; `spans`: [strand]; `costs`: [lines].
    """
    most = int(table["lines"])
    pieces: list[tuple[str, str, list[list[Tone]]]] = []
    for role, name, layers in sorted(groups, key=lambda g: SCORE_ORDER.index(g[0])):
        laid = [
            one_line(tones) if role == "melody" and k == 0 else _principal_first(in_lines(tones, costs))
            for k, tones in enumerate(layers)
        ]
        lines = [line for layer in laid for line in layer]
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
        cuts = cuts_of(texture, pieces[number - 1][2][0], spans) if role in CUT else ()
        notes_ = [note for line in lines_ for note in line.notes]
        hint = hint_of(texture.sketch, notes_, table["hint"])
        strands.append(Strand(f"s{number}", role, tuple(lines_), name, hint, cuts))
    return tuple(strands)


def one_line(tones: Sequence[Tone]) -> list[list[Tone]]:
    """A tune, one note after the other; a note struck while the one before still sounds stands in another line, but the tune
    goes back to its own with the next (legato of played music, a triplet against a quaver)."""
    lines: list[list[Tone]] = []
    for tone in tones:
        free = next((line for line in lines if line[-1].end <= tone.onset), None)
        if free is None:
            lines.append([tone])
        else:
            free.append(tone)
    return lines


def _principal_first(lines: list[list[Tone]]) -> list[list[Tone]]:
    """From high to low, but lines of a few stray notes last."""
    most = max((len(line) for line in lines), default=0)
    return sorted(lines, key=lambda line: len(line) * STRAY < most)


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
