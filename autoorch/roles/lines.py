"""Notes of one strand laid into lines: one note at a time in each, the highest line first."""

from __future__ import annotations

from collections.abc import Iterable

from autoorch.roles.texture import Tone


def in_lines(tones: Iterable[Tone]) -> list[list[Tone]]:
    """The fewest lines, without crossings where the notes allow it.

    At each attack every new note goes to the free line whose number is nearest to its place from the top among all
    notes that sound in the strand.
    """
    lines: list[list[Tone]] = []
    attacks: dict[int, list[Tone]] = {}
    for tone in sorted(tones, key=lambda t: (t.onset, -t.pitch, t.index)):
        attacks.setdefault(tone.onset, []).append(tone)
    for onset, new in attacks.items():
        held = [line[-1].pitch for line in lines if line and line[-1].end > onset]
        free = [k for k, line in enumerate(lines) if not line or line[-1].end <= onset]
        for _k in range(len(new) - len(free)):
            free.append(len(lines))
            lines.append([])
        for number, tone in enumerate(new):
            place = number + sum(pitch > tone.pitch for pitch in held)
            usable = free[: len(free) - (len(new) - number - 1)]
            chosen = min(usable, key=lambda k: (abs(k - place), k))
            lines[chosen].append(tone)
            free = [k for k in free if k > chosen]
    return sorted((line for line in lines if line), key=lambda line: -sum(t.pitch for t in line) / len(line))
