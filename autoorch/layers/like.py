"""Score it like this: who plays which role in which octave of another passage becomes preferences for ours.

The passage is bars of any score, or a row of constraints/palette.toml. Its instruments are looked for among the players at
hand, else their nearest relatives; its tune and bass keep their heights; as large a share of the players sounds.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from autoorch.brief import PALETTE, ROLES, STRAND_ROLES, Bars, Brief, Direction, Like, Shape
from autoorch.errors import BriefError
from autoorch.layers.directed import held_over
from autoorch.layers.passage import FEATURES, Part, kin, parts_of
from autoorch.lineup import Lineup, Player
from autoorch.pitch import parse
from autoorch.roles.model import Reading
from autoorch.sketch import read_sketch
from autoorch.sketch.bars import bars_of, ticks_of
from autoorch.sketch.guard import Limits
from autoorch.sketch.model import Sketch
from autoorch.tables import Instrument, Tables
from autoorch.toml import Schema

STAVES = 100
"""Staves of the largest score that is read for a passage."""
LIKE = "like "
"""Begins the origin of what a passage became."""
PALETTE_TABLE = "palette"
SCHEMA: Schema = {
    "tune": dict.fromkeys(FEATURES, float),
    "shared": (float, 0, 1),
    "step": (int, 1, 12),
    "passage": [
        {"name": str, "source": str, "dynamic": str, "note?": str, **{f"{role}?": [[str]] for role in ROLES}},
    ],
}
_SECTIONS = ("woodwind", "brass", "strings")


def with_likes(brief: Brief, sketch: Sketch, reading: Reading, lineup: Lineup, tables: Tables) -> Brief:
    """The brief with each `like` told as preferences, so that it stands without the score that was pointed at.

    Raises:
        BriefError: where there is no such passage, or it sounds nothing that means an instrument.
        SketchError: where the score can't be read.
    """
    directions: list[Direction] = []
    shapes = list(brief.shapes)
    for direction in brief.directions:
        if direction.like is None:
            directions.append(direction)
            continue
        parts = passage(direction.like, tables)
        if not parts:
            raise BriefError(f"{direction}: no part of that passage plays anything by an instrument's name")
        rest = replace(direction, like=None)
        if str(rest) != str(Direction(direction.bars, direction.role)):
            directions.append(rest)
        found = preferences(parts, direction.bars, sketch, reading, lineup)
        origin = f"{LIKE}{replace(direction.like, file=Path(direction.like.file).name)}"
        found = tuple(replace(one, origin=origin) for one in found if direction.role in ("", one.role))
        directions += found
        if not direction.role and found:
            own = _shape(direction.bars, found, sketch, reading, lineup, shapes)
            shapes += [replace(shape, origin=origin) for shape in own]
    return replace(brief, directions=tuple(directions), shapes=tuple(shapes))


def passage(like: Like, tables: Tables) -> tuple[Part, ...]:
    """Who does what in a passage of a score, or in one of the palette.

    Raises:
        BriefError: where there is no such passage or bar.
    """
    if like.bars is None:
        return from_palette(like.file.removeprefix(PALETTE), tables)
    score = read_sketch(Path(like.file), limits=Limits(staves=STAVES))
    start, end = ticks_of(score, like.bars, like.file)
    table = tables.rule(PALETTE_TABLE, SCHEMA)
    return parts_of(score, start, end, table, tables)


def from_palette(name: str, tables: Tables) -> tuple[Part, ...]:
    """The players of a named passage; each stands as [instrument and seat, mean sounding pitch].

    Raises:
        BriefError: for an unknown name; it lists the known ones.
    """
    rows = {row["name"]: row for row in tables.rule(PALETTE_TABLE, SCHEMA)["passage"]}
    if name not in rows:
        raise BriefError(f'the palette has no "{name}"; it has {", ".join(sorted(rows))}')
    found = []
    for role in ROLES:
        for player, pitch in rows[name].get(role, ()):
            instrument, seat = tables.instruments[player.partition(" ")[0]], player.partition(" ")[2]
            found.append(Part(instrument, int(seat or 1), role, parse(pitch).midi))
    return tuple(found)


def preferences(
    parts: Sequence[Part], bars: Bars | None, sketch: Sketch, reading: Reading, lineup: Lineup
) -> tuple[Direction, ...]:
    """Directions that prefer, over `bars`, our players for the roles of the passage's.

    A role that the sketch does not have there goes to another kind of accompaniment that it has.
    """
    start, end = ticks_of(sketch, bars)
    lines = heights(sketch, reading, start, end)
    wanted: dict[tuple[str, int | None], list[str]] = defaultdict(list)
    for player, part in cast(parts, lineup).items():
        role = next((r for r in (part.role, *_INSTEAD.get(part.role, ())) if r in lines), None)
        if role is not None:
            wanted[role, _octave(part, lineup.by_name[player].instrument, lines[role])].append(player)
    order = {player.name: number for number, player in enumerate(lineup.players)}
    return tuple(
        Direction(bars, role, prefer=tuple(sorted(names, key=order.__getitem__)), octave=octave)
        for (role, octave), names in sorted(
            wanted.items(), key=lambda item: (ROLES.index(item[0][0]), item[0][1] or 0, item[0][1] is None)
        )
    )


_INSTEAD = {
    "counterline": ("harmony", "figure"),
    "figure": ("harmony", "counterline"),
    "harmony": ("figure", "counterline"),
}
"""Where the sketch lacks a role: who of the accompaniment takes its players."""


def heights(sketch: Sketch, reading: Reading, start: int, end: int) -> dict[str, list[int]]:
    """Role of a brief -> pitches of the principal lines of its strands between two ticks."""
    found: dict[str, list[int]] = {}
    for strand in reading.strands:
        pitches = [
            note.pitch.midi
            for note in (sketch.by_id[name] for name in strand.lines[0].notes)
            if start <= note.onset < end
        ]
        for role, strands in STRAND_ROLES.items():
            if pitches and role != "accents" and strand.role in strands:
                found.setdefault(role, []).extend(pitches)
    return found


def _octave(part: Part, instrument: Instrument, line: Sequence[int]) -> int | None:
    """Octaves by which a tune or bass is to be moved to lie where the passage has it; None: as it is, or it can't be."""
    if part.role not in ("melody", "bass"):
        return None
    octave = max(-1, min(1, round((part.height - sum(line) / len(line)) / 12)))
    low, high = min(line) + 12 * octave, max(line) + 12 * octave
    fits = instrument.normal[0] <= low and high <= instrument.normal[1]
    return octave if fits and octave else None


def cast(parts: Iterable[Part], lineup: Lineup) -> Mapping[str, Part]:
    """Our player -> the part it takes after: the same instrument and seat, one that doubles it, else the nearest relative."""
    found: dict[str, Part] = {}
    for part in parts:
        same = [p for p in lineup.players if kin(p.instrument) == kin(part.instrument)]
        same = same or [p for p in lineup.players if part.instrument in p.doubles]
        free = [p for p in same or _relatives(part.instrument, lineup) if p.name not in found]
        if free:
            seat = same[part.seat - 1] if part.seat <= len(same) else free[0]
            found[(seat if seat in free else free[0]).name] = part
    return found


def _relatives(instrument: Instrument, lineup: Lineup) -> list[Player]:
    """Players of its family: like ones (alto flute and flute) first, then those in most of its groups, then by range."""

    def away(player: Player) -> tuple[bool, int, int]:
        other = player.instrument
        unlike = not set(other.id.split("_")) & set(instrument.id.split("_"))
        apart = abs(sum(other.normal) - sum(instrument.normal))
        return unlike, -len(set(other.groups) & set(instrument.groups)), apart

    return sorted((p for p in lineup.players if p.instrument.family == instrument.family), key=away)


def _shape(
    bars: Bars | None,
    found: Sequence[Direction],
    sketch: Sketch,
    reading: Reading,
    lineup: Lineup,
    shapes: Sequence[Shape],
) -> list[Shape]:
    """How much sounds, unless the brief or a passage before says so: the share of the winds and strings that this one wants.
    A weight is a phrase's: there is none for bars in which none begins."""
    start, end = held_over(sketch, reading.phrases, bars)
    if not any(start <= phrase.start < end for phrase in reading.phrases):
        return []
    for shape in shapes:
        first, last = held_over(sketch, reading.phrases, shape.bars)
        if first < end and start < last:
            return []
    names = {name for direction in found for name in direction.prefer}
    counted = [player for player in lineup.players if player.instrument.family in _SECTIONS]
    share = sum(player.name in names for player in counted) / max(1, len(counted))
    return [Shape(bars or bars_of(sketch, 0, sketch.end), round(share, 2))]
