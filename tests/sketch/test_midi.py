"""MIDI sketches: notated files keep every attack, played ones go to the nearest value; mido writes what we read."""

from __future__ import annotations

import io
import random
import struct
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from autoorch.errors import SketchError
from autoorch.sketch import Limits, Sketch, read_sketch
from autoorch.sketch.midi import read_midi

DIVISION = 480
LENGTHS = st.sampled_from([Fraction(n, d) for n, d in ((1, 4), (1, 3), (1, 2), (2, 3), (3, 4), (1, 1), (3, 2), (2, 1))])
EXAMPLE = Path(__file__).parents[2] / "examples" / "harbour-snow-cue"

Tone = tuple[int, int, int]
"""Start, end (ticks), key."""


def track(notes: Sequence[Tone], *metas: tuple[int, mido.Message | mido.MetaMessage]) -> mido.MidiTrack:
    """Notes and other messages at their ticks, ends before starts."""
    events = [(tick, 1, message) for tick, message in metas]
    for start, end, key in notes:
        events.append((start, 2, mido.Message("note_on", note=key, velocity=70)))
        events.append((end, 0, mido.Message("note_off", note=key)))
    found, now = mido.MidiTrack(), 0
    for tick, _, message in sorted(events, key=lambda event: event[:2]):
        found.append(message.copy(time=tick - now))
        now = tick
    return found


def file_of(*tracks: mido.MidiTrack, division: int = DIVISION, kind: int = 1) -> bytes:
    out = io.BytesIO()
    mido.MidiFile(type=kind, ticks_per_beat=division, tracks=list(tracks)).save(file=out)
    return out.getvalue()


def midi_bytes(notes: Sequence[Tone], division: int = DIVISION) -> bytes:
    key = (0, mido.MetaMessage("key_signature", key="C"))
    return file_of(mido.MidiTrack(), track(notes, key), division=division)


def read(data: bytes, played: bool | None = None, limits: Limits | None = None) -> Sketch:
    return read_midi(data, "test.mid", limits or Limits(), played)


def places(sketch: Sketch) -> list[tuple[Fraction, Fraction, int]]:
    return [(Fraction(n.onset, sketch.ticks), Fraction(n.duration, sketch.ticks), n.pitch.midi) for n in sketch.notes]


@settings(deadline=None)
@given(
    st.lists(st.tuples(LENGTHS, st.integers(36, 96)), min_size=1, max_size=30),
    st.sampled_from((96, 480, 960, 1024)),
    st.sampled_from((0, 1)),
)
def test_notated_times_are_exact(row: list[tuple[Fraction, int]], division: int, early: int) -> None:
    """Triplets too where the division can't hold them (1024), and notes let go a tick early."""
    at = Fraction(0)
    wanted = []
    for length, pitch in row:
        wanted.append((at, length, pitch))
        at += length
    notes = [(round(a * division), round((a + d) * division) - early, p) for a, d, p in wanted]
    sketch = read(midi_bytes(notes, division), played=False)
    assert sorted(places(sketch)) == sorted(wanted)
    assert sum(bar.length for bar in sketch.bars) == sketch.end


@pytest.mark.parametrize("share", [Fraction(9, 10), Fraction(19, 20), Fraction(49, 50)])
def test_early_releases_are_closed_and_staccato_is_not(share: Fraction) -> None:
    notes = [(k * 480, k * 480 + int(480 * share), 60 + k) for k in range(4)]
    alone = (2880, 2880 + int(480 * share), 60)
    sketch = read(midi_bytes([*notes, (1920, 2160, 60), (2400, 2640, 60), alone]))
    assert [length for _, length, _ in places(sketch)] == [1, 1, 1, 1, Fraction(1, 2), Fraction(1, 2), 1]


def test_odd_tuplets_are_exact() -> None:
    onsets = [round(480 * Fraction(k, 7)) for k in range(7)] + [480 + 96 * k for k in range(5)]
    ends = [*onsets[1:], 960]
    sketch = read(midi_bytes([(a, b, 60) for a, b in zip(onsets, ends, strict=True)]), played=False)
    sevenths, fifths = places(sketch)[:7], places(sketch)[7:]
    assert [at for at, _, _ in sevenths] == [Fraction(k, 7) for k in range(7)]
    assert [at for at, _, _ in fifths] == [1 + Fraction(k, 5) for k in range(5)]
    assert {length for _, length, _ in sevenths} == {Fraction(1, 7)}


def test_the_example_is_the_same_in_both_formats() -> None:
    pair = [read_sketch(EXAMPLE / name) for name in ("sketch.musicxml", "sketch.mid")]
    first, second = ([(Fraction(n.onset, s.ticks), n.pitch.midi) for n in s.notes if not n.grace] for s in pair)
    assert sorted(first) == sorted(second)
    assert [staff.name for staff in pair[1].staves] == ["Right hand", "Left hand"]
    assert [staff.hint for staff in pair[1].staves] == ["", ""]
    assert pair[1].title == pair[0].title


# Played


def loosened(seed: int, jitter: int) -> tuple[list[Tone], list[tuple[Fraction, int]]]:
    """Eighths, sixteenths and triplets by turns, each attack moved by up to `jitter` ticks of 480; and where they belong."""
    rng = random.Random(seed)
    notes, wanted = [], []
    for beat in range(1, 25):
        parts = (2, 4, 3)[beat % 3]
        for k in range(parts):
            place = beat + Fraction(k, parts)
            start = int(place * DIVISION) + rng.randint(-jitter, jitter)
            notes.append((start, start + 90, 60 + beat % 12))
            wanted.append((place, 60 + beat % 12))
    return notes, wanted


@pytest.mark.parametrize("seed", range(5))
def test_played_attacks_go_to_the_sixteenth_or_triplet_that_was_meant(seed: int) -> None:
    notes, wanted = loosened(seed, 17)
    sketch = read(midi_bytes(notes))
    assert [(at, key) for at, _, key in places(sketch)] == sorted(wanted)
    assert "played" in sketch.notices[0]


def test_the_raw_seconds_of_played_notes_are_kept() -> None:
    slower = (960, mido.MetaMessage("set_tempo", tempo=1_000_000))
    sketch = read(file_of(track([], slower), track([(490, 730, 60), (1450, 1680, 62)])), played=True)
    assert sketch.raw == {
        "n1": (pytest.approx(490 / 960), pytest.approx(240 / 960)),
        "n2": (pytest.approx(1.0 + 490 / 480), pytest.approx(230 / 480)),
    }
    assert read(midi_bytes([(0, 480, 60)])).raw == {}


def test_the_user_has_the_last_word_on_played_or_notated() -> None:
    notes, _ = loosened(1, 17)
    kept = read(midi_bytes(notes), played=False)
    assert sorted(at for at, _, _ in places(kept))[0] == Fraction(min(notes)[0], DIVISION)
    assert "as told" in kept.notices[0]
    assert "as told" in read(midi_bytes([(0, 480, 60)]), played=True).notices[0]


def test_a_key_struck_faster_than_the_grid_does_not_drift() -> None:
    notes = [(60 * k + k % 3, 60 * k + 40, 60) for k in range(64)]
    found = places(read(midi_bytes(notes), played=True))
    assert len(found) == 64
    assert all(abs(at - Fraction(60 * k, 480)) <= Fraction(1, 8) for k, (at, _, _) in enumerate(found))


# Everything else


def test_bars_metres_keys_tempos_pedal_texts_and_names() -> None:
    conductor = track(
        [],
        (0, mido.MetaMessage("track_name", name="Night piece")),
        (0, mido.MetaMessage("time_signature", numerator=3, denominator=4)),
        (0, mido.MetaMessage("key_signature", key="F#m")),
        (0, mido.MetaMessage("set_tempo", tempo=833_333)),
        (1440, mido.MetaMessage("time_signature", numerator=2, denominator=4)),
        (1440, mido.MetaMessage("marker", text="A")),
        (1440, mido.MetaMessage("set_tempo", tempo=500_000)),
    )
    horns = track(
        [(0, 1440, 65), (1440, 2400, 61)],
        (0, mido.MetaMessage("track_name", name="Horns")),
        (0, mido.Message("control_change", control=64, value=127)),
        (0, mido.Message("control_change", control=7, value=90)),
        (1440, mido.Message("control_change", control=64, value=0)),
    )
    drums = mido.MidiTrack([mido.Message("note_on", channel=9, note=36, velocity=80, time=0)])
    sketch = read(file_of(conductor, horns, drums))
    assert [(b.onset, b.length, b.metre, b.fifths, b.mode) for b in sketch.bars] == [
        (0, 3, (3, 4), 3, "minor"),
        (3, 2, (2, 4), 3, "minor"),
    ]
    assert [(m.kind, m.onset, m.end, m.staff, m.value) for m in sketch.marks] == [
        ("tempo", 0, 0, -1, "72"),
        ("pedal", 0, 3, 0, ""),
        ("tempo", 3, 3, -1, "120"),
        ("rehearsal", 3, 3, -1, "A"),
    ]
    assert [(s.name, s.hint) for s in sketch.staves] == [("Horns", "Horns")]
    assert sketch.title == "Night piece"
    assert [str(n.pitch) for n in sketch.notes] == ["E#4", "C#4"]
    assert [n.velocity for n in sketch.notes] == [70, 70]
    assert sketch.lost == ("1 controller message (7)", "1 stroke on the drum channel")


def test_a_file_without_a_title_is_called_after_itself(tmp_path: Path) -> None:
    path = tmp_path / "night_piece take 3.mid"
    path.write_bytes(midi_bytes([(0, 480, 60), (480, 960, 64)]))
    sketch = read_sketch(path)
    assert sketch.title == "night piece take 3"
    assert sketch.notices[-1] == 'no title given: "night piece take 3", as the file is called'


def test_of_a_notated_file_nothing_is_said_where_nothing_lies_off_the_grid() -> None:
    data = midi_bytes([(0, 480, 60), (480, 960, 64)])
    assert not [line for line in read(data).notices if line.startswith("read as")]
    assert read(data, played=False).notices[0].startswith("read as written in notation (as told)")


def test_pitches_without_a_key_follow_the_likeliest_one() -> None:
    flats = [65, 67, 69, 70, 72, 74, 75, 77]  # B flat major from F
    sketch = read(file_of(track([(480 * k, 480 * k + 480, key) for k, key in enumerate(flats)])))
    assert [str(n.pitch) for n in sketch.notes] == ["F4", "G4", "A4", "Bb4", "C5", "D5", "Eb5", "F5"]
    assert {b.fifths for b in sketch.bars} == {-2}
    assert any("no key" in line for line in sketch.notices)


def test_a_file_of_one_track_has_a_staff_for_each_channel() -> None:
    only = mido.MidiTrack()
    for channel, key in ((0, 72), (1, 48)):
        only.append(mido.Message("note_on", channel=channel, note=key, velocity=60, time=0))
    for channel, key in ((0, 72), (1, 48)):
        only.append(mido.Message("note_off", channel=channel, note=key, time=480 * (1 - channel)))
    sketch = read(file_of(only, kind=0))
    assert [(n.staff, n.pitch.midi) for n in sketch.notes] == [(0, 72), (1, 48)]
    assert [s.hint for s in sketch.staves] == ["", ""]


def test_faults_are_mended_and_told() -> None:
    """Struck again while it sounds; no end; no length; an end without a start."""
    on = [mido.Message("note_on", note=key, velocity=64, time=time) for key, time in ((60, 0), (60, 480), (62, 0))]
    off = [mido.Message("note_off", note=key, time=time) for key, time in ((62, 0), (60, 480), (60, 0), (99, 0))]
    more = [mido.Message("note_on", note=64, velocity=64, time=0), mido.MetaMessage("end_of_track", time=480)]
    sketch = read(file_of(mido.MidiTrack([*on, *off, *more])))
    assert places(sketch) == [(0, 1, 60), (1, 1, 60), (1, Fraction(1, 24), 62), (2, 1, 64)]
    assert sketch.notices[-2:] == (
        "notes struck again while they sounded were ended there: 1",
        "notes that never end were ended with their track: 1",
    )


def chunk(events: bytes, division: int = 480, kind: int = 1) -> bytes:
    return b"MThd" + struct.pack(">IHHH", 6, kind, 1, division) + b"MTrk" + struct.pack(">I", len(events)) + events


TONE = b"\x00\x90\x3c\x40\x10\x3c\x00"
END = b"\x00\xff\x2f\x00"


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"MThd", "broken"),
        (b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\x01\xe0MTrk\xff\xff\xff\xff", "broken"),
        (midi_bytes([(0, 480, 60)])[:-6], "broken"),
        (chunk(b"\x00\x3c\x40\x10\x3c\x00" + END), "broken"),  # running status before any status
        (chunk(b"\x00\xff\x59\x02\x63\x07" + TONE + END), "broken"),  # a key with 99 sharps
        (chunk(TONE + END, division=0xE728), "film frames"),
        (chunk(TONE + END, division=0), "film frames"),
        (chunk(TONE + END, kind=2), "several sequences"),
        (chunk(b"\x00\xff\x58\x04\x00\x02\x18\x08" + TONE + END), "metre"),
        (chunk(b"\x00\xff\x58\x04\x04\xff\x18\x08" + TONE + END), "metre"),
        (chunk(END), "no notes"),
        (chunk(b"\x00\x99\x24\x40\x10\x24\x00" + END), "no notes"),
        (chunk(b"\x00\x90\x3c\x40\xff\xff\xff\x7f\x3c\x00" + END, division=1), "bars"),
        (file_of(*(track([(0, 480, 60)]) for _ in range(13))), "13 tracks"),
        (file_of(*(track([]) for _ in range(1200))), "1,200 tracks"),
    ],
)
def test_files_that_are_no_sketch_are_one_clear_line(data: bytes, what: str) -> None:
    with pytest.raises(SketchError) as caught:
        read(data)
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("test.mid: ")
    assert what in str(caught.value)


def test_limits_of_notes_and_bytes() -> None:
    data = midi_bytes([(480 * k, 480 * k + 480, 60) for k in range(30)])
    assert len(read(data).notes) == 30
    for limits in (Limits(notes=29), Limits(midi=len(data) - 1), Limits(bars=7)):
        with pytest.raises(SketchError):
            read(data, limits=limits)


@settings(deadline=None, max_examples=300)
@given(st.data())
def test_no_byte_can_break_the_reader(data: st.DataObject) -> None:
    """Any byte of a good file changed, any part cut off: a sketch or one line."""
    good = bytearray(midi_bytes([(240 * k, 240 * k + 230, 60 + k % 5) for k in range(12)]))
    for _ in range(data.draw(st.integers(1, 4))):
        good[data.draw(st.integers(0, len(good) - 1))] = data.draw(st.integers(0, 255))
    cut = bytes(good[: data.draw(st.integers(4, len(good)))])
    try:
        sketch = read(cut)
    except SketchError as error:
        assert "\n" not in str(error)
    else:
        assert all(n.duration > 0 and n.end <= sketch.end for n in sketch.notes)
