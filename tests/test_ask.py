"""Questions about a draft in its folder: figures that two independent checks agree on, and plain errors."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from autoorch import ask, pipeline
from autoorch.brief import Brief
from autoorch.errors import AutoorchError, BriefError
from autoorch.pipeline import Result
from autoorch.rules import RULES, report
from autoorch.solver.asked import options_of
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from autoorch.told import by_rule
from autoorch.write.record import read_record
from tests.support.hand import make_sketch

TUNE = "C5:1 E5:1 G5:1 E5:1 F5:2 E5:2 D5:1 E5:1 F5:1 D5:1 C5:4"
BASS = "C3:4 F3:2 C3:2 G2:4 C3:4"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("ask") / "draft"
    made = pipeline.draft(make_sketch([TUNE, BASS]), "chamber", brief=Brief(), limits=Limits(seconds=3))
    pipeline.write(made, out)
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
    made = pipeline.record_of(
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


def test_the_difference_is_that_of_two_checked_costs(folder: Path) -> None:
    tables = load_tables()
    made = read_record(folder, tables)
    data = pipeline.problem_of(made, tables)
    melody = next(c for c in made.draft.choices if data.material.strand[c.strand].role == "melody")
    choices = ask.choices_at(made, "1", melody.player, tables)
    other = next(
        data.players[o.player].name
        for o in data.by_span[data.options[min(options_of(data, choices))].span]
        if data.players[o.player].name != melody.player
        and melody.strand not in {c.strand for c in made.draft.choices if c.player == data.players[o.player].name}
    )
    result, title = ask.forced(made, data, choices, "1", other, tables)
    before, after = checked(pipeline.again(made, tables)), checked(result)
    changes = {name: after[name] - before[name] for name in before if after[name] != before[name]}
    assert by_rule(made.draft.costs, result.draft.costs) == changes
    assert result.draft.objective - made.draft.objective == sum(changes.values())
    places = {(c.strand, c.start) for c in choices}
    has = {c.player for c in result.draft.choices if (c.strand, c.start) in places}
    assert other in has and melody.player not in has
    assert title == f"bar 1, {other} instead of {melody.player}"
    said = ask.why(folder, "1", melody.player, other, tables)
    assert f"({result.draft.objective - made.draft.objective:+d})" in said


@pytest.mark.parametrize(
    ("bar", "player", "other", "said"),
    [
        ("99", None, None, "no bar 99"),
        ("1", "Tuba", None, "Tuba"),
        ("1", "Timpani", None, "has nothing there"),
        ("1", None, "Flute", "--player"),
        ("1", "Double basses", "Strings", "one player"),
        ("1", "Double basses", "Timpani", "can't take"),
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
