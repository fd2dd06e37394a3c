"""The raw content of a standard MIDI file: notes, marks, metres and keys in the file's own ticks."""

from __future__ import annotations

import io
from dataclasses import dataclass, field

import mido

from autoorch.errors import SketchError
from autoorch.sketch.guard import Limits, plain

DRUMS = 9
PEDAL = 64
DOWN = 64


@dataclass(frozen=True, slots=True)
class Sound:
    """One note: ticks of the file, key number, velocity, stave (track, or channel of a one-track file)."""

    start: int
    end: int
    pitch: int
    velocity: int
    stave: int


@dataclass
class Events:
    """Everything that is used of a file. Times are ticks; `division` ticks make a quarter.

    Attributes:
        names: stave -> name.
        tempos: (tick, microseconds a quarter); metres: (tick, beats, unit); keys: (tick, name such as "F#m").
        texts: (tick, kind, text) of markers and texts; pedals: (start, end, stave).
        drums, mended: notes left out as drums; notes whose end was missing or not after their start.
    """

    division: int
    sounds: list[Sound] = field(default_factory=list)
    names: dict[int, str] = field(default_factory=dict)
    tempos: list[tuple[int, int]] = field(default_factory=list)
    metres: list[tuple[int, int, int]] = field(default_factory=list)
    keys: list[tuple[int, str]] = field(default_factory=list)
    texts: list[tuple[int, str, str]] = field(default_factory=list)
    pedals: list[tuple[int, int, int]] = field(default_factory=list)
    title: str = ""
    drums: int = 0
    mended: int = 0


def read_events(data: bytes, file: str, limits: Limits) -> Events:
    """Read all tracks.

    Raises:
        SketchError: where the file is broken, has no musical time or is beyond the limits.
    """
    if len(data) > limits.midi:
        raise SketchError(f"is larger than {limits.midi:,} bytes; is it a MIDI sketch?", file)
    try:
        midi = mido.MidiFile(file=io.BytesIO(data), clip=True)
    except (
        OSError,
        EOFError,
        ValueError,
        IndexError,
        KeyError,
        TypeError,
        mido.midifiles.meta.KeySignatureError,
    ) as error:
        raise SketchError(
            f"is a broken MIDI file ({plain(str(error), 60) or 'cut short'}); export it anew", file
        ) from None
    if midi.ticks_per_beat <= 0 or midi.ticks_per_beat >= 1 << 15:
        raise SketchError("counts time in film frames, not in beats; export it with beats", file)
    if len(midi.tracks) > limits.tracks:
        raise SketchError(f"has {len(midi.tracks)} tracks; {limits.tracks} are the most", file)
    found = Events(midi.ticks_per_beat)
    for number, track in enumerate(midi.tracks):
        _track(found, track, number, by_channel=midi.type == 0)
        if len(found.sounds) > limits.notes:
            raise SketchError(f"has more than {limits.notes:,} notes; give the cue alone", file)
    if not found.sounds:
        raise SketchError("has no notes" + (" but drums" if found.drums else ""), file)
    return found


def _track(found: Events, track: mido.MidiTrack, number: int, *, by_channel: bool) -> None:
    now = 0
    open_notes: dict[tuple[int, int], list[tuple[int, int]]] = {}
    pedal: dict[int, int] = {}
    name = ""
    staves: set[int] = set()
    for message in track:
        now += message.time
        kind = message.type
        if kind in ("note_on", "note_off"):
            stave = message.channel if by_channel else number
            key = (message.channel, message.note)
            if message.channel == DRUMS:
                found.drums += kind == "note_on" and message.velocity > 0
                continue
            staves.add(stave)
            if open_notes.get(key):
                _close(found, open_notes, key, now, stave)
            if kind == "note_on" and message.velocity:
                open_notes[key] = [(now, message.velocity)]
        elif kind == "control_change" and message.control == PEDAL:
            stave = message.channel if by_channel else number
            if message.value >= DOWN:
                pedal.setdefault(stave, now)
            elif stave in pedal:
                found.pedals.append((pedal.pop(stave), now, stave))
        elif kind == "track_name":
            name = name or plain(message.name, 80)
        else:
            _meta(found, message, now)
    for key in list(open_notes):
        if open_notes[key]:
            found.mended += 1
            _close(found, open_notes, key, now, key[0] if by_channel else number)
    found.pedals += [(start, now, stave) for stave, start in sorted(pedal.items())]
    for stave in staves:
        found.names.setdefault(stave, name if not by_channel else f"Channel {stave + 1}")
    if not staves and number == 0:
        found.title = name


def _close(
    found: Events, open_notes: dict[tuple[int, int], list[tuple[int, int]]], key: tuple[int, int], now: int, stave: int
) -> None:
    start, velocity = open_notes[key].pop()
    if now <= start:
        found.mended += 1
    found.sounds.append(Sound(start, max(now, start + 1), key[1], velocity, stave))


def _meta(found: Events, message: mido.MetaMessage, now: int) -> None:
    if message.type == "set_tempo" and message.tempo > 0:
        found.tempos.append((now, message.tempo))
    elif message.type == "time_signature":
        found.metres.append((now, message.numerator, message.denominator))
    elif message.type == "key_signature":
        found.keys.append((now, message.key))
    elif message.type in ("marker", "cue_marker"):
        found.texts.append((now, "rehearsal", plain(message.text, 120)))
    elif message.type in ("text", "lyrics") and plain(message.text, 120):
        found.texts.append((now, "words", plain(message.text, 120)))
