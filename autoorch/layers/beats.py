"""Percussion that runs through phrases whose character asks for it: a march's snare drum, a dance's triangle, the rhythm that a
polonaise has by name or by its notes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from autoorch.layers.cells import HOLD, REST, in_tempo, slots, whole_bars
from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand
from autoorch.layers.touches import MIDDLE

ACCENTED = "X"


def beats(cue: Cue) -> Iterator[MaterialStrand]:
    """One strand a phrase and rhythm, the fullest phrases first, up to the rhythm's share of the cue."""
    number = 0
    for row in cue.tables.rule("patterns")["beat"]:
        if not cue.seats(row["players"]) or not _meant(cue, row):
            continue
        left = row["share"] * cue.sketch.end
        chosen = []
        for k in sorted(range(len(cue.plan)), key=lambda k: (-cue.plan[k].weight, -k)):
            plan = cue.plan[k]
            length = plan.end - plan.start
            suits = plan.weight >= row["weight"] and not cue.alone(k) and in_tempo(cue, k, row)
            suits = suits and all(part.dynamic in row["dynamics"] for _, _, part in plan.parts)
            if suits and length <= left and cue.reading.phrases[k].character in row["characters"]:
                chosen.append(k)
                left -= length
        for k in sorted(chosen):
            number += 1
            name = f"beat{number}"
            notes = tuple(_strokes(cue, k, row, f"{name}.1"))
            if notes:
                yield MaterialStrand(
                    name,
                    "rhythm",
                    "finish",
                    (MaterialLine(f"{name}.1", notes),),
                    texture=row["id"],
                    families=tuple(row["players"]),
                    complete=True,
                    reason=f"{row['id']}: {cue.reading.phrases[k].character} music from {cue.place(cue.plan[k].start)}",
                )


def _meant(cue: Cue, row: Mapping[str, Any]) -> bool:
    """The cue is called what the row names, or has its rhythm in enough bars of its metre; a row without names suits any."""
    if "called" not in row:
        return True
    said = (
        cue.sketch.title,
        *(text for m in cue.sketch.marks if m.kind in ("tempo", "words") for text in (m.value, m.text)),
    )
    words = [word for text in said for word in text.lower().split()]
    if any(word.startswith(tuple(row["called"])) for word in words):
        return True
    attacks = {note.onset for note in cue.sketch.notes if note.duration}
    bars = [bar for bar in cue.sketch.bars if f"{bar.metre[0]}/{bar.metre[1]}" in row["metres"]]
    cells = [{tick for tick, _, sign in slots(cue, bar, row) if sign not in (REST, HOLD)} for bar in bars]
    heard = sum(bool(cell) and cell <= attacks for cell in cells)
    return heard > 0 and heard >= row["heard"] * len(bars)


def _strokes(cue: Cue, phrase: int, row: Mapping[str, Any], name: str) -> Iterator[MaterialNote]:
    """Up to the last attack of the cue, after which nobody goes on alone."""
    last = max((note.onset for note in cue.sketch.notes), default=cue.sketch.end)
    events: list[tuple[int, int, str]] = []
    for bar in whole_bars(cue, phrase):
        for onset, end, sign in slots(cue, bar, row):
            if sign == HOLD and events:
                events[-1] = (events[-1][0], end, events[-1][2])
            elif sign not in (REST, HOLD):
                events.append((onset, end, sign))
    for number, (onset, end, sign) in enumerate((event for event in events if event[0] <= last), 1):
        yield MaterialNote(
            f"{name}.{number}", onset, end - onset, MIDDLE, marks=("accent",) if sign == ACCENTED else ()
        )
