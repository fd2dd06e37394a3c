"""Who plays otherwise than usual, and where: special ways of playing that a phrase offers and that the brief asks for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby, pairwise, product
from statistics import median
from typing import Any

from autoorch.brief import STRAND_ROLES, WISHES, Brief, Direction, named
from autoorch.instruments import DYNAMICS
from autoorch.layers.cue import at_most
from autoorch.layers.directed import held_over
from autoorch.layers.model import Manner, MaterialNote, MaterialStrand, PhrasePlan
from autoorch.lineup import Lineup
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch
from autoorch.sketch.tempo import TempoMap
from autoorch.tables import Tables

DETACHED = ("staccato", "staccatissimo", "spiccato")


def manners(
    sketch: Sketch,
    reading: Reading,
    plan: Sequence[PhrasePlan],
    strands: Sequence[MaterialStrand],
    lineup: Lineup,
    brief: Brief,
    tables: Tables,
) -> tuple[Manner, ...]:
    """What the brief asks for, then what the phrases offer.

    Raises:
        BriefError: for bars or players that are not there.
    """
    asked = tuple(m for d in brief.directions for m in _asked(d, sketch, plan, strands, lineup, tables))
    return asked + (
        tuple(_offered(sketch, reading, plan, strands, lineup, tables)) if brief.works("accompaniment") else ()
    )


def _asked(
    direction: Direction,
    sketch: Sketch,
    plan: Sequence[PhrasePlan],
    strands: Sequence[MaterialStrand],
    lineup: Lineup,
    tables: Tables,
) -> Iterator[Manner]:
    """One manner a strand of the direction's role, for the players it names, or for all where it names none."""
    if not direction.technique:
        return
    start, end = held_over(sketch, plan, direction.bars)
    names = [name for wish in WISHES if wish != "avoid" for name in getattr(direction, wish)]
    players = tuple(p.name for p in named(names, lineup, tables, str(direction))) if names else ()
    roles = STRAND_ROLES[direction.role]
    way = direction.technique.replace(" ", "_")
    groups = tables.rule("techniques")["ordinary"].get(way, ("",))
    for strand, group in product(strands, groups):
        if not roles or strand.role in roles:
            yield Manner(
                strand.id, start, end, "" if group else way, players, asked=True, reason=str(direction), group=group
            )


def _offered(
    sketch: Sketch,
    reading: Reading,
    plan: Sequence[PhrasePlan],
    strands: Sequence[MaterialStrand],
    lineup: Lineup,
    tables: Tables,
) -> Iterator[Manner]:
    seconds = TempoMap(sketch, reading.tempo).seconds
    inside = {
        (strand.id, start): [n for n in strand.lines[0].notes if start <= n.onset < end and n.duration]
        for strand in strands
        for phrase in plan
        for start, end, _ in phrase.parts
    }
    ways = tables.rule("techniques")["technique"]
    for row in tables.rule("techniques")["offer"]:
        phrases = _phrases(row, sketch, reading, plan)
        players = tuple(p.name for p in lineup.players if p.instrument.id in row.get("players", ()))
        if ("players" in row and not players) or not _among(row, lineup):
            continue
        meant = [s for s in strands if s.layer in row.get("layers", ("assigned",)) and s.role in row["roles"]]
        for strand in meant:
            if row["textures"] and strand.texture not in row["textures"]:
                continue
            for k, (start, end, part) in ((k, part) for k, phrase in phrases for part in phrase.parts):
                character = reading.phrases[k].character
                notes = inside[strand.id, start]
                if notes and row.get("together", False):
                    notes = sorted((n for s in meant for n in inside[s.id, start]), key=lambda n: n.onset)
                beside = {s.texture for s in strands if s is not strand and inside[s.id, start]}
                if beside & set(row.get("never_beside", ())):
                    continue
                lively = character in row["characters"] or beside & set(row["companions"])
                times = [(seconds(n.onset), seconds(n.end)) for n in notes]
                low, high = row.get("lowest", 0), row.get("highest", 127)
                placed = all(low <= n.pitch.midi <= high for n in notes)
                dies = "rings_s" in ways[row["technique"]] and any("fermata" in n.marks for n in notes)
                if (
                    part.dynamic in row["dynamics"]
                    and (lively or _dotted(notes, row))
                    and _short(times, row)
                    and placed
                    and not dies
                ):
                    yield Manner(strand.id, start, end, row["technique"], players, reason=row["reason"])


def _among(row: Mapping[str, Any], lineup: Lineup) -> bool:
    """The line-up is one that a row is for: those it names are its only strings, and some of the instruments are there that they
    play beside."""
    if "beside" not in row:
        return True
    ids = {p.instrument.id for p in lineup.players}
    strings = {p.instrument.id for p in lineup.players if p.instrument.kind == "bowed"}
    return strings <= set(row["players"]) and bool(ids & set(row["beside"]))


def _phrases(
    row: Mapping[str, Any], sketch: Sketch, reading: Reading, plan: Sequence[PhrasePlan]
) -> list[tuple[int, PhrasePlan]]:
    """Where a row may hold at all: everywhere; in phrases of a planned weight, the thinnest or fullest of them, or of those that
    the plan gives to some colours, or that echo the one before; in runs that are long enough to make a change worth while."""
    low, high = row.get("weight", (0.0, 1.0))
    found = [
        (k, p) for k, p in enumerate(plan) if p.scheme in row.get("schemes", (p.scheme,)) and low <= p.weight <= high
    ]
    if "leads" in row:
        found = [(k, p) for k, p in found if p.lead in row["leads"] and p.doublers <= row["doublers"]]
    if row.get("echo", False):
        found = [(k, p) for k, p in found if _echoes(plan, k)]
    if "phrases_in_32_bars" in row:
        found = [(k, p) for k, p in found if _apt(row, reading, k, p)]
        most = at_most(sketch, row["phrases_in_32_bars"])
        order = -1 if row.get("fullest", False) else 1
        found = sorted(sorted(found, key=lambda entry: (order * entry[1].weight, entry[0]))[:most])
    if "run_bars" in row:
        runs = [list(run) for apt, run in groupby(found, key=lambda entry: _apt(row, reading, *entry)) if apt]
        found = [entry for run in runs if _bars(sketch, run) >= row["run_bars"] for entry in run]
    return found


def _echoes(plan: Sequence[PhrasePlan], number: int) -> bool:
    """A phrase is the one right before it once more, and softer."""
    here = plan[number]
    again = number > 0 and here.restates == number - 1
    return again and DYNAMICS.index(here.dynamic) < DYNAMICS.index(plan[number - 1].dynamic)


def _apt(row: Mapping[str, Any], reading: Reading, number: int, phrase: PhrasePlan) -> bool:
    return phrase.dynamic in row["dynamics"] and reading.phrases[number].character in row["characters"]


def _bars(sketch: Sketch, run: Sequence[tuple[int, PhrasePlan]]) -> float:
    return sum((p.end - p.start) / max(1, sketch.bar_at(p.start).length) for _, p in run)


def _dotted(notes: Sequence[MaterialNote], row: Mapping[str, Any]) -> bool:
    """Enough of the notes are marked as detached."""
    marked = sum(1 for n in notes if any(mark in DETACHED for mark in n.marks))
    return bool(notes) and marked >= row["staccato"] * len(notes)


def _short(times: Sequence[tuple[float, float]], row: Mapping[str, Any]) -> bool:
    """Enough notes, short and not too fast in the middle of their lengths."""
    if len(times) < row["least"]:
        return False
    gaps = [b[0] - a[0] for a, b in pairwise(times) if b[0] > a[0]]
    fast = bool(gaps) and median(gaps) * row["most_per_s"] < 1
    return not fast and median(end - start for start, end in times) <= row["longest_s"]
