"""Words of playing at the attacks they hold for, each ended before the ordinary way."""

from __future__ import annotations

from dataclasses import replace

from autoorch.layers.model import MaterialNote
from autoorch.pitch import parse
from autoorch.score.streams import Played
from autoorch.score.techniques import rung, signed, technique_words
from autoorch.tables import load_tables

WAYS = load_tables().rule("techniques")["technique"]


def played(*ways: str) -> list[Played]:
    note = MaterialNote("n", 0, 4, parse("G4"), (), ("accent",))
    return [Played(note, 4 * k, 4 * k + 4, 0, "s1.1", techniques=tuple(way.split())) for k, way in enumerate(ways)]


def words(*ways: str) -> list[tuple[int, str]]:
    return [(mark.tick // 4, mark.value) for mark in technique_words(played(*ways), WAYS)]


def test_each_way_begins_and_ends_in_words() -> None:
    assert words("", "pizz", "pizz", "", "pizz") == [(1, "pizz."), (3, "arco"), (4, "pizz.")]
    assert words("con_sord", "con_sord", "") == [(0, "con sord."), (2, "senza sord.")]


def test_ways_of_one_group_follow_without_the_ordinary_one_between() -> None:
    assert words("pizz", "col_legno", "") == [(0, "pizz."), (1, "col legno"), (2, "ord.")]


def test_another_group_ends_what_is_in_force() -> None:
    assert words("pizz", "con_sord") == [(0, "pizz."), (1, "arco"), (1, "con sord.")]


def test_a_mute_stays_while_the_right_hand_changes() -> None:
    assert words("con_sord", "con_sord pizz", "con_sord trem", "pizz", "") == [
        (0, "con sord."), (1, "pizz."), (2, "arco"), (3, "senza sord."), (3, "pizz."), (4, "arco"),
    ]  # fmt: skip
    (note,) = signed(played("con_sord trem sul_pont"), WAYS)
    assert note.note.marks == ("accent", "tremolo-3")


def test_tremolo_is_a_sign_and_takes_the_bow() -> None:
    assert words("pizz", "trem", "") == [(0, "pizz."), (1, "arco")]
    assert [note.note.marks for note in signed(played("", "trem"), WAYS)] == [("accent",), ("accent", "tremolo-3")]


def test_plucked_notes_have_no_dots() -> None:
    dotted = [
        replace(note, note=replace(note.note, marks=("accent", "staccato"))) for note in played("", "pizz", "con_sord")
    ]
    assert [note.note.marks for note in signed(dotted, WAYS)] == [
        ("accent", "staccato"), ("accent",), ("accent", "staccato"),
    ]  # fmt: skip


def test_plucked_notes_are_not_written_longer_than_they_ring() -> None:
    """Notes of four ticks; half a second a tick, then a tenth; a beat is two ticks."""

    def lengths(a_tick: float, *ways: str, marks: tuple[str, ...] = ()) -> list[int]:
        notes = [replace(note, note=replace(note.note, marks=marks)) for note in played(*ways)]
        return [note.end - note.onset for note in rung(notes, WAYS, lambda tick: a_tick * tick, lambda tick: 2)]

    assert lengths(0.5, "pizz", "", "con_sord pizz", "trem") == [2, 4, 2, 4]
    assert lengths(0.1, "pizz", "") == [4, 4]
    assert lengths(0.5, "pizz", marks=("fermata",)) == [4]


def test_a_stopped_horn_has_words_and_a_cross_on_each_note() -> None:
    assert words("", "stopped", "") == [(1, "gest."), (2, "offen")]
    assert [note.note.marks for note in signed(played("stopped"), WAYS)] == [("accent", "stopped")]


def test_a_wind_is_told_that_it_is_alone_and_a_section_elsewhere() -> None:
    assert words("", "solo", "solo", "") == [(1, "solo")]
    assert technique_words(played("solo"), WAYS, section=True) == []
    assert [mark.value for mark in technique_words(played("sul_g"), WAYS, section=True)] == ["sul G"]
