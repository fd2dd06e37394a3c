"""The order in which bars are played: repeats and endings played out."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.sketch.model import Bar

LONGEST = 100_000
"""More bars than this are no music: the repeats are left alone."""


def unfold(bars: Sequence[Bar]) -> tuple[int, ...]:
    """Indices of the bars in playing order. A repeat without a beginning starts after the last repeat, or at the start."""
    played: list[int] = []
    index, start, time = 0, 0, 1
    while index < len(bars) and len(played) < LONGEST:
        bar = bars[index]
        before = bars[index - 1] if index else None
        if bar.repeat_start and start != index:
            start, time = index, 1
        if before and before.endings and not bar.endings and start != index:
            start, time = index, 1
        if bar.endings and time not in bar.endings and _another(bars, index, time):
            index += 1
            continue
        played.append(index)
        if bar.repeat_end and time < _times(bars, index):
            time += 1
            index = start
            continue
        if bar.repeat_end and not bar.endings:
            start, time = index + 1, 1
        index += 1
    return tuple(played) if index == len(bars) else tuple(range(len(bars)))


def _another(bars: Sequence[Bar], index: int, time: int) -> bool:
    """A later ending of the same group is meant for this time."""
    while index < len(bars) and bars[index].endings:
        if time in bars[index].endings:
            return True
        index += 1
    return False


def _times(bars: Sequence[Bar], index: int) -> int:
    """How often the music up to this repeat sign is played."""
    after = bars[index + 1] if index + 1 < len(bars) else None
    if bars[index].endings and after and after.endings and after.endings != bars[index].endings:
        return max(after.endings)
    return bars[index].repeat_end
