"""The chain with the greatest expected F1."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from autoorch.roles.chain import Links, best_expected, links
from autoorch.roles.features import Numbers, clock
from autoorch.roles.texture import Texture
from tests.roles.support import sketch


def ways() -> Links:
    rows = [
        (0, 1, "C5"),
        (0, 2, "E4"),
        (1, 1, "D5"),
        (2, 1, "E5"),
        (2, 1, "C4"),
        (3, 1, "F5"),
        (3, 1, "D4"),
        (3.5, 0.5, "B3"),
    ]
    time = clock(Texture(sketch(*rows, bars=1)), 0.05)
    return links(time, np.arange(len(rows)))


def expected(chance: Numbers, chain: tuple[int, ...]) -> float:
    return 2 * float(chance[list(chain)].sum()) / (len(chain) + float(chance.sum()))


@pytest.mark.parametrize("seed", range(5))
def test_no_other_chain_can_expect_more(seed: int) -> None:
    found = ways()
    after = set(zip(found.first.tolist(), found.second.tolist(), strict=True))
    chance = np.random.default_rng(seed).uniform(0.02, 0.95, 8)
    chains = [
        chain
        for size in range(1, 6)
        for chain in itertools.combinations(range(8), size)
        if all(pair in after for pair in itertools.pairwise(chain))
    ]
    assert len(chains) > 20
    best = max(expected(chance, chain) for chain in chains)
    assert expected(chance, tuple(best_expected(found, chance, 1.0))) == pytest.approx(best, abs=2e-3)


def test_a_low_limit_keeps_what_is_likelier() -> None:
    found = ways()
    chance = np.array([0.9, 0.05, 0.3, 0.9, 0.05, 0.3, 0.05, 0.05])
    assert len(best_expected(found, chance, 0.2)) == 4
    assert len(best_expected(found, chance, 1.0)) == 2
    assert best_expected(found, np.zeros(8), 0.2) == []
