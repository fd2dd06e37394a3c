"""What stays or comes again under a tune or over it: pedals and drones, ostinatos, vamps that wait for their tune."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby, pairwise, takewhile
from typing import Any

from autoorch.roles.melody import broken, find_melody
from autoorch.roles.parameters import Section
from autoorch.roles.patterns import by_attack
from autoorch.roles.texture import Texture, Tone

Shape = Mapping[tuple[int, int], int]
"""Onset in its bar and length -> pitch."""


def pedals(
    texture: Texture, bass: Sequence[Tone], roots: Sequence[tuple[int, int | None]], table: Section
) -> list[Tone]:
    """Bass notes that stay at one pitch for so many bars, on each of their first beats, while the harmony over them changes.

    Args:
        roots: start and root of each chord, in time order.
    """
    starts = [start for start, _ in roots]
    found: list[Tone] = []
    run: list[Tone] = []

    def close() -> None:
        if not run:
            return
        a, b = run[0].onset, run[-1].end
        inside = {root for start, root in roots[max(0, bisect_right(starts, a) - 1) :] if start < b}
        lines = [bar.onset for bar in texture.sketch.bars if a <= bar.onset < b]
        carried = all(any(tone.onset <= line < tone.end for tone in run) for line in lines)
        if carried and texture.in_bars(b) - texture.in_bars(a) >= table["pedal"] and len(inside - {None}) > 1:
            found.extend(run)

    for tone in bass:
        if run and tone.pitch != run[-1].pitch:
            close()
            run.clear()
        run.append(tone)
    close()
    return found


def vamps(texture: Texture, tune: Sequence[Tone], figure: Section) -> list[Tone]:
    """Tones of the tune in stretches where nothing else is struck and few pitches come again and again in short even notes: an
    accompaniment that waits for its tune. None where the tune has hardly anything else."""
    found: list[Tone] = []
    run: list[Tone] = []
    high = sum(t.pitch for t in tune) / max(1, len(tune)) - figure["vamp_below"]
    for tone in (*tune, None):
        if tone is not None and len(texture.attacks[tone.onset]) == 1 and (not run or tone.length == run[0].length):
            run.append(tone)
            continue
        if (
            len(run) >= figure["vamp_notes"]
            and sum(t.pitch for t in run) <= high * len(run)
            and len({t.pitch for t in run}) <= figure["vamp_distinct"] * len(run)
            and broken(texture, run, figure)
        ):
            found += run
        run = [tone] if tone is not None and len(texture.attacks[tone.onset]) == 1 else []
    return found if len(found) * 2 < len(tune) else []


def ostinatos(texture: Texture, tune: Sequence[Tone], table: Section) -> list[Tone]:
    """Tones of the lowest line in stretches of bars that bring back the same notes at the same places, and in the bars beside
    them that move the same pattern, or a part of it, to other pitches.

    Args:
        tune: may be part of it, where nothing is lower.
        table: [figure].
    """
    lowest: dict[int, list[Tone]] = {}
    chords: set[int] = set()
    for onset, group in texture.attacks.items():
        tone, bar = group[-1], texture.sketch.bar_at(onset).index
        if texture.sounding[onset][-1].pitch >= tone.pitch:
            lowest.setdefault(bar, []).append(tone)
            if sum((t.end, t.staff) == (tone.end, tone.staff) and 0 < t.pitch - tone.pitch < 12 for t in group) > 1:
                chords.add(bar)  # bass and chords in turn are no line
    sung = {tone.index for tone in tune}
    for bar, group in lowest.items():
        under = [tone for tone in group if tone.index not in sung]
        lowest[bar] = [] if bar in chords else under if 2 * len(under) >= len(group) else group
    shapes: dict[int, Shape] = {
        bar: {(t.onset - texture.sketch.bars[bar].onset, t.length): t.pitch for t in group}
        for bar, group in lowest.items()
        if len(group) >= table["notes"] and len({t.pitch for t in group}) > 2
    }
    same = {bar for bar in _same(shapes, table) if _has_steps(list(shapes[bar].values()), table["third"])}
    patterns = [shapes[bar] for bar in sorted(same)]
    kept = _spread(shapes, same, patterns, table)
    whole = [tone for bar in kept for tone in lowest[bar]]
    begun = [
        lowest[bar][:most]
        for bar, shape in shapes.items()
        if bar not in kept and (most := max((_begun(shape, one) for one in patterns), default=0)) >= table["notes"]
    ]
    return sorted((*whole, *(tone for tones in begun for tone in tones)), key=lambda tone: tone.index)


def like_those(shapes: Mapping[int, Shape], table: Section) -> set[int]:
    """Bars that are the same so many times in a row, those that are or begin like them, and those beside that move the pattern to
    other pitches."""
    same = _same(shapes, table)
    patterns = [shapes[bar] for bar in sorted(same)]
    begun = {bar for bar in shapes if any(_begun(shapes[bar], one) >= table["notes"] for one in patterns)}
    return _spread(shapes, same | begun, patterns, table)


def _same(shapes: Mapping[int, Shape], table: Section) -> set[int]:
    """Bars that are the same so many times in a row."""
    return {bar for run in _runs(shapes, table["even"]) if len(run) >= table["ostinato"] for bar in run}


def _spread(shapes: Mapping[int, Shape], same: set[int], patterns: Sequence[Shape], table: Section) -> set[int]:
    """They, those like the patterns, and those beside such bars that move a pattern to other pitches."""
    kept = same | {bar for bar in shapes if any(_alike(shapes[bar], one) >= table["even"] for one in patterns)}
    moved = {bar for bar in shapes if any(_moved(shapes[bar], one, table["even"]) for one in patterns)} - kept
    for bar in (*sorted(moved), *sorted(moved, reverse=True)):
        if bar - 1 in kept or bar + 1 in kept:
            kept.add(bar)
    return kept


def _runs(shapes: Mapping[int, Shape], even: float) -> Iterator[list[int]]:
    """Bars in a row, each like the one before."""
    run: list[int] = []
    for bar in sorted(shapes):
        if run and (bar != run[-1] + 1 or _alike(shapes[run[-1]], shapes[bar]) < even):
            yield run
            run = []
        run.append(bar)
    yield run


def _alike(one: Shape, other: Shape) -> float:
    """Share of the notes that both have."""
    return len(one.items() & other.items()) / max(len(one), len(other))


def _moved(shape: Shape, pattern: Shape, even: float) -> bool:
    """Most notes stand where those of the pattern do, and go up and down as they do."""
    places = sorted(shape.keys() & pattern.keys())
    if len(places) < even * max(len(shape), len(pattern)):
        return False
    ways = [(shape[b] - shape[a]) * (pattern[b] - pattern[a]) for a, b in pairwise(places)]
    return sum(way > 0 for way in ways) >= even * len(ways)


def _begun(shape: Shape, pattern: Shape) -> int:
    """Number of notes, from the first on, that both have."""
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(shape.items(), pattern.items(), strict=False)))


def _has_steps(pitches: Sequence[int], third: float) -> bool:
    """It is no broken chord: some notes lie side by side."""
    return any(0 < abs(b - a) < third for a, b in pairwise(pitches))


def drones(texture: Texture, tune: Sequence[Tone], table: Section) -> list[Tone]:
    """Tones of the tune that stay at one pitch for so many bars while others move, and what is struck with them as steadily.

    Args:
        tune: in time order.
        table: [texture].
    """
    found: list[Tone] = []
    for pitch, group in groupby(tune, key=lambda t: t.pitch):
        run = _trimmed(texture, list(group))
        if not run:
            continue
        start, end = run[0].onset, run[-1].end
        bars = texture.in_bars(end) - texture.in_bars(start)
        struck = {t.onset for t in run}
        if bars < table["drone"] or len(struck) < table["drone_strikes"] * bars:
            continue
        inside = texture.between(start, end)
        moving = {t.onset for t in inside if t.pitch % 12 != pitch % 12} - struck
        if len(moving) < table["drone_moves"] * len(struck):
            continue
        shares: dict[int, int] = {}
        for tone in inside:
            shares[tone.pitch] = shares.get(tone.pitch, 0) + (tone.onset in struck)
        steady = {other for other, count in shares.items() if count >= table["drone_share"] * len(struck)}
        found += [t for t in inside if t.pitch in steady and t.onset in struck]  # highest first at each attack
    return found


def _trimmed(texture: Texture, run: list[Tone]) -> list[Tone]:
    """Without the tones at either end that sound alone: upbeats and echoes."""
    held = [k for k, tone in enumerate(run) if len(texture.sounding[tone.onset]) > 1]
    return run[held[0] : held[-1] + 1] if held else []


def deepest(tones: Sequence[Tone]) -> list[Tone]:
    """The lowest of each attack."""
    return [group[-1] for group in by_attack(tones).values()]


def without(
    texture: Texture, tune: Sequence[Tone], drone: Collection[Tone], melody: Mapping[str, Any], figure: Section
) -> list[Tone]:
    """The tune with what is found in place of a drone where there is one, looked for as if it were not there.

    Args:
        melody: constraints/melody.toml; `figure`: [figure].
    """
    if not drone:
        return list(tune)
    out = {tone.id for tone in drone}
    notes = tuple(note for note in texture.sketch.notes if note.id not in out)
    again = {tone.id for tone in find_melody(Texture(replace(texture.sketch, notes=notes)), melody, figure)}
    spans = [(tone.onset, tone.end) for tone in drone]
    kept = [tone for tone in tune if tone.id not in out]
    taken = [(tone.onset, tone.end) for tone in kept]
    fresh = [
        tone
        for tone in texture.tones
        if tone.id in again
        and any(a <= tone.onset < b for a, b in spans)
        and not any(a < tone.end and tone.onset < b for a, b in taken)
    ]
    return sorted((*kept, *fresh), key=lambda tone: tone.index)
