"""From drafts that stand in their folders to the next one: bars kept as they are, a passage anew, a small change of the brief."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

from autoorch.brief import STRAND_ROLES, WISHES, Bars, Brief, parse_bars, parse_place
from autoorch.delivery import SCORES
from autoorch.edits import differences, locks
from autoorch.errors import BriefError, SketchError
from autoorch.layers.kept import BROUGHT, fresh_cuts, passage
from autoorch.layers.like import with_likes
from autoorch.layers.model import Material, MaterialLine, PhrasePlan
from autoorch.lineup import Lineup, resolve
from autoorch.pipeline import material_of, problem_of
from autoorch.problem.data import ProblemData
from autoorch.problem.draft import Choice, Draft
from autoorch.problem.kept import covers, sounding
from autoorch.score.desks import desks
from autoorch.sketch.bars import bars_of, ticks_of
from autoorch.sketch.model import Sketch
from autoorch.solver.asked import Asked, Keep, Lock, Near
from autoorch.solver.vary import unlike
from autoorch.tables import Tables
from autoorch.write.record import Record, read_record


@dataclass(frozen=True)
class Source:
    """Bars `first` to `last` (indices, both included) as another draft's files have them: name of the file -> its bytes."""

    first: int
    last: int
    files: Mapping[str, bytes]


@dataclass(frozen=True)
class Revision:
    """What the next draft is made from.

    Attributes:
        base: the record it starts from, with its brief and what is asked.
        sources: the kept bars.
        told: what is to be said before it is made.
        before: name, draft and lines by name of each that it comes from, the one it starts from first; what changes is told
            against them.
    """

    base: Record
    sources: tuple[Source, ...] = ()
    told: tuple[str, ...] = ()
    before: tuple[tuple[str, Draft, Mapping[str, MaterialLine]], ...] = ()


def revised(
    origin: Path | None,
    bars: str | None,
    keeps: Sequence[str],
    change: Callable[[Brief], Brief],
    tables: Tables,
    edited: Path | None = None,
    holds: Sequence[str] = (),
    lineup: Lineup | None = None,
) -> Revision:
    """The next draft.

    Args:
        origin: folder of the draft to start from; the first one of `keeps` where None.
        bars: only these are made anew; the rest stays as it is.
        keeps: "DIR:A-B" each.
        change: what becomes of its brief.
        edited: its score as it came back from a notation program.
        lineup: other players for the same sketch, reading and directions; those of the same name stay near what they had.
        holds: bars and role ("9-16 melody") in which who plays what stays.
    Raises:
        AutoorchError: for folders that hold no draft, or drafts that do not fit together.
    """
    kept = [_split(text) for text in keeps]
    start = origin or kept[0][0]
    base = read_record(start, tables)
    players = lineup or base.lineup
    former, told = _for_others(base, players)
    brief, spared = _spared(change(former), former, base.sketch, [one for one in kept if one[0] != start])
    told += spared
    brief = with_likes(brief, base.sketch, base.reading, players, tables)
    asked = Asked(near=Near(base.draft.choices)) if origin is not None else Asked()
    if bars is not None:
        rest = _rest(base.sketch, _whole(bars, "--bars"))
        kept += [(start, str(bars_of(base.sketch, *ticks))) for ticks in rest]
        if brief == base.brief and not keeps:
            asked = Asked(apart=unlike(tables, [base.draft.choices], rest))
    if edited is not None:
        asked, more = _as_edited(start, base, asked, edited, tables)
        told += more
    other = players.players != base.lineup.players
    plan = _plan(base, brief, tables) if origin is not None and not other else ()
    goal = replace(base, brief=brief, lineup=players, asked=Asked(plan=plan))
    locked, more = _held(holds, base, goal, asked.locks, tables)
    told += more
    own = _material(goal, tables)
    read = {folder: base if folder == start else read_record(folder, tables) for folder, _ in kept}
    brought = {
        folder: own if one.asked == goal.asked and one.brief == goal.brief else _material(one, tables)
        for folder, one in read.items()
    }
    pieces = _pieces(kept, goal, own, read, brought)
    asked = replace(asked, keep=tuple(keep for keep, _ in pieces), plan=plan, locks=locked)
    brought.setdefault(start, own if brief == base.brief and not other else _material(base, tables))
    return Revision(
        replace(goal, asked=asked),
        tuple(source for _, source in pieces),
        told,
        tuple((str(folder), made.draft, brought[folder].line) for folder, made in ({start: base} | read).items()),
    )


def _for_others(base: Record, lineup: Lineup) -> tuple[Brief, tuple[str, ...]]:
    """(the brief without the names that mean somebody in its own line-up and nobody in this one, what is left out)."""
    found, told = [], []
    for direction in base.brief.directions:
        kept: dict[str, tuple[str, ...]] = {}
        for wish in WISHES:
            names = getattr(direction, wish)
            kept[wish] = tuple(n for n in names if resolve(lineup, n) or not resolve(base.lineup, n))
            if gone := [name for name in names if name not in kept[wish]]:
                told.append(f"{direction}: {lineup.name} has no {', '.join(gone)}; left out of it")
        if any(kept.values()) or not any(getattr(direction, wish) for wish in WISHES):
            found.append(replace(direction, **kept))  # type: ignore[arg-type]
    return replace(base.brief, directions=tuple(found)), tuple(told)


def _spared(
    brief: Brief, former: Brief, sketch: Sketch, kept: Sequence[tuple[Path, str]]
) -> tuple[Brief, tuple[str, ...]]:
    """(the brief, its former directions left out of the bars that are kept from drafts of other briefs, what is told of that)."""
    found, told = [], []
    places = sorted((*ticks_of(sketch, _whole(text, f"--keep {folder}")), folder) for folder, text in kept)
    for direction in brief.directions:
        start, end = ticks_of(sketch, direction.bars)
        inside = [place for place in places if place[0] < end and place[1] > start]
        if direction not in former.directions or not inside:
            found.append(direction)
            continue
        names = dict.fromkeys(str(folder) for _, _, folder in inside)
        told.append(f"{direction}: not in the bars kept from {', '.join(names)}")
        for a, b, _ in inside:
            if start < a:
                found.append(replace(direction, bars=bars_of(sketch, start, a)))
            start = max(start, b)
        if start < end:
            found.append(replace(direction, bars=bars_of(sketch, start, end)))
    return replace(brief, directions=tuple(found)), tuple(told)


def _plan(base: Record, brief: Brief, tables: Tables) -> tuple[PhrasePlan, ...]:
    """The accepted draft's plan, made anew only in the phrases that a new or dropped direction is about.

    What the brief says of the whole cue (intent, leading, shapes, moments) makes all of it anew.
    """
    if replace(brief, directions=()) != replace(base.brief, directions=()):
        return ()
    old, new = base.brief.directions, brief.directions
    changed = [one for one in (*old, *new) if (one in old) != (one in new)]
    if not changed:
        return base.draft.plan
    places = [ticks_of(base.sketch, one.bars) if one.bars else (0, base.sketch.end) for one in changed]
    return tuple(
        fresh if any(start < kept.end and end > kept.start for start, end in places) else kept
        for kept, fresh in zip(
            base.draft.plan, problem_of(replace(base, brief=brief, asked=Asked()), tables).plan, strict=True
        )
    )


def _as_edited(folder: Path, base: Record, asked: Asked, edited: Path, tables: Tables) -> tuple[Asked, tuple[str, ...]]:
    """(the edits that say who plays what as locks, what is told of all edits)."""
    own = {p.name: [choice for choice in base.draft.choices if choice.player == p.name] for p in base.lineup.players}
    players = [player.name for player in base.lineup.players for _ in desks(player, own[player.name])]
    found = differences(folder / SCORES[0], edited, players, tables)
    locked, rest = locks(problem_of(base, tables), base.draft, found)
    told = [f"{edited.name}: {len(found)} {'edit' if len(found) == 1 else 'edits'}"]
    told += [f"  kept, as who plays what: {lock.name}" for lock in locked]
    told += [f"  not in the new draft, to be made again in it or in the sketch: {edit}" for edit in rest]
    return replace(asked, locks=locked), tuple(told)


def _held(
    holds: Sequence[str], base: Record, goal: Record, locks: tuple[Lock, ...], tables: Tables
) -> tuple[tuple[Lock, ...], tuple[str, ...]]:
    """(the locks and those that keep who plays what where that is wanted, what is told of it); a place is locked once."""
    if not holds:
        return locks, ()
    data = problem_of(goal, tables)
    places = {(lock.strand, lock.start) for lock in locks}
    held: dict[tuple[str, int], Lock] = {}
    told: tuple[str, ...] = ()
    for text in holds:
        found, more = _same_players(text, base, data)
        held |= {place: lock for lock in found if (place := (lock.strand, lock.start)) not in places}
        told += more
    return locks + tuple(held.values()), told


def _same_players(text: str, base: Record, data: ProblemData) -> tuple[list[Lock], tuple[str, ...]]:
    """(locks on the players whom the base has in some bars and role; what is told of those who can't have it here).

    How they are written may change.

    Raises:
        BriefError: where that is no place, or nothing sounds there.
    """
    bars, role = parse_place(text, "--hold")
    start, end = ticks_of(base.sketch, bars) if bars else (0, base.sketch.end)
    spans = [
        span
        for span in data.spans
        if span.start < end
        and span.end > start
        and data.by_span[span.index]
        and data.strands[span.strand].role in (STRAND_ROLES[role] or (data.strands[span.strand].role,))
    ]
    if not spans:
        raise BriefError(f'--hold "{text}": nothing of that role sounds there')
    name = f"{', '.join(word for word in (f'bars {bars}' if bars else '', role) if word)}: the same players"
    found: list[Lock] = []
    gone: set[str] = set()
    for span in spans:
        strand = data.strands[span.strand]
        had = [c for c in base.draft.choices if c.strand == strand.id and c.start < span.end and c.end > span.start]
        has = [c for c in had if covers(c, strand, span) and _booked(c, base.lineup, data.lineup)]
        gone |= {c.player for c in had} - {c.player for c in has}
        if has or not had:
            found.append(Lock(name, strand.id, span.start, tuple(has)))
    names = [player.name for player in base.lineup.players if player.name in gone]
    return found, (f'--hold "{text}": {", ".join(names)} can\'t have it here; the others stay',) if names else ()


def _booked(choice: Choice, base: Lineup, lineup: Lineup) -> bool:
    """The line-up has the player, with the instrument that the base's has for it."""
    player, before = lineup.by_name.get(choice.player), base.by_name[choice.player]
    if player is None or player.instrument.id != before.instrument.id:
        return False
    return not choice.instrument or choice.instrument in {one.id for one in player.doubles}


def _split(text: str) -> tuple[Path, str]:
    folder, colon, bars = text.rpartition(":")
    if not colon or not folder:
        raise BriefError(f'--keep "{text}" wants a draft\'s folder and bars, such as first-draft:1-16')
    return Path(folder), bars


def _whole(text: str, place: str) -> Bars:
    bars = parse_bars(text, place)
    if bars.from_beat != 1 or bars.to_beat is not None:
        raise BriefError(f"{place}: whole bars only, such as {bars.first}-{bars.last}")
    return bars


def _rest(sketch: Sketch, bars: Bars) -> list[tuple[int, int]]:
    """(start, end) in ticks of what is before and behind a passage."""
    start, end = ticks_of(sketch, bars)
    return [rest for rest in ((0, start), (end, sketch.end)) if rest[0] < rest[1]]


def _material(made: Record, tables: Tables) -> Material:
    return material_of(made.sketch, made.reading, made.lineup, made.brief, made.asked, tables)[1]


def _pieces(
    kept: Sequence[tuple[Path, str]],
    goal: Record,
    own: Material,
    read: Mapping[Path, Record],
    brought: Mapping[Path, Material],
) -> list[tuple[Keep, Source]]:
    """The kept bars in their order.

    Raises:
        BriefError: where a bar is kept twice.
    """
    pieces = [
        _kept(number, folder, text, goal, own, read[folder], brought[folder])
        for number, (folder, text) in enumerate(kept)
    ]
    pieces.sort(key=lambda piece: piece[1].first)
    for (_, one), (_, two) in pairwise(pieces):
        if two.first <= one.last:
            raise BriefError(
                f"bar {goal.sketch.bars[two.first].number} is to be kept twice; give each bar to one draft"
            )
    return pieces


def _kept(
    number: int, folder: Path, text: str, goal: Record, own: Material, made: Record, other: Material
) -> tuple[Keep, Source]:
    """Bars of the draft in `folder`, with its material, as they are to stand in the draft of `goal`.

    Raises:
        BriefError: where that draft is of another sketch, reading or line-up.
    """
    bars = _whole(text, f"--keep {folder}")
    for what, one, two in (
        ("sketch", made.sketch, goal.sketch),
        ("reading", made.reading, goal.reading),
        ("line-up", made.lineup.players, goal.lineup.players),
    ):
        if one != two:
            raise BriefError(f"--keep {folder}: is a draft of another {what}; bars are kept between drafts of one")
    start, end = ticks_of(made.sketch, bars)
    choices = list(sounding(other, made.draft.choices, start, end))
    tag = f"{BROUGHT}{number + 1}"
    brought = passage(own, other, {choice.strand for choice in choices}, start, end, tag)
    edges = ((choice.strand, tick) for choice in choices for tick in (choice.start, choice.end))
    cuts = fresh_cuts(own, edges, start, end)
    names = {strand.id for strand in brought.strands}
    return (
        Keep(
            f"bars {bars} kept", replace(brought, cuts=cuts), tuple(_renamed(choice, names, tag) for choice in choices)
        ),
        _source(folder, made.sketch, start, end),
    )


def _renamed(choice: Choice, names: set[str], tag: str) -> Choice:
    if choice.strand + tag not in names:
        return choice
    return replace(choice, strand=choice.strand + tag, lines=tuple(line + tag for line in choice.lines))


def _source(folder: Path, sketch: Sketch, start: int, end: int) -> Source:
    inside = [bar.index for bar in sketch.bars if start <= bar.onset < end]
    try:
        files = {name: (folder / name).read_bytes() for name in SCORES}
    except OSError as error:
        raise SketchError(f"can't be read: {error.strerror}", str(folder)) from None
    return Source(inside[0], inside[-1], files)
