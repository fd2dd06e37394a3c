"""must, only, avoid and prefer."""

from __future__ import annotations

from dataclasses import replace

from autoorch.problem.data import ProblemData, Wish
from autoorch.rules import directions, report
from autoorch.solver.solve import solve
from autoorch.solver.statements import gather
from tests.support.tiny import BAR, line, players, problem, strand, taken


def data_with(kind: str) -> ProblemData:
    data = problem(players("violin", "oboe", "trombone"), strand("s1", "melody", line("s1.1", "C4 D4 E4 D4")))
    return replace(data, wishes=(Wish(f"{kind} trombone on the melody", kind, (2,), ("melody",), 0, BAR),))


def names(data: ProblemData) -> set[str]:
    return {data.players[data.options[k].player].name for k in solve(data, gather(data)).chosen}


def test_must_and_only_and_avoid_and_prefer() -> None:
    assert "trombone" in names(data_with("must"))
    assert names(data_with("only")) == {"trombone"}
    assert "trombone" not in names(data_with("avoid"))
    assert "trombone" in names(data_with("prefer"))


def test_broken_directions_are_named() -> None:
    data = data_with("avoid")
    assert report(directions, data, taken(data, ("trombone", "s1.1", 0))).broken == ("avoid trombone on the melody",)
    assert not report(directions, data, taken(data, ("violin", "s1.1", 0))).broken
