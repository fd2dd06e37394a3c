"""How high the peak lies: in which octave its lead has the tune, so that it is no lower than what came before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from autoorch.instruments import DYNAMICS, Instrument
from autoorch.layers.colours import Palette
from autoorch.layers.model import UNISON, PhrasePlan
from autoorch.layers.weights import SOFTEST_TUTTI
from autoorch.sketch.model import SketchNote

OCTAVE = 12


def heightened(plan: Sequence[PhrasePlan], tunes: Sequence[Sequence[SketchNote]], palette: Palette) -> list[PhrasePlan]:
    """The plan with an octave for the lead in the peak's phrase: at least the one that the tune is written in, and the next one
    where it had loud music higher before and goes so high in that; none where the peak is not loud or its lead can't.

    Args:
        plan: with its colours.
        tunes: the principal line of each phrase, in time order.
    """
    colours = {row["id"]: palette.instrument(row) for row in palette.colours}
    before = 0
    found = []
    for phrase, tune in zip(plan, tunes, strict=True):
        loud = [(start, end) for start, end, part in phrase.parts if _loud(part)]
        united = any(part.scheme == UNISON for _, _, part in phrase.parts)
        if phrase.peak and phrase.lead and tune and loud and not united:
            octave = _octave([note.pitch.midi for note in tune], before, colours[phrase.lead], palette)
            phrase = replace(phrase, octave=octave, turns=tuple(replace(turn, octave=octave) for turn in phrase.turns))
        own = [note.pitch.midi for note in tune for start, end in loud if start <= note.onset < end]
        before = max([before, *own])
        found.append(phrase)
    return found


def _loud(part: PhrasePlan) -> bool:
    return DYNAMICS.index(part.dynamic) >= SOFTEST_TUTTI


def _octave(pitches: Sequence[int], before: int, instrument: Instrument, palette: Palette) -> int | None:
    """Octaves from where a tune is written to where the peak has it.

    Args:
        before: the highest note that loud music had before, sounding MIDI pitch.
    """
    low, high = instrument.normal
    table = palette.tables.rule("registers")
    usual = table["usual_as"]["melody"].get(instrument.id) or table["usual"].get(instrument.id, instrument.normal)
    if min(pitches) < low or max(pitches) > high:
        return None
    return int(max(pitches) < before and max(pitches) + OCTAVE <= usual[-1])
