"""A tune that a pianist's hand picks out of a broken chord is held, and the figure is left whole."""

from __future__ import annotations

from pathlib import Path

import pytest
from music21 import corpus

from autoorch.brief import Brief
from autoorch.layers.assigned import assigned
from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand, PhrasePlan
from autoorch.layers.picked import sung_on
from autoorch.lineup import parse_lineup
from autoorch.pitch import parse
from autoorch.roles import read_roles
from autoorch.sketch import read_sketch
from autoorch.tables import load_tables
from tests.layers.test_counterline import cue

TICKS = 4
RUN = "C4 E4 G4 C5 E5 G4 C5 E5 " * 4


def strands(run: str = RUN, picked: tuple[int, ...] = (4, 12, 20, 28)) -> tuple[MaterialLine, MaterialLine]:
    """(tune, figure) of semiquavers, the notes at `picked` given to the tune; as they come out."""
    words = run.split()
    notes = [MaterialNote(f"n{k}", k, 1, parse(word), (f"n{k}",)) for k, word in enumerate(words) if word != "-"]
    tune = MaterialLine("s1.1", tuple(note for note in notes if note.onset in picked))
    figure = MaterialLine("s2.1", tuple(note for note in notes if note.onset not in picked))
    here = cue(("C5 8",))
    here = Cue(here.sketch, here.reading, (PhrasePlan(0, len(words), 0.4, "mp"),), here.lineup, here.brief, here.tables)
    found = sung_on(
        here,
        (
            MaterialStrand("s1", "melody", "assigned", (tune,)),
            MaterialStrand("s2", "figure", "assigned", (figure,), texture="arpeggio"),
        ),
    )
    return found[0].lines[0], found[1].lines[0]


def test_its_notes_are_held_to_the_next_or_the_end_of_the_chord_and_the_figure_has_no_hole() -> None:
    tune, figure = strands()
    assert [(n.onset, n.duration, n.sources) for n in tune.notes] == [
        (4, 8, ("n4",)), (12, 4, ("n12",)), (20, 8, ("n20",)), (28, 4, ("n28",)),
    ]  # fmt: skip
    assert [str(n.pitch) for n in figure.notes] == RUN.split()
    assert [n.sources for n in figure.notes] == [(f"n{k}",) for k in range(32)]


@pytest.mark.parametrize(
    ("run", "picked"),
    [
        (RUN, (4, 5, 6, 7)),
        (RUN, (4, 12)),
        ("C4 E4 G4 - E5 - C5 E5 " * 4, (4, 12, 20, 28)),
    ],
    ids=["a tune without rests", "too few", "a note that stands alone"],
)
def test_other_tunes_stay_as_they_are(run: str, picked: tuple[int, ...]) -> None:
    tune, figure = strands(run, picked)
    assert {n.duration for n in tune.notes} == {1}
    assert len(figure.notes) + len(tune.notes) == len([word for word in run.split() if word != "-"])


def test_a_prelude_in_broken_chords_sings() -> None:
    tables = load_tables()
    sketch = read_sketch(Path(corpus.getWork("bach/bwv846")))
    reading = read_roles(sketch, tables)
    plan = tuple(PhrasePlan(p.start, p.end, 0.4, p.dynamic or "mp") for p in reading.phrases)
    before = assigned(sketch, reading, tables)
    found = sung_on(Cue(sketch, reading, plan, parse_lineup("chamber", tables), Brief(), tables), before)
    (tune,) = (strand for strand in found if strand.role == "melody")
    held = [note for note in tune.lines[0].notes if note.duration >= sketch.ticks]
    assert len(held) > 50
    assert [n.onset for n in tune.lines[0].notes] == [
        n.onset for s in before if s.role == "melody" for n in s.lines[0].notes
    ]
