"""The tune without its runs: for whom, which notes, how long."""

from __future__ import annotations

from dataclasses import replace

from autoorch.layers.cue import Cue
from autoorch.layers.melody import outline, outlines, shared, speed
from autoorch.layers.model import MaterialStrand
from autoorch.rules import plan, report
from tests.layers.test_counterline import cue
from tests.support.tiny import TICKS, line, players, problem, strand, taken

RUN = (*(f"{name} .25" for name in "C5 D5 E5 F5 G5 A5 B5 C6 D6 C6 B5 A5 G5 F5 E5 D5".split()), "C5 2", "- 2")


def running(dynamic: str = "f", joined: tuple[str, ...] = ("oboes",), tune: tuple[str, ...] = RUN) -> Cue:
    """A run in semiquavers at 120, then a held note and a rest; led by violins."""
    here = cue(tune, dynamic)
    reading = replace(here.reading, tempo=120.0)
    return replace(here, reading=reading, plan=(replace(here.plan[0], lead="violins", joined=joined, doublers=3),))


def test_beats_crest_and_last_note_held_to_the_next_of_them() -> None:
    (found,) = outlines(running())
    notes = found.lines[0].notes
    assert (found.role, found.layer, found.families) == ("melody", "melody", ("oboe",))
    assert "bar 1" in found.reason
    assert [str(note.pitch) for note in notes] == ["C5", "G5", "D6", "G5", "C5"]
    assert [note.duration for note in notes] == [TICKS, TICKS, TICKS, TICKS, 2 * TICKS]
    assert all(note.sources for note in notes)


def test_a_crest_off_the_beat_is_kept_and_quick_beats_are_too_many() -> None:
    here = running(tune=tuple(f"{name} .25" for name in "C5 D5 E5 F5 G5 A6 B5 C6".split()))
    table = here.tables.rule("patterns")["outline"]
    assert [str(n.pitch) for n in outline(here, here.tune, table)] == ["C5", "G5", "A6", "C6"]
    presto = replace(here, reading=replace(here.reading, tempo=240.0))
    assert [str(n.pitch) for n in outline(presto, presto.tune, table)] == ["C5", "A6", "C6"]


def test_only_for_winds_that_join_strings_on_a_quick_loud_tune() -> None:
    steps = running().tables.rule("playability")["speed"]["intervals"]
    assert speed(running().seconds, running().tune, steps) == 8
    assert outlines(running("p")) == ()
    assert outlines(running(joined=())) == ()
    assert outlines(running(joined=("cellos",))) == ()
    assert outlines(running(tune=tuple(f"{name} 1" for name in "C5 D5 E5 F5 G5 A5 B5 C6".split()))) == ()


def test_who_has_the_outline_counts_as_on_the_tune() -> None:
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 F5 G5 A5 B5 C6", 0.5))
    short = MaterialStrand(
        "outline1", "melody", "melody", (replace(line("outline1.1", "C5 E5 G5 B5"), reduced=True),), families=("oboe",)
    )
    data = problem(players("violin", "oboe"), tune, short, dynamic="f")
    data.plan = tuple(replace(p, lead="violins", joined=("oboes",), doublers=2) for p in data.plan)
    alone = taken(data, ("violin", "s1.1", 0))
    assert report(plan, data, alone | taken(data, ("oboe", "outline1.1", 0))).cost < report(plan, data, alone).cost


def handed_on(
    tune: tuple[str, ...] = ("C5 2", "D5 1", "E5 1", "F5 2", "G5 2"),
    leads: tuple[str, str] = ("oboes", "violins"),
    dynamics: tuple[str, str] = ("mp", "mp"),
    joined: tuple[str, ...] = (),
) -> list[tuple[str, tuple[str, ...]]]:
    """The shared notes, by pitch and who may have them, where two bars in two phrases are led by two colours."""
    here = cue(tune)
    (whole,) = here.plan
    first = replace(whole, end=4 * TICKS, lead=leads[0], joined=("flutes",), dynamic=dynamics[0])
    second = replace(whole, start=4 * TICKS, lead=leads[1], joined=joined, dynamic=dynamics[1])
    found = shared(replace(here, plan=(first, second)))
    assert all((s.role, s.layer, s.lines[0].reduced) == ("melody", "melody", True) for s in found)
    return [(f"{note.pitch} {note.duration}", s.families) for s in found for note in s.lines[0].notes]


def test_who_hands_the_tune_on_may_finish_on_the_first_note_of_who_takes_it() -> None:
    assert handed_on() == [("F5 8", ("flute", "oboe", "piccolo"))]
    assert handed_on(joined=("flutes",)) == [("F5 8", ("oboe",))], "the flutes go on"
    assert handed_on(leads=("oboes", "oboes"), joined=("flutes",)) == [], "everybody goes on"


def test_no_note_is_shared_where_the_tune_rests_holds_leaps_or_changes_its_dynamic() -> None:
    assert handed_on(("C5 2", "D5 1", "E5 .5", "- .5", "F5 2", "G5 2")) == []
    assert handed_on(("C5 2", "E5 2", "F5 2", "G5 2")) == []
    assert handed_on(("C5 2", "D5 1", "E5 1", "C6 2", "G5 2")) == []
    assert handed_on(dynamics=("mp", "f")) == []
