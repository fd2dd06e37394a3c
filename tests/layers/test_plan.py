"""One peak, louder phrases fuller, a restatement fuller on the way to the peak and smaller after it; colours follow form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from autoorch.brief import Brief, parse_brief
from autoorch.errors import BriefError
from autoorch.layers.chart import chart, contrast
from autoorch.layers.colours import GROUPS, group_of
from autoorch.layers.model import FULL, PhrasePlan
from autoorch.layers.plan import make_plan
from autoorch.layers.weights import find_peak
from autoorch.lineup import parse_lineup
from autoorch.pitch import from_midi
from autoorch.roles import read_roles
from autoorch.roles.model import Line, Phrase, Reading, Strand
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.tables import load_tables
from tests.roles.support import piece

BARS = 4
"""Bars a phrase."""
TABLES = load_tables()


def cue(marks: Sequence[tuple[str, str]], tune: int = 74) -> tuple[Sketch, Reading]:
    """Phrases of four bars of 4/4 with (label, dynamic) each; the tune is one semibreve a bar on one pitch."""
    bars = tuple(Bar(k, str(k + 1), 16 * k, 16, (4, 4), 0) for k in range(BARS * len(marks)))
    notes = tuple(SketchNote(f"n{k}", 16 * k, 16, from_midi(tune), 0, 1) for k in range(len(bars)))
    length = 16 * BARS
    phrases = tuple(Phrase(k * length, (k + 1) * length, label, dynamic) for k, (label, dynamic) in enumerate(marks))
    strand = Strand("s1", "melody", (Line("s1.1", tuple(note.id for note in notes)),), "tune")
    return Sketch(4, (Staff(0, ""),), bars, notes), Reading((strand,), phrases, ())


def plan(marks: Sequence[tuple[str, str]], lineup: str = "romantic", brief: str = "") -> tuple[PhrasePlan, ...]:
    sketch, reading = cue(marks)
    return make_plan(sketch, reading, parse_lineup(lineup, TABLES), parse_brief(brief) if brief else Brief(), TABLES)


LONG = [(label, dynamic) for label, dynamic in zip("ABACDABE", "p p mf mp f ff p pp".split(), strict=True)]


def test_shape() -> None:
    found = plan([("A", "p"), ("A'", "p"), ("B", "f"), ("A''", "p")])
    first, again, middle, last = (phrase.weight for phrase in found)
    assert [phrase.peak for phrase in found] == [False, False, True, False]
    assert last < again < middle
    assert first < middle


def test_the_brief_shapes_it() -> None:
    found = plan([("", "mf")] * 4, brief='[[shape]]\nbars = "5-12"\nweight = 0.9\npeak = true\n')
    assert [p.weight == 0.9 for p in found] == [False, True, True, False]
    assert [p.peak for p in found] == [False, True, False, False]


def test_the_peak_is_the_fullest_of_all() -> None:
    found = plan(LONG)
    assert sum(phrase.peak for phrase in found) == 1
    assert max(found, key=lambda p: p.weight).peak


def test_among_equals_the_peak_is_late_though_the_highest_note_is_early() -> None:
    """A polonaise (op. 1, 1): its highest note is in bar 6 of 40, and half of its phrases are as loud."""
    read = piece("schumann_clara/polonaise_op1n1")
    reading = read_roles(read)
    top = next(moment.onset for moment in reading.moments if moment.kind == "climax")
    peak = reading.phrases[find_peak(read, reading, TABLES.rule("plan")["peak"])]
    assert top < read.end / 4 < read.end / 2 < peak.start
    assert peak.dynamic == "f"


def test_one_dynamic_still_has_a_thinnest_and_a_fullest_phrase() -> None:
    for dynamic in ("p", "mf", "f"):
        weights = [phrase.weight for phrase in plan([(label, dynamic) for label in "ABCACD"])]
        tenth, quarter, *_ = TABLES.rule("texture")["active_share"][dynamic]
        assert min(weights) == tenth and sorted(weights)[1] >= quarter
        assert max(weights) - min(weights) > 0.4


def test_what_is_said_again_right_away_is_an_echo() -> None:
    found = plan([("A", "f"), ("B", "f"), ("B", "f"), ("C", "ff"), ("D", "f")])
    assert min(range(5), key=lambda k: found[k].weight) == 2
    varied = plan([("A", "f"), ("B", "f"), ("B'", "f"), ("C", "ff"), ("D", "f")])
    assert min(range(5), key=lambda k: varied[k].weight) == 0


def test_a_restatement_has_another_family_or_another_ground() -> None:
    found = plan(LONG)
    back = [(phrase, found[phrase.restates]) for phrase in found if phrase.restates is not None]
    assert len(back) == 3
    assert all(
        (a.lead == "violins", a.ground, a.octaves) != (b.lead == "violins", b.ground, b.octaves) for a, b in back
    )


def test_colours_vary_and_some_are_saved() -> None:
    found = plan(LONG)
    assert len({phrase.lead for phrase in found}) >= 3
    peak = next(k for k, phrase in enumerate(found) if phrase.peak)
    assert all("brass" in phrase.resting for phrase in found[: peak - 1])
    assert "brass" not in found[peak].resting


def test_some_tunes_are_undoubled_and_the_loudest_are_not() -> None:
    found = plan(LONG)
    assert any(phrase.doublers == 1 for phrase in found)
    assert all(phrase.doublers > 1 for phrase in found if phrase.dynamic == "ff")
    assert {"strings alone", "winds alone"} <= {phrase.scheme for phrase in found}


def test_winds_who_have_joined_the_tune_for_long_are_relieved() -> None:
    brief = '[[direction]]\nrole = "melody"\nbars = "1-40"\nonly = ["Violins I", "Violins II"]\n'
    found = plan([(label, "f") for label in "ABCDEFGHIJ"], brief=brief)
    assert {phrase.lead for phrase in found} == {"violins"}
    runs = [run for run in zip(found, found[1:], found[2:], strict=False) if not any(phrase.peak for phrase in run)]
    assert runs and any("flutes" in phrase.joined for run in runs for phrase in run)
    assert not any("flutes" in set.intersection(*(set(phrase.joined) for phrase in run)) for run in runs)


def test_who_rests_has_nothing_else_to_do() -> None:
    for phrase in plan(LONG):
        assert not set(phrase.resting) & set(phrase.ground)
        assert {*phrase.resting, *phrase.ground} <= set(GROUPS)


def test_directions_lead_the_plan() -> None:
    sketch, reading = cue(LONG)
    brief = parse_brief('[[direction]]\nrole = "melody"\nbars = "5-8"\nmust = ["Trumpet 1"]\n')
    found = make_plan(sketch, reading, parse_lineup("classical", TABLES), brief, TABLES)
    assert found[1].lead == "trumpets"
    led = make_plan(sketch, reading, parse_lineup("classical", TABLES), replace(Brief(), leading="strings"), TABLES)
    assert {phrase.lead for phrase in led} <= {"violins", "violas", "cellos"}


def test_bars_mean_phrases_with_their_upbeats() -> None:
    """Each phrase but the first begins a crotchet before its bar: what is said of bars 5-8 is about the second alone."""
    sketch, reading = cue(LONG)
    early = [replace(p, start=max(0, p.start - 4), end=p.end - 4) for p in reading.phrases[:-1]]
    last = replace(reading.phrases[-1], start=reading.phrases[-1].start - 4)
    reading = replace(reading, phrases=(*early, last))
    brief = parse_brief(
        '[[direction]]\nrole = "melody"\nbars = "5-8"\nmust = ["Trumpet 1"]\n\n[[shape]]\nbars = "5-8"\nweight = 0.77\n'
    )
    found = make_plan(sketch, reading, parse_lineup("classical", TABLES), brief, TABLES)
    assert [k for k, phrase in enumerate(found) if phrase.lead == "trumpets" and phrase.dynamic == "p"] == [1]
    assert [k for k, phrase in enumerate(found) if phrase.weight == 0.77] == [1]


def test_the_runner_up_has_another_colour_at_the_peak() -> None:
    sketch, reading = cue(LONG)
    found = make_plan(sketch, reading, parse_lineup("romantic", TABLES), Brief(), TABLES)
    (peak,) = [phrase for phrase in found if phrase.runner_up is not None]
    other = peak.runner_up
    assert peak.peak and other is not None
    assert other.lead != peak.lead and other.dearer >= 0 and other.ground
    assert f"or the {other.lead}, {other.dearer:g} dearer ({other.reason})" in chart(sketch, found)


def test_the_runner_up_says_what_makes_it_dearer() -> None:
    brief = '[[direction]]\nrole = "melody"\nbars = "21-24"\nonly = ["Trumpet 1", "Trumpet 2"]\n'
    (peak,) = [phrase for phrase in plan(LONG, brief=brief) if phrase.peak]
    assert peak.lead == "trumpets" and peak.runner_up is not None
    assert peak.runner_up.reason == "somebody asked otherwise"
    assert peak.runner_up.dearer == pytest.approx(4 * TABLES.rule("plan")["choice"]["unwanted"] / 10, abs=12)


def test_of_few_players_the_plan_says_who_leads_and_no_more() -> None:
    found = plan(LONG, "wind quintet")
    assert all(not p.detailed and not p.joined and not p.bass and not p.scheme for p in found)
    assert {p.ground for p in found} == {("woodwind", "horns")}
    assert len({p.lead for p in found}) > 2
    back = [(p.lead, found[p.restates].lead) for p in found if p.restates is not None]
    assert back and not [one for one, before in back if one == before]


def test_in_a_quartet_the_violins_open_and_have_the_peak() -> None:
    found = plan(LONG, "string quartet")
    assert {found[0].lead} == {p.lead for p in found if p.peak} == {"violins"}
    assert {p.lead for p in found} > {"violins"}


def test_one_colour_is_no_choice() -> None:
    assert {p.lead for p in plan(LONG, "2 vn")} == {""}


def test_one_family_is_alone_only_where_there_are_others() -> None:
    assert not {"strings alone"} & {p.scheme for p in plan(LONG, "string orchestra")}
    assert not {"winds alone"} & {p.scheme for p in plan(LONG, "concert band")}
    assert {"strings alone", "winds alone"} & {p.scheme for p in plan(LONG)}


def test_violins_are_the_first_to_join_what_is_loud() -> None:
    brief = '[[direction]]\nrole = "melody"\nbars = "17-24"\nonly = ["Trumpet 1", "Trumpet 2"]\n'
    loud = [p for p in plan(LONG, brief=brief)[4:6] if p.joined]
    assert loud and {(p.lead, p.joined[0]) for p in loud} == {("trumpets", "violins")}


def test_the_same_every_time() -> None:
    assert plan(LONG) == plan(LONG)


def test_chart() -> None:
    sketch, reading = cue(LONG)
    found = make_plan(sketch, reading, parse_lineup("romantic", TABLES), Brief(), TABLES)
    lines = chart(sketch, found).splitlines()
    assert len(lines) == 1 + len(LONG)
    assert "1-4" in lines[1]
    assert [line for line in lines if "the peak" in line] == [lines[6]]


def test_chart_names_a_phrase_without_its_upbeat_and_says_that_there_is_one() -> None:
    sketch, reading = cue([("a", "p"), ("b", "f")])
    first, second = reading.phrases
    reading = reading.with_(phrases=(replace(first, end=first.end - 4), replace(second, start=second.start - 4)))
    lines = chart(sketch, make_plan(sketch, reading, parse_lineup("romantic", TABLES), Brief(), TABLES)).splitlines()
    assert [line[2:].split()[0] for line in lines[1:]] == ["1-4", "5^-8"]


def test_chart_says_what_is_saved() -> None:
    sketch, reading = cue(LONG)
    found = make_plan(sketch, reading, parse_lineup("romantic", TABLES), Brief(), TABLES)
    first = next(k for k, phrase in enumerate(found) if "brass" not in phrase.resting)
    lines = chart(sketch, found).splitlines()[1:]
    assert [k for k, line in enumerate(lines) if "brass saved until here" in line] == [first]
    assert first > 0


def octaves(marks: Sequence[tuple[str, str]], unison: int) -> tuple[Sketch, Reading]:
    """The same with a bass an octave below the tune for so many bars, then on another pitch."""
    sketch, reading = cue(marks)
    low = tuple(
        SketchNote(f"b{k}", bar.onset, bar.length, from_midi(62 if k < unison else 55), 1, 1)
        for k, bar in enumerate(sketch.bars)
    )
    bass = Strand("s2", "bass", (Line("s2.1", tuple(note.id for note in low)),), "line")
    staves = (*sketch.staves, Staff(1, ""))
    return replace(sketch, notes=sketch.notes + low, staves=staves), replace(reading, strands=(*reading.strands, bass))


def test_a_loud_unison_is_a_tutti_in_octaves() -> None:
    marks = [("A", "f"), ("B", "f"), ("C", "ff")]
    for unison, turns in ((BARS, 0), (2, 1)):
        sketch, reading = octaves(marks, unison)
        first, second, _ = make_plan(sketch, reading, parse_lineup("romantic", TABLES), Brief(), TABLES)
        assert first.scheme == "unison and octaves" != second.scheme
        assert not first.ground and not first.resting and first.octaves == 3 and first.doublers > second.doublers
        assert first.weight == TABLES.rule("plan")["unison"]["weight"] > second.weight
        assert len(first.turns) == turns and all(turn.ground and turn.scheme != first.scheme for turn in first.turns)
        assert f"{first.lead} and all, 3 octaves" in chart(sketch, [first])


def test_a_weight_of_the_brief_holds_for_the_whole_phrase() -> None:
    brief = parse_brief('[[shape]]\nbars = "1-4"\nweight = 0.4\n')
    for unison, scheme in ((BARS, True), (2, False)):
        sketch, reading = octaves([("A", "f"), ("B", "f"), ("C", "ff")], unison)
        first = make_plan(sketch, reading, parse_lineup("romantic", TABLES), brief, TABLES)[0]
        assert (first.weight, [turn for turn in first.turns if not turn.tune]) == (0.4, [])
        assert (first.scheme == "unison and octaves") == scheme


def test_no_unison_where_it_is_soft_or_short() -> None:
    for dynamic, unison in (("mf", BARS), ("f", 0)):
        sketch, reading = octaves([("A", dynamic), ("B", dynamic), ("C", "ff")], unison)
        found = make_plan(sketch, reading, parse_lineup("romantic", TABLES), Brief(), TABLES)
        assert "unison and octaves" not in {phrase.scheme for phrase in found}


def test_strings_are_the_first_to_join_loud_woodwind() -> None:
    sketch, reading = cue([("A", "p"), ("B", "f"), ("C", "ff")])
    brief = parse_brief('[[direction]]\nrole = "melody"\nbars = "1-8"\nonly = ["Oboe 1", "Oboe 2"]\n')
    soft, loud, _ = make_plan(sketch, reading, parse_lineup("classical", TABLES), brief, TABLES)
    assert (soft.lead, loud.lead) == ("oboes", "oboes")
    assert loud.joined and loud.joined[0] == "violins" != (*soft.joined, "")[0]


def test_under_dialogue_less_sounds_in_every_phrase() -> None:
    plain, under = plan(LONG), plan(LONG, brief='under = "dialogue"\n')
    assert all(one.weight > other.weight for one, other in zip(plain, under, strict=True))


def test_a_scheme_says_who_there_is() -> None:
    """A family alone is one of whose groups are the lead and all that lies under it."""
    colours = {row["id"]: row["instruments"] for row in TABLES.rule("plan")["colour"]}
    told: dict[str, int] = {}
    for lineup in ("romantic", "classical"):
        for marks in (LONG, [(label, "p") for label in "ABCADB"], [("A", "pp"), ("B", "mf"), ("A", "p"), ("C", "f")]):
            for phrase in plan(marks, lineup):
                lead = group_of(TABLES.instruments[colours[phrase.lead][0]])
                groups = {lead, *phrase.ground}
                if "solo" != phrase.scheme != "unison and octaves":
                    assert (phrase.scheme == "strings alone") is (groups == {"strings"})
                    assert (phrase.scheme == "winds alone") is ("strings" not in groups)
                told[phrase.scheme] = told.get(phrase.scheme, 0) + 1
    assert told.keys() >= {"strings alone", "winds alone", "solo", "full chord in each family"}


def test_a_loud_peak_is_a_tutti_and_other_loud_phrases_are_none() -> None:
    found = plan([("A", "f"), ("B", "mf"), ("C", "f"), ("D", "f"), ("E", "p")])
    schemes = {phrase.scheme for phrase in found if phrase.dynamic == "f" and not phrase.peak}
    (peak,) = (phrase for phrase in found if phrase.peak)
    assert peak.dynamic == "f" and peak.scheme == "full chord in each family" and not peak.resting
    assert schemes and "full chord in each family" not in schemes


def test_in_a_full_chord_of_each_family_the_tune_lies_on_top_of_each() -> None:
    """A quarter of the players have it, of strings and of woodwind, while the same forte elsewhere has its usual few."""
    found = plan([("A", "f"), ("B", "mf"), ("C", "f"), ("D", "f"), ("E", "p")])
    (peak,) = (phrase for phrase in found if phrase.peak)
    counted = sum(group_of(p.instrument) in GROUPS for p in parse_lineup("romantic", TABLES).players)
    usual = max(phrase.doublers for phrase in found if phrase.dynamic == "f" and not phrase.peak)
    assert peak.doublers == round(TABLES.rule("plan")["tutti"]["on_tune"] * peak.weight * counted) > usual
    colours = {row["id"]: row["instruments"] for row in TABLES.rule("plan")["colour"]}
    singing = {group_of(TABLES.instruments[colours[name][0]]) for name in (peak.lead, *peak.joined)}
    assert {"strings", "woodwind"} <= singing


def test_after_the_peak_less_sounds_than_at_the_same_dynamic_before_it() -> None:
    found = plan([("A", "mf"), ("B", "mf"), ("C", "ff"), ("D", "mf"), ("E", "mf"), ("F", "p")])
    assert found[2].peak
    assert found[3].weight < min(found[1].weight, found[4].weight)


def test_an_ending_that_is_no_louder_is_no_fuller() -> None:
    """Fresh material after a return that is thin: as thin as that, and not where it is louder."""
    marks = [("A", "pp"), ("B", "f"), ("C", "mp"), ("A", "pp")]
    soft, loud = plan([*marks, ("E", "pp")]), plan([*marks, ("E", "p")])
    assert soft[1].peak and soft[4].weight == soft[3].weight
    assert loud[4].weight > loud[3].weight


def test_loud_music_that_comes_back_has_one_job_a_family() -> None:
    colours = {row["id"]: TABLES.instruments[row["instruments"][0]] for row in TABLES.rule("plan")["colour"]}
    found = plan([("A", "f"), ("B", "mf"), ("A", "f"), ("C", "ff"), ("D", "f"), ("A", "f")])
    jobs = [phrase for phrase in found if phrase.scheme == "one job per family"]
    assert jobs and all(phrase.restates is not None for phrase in jobs)
    for phrase in jobs:
        assert {group_of(colours[name]) for name in phrase.joined} <= {group_of(colours[phrase.lead])}


def test_without_the_plan_phrases_are_as_full_as_the_repertoire_and_all_else_is_open() -> None:
    share = TABLES.rule("texture")["active_share"]
    found = plan(LONG, brief='without = ["plan"]\n')
    assert [phrase.weight for phrase in found] == [share[phrase.dynamic][2] for phrase in found]
    assert not any(phrase.peak or phrase.lead or phrase.ground or phrase.scheme for phrase in found)
    with pytest.raises(BriefError, match="the plan is left out"):
        plan(LONG, brief='without = ["plan"]\n[[shape]]\nbars = "1-4"\nweight = 0.5\n')


def test_the_chart_says_how_what_comes_back_contrasts() -> None:
    before = PhrasePlan(0, 64, 0.3, "p", lead="violins", ground=("strings",), octaves=1, doublers=1)
    after = replace(
        before, lead="flutes", joined=("oboes",), ground=("strings", "horns"), octaves=2, doublers=3, weight=0.6
    )
    assert (
        contrast(after, before)
        == "again, with flutes for violins, oboes new to it, over strings, horns, in 2 octaves, fuller"
    )
    assert contrast(before, after) == "again, with violins for flutes, over strings, in one octave, thinner"
    assert contrast(before, before) == contrast(after, replace(before, lead="")) == ""
    sketch, reading = cue([("A", "p"), ("B", "f"), ("A", "p")])
    told = chart(sketch, make_plan(sketch, reading, parse_lineup("romantic", TABLES), Brief(), TABLES)).splitlines()
    assert ["again, " in line for line in told[1:]] == [False, False, True]


def test_of_loud_phrases_on_end_one_is_thin() -> None:
    """The fourth where it comes back, the fifth where all are new; neither the peak nor the phrase before it, and no soft one."""
    quarter = TABLES.rule("texture")["active_share"]["f"][1]

    def thin(*labels: str) -> list[int]:
        found = plan([("X", "p"), *((label, "f") for label in labels), ("Y", "f"), ("Z", "ff")])
        return [k for k, phrase in enumerate(found) if phrase.dynamic == "f" and phrase.weight == quarter]

    assert thin("A", "B", "C", "A", "D", "E") == [4]
    assert thin("A", "B", "C", "D", "E", "F") == [5]
    assert thin("A", "B", "C") == []


@pytest.mark.parametrize(
    ("labels", "lineup"), [("AABBAACC", "classical"), ("ABCABCABC", "classical"), ("ABABABAB", "romantic")]
)
def test_no_wind_joins_a_tune_that_it_has_had_for_long_or_leads_next(labels: str, lineup: str) -> None:
    """A high tune, loud for long: each colour is relieved after fifteen bars at the latest, but in the tutti at the end."""
    sketch, reading = cue([*((label, "f") for label in labels), ("Z", "ff")], tune=80)
    found = make_plan(sketch, reading, parse_lineup(lineup, TABLES), Brief(), TABLES)
    winds = [
        row["id"] for row in TABLES.rule("plan")["colour"] if TABLES.instruments[row["instruments"][0]].kind == "wind"
    ]
    longest = dict.fromkeys(winds, 0)
    bars = dict.fromkeys(winds, 0)
    for phrase in found:
        singing = {phrase.lead, *phrase.joined}.union(*(turn.joined for turn in phrase.turns))
        bars = {name: bars[name] + BARS if name in singing and phrase.scheme != FULL else 0 for name in winds}
        longest = {name: max(longest[name], bars[name]) for name in winds}
    assert BARS < max(longest.values()) <= TABLES.rule("plan")["tune"]["relief"]
