"""Pitch against the instrument: outside what anybody has, outside the safe range, in a register that can't do the dynamic."""

from __future__ import annotations

from collections.abc import Iterator

from autoorch.check.find import Fault, note_name, state
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding
from autoorch.tables import DYNAMICS


def outside(score: Score, limits: Limits) -> Iterator[Finding]:
    """Unplayable beyond the extreme range (and the margin that the best players have), risky outside the normal one."""
    table = limits.of("ranges")
    faults = [
        fault
        for part in score.parts
        for note in (*part.notes, *part.graces)
        if (fault := _outside(part, note, limits)) is not None
    ]
    for severity in ("unplayable", "risky"):
        yield from state(score, "range", table["source"], [f for f in faults if f.severity == severity], join=1)
    yield from _extensions(score, table["source"])


def _outside(part: Part, note: Note, limits: Limits) -> Fault | None:
    instrument = note.instrument
    if instrument is None or note.pitch < 0 or instrument.kind == "unpitched":
        return None
    table = limits.of("ranges")
    (low, high), (bottom, top) = limits.normal(instrument), instrument.extreme
    if low <= note.pitch <= high or (note.harmonic and instrument.kind == "bowed"):
        return None
    below, above = table["below"].get(instrument.family, 0), table["above"].get(instrument.family, 0)
    name, pitch = instrument.player, note.pitch
    sign, octave = table["old_clefs"].get(instrument.id, ("", 0))
    if (pitch < bottom - below or pitch > top + above) and sign == note.clef and bottom <= pitch + octave <= top:
        edge = bottom if octave > 0 else top
        message = f"{note.name} sounding is out of range: old notation, meant an octave {'higher' if octave > 0 else 'lower'}?"
        return Fault(part, note.start, "risky", note.name, note_name(edge), message, abs(pitch - edge))
    if pitch < bottom - below or pitch > top + above:
        edge = bottom if pitch < bottom else top
        where = "below the lowest" if pitch < bottom else "above the highest"
        message = f"{note.name} sounding is {where} note of the {name.lower()}, {note_name(edge)}"
        return Fault(part, note.start, "unplayable", note.name, note_name(edge), message, abs(pitch - edge))
    if instrument.extension and bottom <= pitch < low:
        return None
    edge = low if pitch < low else high
    where = "below" if pitch < low else "above"
    message = f"{note.name} sounding is {where} the safe range of the {name.lower()}, which ends at {note_name(edge)}"
    return Fault(part, note.start, "risky", note.name, note_name(edge), message, abs(pitch - edge))


def _extensions(score: Score, source: str) -> Iterator[Finding]:
    """Once for each part: notes that need a C extension or a fifth string."""
    for part in score.parts:
        low = [
            n for n in part.notes if n.instrument and n.instrument.extension and 0 <= n.pitch < n.instrument.normal[0]
        ]
        low = [n for n in low if n.instrument and n.pitch >= n.instrument.extreme[0]]
        if low and low[0].instrument:
            deepest = min(low, key=lambda note: note.pitch)
            edge = note_name(low[0].instrument.normal[0])
            message = f"{len(low)} notes down to {deepest.name} sounding need a C extension or a fifth string"
            fault = Fault(part, low[0].start, "risky", deepest.name, edge, message)
            yield from state(score, "extension", source, [fault])


def registers(score: Score, limits: Limits) -> Iterator[Finding]:
    """A register marked far softer than it can play, or far louder where nobody doubles it, for most of a bar.

    Neighbouring bars are one finding.
    """
    table = limits.of("register")
    for part in score.parts:
        if part.kind in ("", "unpitched", "timpani", "keys"):
            continue
        bars: dict[int, list[tuple[Note, int]]] = {}
        for note in part.notes:
            strain = _strain(note)
            doubled = strain > 0 and len(score.doublers[note.start, note.end, note.pitch % 12]) > 1
            bars.setdefault(score.bar(note.start), []).append((note, 0 if doubled else strain))
        faults = []
        for notes in bars.values():
            bad = [(note, strain) for note, strain in notes if abs(strain) >= table["steps"]]
            whole = sum(note.end - note.start for note, _ in notes)
            if bad and sum(note.end - note.start for note, _ in bad) >= table["share"] * whole:
                faults.append(_strained(part, *max(bad, key=lambda pair: abs(pair[1]))))
        yield from state(score, "register", table["source"], faults, join=1)


def _strain(note: Note) -> int:
    """Degrees by which the dynamic lies above (positive) or below the practical ones of the register."""
    if note.instrument is None or note.dynamic is None or note.pitch < 0 or note.harmonic:
        return 0
    band = note.instrument.register(note.pitch)
    if band is None:
        return 0
    softest, loudest = DYNAMICS.index(band.softest), DYNAMICS.index(band.loudest)
    return max(0, note.dynamic - loudest) + min(0, note.dynamic - softest)


def _strained(part: Part, note: Note, strain: int) -> Fault:
    assert note.instrument is not None and note.dynamic is not None
    band = note.instrument.register(note.pitch)
    assert band is not None
    sign, edge = DYNAMICS[note.dynamic], band.loudest if strain > 0 else band.softest
    word = "louder" if strain > 0 else "softer"
    where = f"the {band.name} register of the {note.instrument.player.lower()}"
    message = f"{note.name} at {sign}: {where} plays no {word} than {edge}"
    return Fault(part, note.start, "style", sign, edge, message, abs(strain))


RULES = (outside, registers)
