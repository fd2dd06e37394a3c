from __future__ import annotations

import io

import pytest
from lxml import etree

from autoorch.pitch import parse
from autoorch.score.transpose import at_concert_pitch, key_of, without_keys, written_pitch
from autoorch.tables import load_tables
from autoorch.write.musicxml import write_musicxml
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players


# Keys of transposing instruments: common practice (a horn in F reads a fifth up, one sharp more).
@pytest.mark.parametrize(
    ("instrument", "fifths", "key"),
    [
        ("horn", 0, 1), ("clarinet_bb", 0, 2), ("clarinet_a", 0, -3), ("alto_saxophone", 0, 3), ("flute", 7, 7),
        ("clarinet_bb", 4, 6), ("clarinet_bb", 5, -5), ("horn", 6, -5), ("clarinet_a", -4, 5), ("piccolo", -6, -6),
        ("bass_clarinet", -1, 1), ("baritone_saxophone", 2, 5), ("double_bass", 3, 3), ("double_bass", 7, 7), ("piccolo", -7, -7),
    ],
)  # fmt: skip
def test_written_keys(instrument: str, fifths: int, key: int) -> None:
    assert key_of(fifths, load_tables().instruments[instrument].transposition) == key


@pytest.mark.parametrize(
    ("instrument", "fifths", "sounding", "written"),
    [
        ("horn", 0, "C4", "G4"), ("clarinet_bb", -3, "Eb4", "F4"), ("clarinet_bb", 5, "F#4", "Ab4"),
        ("clarinet_bb", 5, "D#5", "F5"), ("clarinet_a", 3, "C#5", "E5"), ("piccolo", 0, "C6", "C5"),
        ("double_bass", 0, "C2", "C3"), ("double_bass", 7, "C#2", "C#3"), ("bass_clarinet", 0, "C3", "D4"),
        ("celesta", 0, "C5", "C4"),
        ("glockenspiel", 0, "C7", "C5"), ("contrabassoon", 0, "C2", "C3"), ("tenor_saxophone", 0, "Bb3", "C5"),
    ],
)  # fmt: skip
def test_written_pitches_follow_the_written_key(instrument: str, fifths: int, sounding: str, written: str) -> None:
    interval = load_tables().instruments[instrument].transposition
    assert str(written_pitch(parse(sounding), interval, fifths, key_of(fifths, interval))) == written


def test_at_concert_pitch_only_octave_transposers_differ_from_what_sounds() -> None:
    sketch = make_sketch(["C5:4 D5:4"], fifths=-1)
    names = ("piccolo", "clarinet_bb", "horn", "celesta", "double_bass")
    score = make_score(sketch, players(*names, size=1), [whole(sketch, name, 1) for name in names])
    concert = at_concert_pitch(score)
    first = {p.player.name: p.measures[0].voices[0][0].heads[0] for p in concert.parts}
    assert {name: head.written.midi - head.sounding.midi for name, head in first.items()} == {
        "piccolo": -12, "clarinet_bb": 0, "horn": 0, "celesta": -12, "double_bass": 12,
    }  # fmt: skip
    assert {m.fifths for p in concert.parts for m in p.measures} == {-1}
    assert [p.measures[0].fifths for p in score.parts] == [-1, 1, 0, -1, -1]
    assert concert.concert and not score.concert


def test_without_key_signatures_the_notes_stay_and_the_accidentals_are_written() -> None:
    sketch = make_sketch(["F#5:2 C#5:2"], fifths=2)
    score = make_score(sketch, players("clarinet_bb"), [whole(sketch, "clarinet_bb", 1)])
    open_ = without_keys(score)
    assert [m.fifths for m in open_.parts[0].measures] == [0] and [bar.fifths for bar in open_.bars] == [0]
    file = io.BytesIO()
    write_musicxml(open_, file)
    root = etree.fromstring(file.getvalue())
    assert [n.findtext("accidental") for n in root.iter("note")] == ["sharp", "sharp"]
    assert [h.written for e in open_.parts[0].measures[0].voices[0] for h in e.heads] == [parse("G#5"), parse("D#5")]
