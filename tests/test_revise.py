"""Bars kept between drafts are the same bytes, whatever is solved anew around them; a small change changes little."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from autoorch import delivery, pipeline
from autoorch.brief import Brief, directed, parse_direction
from autoorch.delivery import SCORES
from autoorch.errors import AutoorchError, BriefError, NoDraft
from autoorch.jobs import Job, Made, put, run
from autoorch.lineup import parse_lineup
from autoorch.orders import Order, jobs_of
from autoorch.revise import revised
from autoorch.sketch import read_sketch
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from autoorch.write.graft import parts_of
from autoorch.write.record import read_record
from tests.support.opening import opening
from tests.support.schema import schema_errors

CUE = opening(
    read_sketch(Path(__file__).resolve().parents[1] / "examples" / "harbour-snow-cue" / "sketch.musicxml"), 16
)
LIMITS = Limits(seconds=2)


@pytest.fixture(scope="module")
def drafts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two drafts of one cue: "full" led by the strings and "lean" led by the winds."""
    folder = tmp_path_factory.mktemp("drafts")
    for name, brief in (
        ("full", Brief(leading="strings")),
        ("lean", Brief(intent="lean", leading="winds")),
    ):
        delivery.write(pipeline.draft(CUE, "chamber", brief=brief, limits=LIMITS), folder / name)
    return folder


def make(
    folder: Path, origin: Path | None, bars: str | None, keeps: Sequence[str], *said: str, **changes: object
) -> Made:
    """The next draft, in `folder`."""
    revision = revised(
        origin,
        bars,
        keeps,
        lambda brief: replace(directed(brief, said), **changes),
        load_tables(),  # type: ignore[arg-type]
    )
    base = revision.base
    job = Job(
        "next", folder, base.sketch, base.lineup, base.brief, base.reading, LIMITS, base.asked, sources=revision.sources
    )
    made = run(job)
    put(job, made)
    return made


def same_bars(one: Path, two: Path, first: int, last: int) -> bool:
    """Bars first..last (counted from 1) of both scores are the same bytes in all parts."""
    for name in SCORES:
        mine, other = parts_of((one / name).read_bytes()), parts_of((two / name).read_bytes())
        assert mine.keys() == other.keys() and mine
        for part, measures in mine.items():
            assert all(measures[first - 1 : last])
            if measures[first - 1 : last] != other[part][first - 1 : last]:
                return False
    return True


@pytest.mark.parametrize(
    ("said", "changes"),
    [
        ((), {}),
        (("9-16 avoid Horn",), {}),
        (("9-16 melody must Oboe",), {}),
        (("13-16 melody must Bassoon",), {}),
        ((), {"intent": "lean"}),
        ((), {"intent": "faithful"}),
        ((), {"leading": "brass"}),
        ((), {"leading": "winds"}),
        (("10-16 bass only Violoncellos, Double basses, Bassoon",), {}),
        (("avoid Timpani",), {"under": "dialogue"}),
    ],
)
def test_kept_bars_are_the_same_after_any_other_solve(
    drafts: Path, tmp_path: Path, said: tuple[str, ...], changes: dict[str, object]
) -> None:
    out = tmp_path / "next"
    make(out, drafts / "full", None, [f"{drafts / 'full'}:1-8"], *said, **changes)
    assert same_bars(out, drafts / "full", 1, 8)
    assert schema_errors(out / "score.musicxml") == []


@pytest.mark.parametrize(
    "lineup", ["string quartet", "2.2.2.2 - 4.2.3.1 - tmp+1 - hp - str", "2 asax, tsax, pno, db, 1 perc"]
)
def test_bars_are_kept_for_any_line_up(tmp_path: Path, lineup: str) -> None:
    first = pipeline.draft(opening(CUE, 8), lineup, limits=LIMITS)
    delivery.write(first, tmp_path / "first")
    start, end = first.sketch.bars[3].onset, first.sketch.bars[6].onset
    role = first.problem.material.strand
    tune = next(c for c in first.draft.choices if role[c.strand].role == "melody" and c.start < end and c.end > start)
    keeps = [f"{tmp_path / 'first'}:{bars}" for bars in ("1-3", "7-8")]
    make(tmp_path / "next", None, None, keeps, f"4-6 melody avoid {tune.player}")
    assert same_bars(tmp_path / "next", tmp_path / "first", 1, 3)
    assert same_bars(tmp_path / "next", tmp_path / "first", 7, 8)
    assert not same_bars(tmp_path / "next", tmp_path / "first", 4, 6)


def test_a_passage_anew_leaves_the_rest_untouched(drafts: Path, tmp_path: Path) -> None:
    out = tmp_path / "next"
    make(out, drafts / "full", "9-11", [])
    assert same_bars(out, drafts / "full", 1, 8)
    assert same_bars(out, drafts / "full", 12, 16)
    assert not same_bars(out, drafts / "full", 9, 11)


def test_bars_of_two_drafts_are_put_together(drafts: Path, tmp_path: Path) -> None:
    out = tmp_path / "mixed"
    make(out, None, None, [f"{drafts / 'lean'}:1-8", f"{drafts / 'full'}:12-16"])
    assert same_bars(out, drafts / "lean", 1, 8)
    assert same_bars(out, drafts / "full", 12, 16)
    assert not same_bars(out, drafts / "full", 1, 8)
    assert schema_errors(out / "score.musicxml") == []


def test_bars_of_a_draft_are_kept_though_the_other_was_told_otherwise(drafts: Path, tmp_path: Path) -> None:
    tables = load_tables()
    players = {c.player for c in read_record(drafts / "full", tables).draft.choices if c.end > CUE.bars[8].onset}
    (avoided,) = players.intersection(["Violins I"])
    brief = Brief(directions=(parse_direction(f"avoid {avoided}"), parse_direction("1-2 melody avoid Horn")))
    delivery.write(pipeline.draft(CUE, "chamber", brief=brief, limits=LIMITS), tmp_path / "without")
    keeps = [f"{tmp_path / 'without'}:1-8", f"{drafts / 'full'}:9-14"]
    told = revised(None, None, keeps, lambda b: b, tables).told
    assert told == (f"everywhere: avoid {avoided}: not in the bars kept from {drafts / 'full'}",)
    make(tmp_path / "mixed", None, None, keeps)
    assert same_bars(tmp_path / "mixed", tmp_path / "without", 1, 8)
    assert same_bars(tmp_path / "mixed", drafts / "full", 9, 14)
    mixed = read_record(tmp_path / "mixed", tables)
    assert [str(one.bars) for one in mixed.brief.directions] == ["1-8", "15-16", "1-2"]
    assert not [c for c in mixed.draft.choices if c.player == avoided and c.start >= CUE.bars[14].onset]
    new = revised(None, None, keeps, lambda b: directed(b, [f"9-16 avoid {avoided}"]), tables).base.brief
    assert str(new.directions[-1]) == f"bars 9-16: avoid {avoided}", "a new one is meant as it is said"


def test_a_mixed_draft_is_made_again_from_its_record(drafts: Path, tmp_path: Path) -> None:
    out = tmp_path / "mixed"
    made = make(out, None, None, [f"{drafts / 'lean'}:1-8", f"{drafts / 'full'}:12-16"])
    delivery.write(pipeline.again(read_record(out, load_tables())), tmp_path / "again")
    assert {path.name: path.read_bytes() for path in (tmp_path / "again").iterdir()} == dict(made.files)


def test_a_small_change_of_the_brief_changes_little(drafts: Path, tmp_path: Path) -> None:
    make(tmp_path / "near", drafts / "full", None, [], "9-12 melody avoid Violins I")
    tables = load_tables()
    before = read_record(drafts / "full", tables)
    near = set(read_record(tmp_path / "near", tables).draft.choices)
    brief = directed(before.brief, ["9-12 melody avoid Violins I"])
    afresh = set(pipeline.draft(before.sketch, before.lineup, brief=brief, limits=LIMITS).draft.choices)
    kept = set(before.draft.choices)
    assert near != kept
    assert len(near & kept) >= len(afresh & kept)
    assert len(near & kept) >= 0.8 * len(kept)


def test_the_plan_stays_where_nothing_new_is_asked(drafts: Path) -> None:
    tables = load_tables()
    before = read_record(drafts / "full", tables).draft.plan
    said = revised(drafts / "full", None, [], lambda b: directed(b, ["1-4 avoid Strings"]), tables).base.asked.plan
    end = CUE.bars[4].onset
    assert len(before) > 2
    assert said[0] != before[0]
    assert [new for new in said if new.start >= end] == [old for old in before if old.start >= end]
    assert revised(drafts / "full", "9-12", [], lambda b: b, tables).base.asked.plan == before
    assert revised(drafts / "full", None, [], lambda b: replace(b, intent="lean"), tables).base.asked.plan == ()


def test_what_changes_is_told(drafts: Path, tmp_path: Path) -> None:
    job, _ = jobs_of(Order(origin=drafts / "full", bars="9-11", seconds=2, output=tmp_path / "next"))
    said = next(line for line in run(job[0]).told.splitlines() if "against" in line)
    assert said.startswith(f"  against {drafts / 'full'}: other players in bars ")
    bars = said.split("bars ")[1].split(";")[0]
    assert set(bars.replace("-", ", ").split(", ")) <= {"9", "10", "11"}
    assert "dearer" in said or "cheaper" in said or "as dear" in said
    mixed, _ = jobs_of(Order(keeps=(f"{drafts / 'full'}:1-8", f"{drafts / 'lean'}:9-16"), seconds=2))
    one, two = (line for line in run(mixed[0]).told.splitlines() if "against" in line)
    assert one.startswith(f"  against {drafts / 'full'}: other players in bars ") and "dearer (" in one
    assert two.startswith(f"  against {drafts / 'lean'}: other players in bars ")
    brought, _ = jobs_of(Order(origin=drafts / "lean", keeps=(f"{drafts / 'full'}:1-16",), seconds=2))
    said = {line.split(":")[0]: line for line in run(brought[0]).told.splitlines() if "against" in line}
    assert "the same players everywhere" in said[f"  against {drafts / 'full'}"], "what layers added there comes along"
    assert "other players in bars " in said[f"  against {drafts / 'lean'}"]
    same, _ = jobs_of(Order(origin=drafts / "full", keeps=(f"{drafts / 'full'}:1-16",), seconds=2))
    assert f"against {drafts / 'full'}: the same players everywhere" in run(same[0]).told
    whole, _ = jobs_of(
        Order(keeps=(f"{drafts / 'full'}:1-7", f"{drafts / 'full'}:8-16"), seconds=2, output=tmp_path / "whole")
    )
    cut = next(line for line in run(whole[0]).told.splitlines() if "against" in line)
    assert cut.endswith("the same players everywhere"), "where kept bars are cut costs nothing"


def test_each_of_several_next_drafts_has_the_kept_bars(drafts: Path, tmp_path: Path) -> None:
    """From the draft that the winds lead: beside the other one's plan a second draft is 17 % dearer, more than the margin."""
    keep = (f"{drafts / 'lean'}:1-4",)
    (job,), _ = jobs_of(Order(origin=drafts / "lean", keeps=keep, count=2, seconds=2, output=tmp_path / "next"))
    put(job, run(job))
    assert same_bars(tmp_path / "next" / "1", drafts / "lean", 1, 4)
    assert same_bars(tmp_path / "next" / "2", drafts / "lean", 1, 4)


def test_who_plays_stays_where_it_is_held(drafts: Path) -> None:
    tables = load_tables()
    before = read_record(drafts / "full", tables).draft.choices
    base = revised(drafts / "full", None, [], lambda b: replace(b, leading="winds"), tables, holds=["1-8 melody"]).base
    result = pipeline.draft(CUE, base.lineup, brief=base.brief, reading=base.reading, limits=LIMITS, asked=base.asked)
    end = CUE.bars[8].onset
    role = {strand.id: strand.role for strand in result.material.strands}
    held = [c for c in before if c.start < end and role.get(c.strand) == "melody"]
    assert held
    now = [c for c in result.draft.choices if c.start < end and role[c.strand] == "melody"]
    first, second = (
        {(c.player, c.strand, c.lines, c.octave, c.share, tick) for c in own for tick in range(c.start, c.end)}
        for own in (held, now)
    )
    assert first == second
    assert set(result.draft.choices) != set(before)
    other = f"1-8 melody avoid {held[0].player}"
    alone = revised(drafts / "full", None, [], lambda b: directed(b, [other]), tables, holds=["1-8 melody"])
    with pytest.raises(NoDraft, match="1-8, melody: the same players"):
        pipeline.draft(
            CUE, base.lineup, brief=alone.base.brief, reading=base.reading, limits=LIMITS, asked=alone.base.asked
        )
    for text, said in (("9-16 tune", "wants bars, a role"), ("90-99", "no bar 90"), ("", "wants bars")):
        with pytest.raises(BriefError, match=said):
            revised(drafts / "full", None, [], lambda b: b, tables, holds=[text])


def test_those_who_are_booked_still_hold_what_they_had(drafts: Path) -> None:
    tables = load_tables()
    few = parse_lineup("1.0.1.0 - str", tables)
    base = read_record(drafts / "full", tables)
    revision = revised(
        drafts / "full", None, [], lambda b: replace(b, leading="brass"), tables, holds=["1-16"], lineup=few
    )
    own = {strand.id for strand in base.reading.strands}
    absent = {c.player for c in base.draft.choices if c.strand in own and c.player not in few.by_name}
    assert absent
    (line,) = revision.told
    assert line.startswith('--hold "1-16": ') and line.endswith(" can't have it here; the others stay")
    assert absent <= set(line.removeprefix('--hold "1-16": ').split(" can't")[0].split(", "))
    made = pipeline.draft(
        CUE, few, brief=revision.base.brief, reading=revision.base.reading, limits=LIMITS, asked=revision.base.asked
    )
    held = {(lock.strand, lock.start): set(lock.choices) for lock in revision.base.asked.locks}
    assert any(held.values())
    for place, choices in held.items():
        assert {c for c in made.draft.choices if (c.strand, c.start) == place} == choices
    assert "brass should lead, and 1.0.1.0 - str has none: it is left open" in made.material.notices


def test_other_players_take_over_sketch_reading_and_directions(drafts: Path) -> None:
    tables = load_tables()
    halved = parse_lineup("1.1.1.1 - 1.1.0.0 - tmp - 3.3.2.2.1", tables)
    quartet = parse_lineup("string quartet", tables)
    said = ["1-8 melody must Oboe, Violins I", "9-16 avoid Horn"]

    def change(brief: Brief) -> Brief:
        return directed(brief, said)

    same = revised(drafts / "full", None, [], change, tables, lineup=halved)
    assert (same.base.lineup, same.told) == (halved, ())
    assert len(same.base.brief.directions) == 2 and same.base.asked.near
    result = pipeline.draft(
        CUE, halved, brief=same.base.brief, reading=same.base.reading, limits=LIMITS, asked=same.base.asked
    )
    before = read_record(drafts / "full", tables)
    assert len(set(result.draft.choices) & set(before.draft.choices)) >= 0.5 * len(before.draft.choices)
    made = replace(before, brief=directed(before.brief, said))
    delivery.write(pipeline.draft(CUE, made.lineup, brief=made.brief, limits=LIMITS), drafts / "directed")
    few = revised(drafts / "directed", None, [], lambda brief: brief, tables, lineup=quartet)
    assert [one.wishes for one in few.base.brief.directions] == ["must Violins I"]
    assert few.told == (
        "bars 1-8, melody: must Oboe, Violins I: string quartet has no Oboe; left out of it",
        "bars 9-16: avoid Horn: string quartet has no Horn; left out of it",
    )


@pytest.mark.parametrize(
    ("keeps", "bars", "said"),
    [
        (["full:1-8", "lean:8-12"], None, "bar 8 is to be kept twice"),
        (["full:1.2-8"], None, "whole bars"),
        (["full"], None, "such as first-draft:1-16"),
        (["nowhere:1-8"], None, "can't be read"),
        (["full:1-99"], None, "no bar 99"),
        ([], "9.2-12", "whole bars"),
    ],
)
def test_what_can_not_be_kept_is_told(drafts: Path, keeps: list[str], bars: str | None, said: str) -> None:
    origin = drafts / "full" if bars else None
    with pytest.raises(AutoorchError) as caught:
        revised(
            origin, bars, [f"{drafts}/{text}" if ":" in text else text for text in keeps], lambda b: b, load_tables()
        )
    assert said in str(caught.value)


def test_bars_of_another_line_up_are_refused(drafts: Path, tmp_path: Path) -> None:
    delivery.write(pipeline.draft(CUE, "string orchestra", limits=LIMITS), tmp_path / "strings")
    with pytest.raises(BriefError, match="another line-up"):
        revised(drafts / "full", None, [f"{tmp_path / 'strings'}:1-8"], lambda b: b, load_tables())
