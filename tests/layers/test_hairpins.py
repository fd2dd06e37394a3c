"""Hairpins of ours: to a crest and back, up to the peak, and nowhere where the sketch says it itself."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from autoorch.brief import Brief
from autoorch.layers.cue import Cue
from autoorch.layers.hairpins import into_crests, to_the_peak, told
from autoorch.layers.model import PhrasePlan
from autoorch.lineup import parse_lineup
from autoorch.pitch import parse
from autoorch.roles.model import Line, Moment, Phrase, Reading, Strand
from autoorch.sketch.model import Bar, Mark, Sketch, SketchNote, Staff
from autoorch.tables import load_tables

TABLES = load_tables()
TICKS, BAR = 4, 16
TUNE = ("G4", "A4", "C5", "E5", "D5", "C5", "B4", "G4")


def cue(
    character: str = "lyrical", loud: str = "p", marks: tuple[Mark, ...] = (), moments: tuple[Moment, ...] = ()
) -> Cue:
    """Two phrases of four bars, two notes a bar; the crest is the first note of each second bar; the second is the peak."""
    notes = tuple(
        SketchNote(f"n{k}", k * BAR // 2, BAR // 2, parse(TUNE[k % len(TUNE)]), 0, 1) for k in range(2 * len(TUNE))
    )
    bars = tuple(Bar(k, str(k + 1), k * BAR, BAR, (4, 4), 0) for k in range(8))
    sketch = Sketch(TICKS, (Staff(0, ""),), bars, notes, marks=marks)
    edges = ((0, 4 * BAR, "p"), (4 * BAR, 8 * BAR, loud))
    phrases = tuple(Phrase(a, b, dynamic=d, character=character) for a, b, d in edges)
    strand = Strand("s1", "melody", (Line("s1.1", tuple(n.id for n in notes)),))
    reading = Reading((strand,), phrases, (), moments)
    plan = tuple(PhrasePlan(a, b, 0.4, d, peak=a > 0) for a, b, d in edges)
    return Cue(sketch, reading, plan, parse_lineup("chamber", TABLES), Brief(), TABLES)


def hairpins(here: Cue) -> tuple[Mark, ...]:
    """All of ours, in time order."""
    return tuple(sorted((*into_crests(here), *to_the_peak(here)), key=lambda mark: mark.onset))


def kinds(here: Cue) -> list[tuple[float, float, str]]:
    return [(m.onset / BAR, m.end / BAR, m.value) for m in hairpins(here)]


def test_into_and_out_of_each_crest() -> None:
    assert kinds(cue()) == [
        (0, 1.5, "crescendo"),
        (1.5, 2.5, "diminuendo"),
        (4, 5.5, "crescendo"),
        (5.5, 6.5, "diminuendo"),
    ]


def test_dances_swell_hymns_do_not_and_nothing_grows_from_ff() -> None:
    assert kinds(cue("dance")) == kinds(cue())
    assert kinds(cue("hymn")) == []
    assert kinds(cue("lyrical", "ff")) == kinds(cue())[:2]


@pytest.mark.parametrize(
    "tune", [("D5", "D5", "D5", "E5", "D5", "D5", "D5", "D5"), ("E5", "D5", "C5", "B4", "A4", "G4", "F4", "E4")]
)
def test_a_tune_that_climbs_to_no_crest_has_none(tune: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.layers.test_hairpins.TUNE", tune)
    assert kinds(cue()) == []


def test_up_to_a_louder_peak_but_not_over_another_hairpin() -> None:
    assert kinds(cue("march", "ff")) == [(2, 4, "crescendo")]
    assert kinds(cue("march", "p")) == []
    assert (2, 4, "crescendo") not in kinds(cue("lyrical", "ff"))


def test_a_sudden_peak_stays_sudden() -> None:
    assert kinds(cue("march", "ff", moments=(Moment(4 * BAR, "sudden", 1.0),))) == []


@pytest.mark.parametrize(
    "mark",
    [
        Mark("wedge", 0, BAR, 0, "crescendo"),
        Mark("words", BAR, BAR, 0, "poco a poco cresc."),
        Mark("dynamic", BAR, BAR, 0, "mf"),
    ],
)
def test_what_the_sketch_says_itself_stays(mark: Mark) -> None:
    found = kinds(cue(marks=(mark,)))
    assert found and all(start >= 4 for start, _, _ in found)


def test_they_are_told_and_never_overlap() -> None:
    here = cue()
    marks = hairpins(here)
    assert told(here, marks) == ("hairpins that the sketch does not have begin in bars 1-2, 5-6",)
    assert told(here, ()) == ()
    both = hairpins(replace(here, plan=tuple(replace(p, dynamic="f" if p.peak else "p") for p in here.plan)))
    assert all(a.end <= b.onset for a, b in pairwise(both))
