"""How a row of instruments.toml becomes an instrument, and which rows are refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from autoorch.errors import TableError
from autoorch.instruments import DYNAMICS, Instrument, read_instruments
from autoorch.tables import load_tables, shipped

ALL = list(load_tables().instruments.values())
ROWS = """
[sources]
memory = "not looked up"
[families.brass]
group = "Brass"
aliases = ["brasses"]
[instrument.horn]
name = "Horn in F"
player = "Horn"
plural = "Horns"
short = "Hn."
aliases = ["hn"]
family = "brass"
kind = "wind"
power = "horn"
normal = ["G2", "D5"]
extreme = ["B1", "F5"]
transposition = [4, 7]
clefs = ["treble"]
sound = "brass.french-horn"
gm = 61
notes = 1
registers = [
  { name = "low", low = "B1", high = "C4", strength = 0, softest = "p", loudest = "f", sources = ["memory"] },
  { name = "high", low = "C#4", high = "F5", strength = 1, softest = "p", loudest = "ff", sources = ["memory"] },
]
fluency = { repeat_per_s = [7, 9.6], moving_per_s = [6, 12], held_s = [10, 15], stretch_s = [10, 24], leap = 12, sources = [] }
sources = ["memory"]
"""


def read(tmp_path: Path, text: str) -> dict[str, Instrument]:
    path = tmp_path / "instruments.toml"
    path.write_text(text, "utf-8")
    return read_instruments(path)


def test_a_row_becomes_an_instrument(tmp_path: Path) -> None:
    horn = read(tmp_path, ROWS)["horn"]
    assert (horn.normal, horn.extreme) == ((43, 74), (35, 77))
    assert horn.fluency.held_s == (10.0, 15.0)
    assert horn.aliases == ("horn", "horn in f", "hn")
    assert horn.groups == ("horn", "horns", "brass", "brasses")
    assert (horn.bracket, horn.staves, horn.gm_section) == ("Brass", 1, 61)


def test_the_nearest_register_answers_outside_all(tmp_path: Path) -> None:
    horn = read(tmp_path, ROWS)["horn"]
    names = [band.name for band in (horn.register(midi) for midi in (20, 35, 60, 61, 90)) if band]
    assert names == ["low", "low", "low", "high", "high"]


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        ('family = "brass"', 'family = "bras"', "family", "no such family; known: brass"),
        ('kind = "wind"', 'kind = "blown"', "kind", "must be one of"),
        ('["G2", "D5"]', '["G2", "D6"]', "normal", "reaches beyond the extreme range"),
        ('["G2", "D5"]', '["D5", "G2"]', "normal", "D5 lies above G2"),
        ('["G2", "D5"]', '["G2"]', "normal", "wants two pitches"),
        ('["G2", "D5"]', '["G2", "H5"]', "normal", "no pitch name"),
        ('["B1", "F5"]', '["B1", "F12"]', "extreme", "outside MIDI's 0 to 127"),
        ('normal = ["G2", "D5"]\n', "", "normal", "is missing"),
        ('low = "C#4"', 'low = "D4"', "registers", '"high" must start a semitone above the end of "low"'),
        ('low = "B1"', 'low = "A2"', "registers", "do not cover the normal range"),
        ('softest = "p", loudest = "f"', 'softest = "f", loudest = "p"', "registers", '"low" is upside down'),
        ("[4, 7]", "[4]", "transposition", "wants [letters, semitones]"),
        ('clefs = ["treble"]', "clefs = []", "clefs", "is empty"),
        ("gm = 61", "gm = 0", "gm_key", "exactly where gm is 0"),
        ("[6, 12]", "[12, 6]", "fluency.moving_per_s", "the second not the smaller"),
        ('sources = ["memory"]\n', 'sources = ["hearsay"]\n', "sources", '"hearsay" is not among the sources'),
        ("gm = 61", "gm = 61\nmood = 3", "mood", "unknown key"),
        ('short = "Hn."\n', "", "short", "is missing"),
    ],
)
def test_an_absurd_row_is_refused(tmp_path: Path, old: str, new: str, key: str, says: str) -> None:
    assert ROWS.count(old) >= 1
    with pytest.raises(TableError) as caught:
        read(tmp_path, ROWS.replace(old, new))
    assert caught.value.key == f"instrument.horn.{key}"
    assert caught.value.file == "instruments.toml"
    assert says in str(caught.value)


def test_two_instruments_cannot_share_an_alias(tmp_path: Path) -> None:
    head, row = ROWS.split("[instrument.horn]")
    second = "[instrument.horn_c]" + row.replace("Horn in F", "Horn in C")
    with pytest.raises(TableError, match=r'instrument\.horn_c\.aliases: "hn" already means horn'):
        read(tmp_path, head + "[instrument.horn]" + row + second)


@pytest.mark.parametrize("instrument", ALL, ids=lambda each: each.id)
def test_ranges_and_registers_hold_together(instrument: Instrument) -> None:
    assert instrument.extreme[0] <= instrument.normal[0] < instrument.normal[1] <= instrument.extreme[1]
    if instrument.kind == "unpitched":
        assert instrument.registers == ()
        return
    covered = [midi for band in instrument.registers for midi in range(band.low, band.high + 1)]
    assert covered == list(range(covered[0], covered[-1] + 1))
    assert set(range(instrument.normal[0], instrument.normal[1] + 1)) <= set(covered)
    assert instrument.extreme[0] <= covered[0]
    assert covered[-1] <= instrument.extreme[1]
    assert all(DYNAMICS.index(band.softest) < DYNAMICS.index(band.loudest) for band in instrument.registers)


@pytest.mark.parametrize("instrument", ALL, ids=lambda each: each.id)
def test_each_instrument_is_complete(instrument: Instrument) -> None:
    breathes = instrument.kind in ("wind", "voice")
    assert (instrument.fluency.held_s is not None) == breathes
    assert (instrument.fluency.stretch_s is not None) == breathes
    assert (instrument.notes == 1) == (
        instrument.kind in ("wind", "voice", "unpitched") or instrument.id == "double_bass"
    )
    assert instrument.power in load_tables().rule("balance")["power"]
    assert instrument.sources
    assert instrument.name != instrument.short


def test_open_strings_and_drums_lie_in_the_range() -> None:
    for instrument in ALL:
        low, high = instrument.extreme
        assert all(low <= midi <= high for midi in instrument.strings)
        assert all(low <= bottom < top <= high for bottom, top in instrument.drums)
        if instrument.strings and not instrument.extension:
            assert instrument.strings[0] == instrument.normal[0]


def test_score_order_is_the_trade_s() -> None:
    # Woodwind, brass, timpani, percussion, harp and keyboards, voices, strings; horns above trumpets (common practice).
    order = [each.id for each in ALL]
    usual = [
        "piccolo", "flute", "oboe", "cor_anglais", "clarinet_eb", "clarinet_bb", "bass_clarinet", "bassoon",
        "contrabassoon", "horn", "trumpet_bb", "trombone", "bass_trombone", "tuba", "timpani", "triangle", "glockenspiel",
        "harp", "celesta", "piano", "soprano", "alto", "tenor", "bass", "violin", "viola", "cello", "double_bass",
    ]  # fmt: skip
    assert [name for name in order if name in usual] == usual
    families = list(dict.fromkeys(each.family for each in ALL))
    assert families == ["woodwind", "brass", "percussion", "harp", "keyboard", "voice", "strings"]


def test_every_source_of_the_table_is_used() -> None:
    rule = load_tables().rule("instruments")
    used = {word for row in rule["instrument"].values() for word in (*row["sources"], *row["fluency"]["sources"])}
    used |= {
        word for row in rule["instrument"].values() for band in row.get("registers", ()) for word in band["sources"]
    }
    assert used == set(rule["sources"])
    assert (shipped() / "instruments.toml").is_file()
