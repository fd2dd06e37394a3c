"""The reason of a dropped note says whether anybody could have played it."""

from __future__ import annotations

from autoorch.problem.data import ProblemData
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.solver.result import DEARER, OUT_OF_REACH, added, note_fates
from tests.support.tiny import BAR, TICKS, line, players, problem, strand, taken


def fates(data: ProblemData, chosen: frozenset[int]) -> dict[str, tuple[str, str]]:
    notes = [note for s in data.strands for own in s.lines for note in own.notes]
    sketch = Sketch(
        TICKS,
        (Staff(0, ""),),
        (Bar(0, "1", 0, BAR, (4, 4), 0),),
        tuple(
            SketchNote(n.id, n.onset, n.duration, n.pitch, 0, 1) for n in sorted(notes, key=lambda n: (n.onset, n.id))
        ),
    )
    return {fate.note: (fate.fate, fate.reason) for fate in note_fates(sketch, data, chosen)}


def test_dropped_notes_say_why() -> None:
    data = problem(
        players("violin", "viola", "snare_drum"),
        strand("s1", "melody", line("s1.1", "G5", 4)),
        strand("s2", "inner", line("s2.1", "E4", 4)),
        strand("s3", "inner", line("s3.1", "F0", 4), families=("drum",)),
    )
    found = fates(data, taken(data, ("violin", "s1.1", 0)))
    assert found["s1.1.0"] == ("copied", "")
    assert found["s2.1.0"] == ("dropped", DEARER)
    assert found["s3.1.0"] == ("dropped", OUT_OF_REACH)


def test_strands_of_ours_that_are_played_are_listed_with_their_reason() -> None:
    ours = [
        strand(name, "inner", line(f"{name}.1", "E4", 4), layer="harmony", reason=f"why {name}", families=("viola",))
        for name in ("pad1", "pad2")
    ]
    data = problem(players("violin", "viola"), strand("s1", "melody", line("s1.1", "G5", 4)), *ours)
    found = added(data, taken(data, ("violin", "s1.1", 0), ("viola", "pad2.1", 0)))
    assert [(one.strand, one.layer, one.reason) for one in found] == [("pad2", "harmony", "why pad2")]
