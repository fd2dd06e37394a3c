"""Signs that join notes: tied heads become one note, slur ends find each other, voices are counted within their staff."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Sequence

from autoorch.sketch.musicxml.count import Count
from autoorch.sketch.musicxml.written import Written
from autoorch.sketch.number import Loose

_SEVERAL = 16
"""More ends than these never wait for one sign; a file that has more is broken or hostile."""


def untied(
    heads: Sequence[Written],
    span: Callable[[Written], tuple[int, int]],
    voices: dict[tuple[int, str], int],
    first_staff: int,
    count: Count,
) -> tuple[list[Loose], list[int]]:
    """One note for each chain of tied heads.

    A tie joins two heads that sound the same key and touch in time, of the same voice and staff where there are several.

    Args:
        heads: of one part.
        span: (onset, duration) of a head in ticks.
        voices: number of each (staff, voice name).
        first_staff: index of the part's first staff.

    Returns:
        the notes, and for each head the index of its note.
    """
    spans = [span(head) for head in heads]
    order = sorted(range(len(heads)), key=lambda index: spans[index][0])
    open_ends: dict[tuple[int, int], list[int]] = defaultdict(list)
    chains: list[list[int]] = []
    chain_of = [-1] * len(heads)
    widows = 0
    for index in order:
        head, (onset, duration) = heads[index], spans[index]
        waiting = open_ends.get((head.pitch.midi, onset), []) if head.tied_from else []
        if waiting:
            best = min(
                waiting[:_SEVERAL],
                key=lambda other: (heads[other].voice != head.voice, heads[other].staff != head.staff),
            )
            waiting.remove(best)
            chain_of[index] = chain_of[best]
            chains[chain_of[best]].append(index)
        else:
            widows += head.tied_from
            chain_of[index] = len(chains)
            chains.append([index])
        if head.tied_to:
            open_ends[head.pitch.midi, onset + duration].append(index)
    for _ in range(widows + sum(map(len, open_ends.values()))):
        count.give_up("tie end without its partner", "tie ends without their partners")
    notes = [_one([heads[k] for k in chain], [spans[k] for k in chain], voices, first_staff) for chain in chains]
    return notes, chain_of


def _one(
    heads: Sequence[Written], spans: Sequence[tuple[int, int]], voices: dict[tuple[int, str], int], first_staff: int
) -> Loose:
    """The note that tied heads, (onset, duration) each, make together: what any of them is marked with holds for it."""
    head, onset = heads[0], spans[0][0]
    return Loose(
        onset,
        sum(spans[-1]) - onset,
        head.pitch,
        first_staff + head.staff,
        voices[head.staff, head.voice],
        head.velocity,
        head.grace,
        tuple(sorted(frozenset().union(*(each.marks for each in heads)))),
        next((each.lyric for each in heads if each.lyric), ""),
    )


def crossed_ties(heads: Sequence[Written], span: Callable[[Written], tuple[int, int]]) -> list[int]:
    """Bars (by index) in which a tie ends that began on another pitch of the same voice."""
    open_ends: dict[tuple[int, str, int], set[int]] = defaultdict(set)
    for head in heads:
        if head.tied_to:
            open_ends[head.staff, head.voice, sum(span(head))].add(head.pitch.midi)
    found = set()
    for head in heads:
        begun = open_ends.get((head.staff, head.voice, span(head)[0]))
        if head.tied_from and begun and head.pitch.midi not in begun:
            found.add(head.bar)
    return sorted(found)


def slurs(
    ends: Sequence[tuple[str, str, Written]], onset: Callable[[Written], int], count: Count
) -> list[tuple[Written, Written]]:
    """Pairs (first, last) of a part's slurs.

    A start waits for the next stop of its number; a stop that the file gives first (in a voice that it writes earlier)
    waits for the next start that lies before it in time.
    """
    starts: dict[str, list[Written]] = defaultdict(list)
    stops: dict[str, list[Written]] = defaultdict(list)
    found = []
    for number, kind, note in ends:
        mine, others = (starts, stops) if kind == "start" else (stops, starts)
        waiting = others[number]
        recent = range(len(waiting) - 1, max(-1, len(waiting) - 1 - _SEVERAL), -1)
        index = next((k for k in recent if _ordered(kind, note, waiting[k], onset)), -1)
        if index >= 0:
            other = waiting.pop(index)
            found.append((note, other) if kind == "start" else (other, note))
        else:
            mine[number].append(note)
    count.keep("slur", 2 * len(found))
    return found


def _ordered(kind: str, note: Written, other: Written, onset: Callable[[Written], int]) -> bool:
    """Whether the two ends make a slur: the start first, and for a stop that came early, in the same bar or the next."""
    if kind == "stop":
        return onset(other) <= onset(note)
    return onset(note) < onset(other) and other.bar - note.bar <= 1


def voice_numbers(heads: Sequence[Written]) -> dict[tuple[int, str], int]:
    """(staff, voice name) -> number from 1 within the staff: voices at home there first, then visitors from another staff."""
    at: Counter[tuple[int, str]] = Counter((head.staff, head.voice) for head in heads)
    home: dict[str, int] = {}
    for (staff, voice), notes in sorted(at.items()):
        if notes > at.get((home.get(voice, -1), voice), 0):
            home[voice] = staff
    numbers: dict[tuple[int, str], int] = {}
    taken: Counter[int] = Counter()
    for staff, voice in sorted(at, key=lambda key: (key[0], home[key[1]] != key[0], len(key[1]), key[1])):
        taken[staff] += 1
        numbers[staff, voice] = taken[staff]
    return numbers
