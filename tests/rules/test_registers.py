"""Register bands: safe notes are cheaper than extreme ones, strong bands better for a tune than weak ones."""

from __future__ import annotations

from autoorch.rules import registers, report
from tests.support.tiny import line, players, problem, strand, taken


def cost(name: str, text: str, dynamic: str) -> int:
    data = problem(players(name), strand("s1", "melody", line("s1.1", text)), dynamic=dynamic)
    return report(registers, data, taken(data, (name, "s1.1", 0))).cost


def test_low_flute_is_no_forte_tune() -> None:
    # Rimsky-Korsakov ch. I: the flute's low register is dull and weak, the high one brilliant
    assert cost("flute", "D4 E4 F4 E4", "f") > cost("flute", "D6 E6 F6 E6", "f")


def test_notes_beyond_the_safe_range_cost() -> None:
    assert cost("oboe", "G6 G6 G6 G6", "mf") > cost("oboe", "G5 G5 G5 G5", "mf") == 0


def test_outside_the_extreme_range_there_is_no_option() -> None:
    data = problem(players("flute", "violin"), strand("s1", "melody", line("s1.1", "G3 A3 B3 A3")))
    assert not [o for o in data.options if data.instrument(o).id == "flute" and o.octave == 0]
