"""A section that is asked to divide takes a chord's lines at once, or one line in octaves; its strength is shared."""

from __future__ import annotations

import pytest

from autoorch.layers.model import Manner, MaterialStrand
from autoorch.power import power
from autoorch.problem.data import Option, ProblemData
from autoorch.problem.divided import divided_takes
from autoorch.rules import balance, report, techniques
from autoorch.solver.solve import solve
from autoorch.solver.statements import gather
from tests.support.tiny import BAR, line, players, problem, strand

CHORD = strand("s1", "inner", *(line(f"s1.{k}", f"{one}4 {one}4 {one}4 {one}4") for k, one in enumerate("BGE")))
TUNE = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))


def asked(one: MaterialStrand, technique: str, *, size: int = 12, player: str = "viola") -> ProblemData:
    manner = Manner("s1", 0, BAR, technique, asked=True, reason="so")
    return problem(players(player, size=size), one, manners=[manner])


def taken(data: ProblemData) -> list[Option]:
    return [data.options[k] for k in sorted(solve(data, gather(data)).chosen)]


@pytest.mark.parametrize("technique", ["div", "div_a_3"])
def test_the_lines_of_a_chord_are_shared_out_at_once(technique: str) -> None:
    (one,) = taken(asked(CHORD, technique))
    assert one.lines == (0, 1, 2)


def test_as_many_lines_as_are_asked_for_or_as_there_are() -> None:
    assert {len(lines) for lines, _ in divided_takes((0, 1, 2, 3), 2, 4)[0]} == {2, 3, 4}
    assert divided_takes((0, 1, 2, 3), 3, 3)[0] == [((0, 1, 2), 12), ((1, 2, 3), 12)]
    assert divided_takes((0, 1), 3, 3)[0] == [((0, 1), 12)]


def test_fewer_where_they_do_not_all_lie_within_reach() -> None:
    high = strand("s1", "inner", line("s1.1", "A3"), line("s1.2", "E3"), line("s1.3", "C1"))
    options = asked(high, "div_a_3").options
    assert {o.lines for o in options if 0 in o.lines or 1 in o.lines} == {(0, 1)}
    assert {o.octave for o in options if 2 in o.lines} == {2}


def test_each_desk_has_its_share_of_the_strength() -> None:
    data = asked(CHORD, "div")
    (three,) = (o for o in data.options if o.lines == (0, 1, 2) and not o.octave)
    viola = data.players[0].instrument
    own = power(data.tables, viola, 12, "mf", data.mean_pitch(three), 4)
    all_of_it = power(data.tables, viola, 12, "mf", data.mean_pitch(three), 12)
    loudness = data.tables.rule("balance")["loudness"][4]
    assert balance.strength(data, three) == 10 * own // loudness < 10 * all_of_it // loudness


def test_one_line_is_had_in_two_octaves() -> None:
    data = asked(TUNE, "div", player="violin")
    halves = taken(data)
    assert len(halves) == 2
    assert {o.share for o in halves} == {6}
    assert len({o.octave for o in halves}) == 2
    whole = frozenset(o.index for o in data.options if o.share == 12 and not o.octave)
    assert report(techniques, data, whole).broken


def test_one_player_is_not_divided() -> None:
    data = asked(TUNE, "div", size=1, player="violin")
    assert {o.share for o in data.options} == {12}
    assert taken(data)
