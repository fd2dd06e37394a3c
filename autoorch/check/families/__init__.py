"""The checker's rules, one family a file: each takes a score and the limits and yields findings."""

from __future__ import annotations

from autoorch.check.families import (
    balance,
    breath,
    changes,
    choirs,
    dynamics,
    fluency,
    harp,
    one_note,
    percussion,
    ranges,
    stops,
    texture,
    timpani,
    vertical,
    voice_leading,
)
from autoorch.check.find import Rule

RULES: tuple[Rule, ...] = (
    *ranges.RULES,
    *one_note.RULES,
    *stops.RULES,
    *fluency.RULES,
    *breath.RULES,
    *harp.RULES,
    *timpani.RULES,
    *percussion.RULES,
    *vertical.RULES,
    *choirs.RULES,
    *balance.RULES,
    *voice_leading.RULES,
    *dynamics.RULES,
    *changes.RULES,
    *texture.RULES,
)
