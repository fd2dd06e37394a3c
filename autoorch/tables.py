"""The trade's knowledge: constraints/*.toml read into frozen dataclasses, strictly (an unknown, missing or absurd key is a TableError)."""

from __future__ import annotations

from dataclasses import dataclass

from autoorch.pitch import Pitch


@dataclass(frozen=True, slots=True)
class Register:
    """A band of an instrument: sounding `low` to `high` (MIDI numbers), `strength` -2 (very weak) to 2 (overpowering) at
    equal written dynamic, softest and loudest practical dynamic."""

    name: str
    low: int
    high: int
    strength: int
    softest: str
    loudest: str


@dataclass(frozen=True, slots=True)
class Instrument:
    """One instrument; all pitches are sounding MIDI numbers.

    Attributes:
        id: key of the table ("horn", "clarinet_bb", "violin").
        family: "woodwind", "brass", "percussion", "harp", "keyboard", "voice" or "strings".
        kind: "wind" (one note at a time, breathes), "bowed", "plucked", "keys", "mallets", "timpani", "unpitched", "voice".
        normal, extreme: (low, high).
        transposition: (diatonic steps, semitones) from sounding to written (horn in F: (4, 7)).
        clefs: usual clef first ("treble", "bass", "alto", "tenor", "treble-8", "percussion").
        staves: 1 or 2.
        sound: MusicXML 4.0 sound id; gm: General MIDI program 1 to 128 (0: channel 10).
        power: table row of constraints/balance.toml.
        notes: most notes at once for one player (1 for winds).
    """

    id: str
    name: str
    short: str
    family: str
    kind: str
    normal: tuple[int, int]
    extreme: tuple[int, int]
    transposition: tuple[int, int]
    clefs: tuple[str, ...]
    staves: int
    sound: str
    gm: int
    power: str
    notes: int
    registers: tuple[Register, ...]
    sources: tuple[str, ...]

    def written(self, sounding: Pitch) -> Pitch:
        """The pitch on the page of the transposed score."""
        return sounding.transposed(*self.transposition)

    def register(self, midi: int) -> Register | None:
        """The band that holds a sounding pitch (the nearest one where it lies outside all)."""
        if not self.registers:
            return None
        return min(self.registers, key=lambda band: max(band.low - midi, midi - band.high, 0))
