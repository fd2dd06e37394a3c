"""Reasons come from the model: each figure is what the rules' own check says of the draft with that one change."""

from __future__ import annotations

import pytest

from autoorch.problem.data import ProblemData
from autoorch.problem.draft import Draft
from autoorch.roles.model import Chord
from autoorch.rules import RULES, report
from autoorch.solver.asked import options_of
from autoorch.solver.result import choices
from autoorch.solver.solve import solve
from autoorch.solver.statements import gather
from autoorch.solver.why import Ledger, Reason, reasons
from tests.support.tiny import BAR, line, players, problem, strand


@pytest.fixture(scope="module")
def solved() -> tuple[ProblemData, Draft]:
    data = problem(
        players("flute", "oboe", "clarinet_bb", "horn", "horn", "bassoon", "violin", "viola", "cello"),
        strand("s1", "melody", line("s1.1", "E5 F5 G5 E5")),
        strand("s2", "inner", line("s2.1", "E4 D4 D4 E4"), line("s2.2", "G3 A3 B3 G3")),
        strand("s3", "bass", line("s3.1", "C3 F2 G2 C3")),
        chords=[Chord(0, BAR, 0, 4, 0, (0, 4, 7))],
        weight=0.8,
    )
    return data, Draft(choices(data, solve(data, gather(data)).chosen))


def checked(data: ProblemData, chosen: frozenset[int]) -> tuple[int, set[str]]:
    """(cost, broken limits) by the rules' own check."""
    found = [report(rule, data, chosen) for rule in RULES]
    return sum(one.cost for one in found), {name for one in found for name in one.broken}


def told(solved: tuple[ProblemData, Draft]) -> list[tuple[ProblemData, frozenset[int], int, Reason]]:
    data, draft = solved
    chosen = options_of(data, draft.choices)
    found = []
    for reason in reasons(Ledger(data, options_of(data, draft.choices), gather(data)), draft.choices):
        (index,) = options_of(data, [reason.choice])
        found.append((data, chosen, index, reason))
    return found


def test_leaving_a_choice_out_costs_what_the_check_says(solved: tuple[ProblemData, Draft]) -> None:
    rows = told(solved)
    assert rows
    for data, chosen, index, reason in rows:
        before, after = checked(data, chosen), checked(data, chosen - {index})
        assert set(reason.needed) == after[1] - before[1]
        assert -sum(share.cost for share in reason.shares) == after[0] - before[0]
        assert reason.without == (None if reason.needed else after[0] - before[0])


def test_the_next_best_is_the_cheapest_swap_and_costs_what_the_check_says(solved: tuple[ProblemData, Draft]) -> None:
    compared = 0
    for data, chosen, index, reason in told(solved):
        option = data.options[index]
        before = checked(data, chosen)
        swaps = []
        for other in data.by_span[option.span]:
            if other.index in chosen or other.player == option.player or not set(option.lines) <= set(other.lines):
                continue
            cost, broken = checked(data, chosen - {index} | {other.index})
            if not broken - before[1]:
                swaps.append(cost - before[0])
        assert (reason.other.cost if reason.other else None) == (min(swaps) if swaps else None)
        if reason.other:
            assert reason.other.cost == sum(share.cost for share in reason.other.shares)
            compared += 1
    assert compared


def test_the_ledger_prices_any_swap_as_the_check_does(solved: tuple[ProblemData, Draft]) -> None:
    data, draft = solved
    chosen = options_of(data, draft.choices)
    ledger, before = Ledger(data, chosen, gather(data)), checked(data, chosen)
    left = [option.index for option in data.options if option.index not in chosen]
    for out, into in zip(sorted(chosen) * 9, left[::3], strict=False):
        after = checked(data, chosen - {out} | {into})
        shares, broken = ledger.swap([out], [into])
        assert sum(share.cost for share in shares) == after[0] - before[0]
        assert set(broken) == after[1] - before[1]
