"""Answers as text: short, in a musician's words, every figure from the reason that it tells."""

from __future__ import annotations

from dataclasses import replace

from autoorch import told
from autoorch.problem.draft import Choice
from autoorch.solver.why import Other, Reason, Share
from tests.support.hand import make_sketch

SKETCH = make_sketch(["C5:4 D5:4 E5:4 F5:4"])
BAR = SKETCH.bars[0].end
CHOICE = Choice("Oboe 1", "s1", ("s1.1",), 1, 0, 2 * BAR)
OTHER = Other(
    replace(CHOICE, player="Flute 1", octave=0), 38,
    (Share("plan", "the tune is not with the oboes", 50), Share("idiom", "", -12)),
)  # fmt: skip
REASON = Reason(
    CHOICE, "melody", "assigned", "", (), ("melody heard/bar 1",), None,
    (Share("plan", "the tune is not with the oboes", -50), Share("voice_leading", "parallels", 12)), OTHER,
)  # fmt: skip


def test_a_bar_is_told_by_role_the_melody_first_and_like_reasons_together() -> None:
    bass = replace(
        REASON, role="bass", needed=(), without=20, other=None, shares=(Share("coverage", "bass notes left out", -20),)
    )
    found = [
        replace(bass, choice=Choice("Bassoon 1", "s2", ("s2.1",), 0, 0, BAR)),
        replace(bass, choice=Choice("Violoncellos", "s2", ("s2.1",), 0, 0, BAR, 6)),
        REASON,
    ]
    assert told.why(SKETCH, "1", found).splitlines() == [
        "melody, bars 1-2",
        "  Oboe 1 an octave up: the melody must be heard; next best Flute 1, 38 dearer: the tune is not with the oboes",
        "bass, bar 1",
        "  Bassoon 1 and Violoncellos, half of them: else bass notes left out (coverage 20);"
        " nobody else can take its place alone",
        "--player NAME tells what it costs and spares in bar 1, --json gives every figure",
    ]


def test_two_strands_of_one_role_have_one_heading_and_a_player_is_named_once() -> None:
    upper, lower = Choice("Violas", "s3", ("s3.1",), 0, 0, BAR), Choice("Violas", "s4", ("s4.1",), 0, 0, BAR)
    row = replace(REASON, role="inner", needed=(), without=9, other=None, shares=(Share("coverage", "left out", -9),))
    found = [replace(row, choice=replace(lower, player=name)) for name in ("Flute 1", "Horn 1")]
    found = [replace(row, choice=upper), replace(row, choice=lower), *found]
    assert told.why(SKETCH, "1", found).splitlines()[:-1] == [
        "inner, bar 1", "  Violas, Flute 1 and Horn 1: else left out (coverage 9); nobody else can take its place alone",
    ]  # fmt: skip


def test_what_is_added_stands_under_the_heading_of_its_role_with_its_reason() -> None:
    row = replace(REASON, role="inner", needed=(), without=9, other=None, shares=(Share("coverage", "left out", -9),))
    ours = replace(row, layer="harmony", why_added="held chords")
    found = [
        replace(row, choice=Choice("Violas", "s3", ("s3.1",), 0, 0, BAR)),
        replace(ours, choice=Choice("Horn 1", "x1", ("x1.1",), 0, 0, BAR)),
        replace(ours, choice=Choice("Horn 2", "x1", ("x1.2",), 0, 0, BAR)),
    ]
    assert told.why(SKETCH, "1", found).splitlines()[:-1] == [
        "inner, bar 1", "  Violas: else left out (coverage 9); nobody else can take its place alone",
        "  Horn 1 and Horn 2 (added: held chords): else left out (coverage 9); nobody else can take its place alone",
    ]  # fmt: skip


def test_one_player_is_told_with_what_it_costs_and_spares() -> None:
    asked = replace(REASON, asked=("melody: must Oboe 1",), other=replace(OTHER, against=("melody: must Oboe 1",)))
    assert told.why_one(SKETCH, asked).splitlines() == [
        "Oboe 1 an octave up: melody, bars 1-2",
        '  asked for ("melody: must Oboe 1"), the melody must be heard',
        "  spares 50: plan 50 (the tune is not with the oboes)",
        "  costs 12: voice leading 12 (parallels)",
        '  next best Flute 1, 38 dearer, against "melody: must Oboe 1": plan 50 (the tune is not with the oboes)',
    ]


def test_a_reason_that_nothing_speaks_for_says_so() -> None:
    idle = replace(REASON, needed=(), without=-3, shares=(Share("idiom", "", 3),), other=replace(OTHER, cost=-2))
    assert told.why_one(SKETCH, idle).splitlines()[1:] == [
        "  leaving it out would spare 3", "  costs 3: idiom 3", "  next best Flute 1, 2 cheaper",
    ]  # fmt: skip
