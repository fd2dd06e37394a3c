"""A tempo where the sketch gives none: from its tempo words, else from how fast the notes would follow each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import log2, sqrt
from typing import Any

from autoorch.roles.proposals import folded
from autoorch.roles.texture import Texture, Tone


def proposed_tempo(texture: Texture, tune: Sequence[Tone], table: Mapping[str, Any]) -> tuple[float, str]:
    """Quarters a minute, and why. `table` is [tempo] of constraints/proposals.toml."""
    sketch = texture.sketch
    beat = texture.beat_at(0) / sketch.ticks  # in quarters
    for mark in sketch.marks:
        if mark.kind not in ("tempo", "words") or mark.onset >= sketch.bars[0].end:
            continue
        for word in folded(mark.text or mark.value).split():
            if word in table["words"]:
                return float(table["words"][word]) * beat, f'from "{mark.text or mark.value}"'
    length = sum(bar.length for bar in sketch.bars) / sketch.ticks
    rates = [(len(texture.onsets), table["attacks"]), (len({tone.onset for tone in tune}), table["tune"])]
    wanted = [60 * aim * length / count for count, aim in rates if count]  # quarters a minute at which `aim` is met
    mean = sqrt(wanted[0] * wanted[-1]) / beat if wanted else table["slowest"]
    pace = min(max(mean, table["slowest"]), table["fastest"])
    mark_ = min(table["marks"], key=lambda each: (abs(log2(each / pace)), each))
    return float(mark_) * beat, "from how fast its notes follow each other"
