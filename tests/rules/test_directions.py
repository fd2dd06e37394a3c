"""must, only, avoid and prefer."""

from __future__ import annotations

from dataclasses import replace

from autoorch.problem.data import ProblemData, Wish
from autoorch.rules import directions, price, report
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


def test_a_must_holds_wherever_the_player_can_and_is_told_by_what_it_reaches() -> None:
    """A tune that climbs out of a trombone's reach in its second phrase."""
    tune = strand("s1", "melody", line("s1.1", "C4 D4 E4 D4 C4 D4 E4 C4 " + "C7 D7 E7 D7 " * 2))
    data = problem(players("violin", "oboe", "trombone"), tune, bars=4, phrases=2)
    wish = Wish("must trombone on the melody", "must", (2,), ("melody",), 0, 2 * BAR)
    data = replace(data, wishes=(wish,))
    chosen = solve(data, gather(data)).chosen
    held = {
        data.spans[o.span].start for o in (data.options[k] for k in chosen) if data.players[o.player].name == "trombone"
    }
    able = {data.spans[o.span].start for o in data.options if data.players[o.player].name == "trombone"}
    assert held == {start for start in able if start < 2 * BAR} != set()
    assert directions.kept(data, wish, chosen) == 1
    longer = replace(wish, end=4 * BAR)
    assert directions.kept(data, longer, chosen) == 0.5


def test_of_a_family_anybody_does_for_a_role() -> None:
    """Strings on the tune: one section of them is enough; violins and cellos by name: both."""
    lineup = players("oboe", "violin", "cello")
    data = problem(lineup, strand("s1", "melody", line("s1.1", "C4 D4 E4 D4")))
    either = Wish("must Strings on the melody", "must", (1, 2), ("melody",), 0, BAR, families=((1, 2),))
    both = replace(either, families=())
    assert either.seats == ((1, 2),) and both.seats == ((1,), (2,))
    violins = taken(data, ("violin", "s1.1", 0))
    for wish, broken in ((either, 0), (both, 1)):
        here = replace(data, wishes=(wish,))
        assert len(report(directions, here, violins).broken) == broken
        assert directions.kept(here, wish, violins) == 1 - broken / 2
    oboe = taken(data, ("oboe", "s1.1", 0))
    assert report(directions, replace(data, wishes=(either,)), oboe).broken
    everywhere = replace(either, roles=())
    assert report(directions, replace(data, wishes=(everywhere,)), violins).broken


def test_broken_directions_are_named() -> None:
    data = data_with("avoid")
    assert report(directions, data, taken(data, ("trombone", "s1.1", 0))).broken == ("avoid trombone on the melody",)
    assert not report(directions, data, taken(data, ("violin", "s1.1", 0))).broken


def test_an_octave_that_is_asked_for_binds_whom_it_names_and_nobody_else() -> None:
    data = problem(players("violin", "oboe"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")))
    up = Wish("must violin on the melody an octave up", "must", (0,), ("melody",), 0, BAR, octave=1)
    data = replace(data, wishes=(up,))

    def broken(*wanted: tuple[str, str, int]) -> bool:
        return bool(report(directions, data, taken(data, *wanted)).broken)

    assert broken(("violin", "s1.1", 0))
    assert not broken(("violin", "s1.1", 1))
    assert not broken(("violin", "s1.1", 1), ("oboe", "s1.1", 0))
    assert broken(("oboe", "s1.1", 1))


def test_a_preference_falls_short_by_the_quarter_bars_in_which_its_player_has_not_the_role() -> None:
    tune = strand("s1", "melody", line("s1.1", "C4 D4 E4 D4 " * 4))
    data = problem(players("violin", "oboe"), tune, bars=4, phrases=2)
    wish = Wish("prefer oboe on the melody", "prefer", (1,), ("melody",), 0, 4 * BAR)
    data = replace(data, wishes=(wish,))
    (first, second) = (
        frozenset(o.index for o in data.options if o.player == 1 and not o.octave and o.span == span) for span in (0, 1)
    )

    def short(chosen: frozenset[int]) -> int:
        return sum(price(cost, data.groups, chosen) for cost in directions.shortfalls(data))

    assert short(first | second) == 0 < short(first) == short(second)
    assert short(frozenset()) == 2 * short(first) == 16 * data.tables.rule("directions")["weights"]["prefer"]
