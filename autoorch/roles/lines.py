"""Notes laid into lines, one note at a time in each: voice separation slice by slice.

At each attack the new notes are assigned to lines at the least cost of pitch distance, order kept from top to bottom: the
pitch proximity and no-crossing principles of Chew and Wu, "Separating Voices in Polyphonic Music: A Contig Mapping
Approach" (2004), as a least-cost assignment a slice (Kilian and Hoos, "Voice Separation: A Local Optimisation
Approach", 2002).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from autoorch.roles.parameters import Section
from autoorch.roles.texture import Tone

_Choice = tuple[float, int, tuple[tuple[int, bool], ...]]


def in_lines(tones: Iterable[Tone], table: Section) -> list[list[Tone]]:
    """Lines from the highest to the lowest; no two tones of a line overlap.

    Args:
        tones: in any order.
        table: [lines].
    """
    lines: list[list[Tone]] = []
    attacks: dict[int, list[Tone]] = {}
    for tone in sorted(tones, key=lambda t: (t.onset, -t.pitch, t.index)):
        attacks.setdefault(tone.onset, []).append(tone)
    for onset, new in attacks.items():
        opened = 0
        for tone, (place, fresh) in zip(new, _untangled(new, lines, onset, table), strict=True):
            if fresh:
                lines.insert(place + opened, [tone])
                opened += 1
            else:
                lines[place + opened].append(tone)
    return lines


def _untangled(
    new: Sequence[Tone], lines: Sequence[list[Tone]], onset: int, table: Section
) -> tuple[tuple[int, bool], ...]:
    """The cheapest lines for the new tones; notes that two lines have in unison change places where that is cheaper."""
    best = _assign(new, lines, onset, table)
    for one, other in pairwise(lines):
        a, b = one[-1], other[-1]
        if a.onset == b.onset and a.pitch == b.pitch and (a.end > onset) != (b.end > onset):
            one[-1], other[-1] = b, a
            swapped = _assign(new, lines, onset, table)
            if swapped[0] < best[0]:
                best = swapped
            else:
                one[-1], other[-1] = a, b
    return best[2]


def _assign(new: Sequence[Tone], lines: Sequence[Sequence[Tone]], onset: int, table: Section) -> _Choice:
    """Cost, and for each new tone (highest first) its line, or the place at which a fresh line is opened for it."""
    row: list[_Choice | None] = [(0.0, 0, ())] + [None] * len(new)
    for place in range(len(lines) + 1):
        _open(row, new, place, table)
        if place == len(lines):
            break
        last = lines[place][-1]
        held = last.end > onset
        after: list[_Choice | None] = [None] * len(row)
        for k, entry in enumerate(row):
            if entry is None:
                continue
            crossed = 0
            if held:  # tones placed above a held one must be higher, the others lower
                crossed = sum(t.pitch < last.pitch for t in new[:k]) + sum(t.pitch > last.pitch for t in new[k:])
            _better(after, k, (entry[0] + table["crossing"] * crossed, entry[1], entry[2]))
            if not held and k < len(new):
                way = abs(new[k].pitch - last.pitch) + (table["silent"] if last.end < onset else 0.0)
                _better(after, k + 1, (entry[0] + way, entry[1], (*entry[2], (place, False))))
        row = after
    found = row[len(new)]
    assert found is not None  # a fresh line is always open
    return found


def _open(row: list[_Choice | None], new: Sequence[Tone], place: int, table: Section) -> None:
    for k in range(len(new)):
        entry = row[k]
        if entry is not None:
            _better(row, k + 1, (entry[0] + table["fresh"], entry[1] + 1, (*entry[2], (place, True))))


def _better(row: list[_Choice | None], k: int, choice: _Choice) -> None:
    old = row[k]
    if old is None or choice < old:
        row[k] = choice
