"""A third flute that takes the piccolo for two bars: words, transposition and sound change with it, and come back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from lxml import etree

from autoorch.lineup import Lineup
from autoorch.problem.draft import Choice
from autoorch.score.model import Score
from autoorch.score.transpose import at_concert_pitch
from autoorch.tables import load_tables
from autoorch.write.musicxml import write_musicxml
from tests.score.test_marks import marks
from tests.support.hand import make_score, make_sketch
from tests.support.readback import notes_music21, notes_of, same
from tests.support.schema import schema_errors
from tests.support.tiny import players


def score(usual: str = "flute", other: str = "piccolo", octave: int = 1) -> Score:
    table = load_tables().instruments
    player = replace(players(usual).players[0], name=f"{table[usual].player} 3", number=3, doubles=(table[other],))
    sketch = make_sketch(["C5:4 D5:4 -:4 -:4 E5:4 F5:2 -:2 -:4 C5:4 "], fifths=1)
    choices = [
        Choice(player.name, "s1", ("s1.1",), 0, 0, 16),
        Choice(player.name, "s1", ("s1.1",), octave, 16, 28, instrument=other),
        Choice(player.name, "s1", ("s1.1",), 0, 28, 32),
    ]
    return make_score(sketch, Lineup("one", (player,)), choices)


def test_the_part_says_it_early_and_at_the_entry() -> None:
    assert marks(score(), 0, "words") == [
        (2, 0, "to Piccolo"), (4, 0, "Piccolo"), (5, 2, "to Flute"), (7, 0, "Flute"),
    ]  # fmt: skip


def test_notes_are_written_for_the_instrument_in_hand() -> None:
    for made in (score(), at_concert_pitch(score())):
        written = [
            (str(h.written), str(h.sounding)) for m in made.parts[0].measures for e in m.voices[0] for h in e.heads
        ]
        assert written == [("C5", "C5"), ("D5", "D5"), ("E5", "E6"), ("F5", "F6"), ("C5", "C5")]
    horn = score("oboe", "cor_anglais", 0)
    assert [m.fifths for m in horn.parts[0].measures] == [1, 1, 1, 1, 2, 2, 2, 1], "a fifth higher has a sharp more"
    assert {m.fifths for m in at_concert_pitch(horn).parts[0].measures} == {1}


def test_the_file_changes_transposition_and_sound(tmp_path: Path) -> None:
    made, path = score("oboe", "cor_anglais", 0), tmp_path / "score.musicxml"
    with path.open("wb") as file:
        write_musicxml(made, file)
    assert schema_errors(path) == []
    root = etree.parse(path).getroot()
    moves = {
        m.get("number"): m.findtext(".//chromatic") for m in root.iter("measure") if m.find(".//transpose") is not None
    }
    assert moves == {"5": "-7", "8": "0"}
    assert [s.text for s in root.iter("instrument-sound")] == ["wind.reed.oboe", "wind.reed.english-horn"]
    assert [n.find("instrument").get("id") for n in root.iter("note") if n.find("pitch") is not None] == [  # type: ignore[union-attr]
        "P1-I1", "P1-I1", "P1-I2", "P1-I2", "P1-I1",
    ]  # fmt: skip
    assert same(notes_of(made), notes_music21(path)) == []
