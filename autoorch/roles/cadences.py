"""Cadences: how the chords close before a place, told from the last change of harmony and where it falls."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from autoorch.roles.model import Chord
from autoorch.roles.names import FIFTH, FOURTH, LEADING
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture

_DECEPTIVE = {"major": (9,), "minor": (8,)}


@dataclass(frozen=True, slots=True)
class Cadence:
    """A close: kind of model.CADENCES, where its last chord begins, how strong it is (0 to 1)."""

    kind: str
    onset: int
    strength: float


class Closes:
    """All chords with a name, runs of one root as one, to be asked how they close before a tick."""

    def __init__(self, texture: Texture, chords: Sequence[Chord], table: Section) -> None:
        """`table` is [cadence] of constraints/reading.toml."""
        self.texture = texture
        self.table = table
        self.runs: list[list[Chord]] = []
        for chord in chords:
            if chord.root is None:
                continue
            last = self.runs[-1][-1] if self.runs else None
            if last and (last.root, last.third, last.key) == (chord.root, chord.third, chord.key):
                self.runs[-1].append(chord)
            else:
                self.runs.append([chord])
        self.starts = [run[0].start for run in self.runs]

    def before(self, tick: int) -> Cadence | None:
        """The cadence that closes at `tick`: its last chord began not much earlier and is on a beat."""
        k = bisect_left(self.starts, tick) - 1
        if k < 1:
            return None
        before, here = self.runs[k - 1][-1], self.runs[k][0]
        start = here.start
        if self.texture.in_bars(tick - 1) - self.texture.in_bars(start) > self.table["bars"]:
            return None
        if not self.texture.on_beat(start):
            return None
        kind = kind_of(before, here)
        if kind is None:
            return None
        strength = self.table[kind]
        if kind == "authentic" and (here.inversion or before.inversion):
            strength *= self.table["inverted"]
        if not self.texture.on_bar(start):
            strength *= self.table["inside"]
        return Cadence(kind, start, strength)


def kind_of(before: Chord, here: Chord) -> str | None:
    """What two chords make at a close; None where it is no cadence.

    Authentic: dominant (or leading-note chord) to tonic. Half: a plain dominant triad in root position after another chord.
    Deceptive: dominant to the submediant. Plagal: subdominant to tonic (common practice).
    """
    if before.root is None or here.root is None:
        return None
    tonic, mode = here.key
    old, new = (before.root - tonic) % 12, (here.root - tonic) % 12
    major_third = (before.third or 0) == (before.root + 4) % 12
    dominant = (old == FIFTH and major_third) or old == LEADING
    if new == 0 and len(here.members) == 3:
        if dominant:
            return "authentic"
        return "plagal" if old == FOURTH and not here.inversion else None
    if dominant and old == FIFTH and new in _DECEPTIVE[mode] and not here.inversion:
        return "deceptive"
    half = new == FIFTH and here.third == (here.root + 4) % 12 and len(here.members) == 3 and not here.inversion
    return "half" if half and not dominant else None
