"""Two notes at once on a string instrument: the hand's frame is the one that the checker asks for (constraints/limits.toml)."""

from __future__ import annotations

import pytest

from autoorch.check.families.stops import stretch
from autoorch.pitch import parse
from autoorch.problem.feasible import double_stop
from autoorch.tables import load_tables

TABLES = load_tables()
LIMITS = TABLES.rule("limits")["strings"]
HIGHEST = TABLES.rule("playability")["stroke"]["stop"]


def can(instrument: str, low: str, high: str) -> bool:
    """Whether one player can stop the two."""
    pitches = (parse(low).midi, parse(high).midi)
    return double_stop(TABLES.instruments[instrument], pitches, LIMITS["span"][instrument][0], HIGHEST)


# An octave lies under a violinist's hand (first and fourth finger) and not under a cellist's without the thumb (common practice).
@pytest.mark.parametrize(
    ("instrument", "low", "high", "possible"),
    [
        ("violin", "A3", "A4", True),
        ("cello", "F2", "F3", False),
        ("cello", "C2", "C3", True),
        ("cello", "F2", "D3", True),
        ("violin", "A3", "C6", False),
    ],
)
def test_an_octave_is_for_hands_that_span_it(instrument: str, low: str, high: str, possible: bool) -> None:
    assert can(instrument, low, high) is possible


def test_what_is_offered_is_comfortable_for_the_checker() -> None:
    """Every pair of notes that is offered to one player lies in the checker's comfortable span."""
    offered = 0
    for name in ("violin", "viola", "cello", "double_bass"):
        instrument = TABLES.instruments[name]
        easy = LIMITS["span"][name][0]
        for low in range(instrument.extreme[0], instrument.extreme[0] + 24):
            for high in range(low + 1, low + 20):
                if double_stop(instrument, (low, high), easy, HIGHEST):
                    span = stretch(instrument, (low, high), LIMITS)
                    assert span is not None and span <= easy
                    offered += 1
    assert offered > 200
