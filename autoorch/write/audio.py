"""The mock-up as sound: rendered with a General MIDI soundfont, set to a usual loudness, mixed and by stems.

Each family's notes of each role are rendered by themselves; a stem is a sum of these, so that the stems by family, and those by
role, add up to the mix. Needs the extra "sound" (midirenderer, soundfile, pyloudnorm, pretty_midi for its soundfont), which
comes as wheels.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from typing import Any

import mido
import numpy as np
from numpy.typing import NDArray

from autoorch.errors import OutputError
from autoorch.layers.model import Material
from autoorch.score.model import Part
from autoorch.tables import Tables, load_tables
from autoorch.write.channels import PERCUSSION, pitched_channels
from autoorch.write.clock import QUARTER
from autoorch.write.levels import VOLUME, volumes
from autoorch.write.manner import Manner, read_manner
from autoorch.write.midi import track
from autoorch.write.ogg import same_serial
from autoorch.write.performance import CONTROL, Performance, Timed, notes

RATE = 48_000
"""Samples a second."""
PAN = 10
"""Controller, as VOLUME."""
BLOCK = 2**16
PACKAGES = ("midirenderer", "soundfile", "pyloudnorm", "scipy", "pretty_midi")
CARRIED = "TimGM6mb.sf2"
"""The soundfont inside pretty_midi."""

Samples = NDArray[np.float32]
"""(frames, 2), 1.0 is full scale."""


@dataclass(frozen=True)
class Audio:
    """The files.

    Attributes:
        wav: 24 bits; opus: in an Ogg file.
        stems: "family-strings", "role-melody" … -> FLAC.
        loudness: LUFS of the mix.
    """

    wav: bytes
    opus: bytes
    stems: Mapping[str, bytes]
    loudness: float


def soundfont(given: Path | None = None) -> Path:
    """The soundfont to use: the given one, or that which a wheel of the extra carries.

    Raises:
        OutputError: where something of the extra is not installed, or the file is none.
    """
    for name in PACKAGES:
        if find_spec(name) is None:
            raise OutputError(f"--sound needs {name}: pip install 'autoorch[sound]'")
    if given is None:
        spec = find_spec("pretty_midi")
        assert spec is not None and spec.origin is not None
        return Path(spec.origin).parent / CARRIED
    try:
        with given.open("rb") as file:
            head = file.read(12)
    except OSError as error:
        raise OutputError(f"{given}: the soundfont can't be read: {error.strerror}") from None
    if head[:4] != b"RIFF" or head[8:] != b"sfbk":
        raise OutputError(f"{given} is no soundfont (.sf2)")
    return given


def render(
    performance: Performance, material: Material, font: Path, tables: Tables | None = None, *, stems: bool = True
) -> Audio:
    """Render a performance.

    Args:
        material: tells the role of each note.
        font: a General MIDI soundfont.
        stems: made only on request.
    """
    tables = tables or load_tables()
    manner, data = read_manner(tables), font.read_bytes()
    loud = volumes(performance.score.parts, tables, manner, data)
    roles = {
        note.id: strand.role for strand in material.strands for line in strand.lines for note in line.notes
    }  # fmt: skip
    with tempfile.TemporaryDirectory() as name:
        takes = list(_takes(performance, roles, manner, loud, data, Path(name)))
        mix = _sum([take.file for take in takes])
        gain = _gain(mix, manner["loudness"])
        mix *= np.float32(10 ** (gain / 20))
        found: dict[str, bytes] = {}
        for key in sorted({key for take in takes for key in take.keys}) if stems else ():
            stem = _sum([take.file for take in takes if key in take.keys])
            found[key] = _file(stem * np.float32(10 ** (gain / 20)), "FLAC", "PCM_24")
    wav, opus = _file(mix, "WAV", "PCM_24"), same_serial(_file(mix, "OGG", "OPUS"))
    return Audio(wav, opus, found, _loudness(mix))


@dataclass(frozen=True)
class _Take:
    """One rendered file and the stems it belongs to."""

    file: Path
    keys: tuple[str, str]


def _takes(
    performance: Performance, roles: Mapping[str, str], manner: Manner, loud: Sequence[int], font: bytes, folder: Path
) -> Iterator[_Take]:
    import midirenderer

    for midi, family, role in _groups(performance, roles, manner, loud):
        file = BytesIO()
        midi.save(file=file)
        path = folder / f"{family}-{role}.wav"
        while path.exists():
            path = path.with_stem(f"{path.stem}+")
        path.write_bytes(midirenderer.render_wave_from(font, file.getvalue()))
        yield _Take(path, (f"family-{family}", f"role-{role}"))


def _groups(
    performance: Performance, roles: Mapping[str, str], manner: Manner, loud: Sequence[int]
) -> Iterator[tuple[Any, str, str]]:
    """(MIDI file of one port, family, role) of all that sounds."""
    parts = performance.score.parts
    found: dict[tuple[str, str], list[int]] = {}
    for index, part in enumerate(parts):
        for role in sorted({roles.get(sound.source, "rhythm") for sound in performance.sounds[index]}):
            found.setdefault((part.player.instrument.family, role), []).append(index)
    for (family, role), indices in found.items():
        for group in _ports(parts, indices):
            midi = mido.MidiFile(type=1, ticks_per_beat=QUARTER, charset="utf-8")
            midi.tracks.append(track(_copies(performance.conductor), performance.end))
            for index, channel in group:
                own = [s for s in performance.sounds[index] if roles.get(s.source, "rhythm") == role]
                controls = [(t, o, m.copy(channel=channel)) for t, o, m in performance.controls[index] if not m.is_meta]
                seat = [
                    (0, CONTROL, mido.Message("control_change", channel=channel, control=number, value=value))
                    for number, value in ((VOLUME, loud[index]), (PAN, _place(parts[index], manner)))
                ]
                midi.tracks.append(track([*seat, *controls, *notes(own, channel)], performance.end))
            yield midi, family, role


def _copies(timed: Sequence[Timed]) -> list[Timed]:
    return [(tick, order, message.copy()) for tick, order, message in timed]


def _ports(parts: Sequence[Part], indices: Sequence[int]) -> Iterator[list[tuple[int, int]]]:
    """(part, channel from 0) in groups that one port can take."""
    free = pitched_channels()
    group: list[tuple[int, int]] = []
    used = 0
    for index in indices:
        if used == len(free):
            yield group
            group, used = [], 0
        if parts[index].player.instrument.gm == 0:
            group.append((index, PERCUSSION - 1))
        else:
            group.append((index, free[used] - 1))
            used += 1
    yield group


def _place(part: Part, manner: Manner) -> int:
    """From left to right, 0 to 127."""
    instrument = part.player.instrument
    place: int = manner["seat"].get(instrument.id, manner["pan"][instrument.family])
    return place


def _sum(files: Sequence[Path]) -> Samples:
    import soundfile

    total: Samples = np.zeros((1, 2), np.float32)
    for path in files:
        read, _ = soundfile.read(path, dtype="float32", always_2d=True)
        if len(read) > len(total):
            total = np.pad(total, ((0, len(read) - len(total)), (0, 0)))
        total[: len(read)] += read
    return total


def _gain(mix: Samples, table: Mapping[str, float]) -> float:
    """Decibels to the wanted loudness, less where the peak would pass its bound; 0 for silence."""
    loudness, peak = _loudness(mix), true_peak(mix)
    if not np.isfinite(loudness) or not np.isfinite(peak):
        return 0.0
    return min(table["target"] - loudness, table["peak"] - peak)


def _loudness(mix: Samples) -> float:
    """Integrated loudness, LUFS (ITU-R BS.1770-4); -inf for silence or less than its window of 0.4 s."""
    import pyloudnorm

    if len(mix) <= 0.4 * RATE:
        return float("-inf")
    return float(pyloudnorm.Meter(RATE).integrated_loudness(mix))


def true_peak(mix: Samples) -> float:
    """dBTP: the highest place of the signal at four times its rate (ITU-R BS.1770-4, annex 2), block by block."""
    from scipy.signal import resample_poly

    most = 0.0
    overlap = BLOCK // 64
    for start in range(0, len(mix), BLOCK):
        piece = mix[max(0, start - overlap) : start + BLOCK + overlap]
        most = max(most, float(np.abs(resample_poly(piece, 4, 1, axis=0)).max(initial=0.0)))
    return 20 * float(np.log10(most)) if most else float("-inf")


def _file(samples: Samples, kind: str, subtype: str) -> bytes:
    import soundfile

    file = BytesIO()
    soundfile.write(file, samples, RATE, format=kind, subtype=subtype)
    return file.getvalue()
