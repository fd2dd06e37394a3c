"""Held chords of winds leave room to breathe, line by line; a strand may change hands in the middle of a long phrase."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from autoorch.brief import Brief
from autoorch.layers.breath import breathed, easy_breath, relieved
from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand, PhrasePlan
from autoorch.lineup import parse_lineup
from autoorch.pitch import from_midi
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch.model import Bar, Sketch, Staff
from autoorch.tables import load_tables

TABLES = load_tables()
BAR = 16
BARS = 8
EASY = 8.0


def cue(tempo: float = 60.0) -> Cue:
    """Eight bars of 4/4, a phrase of four and another; a bar of 4 s at 60 quarters a minute."""
    bars = tuple(Bar(k, str(k + 1), BAR * k, BAR, (4, 4), 0) for k in range(BARS))
    phrases = tuple(Phrase(64 * k, 64 * k + 64, "", "mf") for k in range(2))
    plan = tuple(PhrasePlan(p.start, p.end, 0.5, "mf") for p in phrases)
    reading = Reading((), phrases, (), tempo=tempo)
    return Cue(Sketch(4, (Staff(0, ""),), bars, ()), reading, plan, parse_lineup("classical", TABLES), Brief(), TABLES)


def line(*lengths: int, name: str = "pad1.1") -> tuple[MaterialNote, ...]:
    """Notes of so many ticks, one after the other from 0."""
    edges = [sum(lengths[:k]) for k in range(len(lengths) + 1)]
    return tuple(
        MaterialNote(f"{name}.{k}", start, end - start, from_midi(60)) for k, (start, end) in enumerate(pairwise(edges))
    )


def gaps(notes: list[MaterialNote]) -> list[int]:
    """Ticks at which a rest ends."""
    return [b.onset for a, b in pairwise(notes) if b.onset > a.end]


@pytest.mark.parametrize("tempo", [60.0, 132.0])
def test_a_held_line_breathes_before_bar_lines(tempo: float) -> None:
    own = cue(tempo)
    (notes,) = breathed(own, [line(128)], (), EASY)
    assert gaps(notes) and all(tick % BAR == 0 for tick in gaps(notes))
    assert all(own.seconds(a.end, b.onset) >= TABLES.rule("playability")["breath"]["gap_s"] for a, b in pairwise(notes))
    assert all(own.seconds(note.onset, note.end) <= EASY for note in notes)
    assert notes[-1].end == 128 and len({note.id for note in notes}) == len(notes)


def test_lines_of_a_set_take_turns() -> None:
    first, second = breathed(cue(), [line(128), line(128)], (), EASY)
    assert set(gaps(first)) & set(gaps(second)) == {64}, "where the second phrase begins"
    assert len(gaps(first)) > 1 and len(gaps(second)) > 1


def test_nobody_breathes_inside_a_phrase_that_is_no_longer_than_a_breath() -> None:
    """At 132 a phrase of four bars takes 7.3 s: both lines of two phrases stop where they meet, and nowhere else."""
    for notes in breathed(cue(132.0), [line(64, 64), line(64, 64)], (64,), EASY):
        assert gaps(notes) == [64]


def test_joints_come_first() -> None:
    (notes,) = breathed(cue(), [line(16, 12, 20, 80)], (28,), EASY)
    assert gaps(notes)[0] == 28


def test_every_line_stops_before_a_phrase() -> None:
    """Whatever was played before, and though no line is long; at 60 a quaver is time enough, which the last of four quavers
    leaves out."""
    for notes in breathed(cue(), [line(32, 32, 16), line(32, 26, 2, 2, 2, 16)], (64,), 4 * EASY):
        assert gaps(notes) == [64] and notes[-1].onset == 64
        assert [note.end for note in notes if note.onset < 64][-1] == 62
    (held,) = breathed(cue(), [line(80)], (), 4 * EASY)
    assert [(note.onset, note.end) for note in held] == [(0, 62), (64, 80)]


def test_short_notes_and_short_lines_stay_as_they_are() -> None:
    assert breathed(cue(), [line(*[2] * 16)], (), EASY) == [list(line(*[2] * 16))]
    assert breathed(cue(), [line(16)], (), EASY) == [list(line(16))]


def test_who_has_to_breathe() -> None:
    assert easy_breath(cue(), ("violin", "viola")) is None
    breath = easy_breath(cue(), ("violin", "horn"))
    horn = TABLES.instruments["horn"].fluency.stretch_s
    assert horn is not None and breath == horn[0]


def strand(role: str, notes: tuple[MaterialNote, ...], cuts: tuple[int, ...] = ()) -> MaterialStrand:
    return MaterialStrand("s1", role, "assigned", (MaterialLine("s1.1", notes),), cuts=cuts)


@pytest.mark.parametrize(
    ("role", "lengths", "tempo", "expected"),
    [
        ("inner", [16] * 8, 60.0, (32, 96)),
        ("inner", [16, 24, 24, 16, 48], 60.0, (16, 80)),
        ("inner", [64, 64], 60.0, ()),
        ("inner", [16] * 8, 132.0, ()),
        ("melody", [16] * 8, 60.0, ()),
    ],
)
def test_relief_in_the_middle_of_long_phrases(
    role: str, lengths: list[int], tempo: float, expected: tuple[int, ...]
) -> None:
    (found,) = relieved(cue(tempo), [strand(role, line(*lengths))])
    assert found.cuts == expected


def test_cuts_of_its_own_are_enough() -> None:
    (found,) = relieved(cue(), [strand("inner", line(*[16] * 8), cuts=(16,))])
    assert found == replace(found, cuts=(16, 96))
