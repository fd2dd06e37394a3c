"""Trumpets and drums together where a full phrase closes: the chord it closes on and the one that leads there (common practice of
the 18th and early 19th century: natural trumpets and two drums have tonic and dominant)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand
from autoorch.sketch.model import SketchNote

_NATURAL = (0, 2, 4, 7)
"""Semitones above the tonic of the notes that a natural trumpet has in its middle register; a minor third is passed over."""


def closing_basses(cue: Cue) -> list[list[SketchNote]]:
    """For each full phrase that closes, the bass notes on the beats of its last two chords."""
    table = cue.tables.rule("finish")["closes"]
    found = []
    for moment in cue.moments:
        plan = cue.plan_at(moment.onset).at(moment.onset)
        close, last = cue.chord_at(moment.onset), cue.chord_at(max(0, moment.onset - 1))
        if (
            moment.kind != "cadence"
            or moment.strength < table["least"]
            or cue.dynamic_at(moment.onset) not in table["dynamics"]
            or plan.weight < table["weight"]
            or close is None
        ):
            continue
        first = close.start if last is None or last is close else last.start
        first = max(first, moment.onset - cue.beats(moment.onset, table["beats"]))
        struck = [n for n in cue.bass if first <= n.onset < close.end and cue.on_beat(n.onset)]
        if struck:
            found.append(struck)
    return found


def trumpets(cue: Cue) -> tuple[MaterialStrand, ...]:
    """One strand a close: two lines of notes that natural trumpets of the key have, as long as its bass notes."""
    table = cue.tables.rule("finish")["closes"]
    if cue.seats(table["players"]) < table["lines"]:
        return ()
    found: list[MaterialStrand] = []
    for basses in closing_basses(cue):
        name = f"close{len(found) + 1}"
        chords = [(note, pitches) for note in basses if (pitches := _pair(cue, note.onset, table))]
        if not chords:
            continue
        lines = tuple(
            MaterialLine(
                f"{name}.{k + 1}",
                tuple(
                    MaterialNote(
                        f"{name}.{k + 1}.{n}", note.onset, min(note.duration, cue.quarters(table["quarters"])),
                        cue.spelled(pitches[k], note.onset),
                    )
                    for n, (note, pitches) in enumerate(chords, 1)
                ),
            )
            for k in range(table["lines"])
        )  # fmt: skip
        reason = f"trumpets at the close in {cue.place(basses[-1].onset)}, with the drums"
        found.append(
            MaterialStrand(
                name, "inner", "finish", lines, "trumpets at the close", tuple(table["players"]), True, reason=reason
            )
        )
    return tuple(found)


def _pair(cue: Cue, tick: int, table: Mapping[str, Any]) -> Sequence[int]:
    """Two chord notes that a natural trumpet of the key in force has, highest first, nearest to the middle; () for fewer."""
    chord = cue.chord_at(tick)
    if chord is None:
        return ()
    own = {(cue.reading.key[0] + step) % 12 for step in _NATURAL} & set(chord.members) - set(chord.tendency)
    pitches = [m for m in range(table["low"], table["high"] + 1) if m % 12 in own]
    pairs = [(b, a) for a in pitches for b in pitches if 0 < b - a <= table["widest"]]
    middle = table["low"] + table["high"]
    return min(pairs, key=lambda pair: (abs(sum(pair) - middle), pair), default=())
