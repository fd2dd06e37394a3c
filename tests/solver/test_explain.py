"""Briefs that contradict themselves: the set named is minimal, the ways out work, and it does not take long."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import pytest
from ortools.sat.python import cp_model

from autoorch.brief import Brief, parse_direction
from autoorch.cpsat import solver_for
from autoorch.errors import NoDraft
from autoorch.layers.build import build_material
from autoorch.lineup import parse_lineup
from autoorch.problem.build import build_problem
from autoorch.problem.data import ProblemData
from autoorch.roles import read_roles
from autoorch.sketch import read_sketch
from autoorch.solver.encode import Model
from autoorch.solver.explain import Conflict, Way
from autoorch.solver.solve import Limits, solve
from autoorch.solver.statements import gather
from autoorch.tables import load_tables
from tests.support.opening import opening

CUE = opening(
    read_sketch(Path(__file__).resolve().parents[2] / "examples" / "harbour-snow-cue" / "sketch.musicxml"), 16
)
LIMITS = Limits(seconds=2, gap=0.9)
INNOCENT = ("9-16 avoid Timpani", "harmony avoid Trumpet", "1-8 harmony prefer Violas")
CLASHES = (
    ("melody must Flute", "1-16 avoid Flute"),
    ("1-8 melody only Flute", "1-8 melody must Oboe"),
    ("avoid Strings", "9-16 bass must Violoncellos"),
    ("melody only Oboe", "9-16 melody avoid Oboe"),
    ("1-8 melody must Bassoon", "1-8 bass must Bassoon"),
    ("melody only Violins I", "bass only Violins I"),
    ("9-16 avoid Tutti",),
    ("melody must Violins I; octave +1", "melody must Violins I; octave -1"),
    ("avoid Woodwind", "avoid Brass", "1-8 melody avoid Strings"),
    ("melody must Clarinet", "bass must Bassoon", "13-16 only Strings"),
)


def problem(said: tuple[str, ...]) -> ProblemData:
    tables = load_tables()
    brief = Brief(directions=tuple(parse_direction(text) for text in said))
    sketch, lineup = CUE, parse_lineup("chamber", tables)
    reading = read_roles(sketch, tables)
    material = build_material(sketch, reading, lineup, brief, tables)
    return build_problem(sketch, reading, material, lineup, tables, brief)


def holds(data: ProblemData, names: set[str]) -> bool:
    """What must hold can hold together with only these directions."""
    fewer = replace(data, wishes=tuple(wish for wish in data.wishes if wish.name in names))
    statements = gather(fewer)
    model = Model(fewer, 0, len(fewer.plan), ())
    for limit in (limit for phrase in statements.limits for limit in phrase if limit.name not in statements.soft):
        model.add_limit(limit)
    status = solver_for(10).solve(model.cp)
    assert status != cp_model.UNKNOWN
    return bool(status != cp_model.INFEASIBLE)


@pytest.mark.parametrize("said", CLASHES, ids=lambda said: said[0])
def test_the_set_is_minimal_and_the_ways_out_work(said: tuple[str, ...]) -> None:
    data = problem((*said, *INNOCENT))
    with pytest.raises(NoDraft) as caught:
        solve(data, gather(data), LIMITS)
    core, ways = set(caught.value.core), caught.value.ways
    all_names = {wish.name for wish in data.wishes}
    assert core
    assert core <= {str(parse_direction(text)) for text in said}
    assert not holds(data, core)
    for name in core:
        assert holds(data, core - {name})
    assert 1 <= len(ways) <= 3
    for way in ways:
        assert holds(data, all_names - set(way))
        assert not any(holds(data, all_names - set(way) | {back}) for back in way)
    kept = replace(data, wishes=tuple(wish for wish in data.wishes if wish.name not in ways[0]))
    assert solve(kept, gather(kept), LIMITS).chosen
    message = str(caught.value)
    assert all(name in message for name in core)
    assert "leave out" in message and "\n" not in message


def test_what_a_way_out_gives_up_besides_is_said_to_clash_as_well() -> None:
    said = str(Conflict(("A", "B"), (), (Way(("B",), 1), Way(("A", "C"), 5), Way(("D",), None))))
    assert said == (
        'these directions can\'t hold together: A; B. Ways out: leave out "B" (cheapest), '
        'or leave out "A" and "C" (which clashes as well) (4 dearer), or leave out "D" (which clashes as well)'
    )


def test_thirty_directions_are_explained_in_no_more_than_three_solves() -> None:
    innocent = [f"{bar} {role} avoid Trumpet" for bar in range(1, 15) for role in ("harmony", "figure")]
    peaceful = problem(tuple(innocent))
    start = time.process_time()
    solve(peaceful, gather(peaceful))
    once = time.process_time() - start
    clash = problem((*innocent, "9-16 melody only Oboe", "13-16 melody avoid Oboe"))
    assert len({wish.name for wish in clash.wishes}) == 30
    statements = gather(clash)
    start = time.process_time()
    with pytest.raises(NoDraft) as caught:
        solve(clash, statements)
    assert time.process_time() - start <= 3 * once + 1
    assert len(caught.value.core) == 2
