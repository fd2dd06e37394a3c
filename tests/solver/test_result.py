"""The reason of a dropped note says whether anybody could have played it."""

from __future__ import annotations

from dataclasses import replace

from autoorch.layers.model import Manner
from autoorch.problem.data import ProblemData
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.solver.result import DEARER, OUT_OF_REACH, added, make_draft, note_fates, verdicts
from autoorch.solver.solve import Limits, solve
from autoorch.solver.statements import gather
from tests.support.tiny import BAR, TICKS, line, players, problem, strand, taken


def sketch_of(data: ProblemData) -> Sketch:
    notes = [note for s in data.strands for own in s.lines for note in own.notes]
    return Sketch(
        TICKS,
        (Staff(0, ""),),
        tuple(Bar(k, str(k + 1), onset, BAR, (4, 4), 0) for k, onset in enumerate(data.bars)),
        tuple(
            SketchNote(n.id, n.onset, n.duration, n.pitch, 0, 1) for n in sorted(notes, key=lambda n: (n.onset, n.id))
        ),
    )


def fates(data: ProblemData, chosen: frozenset[int]) -> dict[str, tuple[str, str]]:
    sketch = sketch_of(data)
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


def ways(technique: str, text: str, names: tuple[str, ...], *to: str) -> list[str]:
    """What is told of a way of playing that is asked for on a tune of these notes, which the last of the players has."""
    asked = Manner("s1", 0, 2 * BAR, technique, to, asked=True, reason="melody: so")
    data = problem(players(*names), strand("s1", "melody", line("s1.1", text)), bars=2, phrases=2, manners=[asked])
    chosen = frozenset(o.index for o in data.options if data.players[o.player].name == names[-1] and not o.octave)
    assert chosen
    return [str(verdict) for verdict in verdicts(data, chosen)]


def test_a_way_of_playing_that_is_asked_for_is_told_as_it_is_played() -> None:
    low, high = "G3 A3 B3 C4", "A6 B6 A6 B6"
    name = "melody: so: way of playing"
    assert ways("sul_g", low, ("violin",)) == [f"kept: {name}"]
    assert ways("sul_g", high, ("violin",)) == [f"refused: {name} (notes beyond what can be played so)"]
    assert ways("sul_g", f"{low} {high}", ("violin",)) == [
        f"bent: {name} (kept in 50% of it; elsewhere notes beyond what can be played so)"
    ]
    assert ways("pizz", low, ("violin", "clarinet_bb")) == [f"refused: {name} (nobody who plays there can)"]
    assert ways("pizz", low, ("violin", "viola"), "violin") == [f"refused: {name} (nobody whom it is for plays there)"]
    assert ways("", low, ("violin",)) == []


def test_only_what_was_solved_in_one_piece_and_proven_is_called_optimal() -> None:
    tune, bass = (
        strand("s1", "melody", line("s1.1", "E4 F4 G4 E4 " * 4)),
        strand("s2", "bass", line("s2.1", "C3 C3 G2 C3 " * 4)),
    )
    data = problem(players("flute", "viola", "cello"), tune, bass, bars=4, phrases=4)
    said = gather(data)
    told = {}
    for pieces, limits in ((1, Limits(gap=0.0)), (4, Limits(options=1, gap=0.0))):
        solution = solve(data, said, limits)
        assert (solution.windows, solution.slack) == (pieces, 0)
        told[pieces] = make_draft(sketch_of(data), data, solution, said)
        cut_short = replace(solution, stopped=True)
        assert make_draft(sketch_of(data), data, cut_short, said).status == "stopped"
    assert (told[1].status, told[4].status) == ("optimal", "feasible")
    assert told[1].objective <= told[4].objective
