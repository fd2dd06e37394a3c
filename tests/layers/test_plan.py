"""One peak, louder phrases fuller, a restatement fuller on the way to the peak and smaller after it."""

from __future__ import annotations

from autoorch.layers.plan import make_plan
from autoorch.roles.model import Phrase, Reading
from autoorch.tables import load_tables


def test_shape() -> None:
    marks = [("A", "p"), ("A'", "p"), ("B", "f"), ("A''", "p")]
    phrases = tuple(Phrase(k * 16, k * 16 + 16, label, dynamic) for k, (label, dynamic) in enumerate(marks))
    plan = make_plan(Reading((), phrases, ()), load_tables())
    first, again, middle, last = (phrase.weight for phrase in plan)
    assert [phrase.peak for phrase in plan] == [False, False, True, False]
    assert last < first < again < middle
