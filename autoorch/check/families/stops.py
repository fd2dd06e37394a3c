"""Several notes at once on string instruments: can one hand finger them, can a bow hold them, does a section have to divide."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import Any

from autoorch.check.find import Fault, state
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding
from autoorch.tables import Instrument


def stops(score: Score, limits: Limits) -> Iterator[Finding]:
    """Solo strings: chords that can't be fingered or held; sections: more lines than desks divide into."""
    table = limits.of("strings")
    for part in score.parts:
        if part.kind != "bowed":
            continue
        if part.section:
            yield from state(score, "divisi", table["source"], _divided(part, limits))
        else:
            yield from state(score, "double stops", table["source"], _fingered(part, table))


def _pitches(sounding: Sequence[Note], overlap: float) -> list[Note]:
    """Distinct pitches that sound together for more than a moment, lowest first."""
    at = sounding[-1].at
    return [note for _, note in sorted({n.pitch: n for n in sounding if n.until - at > overlap}.items())]


def _divided(part: Part, limits: Limits) -> Iterator[Fault]:
    most, moment = limits.of("reading")["desks"], limits.of("strings")["moment"]
    for sounding in part.moments:
        notes = _pitches(sounding, moment)
        if len(notes) > most:
            message = f"{len(notes)} notes at once in one section"
            yield Fault(part, sounding[-1].start, "style", str(len(notes)), str(most), message, len(notes))


def _fingered(part: Part, table: Mapping[str, Any]) -> Iterator[Fault]:
    known: dict[tuple[str, tuple[int, ...]], float | None] = {}
    for sounding in part.moments:
        notes = _pitches(sounding, table["moment"])
        instrument = notes[-1].instrument if notes else None
        if len(notes) < 2 or instrument is None or not instrument.strings or any(note.harmonic for note in notes):
            continue
        names, start = " ".join(note.name for note in notes), sounding[-1].start
        key = (instrument.id, tuple(note.pitch for note in notes))
        if key not in known:
            known[key] = stretch(instrument, key[1], table)
        span = known[key]
        easy, most = table["span"].get(instrument.id, table["span"]["cello"])
        if span is None:
            message = f"{names} do not fall on neighbouring strings of one {instrument.player.lower()}"
            yield Fault(part, start, "unplayable", names, f"{len(instrument.strings)} strings", message, len(notes))
        elif span > easy:
            severity = "unplayable" if span > most else "risky"
            message = f"{names} stretch the hand over {span:g} semitones on neighbouring strings"
            yield Fault(part, start, severity, f"{span:g}", f"{easy:g}", message, span)
        else:
            together = min(note.until for note in notes) - sounding[-1].at
            if len(notes) > table["held_notes"] and together > table["sustained"] and not notes[0].pizz:
                message = f"{names}: the bow can't hold {len(notes)} strings for {together:.1f} s"
                yield Fault(part, start, "risky", f"{together:.1f} s", f"{table['sustained']:g} s", message, together)


def stretch(instrument: Instrument, pitches: tuple[int, ...], table: Mapping[str, Any]) -> float | None:
    """Semitones between the outer fingers in the easiest fingering; 0 with open strings only; None where none exists.

    The notes lie on neighbouring strings, one each. High up the string positions lie closer, and a cello's or bass's
    thumb helps.
    """
    best: float | None = None
    strings = instrument.strings
    for chosen in combinations(range(len(strings)), len(pitches)):
        if chosen[-1] - chosen[0] != len(chosen) - 1:
            continue
        stopped = [pitch - strings[string] for pitch, string in zip(pitches, chosen, strict=True)]
        if min(stopped) < 0:
            continue
        fingers = [place for place in stopped if place > 0]
        span: float = max(fingers) - min(fingers) if fingers else 0
        thumb = table["thumb"].get(instrument.id)
        if fingers and (min(fingers) >= table["high"] or (thumb is not None and min(fingers) >= thumb)):
            span /= table["high_factor"]
        best = span if best is None else min(best, span)
    return best


RULES = (stops,)
