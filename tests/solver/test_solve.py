"""The solver against brute force and against the rules' own check."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from autoorch.cpsat import solver_for
from autoorch.errors import NoDraft
from autoorch.problem.data import ProblemData, Wish
from autoorch.problem.terms import Cost, Form
from autoorch.roles.model import Chord
from autoorch.rules import RULES, report
from autoorch.solver.encode import Model
from autoorch.solver.solve import Limits, chains, solve, windows
from autoorch.solver.statements import gather
from tests.support.highs import optimum
from tests.support.tiny import BAR, line, players, problem, strand


def small() -> ProblemData:
    tune = strand("s1", "melody", line("s1.1", "E4 F4 G4 E4"))
    bass = strand("s2", "bass", line("s2.1", "C3 C3 G2 C3"))
    return problem(players("flute", "viola", "cello"), tune, bass)


def total(data: ProblemData, chosen: frozenset[int]) -> int | None:
    """Sum of all rule costs, None where a limit is broken."""
    reports = [report(rule, data, chosen) for rule in RULES]
    return None if any(r.broken for r in reports) else sum(r.cost for r in reports)


def brute(data: ProblemData) -> int:
    """The cheapest of all subsets of options, one or none for each player."""
    costs = []
    indices = [option.index for option in data.options]
    for size in range(1, len(data.players) + 1):
        for subset in combinations(indices, size):
            if len({data.options[k].player for k in subset}) == size:
                cost = total(data, frozenset(subset))
                if cost is not None:
                    costs.append(cost)
    return min(costs)


def test_equals_brute_force() -> None:
    data = small()
    solution = solve(data, gather(data))
    assert solution.slack == 0
    assert solution.solver_cost == brute(data) == total(data, solution.chosen)


def test_the_rules_count_what_the_solver_counts_over_windows_and_seams() -> None:
    tune = strand("s1", "melody", line("s1.1", "E4 F4 G4 E4 " * 8))
    bass = strand("s2", "bass", line("s2.1", "C3 C3 G2 C3 " * 8))
    lineup = players(
        "flute", "oboe", "clarinet_bb", "bassoon", "horn", "horn", "violin", "viola", "cello", "double_bass"
    )
    data = problem(lineup, tune, bass, bars=8, phrases=4, dynamic="f")
    whole = solve(data, gather(data))
    halves, thirds = (Limits(options=len(data.options) // parts, overlap=1) for parts in (2, 3))
    assert [len(windows(data, limits)) for limits in (halves, thirds)] == [2, 3]
    two, three = (solve(data, gather(data), limits) for limits in (halves, thirds))
    for solution in (whole, two, three):
        assert total(data, solution.chosen) == solution.solver_cost
    assert whole.solver_cost <= two.solver_cost <= 1.02 * whole.solver_cost + 5
    assert whole.solver_cost <= three.solver_cost <= 1.2 * whole.solver_cost, (
        "a window of one phrase sees no breath ahead"
    )


@pytest.mark.parametrize("processors", [1, 2])
def test_halves_solved_at_once_are_joined_and_counted_once(processors: int, monkeypatch: pytest.MonkeyPatch) -> None:
    tune = strand("s1", "melody", line("s1.1", "E4 F4 G4 E4 " * 16))
    bass = strand("s2", "bass", line("s2.1", "C3 C3 G2 C3 " * 16))
    lineup = players("flute", "oboe", "clarinet_bb", "bassoon", "horn", "violin", "viola", "cello", "double_bass")
    data = problem(lineup, tune, bass, bars=16, phrases=8, dynamic="f")
    limits = Limits(options=len(data.options) // 8)
    said = gather(data)
    (first, joint, begins), (_, end, last) = chains(data, said, limits)
    assert first < joint < begins < end == last == 8
    monkeypatch.setattr("os.cpu_count", lambda: processors)
    halves, one = solve(data, said, limits), solve(data, said, replace(limits, chains=1))
    assert total(data, halves.chosen) == halves.solver_cost
    assert total(data, one.chosen) == one.solver_cost
    assert halves.solver_cost <= 1.05 * one.solver_cost + 5
    assert halves == solve(data, said, limits)


def test_same_problem_same_draft() -> None:
    answers = {solve(data, gather(data)).chosen for data in (small(), small(), small())}
    assert len(answers) == 1


def test_a_melody_nobody_can_play_is_named() -> None:
    tune = strand("s1", "melody", line("s1.1", "C1 C1 C1 C1"))
    with pytest.raises(NoDraft, match=r"bar 1: nobody in tiny can play the melody"):
        problem(players("triangle"), tune)


def test_clashing_directions_are_named_and_none_can_be_spared() -> None:
    lineup = players("violin", "oboe", "cello")
    tune = strand("s1", "melody", line("s1.1", "C4 D4 E4 D4"))
    data = problem(lineup, tune)
    asked = (
        Wish("melody: must oboe", "must", (1,), ("melody",), 0, BAR),
        Wish("melody: avoid oboe", "avoid", (1,), (), 0, BAR),
        Wish("melody: avoid cello", "avoid", (2,), (), 0, BAR),
    )
    clash = replace(data, wishes=asked)
    with pytest.raises(NoDraft) as caught:
        solve(clash, gather(clash))
    assert set(caught.value.core) == {"melody: must oboe", "melody: avoid oboe"}
    for spared in caught.value.core:
        fewer = replace(data, wishes=tuple(wish for wish in asked if wish.name != spared))
        assert solve(fewer, gather(fewer)).chosen


def test_where_no_direction_is_to_blame_the_facts_are_told() -> None:
    tune, low = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")), strand("s2", "bass", line("s2.1", "C4 C4 C4 C4"))
    alone = replace(problem(players("flute"), tune, low), wishes=(Wish("prefer flute", "prefer", (0,), (), 0, BAR),))
    with pytest.raises(
        NoDraft, match=r"flute plays one thing at a time in bar 1; .*melody.*; .*bass.* add a player"
    ) as caught:
        solve(alone, gather(alone))
    assert {name.split("/")[0] for name in caught.value.core} == {"one thing at a time", "melody heard", "bass heard"}
    both = problem(players("flute", "oboe"), tune, low)
    assert solve(both, gather(both)).chosen


def test_a_line_up_too_small_for_a_third_gives_it_up_and_says_so() -> None:
    chord = Chord(0, BAR, 0, 4, 0, (0, 4, 7))
    data = problem(
        players("violin", "cello", size=1),
        strand("s1", "melody", line("s1.1", "G5 G5 G5 G5")),
        strand("s2", "inner", line("s2.1", "E4 E4 E4 E4")),
        strand("s3", "bass", line("s3.1", "C2 C2 C2 C2")),
        chords=[chord],
    )
    solution = solve(data, gather(data))
    assert {data.role(data.options[k]) for k in solution.chosen} == {"melody", "bass"}


@pytest.mark.parametrize("dynamic", ["p", "f"])
def test_another_solver_finds_the_same_optimum(dynamic: str) -> None:
    # HiGHS (open source, a branch-and-cut solver for mixed-integer programs) with an encoding written apart from ours
    tune = strand("s1", "melody", line("s1.1", "E5 F5 G5 E5 D5 E5 C5 C5"))
    inner = strand("s2", "inner", line("s2.1", "C5 C5 B4 C5 B4 G4 G4 G4"), line("s2.2", "G4 A4 D4 G4 F4 E4 E4 E4"))
    bass = strand("s3", "bass", line("s3.1", "C3 F2 G2 C3 G2 C3 C3 C3"))
    lineup = players(
        "flute", "oboe", "clarinet_bb", "bassoon", "horn", "horn", "violin", "violin", "viola", "cello", "double_bass"
    )
    data = problem(lineup, tune, inner, bass, bars=2, phrases=2, dynamic=dynamic, weight=0.6)
    statements = gather(data)
    solution = solve(data, statements, Limits(seconds=60, gap=0.0))
    assert solution.slack == 0
    assert optimum(data, statements) == solution.solver_cost


def test_two_takes_of_one_player_in_turn_count_once_where_either_would_do() -> None:
    """Lines of one span that never sound together may go to one player both; "somebody plays it" is still one."""
    tune = strand("s1", "melody", line("s1.1", "E5 F5 G5 E5"))
    bass = strand("s2", "bass", line("s2.1", "C3 C3 G2 C3"))
    inner = strand("s3", "inner", line("s3.1", "C4 G3 - -"), line("s3.2", "- - B3 C4"))
    data = problem(players("flute", "viola", "cello"), tune, bass, inner)
    solution = solve(data, gather(data))
    taken = [
        data.options[k] for k in solution.chosen if data.strands[data.spans[data.options[k].span].strand].id == "s3"
    ]
    assert [(o.player, o.lines) for o in sorted(taken, key=lambda o: o.lines)] == [(1, (0,)), (1, (1,))]
    assert total(data, solution.chosen) == solution.solver_cost
    literal = data.groups.any([o.index for o in taken])
    parts, fixed = Model(data, 0, len(data.plan), frozenset()).literal(literal)
    assert (len(parts), fixed) == (1, 0)


def test_a_pianists_two_hands_count_once_where_either_would_do() -> None:
    """Both hands have a line: whatever asks for the player is met once, for the rules and for the solver."""
    chord = strand("s1", "inner", line("s1.1", "E4 F4 E4 F4"), line("s1.2", "C4 D4 C4 D4"))
    data = problem(players("piano", "flute"), chord)
    hands = [o.index for o in data.options if o.player == 0 and len(o.lines) == 1 and not o.octave]
    assert len(hands) == 2 and [data.held(data.options[k]) for k in hands] == [6, 6]
    literal = data.groups.any(hands)
    model = Model(data, 0, 1, frozenset())
    model.add_cost(Cost("", 0, 5, (Form(((literal, 1),)),), ""))
    model.fix(hands)
    model.minimise()
    solver = solver_for(1.0)
    solver.solve(model.cp)
    assert model.phrase_cost(0, solver) == 5
