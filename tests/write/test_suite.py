"""A sample of the unofficial MusicXML test suite: nothing of a file is lost without a word.

All of it: `python -m tests.benchmarks.suite`.
"""

from __future__ import annotations

import pytest
from lxml import etree

from tests.benchmarks.suite import files, root_of, row, things

SAMPLE = (
    "03c", "11b", "12b", "13e", "21b", "23c", "24a", "31c", "33c", "41a", "42a", "45b", "46d", "61a", "72a", "74a", "90a",
)  # fmt: skip
"""First letters of a file's name, one of each kind."""
REFUSED = {"02a": "no notes", "41b": "20 staves"}


@pytest.mark.parametrize("start", SAMPLE)
def test_what_a_file_is_about_is_kept_or_told(start: str) -> None:
    (path,) = files(f"{start}-*")
    found = row(path, seconds=1)
    assert found.outcome in ("kept", "differently"), found
    assert bool(found.told) == (found.outcome == "differently")


@pytest.mark.parametrize("start", REFUSED)
def test_what_cannot_be_a_sketch_is_refused_in_one_line(start: str) -> None:
    found = row(files(f"{start}-*")[0])
    assert found.outcome == "refused" and REFUSED[start] in found.told and "\n" not in found.told


def test_what_is_told_names_what_is_missing() -> None:
    assert "figured-bass" in row(files("74a-*")[0], 1).told
    assert "key changes inside a bar" in row(files("13e-*")[0], 1).told
    assert row(files("02a-*")[0], 1).told == "has no notes with a pitch"


def test_the_measure_sees_transposition_and_values() -> None:
    """A written C of a part that sounds a tone lower is a B flat (common practice)."""
    part = etree.fromstring(
        "<score-partwise><part><measure><attributes><transpose><chromatic>-2</chromatic></transpose></attributes>"
        "<note><pitch><step>C</step><octave>4</octave></pitch><type>half</type></note></measure></part></score-partwise>"
    )
    assert dict(things(part)) == {("transposition", ""): 1, ("pitch class", "10"): 1, ("value", "half"): 1}
    assert ("tempo", "150") in things(root_of(files("31c-*")[0])), "a dotted quarter at 100"
