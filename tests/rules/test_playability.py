"""One player does one thing at a time, and what is hard costs."""

from __future__ import annotations

from autoorch.rules import playability, report
from tests.support.tiny import line, players, problem, strand, taken


def test_one_thing_at_a_time() -> None:
    data = problem(
        players("flute", "oboe"),
        strand("s1", "melody", line("s1.1", "E5 F5 G5 E5")),
        strand("s2", "counterline", line("s2.1", "C5 C5 C5 C5")),
    )
    shared = taken(data, ("flute", "s1.1", 0), ("flute", "s2.1", 0))
    apart = taken(data, ("flute", "s1.1", 0), ("oboe", "s2.1", 0))
    assert report(playability, data, shared).broken
    assert not report(playability, data, apart).broken


def test_half_sections_may_divide() -> None:
    pair = strand("s2", "inner", line("s2.1", "E4 E4 E4 E4"), line("s2.2", "C4 C4 C4 C4"))
    data = problem(players("violin"), strand("s1", "melody", line("s1.1", "- - - -  G5")), pair, bars=2)
    halves = frozenset(o.index for o in data.options if o.share == 6 and o.octave == 0)
    assert {data.options[k].lines for k in halves} == {(0,), (1,)}
    assert not report(playability, data, halves).broken


def test_wide_leaps_cost_more_than_steps() -> None:
    def cost(text: str) -> int:
        data = problem(players("clarinet_bb"), strand("s1", "melody", line("s1.1", text)))
        return report(playability, data, taken(data, ("clarinet_bb", "s1.1", 0))).cost

    assert cost("E3 F5 E3 F5") > cost("E4 F4 G4 F4") == 0


def test_winds_want_a_rest_between_long_phrases() -> None:
    def cost(text: str) -> int:
        data = problem(players("oboe"), strand("s1", "melody", line("s1.1", text)), bars=8, phrases=2)
        return report(playability, data, taken(data, ("oboe", "s1.1", 0))).cost

    assert cost("E4 F4 G4 F4 " * 8) > cost("E4 F4 - - " * 8)
