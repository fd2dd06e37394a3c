from __future__ import annotations

from autoorch.pitch import parse
from autoorch.score.spelling import plain
from tests.score.test_realise import events
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players


def written(music: str, fifths: int, instrument: str = "clarinet_bb") -> list[str]:
    sketch = make_sketch([music], fifths=fifths)
    score = make_score(sketch, players(instrument), [whole(sketch, instrument, 1)])
    return [str(head.written) for event in events(score) for head in event.heads]


def test_a_double_sharp_stays_where_it_leads_up_by_a_semitone() -> None:
    assert written("E#4:1 F#4:1 E#4:1 C#4:1", 4) == ["F##4", "G#4", "G4", "D#4"]


def test_tied_notes_keep_one_name() -> None:
    assert written("E#4:6 F#4:2", 4) == ["G4", "G4", "G#4"]


def test_who_does_not_transpose_reads_the_sketchs_names() -> None:
    assert written("F##4:1 D#4:1 B#4:2", 4, "violin") == ["F##4", "D#4", "B#4"]


def test_plain_names() -> None:
    assert [str(plain(parse(name))) for name in ("Fx4", "Bbb3", "Bx3", "Cbb5")] == ["G4", "A3", "C#4", "Bb4"]
