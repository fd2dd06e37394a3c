"""Ways of playing as a part says them: "pizz." and "arco", "con sord." and "senza sord." at the attacks they hold for, tremolo
as a sign on the notes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from autoorch.layers.techniques import DETACHED
from autoorch.score.marks import Placed
from autoorch.score.streams import Played

UNBOWED = "right hand"
"""Group of the ways of playing that take the place of plain bow strokes."""
Table = Mapping[str, Mapping[str, Any]]
"""technique -> its row of constraints/techniques.toml"""


def technique_words(notes: Sequence[Played], table: Table, section: bool = False) -> list[Placed]:
    """The words of one player or section, whose notes come by onset. Of each group of ways one is in force at a time (muted and
    plucked), and what is in force is ended in words before the ordinary way. How many of a section play stands with its
    divisions."""
    found: list[Placed] = []
    state: dict[str, str] = {}
    attacks: dict[int, tuple[str, ...]] = {}
    for note in notes:
        attacks.setdefault(note.onset, note.techniques)
    for onset, here in attacks.items():
        words = {
            table[way]["group"]: (way, table[way]["word"])
            for way in here
            if table[way]["word"] and not (section and _counted(table[way]))
        }
        for group, before in state.items():
            if before and before not in here and group not in words:
                found += [Placed(onset, "words", table[before]["back"])] if table[before]["back"] else []
                state[group] = ""
        for group, (way, word) in words.items():
            if state.get(group) != way:
                found.append(Placed(onset, "words", word))
                state[group] = way
    return found


def rung(
    notes: Sequence[Played], table: Table, seconds: Callable[[int], float], beat: Callable[[int], int]
) -> tuple[Played, ...]:
    """The notes, those that are plucked and written for longer than they ring as one beat with rests after it, but for fermatas.

    Args:
        seconds: from the beginning to a tick; beat: ticks of a beat at a tick.
    """
    found = []
    for note in notes:
        rings = min((table[way]["rings_s"] for way in note.techniques if "rings_s" in table[way]), default=None)
        end = note.onset + beat(note.onset)
        dies = (
            rings is not None and seconds(note.end) - seconds(note.onset) > rings and "fermata" not in note.note.marks
        )
        found.append(replace(note, end=end) if dies and end < note.end else note)
    return tuple(found)


def _counted(way: Mapping[str, Any]) -> bool:
    return "people" in way or "twelfths" in way


def signed(notes: Sequence[Played], table: Table) -> tuple[Played, ...]:
    """The notes with the signs of ways that are written on them; dots say nothing on notes that the bow does not stroke."""
    return tuple(_signed(note, [table[technique] for technique in note.techniques]) for note in notes)


def _signed(note: Played, ways: Sequence[Mapping[str, Any]]) -> Played:
    unbowed = any(way["group"] == UNBOWED for way in ways)
    marks = {mark for mark in note.note.marks if not unbowed or mark not in DETACHED}
    marks |= {way["mark"] for way in ways if way.get("mark")}
    if marks == set(note.note.marks):
        return note
    return replace(note, note=replace(note.note, marks=tuple(sorted(marks))))
