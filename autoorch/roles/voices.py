"""Voices of polyphony: which note follows which, for all notes of the cue at once.

Each pair of notes that may follow each other has log-odds from interval, silence, place among what sounds and rivals (few
weights, constraints/voices.toml); every note has at most one successor and one predecessor, and the likeliest set of pairs is
a flow of least cost. Where the number of voices hardly changes, slices kept in order from top to bottom do better
(autoorch/roles/lines.py).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from ortools.graph.python.min_cost_flow import SimpleMinCostFlow

from autoorch.roles.lines import in_lines
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Tone
from autoorch.tables import Tables

Numbers = NDArray[np.float64]
Indices = NDArray[np.int64]
FINE = 1000
"""Steps that a likelihood of 1 is cut into for the flow."""

LOOKS = (
    "interval",  # semitones, at most 24, in sixths
    "repeated",  # none
    "step",  # a tone or semitone
    "third",
    "wide",  # more than an octave
    "interval_squared",  # in hundreds
    "rest",  # silence between
    "silence",  # log2(1 + units)
    "long_rest",  # more than two units
    "rank_above",  # change in the number of tones sounding above, at most 3
    "rank_below",
    "same_rank",  # neither changes
    "other_number",  # the number of tones sounding changes
    "same_length",
    "length",  # change of log2 of the length, at most 3
    "crossed",  # tones held on between the two pitches, at most 3
    "better_second",  # how much nearer the second is than the best other one that could follow, sixths of semitones, at most 3
    "better_first",  # and the first than the best other one that could go before
    "both_highest",
    "both_lowest",
    "leap_over_rest",  # octaves of the interval times the silence
)
SCHEMA = {
    "choice": dict.fromkeys(("back", "reach", "most", "rest", "least", "steady"), float),
    "pairs": dict.fromkeys((*LOOKS, "constant"), float),
}


def voices_table(tables: Tables) -> Mapping[str, Any]:
    """What is known of voices: constraints/voices.toml.

    Raises:
        TableError: for an unknown, missing or absurd key.
    """
    return tables.rule("voices", SCHEMA)


def in_voices(tones: Sequence[Tone], table: Mapping[str, Any], costs: Section) -> list[list[Tone]]:
    """Lines from the highest to the lowest; no two tones of a line overlap.

    Args:
        tones: in order of (onset, falling pitch).
        table: see voices_table.
        costs: [lines] of constraints/reading.toml.
    """
    if len(tones) < 2:
        return [list(tones)] if tones else []
    if _steady(tones) >= table["choice"]["steady"]:
        return in_lines(tones, costs)
    first, second, looks = pairs(tones, table["choice"])
    odds = looks @ np.array([table["pairs"][name] for name in LOOKS]) + table["pairs"]["constant"]
    follows = _flow(len(tones), first, second, 1 / (1 + np.exp(-odds)) - table["choice"]["least"])
    chains: list[list[Tone]] = []
    chain_of: dict[int, list[Tone]] = {}
    before = {after: k for k, after in follows.items()}
    for k, tone in enumerate(tones):
        chain = chain_of[before[k]] if k in before else []
        if not chain:
            chains.append(chain)
        chain.append(tone)
        chain_of[k] = chain
    return _joined(chains)


def _steady(tones: Sequence[Tone]) -> float:
    """Share of the attacks at which as many tones sound as at most others."""
    held: list[Tone] = []
    counts: Counter[int] = Counter()
    attacks: dict[int, list[Tone]] = {}
    for tone in tones:
        attacks.setdefault(tone.onset, []).append(tone)
    for onset, group in attacks.items():
        held = [t for t in held if t.end > onset] + group
        counts[len(held)] += 1
    return max(counts.values()) / counts.total()


def pairs(tones: Sequence[Tone], choice: Section) -> tuple[Indices, Indices, Numbers]:
    """First and second note of each pair that may follow each other, and (pairs, len(LOOKS)) what they look like."""
    on = np.array([t.onset for t in tones])
    end = np.array([t.end for t in tones])
    pitch = np.array([t.pitch for t in tones])
    steps = np.diff(np.unique(on))
    unit = float(np.median(steps)) if len(steps) else float(max(1, end[0] - on[0]))
    head, tail = np.searchsorted(on, on), np.searchsorted(on, on, side="right")
    above, below, number = (np.zeros(len(tones)) for _ in range(3))
    held: list[int] = []
    lasting: dict[int, Indices] = {}
    for i in range(len(tones)):
        if head[i] == i:
            held = [k for k in held if end[k] > on[i]]
            lasting[i] = np.array(held, dtype=np.int64)
            held += range(i, tail[i])
        others = pitch[held]
        above[i], below[i], number[i] = (others > pitch[i]).sum(), (others < pitch[i]).sum(), len(held)
    low = np.searchsorted(on, on - choice["reach"] * unit)
    firsts, seconds = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for j in range(len(tones)):
        before = np.arange(low[j], head[j])
        before = before[(end[before] <= on[j]) & (end[before] >= on[j] - choice["back"] * unit)]
        before = before[np.argsort(-end[before], kind="stable")[: int(choice["most"])]]
        firsts.append(before)
        seconds.append(np.full(len(before), j))
    first, second = np.concatenate(firsts), np.concatenate(seconds)
    interval = np.abs(pitch[second] - pitch[first]).astype(float)
    gap, length = (on[second] - end[first]) / unit, np.log2((end - on) / unit)
    cost = interval + choice["rest"] * np.minimum(gap, choice["back"])
    crossed = np.zeros(len(first))
    for e, (i, j) in enumerate(zip(first.tolist(), second.tolist(), strict=True)):
        still = lasting[head[j]]
        between = pitch[still[on[still] < end[i]]]
        crossed[e] = (
            ((between > pitch[i]) & (between < pitch[j])) | ((between < pitch[i]) & (between > pitch[j]))
        ).sum()
    up, down = np.abs(above[second] - above[first]), np.abs(below[second] - below[first])
    longer = np.abs(length[second] - length[first])
    looks = (
        np.minimum(interval, 24) / 6,
        interval == 0,
        (interval > 0) & (interval <= 2),
        (interval > 2) & (interval <= 4),
        interval > 12,
        np.minimum(interval, 24) ** 2 / 100,
        gap > 0.01,
        np.log2(1 + gap),
        gap > 2,
        np.minimum(3, up),
        np.minimum(3, down),
        (up == 0) & (down == 0),
        number[second] != number[first],
        longer < 0.1,
        np.minimum(3, longer),
        np.minimum(3, crossed),
        np.clip((_rival(second, cost, len(tones)) - cost) / 6, -3, 3),
        np.clip((_rival(first, cost, len(tones)) - cost) / 6, -3, 3),
        (above[second] == 0) & (above[first] == 0),
        (below[second] == 0) & (below[first] == 0),
        np.log2(1 + np.minimum(gap, 16)) * interval / 12,
    )
    return first, second, np.stack([np.asarray(look, dtype=float) for look in looks], axis=1)


def _rival(ends: Indices, cost: Numbers, count: int) -> Numbers:
    """Of each pair the least cost of another pair with the same end."""
    far = 99.0
    least, next_ = np.full(count, far), np.full(count, far)
    for note, value in zip(ends.tolist(), cost.tolist(), strict=True):
        if value < least[note]:
            least[note], next_[note] = value, least[note]
        elif value < next_[note]:
            next_[note] = value
    return np.asarray(np.where(cost <= least[ends], next_[ends], least[ends]))


def _flow(count: int, first: Indices, second: Indices, worth: Numbers) -> dict[int, int]:
    """The pairs with the greatest sum of worths, at most one forth and one back for each note."""
    kept = np.flatnonzero(worth > 0)
    notes, one = np.arange(count), np.ones(count, dtype=np.int64)
    source, sink = 2 * count, 2 * count + 1
    flow = SimpleMinCostFlow()
    own = flow.add_arcs_with_capacity_and_unit_cost(
        first[kept], second[kept] + count, np.ones(len(kept), dtype=np.int64), -np.round(worth[kept] * FINE).astype(int)
    )
    flow.add_arcs_with_capacity_and_unit_cost(np.full(count, source), notes, one, 0 * one)
    flow.add_arcs_with_capacity_and_unit_cost(notes + count, np.full(count, sink), one, 0 * one)
    flow.add_arc_with_capacity_and_unit_cost(source, sink, count, 0)
    flow.set_node_supply(source, count)
    flow.set_node_supply(sink, -count)
    flow.solve()
    taken = kept[np.asarray(flow.flows(own)) > 0] if len(kept) else kept
    return dict(zip(first[taken].tolist(), second[taken].tolist(), strict=True))


def _joined(chains: Sequence[list[Tone]]) -> list[list[Tone]]:
    """The chains in as few lines as can be: each goes on in the free line whose last note lies nearest."""
    lines: list[list[Tone]] = []
    ends: list[int] = []
    for chain in sorted(chains, key=lambda c: (c[0].onset, -c[0].pitch, c[0].index)):
        free = [k for k, end in enumerate(ends) if end <= chain[0].onset]
        if free:
            k = min(free, key=lambda k: (abs(lines[k][-1].pitch - chain[0].pitch), k))
            lines[k] += chain
            ends[k] = chain[-1].end
        else:
            lines.append(list(chain))
            ends.append(chain[-1].end)
    return sorted(lines, key=lambda line: (-sum(t.pitch for t in line) / len(line), line[0].index))
