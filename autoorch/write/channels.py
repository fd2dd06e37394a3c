"""MIDI ports and channels for any number of players: sixteen channels a port, channel 10 for unpitched percussion."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.score.model import Part

PERCUSSION = 10
CHANNELS = 16


def pitched_channels() -> list[int]:
    """The channels of one port that pitched parts can have, from 1."""
    return [channel for channel in range(1, CHANNELS + 1) if channel != PERCUSSION]


def channels(parts: Sequence[Part]) -> tuple[tuple[int, int], ...]:
    """(port, channel) of each part, both counted from 1.

    Pitched parts fill each port's fifteen channels in score order and then go on with the next port; all unpitched
    percussion shares channel 10 of the first port.
    """
    free = pitched_channels()
    found, used = [], 0
    for part in parts:
        if part.player.instrument.gm == 0:
            found.append((1, PERCUSSION))
            continue
        found.append((1 + used // len(free), free[used % len(free)]))
        used += 1
    return tuple(found)


def program(part: Part) -> int:
    """General MIDI program, 1 to 128: a section's own one where there is one."""
    instrument = part.player.instrument
    return instrument.gm_section if part.player.size > 1 and instrument.gm_section else instrument.gm
