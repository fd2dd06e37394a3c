"""Who covers whom: a tune against the strongest other strand near it; octaves in reversed order of the woodwind."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from autoorch.check.find import Fault, state
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding
from autoorch.power import power
from autoorch.tables import DYNAMICS

_Strand = list[tuple[Part, list[Note]]]


def balance(score: Score, limits: Limits) -> Iterator[Finding]:
    """In a bar at mezzo-forte or above: a line of one part is far weaker than a quieter-moving strand within an octave of it.

    A strand is all parts with the same attacks in the bar; its power is the sum of its players' at their dynamics.
    """
    faults = [
        fault
        for index, strands in _bars(score)
        for tune in strands
        if len(tune) == 1 and tune[0][0].kind in ("wind", "bowed", "voice")
        if (fault := _covered(index, tune, strands, score, limits)) is not None
    ]
    yield from state(score, "balance", limits.of("balance")["source"], faults, join=1)


def _bars(score: Score) -> Iterator[tuple[int, list[_Strand]]]:
    bars: list[dict[int, list[Note]]] = [{} for _ in score.bars]
    for part, note in score.pitched():
        bars[score.bar(note.start)].setdefault(part.index, []).append(note)
    for index, parts in enumerate(bars):
        strands: dict[tuple[int, ...], _Strand] = {}
        for number, notes in sorted(parts.items()):
            attacks = tuple(sorted({note.start for note in notes}))
            strands.setdefault(attacks, []).append((score.parts[number], notes))
        yield index, list(strands.values())


def _strength(strand: _Strand, limits: Limits) -> float | None:
    """Summed power; None where an instrument or a dynamic is unknown."""
    total = 0.0
    for part, notes in strand:
        levels = [note.dynamic for note in notes if note.dynamic is not None]
        instrument = notes[0].instrument
        if not levels or instrument is None or instrument.kind in ("unpitched", "timpani"):
            return None
        middle = sorted(note.pitch for note in notes)[len(notes) // 2]
        size = 12 if part.section else min(part.players, max(1, len({n.voice for n in notes})))
        total += power(limits.tables, instrument, size, DYNAMICS[max(levels)], middle)
    return total


def _covered(index: int, tune: _Strand, strands: list[_Strand], score: Score, limits: Limits) -> Fault | None:
    table = limits.of("balance")
    bar, (part, line) = score.bars[index], tune[0]
    attacks = len({note.start for note in line})
    loudest = max((note.dynamic or 0) for note in line)
    enough = table["share"] * bar.length
    if (
        attacks < table["least"]
        or loudest < DYNAMICS.index(table["from"])
        or sum(n.end - n.start for n in line) < enough
    ):
        return None
    low = min(note.pitch for note in line) - table["reach"]
    high = max(note.pitch for note in line) + table["reach"]
    own = _strength(tune, limits)
    for other in strands:
        if not own or other is tune or attacks < table["moving"] * len({note.start for note in other[0][1]}):
            continue
        near = [(who, notes) for who, notes in other if any(low <= n.pitch <= high for n in notes)]
        near = [(who, notes) for who, notes in near if sum(n.end - n.start for n in notes) >= enough]
        theirs = _strength(near, limits) if near else None
        if theirs and theirs > table["margin"] * own:
            names = ", ".join(who.name for who, _ in near)
            message = f"covered by {names}, {theirs / own:.1f} times as strong"
            return Fault(part, bar.start, "style", f"{theirs / own:.1f}", f"{table['margin']:g}", message, theirs / own)
    return None


def doublings(score: Score, limits: Limits) -> Iterator[Finding]:
    """Octaves that Rimsky-Korsakov warns against: the upper instrument is the one whose register lies lower."""
    table = limits.of("doubling")
    warned = [(set(row["upper"]), set(row["lower"])) for row in limits.tables.rule("doubling")["warned"]]
    parts = [part for part in score.parts if part.instrument and part.instrument.family == "woodwind"]
    for one, two in combinations(parts, 2):
        for upper, lower in ((one, two), (two, one)):
            assert upper.instrument and lower.instrument
            if any(upper.instrument.id in high and lower.instrument.id in low for high, low in warned):
                yield from state(
                    score, "doubling", table["source"], _octaves(upper, lower, int(table["notes"])), join=1
                )


def _octaves(upper: Part, lower: Part, least: int) -> Iterator[Fault]:
    below = {group[0].start: group[0] for group in lower.onsets if len(group) == 1}
    run: list[Note] = []
    for group in [*upper.onsets, None]:
        other = below.get(group[0].start) if group and len(group) == 1 else None
        if group and other is not None and group[0].pitch - other.pitch == 12:
            run.append(group[0])
            continue
        if len(run) >= least and len({note.pitch for note in run}) > 1:
            message = f"{len(run)} notes an octave above {lower.name}: the registers are reversed"
            yield Fault(upper, run[0].start, "style", str(len(run)), str(least), message, len(run))
        run = []


RULES = (balance, doublings)
