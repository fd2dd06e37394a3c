"""Voices of polyphony: which note follows which, for all notes of the cue at once.

Each pair of notes that may follow each other has log-odds from interval, silence, place among what sounds and rivals (few
weights, constraints/voices.toml); every note has at most one successor and one predecessor, and the likeliest set of pairs is
a flow of least cost. All pairs are looked at twice (autoorch/roles/pairs.py): the second time each knows how likely its rivals
are, where the voices that it would join lie, and what becomes of the same notes elsewhere. Where the number of voices hardly
changes, slices kept in order from top to bottom do better (autoorch/roles/lines.py).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from ortools.graph.python.min_cost_flow import SimpleMinCostFlow

from autoorch.roles.again import chances
from autoorch.roles.lines import in_lines
from autoorch.roles.pairs import AGAIN, LOOKS, Indices, Numbers, pairs, second_look
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone
from autoorch.tables import Tables

FINE = 1000
"""Steps that a likelihood of 1 is cut into for the flow."""

SCHEMA = {
    "choice": dict.fromkeys(("back", "reach", "most", "rest", "least", "steady"), float),
    "pairs": dict.fromkeys((*LOOKS, "constant"), float),
    "again": dict.fromkeys((*AGAIN, *LOOKS, "constant"), float),
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
    choice = table["choice"]
    first, second, looks = pairs(tones, choice)
    chance = likelihoods(looks, LOOKS, table["pairs"])
    follows = followers(len(tones), first, second, chance - choice["least"])
    looks = np.hstack([second_look(tones, first, second, chance, follows, choice), looks])
    chance = likelihoods(looks, (*AGAIN, *LOOKS), table["again"])
    follows = followers(len(tones), first, second, chance - choice["least"])
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


def ways_to_hear(texture: Texture, table: Mapping[str, Any], costs: Section) -> list[list[list[Tone]]]:
    """Voices of all notes as if they stood on one staff; and, where there are more, those that each staff has by itself."""
    found = [in_voices(texture.tones, table, costs)]
    staves = sorted({tone.staff for tone in texture.tones})
    if len(staves) > 1:
        own = ([tone for tone in texture.tones if tone.staff == staff] for staff in staves)
        found.append([line for tones in own for line in in_voices(tones, table, costs)])
    return found


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


def likelihoods(looks: Numbers, names: Sequence[str], weights: Section) -> Numbers:
    """(pairs,) of pairs that look so, a column of `looks` for each name."""
    odds = looks @ np.array([weights[name] for name in names]) + weights["constant"]
    return chances(odds)


def followers(count: int, first: Indices, second: Indices, worth: Numbers) -> dict[int, int]:
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
