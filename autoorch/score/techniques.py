"""Ways of playing as a part says them: "pizz." and "arco", "con sord." and "senza sord." at the attacks they hold for, tremolo
as a sign on the notes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from autoorch.score.idiom import DOTS
from autoorch.score.marks import Placed
from autoorch.score.streams import Played

UNBOWED = "right hand"
"""Group of the ways of playing that take the place of plain bow strokes."""
Table = Mapping[str, Mapping[str, Any]]
"""technique -> its row of constraints/techniques.toml"""


def technique_words(notes: Sequence[Played], table: Table, section: bool = False) -> list[Placed]:
    """The words of one player or section, whose notes come by onset. Of each group of ways one is in force at a time, and what
    is in force is ended in words before the ordinary way. How many of a section play stands with its divisions."""
    found: list[Placed] = []
    state: dict[str, str] = {}
    attacks: dict[int, str] = {}
    for note in notes:
        attacks.setdefault(note.onset, note.technique)
    for onset, here in attacks.items():
        group = table[here]["group"] if here else ""
        word = table[here]["word"] if here and not (section and _counted(table[here])) else ""
        for other, before in state.items():
            if before and (other != group or (before != here and not word)):
                found += [Placed(onset, "words", table[before]["back"])] if table[before]["back"] else []
                state[other] = ""
        if word and state.get(group) != here:
            found.append(Placed(onset, "words", word))
            state[group] = here
    return found


def _counted(way: Mapping[str, Any]) -> bool:
    return "people" in way or "twelfths" in way


def signed(notes: Sequence[Played], table: Table) -> tuple[Played, ...]:
    """The notes with the signs of ways that are written on them; dots say nothing on notes that the bow does not stroke."""
    return tuple(_signed(note, table[note.technique]) if note.technique else note for note in notes)


def _signed(note: Played, way: Mapping[str, Any]) -> Played:
    marks = {mark for mark in note.note.marks if way["group"] != UNBOWED or mark not in DOTS}
    marks |= {way["mark"]} if way.get("mark") else set()
    if marks == set(note.note.marks):
        return note
    return replace(note, note=replace(note.note, marks=tuple(sorted(marks))))
