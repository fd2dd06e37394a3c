"""Is the melody heard? Stems of real scorings and of our drafts of their reductions, through one General MIDI soundfont.

    python -m tests.benchmarks.heard_melody DATA [--each 2]

Two stems a passage of about 30 seconds: the notes of the annotated tune in whatever octave and part, and everything else.
Velocities come from the written marks alone. In each window of 400 ms (the momentary loudness of ITU-R BS.1770 and EBU R 128,
here every 100 ms) in which the tune sounds, the power of either stem is taken inside the tune's own band: from half an
octave below its lowest to two octaves above its highest fundamental then sounding. Both stems pass the same band, so
BS.1770's weighting, nearly flat inside it, is left out. The figure is the tune's level over all others' in dB; ours stand
beside the masters' 10 to 90 %.

DATA: a folder with the scores STEM.mxl and STEM_annotations.csv of movements of the public OpenScore Orchestra data set
(github.com/MarkGotham/Hauptstimme). Needs the extra "sound" (midirenderer; the soundfont is the one that pretty_midi carries).
"""

from __future__ import annotations

import argparse
import io
import tempfile
import wave
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import mido
import numpy as np
import numpy.typing as npt
from midirenderer import render_wave_from

from autoorch import delivery, pipeline
from autoorch.errors import NoDraft
from autoorch.instruments import DYNAMICS
from autoorch.layers.passage import named
from autoorch.sketch import read_sketch
from autoorch.sketch.guard import Limits as Largest
from autoorch.sketch.model import Sketch
from autoorch.solver.solve import Limits
from autoorch.tables import Tables, load_tables
from autoorch.write.audio import soundfont
from autoorch.write.dynamics import VELOCITY
from tests.benchmarks.masters_score import Movement, Passage, passage, read_movement

SECONDS = 30.0
CHANNELS = tuple(channel for channel in range(16) if channel != 9)
WINDOW, HOP = 0.4, 0.1
BELOW, ABOVE = 0.5, 2.0
"""Octaves of the band below the lowest and above the highest fundamental."""
TICKS = 480
Sound = npt.NDArray[np.float64]
_Class = tuple[Fraction, Fraction, int]


@dataclass(frozen=True, slots=True)
class Voice:
    """One part as MIDI has it: program and (start, end in seconds, pitch, velocity)."""

    program: int
    notes: tuple[tuple[float, float, int, int], ...]


def voices(score: Sketch, start: int, end: int, pace: float, tables: Tables) -> Iterator[tuple[Voice, list[_Class]]]:
    """Each pitched part of a full score between two ticks, with (onset, end, pitch class) of its notes in quarters.

    Args:
        pace: quarters a minute.
    """
    marks: dict[int, list[tuple[int, str]]] = defaultdict(list)
    for mark in score.marks:
        if mark.kind == "dynamic" and mark.value in DYNAMICS:
            marks[mark.staff].append((mark.onset, mark.value))
    second = 60 / pace / score.ticks
    for staff in score.staves:
        instrument = named(staff.name, tables)
        if instrument is None or not instrument.gm:
            continue
        own = [note for note in score.notes if note.staff == staff.index and start <= note.onset < end]
        notes, classes = [], []
        for note in own:
            if not note.duration:
                continue
            dynamic = [value for onset, value in marks[staff.index] if onset <= note.onset]
            velocity = VELOCITY[dynamic[-1] if dynamic else "mf"]
            last = min(note.end, end)
            notes.append(((note.onset - start) * second, (last - start) * second, note.pitch.midi, velocity))
            classes.append(
                (Fraction(note.onset - start, score.ticks), Fraction(last - start, score.ticks), note.pitch.midi % 12)
            )
        if notes:
            program = instrument.gm_section or instrument.gm
            yield Voice(program, tuple(notes)), classes


def stems(parts: Sequence[tuple[Voice, list[_Class]]], tune: set[_Class]) -> tuple[list[Voice], list[Voice]]:
    """(the tune and its doublings, everything else)"""
    lead: list[Voice] = []
    rest: list[Voice] = []
    for voice, classes in parts:
        for found, wanted in ((lead, True), (rest, False)):
            notes = tuple(n for n, c in zip(voice.notes, classes, strict=True) if (c in tune) == wanted)
            if notes:
                found.append(Voice(voice.program, notes))
    return lead, rest


def rendered(stem: Sequence[Voice], seconds: float) -> tuple[Sound, int]:
    """The stem as sound in mono, and its sample rate; at most fifteen parts at a time, added up."""
    total: Sound | None = None
    rate = 44_100
    for first in range(0, max(1, len(stem)), len(CHANNELS)):
        data = render_wave_from(soundfont().read_bytes(), _midi(stem[first : first + len(CHANNELS)], seconds))
        with wave.open(io.BytesIO(data)) as file:
            rate = file.getframerate()
            samples = np.frombuffer(file.readframes(file.getnframes()), np.int16).astype(float)
            mono = samples.reshape(-1, file.getnchannels()).mean(axis=1)
        length = round(seconds * rate)
        mono = np.pad(mono, (0, max(0, length - len(mono))))[:length]
        total = mono if total is None else total + mono
    assert total is not None
    return total, rate


def _midi(group: Sequence[Voice], seconds: float) -> bytes:
    """Two ticks a millisecond or so: 480 a quarter at 120 quarters a minute."""
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS)
    per_second = 2 * TICKS
    for channel, voice in zip(CHANNELS, group, strict=False):
        track = mido.MidiTrack([mido.Message("program_change", channel=channel, program=voice.program - 1)])
        events = [(round(a * per_second), 1, pitch, loud) for a, _, pitch, loud in voice.notes]
        events += [(round(b * per_second), 0, pitch, 0) for _, b, pitch, _ in voice.notes]
        now = 0
        for tick, on, pitch, loud in sorted(events):
            kind = "note_on" if on else "note_off"
            track.append(mido.Message(kind, channel=channel, note=pitch, velocity=loud, time=tick - now))
            now = tick
        file.tracks.append(track)
    end = mido.MidiTrack([mido.MetaMessage("end_of_track", time=round(seconds * per_second))])
    file.tracks.append(end)
    written = io.BytesIO()
    file.save(file=written)
    return written.getvalue()


def levels(lead: Sequence[Voice], rest: Sequence[Voice], seconds: float) -> list[float]:
    """dB of the tune over everything else in its own band, window by window."""
    (tune, rate), (others, _) = rendered(lead, seconds), rendered(rest, seconds)
    size = round(WINDOW * rate)
    shape = np.hanning(size)
    frequency = np.fft.rfftfreq(size, 1 / rate)
    notes = [note for voice in lead for note in voice.notes]
    found = []
    for start in np.arange(0, seconds - WINDOW, HOP):
        sounding = [pitch for a, b, pitch, _ in notes if min(b, start + WINDOW) - max(a, start) >= WINDOW / 2]
        if not sounding:
            continue
        low = 440 * 2 ** ((min(sounding) - 69) / 12 - BELOW)
        high = 440 * 2 ** ((max(sounding) - 69) / 12 + ABOVE)
        band = (frequency >= low) & (frequency <= high)
        first = round(start * rate)
        power = [np.sum(np.abs(np.fft.rfft(s[first : first + size] * shape)[band]) ** 2) for s in (tune, others)]
        if power[0] > 0:
            found.append(float(10 * np.log10(power[0] / max(power[1], 1e-6 * power[0]))))
    return found


def masters(movement: Movement, first: int, one: Passage, tables: Tables) -> list[float]:
    """The levels of the real scoring."""
    bars = movement.score.bars[first : first + len(one.sketch.bars)]
    return _levels(movement.score, bars[0].onset, bars[-1].end, one, tables)


def ours(one: Passage, tables: Tables, effort: float) -> list[float]:
    """The levels of our draft of its reduction for the same line-up, read back from the score that is written."""
    result = pipeline.draft(one.sketch, one.lineup, limits=Limits(seconds=effort), tables=tables)
    with tempfile.TemporaryDirectory() as folder:
        delivery.write(result, Path(folder) / "draft")
        score = read_sketch(Path(folder) / "draft" / "score.musicxml", limits=Largest(staves=64))
    return _levels(score, 0, score.end, one, tables)


def _levels(score: Sketch, start: int, end: int, one: Passage, tables: Tables) -> list[float]:
    sketch = one.sketch
    pace = sketch.tempo_at(0) or 100.0
    tune = {
        (Fraction(n.onset, sketch.ticks), Fraction(n.end, sketch.ticks), n.pitch.midi % 12)
        for n in sketch.notes
        if n.id in one.main
    }
    lead, rest = stems(list(voices(score, start, end, pace, tables)), tune)
    return levels(lead, rest, sketch.end / sketch.ticks * 60 / pace) if lead and rest else []


def excerpts(movement: Movement, each: int) -> Iterator[tuple[int, Passage]]:
    """`each` passages of about 30 seconds, evenly through the movement; (index of the first bar, passage)."""
    bars = movement.score.bars
    for number in range(each):
        first = len(bars) * number // each
        pace = movement.score.tempo_at(bars[first].onset) or 100.0
        quarters = SECONDS * pace / 60
        count = 1
        while (
            first + count < len(bars)
            and (bars[first + count].end - bars[first].onset) / movement.score.ticks <= quarters
        ):
            count += 1
        yield first, passage(movement, first, count)


def told(found: Sequence[float]) -> str:
    low, middle, high = np.percentile(found, (10, 50, 90))
    return f"10 % {low:6.1f}  50 % {middle:6.1f}  90 % {high:6.1f} dB"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("data", type=Path, help="folder of scores with their annotations")
    parser.add_argument("--each", type=int, default=2, help="passages a movement (2)")
    parser.add_argument("--seconds", type=float, default=5.0, help="effort of the solver (5)")
    options = parser.parse_args()
    tables = load_tables()
    theirs: list[list[float]] = []
    mine: list[list[float]] = []
    for path in sorted(options.data.glob("*.mxl")):
        if path.stem.endswith("_melody"):
            continue
        movement = read_movement(path, tables)
        for first, one in excerpts(movement, options.each):
            if len(one.main) < 2:
                continue
            real = masters(movement, first, one, tables)
            try:
                drafted = ours(one, tables, options.seconds)
            except NoDraft as error:
                print(f"{one.name}: {error}")
                continue
            if real and drafted:
                theirs.append(real)
                mine.append(drafted)
                print(f"{one.name:<34} masters {told(real)}   ours {told(drafted)}", flush=True)
    if not theirs:
        return
    low, high = np.percentile(np.concatenate(theirs), (10, 90))
    inside = [float(np.mean((np.array(one) >= low) & (np.array(one) <= high))) for one in mine]
    above = [float(np.mean(np.array(one) >= low)) for one in mine]
    middle = [bool(low <= np.median(one) <= high) for one in mine]
    print(
        f"\nall windows: masters {told(np.concatenate(theirs).tolist())}   ours {told(np.concatenate(mine).tolist())}"
    )
    print(f"ours inside the masters' 10 to 90 %: {np.mean(inside):.0%} of windows; not below it: {np.mean(above):.0%}")
    print(f"passages whose middle lies inside it: {sum(middle)} of {len(middle)}")


if __name__ == "__main__":
    main()
