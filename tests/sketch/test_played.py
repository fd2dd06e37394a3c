"""Takes without a click: beats and bars are found, each note is kept once with its raw time, odd takes give a sane result."""

from __future__ import annotations

import math
import random
import re
from collections import Counter
from fractions import Fraction
from pathlib import Path

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from autoorch.errors import SketchError
from autoorch.sketch import Known, Sketch, read_sketch
from autoorch.sketch.guard import Limits
from autoorch.sketch.midi import read_midi
from autoorch.sketch.midi.hands import NAMES
from autoorch.sketch.midi.take import read_take
from autoorch.tables import load_tables, shipped
from tests.sketch.test_midi import Tone, file_of, midi_bytes, places, read, track

RATE = 960
"""Ticks a second of the files below."""


def waltz(bars: int, seed: int, jitter: float = 0.02) -> tuple[list[Tone], list[tuple[Fraction, int]]]:
    """A bass and two chords a bar under a tune in crotchets and quavers, beats of 0.6 s that drift by 10 % over 24 beats."""
    draw = random.Random(seed)
    seconds = [0.8]
    for beat in range(3 * bars + 3):
        seconds.append(seconds[-1] + 0.6 * (1 + 0.1 * math.sin(math.tau * beat / 24)))

    def at(place: Fraction) -> int:
        beat = int(place)
        exact = seconds[beat] + float(place - beat) * (seconds[beat + 1] - seconds[beat])
        return round((exact + draw.uniform(-jitter, jitter)) * RATE)

    wanted: list[tuple[Fraction, Fraction, int]] = []
    for bar in range(bars):
        root = (36, 41, 43, 36)[bar % 4]
        start = Fraction(3 * bar)
        wanted.append((start, Fraction(1), root))
        wanted += [(start + k, Fraction(1), root + step) for k in (1, 2) for step in (16, 19)]
        tune = [(Fraction(0), Fraction(2)), (Fraction(2), Fraction(1, 2)), (Fraction(5, 2), Fraction(1, 2))]
        wanted += [(start + place, length, root + 36 + 2 * k) for k, (place, length) in enumerate(tune)]
    notes = []
    for place, length, key in wanted:
        begin = at(place)
        notes.append((begin, max(begin + 40, at(place + length) - 30), key))
    return notes, sorted((place, key) for place, _, key in wanted)


@pytest.mark.parametrize("seed", (1, 2, 3))
def test_a_waltz_without_a_click_gets_its_bars_and_values(seed: int) -> None:
    notes, wanted = waltz(24, seed)
    sketch = read(midi_bytes(notes))
    assert Counter(bar.metre for bar in sketch.bars).most_common(1)[0][0] == (3, 4)
    found = Counter((at, key) for at, _, key in places(sketch))
    assert (found & Counter(wanted)).total() >= 0.97 * len(wanted)
    assert any("beats found" in line for line in sketch.notices)


def told(notes: list[Tone], tempo: float | None = None, metre: str | None = None) -> Sketch:
    return read_midi(midi_bytes(notes), "test.mid", Limits(), known=Known.of(tempo, metre))


@pytest.mark.parametrize(("tempo", "metre", "crotchets"), ((104, "3/4", 1), (52, None, Fraction(1, 2)), (190, None, 2)))
def test_a_tempo_that_is_told_chooses_the_level_of_the_beats(
    tempo: float, metre: str | None, crotchets: Fraction
) -> None:
    """A waltz of 100 crotchets a minute can be told to have half or twice as many: values follow."""
    notes, _ = waltz(24, 1)
    sketch = told(notes, tempo, metre)
    (mark,) = (mark for mark in sketch.marks if mark.kind == "tempo")
    assert abs(math.log2(float(mark.value) / tempo)) < 0.3
    usual = Counter(note.duration for note in sketch.notes).most_common(1)[0][0]
    assert Fraction(usual, sketch.ticks) == crotchets


@pytest.mark.parametrize("metre", ("2/4", "3/4", "4/4"))
def test_a_metre_that_is_told_is_that_of_all_bars(metre: str) -> None:
    notes, _ = waltz(24, 2)
    sketch = told(notes, metre=metre)
    assert {"{}/{}".format(*bar.metre) for bar in sketch.bars} == {metre}


def test_what_can_not_be_heard_as_told_says_what_can() -> None:
    notes, _ = waltz(24, 3)
    with pytest.raises(
        SketchError, match=r"^test.mid: can't be heard in 3/4 at 17 quarters a minute, but at from \d+ to \d+"
    ):
        told(notes, 17, "3/4")
    with pytest.raises(SketchError, match="notation has its own"):
        read_midi(midi_bytes(notes), "test.mid", Limits(), played=False, known=Known(100))


def test_no_bar_stands_after_the_last_note() -> None:
    notes, _ = waltz(24, 1)
    sketch = read(midi_bytes(notes))
    assert len(sketch.bars) == 24


@pytest.mark.parametrize("late", (-55, 0, 55))
def test_a_take_late_on_its_click_is_written_on_the_beat(late: int) -> None:
    """Sixteenths, quavers and crotchets, each up to 6 ticks off and all of them nearly a 32nd from the click."""
    draw = random.Random(late)
    steps = [k for k in range(4 * 48) if k % 4 == 0 or (k % 2 == 0 and k % 3) or k % 16 == 7]
    onsets = [480 + 120 * k + late + draw.randint(-6, 6) for k in steps]
    data = file_of(track([(at, at + 100, 60 + k % 12) for k, at in enumerate(onsets)]))
    found = [at for at, _, _ in places(read(data, played=True))]
    assert found == [1 + Fraction(k, 4) for k in steps]


@pytest.mark.parametrize(("held", "written"), [(0.82, 1), (1.05, 1), (0.4, Fraction(1, 2))])
def test_a_key_let_go_just_before_the_next_is_held_until_it(held: float, written: Fraction) -> None:
    """Crotchets of half a second over semiquavers of the other hand, each a little off."""
    draw = random.Random(5)

    def hand(step: int, length: float, low: int) -> list[Tone]:
        starts = [480 + step * k + draw.randint(-9, 9) for k in range(64 * 240 // step)]
        return [(at, at + round(length * step), low + k * 5 % 12) for k, at in enumerate(starts)]

    data = file_of(track(hand(480, held, 60)), track(hand(120, 0.9, 40)))
    lengths = Counter(length for _, length, key in places(read(data, played=True)) if key >= 60)
    assert lengths.most_common(1)[0][0] == written
    assert lengths[written] >= 26  # of 32


@pytest.mark.parametrize("late", (-40, 40))
def test_a_pedal_goes_with_its_late_take_and_a_marker_keeps_the_click(late: int) -> None:
    onsets = [480 + 240 * k + late for k in range(48)]
    pedal = [
        (at + 3, mido.Message("control_change", control=64, value=value))
        for at, value in ((onsets[2], 127), (onsets[6], 0))
    ]
    word = (onsets[4], mido.MetaMessage("text", text="dolce"))
    marker = (960, mido.MetaMessage("marker", text="A"))
    tones = [(at, at + 200, 60 + k % 12) for k, at in enumerate(onsets)]
    sketch = read(file_of(track([], marker), track(tones, *pedal, word)), played=True)
    found = {mark.kind: (Fraction(mark.onset, sketch.ticks), Fraction(mark.end, sketch.ticks)) for mark in sketch.marks}
    assert found["pedal"] == (2, 4)
    assert found["text"] == (3, 3)
    assert found["rehearsal"] == (2, 2)
    assert sketch.moved == pytest.approx({note.id: 0 for note in sketch.notes}, abs=0.01)
    said = re.search(r"the whole ([.\d]+) of a quarter (after|before) it", sketch.notices[0])
    assert said is not None
    assert float(said[1]) == pytest.approx(abs(late) / 480, abs=0.011)
    assert said[2] == ("after" if late > 0 else "before")


@pytest.mark.parametrize("off", (0.2, 0.45, -0.3))
@pytest.mark.parametrize("seed", (1, 2))
def test_a_take_beside_its_click_is_moved_onto_beats_and_gets_its_bars(off: float, seed: int) -> None:
    """A waltz in strict time that begins a whole number of crotchets and a share of one after the click."""
    draw = random.Random(seed)
    _, wanted = waltz(24, seed)
    notes = [
        (round((4 + off + float(place)) * 480) + draw.randint(-4, 4), round((4.4 + off + float(place)) * 480), key)
        for place, key in wanted
    ]
    sketch = read(midi_bytes(notes), played=True)
    found = Counter((at, key) for at, _, key in places(sketch))
    assert (found & Counter(wanted)).total() >= 0.97 * len(wanted)
    assert Counter(bar.metre for bar in sketch.bars).most_common(1)[0][0] == (3, 4)
    assert "bars found in the music" in sketch.notices[0]


def test_one_track_is_split_into_two_hands() -> None:
    notes, _ = waltz(8, 1)
    sketch = read(midi_bytes(notes), played=True)
    assert tuple(staff.name for staff in sketch.staves) == NAMES
    tune, rest = ({note.pitch.midi for note in sketch.notes if note.staff == staff} for staff in (0, 1))
    assert tune >= {key for _, _, key in notes if key >= 72}
    assert rest >= {key for _, _, key in notes if key <= 55}
    assert min(tune) > 55 and max(rest) < 72
    assert len(read(midi_bytes([(480 * k, 480 * k + 400, 60 + k) for k in range(8)]), played=True).staves) == 1


def test_a_change_of_key_goes_to_the_bar_that_was_played_there() -> None:
    notes, _ = waltz(12, 2)
    basses = [start for start, _, key in notes if key < 48]
    keys = [
        (0, mido.MetaMessage("key_signature", key="C")),
        (basses[6] + 15, mido.MetaMessage("key_signature", key="F")),
    ]
    sketch = read(file_of(track([], *keys), track(notes)))
    assert [bar.fifths for bar in sketch.bars[:12]] == [0] * 6 + [-1] * 6


def test_a_tempo_mark_and_the_pedal_go_with_the_beats() -> None:
    notes, _ = waltz(12, 2)
    down, up = notes[0][0], notes[8][0]  # the bass of the second bar
    pedal = [(at, mido.Message("control_change", control=64, value=value)) for at, value in ((down, 127), (up, 0))]
    sketch = read(file_of(mido.MidiTrack(), track(notes, *pedal)))
    (tempo,) = [mark for mark in sketch.marks if mark.kind == "tempo"]
    assert float(tempo.value) == pytest.approx(100, rel=0.12)
    (held,) = [mark for mark in sketch.marks if mark.kind == "pedal"]
    assert (held.onset, held.end) == (0, 3 * sketch.ticks)


TONES = st.lists(
    st.tuples(st.integers(0, 20_000), st.integers(1, 3_000), st.integers(21, 108)), min_size=1, max_size=60
).map(lambda rows: [(start, start + length, key) for start, length, key in rows])


@settings(deadline=None, max_examples=40)
@given(TONES)
def test_each_note_of_a_take_is_kept_once_with_its_raw_time(notes: list[Tone]) -> None:
    data = midi_bytes(notes)
    sketch = read(data, played=True)
    take = read_take(data, "test.mid", Limits())
    assert Counter(note.pitch.midi for note in sketch.notes) == Counter(note.key for note in take.notes)
    assert set(sketch.raw) == set(sketch.moved) == {note.id for note in sketch.notes}
    raw = Counter((note.pitch.midi, round(sketch.raw[note.id][0], 6)) for note in sketch.notes)
    assert raw == Counter((note.key, round(note.start / RATE, 6)) for note in take.notes)
    assert min(note.duration for note in sketch.notes) > 0
    assert max(note.end for note in sketch.notes) <= sketch.end
    assert [bar.onset for bar in sketch.bars[1:]] == [bar.end for bar in sketch.bars[:-1]]
    assert read(data, played=True) == sketch


@settings(deadline=None, max_examples=40)
@given(TONES)
def test_notation_moves_nothing(notes: list[Tone]) -> None:
    """Onsets on the 24th parts stay where they are, whatever they are."""
    on_grid = [(20 * (start // 20), 20 * (start // 20) + max(20, end - start), key) for start, end, key in notes]
    data = midi_bytes(on_grid)
    sketch = read(data)
    take = read_take(data, "test.mid", Limits())
    assert Counter((at, key) for at, _, key in places(sketch)) == Counter(
        (Fraction(note.start, 480), note.key) for note in take.notes
    )
    assert sketch.raw == {}
    assert sketch.moved == {}
    assert not any(line.startswith("read as") for line in sketch.notices)


def burst(count: int, over: int) -> list[Tone]:
    draw = random.Random(count)
    return [(at, at + draw.randint(5, 300), 21 + k % 80) for k in range(count) for at in (draw.randint(0, over),)]


@pytest.mark.parametrize(
    "notes",
    [[(3, 400, 60)], [(3, 400, 60), (3, 400, 64)], burst(10_000, 480), burst(10_000, 9_600)],
    ids=["one", "chord", "burst", "ten seconds"],
)
def test_odd_takes_are_read(notes: list[Tone]) -> None:
    data = midi_bytes(notes)
    assert len(read(data, played=True).notes) == len(read_take(data, "test.mid", Limits()).notes)


def test_a_take_without_tempo_keeps_its_click() -> None:
    stopped = (0, mido.MetaMessage("set_tempo", tempo=0))
    sketch = read(file_of(track([(40 * k + k % 7, 40 * k + 37, 60) for k in range(300)], stopped)), played=True)
    assert len(sketch.notes) == 300


def test_a_take_of_thousands_of_bars_is_one_line() -> None:
    notes = [(k * 4800 + k * 13 % 470, k * 4800 + 3700, 60 + k % 9) for k in range(3000)]
    slow = (0, mido.MetaMessage("set_tempo", tempo=16_000_000))
    for tones in (notes, [(0, 100, 60), (2**27, 2**27 + 480, 62)]):
        with pytest.raises(SketchError, match="more than 4,000 bars"):
            read(file_of(track(tones, slow)), played=True)


def test_tables_of_ones_own_reach_how_a_take_is_read(tmp_path: Path) -> None:
    """With bars of two beats alone, a waltz gets no bar of three."""
    text = (shipped() / "beats.toml").read_text(encoding="utf-8")
    assert "\nbeats = [2, 3, 4]\n" in text
    (tmp_path / "beats.toml").write_text(text.replace("\nbeats = [2, 3, 4]\n", "\nbeats = [2]\n"), encoding="utf-8")
    take = tmp_path / "waltz.mid"
    take.write_bytes(midi_bytes(waltz(12, 1)[0]))
    packaged, own = (read_sketch(take, tables=tables) for tables in (None, load_tables(tmp_path)))
    assert {bar.metre for bar in packaged.bars[1:-1]} == {(3, 4)}
    assert (3, 4) not in {bar.metre for bar in own.bars}
