"""Breath as a cycle: stretches without a rest, phrases without a chance, long notes; and the endurance of the brass."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from autoorch.check.find import Fault, state
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding
from autoorch.tables import DYNAMICS

_LOUD = DYNAMICS.index("f")


def breath(score: Score, limits: Limits) -> Iterator[Finding]:
    """Long playing without rests is risky; only absurd lengths without any chance at all are unplayable."""
    table = limits.of("breath")
    for part in score.parts:
        if part.kind not in ("wind", "voice") or part.players != 1 or part.instrument is None:
            continue
        if part.instrument.fluency.held_s is None or part.instrument.fluency.stretch_s is None:
            continue
        yield from state(score, "breath", table["source"], (*_stretches(part, limits), *_phrases(part, limits)))
        yield from state(score, "held note", table["source"], _held(part, limits))


def _effort(note: Note, loud: float) -> float:
    """Seconds of a note, more where it is loud."""
    return (note.until - note.at) / (loud if note.dynamic is not None and note.dynamic >= _LOUD else 1.0)


def _stretches(part: Part, limits: Limits) -> Iterator[Fault]:
    """Seconds of playing where a rest of a breath only halves the need for air, and a longer one ends it."""
    table = limits.of("breath")
    assert part.instrument is not None and part.instrument.fluency.stretch_s is not None
    limit = part.instrument.fluency.stretch_s[1] * table["risky"] * limits.wind
    load, first, told = 0.0, part.onsets[0][0] if part.onsets else None, False
    for group, after in pairwise([*part.onsets, []]):
        assert first is not None
        note = max(group, key=lambda n: n.until)
        load += _effort(note, 1.0)
        if load > limit and not told:
            message = f"{load:.0f} s of playing with hardly a rest to breathe"
            yield Fault(part, first.start, "risky", f"{load:.0f} s", f"{limit:.0f} s", message, load)
            told = True
        if not after:
            return
        gap = after[0].at - note.until
        if gap >= table["recover"]:
            load, first, told = 0.0, after[0], False
        elif gap >= table["chance"] or note.breath:
            load *= table["relief"]


def _phrases(part: Part, limits: Limits) -> Iterator[Fault]:
    """Seconds from one chance of a breath to the next: a rest, a breath mark, the end of a slur or of a longer note."""
    table = limits.of("breath")
    assert part.instrument is not None and part.instrument.fluency.held_s is not None
    usual = part.instrument.fluency.held_s[1] * limits.wind
    load, first = 0.0, part.onsets[0][0] if part.onsets else None
    for group, after in pairwise([*part.onsets, []]):
        assert first is not None
        note = max(group, key=lambda n: n.until)
        load += _effort(note, table["loud"])
        gap = after[0].at - note.until if after else table["chance"]
        ends = not note.slurred and note.until - note.at >= table["note_end"]
        if gap >= table["chance"] or note.breath or ends:
            if load > usual * table["legato_risky"] and note is not first:
                severity = "unplayable" if load > usual * table["absurd"] else "risky"
                message = f"{load:.0f} s (louder playing counted more) without a chance to breathe"
                yield Fault(part, first.start, severity, f"{load:.0f} s", f"{usual:.0f} s", message, load)
            load, first = 0.0, after[0] if after else first


def _held(part: Part, limits: Limits) -> Iterator[Fault]:
    table = limits.of("breath")
    assert part.instrument is not None and part.instrument.fluency.held_s is not None
    for note in part.notes:
        seconds, limit = note.until - note.at, part.instrument.fluency.held_s[1] * limits.wind
        if seconds > limit * table["held_risky"]:
            severity = "unplayable" if seconds > limit * table["held_absurd"] else "risky"
            message = f"{note.name} is held for {seconds:.0f} s"
            yield Fault(part, note.start, severity, f"{seconds:.0f} s", f"{limit:.0f} s", message, seconds)


def endurance(score: Score, limits: Limits) -> Iterator[Finding]:
    """Brass: the share of a minute that sounds, and time on end high and loud."""
    table = limits.of("endurance")
    for part in score.parts:
        if part.instrument is None or part.players != 1 or part.instrument.id not in table["share"]:
            continue
        found = (*_busy(part, limits), *_high(part, limits))
        yield from state(score, "endurance", table["source"], found, join=8)


def _busy(part: Part, limits: Limits) -> Iterator[Fault]:
    table = limits.of("endurance")
    assert part.instrument is not None
    window, limit = table["window"], table["share"][part.instrument.id] * limits.wind
    first, sounding = 0, 0.0
    for last, note in enumerate(part.notes):
        sounding += note.until - note.at
        while first < last and note.until - part.notes[first].at > window:
            sounding -= part.notes[first].until - part.notes[first].at
            first += 1
        length = note.until - part.notes[first].at
        if last > first and length > table["filled"] * window and sounding / window > limit:
            share = sounding / window
            message = f"plays {share:.0%} of {window:.0f} s"
            yield Fault(part, part.notes[first].start, "risky", f"{share:.2f}", f"{limit:.2f}", message, share)


def _high(part: Part, limits: Limits) -> Iterator[Fault]:
    table = limits.of("endurance")
    limit = table["high_seconds"] * limits.wind
    seconds, first, before = 0.0, None, None
    for note in part.notes:
        band = note.instrument.register(note.pitch) if note.instrument else None
        high = (
            band is not None
            and band.strength == 2
            and note.instrument is not None
            and band is note.instrument.registers[-1]
        )
        loud = note.dynamic is not None and note.dynamic >= _LOUD
        if not (high and loud) or (before is not None and note.at - before.until > table["high_rest"]):
            seconds, first = 0.0, None
        if high and loud:
            first = first or note
            seconds += note.until - note.at
            if seconds > limit:
                message = f"{seconds:.0f} s on end high and loud"
                yield Fault(part, first.start, "risky", f"{seconds:.0f} s", f"{limit:.0f} s", message, seconds)
        before = note


RULES = (breath, endurance)
