"""What became of the brief's shapes, moments and passages to be scored like."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.answered import answers, likes, sounding
from autoorch.brief import Bars, Brief, Direction, Hit, Shape
from autoorch.layers.cue import Cue
from autoorch.layers.model import Turn
from autoorch.problem.draft import Verdict
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch.model import Sketch
from tests.solver.test_result import sketch_of
from tests.support.tiny import BAR, line, players, problem, strand, taken

TUNE = strand("s1", "melody", line("s1.1", "E5 F5 G5 E5 " * 2))
BASS = strand("s2", "bass", line("s2.1", "C4 D4 E4 C4 " * 2))
STROKE = strand(
    "touch1",
    "rhythm",
    line("touch1.1", "- - - - C5"),
    layer="finish",
    reason="clash: hit in bar 2",
    families=("viola",),
)
DATA = problem(players("violin", "viola"), TUNE, BASS, STROKE, bars=2, phrases=2)
VIOLIN, VIOLA, CLASH = ("violin", "s1.1", 0), ("viola", "s2.1", 0), ("viola", "touch1.1", 0)


def told(*wanted: tuple[str, str, int], **asked: object) -> list[str]:
    """Verdicts on a brief, where players have these lines."""
    brief = replace(Brief(), **asked)  # type: ignore[arg-type]
    return [str(one) for one in answers(cue(brief), DATA, taken(DATA, *wanted), ())]


def cue(brief: Brief) -> Cue:
    sketch: Sketch = sketch_of(DATA)
    reading = Reading((), (Phrase(0, BAR), Phrase(BAR, 2 * BAR)), ())
    return Cue(sketch, reading, DATA.plan, DATA.lineup, brief, DATA.tables)


def test_a_shape_tells_what_is_planned_and_what_sounds() -> None:
    half = Shape(Bars("1", "1"), 0.5)
    assert told(VIOLIN, shapes=(half,)) == [
        "kept: shape, bars 1: weight 0.5 (planned weight 0.5, mf; 50% of winds and strings sound)"
    ]
    assert told(VIOLIN, VIOLA, shapes=(half,)) == [
        "bent: shape, bars 1: weight 0.5 (planned weight 0.5, mf; 100% of winds and strings sound; fuller than asked)"
    ]
    (thin,) = told(VIOLIN, shapes=(replace(half, weight=0.9),))
    assert thin.startswith("bent: ") and thin.endswith("; thinner than asked)")


def test_of_a_phrase_that_turns_only_what_the_bars_have_is_told() -> None:
    turning = (replace(DATA.plan[0], end=2 * BAR, turns=(Turn(BAR, "ff", 1.0),)),)
    said = replace(cue(Brief(shapes=(Shape(Bars("2", "2"), 0.5),))), plan=turning)
    (one,) = answers(said, DATA, taken(DATA, VIOLIN), ())
    assert one.detail.startswith("planned weight 1, ff; 50%")


def test_a_peak_is_kept_where_nothing_is_fuller() -> None:
    peak = Shape(Bars("2", "2"), peak=True)
    (level,) = told(VIOLIN, shapes=(peak,))
    assert level.startswith("kept: shape, bars 2: peak ")
    early = frozenset(
        o.index for o in DATA.options
        if o.index in taken(DATA, VIOLIN) or (o.index in taken(DATA, VIOLA) and DATA.phrase(o) == 0)
    )  # fmt: skip
    assert sounding(DATA, early, 0, BAR) == 1 and sounding(DATA, early, BAR, 2 * BAR) == 0.5
    (less,) = answers(cue(Brief(shapes=(peak,))), DATA, early, ())
    assert less.state == "bent" and less.detail.endswith("; bar 1 fuller, 100%")


@pytest.mark.parametrize(
    ("wanted", "intent", "bar", "says"),
    [
        ([VIOLIN, CLASH], "full", "2", "kept: moment, bar 2, beat 1: hit (clash: viola)"),
        ([VIOLIN], "full", "2", "refused: moment, bar 2, beat 1: hit (the cheapest draft found leaves out the stroke offered)"),
        ([VIOLIN], "full", "1", "refused: moment, bar 1, beat 1: hit (no stroke or colour answers it)"),
        ([VIOLIN], "faithful", "1",
         "refused: moment, bar 1, beat 1: hit (no stroke or colour answers it; the brief has none added)"),
    ],
)  # fmt: skip
def test_a_moment_tells_what_answers_it(wanted: list[tuple[str, str, int]], intent: str, bar: str, says: str) -> None:
    assert told(*wanted, intent=intent, moments=(Hit(bar, 1, "hit"),)) == [says]


def test_a_passage_tells_how_many_of_its_preferences_are_kept() -> None:
    own = [
        Direction(Bars("1", "2"), role, prefer=("violin",), origin="like palette:mud") for role in ("melody", "bass")
    ]
    found = [Verdict(str(own[0]), "kept"), Verdict(str(own[1]), "bent", "kept in 50% of it")]
    said = cue(Brief(directions=(*own, Direction(prefer=("viola",)))))
    assert [str(one) for one in likes(said, found)] == [
        "bent: bars 1-2: like palette:mud (1 of its 2 preferences kept, 1 in part)"
    ]
