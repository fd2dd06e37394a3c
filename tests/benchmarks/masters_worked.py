"""Short worked passages out of a table of notes, as real scores: who has the tune stands in constraints/palette.toml."""

from __future__ import annotations

import csv
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import ceil
from pathlib import Path

from autoorch.instruments import DYNAMICS, Instrument
from autoorch.layers.like import PALETTE_TABLE, SCHEMA
from autoorch.layers.passage import kin, named
from autoorch.pitch import from_midi
from autoorch.shorthand import parse_shorthand
from autoorch.sketch.model import Bar, Mark
from autoorch.tables import Tables
from tests.benchmarks.masters_score import ROMANTIC, Passage, Played, reduced, seats

TICKS = 96
SCORES: dict[str, tuple[int, int, float, str]] = {
    "Beach_Op.32_2": (12, 8, 60, "2+picc.2+eh.2.2 - 4.0.0.0 - str"),
    "Beethoven_Op.125_4": (4, 4, 160, "2+picc.2.2.2+cbsn - 4.2.3.0 - str"),
    "Beethoven_Op.21_1": (2, 2, 224, "2.2.2.2 - 2.2.0.0 - str"),
    "Beethoven_Op.55_1": (3, 4, 180, "2.2.2.2 - 3.2.0.0 - str"),
    "Beethoven_Op.67_1": (2, 4, 216, "2.2.2.2 - 2.2.0.0 - str"),
    "Beethoven_Op.67_2": (3, 8, 92, "2.2.2.2 - 2.2.0.0 - str"),
    "Beethoven_Op.67_4": (4, 4, 168, "2+picc.2.2.2+cbsn - 2.2.3.0 - str"),
    "Beethoven_Op.68_1": (2, 4, 132, "2.2.2.2 - 2.0.0.0 - str"),
    "Beethoven_Op.92_2": (2, 4, 76, "2.2.2.2 - 2.2.0.0 - str"),
    "Beethoven_Op.93_2": (2, 4, 88, "2.2.2.2 - 2.2.0.0 - str"),
    "Brahms_Op.68_3": (2, 4, 92, "2.2.2.2 - 4.2.0.0 - str"),
    "Brahms_Op.68_4": (4, 4, 80, "2.2.2.2+cbsn - 4.2.3.0 - str"),
    "Brahms_Op.73_1": (3, 4, 120, "2.2.2.2 - 4.2.3.1 - str"),
    "Brahms_Op.73_3": (3, 4, 84, "2.2.2.2 - 3.0.0.0 - str"),
    "Brahms_Op.90_3": (3, 8, 116, "2.2.2.2 - 2.0.0.0 - str"),
    "Brahms_Op.98_1": (2, 2, 132, "2.2.2.2 - 4.2.0.0 - str"),
    "Bruckner_WAB.105_2": (2, 2, 60, "2.2.2.2 - 4.3.3.1 - str"),
    "Schubert_D.485_1": (2, 2, 200, "1.2.0.2 - 2.0.0.0 - str"),
}
"""Metre, quarters a minute and the whole orchestra of the movement without its drums, which the table of notes does not hold: who
rests in a passage is scored to rest (Beethoven's tempos are his own marks; the rest from memory)."""
AS_WRITTEN = {("Brahms_Op.68_4", "C Horn")}
"""Movement, kind of part: horns in C, which sound an octave below what the table of notes has (up to G5, above any horn)."""
_Row = dict[str, str]


def worked(path: Path, tables: Tables) -> Iterator[Passage]:
    """Every passage of the table (movement, first_bar, passage, part, onset_quarter, duration_quarter, sounding_pitch_midi,
    dynamic), in its order."""
    groups: dict[tuple[str, str, str], list[_Row]] = defaultdict(list)
    with path.open(newline="") as file:
        for row in csv.DictReader(file):
            groups[row["movement"], row["first_bar"], row["passage"]].append(row)
    for (movement, first, name), rows in groups.items():
        yield _passage(movement, f"{name} {first}", rows, tables)


def _passage(movement: str, name: str, rows: Sequence[_Row], tables: Tables) -> Passage:
    beats, unit, pace, orchestra = SCORES[movement]
    heard = list(dict.fromkeys(row["part"] for row in rows))
    parts = everybody(heard, orchestra, tables)
    sizes = "romantic" if movement.casefold().startswith(ROMANTIC) else "classical"
    lineup, staff_of = seats(parts, sizes, name, tables)
    played = [
        (
            parts.index(row["part"]),
            Played(
                _ticks(row["onset_quarter"]),
                _ticks(row["onset_quarter"]) + max(1, _ticks(row["duration_quarter"])),
                from_midi(_sounding(row)),
            ),
        )
        for row in rows
        if _ticks(row["onset_quarter"]) >= 0
    ]
    length = TICKS * 4 * beats // unit
    count = ceil(max(note.end for _, note in played) / length)
    bars = tuple(Bar(k, str(k + 1), k * length, length, (beats, unit), 0) for k in range(count))
    lead = parts.index(heard[leader(heard, rows, tables)])
    marks = [Mark("tempo", 0, 0, -1, f"{pace:g}"), *_dynamics(rows, length, count)]
    return reduced(name, played, lambda tick: lead, lineup, staff_of, TICKS, bars, marks)


def _ticks(quarters: str) -> int:
    return round(Fraction(quarters).limit_denominator(TICKS) * TICKS)


def _sounding(row: _Row) -> int:
    """MIDI pitch."""
    written = (row["movement"], _numbered(row["part"])[0]) in AS_WRITTEN
    return int(row["sounding_pitch_midi"]) - 12 * written


def everybody(parts: Sequence[str], orchestra: str, tables: Tables) -> list[str]:
    """These parts and, called like them, those that an orchestra (in shorthand) has besides, of each kind by number."""
    kinds: dict[str, dict[int, str]] = defaultdict(dict)
    for part in parts:
        instrument, (stem, number) = named(part, tables), _numbered(part)
        assert instrument is not None, part
        own = kinds[_kind(instrument)]
        own[number or len(own) + 1] = part
    wanted = Counter(_kind(seat.instrument) for seat in parse_shorthand(orchestra, tables))
    for seat in parse_shorthand(orchestra, tables):
        own, most = kinds[_kind(seat.instrument)], wanted[_kind(seat.instrument)]
        stem = _numbered(own[min(own)])[0] if own else seat.instrument.name
        free = [number for number in range(1, most + 1) if number not in own]
        if len(own) < most:
            own[free[0]] = f"{stem} {free[0]}"
    return [own[number] for own in kinds.values() for number in sorted(own)]


def _numbered(part: str) -> tuple[str, int]:
    """What a part is called, and its number (0 without)."""
    stem, _, number = part.rpartition(" ")
    return (stem, int(number)) if number.isdecimal() else (part, 0)


def _kind(instrument: Instrument) -> str:
    """Trombones of any size are one kind: the third is called bass or not."""
    return kin(instrument).removeprefix("bass_" if instrument.id == "bass_trombone" else "")


def leader(parts: Sequence[str], rows: Sequence[_Row], tables: Tables) -> int:
    """The part that the palette gives the tune to: in the row whose players and heights are most like these parts'."""
    heights: dict[tuple[str, int], tuple[int, int]] = {}
    count: Counter[str] = Counter()
    for number, part in enumerate(parts):
        instrument = named(part, tables)
        assert instrument is not None, part
        own = [row for row in rows if row["part"] == part]
        total = sum(float(row["duration_quarter"]) for row in own)
        mean = sum(_sounding(row) * float(row["duration_quarter"]) for row in own) / total
        written = part.rpartition(" ")[2]
        count[kin(instrument)] += 1
        heights[kin(instrument), int(written) if written.isdecimal() else count[kin(instrument)]] = number, round(mean)
    best: tuple[int, int] | None = None
    for passage in tables.rule(PALETTE_TABLE, SCHEMA)["passage"]:
        roles = ("melody", "bass", "counterline", "figure", "harmony")
        wanted = [(role, _seat(player, tables), pitch) for role in roles for player, pitch in passage.get(role, ())]
        found = [
            (role, heights[key][0])
            for role, key, pitch in wanted
            if key in heights and str(from_midi(heights[key][1])) == pitch
        ]
        tune = [number for role, number in found if role == "melody"]
        likeness = 2 * len(found) - len(wanted)
        if tune and (best is None or likeness > best[0]):
            best = likeness, tune[0]
    assert best is not None, f"{rows[0]['passage']} is not in the palette"
    return best[1]


def _seat(player: str, tables: Tables) -> tuple[str, int]:
    name, _, number = player.partition(" ")
    return kin(tables.instruments[name]), int(number or 1)


def _dynamics(rows: Sequence[_Row], length: int, count: int) -> list[Mark]:
    """The middle dynamic of the notes of each bar, where it changes."""
    found: list[Mark] = []
    for bar in range(count):
        levels = sorted(
            DYNAMICS.index(row["dynamic"])
            for row in rows
            if row["dynamic"] in DYNAMICS and bar * length <= _ticks(row["onset_quarter"]) < (bar + 1) * length
        )
        if levels and (not found or found[-1].value != DYNAMICS[levels[len(levels) // 2]]):
            onset = bar * length
            found.append(Mark("dynamic", onset, onset, -1, DYNAMICS[levels[len(levels) // 2]]))
    return found
