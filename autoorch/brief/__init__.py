"""What the user asks for: line-up, intent, directions over bars, shape and moments.

Bars stay as they were written; whoever has the sketch finds them in it.
"""

from __future__ import annotations

from autoorch.brief.model import (
    LAYERS,
    LEADING,
    PALETTE,
    ROLES,
    STRAND_ROLES,
    TECHNIQUES,
    WISHES,
    Bars,
    Brief,
    Direction,
    Hit,
    Like,
    Shape,
)
from autoorch.brief.players import families, in_unison, led, named
from autoorch.brief.read import directed, parse_bars, parse_brief, parse_direction, parse_place, read_brief

__all__ = [
    "LAYERS",
    "LEADING",
    "PALETTE",
    "ROLES",
    "STRAND_ROLES",
    "TECHNIQUES",
    "WISHES",
    "Bars",
    "Brief",
    "Direction",
    "Hit",
    "Like",
    "Shape",
    "directed",
    "families",
    "in_unison",
    "led",
    "named",
    "parse_bars",
    "parse_brief",
    "parse_direction",
    "parse_place",
    "read_brief",
]
