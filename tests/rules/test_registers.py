"""Register bands: safe notes are cheaper than extreme ones, strong bands better for a tune than weak ones."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.level import less, safe_range
from autoorch.lineup import from_rows, of_level, rows_of
from autoorch.rules import registers, report
from autoorch.tables import load_tables
from tests.support.tiny import line, players, problem, strand, taken


def cost(name: str, text: str, dynamic: str, role: str = "melody") -> int:
    data = problem(players(name), strand("s1", role, line("s1.1", text)), dynamic=dynamic)
    return report(registers, data, taken(data, (name, "s1.1", 0))).cost


def test_low_flute_is_no_forte_tune() -> None:
    # Rimsky-Korsakov ch. I: the flute's low register is dull and weak, the high one brilliant
    assert cost("flute", "D4 E4 F4 E4", "f") > cost("flute", "D6 E6 F6 E6", "f")


def test_notes_beyond_the_safe_range_cost() -> None:
    assert cost("oboe", "G6 G6 G6 G6", "mf") > cost("oboe", "G5 G5 G5 G5", "mf")
    assert cost("oboe", "D5 D5 D5 D5", "mf") == 0, "where it lies on the median"


def test_usual_notes_are_those_of_the_role() -> None:
    for name, tune, below in (("flute", "D6", "G5"), ("bassoon", "C4", "F3"), ("violin", "C5", "F#4")):
        for role, better, worse in (("melody", tune, below), ("inner", below, tune)):
            there, other = (cost(name, " ".join([pitch] * 16), "mf", role) for pitch in (better, worse))
            assert there < other, (name, role)
    assert cost("cello", "C3 C3 C3 C3", "p", "bass") < cost("cello", "A3 A3 A3 A3", "p", "bass")


def test_each_note_beyond_the_safe_range_is_an_event() -> None:
    """One attack at F6 or three, in the same share of the time."""
    each = load_tables().rule("registers")["beyond_normal"]
    tune = [line("s1.1", "E5 E5 F6 F6", 1.0), line("s1.1", "E5 E5 E5 E5 F6 F6 F6 F6", 0.5)]
    two, four = (
        report(registers, data, taken(data, ("oboe", "s1.1", 0))).cost
        for data in (problem(players("oboe"), strand("s1", "melody", one)) for one in tune)
    )
    assert four - two == 2 * each > 0


def test_one_note_beyond_the_safe_ones_is_dear_for_a_student_only() -> None:
    text, within = "C6 D6 E6 F#6", "C6 D6 E6 F6"
    tables = load_tables()
    row = less("student", tables)
    assert row is not None
    costs = {}
    for level in ("", "student"):
        lineup = of_level(players("flute"), level, tables)
        for notes in (text, within):
            data = problem(lineup, strand("s1", "melody", line("s1.1", notes)), dynamic="mf")
            costs[level, notes] = report(registers, data, taken(data, (lineup.players[0].name, "s1.1", 0))).cost
    assert costs["student", text] - costs["student", within] >= row["beyond"] * 4 / 100
    assert costs["", text] - costs["", within] < 4
    lineup = of_level(players("flute"), "student", tables)
    data = problem(lineup, strand("s1", "melody", line("s1.1", "C5 D5 E5 F5")), dynamic="mf")
    assert report(registers, data, taken(data, ("flute", "s1.1", 1))).cost == costs["student", within], "an octave up"


def test_players_of_two_levels_are_each_held_to_their_own_safe_notes() -> None:
    tables = load_tables()
    rows = [
        row | {"level": level}
        for row, level in zip(rows_of(players("flute", "flute"), tables), ("", "student"), strict=True)
    ]
    lineup = from_rows("mixed", rows, tables)
    data = problem(lineup, strand("s1", "melody", line("s1.1", "F#6 F#6 F#6 F#6")), dynamic="mf")
    first, second = (report(registers, data, taken(data, (player.name, "s1.1", 0))).cost for player in lineup.players)
    assert first < second


def test_what_a_student_changes_to_is_a_students_too() -> None:
    tables = load_tables()
    rows = [{"instrument": "flute", "doubles": ["piccolo"], "level": "student"}]
    lineup = from_rows("tiny", rows, tables)
    data = problem(lineup, strand("s1", "melody", line("s1.1", "C6 D6 E6 D6")), dynamic="mf")
    held = data.instrument(replace(data.options[0], instrument="piccolo"))
    assert held == lineup.players[0].doubles[0]
    assert held.normal == safe_range(tables.instruments["piccolo"], "student", tables)


@pytest.mark.parametrize(
    ("name", "usual", "unusual"),
    [
        ("cello", "C3 D3 C3 D3", "C2 D2 C2 D2"),
        ("trumpet_c", "A4 B4 A4 B4", "A3 G3 A3 G3"),
        ("horn", "D4 E4 D4 E4", "D3 C3 D3 C3"),
    ],
)
def test_inner_parts_lie_where_an_instrument_usually_plays(name: str, usual: str, unusual: str) -> None:
    assert cost(name, unusual, "mf", "inner") > cost(name, usual, "mf", "inner")


def test_a_weak_register_that_is_marked_too_loud_matters_most_in_front() -> None:
    dull = "C4 D4 C4 D4"
    front, inside = (
        cost("bassoon", dull, "ff", role) - cost("bassoon", dull, "mf", role) for role in ("melody", "inner")
    )
    assert front > inside > 0


def test_a_strong_register_accompanies_softly_an_overpowering_one_does_not() -> None:
    # the trombone's middle is overpowering, the violins' E string strong
    tables = load_tables()
    assert tables.instruments["trombone"].register(60).strength == 2  # type: ignore[union-attr]
    assert cost("trombone", "C4 C4 C4 C4", "p", "inner") > cost("trombone", "C4 C4 C4 C4", "mf", "inner")


def test_where_it_is_loudest_a_section_may_sing_below_the_upper_half_of_its_staff() -> None:
    low = "G4 A4 G4 A4"
    assert cost("violin", low, "mf") > cost("violin", low, "ff")


def test_outside_the_extreme_range_there_is_no_option() -> None:
    data = problem(players("flute", "violin"), strand("s1", "melody", line("s1.1", "G3 A3 B3 A3")))
    assert not [o for o in data.options if data.instrument(o).id == "flute" and o.octave == 0]
