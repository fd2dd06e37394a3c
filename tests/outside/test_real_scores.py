"""Real scores through the checker: what masters wrote is hardly ever called unplayable, and seldom risky.

The scores come with music21: chorales with trumpets, timpani, oboes and strings, and string quartets. The benchmark
tests/benchmarks/real_scores.py takes all of them; each finding below was read.
"""

from __future__ import annotations

import pytest

from autoorch.check import check
from tests.benchmarks.real_scores import CORPUS

SCORES = (
    "bach/bwv190.7-inst.mxl",
    "bach/bwv248.42-4.mxl",
    "bach/bwv248.64-6.mxl",
    "haydn/opus74no1/movement1.mxl",
    "mozart/k458/movement1.mxl",
    "beethoven/opus18no1/movement4.mxl",
    "schumann_robert/opus41no1/movement1.mxl",
)

# Faults of the files, read in their context: (score, bar, rule) and why it is right to say so.
READ = {
    ("haydn/opus74no1/movement4.mxl", "273", "range"): "B1 on the cello, a semitone below its lowest string",
    ("haydn/opus74no1/movement4.mxl", "273", "double stops"): "the same note with G2",
    ("schumann_robert/opus41no1/movement4.mxl", "32", "range"): "C flat 3 on the viola, a semitone below its lowest string",
    ("schumann_robert/opus41no1/movement4.mxl", "32", "double stops"): "the same note with A3",
    ("bach/bwv248.23-2.mxl", "2", "one note at a time"): "two players on a stave for one, chords in 9 of 10 bars",
}  # fmt: skip


@pytest.mark.parametrize("name", SCORES)
def test_what_masters_wrote_is_playable(name: str) -> None:
    assert [finding for finding in check(CORPUS / name).findings if finding.severity == "unplayable"] == []


def test_little_of_it_is_risky_or_against_style() -> None:
    """At most 10 risky findings and 15 of style in 1,000 notes, over all of them."""
    reports = [check(CORPUS / name) for name in SCORES]
    notes = sum(report.notes for report in reports)
    assert notes > 20_000
    assert 1000 * sum(report.counts["risky"] for report in reports) / notes < 10
    assert 1000 * sum(report.counts["style"] for report in reports) / notes < 15


@pytest.mark.parametrize("name", sorted({score for score, _, _ in READ}))
def test_what_is_called_unplayable_was_read(name: str) -> None:
    said = {(name, f.bar, f.rule) for f in check(CORPUS / name).findings if f.severity == "unplayable"}
    assert said == {key for key in READ if key[0] == name}
