"""How long the notes of a broken chord stand for its members: as long as the figure lasts.

A hand that breaks a chord names its members one after the other; each holds for the whole figure, or until a step takes its
place (common practice; that is why such a figure is kept whole with what it holds).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from itertools import groupby, pairwise

from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone


def ringing(texture: Texture, tune: Collection[int], table: Section) -> Mapping[int, tuple[int, int]]:
    """Index of each tone of a broken chord -> the ticks from and to which its pitch holds.

    Args:
        texture: all notes.
        tune: indices of the tune's tones, which hold no longer than they are written.
        table: [figure].
    """
    least, third = int(table["notes"]), int(table["third"])
    found: dict[int, tuple[int, int]] = {}
    for runs in _runs(texture, tune, table["unit"]):
        alike = Counter(tuple(tone.pitch for tone in run) for run in runs)
        for run in runs:
            moves = [abs(b.pitch - a.pitch) for a, b in pairwise(run) if b.pitch != a.pitch]
            leaps = sum(move >= third for move in moves)
            whole = len(run) >= least or alike[tuple(tone.pitch for tone in run)] > 1
            if not whole or not moves or leaps < table["leaps"] * len(moves):
                continue
            for tone in run:
                near = [other for other in run if 0 < abs(other.pitch - tone.pitch) < third]
                taken = (other.onset for other in near if other.onset > tone.onset)
                found[tone.index] = tone.onset if near else run[0].onset, next(taken, run[-1].end)
    return found


def _runs(texture: Texture, tune: Collection[int], unit: float) -> Iterator[list[list[Tone]]]:
    """For each staff and bar the runs of single, equally long, quick notes that follow each other."""
    by_staff: dict[int, dict[int, list[Tone]]] = {}
    for tone in texture.tones:
        if tone.index not in tune:
            by_staff.setdefault(tone.staff, {}).setdefault(tone.onset, []).append(tone)
    for attacks in by_staff.values():
        quick = (
            tones[0]
            for tones in attacks.values()
            if len(tones) == 1 and tones[0].length <= unit * texture.beat_at(tones[0].onset)
        )
        for _, bar in groupby(quick, key=lambda tone: texture.sketch.bar_at(tone.onset).onset):
            runs: list[list[Tone]] = []
            for tone in bar:
                if runs and tone.onset == runs[-1][-1].end and tone.length == runs[-1][-1].length:
                    runs[-1].append(tone)
                else:
                    runs.append([tone])
            yield [run for run in runs if len(run) > 2]
