"""The brief's directions on the sketch's grid: bars become ticks, names become players, roles become strand roles."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.brief import WISHES, Bars, Brief, named
from autoorch.errors import BriefError
from autoorch.lineup import Lineup
from autoorch.problem.data import Wish
from autoorch.sketch.model import Bar, Sketch
from autoorch.tables import Tables

STRAND_ROLES = {
    "melody": ("melody",),
    "bass": ("bass", "pedal"),
    "harmony": ("inner",),
    "figure": ("figure", "rhythm"),
    "counterline": ("counterline",),
    "accents": ("rhythm",),
    "": (),
}


def find_bar(sketch: Sketch, name: str) -> Bar:
    """The bar of that printed number where it is unique, else the bar of that count from 1.

    Raises:
        BriefError: where there is none.
    """
    printed = [bar for bar in sketch.bars if bar.number == name]
    if len(printed) == 1:
        return printed[0]
    if name.isdigit() and 1 <= int(name) <= len(sketch.bars):
        return sketch.bars[int(name) - 1]
    raise BriefError(f"there is no bar {name}; the sketch has bars {sketch.bars[0].number} to {sketch.bars[-1].number}")


def ticks_of(sketch: Sketch, bars: Bars | None) -> tuple[int, int]:
    """(start, end) in ticks of a run of bars; the whole cue for None.

    Raises:
        BriefError: for a bar that is not there or an empty run.
    """
    if bars is None:
        return 0, sketch.end
    first, last = find_bar(sketch, bars.first), find_bar(sketch, bars.last)
    start = first.onset + _beats(sketch, first, bars.from_beat - 1)
    end = last.end if bars.to_beat is None else last.onset + _beats(sketch, last, bars.to_beat)
    if end <= start:
        raise BriefError(f"bars {bars} are no run of bars")
    return start, end


def _beats(sketch: Sketch, bar: Bar, beats: float) -> int:
    return round(beats * sketch.ticks * 4 / bar.metre[1])


def wishes(brief: Brief, sketch: Sketch, lineup: Lineup, tables: Tables) -> tuple[Wish, ...]:
    """Each must, prefer, avoid and only of the brief.

    Raises:
        BriefError: for bars or players that are not there.
    """
    order = {player.name: number for number, player in enumerate(lineup.players)}
    found = []
    for direction in brief.directions:
        start, end = ticks_of(sketch, direction.bars)
        for kind in WISHES:
            names: Sequence[str] = getattr(direction, kind)
            if names:
                players = named(names, lineup, tables, str(direction), absent=kind == "avoid")
                seats = tuple(sorted(order[player.name] for player in players if player.name in order))
                roles = STRAND_ROLES[direction.role]
                found.append(Wish(str(direction), kind, seats, roles, start, end, direction.octave))
    return tuple(found)
