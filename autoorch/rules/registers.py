"""Register against role and dynamic: safe and usual notes, practical dynamics, weak bands for tunes, overpowering ones under
them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from autoorch.instruments import DYNAMICS, Instrument
from autoorch.level import less
from autoorch.problem.data import Option, ProblemData
from autoorch.problem.terms import Cost, Limit
from autoorch.rules.unary import alone

NAME = "registers"
LIKE = {"counterline": "melody", "pedal": "bass", "figure": "inner", "rhythm": "inner"}
"""Role -> the role whose usual notes it shares."""


def limits(data: ProblemData) -> Iterator[Limit]:
    """None: options outside the extreme range are never made."""
    return iter(())


def costs(data: ProblemData) -> Iterator[Cost]:
    """One cost an option, from the share of time in each band."""
    table = data.tables.rule(NAME)
    curves: dict[tuple[str, str, str, str], list[int]] = {}
    known: dict[tuple[str, str, int, tuple[int, ...], int], int] = {}
    for option in data.options:
        instrument, level = data.instrument(option), data.players[option.player].level
        key = (instrument.id, level, option.span, option.lines, option.octave)
        if key not in known:
            role, dynamic = data.role(option), data.dynamic(option)
            curve = curves.get((instrument.id, level, role, dynamic))
            if curve is None:
                curve = curves[instrument.id, level, role, dynamic] = [
                    _cost(table, instrument, role, dynamic, m) for m in range(128)
                ]
            total = paid = 0
            for profile in data.profiles(option):
                for pitch, weight in profile.weights:
                    total += weight
                    paid += weight * curve[min(127, max(0, pitch + 12 * option.octave))]
            paid += total * _strain(data, option, instrument, level)
            known[key] = round(paid * data.busy(option) / (100 * max(1, total)))
            known[key] += table["beyond_normal"] * _beyond(data, option, instrument)
        if known[key]:
            yield alone(NAME, data, option, known[key], "register against role or dynamic")


def _beyond(data: ProblemData, option: Option, instrument: Instrument) -> int:
    """Attacks outside the safe range."""
    low, high = instrument.normal
    pitches = [n.pitch.midi + 12 * option.octave for p in data.profiles(option) for n in p.notes if n.duration]
    return sum(not low <= pitch <= high for pitch in pitches)


def _strain(data: ProblemData, option: Option, instrument: Instrument, level: str) -> int:
    """Hundredths a quarter-bar for a player of a level below a professional's with any note beyond the safe ones."""
    row, (low, high) = less(level, data.tables), instrument.normal
    notes = [(p.low + 12 * option.octave, p.high + 12 * option.octave) for p in data.profiles(option)]
    return int(row["beyond"]) if row and any(a < low or b > high for a, b in notes) else 0


def _cost(table: Mapping[str, Any], instrument: Instrument, role: str, dynamic: str, midi: int) -> int:
    """What a sounding MIDI pitch costs in a role at a dynamic, in hundredths a quarter-bar."""
    cost = 0
    if not instrument.normal[0] <= midi <= instrument.normal[1]:
        cost += table["outside_normal"]
    usual = table["usual_as"][LIKE.get(role, role)].get(instrument.id) or table["usual"].get(instrument.id)
    if usual:
        low, middle, high = usual
        cost += min(table["unusual_most"], table["unusual"] * max(0, low - midi, midi - high))
        cost += table["apart"] * abs(midi - middle)
    band = instrument.register(midi)
    if band is None:
        return int(cost)
    level = DYNAMICS.index(dynamic)
    cost += table["too_soft"] * max(0, DYNAMICS.index(band.softest) - level)
    too_loud = table["too_loud" if role in ("melody", "counterline") else "too_loud_inside"]
    cost += too_loud * max(0, level - DYNAMICS.index(band.loudest))
    if role == "melody":
        cost += table["melody_veiled" if instrument.kind == "bowed" else "melody_weak"] * max(0, -band.strength)
        low, high = table["staff"].get(instrument.id, (midi, midi)) if dynamic in table["sung"] else (midi, midi)
        cost += min(table["staff_most"], table["staff_off"] * max(0, low - midi, midi - high))
    elif role in ("bass", "pedal"):
        cost += table["bass_weak"] * max(0, -band.strength)
    elif dynamic in table["soft"]:
        cost += table["overpowering"] * max(0, band.strength - 1)
    return int(cost)
