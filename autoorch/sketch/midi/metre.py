"""Beats and bars over a pulse: which pulses are beats, and which beats begin bars.

A hidden Markov model over half pulses: a state is a metre (half pulses a beat, beats a bar) and the place in its bar; what
is observed at a half pulse (attacks, basses, changes of harmony, lengths, rests) is more or less likely on a bar line, on the
second beat of three, between beats and so on, and each metre at each tempo is more or less usual: the Bayesian reading of
metre of Temperley, Music and Probability (MIT Press, 2007), with the bar pointer of Whiteley, Cemgil and Godsill (ISMIR 2006).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from autoorch.sketch.midi.evidence import FEATURES, Evidence

Array = NDArray[np.float64]
PLACES = (
    "between middle second_third last_third beat_2_of_2 beat_2_of_3 beat_3_of_3 beat_2_of_4 beat_3_of_4 beat_4_of_4 "
    "bar_2 bar_3 bar_4"
).split()
"""Kinds of places in a bar that observations are told apart by; the first is what all others are weighed against."""
COSTS = (
    "tempo tempo_side bar bar_side beats_2 beats_3 beats_4 compound_2 compound_3 compound_4 thirds whole fine pulse line "
    "new_bar new_half new_beat new_two start_upbeat start_half start_late end_inside"
).split()
"""What is charged besides: see [metre] of constraints/beats.toml."""
METRES = ("2/4", "3/4", "4/4", "6/8", "9/8", "12/8")
"""What may be told of bars."""
FINE = 6
"""Half pulses of a beat from which its pulse is a fine one."""
SCHEMA = {
    "metre": dict.fromkeys("usual usual_bar change jump third_near third_more third_least told".split(), float)
    | {"halves": [int], "beats": [int]},
    "worth": dict.fromkeys(COSTS, float),
    "places": {name: [float] for name in FEATURES},
}


@dataclass(frozen=True)
class Grid:
    """The beats of a take.

    Attributes:
        beats: seconds of each beat, ascending.
        bars: (index of its first beat, number of beats) of each bar, without gaps; the first may be a pickup.
        worth: log-likelihood ratio against no metre at all.
    """

    beats: Array
    bars: tuple[tuple[int, int], ...]
    worth: float


@dataclass(frozen=True)
class Known:
    """What the user tells of a take: quarters a minute, about, and the metre of its bars; None for what is to be found."""

    tempo: float | None = None
    metre: tuple[int, int] | None = None

    @classmethod
    def of(cls, tempo: float | None, metre: str | None) -> Known:
        """With the metre as it is written, such as "3/4"."""
        count, _, unit = (metre or "").partition("/")
        return cls(tempo, (int(count), int(unit)) if unit else None)

    def __bool__(self) -> bool:
        return self.tempo is not None or self.metre is not None

    def __str__(self) -> str:
        metre = "{}/{}".format(*self.metre) if self.metre else ""
        return " at ".join(filter(None, (metre, f"{self.tempo:g} quarters a minute" if self.tempo else "")))


class States:
    """Every place in every metre, in a row: arrays over the places, and the first and last place of each metre.

    Attributes:
        kind: index into PLACES; beat: half pulses a beat; beats: beats a bar; left: half pulses to the next bar line.
        on_beat: whether a beat begins there; closing: whether one ends with it.
        starts, lasts: places.
    """

    def __init__(self, table: Mapping[str, Any]) -> None:
        metres = [(beat, beats) for beat in table["halves"] for beats in table["beats"]]
        self.kind = np.array([kind for metre in metres for kind in _kinds(*metre)])
        sizes = np.array([beat * beats for beat, beats in metres])
        self.lasts = np.cumsum(sizes) - 1
        self.starts = self.lasts - sizes + 1
        self.beat, self.beats, self.size = (np.repeat(each, sizes) for each in (*np.array(metres).T, sizes))
        place = np.arange(len(self.kind)) - np.repeat(self.starts, sizes)
        self.left = -place % self.size
        self.on_beat = place % self.beat == 0
        self.closing = (place + 1) % self.beat == 0


def _kinds(beat: int, beats: int) -> list[int]:
    """Kind of each half pulse of a bar with so many half pulses a beat."""
    found = [0] * (beat * beats)
    for first in range(beats):
        here = first * beat
        if beat % 3 == 0:
            found[here + beat // 3], found[here + 2 * beat // 3] = (
                PLACES.index("second_third"),
                PLACES.index("last_third"),
            )
        elif beat > 1:
            found[here + beat // 2] = PLACES.index("middle")
        found[here] = PLACES.index(f"beat_{first + 1}_of_{beats}" if first else f"bar_{beats}")
    return found


def in_thirds(places: Array, table: Mapping[str, float]) -> bool:
    """Whether attacks, given in beats, stand inside their beats on thirds, many more than on halves.

    `table` is [metre] of constraints/beats.toml.
    """
    phase = places % 1
    thirds = int((np.minimum(np.abs(phase - 1 / 3), np.abs(phase - 2 / 3)) < table["third_near"]).sum())
    halves = int((np.abs(phase - 1 / 2) < table["third_near"]).sum())
    return thirds > max(table["third_more"] * halves, table["third_least"] * len(places))


def charges(evidence: Evidence, states: States, table: Mapping[str, Any]) -> dict[str, Array]:
    """How far each of COSTS bears on each half pulse and place: arrays that broadcast to (half pulses, places).

    `table` is [metre] of constraints/beats.toml.
    """
    log_beat = np.log2(evidence.steps[:, None] * states.beat / table["usual"])
    log_bar = np.log2(evidence.steps[:, None] * states.size / table["usual_bar"])
    compound = (states.beat % 3 == 0) | (evidence.triple & (states.beat == 2))
    begins, ends = (np.zeros((len(evidence.steps), 1)) for _ in range(2))
    attacks = np.flatnonzero(evidence.seen[:, FEATURES.index("attack")])
    begins[attacks[:1]], ends[attacks[-1:]] = 1.0, 1.0
    line, upbeat, half = states.left == 0, states.left <= states.beat, 2 * states.left <= states.size
    found = {"tempo": log_beat**2, "tempo_side": log_beat, "bar": log_bar**2, "bar_side": log_bar}
    found |= {f"beats_{count}": states.beats[None] == count for count in (2, 3, 4)}
    found |= {f"compound_{count}": (compound & (states.beats == count))[None] for count in (2, 3, 4)}
    found |= {
        "thirds": np.full((1, 1), evidence.triple),
        "whole": states.beat[None] == 1,
        "fine": states.beat[None] >= FINE,
    }
    found |= {"pulse": evidence.worth * evidence.steps[:, None], "line": line[None]}
    widths = {"new_bar": states.size, "new_half": np.maximum(1, states.size // 2), "new_beat": states.beat}
    for name, width in (widths | {"new_two": 2 * states.size}).items():
        found[name] = evidence.novelty(width) * (line - states.on_beat / states.beats)
    found |= {"start_upbeat": begins * (~line & upbeat), "start_half": begins * (~line & ~upbeat & half)}
    found |= {"start_late": begins * (~line & ~upbeat & ~half), "end_inside": ends * ~line}
    return {name: np.asarray(value, dtype=float) for name, value in found.items()}


def find_metre(evidence: Evidence, table: Mapping[str, Any]) -> Grid:
    """Beats and bars.

    Args:
        evidence: what is observed.
        table: constraints/beats.toml.
    """
    states = States(table["metre"])
    weights = np.array([table["places"][name] for name in FEATURES])
    emitted = (evidence.seen @ weights)[:, states.kind]
    for name, value in charges(evidence, states, table["metre"]).items():
        emitted += table["worth"][name] * value
    path, worth = _likeliest(emitted, states, table["metre"])
    return _grid(evidence.pulse, path, states, worth)


def _likeliest(emitted: Array, states: States, rules: Mapping[str, float]) -> tuple[NDArray[np.int64], float]:
    """The best way through the places, by Viterbi search, and its sum; `emitted` is (half pulses, places)."""
    starts, lasts = states.starts, states.lasts
    before = np.arange(len(states.kind)) - 1
    before[starts] = lasts
    closed = np.where(states.closing, 0.0, -np.inf)
    score = emitted[0].copy()
    came = np.zeros(emitted.shape, dtype=np.int16)
    for slot in range(1, len(emitted)):
        gained = score[before]
        came[slot] = before
        best, jump = int(lasts[score[lasts].argmax()]), int((score + closed).argmax())
        for source, cost in ((best, rules["change"]), (jump, rules["jump"])):
            better = starts[score[source] - cost > gained[starts]]
            gained[better] = score[source] - cost
            came[slot, better] = source
        score = gained + emitted[slot]
    path = [int(score.argmax())]
    for slot in range(len(emitted) - 1, 0, -1):
        path.append(int(came[slot, path[-1]]))
    return np.array(path[::-1]), float(score.max())


def _grid(pulse: Array, path: NDArray[np.int64], states: States, worth: float) -> Grid:
    places = np.flatnonzero(states.on_beat[path])
    beats = np.interp(places / 2, np.arange(len(pulse)), pulse)
    begins = [0, *(k for k in range(1, len(places)) if states.left[path[places[k]]] == 0)]
    stops = [*begins[1:], len(places)]
    return Grid(beats, tuple((a, b - a) for a, b in zip(begins, stops, strict=True)), worth)
