"""Two players on one staff: who plays, one stem or two voices, and the same notes as before."""

from __future__ import annotations

from pathlib import Path

from autoorch.problem.draft import Choice
from autoorch.score.model import Score
from autoorch.score.pairs import paired
from autoorch.write.musicxml import write_musicxml
from tests.score.test_marks import marks
from tests.support.hand import make_score, make_sketch, whole
from tests.support.readback import notes_music21, notes_of, same
from tests.support.schema import schema_errors
from tests.support.tiny import players


def made(*choices: Choice, count: int = 2, slurs: tuple[tuple[str, str], ...] = ()) -> Score:
    sketch = make_sketch(["C5:2 D5:2 E5:4 F5:4 G5:4", "A4:2 B4:2 C5:4 D5:1 E5:1 D5:2 E5:4"], slurs=slurs)
    return make_score(sketch, players(*["flute"] * count, "violin"), choices)


def take(number: int, line: int, first: int, last: int) -> Choice:
    """Flute `number` takes a line from bar `first` up to bar `last` (from 0)."""
    return Choice(f"flute {number}", f"s{line}", (f"s{line}.1",), 0, 4 * first, 4 * last)


def test_one_alone_both_alike_both_in_one_stem_and_two_voices() -> None:
    score = made(take(1, 1, 0, 4), take(2, 1, 1, 2), take(2, 2, 2, 4))
    found = paired(score)
    assert [part.name for part in found.parts] == ["Flute 1.2", "Violin"]
    assert marks(found, 0, "words") == [(0, 0, "1."), (1, 0, "a2"), (2, 0, "1.2.")]
    assert [len(m.voices) for m in found.parts[0].measures] == [1, 1, 2, 1]
    chord = found.parts[0].measures[3].voices[0][0]
    assert [str(head.written) for head in chord.heads] == ["E5", "G5"]


def test_both_players_notes_are_there_and_come_back(tmp_path: Path) -> None:
    score = made(take(1, 1, 0, 4), take(2, 2, 0, 4), slurs=(("a0", "a3"), ("b2", "b5")))
    found = paired(score)
    before = notes_of(score)
    assert notes_of(found)[0] == before[0] + before[1]
    path = tmp_path / "pairs.musicxml"
    with path.open("wb") as file:
        write_musicxml(found, file)
    assert schema_errors(path) == []
    assert same(notes_of(found), notes_music21(path)) == []


def test_a_third_player_keeps_a_staff() -> None:
    assert [part.name for part in paired(made(count=3)).parts] == ["Flute 1.2", "Flute 3", "Violin"]


def test_ids_follow_the_order() -> None:
    assert [part.id for part in paired(made()).parts] == ["P1", "P2"]


def test_strings_are_never_joined() -> None:
    sketch = make_sketch(["C5:4"])
    score = make_score(sketch, players("violin", "violin"), [whole(sketch, "violin 1", 1)])
    assert len(paired(score).parts) == 2


def test_the_words_have_the_players_own_numbers_and_come_again_after_a_rest() -> None:
    sketch = make_sketch(["C5:4 -:4 -:4 D5:4 E5:4", "-:16 A4:4"])
    lineup = players("horn", "horn", "horn", "horn")
    choices = [whole(sketch, "horn 3", 1), whole(sketch, "horn 4", 2)]
    found = paired(make_score(sketch, lineup, choices))
    assert [part.name for part in found.parts] == ["Horn in F 1.2", "Horn in F 3.4"]
    assert marks(found, 1, "words") == [(0, 0, "3."), (3, 0, "3."), (4, 0, "3.4.")]
