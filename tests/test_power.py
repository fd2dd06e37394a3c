"""Powers: Rimsky-Korsakov's equations, sections, registers, and tables that are refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from autoorch.errors import TableError
from autoorch.instruments import DYNAMICS
from autoorch.power import manner, power
from autoorch.tables import load_tables, shipped

TABLES = load_tables()
ALL = TABLES.instruments


def at(name: str, dynamic: str, size: int = 1, midi: int | None = None) -> int:
    return power(TABLES, ALL[name], size, dynamic, midi)


# Rimsky-Korsakov, Principles of Orchestration (1922), ch. I, "Comparison of resonance".
def test_in_forte_a_trumpet_equals_two_horns_and_a_horn_two_woodwinds() -> None:
    for name in ("trumpet_bb", "trumpet_c", "trombone", "bass_trombone", "tuba"):
        assert abs(at(name, "f") - 2 * at("horn", "f")) <= 2
    for name in ("flute", "oboe", "clarinet_bb", "bassoon"):
        assert abs(at("horn", "f") - 2 * at(name, "f")) <= 2


def test_in_piano_all_winds_are_equal_and_a_section_equals_one_of_them() -> None:
    winds = ("flute", "oboe", "clarinet_bb", "bassoon", "horn", "trumpet_bb", "trombone", "tuba")
    assert {at(name, "p") for name in winds} == {100}
    assert {at(name, "p", 12) for name in ("violin", "viola", "cello", "double_bass")} == {100}


def test_in_forte_a_string_section_equals_two_woodwinds() -> None:
    assert at("violin", "f", 12) == 2 * at("flute", "f")


def test_forte_holds_in_like_registers_too() -> None:
    # Trumpet C5, horn A4 and clarinet C5 all stand in a strong register of the table.
    assert abs(at("trumpet_bb", "f", midi=72) - 2 * at("horn", "f", midi=69)) <= 2
    assert abs(at("horn", "f", midi=69) - 2 * at("clarinet_bb", "f", midi=72)) <= 2


def test_four_times_the_players_are_twice_as_strong_a_section() -> None:
    # Square root of the size; equal players add 3 dB a doubling.
    assert abs(at("violin", "p", 16) - 2 * at("violin", "p", 4)) <= 2
    assert at("violin", "p", 12) == power(TABLES, ALL["violin"], 24, "p", share=6)


@pytest.mark.parametrize("name", sorted(ALL))
def test_louder_marks_are_never_weaker(name: str) -> None:
    values = [at(name, dynamic) for dynamic in DYNAMICS]
    assert values == sorted(values)
    assert values[0] > 0
    sizes = [at(name, "mf", size) for size in (1, 2, 4, 8, 16)]
    assert sizes == sorted(sizes)


def test_a_low_flute_never_gets_loud_and_a_high_trumpet_never_soft() -> None:
    # Belkin: a low flute can never be loud, high brass never very soft.
    assert at("flute", "ff", midi=60) == at("flute", "mf", midi=60) < at("flute", "ff", midi=91) // 2
    assert at("trumpet_bb", "pp", midi=84) == at("trumpet_bb", "f", midi=84) > at("trumpet_bb", "f", midi=72)


def test_mutes_and_plucking_take_from_the_power() -> None:
    assert manner(TABLES, ()) == 1.0
    assert manner(TABLES, ("con_sord", "pizz")) == manner(TABLES, ("con_sord",)) * manner(TABLES, ("pizz",)) < 1.0


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("horn = [100, 100, 100,", "horn = [100, 100,", "power.horn: must have 8 columns, ppp pp p"),
        ('"ppp", "pp",', '"pp", "ppp",', "dynamics: must read ppp pp"),
        ('powers = ["strings",', 'powers = ["band",', 'section.powers: "band" has no row in power'),
        ("unit = 12", "unit = 0", "section.unit: must be from 1 to 100, not 0"),
        ("horn = [100, 100, 100, 133, 167, 200, 200, 200]\n", "", "power.horn: has no row for horn"),
    ],
)
def test_a_wrong_table_is_refused(tmp_path: Path, old: str, new: str, says: str) -> None:
    text = (shipped() / "balance.toml").read_text("utf-8")
    assert old in text
    (tmp_path / "balance.toml").write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(TableError) as caught:
        power(load_tables(tmp_path), ALL["horn"], 1, "f")
    assert f"balance.toml, {says}" in str(caught.value)
