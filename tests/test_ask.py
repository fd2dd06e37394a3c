"""Questions about a draft in its folder: figures that two independent checks agree on, and plain errors."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from autoorch import ask, delivery, pipeline
from autoorch.brief import Brief
from autoorch.errors import AutoorchError, BriefError
from autoorch.pipeline import Result
from autoorch.problem.data import Option, ProblemData
from autoorch.rules import RULES, report
from autoorch.sketch import read_sketch
from autoorch.solver.asked import options_of
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from autoorch.told import WIDE, by_rule
from autoorch.write.record import read_record
from tests.benchmarks.pieces import sketch_file
from tests.support.hand import make_sketch
from tests.support.opening import opening

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
OPENINGS = (
    ("paper-boats-march", "classical"),
    ("lighthouse-waltz", "wind quintet"),
    ("k545", "romantic"),
    ("bwv269", "string quartet"),
)
"""Cues whose first bars are drafted, and for whom."""
TUNE = "C5:1 E5:1 G5:1 E5:1 F5:2 E5:2 D5:1 E5:1 F5:1 D5:1 C5:4"
BASS = "C3:4 F3:2 C3:2 G2:4 C3:4"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("ask") / "draft"
    made = pipeline.draft(make_sketch([TUNE, BASS]), "chamber", brief=Brief(), limits=Limits(seconds=3))
    delivery.write(made, out)
    return out


def checked(result: Result) -> dict[str, int]:
    """Cost by rule, from the rules' own check on the choices that stand in the draft."""
    chosen = options_of(result.problem, result.draft.choices)
    return {rule.NAME: report(rule, result.problem, chosen).cost for rule in RULES}


def test_reasons_name_bar_role_and_rules(folder: Path) -> None:
    said = ask.why(folder, "1", None, None, load_tables())
    assert said.splitlines()[0].startswith("melody, bars 1-")
    assert len(said.splitlines()) <= 12
    assert "(s1" not in said
    one = ask.why(folder, "1", "Double basses", None, load_tables())
    assert any(f"{rule.NAME} " in one for rule in RULES)
    assert len(one.splitlines()) <= 5


def test_every_figure_is_told_as_json(folder: Path) -> None:
    tables = load_tables()
    made = read_record(folder, tables)
    found = json.loads(ask.why(folder, "1", None, None, tables, as_json=True))
    assert [row["choice"]["player"] for row in found] == [c.player for c in ask.choices_at(made, "1", None, tables)]
    assert found and all(row["choice"]["strand"] for row in found)
    assert all(row["without"] is not None or row["needed"] for row in found)


def test_the_rest_of_the_cue_stays_when_one_place_is_forced() -> None:
    tables = load_tables()
    tune = " ".join([TUNE] * 4)
    made = delivery.record_of(
        pipeline.draft(make_sketch([tune, " ".join([BASS] * 4)]), "chamber", brief=Brief(), limits=Limits(seconds=3))
    )
    data = pipeline.problem_of(made, tables)
    assert len(data.plan) >= 4
    (choice, *_) = [
        c for c in ask.choices_at(made, "1", None, tables) if data.material.strand[c.strand].role == "melody"
    ]
    other = next(name for name in ("Oboe", "Clarinet", "Flute") if name != choice.player)
    result, _ = ask.forced(made, data, (choice,), "1", other, tables)
    far = data.plan[2].start
    assert {c for c in result.draft.choices if c.start >= far} == {c for c in made.draft.choices if c.start >= far}
    assert set(result.draft.choices) != set(made.draft.choices)


@pytest.fixture(scope="module", params=[("hand", "chamber"), *OPENINGS], ids=lambda asked: " for ".join(asked))
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A draft in its folder, of each cue and line-up."""
    name, lineup = request.param
    folder = tmp_path_factory.mktemp(name)
    path = EXAMPLES / name / "sketch.musicxml"
    if name == "hand":
        sketch = make_sketch([TUNE, BASS])
    else:
        sketch = opening(read_sketch(path if path.exists() else sketch_file(name, folder)), 8)
    delivery.write(pipeline.draft(sketch, lineup, brief=Brief(), limits=Limits(seconds=3)), folder / "draft")
    return folder / "draft"


def test_the_difference_is_that_of_two_checked_costs(made: Path) -> None:
    tables = load_tables()
    before = read_record(made, tables)
    data = pipeline.problem_of(before, tables)
    checks, place = checked(pipeline.again(before, tables)), before.draft.choices
    asked = 0
    for role in ("melody", "bass"):
        own = next(c for c in place if data.material.strand[c.strand].role == role)
        bar = next(bar.number for bar in before.sketch.bars if bar.end > own.start)
        choices = ask.choices_at(before, bar, own.player, tables)
        spans = {(c.strand, c.start) for c in choices}
        able = [{data.players[o.player].name for o in data.options if where(data, o) == span} for span in sorted(spans)]
        there = {c.player for c in place if (c.strand, c.start) in spans}
        others = sorted(set.intersection(*able) - there, key=[p.name for p in data.players].index)
        if not others:
            continue
        result, title = ask.forced(before, data, choices, bar, others[0], tables)
        after = checked(result)
        changes = {name: after[name] - checks[name] for name in checks if after[name] != checks[name]}
        assert by_rule(before.draft.costs, result.draft.costs) == changes
        assert result.draft.objective - before.draft.objective == sum(changes.values())
        for span in spans:
            has = {c.player for c in result.draft.choices if (c.strand, c.start) == span}
            assert others[0] in has and own.player not in has
        assert title == f"bar {bar}, {others[0]} instead of {own.player}"
        said = ask.why(made, bar, own.player, others[0], tables)
        assert f"({result.draft.objective - before.draft.objective:+d})" in said
        told = said.splitlines()
        assert any(line.startswith(f"  {role}, bar") and others[0] in line.split(" for ")[0] for line in told[2:-1])
        assert told[-1].endswith("--json gives every choice that changes") and len(told) <= 3 + WIDE
        asked += 1
    assert asked


def where(data: ProblemData, option: Option) -> tuple[str, int]:
    span = data.spans[option.span]
    return data.strands[span.strand].id, span.start


@pytest.mark.parametrize(
    ("bar", "player", "other", "said"),
    [
        ("99", None, None, "no bar 99"),
        ("1", "Tuba", None, "Tuba"),
        ("1", "Timpani", None, "has nothing there"),
        ("1", None, "Flute", "--player"),
        ("1", "Double basses", "Strings", "one player"),
        ("1", "Double basses", "Timpani", "can't take"),
        ("1", "Double basses", "Double basses", "has it already"),
    ],
)
def test_what_can_not_be_answered_is_told_on_one_line(
    folder: Path, bar: str, player: str | None, other: str | None, said: str
) -> None:
    with pytest.raises(BriefError) as caught:
        ask.why(folder, bar, player, other, load_tables())
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_no_draft_is_told(tmp_path: Path) -> None:
    with pytest.raises(AutoorchError, match="can't be read"):
        ask.why(tmp_path, "1", None, None, load_tables())
