"""Percussion that runs through phrases whose character asks for it: a march's snare drum, a dance's triangle."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from autoorch.layers.cells import REST, in_tempo, slots, whole_bars
from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand
from autoorch.layers.touches import MIDDLE

ACCENTED = "X"


def beats(cue: Cue) -> Iterator[MaterialStrand]:
    """One strand a phrase and rhythm, the fullest phrases first, up to the rhythm's share of the cue."""
    number = 0
    alone = cue.tables.rule("finish")["schemes"]
    for row in cue.tables.rule("patterns")["beat"]:
        if not cue.seats(row["players"]):
            continue
        left = row["share"] * cue.sketch.end
        chosen = []
        for k in sorted(range(len(cue.plan)), key=lambda k: (-cue.plan[k].weight, -k)):
            plan = cue.plan[k]
            length = plan.end - plan.start
            suits = plan.weight >= row["weight"] and plan.scheme not in alone and in_tempo(cue, k, row)
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
                    reason=f"{row['id']}: a {cue.reading.phrases[k].character} from {cue.place(cue.plan[k].start)}",
                )


def _strokes(cue: Cue, phrase: int, row: Mapping[str, Any], name: str) -> Iterator[MaterialNote]:
    number = 0
    for bar in whole_bars(cue, phrase):
        for onset, end, sign in slots(cue, bar, row):
            if sign != REST:
                number += 1
                marks = ("accent",) if sign == ACCENTED else ()
                yield MaterialNote(f"{name}.{number}", onset, end - onset, MIDDLE, marks=marks)
