"""Piano music that nobody here wrote, through a fixed mapping, written and read back."""

from __future__ import annotations

from pathlib import Path

import pytest
from music21 import corpus

from autoorch.layers.assigned import assigned
from autoorch.layers.model import Material, PhrasePlan
from autoorch.lineup import parse_lineup
from autoorch.problem.draft import Choice, Draft
from autoorch.roles import read_roles
from autoorch.score.model import Score
from autoorch.score.realise import realise
from autoorch.score.transpose import at_concert_pitch
from autoorch.sketch import read_sketch
from autoorch.tables import load_tables
from autoorch.write.musicxml import write_musicxml
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

PIECES = ("bach/bwv846", "chopin/mazurka06-2", "joplin/maple_leaf_rag", "schoenberg/opus19/movement2")
HANDS = {
    "melody": ("Flute", "Clarinet", "Violins I", "Trumpet"),
    "bass": ("Violoncellos", "Double basses", "Bassoon"),
    "other": ("Violins II", "Violas", "Horn", "Harp"),
}
MANY = ("Violins I", "Violins II", "Violas", "Violoncellos", "Harp")
"""Who may take several lines."""


def fixed(name: str) -> Score:
    """Everybody takes strands of his own by their role: divided strings and the harp all lines, the others the first."""
    tables = load_tables()
    lineup = parse_lineup("1.1.1.1 - 1.1.0.0 - hp - 6.5.4.3.2", tables)
    sketch = read_sketch(Path(corpus.getWork(name)))
    reading = read_roles(sketch, tables)
    strands = assigned(sketch, reading, tables)
    choices = []
    free = dict.fromkeys(player.name for player in lineup.players)
    for strand in strands:
        for player in HANDS.get(strand.role, HANDS["other"]):
            if player in free:
                del free[player]
                lines = tuple(line.id for line in strand.lines if not line.reduced)
                taken = lines if player in MANY else lines[:1]
                choices.append(Choice(player, strand.id, taken, 0, 0, sketch.end))
                if strand.role not in ("melody", "bass"):
                    break
    assert len(choices) >= 6
    plan = tuple(PhrasePlan(p.start, p.end, 0.5, p.dynamic) for p in reading.phrases)
    return realise(sketch, reading, Material(strands, plan), lineup, Draft(tuple(choices)))


@pytest.fixture(scope="module", params=PIECES)
def piece(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Score, Path]]:
    folder = tmp_path_factory.mktemp("piece")
    score = fixed(request.param)
    written = []
    for each, name in ((score, "score.musicxml"), (at_concert_pitch(score), "score-concert.musicxml")):
        with (folder / name).open("wb") as file:
            write_musicxml(each, file)
        written.append((each, folder / name))
    return written


def test_real_music_is_valid_and_comes_back_exactly(piece: list[tuple[Score, Path]]) -> None:
    for score, path in piece:
        assert schema_errors(path) == []
        assert same(notes_of(score), notes_music21(path)) == []
        assert same(notes_of(score, written=True), notes_partitura(path)) == []
        assert same(heads_of(score), notes_verovio(path)) == []


@pytest.mark.lilypond
def test_lilypond_converts_real_music(piece: list[tuple[Score, Path]], tmp_path: Path) -> None:
    for _, path in piece:
        assert musicxml2ly_ok(path, tmp_path) == ""
