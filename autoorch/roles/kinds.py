"""What kind of music a sketch holds, told from its notes alone: what the tune looks like differs between them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from autoorch.roles.features import NAMES, Clock, Numbers

KINDS = ("keyboard", "song", "played", "ensemble", "hymn")
TRAITS = ("unison", "at_pitch", "octaves", "touch", "chords", "spread", "single", "below")


def traits(looks: Numbers, time: Clock) -> Numbers:
    """(len(TRAITS),), as constraints/melody.toml explains them.

    Args:
        looks: (tones, len(NAMES)), see features.
        time: of the same tones.
    """
    means = dict(zip(NAMES, looks.mean(axis=0), strict=True))
    _, attacks = np.unique(time.on, return_counts=True)
    return np.array(
        [
            10 * means["unison"],
            10 * means["at_pitch"],
            10 * means["octave_below"],
            min(2.0, float(time.loud.std()) / 8),
            np.log2(attacks.mean()),
            time.pitch.std() / 6,
            4 * means["alone"],
            means["below"],
        ]
    )


def shares(found: Numbers, table: Mapping[str, Sequence[float]]) -> Numbers:
    """(len(KINDS),): how likely each kind is, summing to 1; `table`: [kinds]."""
    odds = found @ np.array([table[name] for name in TRAITS]) + np.array(table["constant"])
    odds = np.exp(odds - odds.max())
    return np.asarray(odds / odds.sum())
