"""Accompaniment in motion: where the sketch only holds chords and the plan wants more, figures made of the chords' own notes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from autoorch.layers.cells import HOLD, REST, in_tempo, slots, whole_bars
from autoorch.layers.colours import GROUPS, group_of
from autoorch.layers.cue import Cue
from autoorch.layers.harmony import dry, lead
from autoorch.layers.imitation import entrances
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand
from autoorch.sketch.model import Bar

Pattern = Mapping[str, Any]
_Span = tuple[int, int, Sequence[int]]
"""(start, end, voicing from its lowest pitch) of one chord"""
_MOVING = ("figure", "rhythm")


def figures(cue: Cue) -> tuple[MaterialStrand, ...]:
    """One strand a phrase and pattern that suits it; of those of a phrase the solver takes one, or none."""
    table = cue.tables.rule("patterns")
    found: list[MaterialStrand] = []
    used: dict[str, int] = {}
    for k in still(cue, table):
        suiting = [row for row in table["pattern"] if suits(cue, k, row)]
        suiting.sort(key=lambda row: (used.get(row["id"], 0), -_fit(cue, k, row), row["lines"]))
        offered = 0
        for row in suiting:
            name = f"figure{len(found) + 1}"
            lines = laid_out(cue, k, row, name)
            if lines and offered < table["offered"]:
                offered += 1
                used[row["id"]] = used.get(row["id"], 0) + 1
                found.append(_strand(cue, k, row, name, lines))
    return tuple(found)


def still(cue: Cue, table: Mapping[str, Any]) -> list[int]:
    """Phrases in which the sketch has chords without motion of their own that are not dry, and no subject entering, and which the
    plan wants full enough."""
    moving = [
        cue.sketch.by_id[note].onset
        for strand in cue.reading.strands
        if strand.role in _MOVING
        for line in strand.lines
        for note in line.notes
    ]
    moving += [tick for one in entrances(cue.sketch, cue.reading) for tick in (one.start, one.end - 1)]
    found = []
    for k, (plan, phrase) in enumerate(zip(cue.plan, cue.reading.phrases, strict=True)):
        bars = (plan.end - plan.start) / max(1, cue.sketch.bar_at(plan.start).length)
        if plan.weight < table["weight"] or phrase.character in table["resting"] or bars < table["least_bars"]:
            continue
        if cue.chorale or dry(cue, plan):
            continue
        if not any(plan.start <= onset < plan.end for onset in moving):
            found.append(k)
    return found


def suits(cue: Cue, phrase: int, row: Pattern) -> bool:
    """The line-up has the players, they belong to the phrase's ground, and metre, tempo, dynamic and character are right."""
    plan, character = cue.plan[phrase], cue.reading.phrases[phrase].character
    groups = {group_of(cue.tables.instruments[name]) for name in row["players"]} & set(GROUPS)
    return (
        cue.seats(row["players"]) >= (1 if row["shape"] == "broken" else row["lines"] - _shared(cue, row))
        and (not plan.lead or groups <= set(plan.ground))
        and in_tempo(cue, phrase, row)
        and character in row.get("characters", (character,))
    )


def _shared(cue: Cue, row: Pattern) -> int:
    """Lines more than players that string sections can take by dividing."""
    return sum(
        1
        for p in cue.lineup.players
        if p.instrument.id in row["players"] and p.instrument.kind == "bowed" and p.size > 3
    )


def _fit(cue: Cue, phrase: int, row: Pattern) -> int:
    """1 where the pattern was made for the phrase's character."""
    character = cue.reading.phrases[phrase].character
    return int(bool(character) and character in row.get("characters", ()))


def laid_out(cue: Cue, phrase: int, row: Pattern, name: str) -> tuple[MaterialLine, ...]:
    """The pattern's lines over the whole bars of a phrase, () where the grid is too coarse for it or a bar has no chord."""
    plan = cue.plan[phrase]
    chords = cue.chords_in(plan.start, plan.end)
    bars = [bar for bar in whole_bars(cue, phrase) if any(a < bar.end and bar.onset < b for _, a, b in chords)]
    if len(bars) < cue.tables.rule("patterns")["least_bars"]:
        return ()
    weights = cue.tables.rule("voicing")["weights"]
    voicings = lead(weights, [chord for chord, _, _ in chords], row["lines"], row["low"], row["high"])
    if any(len(voicing) < row["lines"] for voicing in voicings):
        return ()
    spans = [(start, end, voicing) for (_, start, end), voicing in zip(chords, voicings, strict=True)]
    events = [event for bar in bars for event in _events(cue, bar, row, spans)]
    if not events:
        return ()
    many = 1 if row["shape"] == "broken" else row["lines"]
    lines: list[list[tuple[int, int, int]]] = [[] for _ in range(many)]
    for onset, end, pitches in events:
        for line, pitch in zip(lines, pitches, strict=True):
            line.append((onset, end, pitch))
    marks = tuple(sorted(row.get("marks", ())))
    return tuple(
        MaterialLine(
            f"{name}.{k}",
            tuple(
                MaterialNote(f"{name}.{k}.{n}", onset, end - onset, cue.spelled(pitch, onset), marks=marks)
                for n, (onset, end, pitch) in enumerate(line, 1)
            ),
        )
        for k, line in enumerate(reversed(lines), 1)
    )


def _events(cue: Cue, bar: Bar, row: Pattern, spans: Sequence[_Span]) -> list[tuple[int, int, Sequence[int]]]:
    """(onset, end, pitches) of one bar, lowest pitch first; what is held is struck again where the harmony changes."""
    found: list[tuple[int, int, Sequence[int]]] = []
    for tick, end, sign in slots(cue, bar, row, [start for start, _, _ in spans]):
        voicing = next((v for start, stop, v in spans if start <= tick < stop), ())
        pitches = (voicing[int(sign) - 1],) if voicing and sign.isdigit() else voicing
        if sign == HOLD and found and found[-1][1:] == (tick, pitches):
            found[-1] = (found[-1][0], end, pitches)
        elif sign != REST and pitches:
            found.append((tick, end, pitches))
    return found


def _strand(cue: Cue, phrase: int, row: Pattern, name: str, lines: tuple[MaterialLine, ...]) -> MaterialStrand:
    return MaterialStrand(
        name,
        row["role"],
        "accompaniment",
        lines,
        texture=row["id"],
        families=tuple(row["players"]),
        complete=True,
        reason=f"{row['id']}: held chords set in motion from {cue.place(cue.plan[phrase].start)}",
        technique=row.get("technique", ""),
    )
