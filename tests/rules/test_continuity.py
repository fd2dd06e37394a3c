"""Colour holds inside a phrase and may change between phrases."""

from __future__ import annotations

from dataclasses import replace

from autoorch.layers.model import Turn
from autoorch.rules import continuity, report
from tests.support.tiny import BAR, line, players, problem, strand


def cost(phrases: int = 1, role: str = "melody", turn: bool = False) -> int:
    tune = strand("s1", role, line("s1.1", "C5 D5 E5 D5 " * 4), cuts=(2 * BAR,))
    data = problem(players("flute", "oboe"), tune, bars=4, phrases=phrases)
    if turn:
        data = replace(data, plan=tuple(replace(one, turns=(Turn(2 * BAR, "p", 0.3),)) for one in data.plan))
    names = ("flute", "oboe")
    chosen = frozenset(
        o.index
        for o in data.options
        if o.octave == 0 and data.players[o.player].name == names[data.spans[o.span].index % 2]
    )
    assert len(data.spans) == 2
    return report(continuity, data, chosen).cost


def test_change_inside_a_phrase_costs_and_at_a_joint_it_does_not() -> None:
    assert cost(phrases=1) > 0
    assert cost(phrases=2) == 0


def test_where_the_plan_turns_chords_change_hands_for_less_and_the_tune_does_not() -> None:
    assert 0 < cost(role="inner", turn=True) < cost(role="inner")
    assert cost(turn=True) == cost() > 0


def test_a_tune_goes_on_in_its_octave_inside_a_phrase() -> None:
    """The same player an octave lower in the second half pays, also where the plan has a turn for the tune there."""

    def cost(octaves: tuple[int, int], phrases: int = 1, turn: bool = True) -> int:
        tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5 " * 4), cuts=(2 * BAR,))
        data = problem(players("flute", "oboe"), tune, bars=4, phrases=phrases)
        if turn:
            data = replace(
                data, plan=tuple(replace(p, turns=(Turn(2 * BAR, p.dynamic, p.weight, tune=True),)) for p in data.plan)
            )
        chosen = frozenset(
            o.index
            for o in data.options
            if data.players[o.player].name == "flute" and o.octave == octaves[data.spans[o.span].index]
        )
        assert len(chosen) == 2
        return report(continuity, data, chosen).cost

    assert cost((0, 1)) > cost((0, 0)) == 0
    assert cost((0, 1), turn=False) > cost((0, 1)) > 0
    assert cost((0, 1), phrases=2, turn=False) == 0
