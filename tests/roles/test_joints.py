"""Runs of phrases: the best row of all, not the best run after run."""

from __future__ import annotations

from itertools import combinations, pairwise

from autoorch.roles.joints import best_joints

GAINS = (5.0, 0.0, 1.5, 0.25, 0.0, 2.0, 0.5)


def test_no_phrases_have_no_joints() -> None:
    assert best_joints([], lambda first, end: 1.0) == []


def test_the_row_is_the_best_of_all_rows() -> None:
    """Every way to cut seven phrases, with lengths that cost this and that."""

    def unusual(first: int, end: int) -> float:
        return ((first * 37 + end * 61) % 101) / 70 + abs(end - first - 3)

    def worth(row: tuple[int, ...]) -> float:
        return sum((GAINS[a] if a else 0.0) - unusual(a, b) for a, b in pairwise((*row, len(GAINS))))

    rows = [(0, *inner) for count in range(7) for inner in combinations(range(1, 7), count)]
    assert tuple(best_joints(GAINS, unusual)) == max(rows, key=worth)


def test_a_run_that_cannot_be_is_not_taken() -> None:
    assert best_joints([0.0] * 4, lambda first, end: 1.0 if end - first == 2 else float("inf")) == [0, 2]


def test_of_equal_rows_one_has_the_long_run_last() -> None:
    pairs = {1: 1.0, 2: 1.0, 3: 9.0}
    assert best_joints([0.0] * 3, lambda first, end: pairs[end - first]) == [0, 2]
    assert best_joints([0.0] * 3, lambda first, end: pairs[end - first], long_last=True) == [0, 1]
