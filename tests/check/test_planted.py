"""Faults planted at random into a clean score are found, by the rule that is meant, in their part and bar."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from autoorch.check import CheckReport, check
from tests.check.host import chorale_host
from tests.check.kinds import KINDS, silence_the_fault


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> CheckReport:
    return check(chorale_host().save(tmp_path_factory.mktemp("host") / "host.musicxml"))


def test_the_host_is_clean(clean: CheckReport) -> None:
    """Chorales laid out by rote: nothing unplayable, little else."""
    assert clean.notes > 3000
    assert clean.unplayable == 0
    assert clean.rate("risky") < 2
    assert clean.rate("style") < 2


@pytest.mark.parametrize("name", KINDS)
def test_a_planted_fault_is_found(name: str, clean: CheckReport, tmp_path: Path) -> None:
    host = chorale_host()
    planted = KINDS[name](host, random.Random(name))
    assert planted is not None
    report = check(host.save(tmp_path / "planted.musicxml"))
    assert planted.found(clean, report, host.numbers), planted


def test_what_is_no_fault_is_not_found(clean: CheckReport, tmp_path: Path) -> None:
    host = chorale_host()
    planted = silence_the_fault(host, random.Random(1))
    assert planted is not None
    assert not planted.found(clean, check(host.save(tmp_path / "planted.musicxml")), host.numbers)
