"""Two hands for a take that came in one strand: where the keyboard is split, attack by attack.

A Viterbi search over split points: each hand spans what a hand spans, the split stays near where it was and near the middle
of the keyboard (common practice).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from autoorch.sketch.midi.take import Strand, Take

NAMES = ("Right hand", "Left hand")


def split_hands(take: Take, table: Mapping[str, float]) -> Take:
    """The take with two strands, the upper first, where it has one; otherwise as it is.

    Args:
        table: [hands] of constraints/beats.toml.
    """
    keys = [note.key for note in take.notes]
    if len(take.strands) != 1 or max(keys) - min(keys) <= table["span"]:
        return take
    starts = sorted({note.start for note in take.notes})
    index = {start: k for k, start in enumerate(starts)}
    splits = np.arange(min(keys) + 1, max(keys) + 1)
    cost = np.repeat(table["away"] * np.abs(splits - table["middle"])[None, :], len(starts), axis=0)
    held: list[tuple[int, int]] = []
    at = 0
    for start in starts:
        held = [each for each in held if each[0] > start]
        while at < len(take.notes) and take.notes[at].start == start:
            held.append((take.notes[at].end, take.notes[at].key))
            at += 1
        tones = np.array([key for _, key in held[-int(table["wide"]) :]])
        for under in (True, False):
            inside = (tones[None, :] < splits[:, None]) == under
            high = np.where(inside, tones, -1).max(axis=1)
            low = np.where(inside, tones, 128).min(axis=1)
            cost[index[start]] += np.maximum(0, high - low - table["span"])
    change = table["move"] * np.abs(splits[:, None] - splits[None, :])
    came = np.zeros(cost.shape, dtype=int)
    score = cost[0]
    for k in range(1, len(starts)):
        total = score[None, :] + change
        came[k] = total.argmin(axis=1)
        score = total[np.arange(len(splits)), came[k]] + cost[k]
    state = int(score.argmin())
    chosen = [state]
    for k in range(len(starts) - 1, 0, -1):
        state = int(came[k, state])
        chosen.append(state)
    chosen.reverse()
    notes = [replace(note, strand=int(note.key < splits[chosen[index[note.start]]])) for note in take.notes]
    if len({note.strand for note in notes}) == 1:
        return take
    pedals = [(down, up, 0 if strand >= 0 else strand) for down, up, strand in take.pedals]
    return replace(take, strands=[Strand(name) for name in NAMES], notes=notes, pedals=pedals)
