"""Sections that the brief wants divided: the lines of a chord shared out among the desks, or one line in octaves by halves."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.problem.data import SOME, WHOLE, Option

HALF = WHOLE // 2
Take = tuple[tuple[int, ...], int]
"""(lines, twelfths of the section)"""


def is_divided(option: Option) -> bool:
    """A part of a section plays, or all of it several lines."""
    return option.share < WHOLE or len(option.lines) > 1


def is_shared(option: Option) -> bool:
    """A section is divided among lines; not where the others only rest under a soft voice."""
    return len(option.lines) > 1 or (option.share < WHOLE and not set(SOME) & set(option.techniques))


def divided_takes(lines: Sequence[int], least: int, most: int) -> list[list[Take]]:
    """Ways for a section to take lines that lie side by side, by preference: `least` to `most` of them at once, else fewer (not
    all may lie within its range), else one, by half the section (so that the other half may have it in another octave) or by
    all of it."""
    wanted = range(min(least, len(lines)), min(most, len(lines)) + 1)
    sizes = [list(wanted), *([size] for size in range(wanted.start - 1, 1, -1))]
    runs = [
        [(tuple(lines[k : k + size]), WHOLE) for size in row if size > 1 for k in range(len(lines) - size + 1)]
        for row in sizes
    ]
    return [row for row in runs if row] + [[((line,), share) for line in lines for share in (HALF, WHOLE)]]
