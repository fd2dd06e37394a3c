"""What was nearly chosen: which options are told, once, in order, with what they cost."""

from __future__ import annotations

from dataclasses import replace

from autoorch.problem.draft import Choice, Draft
from autoorch.score.notation import notation
from autoorch.solver.why import Other, Reason, Share
from autoorch.write.options import options
from tests.support.hand import make_sketch

SKETCH = make_sketch(["C5:4 D5:4 E5:4 F5:4"])
DRAFT = Draft((), objective=1000)
HOUSE = notation()


def reason(
    bar: int, player: str, other: str, cost: int, octave: int = 0, role: str = "melody", **more: object
) -> Reason:
    start = SKETCH.bars[bar - 1].onset
    own = Choice(player, f"{role}{bar}", (f"{role}{bar}.1",), 0, start, SKETCH.bars[bar - 1].end)
    shares = (Share("balance", "the melody is weaker", cost),) if cost > 0 else ()
    instead = Other(replace(own, player=other, octave=octave), cost, shares, **more)  # type: ignore[arg-type]
    return Reason(own, role, "assigned", "", (), (), None, (), instead)


def told(*reasons: Reason) -> tuple[str, ...]:
    return options(reasons, SKETCH, DRAFT, HOUSE)


def test_other_players_of_leading_lines_are_told_in_order_of_bars_with_what_they_cost() -> None:
    assert told(reason(3, "Tuba", "Bassoon 1", -2, role="bass"), reason(2, "Flute 1", "Oboe 2", 4, octave=-1)) == (
        "bar 2, melody: Oboe 2, an octave lower, for Flute 1: 4 more than 1000 (the melody is weaker)",
        "bar 3, bass: Bassoon 1 for Tuba: 2 less than 1000",
    )


def test_what_is_no_choice_for_the_user_is_left_out() -> None:
    assert told(reason(1, "Flute 1", "Flute 2", 1)) == (), "another seat"
    assert told(reason(1, "Flute 1", "Oboe 1", 1, role="inner")) == (), "nobody makes it out"
    assert told(reason(1, "Flute 1", "Oboe 1", 1, against=("melody: must Flute",))) == ()
    assert told(reason(1, "Flute 1", "Oboe 1", int(HOUSE.options["within"] * 1000) + 1)) == (), "too dear"
    assert told(replace(reason(1, "Flute 1", "Oboe 1", 1), other=None)) == ()


def test_each_place_is_told_once_and_only_the_nearest_are() -> None:
    (one,) = told(reason(1, "Flute", "Oboe", 5), reason(1, "Clarinet", "Horn", 2))
    assert one.startswith("bar 1, melody: Horn for Clarinet")
    many = [replace(reason(1, "Flute", "Oboe", cost)) for cost in range(10)]
    apart = [replace(r, choice=replace(r.choice, strand=f"s{k}")) for k, r in enumerate(many)]
    assert len(told(*apart)) == HOUSE.options["most"]
    assert "9 more" not in " ".join(told(*apart))
