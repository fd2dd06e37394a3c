"""A tune's phrase has halves where it rests, holds or begins anew near its middle: one more is on the rising one."""

from __future__ import annotations

import pytest

from autoorch.layers.halves import Joint, find_joint, halved
from autoorch.layers.model import UNISON, PhrasePlan, Turn
from autoorch.pitch import from_midi
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.tables import load_tables

TABLE = load_tables().rule("plan")["half"]
BAR = 16
PLAN = PhrasePlan(0, 4 * BAR, 0.4, "mf", lead="violins", joined=("flutes", "oboes"), octaves=2, doublers=3)


def joint(*notes: tuple[int, int]) -> Joint | None:
    """The joint of four bars of 4/4 with a tune of (onset, pitch)."""
    bars = tuple(Bar(k, str(k + 1), BAR * k, BAR, (4, 4), 0) for k in range(4))
    tune = tuple(SketchNote(f"n{k}", onset, 4, from_midi(midi), 0, 1) for k, (onset, midi) in enumerate(notes))
    return find_joint(Sketch(4, (Staff(0, ""),), bars, tune), tune, 0, 4 * BAR, TABLE)


def steps(*waits: int, top: int) -> list[tuple[int, int]]:
    """Notes that begin so many ticks after each other; number `top` is the highest."""
    return [(sum(waits[:k]), 84 if k == top else 72) for k in range(len(waits))]


@pytest.mark.parametrize(
    ("waits", "top", "expected"),
    [
        ((4, 4, 4, 4, 16, 4, 4, 4, 4, 16), 6, Joint(32, True)),
        ((4, 4, 4, 4, 16, 4, 4, 4, 4, 16), 2, Joint(32, False)),
        ((6, 2, 8, 4, 4, 4, 4, 6, 2, 8, 16), 7, Joint(32, True)),
        ((6, 2, 8, 4, 4, 4, 4, 2, 2, 4, 8, 16), 7, None),
        ((8, 8, 8, 8, 8, 8, 8, 8), 6, None),
        ((4,) * 16, 10, None),
        ((16, 4, 4, 4, 4, 4, 4, 4, 4, 16), 6, None),
    ],
)
def test_where_the_halves_meet(waits: tuple[int, ...], top: int, expected: Joint | None) -> None:
    assert joint(*steps(*waits, top=top)) == expected


def test_no_tune_no_joint() -> None:
    assert joint() is None


def test_somebody_joins_for_the_second_half() -> None:
    found = halved(PLAN, Joint(32, True))
    before, after = found.at(31), found.at(32)
    assert (before.joined, before.doublers, before.octaves) == (("flutes",), 2, 2)
    assert (after.joined, after.doublers, after.octaves) == (PLAN.joined, 3, 2)
    assert [(a, b) for a, b, _ in found.parts] == [(0, 64)]


def test_somebody_leaves_where_the_tune_falls_and_nothing_louder_comes() -> None:
    found = halved(PLAN, Joint(32, False))
    assert (found.joined, found.doublers) == (PLAN.joined, 3)
    assert (found.at(32).joined, found.at(32).doublers, found.at(32).octaves) == (("flutes",), 2, 2)
    assert halved(PLAN, Joint(32, False), louder=True) is PLAN
    assert halved(PLAN, Joint(32, True), louder=True) == halved(PLAN, Joint(32, True)) != PLAN


@pytest.mark.parametrize(
    "phrase",
    [
        PhrasePlan(0, 64, 0.4, "mf", lead="violins", octaves=1, doublers=1),
        PhrasePlan(0, 64, 0.8, "f", lead="violins", joined=("flutes",), octaves=3, doublers=9, scheme=UNISON),
        PhrasePlan(0, 64, 0.4, "mf", lead="violins", joined=("flutes",), doublers=2, turns=(Turn(16, "f", 0.8),)),
    ],
)
def test_nobody_joins_a_solo_a_unison_or_a_phrase_that_turns(phrase: PhrasePlan) -> None:
    assert halved(phrase, Joint(32, True)) is phrase
