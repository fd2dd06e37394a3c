"""The bass lands with its lower octave on a loud tonic, and a running bass has a line of its chord changes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.brief import Brief
from autoorch.layers.bass import attack, chord_changes, landings, under_symbols
from autoorch.layers.cue import Cue
from autoorch.layers.model import FULL, MaterialStrand
from autoorch.layers.plan import make_plan
from autoorch.lineup import parse_lineup
from autoorch.roles.model import Chord, Moment
from autoorch.roles.read import read_roles
from autoorch.rules import doubling, report
from autoorch.sketch.model import Mark
from autoorch.tables import load_tables
from tests.layers.test_plan import plan
from tests.support.hand import make_sketch, read_hand
from tests.support.tiny import line, players, problem, strand, taken

TABLES = load_tables()


@pytest.mark.parametrize(
    ("bass", "kind"),
    [
        ("C3:1 -:2 G2:1 -:2 C3:1 -:2 G2:1 -:2", "detached"),  # a waltz
        ("C3:1 -:7 C3:1 -:7", "detached"),
        ("C3:6 G2:6", "held"),
        ("C3:2 C3:2 C3:2 C3:2 G2:2 C3:2", "pedal"),  # struck again
        ("C3:12 C3:12", "pedal"),
        ("C3:1 D3:1 E3:1 F3:1 G3:1 F3:1", ""),
        ("C3:1/4 -:1/4 D3:1/4 -:1/4 E3:1/4 -:1/4 F3:1/4 -:1/4", "detached"),
        ("C3:1/8 -:1/8 D3:1/8 -:1/8 E3:1/8 -:1/8 F3:1/8 -:1/8", ""),  # too fast for single strokes
        ("C3:4", ""),
    ],
)
def test_a_bass_is_detached_held_or_a_pedal(bass: str, kind: str) -> None:
    sketch = make_sketch([bass])
    table = TABLES.rule("plan")["attack"]

    def found(*beside: str) -> str:
        return attack(sketch.notes, sketch.end, beside, lambda a, b: (b - a) / sketch.ticks / 2, table)

    assert found() == kind
    assert found("off-beats") == kind
    assert found("arpeggio") == kind.replace("detached", "")  # there it is the first note of what rings on


def test_dots_make_it_detached() -> None:
    sketch = make_sketch(["C3:1 D3:1 E3:1 F3:1"])
    dotted = [replace(note, marks=("staccato",)) for note in sketch.notes]
    table = TABLES.rule("plan")["attack"]
    assert attack(dotted, sketch.end, ("arpeggio",), lambda a, b: (b - a) / sketch.ticks / 2, table) == "detached"


def landed(dynamic: str, root: int = 0) -> tuple[MaterialStrand, ...]:
    """A bass that falls from G to C; the moment is its C."""
    sketch = make_sketch(["E5:4 E5:4", "G2:4 C3:4"])
    reading = read_hand(sketch, ("melody", "bass"))
    bar = sketch.bars[1].onset
    reading = replace(
        reading,
        phrases=tuple(replace(p, dynamic=dynamic) for p in reading.phrases),
        chords=(Chord(0, bar, 7, 11, 7, (7, 11, 2)), Chord(bar, sketch.end, root, 4, 0, (0, 4, 7))),
        moments=(Moment(bar, "cadence", 1.0),),
    )
    lineup = parse_lineup("romantic", TABLES)
    plan = make_plan(sketch, reading, lineup, Brief(), TABLES)
    return landings(Cue(sketch, reading, plan, lineup, Brief(), TABLES))


def test_a_loud_landing_on_the_tonic_gets_its_lower_octave() -> None:
    (found,) = landed("f")
    assert [str(note.pitch) for note in found.lines[0].notes] == ["C2"]
    assert found.layer == "bass"
    assert found.reason


def test_soft_ones_and_other_degrees_do_not() -> None:
    assert landed("p") == ()
    assert landed("f", root=9) == ()


def test_a_landing_without_its_lower_octave_costs() -> None:
    bass = strand("s1", "bass", line("s1.1", "C3 G2 C3 C3"))
    land = strand("land1", "bass", line("land1.1", "- - - C2"), layer="bass", families=("double_bass", "tuba"))
    tune = strand("s2", "melody", line("s2.1", "C5 D5 E5 C5"))
    data = problem(players("violin", "cello", "double_bass", "tuba"), tune, bass, land, dynamic="f")
    base = [("violin", "s2.1", 0), ("cello", "s1.1", 0)]

    def cost(*more: tuple[str, str, int]) -> int:
        return report(doubling, data, taken(data, *base, *more)).cost

    assert cost(("tuba", "land1.1", 0)) < cost()
    assert cost(("double_bass", "s1.1", -1)) < cost()


def test_a_running_bass_is_reduced_to_its_chord_changes() -> None:
    chords = [Chord(0, 16, 0, 4, 0, (0, 4, 7)), Chord(16, 32, 7, 11, 7, (7, 11, 2))]
    running = chord_changes(line("s1.1", "C3 D3 E3 F3 G3 F3 E3 D3"), chords, 2)
    assert running is not None
    assert running.reduced
    assert [(str(n.pitch), n.onset, n.duration) for n in running.notes] == [("C3", 0, 16), ("G3", 16, 16)]
    assert all(note.sources for note in running.notes)
    assert chord_changes(line("s1.1", "C3 G3", crotchets=4), chords, 2) is None
    dotted = line("s1.1", "C3 D3 E3 F3 G3 F3 E3 D3")
    marked = tuple(replace(note, marks=("accent", "staccato")) for note in dotted.notes)
    held = chord_changes(replace(dotted, notes=marked), chords, 2)
    assert held is not None and [note.marks for note in held.notes] == [("accent",), ("accent",)], (
        "no dot on what is held"
    )


def sheet(*lines: str) -> tuple[MaterialStrand, ...]:
    """Four bars with symbols: F/A for a bar and a half, one that nobody knows, Bb for the last bar."""
    marks = [Mark("chord", tick, tick, 0, text) for tick, text in ((0, "F/A"), (6, "mystic"), (12, "Bb"))]
    sketch = make_sketch(lines, fifths=-1, marks=marks)
    reading = read_roles(sketch)
    lineup = parse_lineup("romantic", TABLES)
    plan = make_plan(sketch, reading, lineup, Brief(), TABLES)
    return under_symbols(Cue(sketch, reading, plan, lineup, Brief(), TABLES))


def test_chord_symbols_get_a_bass_where_the_sketch_has_none() -> None:
    tune = "C5:2 A4:2 C5:2 D5:2 E5:2 F5:2 D5:4"
    (found,) = sheet(tune)
    assert [(n.onset, n.duration, str(n.pitch)) for n in found.lines[0].notes] == [
        (0, 4, "A2"), (4, 2, "A2"), (12, 4, "Bb2"),
    ]  # fmt: skip
    assert (found.role, found.layer) == ("bass", "bass") and found.reason
    assert sheet(tune, "F3:4 F3:4 C3:4 Bb2:4") == (), "the sketch has its own"


@pytest.mark.parametrize(("dynamic", "players"), [("p", 1), ("mf", 1), ("ff", 2)])
def test_the_bass_of_a_thin_phrase_is_one_section(dynamic: str, players: int) -> None:
    found = plan([("A", dynamic), ("B", "ff"), ("C", "f")], "classical")
    assert len({*found[0].bass} & {"cello", "double_bass"}) == players


def test_in_a_loud_tutti_low_brass_and_basses_share_the_bass() -> None:
    found = plan([("A", "p"), ("B", "f"), ("C", "p")])
    assert found[1].scheme == FULL
    assert {"tuba", "bass_trombone", "cello", "double_bass"} <= set(found[1].bass)
    few = plan([("A", "p"), ("B", "f"), ("C", "p")], "2.2.2.2 - 2.2.3.0 - tmp - str")
    assert {"trombone", "double_bass"} <= set(few[1].bass)
