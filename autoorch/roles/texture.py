"""The sketch's notes as the reading sees them: sounding notes with their attacks and neighbours, on beats and bars."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from autoorch.sketch.model import Bar, Sketch, SketchNote


@dataclass(frozen=True, slots=True)
class Tone:
    """One note that lasts (grace notes are no tones).

    Attributes:
        index: place in `Texture.tones`.
        id: of the sketch note.
        onset, end: ticks.
        pitch: MIDI number.
        staff, voice: as in the sketch.
        velocity: MIDI velocity or None.
    """

    index: int
    id: str
    onset: int
    end: int
    pitch: int
    staff: int
    voice: int
    velocity: int | None

    @property
    def length(self) -> int:
        return self.end - self.onset


class Texture:
    """All tones in order of (onset, falling pitch), and what sounds with each of them.

    Attributes:
        sketch: where they come from.
        tones: all of them.
        graces: the grace notes, in the order of the sketch.
        onsets: ticks at which something is attacked.
        attacks: onset -> its tones, highest first.
        sounding: onset -> all tones that sound there, held ones too, highest first.
    """

    def __init__(self, sketch: Sketch) -> None:
        self.sketch = sketch
        self.graces: tuple[SketchNote, ...] = tuple(n for n in sketch.notes if n.duration == 0)
        lasting = sorted((n for n in sketch.notes if n.duration > 0), key=lambda n: (n.onset, -n.pitch.midi, n.staff))
        self.tones = tuple(
            Tone(k, n.id, n.onset, n.end, n.pitch.midi, n.staff, n.voice, n.velocity) for k, n in enumerate(lasting)
        )
        self.attacks: dict[int, list[Tone]] = {}
        for tone in self.tones:
            self.attacks.setdefault(tone.onset, []).append(tone)
        self.onsets = list(self.attacks)
        self.sounding: dict[int, list[Tone]] = {}
        held: list[Tone] = []
        for onset, new in self.attacks.items():
            held = sorted([t for t in held if t.end > onset] + new, key=lambda t: (-t.pitch, t.index))
            self.sounding[onset] = held
        self.beats = [tick for bar in sketch.bars for tick in range(bar.onset, bar.end, self.beat_of(bar))]
        self._bars = [bar.onset for bar in sketch.bars]

    def between(self, start: int, end: int) -> list[Tone]:
        """The tones that begin from `start` to before `end`."""
        onsets = self.onsets[bisect_left(self.onsets, start) : bisect_left(self.onsets, end)]
        return [tone for onset in onsets for tone in self.attacks[onset]]

    def beat_of(self, bar: Bar) -> int:
        """Ticks of a beat: the metre's unit, three of them in compound metres (6/8, 9/8, 12/8)."""
        beats, unit = bar.metre
        length = self.sketch.ticks * 4 // unit
        return max(1, length * (3 if beats > 3 and beats % 3 == 0 else 1))

    def beat_at(self, tick: int) -> int:
        """Ticks of a beat at `tick`."""
        return self.beat_of(self.sketch.bar_at(tick))

    def in_bars(self, tick: int) -> float:
        """`tick` counted in bars from the start."""
        bars = self.sketch.bars
        index = max(0, bisect_right(self._bars, tick) - 1)
        return index + (tick - bars[index].onset) / max(1, bars[index].length)

    def on_bar(self, tick: int) -> bool:
        """A bar starts at `tick`."""
        index = bisect_left(self._bars, tick)
        return index < len(self._bars) and self._bars[index] == tick

    def on_beat(self, tick: int) -> bool:
        """A beat starts at `tick`."""
        index = bisect_left(self.beats, tick)
        return index < len(self.beats) and self.beats[index] == tick
