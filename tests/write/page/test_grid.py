"""The data of one grid: who sounds in which bar, choices with their reasons, bars, phrases, dynamics."""

from __future__ import annotations

import json
from dataclasses import replace

from autoorch.layers.assigned import assigned
from autoorch.layers.model import Material, PhrasePlan
from autoorch.problem.draft import Draft
from autoorch.roles.model import Moment, Phrase
from autoorch.score.realise import realise
from autoorch.sketch.model import Mark
from autoorch.solver.why import Reason
from autoorch.tables import load_tables
from autoorch.write.page.grid import bars_between, cells, grid_data
from tests.support.hand import make_sketch, read_hand, whole
from tests.support.tiny import players


def made() -> dict[str, object]:
    """Flute and cello over four bars; the flute rests in bar 2, and one of its notes is held into bar 4."""
    marks = [Mark("dynamic", 0, 0, 0, "p"), Mark("rehearsal", 8, 8, -1, "A")]
    sketch = make_sketch(["C5:4 -:4 D5:6 -:2", "C3:8 G2:8"], marks=marks)
    reading = read_hand(sketch, ("melody", "bass"))
    phrases = (Phrase(0, 10, "A", "p"), Phrase(10, 16, "B", "f", dynamic_proposed=False, character="dark"))
    reading = replace(reading, phrases=phrases, moments=(Moment(12, "climax", 0.9),))
    plan = (PhrasePlan(0, 10, 0.3, "p", label="A"), PhrasePlan(10, 16, 0.8, "f", True, "B"))
    material = Material(assigned(sketch, reading, load_tables()), plan)
    lineup = players("flute", "oboe", "cello")
    draft = Draft((whole(sketch, "flute", 1), whole(sketch, "cello", 2, octave=-1)))
    score = realise(sketch, reading, material, lineup, draft)
    reasons = [Reason(draft.choices[0], "melody", "assigned", "", (), ("melody heard/bar 1",), None, (), None)]
    return grid_data("tiny", sketch, reading, lineup, material, draft, score, reasons)


def test_cells_are_the_bars_in_which_notes_sound() -> None:
    data = made()
    assert cells(data) == {
        (0, 0): [0], (0, 2): [0], (0, 3): [0], (2, 0): [1], (2, 1): [1], (2, 2): [1], (2, 3): [1],
    }  # fmt: skip


def test_choices_tell_who_what_and_why() -> None:
    first, second = made()["choices"]  # type: ignore[misc]
    assert (first["player"], first["role"], first["layer"], first["notes"]) == (0, "melody", "assigned", 2)
    assert first["why"] == ["the melody must be heard"]
    assert second["octave"] == -1 and second["why"] == []
    assert second["words"][1] == "an octave down, 2 notes from G1 to C2"


def test_bars_letters_phrases_and_dynamics() -> None:
    data = made()
    assert [bar["number"] for bar in data["bars"]] == ["1", "2", "3", "4"]  # type: ignore[attr-defined]
    assert [bar["letter"] for bar in data["bars"]] == ["", "", "A", ""]  # type: ignore[attr-defined]
    first, second = data["phrases"]  # type: ignore[misc]
    assert (first["first"], first["last"], second["first"], second["last"]) == (0, 1, 2, 3), "by whole bars, none twice"
    assert second["peak"] and second["moments"] == [{"bar": 3, "kind": "climax"}] and not second["proposed"]
    assert (first["tune"], second["tune"]) == ([0], []), "by what begins there, not by what shares a bar"
    assert [0, 0, "p"] in data["dynamics"]  # type: ignore[operator]
    assert [layer["name"] for layer in data["layers"]] == ["plan", "assigned"]  # type: ignore[attr-defined]
    assert json.loads(json.dumps(data)) == data


def test_bars_between() -> None:
    onsets = [0, 4, 8]
    assert [bars_between(onsets, *span) for span in ((0, 4), (0, 5), (3, 4), (4, 99), (8, 9))] == [
        (0, 0), (0, 1), (0, 0), (1, 2), (2, 2),
    ]  # fmt: skip
