"""A tune's phrase has halves where it rests, holds or begins anew near its middle: one more is on the rising one."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from autoorch.layers.colours import Palette
from autoorch.layers.halves import Joint, find_joint, halved, handed_over, in_halves
from autoorch.layers.model import UNISON, PhrasePlan, Turn
from autoorch.lineup import parse_lineup
from autoorch.pitch import from_midi
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.tables import load_tables

TABLES = load_tables()
TABLE = TABLES.rule("plan")["half"]
PALETTE = Palette.of(parse_lineup("classical", TABLES), TABLES)
BAR = 16
AGAIN = Joint(32, False, again=True)
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
        ((4, 4, 4, 4, 16, 4, 4, 4, 4, 16), 6, Joint(32, True, again=True)),
        ((4, 4, 4, 4, 16, 4, 4, 4, 4, 16), 2, Joint(32, False, again=True)),
        ((4, 4, 4, 4, 16, 2, 2, 4, 8, 16), 7, Joint(32, True)),
        ((6, 2, 8, 4, 4, 4, 4, 6, 2, 8, 16), 7, Joint(32, True, again=True)),
        ((6, 2, 8, 4, 4, 4, 4, 2, 2, 4, 8, 16), 7, None),
        ((8, 8, 8, 8, 8, 8, 8, 8), 6, Joint(32, True)),
        ((4,) * 16, 10, Joint(32, True)),
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


@pytest.mark.parametrize(
    ("rises", "after", "turns"),
    [
        (True, {}, True),
        (True, {"doublers": 2}, False),
        (True, {"doublers": 2, "section": 1}, True),
        (True, {"dynamic": "f"}, True),
        (False, {}, True),
        (False, {"doublers": 2}, True),
        (False, {"dynamic": "f"}, False),
    ],
)
def test_nobody_joins_or_leaves_for_a_moment(rises: bool, after: dict[str, Any], turns: bool) -> None:
    second = replace(PLAN, start=64, end=128, scheme=UNISON, **after)
    found = in_halves([PLAN, second], [[], []], [Joint(32, rises), None], [4.0, 4.0], PALETTE)
    assert bool(found[0].turns) is turns and found[1] == second


def test_who_is_tired_leaves_first() -> None:
    found = halved(PLAN, Joint(32, False), tired={"flutes"})
    assert (found.joined, found.at(32).joined) == (PLAN.joined, ("oboes",))


def test_another_family_answers_without_those_who_joined_the_first() -> None:
    family = {"violins": "strings", "violas": "strings", "flutes": "winds", "oboes": "winds", "clarinets": "winds"}
    found = handed_over(PLAN, Joint(32, False), "clarinets", family)
    assert (found.at(31).lead, found.at(31).joined, found.at(31).doublers) == ("violins", PLAN.joined, 3)
    assert (found.at(32).lead, found.at(32).joined, found.at(32).doublers) == ("clarinets", PLAN.joined, 3)
    found = handed_over(PLAN, Joint(32, False), "flutes", family)
    assert (found.at(32).lead, found.at(32).joined, found.at(32).doublers) == ("flutes", ("oboes",), 2)
    found = handed_over(replace(PLAN, joined=("violas", "flutes")), Joint(32, False), "oboes", family)
    assert (found.at(32).lead, found.at(32).joined, found.at(32).doublers) == ("oboes", ("flutes",), 2)


def leads(*phrases: PhrasePlan, joint: Joint | None = AGAIN, bars: float = 4.0) -> list[tuple[str, str]]:
    """(who leads the first half, who the second) of each phrase, on a tune around C5."""
    tune = [SketchNote(f"n{k}", 4 * k, 4, from_midi(72 + k % 5), 0, 1) for k in range(4 * BAR)]
    placed = [replace(p, start=p.start + 4 * BAR * k, end=p.end + 4 * BAR * k) for k, p in enumerate(phrases)]
    notes = [[replace(n, onset=n.onset + p.start) for n in tune if n.onset < 4 * BAR] for p in placed]
    joints = [joint and replace(joint, tick=joint.tick + p.start) for p in placed]
    found = in_halves(placed, notes, joints, [bars] * len(placed), PALETTE)
    return [(p.lead, p.at(p.end - 1).lead) for p in found]


STRINGS = replace(PLAN, ground=("strings", "woodwind", "horns"), bass=("cello",), joined=("flutes",), doublers=2)
SOLO = replace(STRINGS, lead="oboes", joined=(), doublers=1, octaves=1)


def test_what_begins_again_is_answered_by_the_other_family() -> None:
    (first, second), (_, then) = leads(STRINGS, replace(STRINGS, scheme=UNISON), bars=8)
    assert first == "violins" == then
    assert second in ("flutes", "oboes", "clarinets")
    other = replace(STRINGS, lead="oboes", joined=("flutes",))
    alone = leads(STRINGS, other, bars=8)
    assert alone[0] == ("violins", "violins")
    assert leads(STRINGS, STRINGS) == [("violins", "violins")] * 2
    assert leads(STRINGS, STRINGS, bars=8, joint=Joint(32, False)) == [("violins", "violins")] * 2
    assert leads(STRINGS, STRINGS, bars=8, joint=Joint(24, False, again=True)) == [("violins", "violins")] * 2
    assert leads(STRINGS, replace(STRINGS, answers=0), bars=8) == [("violins", "violins")] * 2


def test_loud_music_and_a_tune_that_nobody_doubles_are_not_cut_up() -> None:
    loud, bare = replace(STRINGS, dynamic="f"), replace(STRINGS, joined=(), doublers=1)
    assert leads(loud, loud, bars=8) == leads(bare, bare, bars=8) == [("violins", "violins")] * 2


def test_a_wind_that_has_the_tune_for_long_hands_it_on() -> None:
    assert leads(SOLO, SOLO, joint=Joint(32, False)) == [("oboes", "oboes")] * 2
    first, second = leads(SOLO, bars=8)[0]
    assert first == "oboes" != second
    assert leads(SOLO, bars=8, joint=None) == [("oboes", "oboes")]
    strings = replace(SOLO, lead="violas")
    assert leads(strings, strings, strings, joint=Joint(32, False), bars=8) == [("violas", "violas")] * 3


def test_loud_woodwind_does_not_take_over_alone() -> None:
    loud = replace(SOLO, lead="trumpets", dynamic="f")
    ((_, second),) = leads(loud, bars=8)
    assert second in ("violins", "horns", "violas")


@pytest.mark.parametrize(
    "phrase",
    [
        PhrasePlan(0, 64, 0.4, "mf", lead="violins", octaves=1, doublers=1),
        PhrasePlan(0, 64, 0.8, "f", lead="violins", joined=("flutes",), octaves=3, doublers=9, scheme=UNISON),
        PhrasePlan(0, 64, 0.4, "mf", lead="violins", joined=("flutes",), doublers=2, turns=(Turn(16, "f", 0.8),)),
    ],
)
def test_nobody_joins_a_solo_a_unison_or_a_phrase_that_turns(phrase: PhrasePlan) -> None:
    assert in_halves([phrase], [[]], [Joint(32, True)], [4.0], PALETTE) == [phrase]
