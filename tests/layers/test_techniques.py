"""Where plucking is offered, and what a brief's technique becomes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from autoorch.brief import TECHNIQUES, Brief, parse_brief
from autoorch.layers.model import Manner, PhrasePlan
from autoorch.layers.techniques import manners
from autoorch.lineup import Lineup
from autoorch.pipeline import draft
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch.model import Bar, Sketch, Staff
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from tests.support.tiny import BAR, TICKS, line, players, problem, strand

TABLES = load_tables()
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TUNE = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))
BASS = strand("s2", "bass", line("s2.1", "C3 - G2 -"))
BEATS = strand("s3", "rhythm", line("s3.1", "- E4 - E4"), texture="off-beats")
HELD = strand("s4", "inner", line("s4.1", "E4", 4), texture="held chords")
STRINGS = players("violin", "viola", "cello", "double_bass")


def found(
    *strands: object,
    dynamic: str = "p",
    tempo: float = 90,
    brief: Brief | None = None,
    character: str = "",
    bars: int = 2,
    lineup: Lineup = STRINGS,
    weight: float = 0.4,
    **plan_of: object,
) -> tuple[Manner, ...]:
    own = tuple(Bar(k, str(k + 1), k * BAR, BAR, (4, 4), 0) for k in range(bars))
    sketch = Sketch(TICKS, (Staff(0, ""),), own, ())
    end = BAR if bars == 2 else bars * BAR
    reading = Reading((), (Phrase(0, end, dynamic=dynamic, character=character),), (), tempo=tempo)
    plan = (PhrasePlan(0, end, weight, dynamic, **plan_of),)  # type: ignore[arg-type]
    return manners(sketch, reading, plan, strands, lineup, brief or Brief(), TABLES)  # type: ignore[arg-type]


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


def test_bass_and_pedal_are_plucked_together_or_not() -> None:
    """Two notes of each are one detached line of four; alone they are too few."""
    low, pedal = strand("s2", "bass", line("s2.1", "C3 - - -")), strand("s6", "pedal", line("s6.1", "- G2 - C3"))
    assert {m.strand for m in found(TUNE, low, pedal, BEATS)} == {"s2", "s6"}
    assert {m.strand for m in found(TUNE, low, BEATS)} == set()
    held = strand("s6", "pedal", line("s6.1", "G2", 4), line("s6.2", "C2", 4))
    assert {m.strand for m in found(TUNE, low, held, BEATS)} == set()


def test_a_bass_in_a_band_is_plucked_however_loud() -> None:
    def band(*names: str, **more: object) -> set[tuple[str, tuple[str, ...]]]:
        low = strand("s2", "bass", line("s2.1", "C3 G2 C3 G2"))
        offers = found(TUNE, low, HELD, dynamic="ff", character="dance", lineup=players(*names), **more)  # type: ignore[arg-type]
        return {(m.technique, m.players) for m in offers if m.strand == "s2"}

    assert band("trumpet_bb", "piano", "double_bass") == {("pizz", ("double_bass",))}
    assert band("trumpet_bb", "double_bass") == set(), "no rhythm section"
    assert band("violin", "piano", "double_bass") == set(), "not the only strings"


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
    assert (first.technique, first.group, first.asked) == ("", "right hand", True)


def test_every_way_of_a_brief_is_one_that_parts_are_told_or_the_ordinary_one() -> None:
    table = TABLES.rule("techniques")
    for way in TECHNIQUES:
        (direction,) = parse_brief(f'[[direction]]\ntechnique = "{way}"\n').directions
        asked = {m.technique for m in found(TUNE, BASS, HELD, brief=Brief(directions=(direction,))) if m.asked}
        key = way.replace(" ", "_")
        assert asked == {"" if key in table["ordinary"] else key}
        groups = {row["group"] for row in table["technique"].values()}
        assert set(table["ordinary"].get(key, ())) <= groups, way
        assert (key in table["ordinary"]) is not (key in table["technique"]), way


def test_a_soft_lyrical_tune_of_one_string_section_may_be_a_solo() -> None:
    def offered(**more: object) -> set[tuple[str, str]]:
        return {(m.strand, m.technique) for m in found(TUNE, HELD, **more)}  # type: ignore[arg-type]

    assert offered(character="lyrical", lead="violins", doublers=1) == {("s1", "solo")}
    assert offered(character="lyrical", lead="violins", doublers=4) == set()
    assert offered(character="lyrical", lead="oboes", doublers=1) == set()
    assert offered(character="dance", lead="violins", doublers=1) == set()
    assert offered(character="lyrical", lead="violins", doublers=1, dynamic="f") == set()
    voices = replace(HELD, texture="hymn")
    beside = found(TUNE, voices, character="lyrical", lead="violins", doublers=1)
    assert not any(m.technique == "solo" for m in beside), "one of several like voices"


def test_stopped_horns_are_sinister_or_comic() -> None:
    chords = strand("s4", "inner", line("s4.1", "E4 F4", 2), texture="held chords")

    def offered(character: str, dynamic: str = "p") -> set[tuple[str, tuple[str, ...]]]:
        ways = found(
            TUNE, chords, BEATS, character=character, dynamic=dynamic, lineup=players("violin", "horn"), tempo=200
        )
        return {(m.strand, m.players) for m in ways if m.technique == "stopped"}

    assert offered("dark") == {("s4", ("horn",))}
    assert offered("lyrical") == offered("dark", "f") == set()
    few = strand("s3", "rhythm", line("s3.1", "- E4 E4 E4"), texture="off-beats")
    ways = found(TUNE, few, character="comic", lineup=players("violin", "horn"), tempo=200)
    assert {m.strand for m in ways if m.technique == "stopped"} == {"s3"}


def test_a_phrase_that_comes_again_at_once_and_softer_may_be_stopped_horns() -> None:
    tune = strand("s1", "melody", line("s1.1", "C4 D4 E4 D4 C4 D4 E4 D4"))
    sketch = Sketch(TICKS, (Staff(0, ""),), tuple(Bar(k, str(k + 1), k * BAR, BAR, (4, 4), 0) for k in range(2)), ())

    def offered(first: str, second: str, restates: int | None = 0) -> set[int]:
        phrases = (Phrase(0, BAR, dynamic=first), Phrase(BAR, 2 * BAR, dynamic=second))
        plan = (PhrasePlan(0, BAR, 0.5, first), PhrasePlan(BAR, 2 * BAR, 0.3, second, restates=restates))
        reading, horn = Reading((), phrases, (), tempo=90), players("violin", "horn")
        ways = manners(sketch, reading, plan, (tune,), horn, Brief(), TABLES)
        return {m.start for m in ways if m.technique == "stopped"}

    assert offered("f", "p") == {BAR}
    assert offered("p", "p") == offered("f", "f") == offered("f", "p", None) == set()


def test_an_echo_may_be_a_stopped_horns_and_few_strings_play_under_one_soft_voice() -> None:
    table = next(row for row in TABLES.rule("techniques")["offer"] if row["technique"] == "stopped")
    echo = replace(strand("c1", "counterline", line("c1.1", "C4 D4 E4 C4")), texture="echo", layer="counterline")
    horn = players("violin", "horn")
    far = found(TUNE, echo, character="lyrical", dynamic="p", lineup=horn)
    assert {(m.strand, m.technique, m.players) for m in far if m.technique == "stopped"} == {
        ("c1", "stopped", ("horn",))
    }
    assert all(m.technique != "stopped" for m in found(TUNE, echo, character="lyrical", dynamic="f", lineup=horn))
    assert table["reason"] == next(m.reason for m in far if m.technique == "stopped")
    for dynamic, weight, way in (("pp", 0.2, "half"), ("p", 0.2, "half"), ("pp", 0.1, "one_desk"), ("mp", 0.2, "")):
        here = {"dynamic": dynamic, "character": "lyrical", "weight": weight}
        offered = found(TUNE, HELD, scheme="solo", **here)  # type: ignore[arg-type]
        assert {m.technique for m in offered if m.strand == "s4"} == ({way} if way else set())
        assert not {"half", "one_desk"} & {m.technique for m in found(TUNE, HELD, **here)}  # type: ignore[arg-type]


def test_mutes_want_a_dark_run_of_some_length() -> None:
    long = found(TUNE, HELD, character="dark", bars=8)
    assert {(m.strand, m.technique) for m in long} == {("s1", "con_sord"), ("s4", "con_sord")}
    assert set(long[0].players) == {"violin", "viola", "cello"}
    assert found(TUNE, HELD, character="dark", bars=2) == ()
    assert found(TUNE, HELD, character="lyrical", bars=8) == ()


def test_a_broad_tune_that_lies_low_on_the_violins_goes_on_their_lowest_string() -> None:
    low = strand("s1", "melody", line("s1.1", "G4 A4 B4 A4"))

    def offered(tune: object, **more: object) -> set[tuple[str, str, tuple[str, ...]]]:
        return {(m.strand, m.technique, m.players) for m in found(tune, HELD, **more)}  # type: ignore[arg-type]

    broad = {"character": "majestic", "dynamic": "f", "lead": "violins"}
    assert offered(low, **broad) == {("s1", "sul_g", ("violin",))}
    assert offered(low, **broad, tempo=200) == set()
    assert offered(low, **{**broad, "lead": "oboes"}) == set()
    assert offered(low, **{**broad, "dynamic": "p"}) == set()
    high = strand("s1", "melody", line("s1.1", "G4 A4 B5 A4"))
    assert offered(high, **broad) == set()


def test_a_still_background_may_be_bowed_over_the_fingerboard_and_the_tune_is_not() -> None:
    chords = strand("s4", "inner", line("s4.1", "E4 F4", 2), texture="held chords")
    still = found(TUNE, chords, character="still", dynamic="pp", bars=8)
    assert {(m.strand, m.technique) for m in still if m.technique != "solo"} == {("s4", "sul_tasto")}
    assert not any(m.technique == "sul_tasto" for m in found(TUNE, chords, character="still", dynamic="mp", bars=8))


def test_an_uneasy_tremolo_is_played_at_the_bridge_as_well() -> None:
    """Two ways at once: the sign of the pattern, the place of the offer."""
    trembling = strand("s5", "inner", line("s5.1", "E4", 4), texture="string tremolo")
    shaken = replace(trembling, layer="accompaniment", technique="trem")
    offers = found(TUNE, shaken, character="agitated", dynamic="p")
    assert {(m.strand, m.technique) for m in offers} == {("s5", "sul_pont")}
    data = problem(players("violin"), shaken, manners=offers)
    assert {o.techniques for o in data.options if not o.octave} == {("trem",), ("sul_pont", "trem")}


def test_a_dark_ostinato_may_be_played_at_the_bridge() -> None:
    turning = strand("s5", "figure", line("s5.1", "E4 F4 E4 F4"), texture="ostinato")
    assert {(m.strand, m.technique) for m in found(TUNE, turning, character="dark", dynamic="p")} == {
        ("s5", "sul_pont")
    }
    assert found(TUNE, turning, character="march", dynamic="p") == ()


def test_nothing_is_plucked_that_has_a_fermata() -> None:
    (bass,) = strand("s2", "bass", line("s2.1", "C3 G2 C3 -")).lines
    held = replace(bass, notes=(*bass.notes[:-1], replace(bass.notes[-1], marks=("fermata",))))
    few = replace(strand("s2", "bass", line("s2.1", "C3 G2 C3 -")), lines=(held,))
    assert found(TUNE, few, BEATS) == ()


# One cue each in which somebody takes the offer; line-ups small enough for a test.
@pytest.mark.parametrize(
    ("example", "lineup", "ways"),
    [
        ("lighthouse-waltz", "chamber", {"pizz", "sul_tasto", "one_desk"}),
        ("harbour-snow-cue", "chamber", {"harm"}),
        ("harbour-snow-cue", "str", {"solo"}),
        ("clockmaker-ostinato", "str", {"sul_pont"}),
    ],
)
def test_what_is_offered_is_taken(example: str, lineup: str, ways: set[str]) -> None:
    made = draft(EXAMPLES / example / "sketch.musicxml", lineup, limits=Limits(seconds=4))
    taken = {way for choice in made.draft.choices for way in choice.techniques}
    assert ways <= taken
