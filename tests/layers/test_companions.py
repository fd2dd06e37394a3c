"""Octaves under some of a tune's notes go on under all; a lower voice is held while the tune passes on."""

from __future__ import annotations

from dataclasses import replace

from autoorch.layers.companions import companions
from autoorch.layers.model import MaterialLine, MaterialStrand
from autoorch.lineup import parse_lineup
from autoorch.tables import load_tables
from tests.layers.test_counterline import cue
from tests.support.tiny import TICKS, line, strand

TABLES = load_tables()


def whole(*strands: MaterialStrand, players: str = "romantic") -> list[list[tuple[str, float]]]:
    """(pitch, crotchets) of each line of the last strand."""
    here = replace(cue(("C5 4", "D5 4")), lineup=parse_lineup(players, TABLES))
    made = companions(here, strands)
    return [[(str(n.pitch), n.duration / TICKS) for n in ln.notes] for ln in made[-1].lines]


def lasting(one: MaterialLine, *crotchets: float) -> MaterialLine:
    pairs = zip(one.notes, crotchets, strict=True)
    return replace(one, notes=tuple(replace(note, duration=round(length * TICKS)) for note, length in pairs))


def tune(lower: str) -> MaterialStrand:
    return strand("s1", "melody", line("s1.1", "A4 E5 A4 C5"), line("s1.2", lower))


def test_an_octave_under_some_notes_is_one_under_all() -> None:
    upper, lower = whole(tune("- E4 - C4"))
    assert upper == [("A4", 1), ("E5", 1), ("A4", 1), ("C5", 1)]
    assert lower == [("A3", 1), ("E4", 1), ("A3", 1), ("C4", 1)]


def test_thirds_and_few_players_stay() -> None:
    assert whole(tune("- C5 - A4"))[1] == [("C5", 1), ("A4", 1)]
    assert whole(tune("- E4 - A4"))[1] == [("E4", 1), ("A4", 1)], "not all of them octaves"
    assert whole(tune("- E4 - C4"), players="string quartet")[1] == [("E4", 1), ("C4", 1)]
    rare = strand("s1", "melody", line("s1.1", "A4 E5 A4 C5 A4 C5 E5 A5", 0.5), line("s1.2", "- E4", 0.5))
    assert whole(rare)[1] == [("E4", 0.5)]


def test_a_lower_voice_is_held_while_the_tune_passes_on() -> None:
    above = strand("s1", "melody", lasting(line("s1.1", "D5 - - C5 B4", 0.5), 1.5, 0.5, 1))
    dotted = lasting(line("s2.1", "G4 - - - G4", 0.5), 1.5, 1)
    assert whole(above, strand("s2", "inner", dotted))[0] == [("G4", 2), ("G4", 1)]
    dry = replace(dotted, notes=tuple(replace(n, marks=("staccato",)) for n in dotted.notes))
    assert whole(above, strand("s2", "inner", dry))[0] == [("G4", 1.5), ("G4", 1)]
    assert whole(strand("s1", "melody", line("s1.1", "D5 - B4")), strand("s2", "inner", dotted))[0][0] == ("G4", 1.5)
