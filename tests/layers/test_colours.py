"""The small model of the whole cue: winds are relieved, and the runner-up is the cheapest with another colour at the peak."""

from __future__ import annotations

from itertools import groupby

from autoorch.layers.colours import Need, Palette, choose, group_of
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


def test_no_phrases_no_choice() -> None:
    assert choose([], PALETTE) == ()
