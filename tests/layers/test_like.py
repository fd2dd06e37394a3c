"""Score it like this: who plays which role of a passage, and that our draft follows."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import pytest
from music21 import chord, meter, note, stream

from autoorch import pipeline
from autoorch.brief import Bars, Brief, Direction, Like
from autoorch.errors import BriefError, SketchError
from autoorch.layers.like import PALETTE_TABLE, SCHEMA, cast, from_palette, passage, with_likes
from autoorch.layers.passage import Part, named
from autoorch.lineup import parse_lineup
from autoorch.roles import read_roles
from autoorch.sketch import read_sketch
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables

TABLES = load_tables()
TUNE = "E4 G4 A4 C5 B4 A4 G4 E4 F4 A4 G4 F4 E4 D4 C4 C4"
"""Four bars of crotchets."""


def part(name: str, words: str, quarters: float = 1.0, octave: int = 0) -> stream.Part:
    """A part of equal notes; "-" rests, "C4+E4" a chord."""
    found = stream.Part(id=name)
    found.partName = name
    found.append(meter.TimeSignature("4/4"))
    for word in words.split():
        one: note.GeneralNote
        if word == "-":
            one = note.Rest(quarterLength=quarters)
        else:
            pitches = word.split("+")
            one = chord.Chord(pitches) if len(pitches) > 1 else note.Note(pitches[0])
            one.quarterLength = quarters
            one.transpose(12 * octave, inPlace=True)
        found.append(one)
    return found


def score(folder: Path, *parts: stream.Part) -> Path:
    path = folder / "passage.musicxml"
    stream.Score(parts).write("musicxml", path)
    return path


@pytest.fixture
def horns_and_cellos(tmp_path: Path) -> Path:
    """The tune in horn and cellos, chords of the upper strings above, basses below, flute and trumpet silent."""
    rest = "- " * 4
    return score(
        tmp_path,
        part("Flute 1", rest, 4),
        part("F Horn 1", TUNE, octave=-1),
        part("Bb Trumpet 1", rest, 4),
        part("Violin 1", "E5 F5 D5 E5", 4),
        part("Violin 2", "C5 C5 B4 C5", 4),
        part("Viola", "G4 A4 G4 G4", 4),
        part("Violoncello", TUNE, octave=-1),
        part("Contrabass", "C2 F2 G2 C2", 4),
    )


@pytest.fixture
def sketch(tmp_path: Path) -> Path:
    """A piano piece of another tune: eight bars over chords and a bass."""
    upper = part("Piano right", "D5 F5 E5 D5 A5 G5 F5 E5 D5 C5 B4 C5 D5 E5 F5 D5 " * 2)
    lower = part("Piano left", "D3+F3+A3 C3+E3+G3 G2+B2+D3 D3+F3+A3 " * 2, 4)
    path = tmp_path / "sketch.musicxml"
    stream.Score([upper, lower]).write("musicxml", path)
    return path


def roles(parts: tuple[Part, ...]) -> dict[tuple[str, int], str]:
    return {(one.instrument.id, one.seat): one.role for one in parts}


def test_a_passage_tells_who_has_the_tune(horns_and_cellos: Path) -> None:
    found = roles(passage(Like(str(horns_and_cellos), Bars("1", "4")), TABLES))
    assert found == {
        ("horn", 1): "melody",
        ("cello", 1): "melody",
        ("violin", 1): "harmony",
        ("violin", 2): "harmony",
        ("viola", 1): "harmony",
        ("double_bass", 1): "bass",
    }


def test_the_tune_goes_to_cellos_and_horns(horns_and_cellos: Path, sketch: Path) -> None:
    like = Like(str(horns_and_cellos), Bars("1", "4"))
    brief = Brief(directions=(Direction(Bars("1", "8"), like=like),), intent="faithful")
    plain = pipeline.draft(sketch, "classical", brief=Brief(intent="faithful"), limits=Limits(seconds=5))
    result = pipeline.draft(sketch, "classical", brief=brief, limits=Limits(seconds=5))

    def tune(draft: pipeline.Result) -> dict[str, set[int]]:
        melody = {strand.id for strand in draft.material.strands if strand.role == "melody"}
        found: dict[str, set[int]] = defaultdict(set)
        for choice in draft.draft.choices:
            if choice.strand in melody:
                found[choice.player].add(choice.octave)
        return found

    assert {"Horn 1", "Violoncellos"} <= set(tune(result))
    assert not {"Horn 1", "Violoncellos"} <= set(tune(plain))
    assert tune(result)["Horn 1"] == tune(result)["Violoncellos"] == {-1}
    silent = {"Trumpet 1", "Trumpet 2"}
    assert not silent & {choice.player for choice in result.draft.choices}
    assert all(direction.like is None for direction in result.brief.directions)
    assert result.brief.shapes[0].weight == pytest.approx(6 / 17, abs=0.01)


def test_one_role_only(horns_and_cellos: Path, sketch: Path) -> None:
    like = Like(str(horns_and_cellos), Bars("1", "4"))
    given = Brief(directions=(Direction(None, "melody", avoid=("Flutes",), like=like),))
    read = read_sketch(sketch)
    found = with_likes(given, read, read_roles(read, TABLES), parse_lineup("classical", TABLES), TABLES)
    assert [(str(d.role), d.avoid, d.prefer) for d in found.directions] == [
        ("melody", ("Flutes",), ()),
        ("melody", (), ("Horn 1", "Violoncellos")),
    ]
    assert found.shapes == ()
    assert [d.origin for d in found.directions] == ["", "like passage.musicxml:1-4"]


def test_nearest_relatives_stand_in() -> None:
    lineup = parse_lineup("classical", TABLES)
    wanted = [
        Part(TABLES.instruments[name], seat, "melody", 60.0)
        for name, seat in (("alto_flute", 1), ("clarinet_a", 2), ("trombone", 1), ("celesta", 1), ("violin", 2))
    ]
    found = cast(wanted, lineup)
    assert {player: one.instrument.id for player, one in found.items()} == {
        "Flute 1": "alto_flute",
        "Clarinet 2": "clarinet_a",
        "Horn 1": "trombone",
        "Violins II": "violin",
    }
    doubled = Part(TABLES.instruments["cor_anglais"], 1, "melody", 60.0)
    assert list(cast([doubled], parse_lineup("romantic", TABLES))) == ["Oboe 3"]


@pytest.mark.parametrize(
    ("name", "instrument"),
    [
        ("Violin 1", "violin"),
        ("Violin II", "violin"),
        ("Horn in F IV", "horn"),
        ("A Clarinet 2", "clarinet_a"),
        ("D Trumpet 1", "trumpet_bb"),
        ("English Horn", "cor_anglais"),
        ("Eb Horn 3", "horn"),
        ("C, G Timpani", "timpani"),
        ("Strings", None),
        ("Upper", None),
    ],
)
def test_part_names(name: str, instrument: str | None) -> None:
    found = named(name, TABLES)
    assert (found.id.replace("trumpet_c", "trumpet_bb") if found else None) == instrument


def test_every_passage_of_the_palette_can_be_followed(sketch: Path) -> None:
    read = read_sketch(sketch)
    reading = read_roles(read, TABLES)
    lineup = parse_lineup("romantic", TABLES)
    rows = TABLES.rule(PALETTE_TABLE, SCHEMA)["passage"]
    assert len({row["name"] for row in rows}) == len(rows) == 31
    for row in rows:
        parts = from_palette(row["name"], TABLES)
        assert all(one.instrument.extreme[0] <= one.height <= one.instrument.extreme[1] for one in parts)
        brief = Brief(directions=(Direction(Bars("1", "4"), like=Like(f"palette:{row['name']}")),))
        found = with_likes(brief, read, reading, lineup, TABLES)
        assert found.directions[0].role == "melody" and found.directions[0].prefer
        assert found.shapes[0].weight


def test_high_cellos_out_of_the_palette(sketch: Path) -> None:
    brief = Brief(directions=(Direction(Bars("1", "8"), like=Like("palette:high cellos")),), intent="faithful")
    result = pipeline.draft(sketch, "romantic", brief=brief, limits=Limits(seconds=5))
    melody = {strand.id for strand in result.material.strands if strand.role == "melody"}
    tune = [choice for choice in result.draft.choices if choice.strand in melody]
    assert "Violoncellos" in {choice.player for choice in tune}
    assert {choice.octave for choice in tune if choice.player == "Violoncellos"} == {-1}


def test_what_is_not_there_is_told(horns_and_cellos: Path) -> None:
    with pytest.raises(BriefError, match=r'the palette has no "mud"; it has .*horn call'):
        passage(Like("palette:mud"), TABLES)
    with pytest.raises(BriefError, match=r"there is no bar 99; .*passage\.musicxml has bars 1 to"):
        passage(Like(str(horns_and_cellos), Bars("99", "99")), TABLES)
    with pytest.raises(SketchError, match="there is no such file"):
        passage(Like(str(horns_and_cellos.with_name("none.musicxml")), Bars("1", "2")), TABLES)
