"""Where plucking is offered, and what a brief's technique becomes."""

from __future__ import annotations

from autoorch.brief import Brief, parse_brief
from autoorch.layers.model import Manner, PhrasePlan
from autoorch.layers.techniques import known, manners
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch.model import Bar, Sketch, Staff
from autoorch.tables import load_tables
from tests.support.tiny import BAR, TICKS, line, players, strand

TABLES = load_tables()
TUNE = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))
BASS = strand("s2", "bass", line("s2.1", "C3 - G2 -"))
BEATS = strand("s3", "rhythm", line("s3.1", "- E4 - E4"), texture="off-beats")
HELD = strand("s4", "inner", line("s4.1", "E4", 4), texture="held chords")
STRINGS = players("violin", "viola", "cello", "double_bass")


def found(*strands: object, dynamic: str = "p", tempo: float = 90, brief: Brief | None = None) -> tuple[Manner, ...]:
    sketch = Sketch(TICKS, (Staff(0, ""),), (Bar(0, "1", 0, BAR, (4, 4), 0), Bar(1, "2", BAR, BAR, (4, 4), 0)), ())
    reading = Reading((), (Phrase(0, BAR, dynamic=dynamic),), (), tempo=tempo)
    plan = (PhrasePlan(0, BAR, 0.4, dynamic),)
    return manners(sketch, reading, plan, strands, STRINGS, brief or Brief(), TABLES)  # type: ignore[arg-type]


def plucked(**more: object) -> set[str]:
    few = strand("s2", "bass", line("s2.1", "C3 G2 C3 -"))
    return {m.strand for m in found(TUNE, few, BEATS, **more)}  # type: ignore[arg-type]


def test_a_detached_bass_under_off_beats_is_offered_to_be_plucked() -> None:
    assert plucked() == {"s2"}


def test_not_when_loud_slow_or_without_off_beats() -> None:
    assert plucked(dynamic="ff") == set()
    assert plucked(tempo=50) == set()
    few = strand("s2", "bass", line("s2.1", "C3 G2 C3 -"))
    assert found(TUNE, few, HELD) == ()


def test_a_direction_reaches_the_strands_of_its_role() -> None:
    brief = parse_brief('[[direction]]\nbars = "1"\nrole = "bass"\nmust = ["cello"]\ntechnique = "con sord"\n')
    asked = [m for m in found(TUNE, BASS, HELD, brief=brief) if m.asked]
    assert [(m.strand, m.start, m.end, m.technique, m.players) for m in asked] == [
        ("s2", 0, BAR, "con_sord", ("cello",))
    ]


def test_arco_takes_offers_back() -> None:
    brief = parse_brief('[[direction]]\nrole = "bass"\ntechnique = "arco"\n')
    few = strand("s2", "bass", line("s2.1", "C3 G2 C3 -"))
    first = found(TUNE, few, BEATS, brief=brief)[0]
    assert (first.technique, first.asked) == ("", True)


def test_what_no_part_can_be_told_is_known_to_be_so() -> None:
    (direction,) = parse_brief('[[direction]]\ntechnique = "harm"\n').directions
    assert not known(direction, TABLES)
