"""Drafts that differ: in the stated share of spans, where it matters, at the stated price; the label names a difference."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest

from autoorch import pipeline, several
from autoorch.brief import Brief
from autoorch.pipeline import Result
from autoorch.problem.draft import Choice, Draft
from autoorch.solver.asked import Apart, Asked, options_of
from autoorch.solver.solve import Limits
from autoorch.solver.vary import apart, dearer, in_windows, label, seen, tries, unlike
from autoorch.tables import load_tables
from tests.support.tiny import BAR, line, players, problem, strand

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TABLE = load_tables().rule("drafts")["differ"]


@pytest.fixture(scope="module")
def drafts() -> list[Result]:
    first = pipeline.draft(
        EXAMPLES / "harbour-snow-cue" / "sketch.musicxml", "classical", brief=Brief(), limits=Limits(seconds=5)
    )
    return several.several(3, first)


def test_drafts_differ_pairwise_where_it_matters_and_cost_little_more(drafts: list[Result]) -> None:
    assert len(drafts) == 3
    for one, two in combinations(drafts, 2):
        spans, principal, tune = apart((one.problem, one.draft), (two.problem, two.draft))
        assert spans >= TABLE["spans"]
        assert principal >= TABLE["spans"] * TABLE["principal"]
        assert tune >= TABLE["tune"]
    for other in drafts[1:]:
        assert dearer(drafts[0].draft, other.draft) <= TABLE["dearer"]


def test_labels_are_of_one_line_and_all_different(drafts: list[Result]) -> None:
    said = [
        label((one.problem, one.draft), [(other.problem, other.draft) for other in drafts if other is not one])
        for one in drafts
    ]
    assert len(set(said)) == 3
    assert not any("\n" in text for text in said)


def choice(player: str, line_id: str, octave: int = 0) -> Choice:
    return Choice(player, line_id.split(".")[0], (line_id,), octave, 0, BAR)


def test_a_short_cue_is_seen_whole_and_a_longer_one_in_windows(drafts: list[Result]) -> None:
    data, one = drafts[0].problem, drafts[0].draft
    short, long = Limits(options=len(data.options) // 2 + 1), Limits(options=len(data.options) // 4)
    assert seen(data, short).options == len(data.options)

    def ends_of(limits: Limits) -> tuple[int, ...]:
        asked = in_windows(data, limits, Asked(apart=unlike(data.tables, [one.choices])))
        assert asked.apart is not None and in_windows(data, short, asked) == asked
        return asked.apart.ends

    assert ends_of(short) == (data.plan[-1].end,)
    assert seen(data, long).options == long.options
    ends = ends_of(long)
    assert len(ends) > 2 and ends[-1] == data.plan[-1].end
    assert {seen(data, limits).chains for limits in (short, long)} == {1}


def test_what_is_kept_counts_for_nothing_and_the_rest_has_its_share(drafts: list[Result]) -> None:
    """Kept but for its last bars a cue asks for as large a share of these: bars anew differ from each other."""
    data, one = drafts[0].problem, drafts[0].draft
    last = data.plan[-1]
    free, few = (
        replace(unlike(data.tables, [one.choices], kept), ends=(last.end,)) for kept in ((), [(0, last.start)])
    )

    def asked(rule: Apart) -> int:
        (limit,) = (limit for limit in rule.limits(data) if limit.name == "players unlike draft 1")
        spans = {data.options[k].span for literal, _ in limit.terms for k in data.groups.options(literal)}
        assert rule is free or all(data.spans[k].start >= last.start for k in spans)
        return limit.low or 0

    assert 0 < asked(few) < asked(free)


def test_other_leads_are_tried_then_the_brief_then_wider_windows(drafts: list[Result]) -> None:
    data, long = drafts[0].problem, Limits(options=len(drafts[0].problem.options) // 4)
    wider = data.tables.rule("drafts")["differ"]["wider"] * long.options
    tried = [
        (brief.leading, limits.options, tune) for brief, limits, tune in tries(data, Brief(), long, {"", "strings"})
    ]
    assert tried == [
        ("winds", long.options, 1.0),
        ("brass", long.options, 1.0),
        ("", long.options, 1.0),
        ("", wider, 1.0),
        ("", long.options, 0.5),
        ("", wider, 0.5),
        ("", long.options, 0.0),
        ("", wider, 0.0),
    ]
    winds = Brief(leading="winds")
    assert list(tries(data, winds, Limits(), {"winds"})) == [(winds, Limits(), share) for share in (1.0, 0.5, 0.0)]
    assert list(tries(data, winds, Limits(), {"winds"}, tune=0.0)) == [(winds, Limits(), 0.0)]


def test_like_players_are_no_difference_and_families_are() -> None:
    data = problem(
        players("horn", "horn", "oboe", "viola"),
        strand("s1", "melody", line("s1.1", "E4 F4 G4 E4")),
        strand("s2", "inner", line("s2.1", "C4 C4 C4 C4")),
    )
    first = Draft((choice("oboe", "s1.1"), choice("horn 1", "s2.1")))
    second = Draft((choice("oboe", "s1.1"), choice("horn 2", "s2.1")))
    third = Draft((choice("viola", "s1.1"), choice("horn 2", "s2.1")))
    assert apart((data, first), (data, second)) == (0.0, 0.0, 0.0)
    assert apart((data, first), (data, third)) == (0.5, 0.5, 1.0)
    fourth = replace(first, choices=(choice("oboe", "s1.1"), choice("horn 1", "s2.1", -1)))
    assert apart((data, first), (data, fourth)) == (0.5, 0.0, 0.0)
    assert label((data, third), [(data, first), (data, second)]) == "melody in Violas from bar 1"
    assert label((data, fourth), [(data, second), (data, third)]) == "inner in Horns (-1 oct.) from bar 1"
    assert label((data, first), [(data, second)]) == "as the others"
    assert label((data, first), [(data, third)]) == "melody in Oboe from bar 1", "there is one"


def test_the_tune_is_moved_where_who_carries_it_has_left_it_and_not_where_somebody_joins() -> None:
    data = problem(players("horn", "oboe", "violin"), strand("s1", "melody", line("s1.1", "E4 F4 G4 E4")))

    def draft(*had: tuple[str, int]) -> Draft:
        return Draft(tuple(choice(player, "s1.1", octave) for player, octave in had))

    strings = draft(("violin", 0))
    for other, moved in (
        (draft(("violin", 0), ("oboe", 0)), 0.0),
        (draft(("violin", 0), ("oboe", 1)), 0.0),
        (draft(("oboe", 0)), 1.0),
        (draft(("violin", 1)), 1.0),
    ):
        assert apart((data, strings), (data, other))[2] == moved
        (limit,) = (
            limit
            for limit in Apart((strings.choices,), 0.0, 0.0, (BAR,), tune=0.75).limits(data)
            if limit.name == "tune unlike draft 1"
        )
        chosen = options_of(data, other.choices)
        amount = sum(worth for literal, worth in limit.terms if data.groups.holds(literal, chosen))
        assert limit.high is not None and (amount <= limit.high) == bool(moved)
    both = draft(("violin", 0), ("oboe", 0))
    assert apart((data, both), (data, draft(("violin", 0))))[2] == 0.0, "twelve violins carry it"
    assert apart((data, both), (data, draft(("oboe", 0))))[2] == 1.0


def test_how_full_a_draft_is_is_told_beside_those_of_its_own_line_up() -> None:
    lines = strand("s1", "melody", line("s1.1", "E4 F4 G4 E4"))
    large, small = problem(players("oboe", "viola"), lines), problem(players("oboe"), lines)
    alone, both = Draft((choice("oboe", "s1.1"),)), Draft((choice("oboe", "s1.1"), choice("viola", "s1.1")))
    assert label((large, both), [(large, alone)]).endswith("100% fuller")
    assert "fuller" not in label((large, both), [(small, alone)])
