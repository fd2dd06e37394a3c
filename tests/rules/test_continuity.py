"""Colour holds inside a phrase and may change between phrases."""

from __future__ import annotations

from dataclasses import replace

from autoorch.layers.model import SHARED, MaterialNote, Turn
from autoorch.pitch import parse
from autoorch.rules import RuleReport, continuity, report
from autoorch.tables import load_tables
from tests.support.tiny import BAR, line, players, problem, strand


def cost(phrases: int = 1, role: str = "melody", turn: bool = False) -> int:
    tune = strand("s1", role, line("s1.1", "C5 D5 E5 D5 " * 4), cuts=(2 * BAR,))
    data = problem(players("flute", "oboe"), tune, bars=4, phrases=phrases)
    if turn:
        data = replace(data, plan=tuple(replace(one, turns=(Turn(2 * BAR, "p", 0.3),)) for one in data.plan))
    names = ("flute", "oboe")
    chosen = frozenset(
        o.index
        for o in data.options
        if o.octave == 0 and data.players[o.player].name == names[data.spans[o.span].index % 2]
    )
    assert len(data.spans) == 2
    return report(continuity, data, chosen).cost


def test_a_tune_stays_in_its_octave_over_a_few_notes_that_others_have() -> None:
    """Two violins in octaves, three notes of the cello, one violin at pitch: he who had it there, or the other one; in two
    phrases it may be either."""

    def cost(first: int, phrases: int = 1) -> int:
        text = "C5 D5 E5 F5 " * 3 + "- D3 C3 - " + "C5 D5 E5 F5 " * 4
        tune = strand("s1", "melody", line("s1.1", text, 0.25))
        data = problem(players("violin", "violin", "cello"), tune, bars=2, phrases=phrases)
        wanted = {("violin 1", 0, first), ("violin 2", 0, 1 - first), ("cello", 13, 0), ("violin 1", 16, 0)}
        chosen = frozenset(
            o.index for o in data.options if (data.players[o.player].name, data.spans[o.span].start, o.octave) in wanted
        )
        assert len(chosen) == 4
        return report(continuity, data, chosen).cost

    assert cost(1) == cost(0) + load_tables().rule("continuity")["weights"]["octave"]
    assert cost(1, phrases=2) == cost(0, phrases=2)


def test_change_inside_a_phrase_costs_and_at_a_joint_it_does_not() -> None:
    assert cost(phrases=1) > 0
    assert cost(phrases=2) == 0


def test_where_the_plan_turns_chords_change_hands_for_less_and_the_tune_does_not() -> None:
    assert 0 < cost(role="inner", turn=True) < cost(role="inner")
    assert cost(turn=True) == cost() > 0


def test_a_tune_goes_on_in_its_octave_inside_a_phrase() -> None:
    """The same player an octave lower in the second half pays, also where the plan has a turn for the tune there."""

    def cost(octaves: tuple[int, int], phrases: int = 1, turn: bool = True) -> int:
        tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5 " * 4), cuts=(2 * BAR,))
        data = problem(players("flute", "oboe"), tune, bars=4, phrases=phrases)
        if turn:
            data = replace(
                data, plan=tuple(replace(p, turns=(Turn(2 * BAR, p.dynamic, p.weight, tune=True),)) for p in data.plan)
            )
        chosen = frozenset(
            o.index
            for o in data.options
            if data.players[o.player].name == "flute" and o.octave == octaves[data.spans[o.span].index]
        )
        assert len(chosen) == 2
        return report(continuity, data, chosen).cost

    assert cost((0, 1)) > cost((0, 0)) == 0
    assert cost((0, 1), turn=False) > cost((0, 1)) > 0
    assert cost((0, 1), phrases=2, turn=False) == 0


def sharing(*had: tuple[str, str, int]) -> RuleReport:
    """Two phrases of a tune whose fifth note is shared; `had` are (player, span, octave), the tune's called "1" and "2"."""
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5 " * 2))
    note = MaterialNote("shared1.1.1", BAR, 4, parse("C5"), ("s1.1.4",))
    short = strand(
        "shared1", "melody", replace(line("shared1.1", ""), notes=(note,), reduced=True),
        layer="melody", texture=SHARED, families=("flute", "oboe"),
    )  # fmt: skip
    data = problem(players("flute", "oboe"), tune, short, bars=2, phrases=2)
    names = {s.index: "shared" if s.strand == 1 else str(s.phrase + 1) for s in data.spans}
    chosen = set()
    for had_by in had:
        (option,) = (o for o in data.options if (data.players[o.player].name, names[o.span], o.octave) == had_by)
        chosen.add(option.index)
    return report(continuity, data, frozenset(chosen))


def test_who_hands_the_tune_on_finishes_on_its_next_note() -> None:
    tune = ("oboe", "1", 0), ("flute", "2", 0)
    whole, short = sharing(*tune, ("oboe", "shared", 0)), sharing(*tune)
    assert whole.cost < short.cost and not whole.broken
    assert [found.what for found in short.findings] == ["the tune stops short of the note it leads to"]
    assert sharing(("oboe", "1", 0), ("oboe", "2", 0)).cost == 0, "who goes on does not stop"


def test_a_shared_note_is_for_who_had_the_tune_in_the_octave_he_had_it_in() -> None:
    assert sharing(("oboe", "1", 0), ("flute", "2", 0), ("flute", "shared", 0)).broken
    assert sharing(("oboe", "1", 0), ("flute", "2", 0), ("oboe", "shared", 1)).broken


def turned(
    *takes: tuple[str, int, int], doublers: tuple[int, int] = (1, 2), octaves: tuple[int, int] = (1, 1), heir: str = ""
) -> int:
    """What continuity charges where these (player, span, octave) have the tune of a phrase with a turn in its middle."""
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5 " * 4), cuts=(2 * BAR,))
    data = problem(players("flute", "oboe", "clarinet_bb"), tune, bars=4)
    turn = Turn(2 * BAR, "mf", 0.5, doublers=doublers[1], octaves=octaves[1], tune=True, lead=heir)
    plan = tuple(replace(p, doublers=doublers[0], octaves=octaves[0], turns=(turn,)) for p in data.plan)
    data = replace(data, plan=plan)
    chosen = frozenset(o.index for o in data.options if (data.players[o.player].name, o.span, o.octave) in takes)
    assert len(chosen) == len(takes)
    return report(continuity, data, chosen).cost


def test_who_has_the_tune_keeps_it_where_others_join() -> None:
    stays = turned(("flute", 0, 0), ("flute", 1, 0), ("oboe", 1, 0))
    swapped = turned(("flute", 0, 0), ("clarinet_bb", 1, 0), ("oboe", 1, 0))
    assert swapped >= stays + load_tables().rule("continuity")["weights"]["exchange"]
    handed = turned(("flute", 0, 0), ("clarinet_bb", 1, 0), ("oboe", 1, 0), heir="clarinets")
    assert handed + load_tables().rule("continuity")["weights"]["exchange"] == swapped, "it is handed over"


def test_nobody_comes_in_where_others_leave_the_tune() -> None:
    leaves = turned(("flute", 0, 0), ("oboe", 0, 0), ("flute", 1, 0), doublers=(2, 1))
    swapped = turned(("flute", 0, 0), ("oboe", 0, 0), ("clarinet_bb", 1, 0), doublers=(2, 1))
    assert swapped >= leaves + load_tables().rule("continuity")["weights"]["exchange"]


def test_the_tune_stays_in_its_octave_whoever_has_it() -> None:
    price = load_tables().rule("continuity")["weights"]["octave"]
    same = turned(("flute", 0, 0), ("oboe", 1, 0), doublers=(1, 1))
    assert turned(("flute", 0, 0), ("oboe", 1, 1), doublers=(1, 1)) == same + price
    more = turned(("flute", 0, 0), ("flute", 1, 0), ("oboe", 1, 1))
    assert more == turned(("flute", 0, 0), ("flute", 1, 0), ("oboe", 1, 0)) + price, "no octave more is planned"
    wider = turned(("flute", 0, 0), ("flute", 1, 0), ("oboe", 1, 1), octaves=(1, 2))
    assert wider == turned(("flute", 0, 0), ("flute", 1, 0), ("oboe", 1, 0), octaves=(1, 2)), "planned there"
    left = turned(("flute", 0, 0), ("oboe", 1, 1), octaves=(1, 2))
    assert left == turned(("flute", 0, 0), ("oboe", 1, 0), octaves=(1, 2)) + price


def scraps(text: str, *strands: str, layer: str = "assigned", turn: bool = False) -> int:
    """What a horn pays that has all of an inner line and of more lines, in four bars of two phrases."""
    lines = [strand(f"s{k}", "inner", line(f"s{k}.1", one)) for k, one in enumerate(strands, 2)]
    first = strand("s1", "inner", line("s1.1", text), layer=layer)
    data = problem(players("horn"), first, *lines, bars=4, phrases=2)
    if turn:
        data = replace(data, plan=tuple(replace(p, turns=(Turn(2 * BAR, "f", 0.8),)) for p in data.plan))
    chosen = frozenset(o.index for o in data.options if o.octave == 0)
    found = [finding for finding in report(continuity, data, chosen).findings if "few notes" in finding.what]
    assert len({finding.cost for finding in found}) <= 1
    return len(found)


def test_who_comes_in_has_more_than_a_few_notes() -> None:
    rest = "- " * 8
    assert scraps(rest + "C4 D4 - -") == 1
    assert scraps(rest + "C4 D4 E4 -") == 1
    assert scraps(rest + "C4 D4 E4 F4") == 0, "four notes fill the bar"
    assert scraps(rest + "C4 D4 - -", "- " * 12 + "C4 D4 E4 F4") == 0, "he goes on"
    assert scraps("- " * 4 + "C4 D4 - -", "- " * 10 + "C4 D4 E4 F4 C4") == 1, "a bar between is a rest"
    assert scraps("- " * 4 + "C4 D4 - -", "- " * 9 + "C4 D4 E4 F4 C4") == 0, "less is none"
    assert scraps(rest + "C4 D4 - -", turn=True) == 0, "an accent of the plan"
    assert scraps("- " * 6 + "C4 D4", rest + "C4 D4 E4 F4") == 0, "an upbeat to his next phrase"
    assert scraps(rest + "C4 D4 - -", layer="finish") == 0, "a touch is meant so"
