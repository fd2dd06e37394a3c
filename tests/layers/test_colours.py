"""The small model of the whole cue: winds are relieved, and the runner-up is the cheapest with another colour at the peak."""

from __future__ import annotations

from itertools import groupby, pairwise

import pytest

from autoorch.layers.choice import Need
from autoorch.layers.colours import Palette, bass_fit, choose, fit, group_of
from autoorch.lineup import parse_lineup
from autoorch.tables import load_tables

TABLES = load_tables()
PALETTE = Palette.of(parse_lineup("classical", TABLES), TABLES)
OTHERS = ("violins", "violas", "cellos", "horns", "trumpets", "bassoons", "oboes", "clarinets")


def test_winds_do_not_lead_for_long_though_a_section_keeps_its_colour() -> None:
    """A section of twenty bars that would suit the flutes best, and sections of eight after it."""
    flutes = {("colour", name): 5 for name in OTHERS}
    needs = [Need(4, "p", ((76, 16),), 0, 4, lean=flutes) for _ in range(5)]
    needs += [Need(4, "p", ((76, 16),), 1 + k // 2, 6) for k in range(20)]
    best, *_ = choose(needs, PALETTE)
    winds = {row["id"] for row in PALETTE.colours if group_of(PALETTE.instrument(row)) != "strings"}
    leads = [pick.lead for pick in best.picks]
    assert winds & {*leads}
    runs = [(lead, 4 * len(list(run))) for lead, run in groupby(leads)]
    assert not [run for run in runs if run[0] in winds and run[1] > TABLES.rule("plan")["choice"]["long_bars"]]


def test_the_runner_up_is_dearer_and_leads_otherwise_at_the_peak() -> None:
    asked = {("colour", "trumpets"): -60}
    needs = [Need(4, "f", ((76, 16),), k // 2, 12, peak=k == 2, lean=asked if k == 2 else {}) for k in range(4)]
    best, other = choose(needs, PALETTE)
    assert best.cost < other.cost
    assert best.picks[2].lead == "trumpets" != other.picks[2].lead
    assert other.reason_against(best) == "somebody asked otherwise"


def lead(need: Need, palette: Palette = PALETTE) -> str:
    best, *_ = choose([need], palette)
    return best.picks[0].lead


def test_a_quick_tune_is_for_who_is_nimble() -> None:
    horns = {("colour", name): 12 for name in OTHERS if name != "horns"} | {("colour", "flutes"): 12}
    assert lead(Need(4, "mf", ((70, 16),), 0, 8, lean=horns)) == "horns"
    quick = lead(Need(4, "mf", ((70, 16),), 0, 8, speed=8.0, lean=horns))
    assert quick not in ("horns", "trumpets")


def test_violas_have_no_tune_high_above_their_staff_nor_a_loud_one() -> None:
    violas = {("colour", name): 8 for name in OTHERS if name != "violas"} | {("colour", "flutes"): 8}
    assert lead(Need(4, "p", ((66, 16),), 0, 6, lean=violas)) == "violas"
    assert lead(Need(4, "f", ((66, 16),), 0, 12, lean=violas)) != "violas"
    assert fit(TABLES.instruments["viola"], ((79, 16),), "p", PALETTE) > fit(
        TABLES.instruments["violin"], ((79, 16),), "p", PALETTE
    )


def test_a_tune_fits_where_the_register_is_strong_and_suits_the_dynamic_and_the_section_its_staff() -> None:
    def cost(name: str, midi: int, dynamic: str) -> int:
        return fit(TABLES.instruments[name], ((midi, 16),), dynamic, PALETTE)

    assert cost("clarinet_bb", 67, "p") > cost("clarinet_bb", 71, "p") == 0, "throat notes are weak"
    assert cost("clarinet_bb", 67, "f") > cost("clarinet_bb", 67, "p"), "and weaker than forte asks for"
    assert cost("violin", 67, "p") > cost("violin", 71, "p") == 0, "below the upper half of the staff"


def test_of_few_players_who_alone_comes_so_low_does_not_lead() -> None:
    few = Palette.of(parse_lineup("string quartet", TABLES), TABLES)
    cellos = {("colour", "violins"): 40, ("colour", "violas"): 40}
    assert few.few and lead(Need(4, "mf", ((57, 16),), 0, 4, low=50, lean=cellos), few) == "cellos"
    assert lead(Need(4, "mf", ((57, 16),), 0, 4, low=40, lean=cellos), few) != "cellos"


def test_no_phrases_no_choice() -> None:
    assert choose([], PALETTE) == ()


def test_what_nobody_plays_so_fast_is_for_who_comes_nearest() -> None:
    """Horns that are asked for have a tune that is quick for them, and none at twice the speed of a horn."""
    horns = {("colour", name): 50 for name in OTHERS if name != "horns"} | {("colour", "flutes"): 50}
    most = TABLES.instruments["horn"].fluency.moving_per_s[1]
    assert lead(Need(4, "f", ((70, 16),), 0, 8, speed=most, lean=horns)) == "horns"
    assert lead(Need(4, "f", ((70, 16),), 0, 8, speed=2 * most, lean=horns)) != "horns"


def test_one_note_in_a_register_that_is_never_soft_is_dear_in_a_soft_tune() -> None:
    def cost(top: int, dynamic: str) -> int:
        return fit(TABLES.instruments["clarinet_bb"], ((54, 120), (74, 120), (top, 1)), dynamic, PALETTE)

    assert cost(93, "p") > cost(79, "p")
    assert cost(93, "f") == cost(79, "f")


FULL = Palette.of(parse_lineup("romantic", TABLES), TABLES)
TONIC_DOMINANT = ((48, 16), (43, 16))
TURNING = ((48, 16), (45, 16), (43, 16), (50, 16))


def bass(ground: str, dynamic: str, notes: tuple[tuple[int, int], ...], attack: str, character: str = "") -> str:
    """Who gets the bass of a phrase that violins lead over a ground."""
    lean = {("colour", "violins"): -90, ("ground", ground): -90}
    need = Need(4, dynamic, ((76, 16),), 0, 6, character=character, bass=notes, attack=attack, lean=lean)
    best, *_ = choose([need], FULL)
    assert best.picks[0].ground == ground
    return best.picks[0].bass


@pytest.mark.parametrize(
    ("ground", "dynamic", "notes", "attack", "character", "who"),
    [
        ("strings", "p", TURNING, "detached", "lyrical", "harp"),
        ("strings", "p", TURNING, "", "lyrical", "cellos"),
        ("strings", "f", TURNING, "detached", "lyrical", "cellos and basses"),
        ("strings", "mf", TONIC_DOMINANT, "detached", "march", "basses and timpani"),
        ("strings", "mf", TURNING, "detached", "march", "cellos and basses"),
        ("winds", "p", TURNING, "held", "lyrical", "horn"),
        ("winds", "p", TURNING, "detached", "lyrical", "harp"),
        ("winds", "p", TURNING, "detached", "march", "bassoon"),
        ("winds", "p", ((36, 16), (38, 16)), "held", "lyrical", "bassoon"),  # below the horn's safe notes
        ("winds", "pp", TURNING, "held", "dark", "bass clarinet"),
        ("winds", "mf", TURNING, "", "", "bassoon and contrabassoon"),
        ("strings and horns", "mp", ((48, 64),), "pedal", "", "horn and basses"),
        ("brass", "mf", TURNING, "", "", "bass trombone"),
        ("brass", "f", TURNING, "", "", "low brass"),
        ("everybody", "ff", TURNING, "", "", "contrabassoon and all the low ones"),
    ],
)
def test_who_has_the_bass_by_dynamic_weight_and_attack(
    ground: str, dynamic: str, notes: tuple[tuple[int, int], ...], attack: str, character: str, who: str
) -> None:
    assert bass(ground, dynamic, notes, attack, character) == who


def test_a_bass_is_for_those_who_have_its_notes_where_it_stands() -> None:
    rows = {row["id"]: row for row in FULL.basses}
    low = Need(4, "p", (), 0, 6, bass=((31, 16),))
    assert bass_fit(rows["cellos"], low, FULL) > bass_fit(rows["cellos and basses"], low, FULL) == 0


def test_timpani_have_no_bass_where_nothing_may_be_added() -> None:
    without = Palette.of(parse_lineup("romantic", TABLES), TABLES, drums=False)
    gone = {row["id"] for row in FULL.basses} - {row["id"] for row in without.basses}
    assert gone == {"basses and timpani"}


def test_what_comes_back_has_another_bass() -> None:
    """The same phrase in other sections: who has the bass changes where it is as good."""
    needs = [
        Need(
            4, "p", ((76, 16),), k, 6, character="dance", restates=k - 1 if k else None, bass=TURNING, attack="detached"
        )
        for k in range(4)
    ]
    best, *_ = choose(needs, FULL)
    assert all(a.bass != b.bass for a, b in pairwise(best.picks))
