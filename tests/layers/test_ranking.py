"""Common practice as rankings: two choices with all else equal, and the better one costs less. Preferences, no source."""

from __future__ import annotations

from itertools import combinations

import pytest

from autoorch.layers.model import MaterialStrand
from autoorch.problem.data import ProblemData
from autoorch.rules import RULES, report
from tests.layers.test_plan import plan as plan_of
from tests.support.tiny import line, players, problem, strand, taken

Wanted = tuple[str, str, int]
OTHERS = ("cor_anglais", "bass_clarinet", "contrabassoon", "bass_trombone", "tuba")
BASS = "C3 G2 C3 G2"
EVERYBODY = (
    "flute", "oboe", "clarinet_bb", "bassoon", "horn", "trumpet_bb", "trombone", "violin", "viola", "cello", "double_bass",
)  # fmt: skip


def price(data: ProblemData, *wanted: Wanted) -> int:
    """What all rules together charge."""
    chosen = taken(data, *wanted)
    return sum(report(rule, data, chosen).cost for rule in RULES)


def tune(text: str, dynamic: str = "mf", names: tuple[str, ...] = EVERYBODY, **more: object) -> ProblemData:
    """A melody over a bass."""
    there = strand("s1", "melody", line("s1.1", text)), strand("s2", "bass", line("s2.1", BASS))
    return problem(players(*names), *there, dynamic=dynamic, **more)  # type: ignore[arg-type]


UNDER = ("double_bass", "s2.1", 0)


@pytest.mark.parametrize("dynamic", ["p", "mp", "mf"])
@pytest.mark.parametrize(
    ("text", "better", "worse"),
    [
        ("D4 F4 G4 E4", "viola", "cello"),  # the upper half of the alto staff: C4 to G4
        ("E3 G3 A3 F3", "cello", "viola"),  # the upper half of the bass staff: D3 to A3
        ("B4 D5 F5 E5", "violin", "viola"),  # the upper half of the treble staff: B4 to F5
    ],
)
def test_a_section_sings_in_the_upper_half_of_its_staff(text: str, better: str, worse: str, dynamic: str) -> None:
    data = tune(text, dynamic)
    assert price(data, (better, "s1.1", 0), UNDER) < price(data, (worse, "s1.1", 0), UNDER)


@pytest.mark.parametrize("other", ["clarinet_bb", "oboe", "flute", "violin"])
def test_a_soft_tune_above_the_horn_staff_is_for_others(other: str) -> None:
    """Written G5 to Bb5, where horns are safe only when loud."""
    data = tune("C5 D5 Eb5 D5", "pp")
    assert price(data, (other, "s1.1", 0), UNDER) < price(data, ("horn", "s1.1", 0), UNDER)


def test_violas_leave_what_lies_above_their_staff_to_violins() -> None:
    for dynamic in ("p", "f"):
        data = tune("D5 F5 G5 F5", dynamic)
        assert price(data, ("violin", "s1.1", 0), UNDER) < price(data, ("viola", "s1.1", 0), UNDER)


def test_horns_with_cellos_in_unison_are_among_the_first_tenth_in_the_middle() -> None:
    """Of all pairs of kinds that a large orchestra has for the line at its pitch."""
    data = tune("G3 A3 C4 B3", names=(*EVERYBODY, *OTHERS))
    able = sorted({data.players[o.player].name for o in data.by_line[0, 0] if o.octave == 0})
    bass = (UNDER, ("contrabassoon", "s2.1", 0))  # enough under each of them

    def cost(pair: tuple[str, str]) -> int:
        return price(data, *((name, "s1.1", 0) for name in pair), *bass)

    ranking = sorted(combinations(able, 2), key=cost)
    assert ranking.index(("cello", "horn")) < len(ranking) / 10


def test_a_restatement_at_the_peak_has_two_octaves_or_more() -> None:
    found = plan_of([("A", "p"), ("B", "mp"), ("A", "f"), ("C", "p")])
    assert found[2].peak
    assert found[2].octaves >= 2
    violins = ("violin", "violin", *(name for name in EVERYBODY if name != "violin"))
    data = tune("A4 B4 D5 B4", "f", violins, weight=0.9)  # as good for violins as it stands as an octave higher
    data.plan = (found[2],)
    apart = [("violin 1", "s1.1", 1), ("violin 2", "s1.1", 0), UNDER]
    level = [("violin 1", "s1.1", 0), ("violin 2", "s1.1", 0), UNDER]
    assert price(data, *apart) < price(data, *level)


def test_in_a_tutti_low_brass_and_basses_share_the_bass() -> None:
    (loud,) = [phrase for phrase in plan_of([("A", "p"), ("B", "ff"), ("C", "p")]) if phrase.dynamic == "ff"]
    assert {"tuba", "bass_trombone", "double_bass", "cello"} <= set(loud.bass)
    data = tune("C5 E5 G5 E5", "ff", (*EVERYBODY, "bass_trombone", "tuba"), weight=0.9)
    data.plan = (loud,)
    strings = [("violin", "s1.1", 0), ("cello", "s2.1", 0), UNDER]
    assert price(data, *strings, ("tuba", "s2.1", 0), ("bass_trombone", "s2.1", 0)) < price(data, *strings)


def test_in_a_tutti_low_brass_would_rather_have_the_bass_than_a_chord() -> None:
    """The same players, all of whom play: the two low ones on the bass or on inner lines that horns have already."""
    (loud,) = [phrase for phrase in plan_of([("A", "p"), ("B", "ff"), ("C", "p")]) if phrase.dynamic == "ff"]
    inner = strand("s3", "inner", line("s3.1", "E4 D4 E4 D4"), line("s3.2", "G3 G3 G3 G3"))
    there = strand("s1", "melody", line("s1.1", "C5 E5 G5 E5")), strand("s2", "bass", line("s2.1", BASS)), inner
    data = problem(players(*EVERYBODY, "horn", "bass_trombone", "tuba"), *there, dynamic="ff", weight=0.9)
    data.plan = (loud,)
    rest = [("violin", "s1.1", 0), ("cello", "s2.1", 0), UNDER, ("horn 1", "s3.1", 0), ("horn 2", "s3.2", 0)]
    low = [("tuba", "s2.1", 0), ("bass_trombone", "s2.1", 0)]
    high = [("tuba", "s3.2", 0), ("bass_trombone", "s3.2", 0)]
    assert price(data, *rest, *low) < price(data, *rest, low[0], high[1]) < price(data, *rest, *high)


def test_a_loud_landing_gets_its_lower_octave() -> None:
    land = strand("land1", "bass", line("land1.1", "- - C2 -"), layer="bass", families=("double_bass", "tuba"))
    there = strand("s1", "melody", line("s1.1", "C5 D5 E5 C5")), strand("s2", "bass", line("s2.1", BASS)), land
    data = problem(players("violin", "viola", "cello", "tuba"), *there, dynamic="f")
    base = [("violin", "s1.1", 0), ("cello", "s2.1", 0)]
    assert price(data, *base, ("tuba", "land1.1", 0)) < price(data, *base)


def test_a_choir_of_winds_with_full_chords_has_its_own_bass() -> None:
    (loud,) = [phrase for phrase in plan_of([("A", "p"), ("B", "ff"), ("C", "p")], "3.3.3.2+cbsn - 4.3.3.1 - tmp - str")
               if phrase.dynamic == "ff"]  # fmt: skip
    assert loud.scheme == "full chord in each family"
    assert {"bassoon", "contrabassoon"} <= set(loud.bass)
    data = tune("C5 E5 G5 E5", "ff", (*EVERYBODY, "contrabassoon"), weight=0.9)
    data.plan = (loud,)
    strings = [("violin", "s1.1", 0), ("cello", "s2.1", 0), UNDER]
    low = [("bassoon", "s2.1", 0), ("contrabassoon", "s2.1", 0)]
    assert price(data, *strings, *low) < price(data, *strings, low[0]) < price(data, *strings)


def test_a_pedal_point_is_for_who_can_hold() -> None:
    names = ("violin", "cello", "horn", "bassoon", "trombone", "harp", "piano", "marimba")
    there = strand("s1", "melody", line("s1.1", "C5 D5 E5 C5")), strand("s2", "pedal", line("s2.1", "C3", 4.0))
    data = problem(players(*names), *there, dynamic="mf")
    able = {data.players[o.player].name for o in data.by_line[1, 0] if o.octave == 0}
    assert able == {"cello", "horn", "bassoon", "trombone"}
    for better in ("cello", "horn", "bassoon"):
        costs = [price(data, ("violin", "s1.1", 0), (name, "s2.1", 0)) for name in (better, "trombone")]
        assert costs[0] < costs[1], better


def chords(layout: str) -> tuple[ProblemData, list[Wanted]]:
    """A set of four chord lines for woodwinds; letters name who has them from the top down."""
    names = {"f": "flute", "o": "oboe", "c": "clarinet_bb"}
    lines = [line(f"pad1.{k}", " ".join([pitch] * 4)) for k, pitch in enumerate(("C6", "A5", "F5", "C5"), 1)]
    pad: MaterialStrand = strand(
        "pad1", "inner", *lines, layer="harmony", families=("flute", "oboe", "clarinet_bb"), complete=True
    )
    data = problem(players(*("flute",) * 2, *("oboe",) * 2, *("clarinet_bb",) * 2), pad, dynamic="f")
    seen: dict[str, int] = {}
    wanted = []
    for k, letter in enumerate(layout, 1):
        seen[letter] = seen.get(letter, 0) + 1
        wanted.append((f"{names[letter]} {seen[letter]}", f"pad1.{k}", 0))
    return data, wanted


@pytest.mark.parametrize(
    ("layout", "reversed_order"),
    [("ffoo", "ooff"), ("fofo", "ooff"), ("foof", "ooff"), ("ffcc", "ccff"), ("oocc", "ccoo")],
)
def test_the_four_layouts_rank_above_the_reversed_order(layout: str, reversed_order: str) -> None:
    data, good = chords(layout)
    other, bad = chords(reversed_order)
    assert price(data, *good) < price(other, *bad)


@pytest.mark.parametrize("dynamic", ["p", "mf", "f"])
def test_off_beats_of_the_seconds_follow_the_firsts_an_octave_down(dynamic: str) -> None:
    parts = (
        strand("s1", "melody", line("s1.1", "G5 A5 F5 G5")),
        strand("s2", "bass", line("s2.1", BASS)),
        strand("s3", "rhythm", line("s3.1", "- D5 D5 -")),
    )
    data = problem(players("flute", "violin", "violin", "double_bass"), *parts, dynamic=dynamic)
    there = (UNDER, ("flute", "s1.1", 0), ("violin 1", "s1.1", -1))
    below, between = (price(data, *there, ("violin 2", "s3.1", octave)) for octave in (-1, 0))
    assert below < between
