"""What a MIDI file holds, in its own ticks: notes by strand, pedal, tempo, metre, key, texts; faults are mended and told."""

from __future__ import annotations

from collections import Counter, deque
from dataclasses import dataclass, field
from io import BytesIO
from typing import Any

import mido

from autoorch.errors import SketchError
from autoorch.sketch.guard import Limits, plain

DRUMS = 9
"""Channel of the percussion map, counted from 0 (General MIDI 1)."""
PEDAL = 64
"""Controller of the damper pedal; down from half its travel on (MIDI 1.0)."""
DEFAULT_TEMPO = 500_000
"""Microseconds a quarter before any tempo event (Standard MIDI Files 1.0)."""
_HALF = 64
_TEXTS = ("text", "copyright", "marker", "cue_marker", "lyrics")


@dataclass(slots=True)
class Heard:
    """One note: ticks, MIDI number, velocity, index of its strand."""

    start: int
    end: int
    key: int
    velocity: int
    strand: int
    lyric: str = ""


@dataclass(slots=True)
class Strand:
    """A track (or a channel, where all notes stand in one track): its name, and that of its instrument."""

    name: str = ""
    instrument: str = ""


@dataclass
class Take:
    """A MIDI file, read.

    Attributes:
        quarter: ticks a quarter.
        notes: by start, then strand and key.
        tempos: (tick, microseconds a quarter), the first one at 0, each tick once.
        metres: (tick, beats, beat unit); keys: (tick, sharps, mode).
        pedals: (down, up, strand or -1).
        texts: (tick, kind as in sketch.model.Mark, strand or -1, text).
        end: last tick of any note.
        lost, notices: as in Sketch.
    """

    quarter: int
    strands: list[Strand] = field(default_factory=list)
    notes: list[Heard] = field(default_factory=list)
    tempos: list[tuple[int, int]] = field(default_factory=list)
    metres: list[tuple[int, int, int]] = field(default_factory=list)
    keys: list[tuple[int, int, str]] = field(default_factory=list)
    pedals: list[tuple[int, int, int]] = field(default_factory=list)
    texts: list[tuple[int, str, int, str]] = field(default_factory=list)
    title: str = ""
    end: int = 0
    lost: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()


def is_midi(data: bytes) -> bool:
    return data.startswith(b"MThd") or (data.startswith(b"RIFF") and data[8:12] == b"RMID")


def read_take(data: bytes, file: str, limits: Limits) -> Take:
    """Read the bytes of a MIDI file.

    Raises:
        SketchError: where the file is broken, of a kind without a common beat, without notes or beyond the limits.
    """
    if len(data) > limits.midi:
        raise SketchError(f"has {len(data):,} bytes; a MIDI sketch has at most {limits.midi:,}", file)
    data = data[data.index(b"MThd") if b"MThd" in data else 0 :]
    try:
        song: Any = mido.MidiFile(file=BytesIO(data), clip=True)
    except Exception as error:  # the parser raises whatever a broken byte leads it to
        raise SketchError(
            f"is broken MIDI ({plain(str(error), 80) or 'it ends too early'}); export it anew", file
        ) from None
    if song.type == 2:
        raise SketchError("holds several sequences (MIDI type 2); export one of them as type 1", file)
    if song.ticks_per_beat <= 0:
        raise SketchError("counts in film frames, not in beats; export it with ticks a quarter", file)
    if len(song.tracks) > limits.tracks:
        raise SketchError(f"has {len(song.tracks):,} tracks; a sketch has 1 to {limits.staves}", file)
    reader = _Reader(song.ticks_per_beat, limits)
    for index, track in enumerate(song.tracks):
        reader.track(index, track)
    return reader.take(file)


class _Reader:
    """Gathers tracks; strands are settled when all notes are known."""

    def __init__(self, quarter: int, limits: Limits) -> None:
        self._take = Take(quarter)
        self._limits = limits
        self._notes: list[tuple[int, int, int, int, int, int]] = []
        self._names: dict[int, Strand] = {}
        self._pedals: list[tuple[int, int, int, int]] = []
        self._texts: list[tuple[int, str, int, str]] = []
        self._lost: Counter[tuple[str, str]] = Counter()
        self._mended: Counter[str] = Counter()
        self._controllers: set[int] = set()

    def track(self, index: int, track: Any) -> None:
        tick = 0
        name = self._names.setdefault(index, Strand())
        held: dict[tuple[int, int], deque[tuple[int, int]]] = {}
        pedal: dict[int, int] = {}
        for message in track:
            tick += message.time
            kind = message.type
            if kind == "note_on" and message.velocity:
                self._strike(index, tick, message, held)
            elif kind in ("note_on", "note_off"):
                self._release(index, tick, message, held)
            elif kind == "control_change":
                self._control(index, tick, message, pedal)
            elif kind in ("aftertouch", "polytouch", "sysex") or (kind == "pitchwheel" and message.pitch):
                self._lost[f"{kind} message", f"{kind} messages"] += 1
            elif kind == "program_change" and message.program > 7:
                self._lost["change of instrument", "changes of instrument"] += 1
            elif message.is_meta:
                self._meta(index, tick, message, name)
        for (channel, key), starts in sorted(held.items()):
            for start, velocity in starts:
                self._mended["notes that never end were ended with their track"] += 1
                self._notes.append((start, tick, key, velocity, index, channel))
        self._pedals += [(down, tick, index, channel) for channel, down in sorted(pedal.items())]

    def _strike(self, index: int, tick: int, message: Any, held: dict[tuple[int, int], deque[tuple[int, int]]]) -> None:
        if message.channel == DRUMS:
            self._lost["stroke on the drum channel", "strokes on the drum channel"] += 1
            return
        starts = held.setdefault((message.channel, message.note), deque())
        while starts and starts[0][0] < tick:
            start, velocity = starts.popleft()
            self._notes.append((start, tick, message.note, velocity, index, message.channel))
            self._mended["notes struck again while they sounded were ended there"] += 1
        starts.append((tick, message.velocity))

    def _release(
        self, index: int, tick: int, message: Any, held: dict[tuple[int, int], deque[tuple[int, int]]]
    ) -> None:
        starts = held.get((message.channel, message.note))
        if starts:
            start, velocity = starts.popleft()
            self._notes.append((start, tick, message.note, velocity, index, message.channel))

    def _control(self, index: int, tick: int, message: Any, pedal: dict[int, int]) -> None:
        if message.control != PEDAL:
            self._controllers.add(message.control)
            self._lost["controller message", "controller messages"] += 1
        elif message.value >= _HALF:
            pedal.setdefault(message.channel, tick)
        elif message.channel in pedal:
            self._pedals.append((pedal.pop(message.channel), tick, index, message.channel))

    def _meta(self, index: int, tick: int, message: Any, name: Strand) -> None:
        take, kind = self._take, message.type
        if kind == "track_name":
            name.name = name.name or _text(message.name, 80)
        elif kind == "instrument_name":
            name.instrument = name.instrument or _text(message.name, 80)
        elif kind == "set_tempo":
            take.tempos.append((tick, max(1, message.tempo)))
        elif kind == "time_signature":
            take.metres.append((tick, message.numerator, message.denominator))
        elif kind == "key_signature":
            take.keys.append((tick, *_key(message.key)))
        elif kind in _TEXTS and _text(message.text, self._limits.text):
            self._texts.append((tick, kind, index, _text(message.text, self._limits.text)))

    def take(self, file: str) -> Take:
        take, limits = self._take, self._limits
        if not self._notes:
            raise SketchError("has no notes with a pitch", file)
        if len(self._notes) > limits.notes:
            raise SketchError(f"has {len(self._notes):,} notes; a sketch has at most {limits.notes:,}", file)
        by_channel = len({note[4] for note in self._notes}) == 1
        keys = sorted({(note[4], note[5] if by_channel else 0) for note in self._notes})
        if len(keys) > limits.staves:
            raise SketchError(f"has {len(keys)} tracks with notes; a sketch has 1 to {limits.staves}", file)
        strand_of = {key: index for index, key in enumerate(keys)}

        def strand(track: int, channel: int) -> int:
            return strand_of.get((track, channel if by_channel else 0), -1)

        several = by_channel and len(keys) > 1
        for track, channel in keys:
            named = self._names[track]
            take.strands.append(Strand(f"channel {channel + 1}") if several else named)
        take.notes = [
            Heard(on, off, key, loud, strand(track, channel)) for on, off, key, loud, track, channel in self._notes
        ]
        take.notes.sort(key=lambda note: (note.start, note.strand, note.key, note.end))
        take.end = max(note.end for note in take.notes)
        take.pedals = sorted((down, up, strand(track, channel)) for down, up, track, channel in self._pedals)
        first = self._names[0]
        with_notes = {track for track, _ in keys}
        take.title = first.name if 0 not in with_notes else ""
        self._place_texts({track: strand(track, 0) for track in with_notes} if not by_channel else {})
        take.tempos = sorted({0: DEFAULT_TEMPO, **dict(sorted(take.tempos, key=lambda each: each[0]))}.items())
        take.metres = sorted({tick: (tick, beats, unit) for tick, beats, unit in take.metres}.values())
        take.keys = sorted({tick: (tick, fifths, mode) for tick, fifths, mode in take.keys}.values())
        lines = [(f"{times} {names[times > 1]}", names) for names, times in sorted(self._lost.items())]
        numbers = ", ".join(str(number) for number in sorted(self._controllers))
        take.lost = tuple(f"{line} ({numbers})" if names[0] == "controller message" else line for line, names in lines)
        take.notices = tuple(f"{what}: {times}" for what, times in sorted(self._mended.items()))
        return take

    def _place_texts(self, strand_of: dict[int, int]) -> None:
        """Lyrics to the highest note that starts with them, everything else to its place."""
        highest = {(note.start, note.strand): note for note in self._take.notes}
        for tick, kind, track, text in sorted(self._texts, key=lambda each: each[0]):
            strand = strand_of.get(track, -1)
            note = highest.get((tick, strand if strand >= 0 else 0)) if kind == "lyrics" else None
            if note is not None and not note.lyric:
                note.lyric = text
            elif kind == "marker":
                self._take.texts.append((tick, "rehearsal", -1, text))
            else:
                words = kind == "text" and strand >= 0 and tick > 0
                self._take.texts.append((tick, "words" if words else "text", strand, text))


def _text(raw: str, most: int) -> str:
    """Text of a meta event, which programs write as UTF-8 or Latin-1."""
    data = raw.encode("latin-1", "replace")
    try:
        return plain(data.decode("utf-8"), most)
    except UnicodeDecodeError:
        return plain(raw, most)


def _key(name: str) -> tuple[int, str]:
    """mido's "Bm" as (2, "minor")."""
    minor = name.endswith("m")
    letter = name.removesuffix("m")
    fifths = "FCGDAEB".index(letter[0]) - 1 + 7 * (letter.count("#") - letter.count("b"))
    return (fifths - 3, "minor") if minor else (fifths, "major")
