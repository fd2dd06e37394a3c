"""A draft pays for leaving the plan: its leading colour, its bass, who rests, doublers and octaves."""

from __future__ import annotations

from dataclasses import replace

from autoorch.layers.model import PhrasePlan, Turn
from autoorch.problem.data import ProblemData
from autoorch.rules import plan, report
from tests.support.tiny import BAR, line, players, problem, strand, taken

PLAN = PhrasePlan(
    0, BAR, 0.5, "mf", lead="oboes", joined=("clarinets",), ground=("strings",), bass=("cello",), octaves=1, doublers=1
)


def data(**changes: object) -> ProblemData:
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))
    chords = strand("s2", "inner", line("s2.1", "E4 F4 G4 F4"))
    bass = strand("s3", "bass", line("s3.1", "C3 B2 C3 B2"))
    there = players("flute", "oboe", "clarinet_bb", "bassoon", "horn", "violin", "viola", "cello")
    found = problem(there, tune, chords, bass)
    found.plan = (replace(PLAN, **changes),)  # type: ignore[arg-type]
    return found


KEPT = (("oboe", "s1.1", 0), ("viola", "s2.1", 0), ("cello", "s3.1", 0))


def cost(*wanted: tuple[str, str, int], **changes: object) -> int:
    found = data(**changes)
    return report(plan, found, taken(found, *wanted)).cost


def test_a_draft_that_keeps_the_plan_pays_nothing() -> None:
    assert cost(*KEPT) == 0


def test_another_tune_another_ground_and_another_bass_cost() -> None:
    tune, chords, bass = KEPT
    assert cost(("violin", "s1.1", 0), chords, bass) > cost(("clarinet_bb", "s1.1", 0), chords, bass) > 0
    assert cost(tune, ("horn", "s2.1", 0), bass) > 0
    outsider = cost(tune, chords, ("bassoon", "s3.1", 0), ground=("strings", "woodwind"))
    assert cost(tune, chords, ("bassoon", "s3.1", 0)) > outsider > 0


def test_soft_off_beats_are_for_the_strings() -> None:
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))
    after = replace(strand("s2", "rhythm", line("s2.1", "- F4 - F4")), texture="off-beats")
    bass = strand("s3", "bass", line("s3.1", "C3 B2 C3 B2"))
    found = problem(players("oboe", "horn", "violin", "cello"), tune, after, bass)

    def paid(name: str, dynamic: str, *ground: str) -> int:
        found.plan = (replace(PLAN, dynamic=dynamic, ground=ground),)
        return report(plan, found, taken(found, ("oboe", "s1.1", 0), (name, "s2.1", 0), ("cello", "s3.1", 0))).cost

    both = ("strings", "horns")
    assert paid("horn", "p", *both) > paid("violin", "p", *both) == 0
    assert paid("horn", "f", *both) == paid("violin", "f", *both) == 0
    assert paid("horn", "p", "horns") == 0


def test_more_or_fewer_on_the_tune_than_planned_cost() -> None:
    assert cost(*KEPT, ("clarinet_bb", "s1.1", 0)) > 0
    assert cost(*KEPT, ("clarinet_bb", "s1.1", 0), doublers=2) == 0
    assert cost(*KEPT, doublers=2) > cost(*KEPT, doublers=2, joined=()) > 0


def test_octaves_of_the_tune() -> None:
    two = {"octaves": 2, "doublers": 2}
    assert cost(*KEPT, ("clarinet_bb", "s1.1", -1), **two) < cost(*KEPT, ("clarinet_bb", "s1.1", 0), **two)


def test_without_colours_nothing_is_asked() -> None:
    assert cost(("violin", "s1.1", 0), ("horn", "s2.1", 0), ("bassoon", "s3.1", 0), lead="") == 0


def test_in_a_unison_the_bass_is_played_whole() -> None:
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))
    reduced = replace(line("s3.r", "C3 - C3 -"), reduced=True)
    found = problem(
        players("oboe", "bassoon", "cello"), tune, strand("s3", "bass", line("s3.1", "C3 D3 E3 D3"), reduced)
    )

    def paid(scheme: str, bass: str) -> int:
        found.plan = (replace(PLAN, bass=("cello", "bassoon"), scheme=scheme),)
        own = taken(found, ("oboe", "s1.1", 0), ("cello", "s3.1", 0), ("bassoon", bass, 0))
        return report(plan, found, own).cost

    assert paid("unison and octaves", "s3.r") > paid("unison and octaves", "s3.1") == 0
    assert paid("", "s3.r") == 0


def test_somebody_of_each_colour_that_joins_has_the_tune() -> None:
    kept = cost(*KEPT, ("clarinet_bb", "s1.1", 0), doublers=2)
    other = cost(*KEPT, ("flute", "s1.1", 0), doublers=2, joined=("clarinets", "flutes"))
    assert other > kept == 0


def test_somebody_joins_where_the_plan_turns_for_the_tune() -> None:
    turn = Turn(0, "mf", 0.5, ("clarinets",), ("strings",), ("cello",), 1, 2, tune=True)
    assert (
        cost(*KEPT, joined=(), turns=(turn,)) > cost(*KEPT, ("clarinet_bb", "s1.1", 0), joined=(), turns=(turn,)) == 0
    )


def scheme_cost(scheme: str, *wanted: tuple[str, str, int]) -> int:
    """Three woodwind and three strings with tune, two lines of chords, one of them in octaves, and a figure."""
    tune = strand("s1", "melody", line("s1.1", "B5 C6 D6 C6"))
    chords = strand(
        "s2", "inner", line("s2.1", "E5 F5 G5 F5"), line("s2.2", "C5 D5 E5 D5"), line("s2.3", "E4 F4 G4 F4")
    )
    figure = strand("s4", "rhythm", line("s4.1", "- E4 - F4"))
    found = problem(players("flute", "oboe", "clarinet_bb", "violin", "viola", "cello"), tune, chords, figure)
    colours = ("oboes", "clarinets", "violins", "violas", "cellos")
    found.plan = (
        replace(PLAN, lead="flutes", joined=colours, ground=("strings", "woodwind"), scheme=scheme, doublers=0),
    )
    return report(plan, found, taken(found, *wanted)).cost


def test_a_tutti_of_full_chords_has_them_in_each_family() -> None:
    full = "full chord in each family"
    whole = (("flute", "s1.1", 0), ("oboe", "s2.1", 0), ("clarinet_bb", "s2.2", 0))
    below = (("violin", "s1.1", 0), ("viola", "s2.1", -1), ("cello", "s2.2", -1))
    one_line = (("violin", "s1.1", 0), ("viola", "s2.1", -1), ("cello", "s2.1", -1))
    assert scheme_cost(full, *whole, *below) == 0
    assert scheme_cost(full, *whole, *one_line) > 0 == scheme_cost("", *whole, *one_line)
    assert scheme_cost(full, *whole) > scheme_cost(full, *whole, *one_line)
    copies = (("violin", "s1.1", 0), ("viola", "s2.1", -1), ("cello", "s2.3", -1))
    assert scheme_cost(full, *whole, *copies) == scheme_cost(full, *whole, *one_line), "octaves are no chord"


def test_with_one_job_a_family_each_keeps_to_its_own() -> None:
    jobs = "one job per family"
    kept = (("flute", "s1.1", 0), ("oboe", "s1.1", 0), ("viola", "s2.1", -1), ("cello", "s2.2", -1))
    assert scheme_cost(jobs, *kept) == 0
    assert scheme_cost(jobs, *kept, ("clarinet_bb", "s2.1", 0)) > 0
    assert scheme_cost("", *kept, ("clarinet_bb", "s2.1", 0)) == 0
    assert scheme_cost(jobs, *kept, ("violin", "s4.1", 0)) > 0


def test_at_its_peak_the_lead_is_as_high_as_planned() -> None:
    """An octave lower costs, the planned one or a higher one does not; somebody else may lie lower."""
    tune, *others = KEPT
    assert cost(tune, *others, octave=0) == 0
    assert cost(("oboe", "s1.1", 0), *others, octave=1) > 0
    assert cost(("oboe", "s1.1", 1), *others, octave=1) == cost(("oboe", "s1.1", 1), *others, octave=0) == 0
    assert cost(tune, ("clarinet_bb", "s1.1", -1), *others, doublers=2, octave=0) == 0


def test_a_second_player_in_a_solo_is_dearer_than_one_who_is_short_of_the_weight() -> None:
    tune, *others = KEPT
    second = ("clarinet_bb", "s1.1", 0)
    more = cost(tune, second, *others, scheme="solo") - cost(tune, *others, scheme="solo")
    found = data()
    short = 2 * found.tables.rule("texture")["weights"]["thin"] * found.spans[0].length
    assert more > short > cost(tune, second, *others) - cost(tune, *others) > 0


def test_the_harp_has_nothing_else_where_it_has_the_bass() -> None:
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))
    chords = strand("s2", "figure", line("s2.1", "E4 F4 G4 F4"))
    bass = strand("s3", "bass", line("s3.1", "C3 B2 C3 B2"))
    found = problem(players("oboe", "viola", "cello", "harp"), tune, chords, bass)

    def paid(who: str, *planned: str) -> int:
        found.plan = (replace(PLAN, bass=planned),)
        base = ("oboe", "s1.1", 0), ("cello", "s3.1", 0)
        return report(plan, found, taken(found, *base, (who, "s2.1", 0))).cost

    assert paid("harp", "cello", "harp") > paid("viola", "cello", "harp")
    assert paid("harp", "cello") == paid("viola", "cello") == 0
