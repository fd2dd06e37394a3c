"""MIDI sketches: notated files keep every attack, played ones go to the nearest value; mido writes what we read."""

from __future__ import annotations

import io
from fractions import Fraction
from pathlib import Path

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from autoorch.errors import SketchError
from autoorch.sketch import Limits, Sketch, read_sketch
from autoorch.sketch.midi import read_midi

DIVISION = 480
LENGTHS = st.sampled_from(
    [
        Fraction(1, 4),
        Fraction(1, 3),
        Fraction(1, 2),
        Fraction(2, 3),
        Fraction(3, 4),
        Fraction(1),
        Fraction(3, 2),
        Fraction(2),
    ]
)
EXAMPLE = Path(__file__).parents[2] / "examples" / "harbour-snow-cue"


def midi_bytes(notes: list[tuple[int, int, int]], division: int = DIVISION) -> bytes:
    """A one-track file of (start, end, pitch) in ticks."""
    track = mido.MidiTrack([mido.MetaMessage("key_signature", key="C")])
    events = sorted([(a, 1, p) for a, _, p in notes] + [(b, 0, p) for _, b, p in notes])
    now = 0
    for tick, on, pitch in events:
        track.append(
            mido.Message("note_on" if on else "note_off", note=pitch, velocity=70 if on else 0, time=tick - now)
        )
        now = tick
    file = mido.MidiFile(type=1, ticks_per_beat=division, tracks=[mido.MidiTrack(), track])
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def read(data: bytes, played: bool | None = None) -> Sketch:
    return read_midi(data, "test.mid", Limits(), played)


@given(st.lists(st.tuples(LENGTHS, st.integers(36, 96)), min_size=1, max_size=30))
def test_notated_times_are_exact(row: list[tuple[Fraction, int]]) -> None:
    at = Fraction(0)
    wanted = []
    for length, pitch in row:
        wanted.append((at, length, pitch))
        at += length
    sketch = read(midi_bytes([(int(a * DIVISION), int((a + d) * DIVISION), p) for a, d, p in wanted]))
    found = [(Fraction(n.onset, sketch.ticks), Fraction(n.duration, sketch.ticks), n.pitch.midi) for n in sketch.notes]
    assert sorted(found) == sorted(wanted)
    assert sum(bar.length for bar in sketch.bars) == sketch.end


def test_played_attacks_go_to_the_nearest_sixteenth() -> None:
    late = [(480 * k + (-1) ** k * 17 + 20, 480 * k + 430, 60 + k) for k in range(8)]
    sketch = read(midi_bytes(late))
    assert [n.onset % sketch.ticks for n in sketch.notes] == [0] * 8
    assert "played in" in sketch.notices[0]
    assert set(sketch.raw) == {n.id for n in sketch.notes}


def test_the_example_is_the_same_in_both_formats() -> None:
    pair = [read_sketch(EXAMPLE / name) for name in ("sketch.musicxml", "sketch.mid")]
    first, second = ([(Fraction(n.onset, s.ticks), n.pitch.midi) for n in s.notes if not n.grace] for s in pair)
    assert sorted(first) == sorted(second)


@pytest.mark.parametrize(
    "data",
    [b"MThd", b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\x01\xe0MTrk\xff\xff\xff\xff", midi_bytes([(0, 480, 60)])[:-6]],
)
def test_broken_files_are_one_clear_line(data: bytes) -> None:
    with pytest.raises(SketchError) as caught:
        read(data)
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("test.mid: ")
