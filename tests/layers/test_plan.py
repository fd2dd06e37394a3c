"""One peak, louder phrases fuller, a restatement fuller on the way to the peak and smaller after it."""

from __future__ import annotations

from autoorch.brief import Brief, parse_brief
from autoorch.layers.plan import make_plan
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch.model import Bar, Sketch, Staff
from autoorch.tables import load_tables

SKETCH = Sketch(4, (Staff(0, ""),), tuple(Bar(k, str(k + 1), 16 * k, 16, (4, 4), 0) for k in range(4)), ())


def test_shape() -> None:
    marks = [("A", "p"), ("A'", "p"), ("B", "f"), ("A''", "p")]
    phrases = tuple(Phrase(k * 16, k * 16 + 16, label, dynamic) for k, (label, dynamic) in enumerate(marks))
    plan = make_plan(SKETCH, Reading((), phrases, ()), Brief(), load_tables())
    first, again, middle, last = (phrase.weight for phrase in plan)
    assert [phrase.peak for phrase in plan] == [False, False, True, False]
    assert last < first < again < middle


def test_the_brief_shapes_it() -> None:
    phrases = tuple(Phrase(k * 16, k * 16 + 16, "", "mf") for k in range(4))
    brief = parse_brief('[[shape]]\nbars = "2-3"\nweight = 0.9\npeak = true\n')
    plan = make_plan(SKETCH, Reading((), phrases, ()), brief, load_tables())
    assert [p.weight == 0.9 for p in plan] == [False, True, True, False]
    assert [p.peak for p in plan] == [False, True, False, False]
