from __future__ import annotations

from pathlib import Path

from autoorch.score.condensed import condensed
from autoorch.score.model import Score
from autoorch.sketch.model import Mark
from autoorch.write.musicxml import write_musicxml
from tests.support.hand import make_score, make_sketch, whole
from tests.support.readback import notes_music21, notes_of, notes_partitura, same
from tests.support.schema import schema_errors
from tests.support.tiny import players


def score() -> Score:
    """A tune in flute, clarinet (an octave below) and violins, inner notes in horns and violas, a bass."""
    sketch = make_sketch(
        ["C5:1 D5:1 E5:2 F5:4", "E4:4 F4:2 A4:2", "C3:2 G2:2 F2:4"],
        marks=[
            Mark("dynamic", 0, 0, 0, "p"), Mark("wedge", 4, 8, 0, "crescendo"), Mark("rehearsal", 4, 4, -1, "A"),
            Mark("tempo", 0, 0, -1, "90"),
        ],
        slurs=[("a0", "a3")],
    )  # fmt: skip
    names = ("flute", "oboe", "clarinet_bb", "bassoon", "horn", "timpani", "harp", "violin", "viola", "double_bass")
    choices = [
        whole(sketch, "flute", 1), whole(sketch, "clarinet_bb", 1, octave=-1), whole(sketch, "bassoon", 3),
        whole(sketch, "horn", 2), whole(sketch, "harp", 2, 3), whole(sketch, "violin", 1), whole(sketch, "viola", 2),
        whole(sketch, "double_bass", 3),
    ]  # fmt: skip
    return make_score(sketch, players(*names), choices)


def test_families_stand_on_two_staves_and_who_rests_is_left_out() -> None:
    found = condensed(score())
    assert [(part.name, part.staves) for part in found.parts] == [
        ("Woodwind", 2), ("Brass", 2), ("Harp", 2), ("Strings", 2),
    ]  # fmt: skip
    assert found.concert and {part.transposition for part in found.parts} == {(0, 0)}


def test_every_sound_of_a_family_stands_once() -> None:
    full = score()
    found = condensed(full)
    sounds = {part.name: own for part, own in zip(full.parts, notes_of(full), strict=True)}
    wood = set(sounds["Flute"]) | set(sounds["Clarinet in B♭"]) | set(sounds["Bassoon"])
    assert set(notes_of(found)[0]) == wood and set(notes_of(found)[0].values()) == {1}
    assert set(notes_of(found)[3]) == set(sounds["Violin"]) | set(sounds["Viola"]) | set(sounds["Double Bass"])


def test_it_says_who_plays_and_how_loud_once() -> None:
    found = condensed(score())
    told = [[(d.kind, d.value) for m in part.measures for d in m.directions if not d.everybody] for part in found.parts]
    assert told[0] == [("words", "Fl., Cl., Bsn."), ("dynamic", "p"), ("wedge", "crescendo"), ("wedge", "stop")]
    assert ("words", "tutti") in told[3]
    top = [(d.kind, d.value) for m in found.parts[0].measures for d in m.directions if d.everybody]
    assert top == [("tempo", "90"), ("rehearsal", "A")]


def test_it_is_valid_and_reads_back(tmp_path: Path) -> None:
    found, path = condensed(score()), tmp_path / "condensed.musicxml"
    with path.open("wb") as file:
        write_musicxml(found, file)
    assert schema_errors(path) == []
    assert same(notes_of(found), notes_music21(path)) == []
    assert same(notes_of(found, written=True), notes_partitura(path)) == []


def test_a_score_of_nothing_keeps_one_staff() -> None:
    sketch = make_sketch(["C5:4"])
    assert [part.name for part in condensed(make_score(sketch, players("flute", "oboe"), [])).parts] == ["Flute"]
