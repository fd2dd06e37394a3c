"""What is said of notes of played MIDI that were moved is what was done to them; a notated sketch has no such list."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from fractions import Fraction
from io import StringIO
from itertools import pairwise
from pathlib import Path

import pytest

from autoorch import delivery
from autoorch.sketch.model import Sketch
from autoorch.write.moved import HEAD, farthest, moved_csv
from tests.sketch.test_midi import midi_bytes, read
from tests.sketch.test_played import waltz

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def sketch() -> Iterator[Sketch]:
    yield read(midi_bytes(waltz(16, 1)[0]))


def test_each_note_has_a_row_that_leads_from_the_second_played_to_its_place(sketch: Sketch) -> None:
    head, *rows = csv.reader(StringIO(moved_csv(sketch).decode()))
    assert tuple(head) == HEAD
    assert [row[0] for row in rows] == [note.id for note in sketch.notes]
    bars = {bar.number: bar.onset for bar in sketch.bars}
    stands: dict[Fraction, list[float]] = {}
    for key, number, into, pitch, _, at, length, way in rows:
        note = sketch.by_id[key]
        assert bars[number] + float(into) * sketch.ticks == pytest.approx(note.onset)
        assert str(note.pitch) == pitch
        assert (float(at), float(length)) == pytest.approx(sketch.raw[key], abs=0.001)
        stands.setdefault(Fraction(note.onset, sketch.ticks), []).append(float(at) + float(way))
    moments = [stands[place] for place in sorted(stands)]
    assert len(moments) > 60
    assert max(max(each) - min(each) for each in moments) < 0.002  # one place, one moment
    assert all(max(a) < min(b) for a, b in pairwise(moments))


def test_the_farthest_notes_are_told_first(sketch: Sketch) -> None:
    most = max(abs(way) for way in sketch.moved.values())
    assert most > 0.01
    assert f" by {most:.3f} s " in farthest(sketch).split(",")[0]


def test_the_list_stands_beside_the_reading_of_a_take_and_of_no_other(tmp_path: Path) -> None:
    take = tmp_path / "waltz.mid"
    take.write_bytes(midi_bytes(waltz(8, 2)[0]))
    known, _ = delivery.read(take, tmp_path / "take")
    assert (tmp_path / "take" / "moved.csv").read_bytes() == moved_csv(known)
    known, _ = delivery.read(EXAMPLES / "paper-boats-march" / "sketch.musicxml", tmp_path / "notated")
    assert farthest(known) == ""
    assert not (tmp_path / "notated" / "moved.csv").exists()
