"""Weights of phrases by themselves: loud ones on end grow, an ending does not, the peak has room above what leads to it."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.instruments import DYNAMICS
from autoorch.layers.weights import Loudness
from autoorch.roles.model import Phrase, Reading
from autoorch.tables import load_tables

TABLES = load_tables()
TOLERANCE = TABLES.rule("texture")["tolerance"]


def weights(peak: int, *phrases: str) -> list[list[float]]:
    """For each phrase of its own material, given as "f" or as "f pp" where it turns, the weights from its start and its turn."""
    levels = [
        tuple((16 * k + 8 * n, DYNAMICS.index(dynamic)) for n, dynamic in enumerate(text.split()))
        for k, text in enumerate(phrases)
    ]
    read = tuple(Phrase(16 * k, 16 * k + 16, chr(65 + k), text.split()[0]) for k, text in enumerate(phrases))
    loud = Loudness(Reading((), read, ()), levels, peak, [None] * len(levels), TABLES)
    return [[loud.weight(k, level) for _, level in own] for k, own in enumerate(levels)]


def firsts(found: Sequence[Sequence[float]]) -> list[float]:
    return [own[0] for own in found]


def test_loud_phrases_on_end_grow_by_steps_that_are_heard() -> None:
    found = firsts(weights(6, "p", "f", "f", "f", "p", "f", "ff"))
    assert found[1] + TOLERANCE < found[2] < found[3] - TOLERANCE
    assert found[3] < found[6] == max(found)


def test_what_leads_to_the_peak_leaves_it_room() -> None:
    apart, leading = firsts(weights(6, "p", "f", "f", "f", "p", "f", "f")), firsts(weights(4, "p", "f", "f", "f", "f"))
    assert leading[1] < leading[2] < leading[3] < apart[3]
    assert leading[4] - leading[3] > 2 * TOLERANCE


def test_a_phrase_that_falls_off_begins_as_full_as_the_one_before() -> None:
    found = weights(5, "p", "f", "f", "f pp", "p", "ff")
    assert found[1][0] < found[2][0] == found[3][0] > found[3][1]


def test_an_ending_that_stays_loud_does_not_grow() -> None:
    found = firsts(weights(1, "p", "ff", "f", "f", "f"))
    assert found[4] <= found[3] < found[1]
