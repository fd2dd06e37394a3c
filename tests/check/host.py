"""A clean score for all instruments to plant faults in: chorales of music21's corpus laid out plainly, winds with rests."""

from __future__ import annotations

from functools import cache

from music21 import corpus, note, stream

from tests.check.plant import Host
from tests.check.tiny import document

CHORALES = ("bach/bwv269", "bach/bwv277", "bach/bwv281", "bach/bwv302")

# part, voice of the chorale (0 = soprano), semitones up
LAYOUT = (
    *(("Flute 1", 0, 12), ("Flute 2", 1, 12), ("Oboe 1", 0, 0), ("Clarinet 1", 1, 0), ("Bassoon 1", 3, 0)),
    *(("Bassoon 2", 3, 0), ("Horn 1", 1, 0), ("Horn 2", 2, 0), ("Trumpet 1", 0, 0), ("Trombone 1", 2, 0)),
    *(("Trombone 2", 2, 0), ("Trombone 3", 3, 0), ("Tuba", 3, 0), ("Timpani", -1, 0), ("Xylophone", 0, 12)),
    *(("Harp", 0, 0), ("Violins I", 0, 0), ("Violins II", 1, 0), ("Violas", 2, 0), ("Violoncellos", 3, 0)),
    ("Double basses", 3, 0),
)
WOODWIND = 6  # the first rows; they rest in other bars than the brass and the drums


@cache
def _document() -> bytes:
    voices = [_bars([corpus.parse(name).parts[k] for name in CHORALES]) for k in range(4)]
    count = min(len(voice) for voice in voices)
    parts = []
    for place, (name, voice, up) in enumerate(LAYOUT):
        bars = []
        for bar in range(count):
            silent = place < 15 and (bar + (place < WOODWIND)) % 4 == 0
            if silent or (voice < 0 and bar % 6):
                bars.append("r:4")
            elif voice < 0:
                bars.append("[mf] C3:1 r:3")
            else:
                bars.append("[mf] " + " ".join(_token(pitch + up, length) for pitch, length in voices[voice][bar]))
        transposition = "<transpose><chromatic>0</chromatic><octave-change>{}</octave-change></transpose>"
        shift = {"Double basses": -1, "Xylophone": 1}.get(name)
        written = [name, "|".join(bars)] + ([transposition.format(shift)] if shift else [])
        parts.append(tuple(written))
    return document(*parts, tempo=96).encode("utf-8")  # type: ignore[arg-type]


def _bars(parts: list[stream.Part]) -> list[list[tuple[int, float]]]:
    """Four-quarter bars of (pitch, quarters), notes cut at the bar lines; the pieces follow each other without a gap."""
    bars: list[list[tuple[int, float]]] = [[]]
    room = 4.0
    for part in parts:
        for event in part.flatten().notes:
            left = float(event.quarterLength)
            while isinstance(event, note.Note) and left > 0:
                length = min(left, room)
                bars[-1].append((event.pitch.midi, length))
                left, room = left - length, room - length
                if room <= 0:
                    bars.append([])
                    room = 4.0
    return bars[:-1]


def _token(midi: int, length: float) -> str:
    names = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
    return f"{names[midi % 12]}{midi // 12 - 1}:{length:g}"


def chorale_host() -> Host:
    return Host(_document())
