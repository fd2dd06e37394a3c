"""Entries of one subject: told apart by colour, as strong as each other, and not held down under the tune."""

from __future__ import annotations

from dataclasses import replace

from autoorch.layers.model import Entrance
from autoorch.problem.data import ProblemData
from autoorch.roles.model import Leader
from autoorch.rules import balance, continuity, imitation, report
from tests.support.tiny import BAR, line, players, problem, strand, taken

TUNE = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5 - - - -"))
ANSWER = strand("s2", "inner", line("s2.1", "- - - - G4 A4 B4 A4"))
ENTRIES = (Entrance(1, "s1", "s1.1", 0, BAR), Entrance(1, "s2", "s2.1", BAR, 2 * BAR))


def fugal(*names: str, entries: tuple[Entrance, ...] = ENTRIES) -> ProblemData:
    data = problem(players(*names), TUNE, ANSWER, bars=2)
    data.material = replace(data.material, entrances=entries)
    return data


def cost(data: ProblemData, first: str, second: str) -> int:
    return report(imitation, data, taken(data, (first, "s1.1", 0), (second, "s2.1", 0))).cost


def test_two_entries_in_one_colour_pay() -> None:
    data = fugal("oboe", "oboe", "clarinet_bb")
    assert cost(data, "oboe 1", "clarinet_bb") == 0 < cost(data, "oboe 1", "oboe 2")
    assert cost(fugal("oboe", "oboe", entries=()), "oboe 1", "oboe 2") == 0


def test_an_entry_much_stronger_than_the_other_pays() -> None:
    data = fugal("oboe", "clarinet_bb", "trumpet_bb")
    assert cost(data, "oboe", "clarinet_bb") == 0 < cost(data, "oboe", "trumpet_bb")
    assert cost(data, "clarinet_bb", "trumpet_bb") > 0


def test_an_entry_is_not_held_down_under_the_tune() -> None:
    """The tune goes on beside the entry: without it, a trumpet there would mask a flute's tune."""
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))
    under = strand("s2", "inner", line("s2.1", "G4 A4 B4 A4"))
    data = problem(players("flute", "trumpet_bb"), tune, under, dynamic="f")
    chosen = taken(data, ("flute", "s1.1", 0), ("trumpet_bb", "s2.1", 0))
    assert report(balance, data, chosen).cost > 0
    data.material = replace(data.material, entrances=(Entrance(1, "s2", "s2.1", 0, BAR),))
    assert report(balance, data, chosen).cost == 0


def test_who_leads_where_there_is_no_tune_is_to_be_heard() -> None:
    lead = strand("s1", "counterline", line("s1.1", "C5 D5 E5 D5"))
    under = strand("s2", "inner", line("s2.1", "G4 A4 B4 A4"))
    data = problem(players("flute", "trumpet_bb", "trumpet_bb"), lead, under, dynamic="f")
    chosen = taken(data, ("flute", "s1.1", 0), ("trumpet_bb 1", "s2.1", 0))
    loud = taken(data, ("trumpet_bb 2", "s1.1", 0), ("trumpet_bb 1", "s2.1", 0))
    assert report(balance, data, chosen).cost == 0
    data.material = replace(data.material, leaders=(Leader(0, BAR, "s1"),))
    assert report(balance, data, chosen).cost > 0 == report(balance, data, loud).cost


def test_an_answer_in_the_same_strand_begins_a_span_of_its_own_and_may_change_colour_freely() -> None:
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5 G5 A5 B5 A5"))
    entries = (Entrance(1, "s1", "s1.1", 0, BAR), Entrance(1, "s1", "s1.1", BAR, 2 * BAR))
    data = problem(players("oboe", "clarinet_bb"), tune, bars=2, entrances=entries)
    assert [span.start for span in data.spans] == [0, BAR]

    def by(first: str, second: str) -> frozenset[int]:
        who = (first, second)
        return frozenset(
            o.index for o in data.options if not o.octave and data.players[o.player].name == who[o.span]
        )  # fmt: skip

    kept, handed = by("oboe", "oboe"), by("oboe", "clarinet_bb")
    assert report(imitation, data, handed).cost == 0 < report(imitation, data, kept).cost
    assert report(continuity, data, handed).cost == 0
