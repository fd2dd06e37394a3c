"""Choices, octaves and reasons as the page says them."""

from __future__ import annotations

from dataclasses import replace

from autoorch.layers.model import MaterialStrand
from autoorch.problem.draft import Choice
from autoorch.solver.why import Other, Reason, Share
from autoorch.write.page.words import choice_words, octave_words, reason_words

STRAND = MaterialStrand("s2", "inner", "assigned", (), "held chords")
CHOICE = Choice("Clarinet 1", "s2", ("s2.1",), 1, 0, 16)


def test_octaves_in_words() -> None:
    assert [octave_words(k) for k in (0, 1, -1, 2)] == ["at pitch", "an octave up", "an octave down", "2 octaves up"]


def test_a_choice_in_words() -> None:
    assert choice_words(CHOICE, STRAND, 4, [60, 67]) == [
        "inner, held chords", "an octave up, 4 notes from C4 to G4", "strand s2 of the sketch",
    ]  # fmt: skip
    half = replace(CHOICE, share=6, techniques=("pizz.",), instrument="bass_clarinet", octave=0)
    added = replace(STRAND, layer="harmony", reason="fills the chord", texture="")
    assert choice_words(half, added, 1, [58]) == [
        "inner", "at pitch, B♭3", "pizz., on bass clarinet, 6 of 12 of the section", "added by harmony: fills the chord",
    ]  # fmt: skip


def test_reasons_in_words() -> None:
    shares = (Share("texture", "thinner than planned", -30), Share("idiom", "", 12))
    other = Other(replace(CHOICE, player="Oboe 1", octave=0), 7, ())
    reason = Reason(CHOICE, "inner", "assigned", "", (), (), -18, shares, other)
    assert reason_words(reason) == [
        "without it the draft costs -18", "spares 30 texture (thinner than planned)", "costs 12 idiom",
        "next best: Oboe 1 at pitch, +7",
    ]  # fmt: skip
    needed = replace(reason, needed=("melody heard/bar 5", "third heard/bar 5"), without=None, shares=(), other=None)
    assert reason_words(needed) == ["the melody must be heard and the third must be heard"]
    asked = replace(reason, asked=("melody: must Clarinet",), without=None, shares=())
    assert reason_words(replace(asked, other=replace(other, against=asked.asked))) == [
        "asked for: melody: must Clarinet", 'next best: Oboe 1 at pitch, +7, against "melody: must Clarinet"',
    ]  # fmt: skip
