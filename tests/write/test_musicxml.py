"""The written scores: valid, read alike by other programs, repeats, voices, brackets; any music comes back."""

from __future__ import annotations

import io
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree

from autoorch.lineup import parse_lineup
from autoorch.problem.draft import Choice
from autoorch.score.model import Score
from autoorch.score.transpose import at_concert_pitch
from autoorch.sketch.model import Bar, Mark, Sketch
from autoorch.tables import load_tables
from autoorch.write.musicxml import write_musicxml
from tests.support.hand import make_score, make_sketch, whole
from tests.support.readback import (
    heads_of,
    musicxml2ly_ok,
    notes_music21,
    notes_of,
    notes_partitura,
    notes_verovio,
    same,
)
from tests.support.schema import schema_errors
from tests.support.tiny import players


def saved(score: Score, folder: Path, name: str = "score.musicxml") -> Path:
    path = folder / name
    with path.open("wb") as file:
        write_musicxml(score, file)
    return path


def rich() -> Score:
    """A page with a bit of everything: transposers, divisi, two staves, tuplets, graces, a pickup, repeats, hairpins."""
    sketch = make_sketch(
        [
            "G4:1 C5:1 D5:1/2 E5:1/2 F#5:1/3 G5:1/3 A5:1/3 B5:1 B4:1 C6:6 Bb5:2 C5:1/5 D5:1/5 E5:1/5 F5:1/5 G5:1/5 A5:3",
            "-:1 E4:4 F4:2 Gb4:2 A4:1 Bb4:3 A4:2 G4:2",
            "-:1 C3:1 G3:1 C3:1 G3:1 C3:1 G3:1 C3:1 G3:1 C3:4 F2:4",
        ],
        fifths=-1,
        pickup="1",
        slurs=[("a0", "a6"), ("b1", "b3")],
        marks=[
            Mark("tempo", 0, 0, -1, "92", "Allegretto"), Mark("dynamic", 0, 0, 0, "p"),
            Mark("wedge", 30, 150, 0, "crescendo"), Mark("dynamic", 150, 150, 0, "f"), Mark("rehearsal", 150, 150, -1, "A"),
        ],
        notes={
            "a8": {"duration": 0, "grace": "acciaccatura"},
            "a2": {"marks": ("staccato", "accent")}, "a10": {"marks": ("trill-mark",)}, "a16": {"marks": ("fermata",)},
            "b2": {"marks": ("tremolo-3",)},
        },
    )  # fmt: skip
    bars = list(sketch.bars)
    changes = {1: {"repeat_start": True}, 2: {"endings": (1,), "repeat_end": 2}, 3: {"endings": (2,)}}
    for index, change in changes.items():
        bars[index] = Bar(**{**{f: getattr(bars[index], f) for f in Bar.__slots__}, **change})  # type: ignore[arg-type]
    sketch = Sketch(
        sketch.ticks, sketch.staves, tuple(bars), sketch.notes, sketch.slurs, sketch.marks, title="A page & a <title>"
    )
    names = ("piccolo", "clarinet_bb", "clarinet_a", "bass_clarinet", "horn", "timpani", "triangle", "harp", "celesta",
        "violin", "viola", "cello", "double_bass")  # fmt: skip
    choices = [
        whole(sketch, "piccolo", 1, octave=1), whole(sketch, "clarinet_bb", 1), whole(sketch, "clarinet_a", 2),
        whole(sketch, "bass_clarinet", 3), whole(sketch, "horn", 2), whole(sketch, "harp", 1, 2, 3),
        whole(sketch, "celesta", 1, octave=1), whole(sketch, "violin", 1, 2), whole(sketch, "viola", 2),
        whole(sketch, "cello", 3), whole(sketch, "double_bass", 3), whole(sketch, "triangle", 3),
    ]  # fmt: skip
    return make_score(sketch, players(*names), choices)


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Score, Path]]:
    folder = tmp_path_factory.mktemp("scores")
    score = rich()
    concert = at_concert_pitch(score)
    return [(score, saved(score, folder)), (concert, saved(concert, folder, "score-concert.musicxml"))]


def test_both_scores_are_valid_musicxml_4(both: list[tuple[Score, Path]]) -> None:
    for _, path in both:
        assert schema_errors(path) == []


def test_three_other_programs_read_the_same_notes(both: list[tuple[Score, Path]]) -> None:
    for score, path in both:
        pitched = [k for k, part in enumerate(score.parts) if part.player.instrument.kind != "unpitched"]

        def only(notes: list, keep: list[int] = pitched) -> list:  # type: ignore[type-arg]
            return [notes[k] for k in keep]

        assert same(only(notes_of(score)), only(notes_music21(path))) == []
        assert same(only(notes_of(score, written=True)), only(notes_partitura(path))) == []
        assert same(only(heads_of(score)), only(notes_verovio(path))) == []


@pytest.mark.lilypond
def test_lilypond_converts_both(both: list[tuple[Score, Path]], tmp_path: Path) -> None:
    for _, path in both:
        assert musicxml2ly_ok(path, tmp_path) == ""


def test_the_same_score_gives_the_same_bytes() -> None:
    first, second = io.BytesIO(), io.BytesIO()
    write_musicxml(rich(), first)
    write_musicxml(rich(), second)
    assert first.getvalue() == second.getvalue()


def test_transposition_is_written_once_and_only_octaves_at_concert_pitch(both: list[tuple[Score, Path]]) -> None:
    found = []
    for _, path in both:
        root = etree.parse(path).getroot()
        rows = {}
        for part, name in zip(root.findall("part"), root.iterfind("part-list/score-part/part-name"), strict=True):
            moves = part.findall(".//transpose")
            assert len(moves) <= 1
            rows[name.text] = (
                tuple(moves[0].findtext(k) for k in ("diatonic", "chromatic", "octave-change")) if moves else None
            )
        found.append(rows)
    # Intervals from written to sounding: common practice.
    assert found[0] == {
        "Piccolo": ("0", "0", "1"), "Clarinet in B♭": ("-1", "-2", None), "Clarinet in A": ("-2", "-3", None),
        "Bass Clarinet in B♭": ("-1", "-2", "-1"), "Horn in F": ("-4", "-7", None), "Timpani": None, "Triangle": None,
        "Harp": None, "Celesta": ("0", "0", "1"), "Violin": None, "Viola": None, "Violoncello": None,
        "Double Bass": ("0", "0", "-1"),
    }  # fmt: skip
    octaves = {"Piccolo", "Celesta", "Double Bass"}
    assert found[1] == {name: move if name in octaves else None for name, move in found[0].items()}


def test_every_octave_transposer_keeps_its_octave_at_concert_pitch() -> None:
    """Common practice: these alone are not written where they sound."""
    table = load_tables().instruments
    names = [name for name, instrument in table.items() if instrument.kind != "unpitched"]
    sketch = make_sketch(["C5:4"])
    file = io.BytesIO()
    write_musicxml(at_concert_pitch(make_score(sketch, players(*names), [])), file)
    found = {}
    for name, part in zip(names, etree.fromstring(file.getvalue()).findall("part"), strict=True):
        move = part.find(".//transpose")
        if move is not None:
            found[name] = [(child.tag, child.text) for child in move]
    assert found == {
        name: [("diatonic", "0"), ("chromatic", "0"), ("octave-change", octaves)]
        for name, octaves in {
            "piccolo": "1", "contrabassoon": "-1", "glockenspiel": "2", "xylophone": "1", "crotales": "2", "guitar": "-1",
            "celesta": "1", "double_bass": "-1",
        }.items()
    }  # fmt: skip


def test_repeats_and_endings_stand_in_every_part_and_the_pickup_is_bar_0(both: list[tuple[Score, Path]]) -> None:
    root = etree.parse(both[0][1]).getroot()
    shapes = set()
    for part in root.findall("part"):
        measures = part.findall("measure")
        assert (measures[0].get("number"), measures[0].get("implicit")) == ("0", "yes")
        assert measures[0].find(".//rest[@measure]") is None
        shapes.add(
            tuple(
                (m.get("number"), b.get("location"), e.tag, e.get("direction") or e.get("type"), e.get("number"))
                for m in measures
                for b in m.findall("barline")
                for e in b
                if e.tag != "bar-style"
            )
        )
    assert shapes == {(
        ("1", "left", "repeat", "forward", None), ("2", "left", "ending", "start", "1"),
        ("2", "right", "ending", "stop", "1"), ("2", "right", "repeat", "backward", None),
        ("3", "left", "ending", "start", "2"), ("3", "right", "ending", "discontinue", "2"),
    )}  # fmt: skip


def test_voice_numbers_are_unique_in_a_part_and_stems_only_where_two_share_a_staff(
    both: list[tuple[Score, Path]],
) -> None:
    root = etree.parse(both[0][1]).getroot()
    assert {note.findtext("stem") for note in root.iter("note")} == {"up", "down", None}
    for part in root.findall("part"):
        home: dict[str, str] = {}
        for measure in part.findall("measure"):
            staves: dict[str, set[str]] = {}
            for note in measure.findall("note"):
                voice, staff = note.findtext("voice") or "", note.findtext("staff") or "1"
                assert home.setdefault(voice, staff) == staff
                staves.setdefault(staff, set()).add(voice)
            for note in measure.findall("note"):
                two = len(staves[note.findtext("staff") or "1"]) > 1
                assert (note.find("stem") is not None) == (two and note.find("rest") is None)


def test_brackets_close_and_nest_at_most_twice() -> None:
    for name in ("romantic", "studio", "string quartet", "chamber", "concert band"):
        lineup = parse_lineup(name, load_tables())
        file = io.BytesIO()
        write_musicxml(make_score(make_sketch(["C5:4"]), lineup, []), file)
        open_: list[str] = []
        for group in etree.fromstring(file.getvalue()).iterfind("part-list/part-group"):
            if group.get("type") == "start":
                open_.append(str(group.get("number")))
            else:
                assert open_.pop() == group.get("number")
            assert len(open_) <= 2
        assert open_ == []


def test_one_system_fits_the_page() -> None:
    """The height of the page in tenths leaves at least 80 tenths from staff to staff (40 of them the staff itself)."""
    for name in ("string quartet", "romantic", "studio"):
        lineup = parse_lineup(name, load_tables())
        file = io.BytesIO()
        score = make_score(make_sketch(["C5:4"]), lineup, [])
        write_musicxml(score, file)
        layout = etree.fromstring(file.getvalue()).find("defaults/page-layout")
        assert layout is not None
        height = float(layout.findtext("page-height") or 0)
        margins = sum(float(layout.findtext(f"page-margins/{side}-margin") or 0) for side in ("top", "bottom"))
        assert (height - margins) / sum(part.staves for part in score.parts) >= 80


PLAIN = ("1/2", "1", "3/2", "1/4", "3/4", "2", "3", "5/2")


@st.composite
def music(draw: st.DrawFn) -> list[str]:
    """Two lines that share one kind of tuplet."""
    odd = draw(st.sampled_from([3, 5, 6, 7, 9, 11, 13]))
    lengths = st.sampled_from((*PLAIN, f"1/{odd}", f"2/{odd}", f"3/{odd}"))
    lines = []
    for names in (("C5", "F#5", "Bb4", "E5", "Cb5", "G#4", "-"), ("C4", "F#3", "Bb3", "-")):
        rest = draw(st.lists(st.tuples(st.sampled_from(names), lengths), max_size=13))
        lines.append(" ".join(f"{name}:{length}" for name, length in [(names[0], draw(lengths)), *rest]))
    return lines


@settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(lines=music(), metre=st.sampled_from([(4, 4), (3, 4), (6, 8), (5, 8), (2, 2)]), fifths=st.integers(-6, 6))
def test_any_music_comes_back_exactly(lines: list[str], metre: tuple[int, int], fifths: int, tmp_path: Path) -> None:
    sketch = make_sketch(lines, metre=metre, fifths=fifths)
    names = ("clarinet_bb", "horn", "violin", "harp")
    choices = [
        whole(sketch, "clarinet_bb", 1),
        whole(sketch, "horn", 2),
        whole(sketch, "violin", 1, 2),
        whole(sketch, "harp", 1, 2),
    ]
    score = make_score(sketch, players(*names), choices)
    asked = sum(Fraction(word.split(":")[1]) for word in lines[0].split() if word[0] != "-")
    assert sum(length * n for (_, length, _), n in notes_of(score)[0].items()) == asked
    path = saved(score, tmp_path)
    assert schema_errors(path) == []
    assert same(notes_of(score), notes_music21(path)) == []
    assert same(notes_of(score, written=True), notes_partitura(path)) == []


def test_sound_ids_and_programs_are_the_tables(both: list[tuple[Score, Path]]) -> None:
    score, path = both[0]
    root = etree.parse(path).getroot()
    for part, own in zip(score.parts, root.iterfind("part-list/score-part"), strict=True):
        instrument = part.player.instrument
        assert own.findtext("score-instrument/instrument-sound") == instrument.sound
        channel = own.findtext("midi-instrument/midi-channel")
        assert (channel == "10") == (instrument.gm == 0)
        if instrument.gm == 0:
            assert own.findtext("midi-instrument/midi-unpitched") == str(instrument.gm_key + 1), "counted from 1"


def test_choices_of_nobody_leave_whole_bar_rests() -> None:
    sketch = make_sketch(["C5:4 D5:4"])
    score = make_score(sketch, players("flute"), [Choice("flute", "s1", ("s1.1",), 0, 0, 4)])
    file = io.BytesIO()
    write_musicxml(score, file)
    rests = etree.fromstring(file.getvalue()).findall(".//rest")
    assert [rest.get("measure") for rest in rests] == ["yes"]


def test_words_of_playing_stand_upright_and_sound() -> None:
    sketch = make_sketch(["C3:4 D3:4 E3:4"], marks=[Mark("words", 0, 0, 0, "dolce")])
    choices = [
        Choice("cello", "s1", ("s1.1",), 0, 0, 4),
        Choice("cello", "s1", ("s1.1",), 0, 4, 8, techniques=("pizz",)),
        Choice("cello", "s1", ("s1.1",), 0, 8, 12),
    ]
    file = io.BytesIO()
    write_musicxml(make_score(sketch, players("cello"), choices), file)
    found = [
        (d.findtext("direction-type/words"), d.find("direction-type/words").get("font-style"), dict(sound.attrib))  # type: ignore[union-attr]
        for d in etree.fromstring(file.getvalue()).iter("direction")
        if d.find("direction-type/words") is not None
        for sound in [d.find("sound") if d.find("sound") is not None else etree.Element("sound")]
    ]
    assert found == [
        ("dolce", "italic", {}), ("pizz.", "normal", {"pizzicato": "yes"}), ("arco", "normal", {"pizzicato": "no"}),
    ]  # fmt: skip


def test_the_number_of_its_bar_stands_beside_a_letter() -> None:
    sketch = make_sketch(["C5:4 D5:4 E5:4"], marks=[Mark("rehearsal", 4, 4, -1, "A")])
    file = io.BytesIO()
    write_musicxml(make_score(sketch, players("flute"), [whole(sketch, "flute", 1)]), file)
    (told,) = (
        d for d in etree.fromstring(file.getvalue()).iter("direction") if d.find("direction-type/rehearsal") is not None
    )
    assert told.getparent().get("number") == "2"
    assert [sign.text for sign in told.iterfind("direction-type/*")] == ["A", "(2)"]
