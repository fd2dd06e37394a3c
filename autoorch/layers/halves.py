"""The two halves of a tune's phrase: where they meet, who joins the tune for the second where that goes up to the crest or leaves
it where that falls, and who takes it over there."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median
from typing import Any

from autoorch.instruments import DYNAMICS, Instrument
from autoorch.layers.colours import Palette, fit, group_of
from autoorch.layers.model import UNISON, PhrasePlan, Turn
from autoorch.layers.weights import SOFTEST_TUTTI
from autoorch.sketch.model import Sketch, SketchNote


@dataclass(frozen=True, slots=True)
class Joint:
    """The tick at which a phrase's halves meet; `rises`: the second has the phrase's highest note; `again`: it begins in the
    rhythm of the first."""

    tick: int
    rises: bool
    again: bool = False


def find_joint(
    sketch: Sketch, notes: Sequence[SketchNote], start: int, end: int, table: Mapping[str, Any]
) -> Joint | None:
    """The place near the middle of a phrase where its tune begins again in the rhythm of its first bar, or before which it rests
    or holds; in a tune that goes on evenly the bar nearest to its middle; None where it has no such place.

    Args:
        notes: the tune's principal line in the phrase, in time order.
        start, end: of the phrase, ticks.
        table: [half] of constraints/plan.toml.
    """
    waits = {b.onset: b.onset - a.onset for a, b in pairwise(notes) if b.onset > a.onset}
    if not waits:
        return None
    bar = sketch.bar_at(start).length
    least, usual = table["least_bars"] * bar, median(waits.values())
    middle = [
        tick
        for tick in waits
        if start + least <= tick <= end - least and abs(2 * tick - start - end) <= table["off_middle"] * (end - start)
    ]
    held = [tick for tick in middle if waits[tick] >= table["held"] * usual]
    first = _rhythm(notes, notes[0].onset, bar)
    even = len({*waits.values()}) == 1 or len(first) <= table["same"]
    alike = [tick for tick in middle if _rhythm(notes, tick, bar) == first]
    again = [tick for tick in alike if not even]
    if not held and not again:
        held = [tick for tick in alike if (tick - notes[0].onset) % bar == 0]
    top = max(note.pitch.midi for note in notes)
    crest = max(note.onset for note in notes if note.pitch.midi == top)
    tick = max(
        {*held, *again},
        key=lambda tick: (tick <= crest, tick in again, waits[tick], -abs(2 * tick - start - end), -tick),
        default=None,
    )
    return None if tick is None else Joint(tick, tick <= crest, tick in again)


def _rhythm(notes: Sequence[SketchNote], start: int, length: int) -> tuple[int, ...]:
    """Where notes begin, counted from a note at `start`."""
    return tuple(sorted({note.onset - start for note in notes if start <= note.onset < start + length}))


def in_halves(
    plan: Sequence[PhrasePlan],
    tunes: Sequence[Sequence[SketchNote]],
    joints: Sequence[Joint | None],
    bars: Sequence[float],
    palette: Palette,
) -> list[PhrasePlan]:
    """The plan with somebody else on its tunes from their joints on: another leading colour where one would have the tune for
    long or another family answers, one player more or fewer elsewhere, but nobody for a moment: none who joins is gone in the
    next phrase of the section, and none leaves before louder music.

    Args:
        plan: with its colours.
        tunes: the principal line of each phrase, in time order; joints: where its halves meet; bars: its length.
    """
    table = palette.tables.rule("plan")["tune"]
    colours = {row["id"]: palette.instrument(row) for row in palette.colours}
    family = {name: _family(instrument) for name, instrument in colours.items()}
    busy = {name: 0.0 for name, instrument in colours.items() if instrument.kind == "wind"}
    found: list[PhrasePlan] = []
    for k, (phrase, joint) in enumerate(zip(plan, joints, strict=True)):
        beside = [plan[other] for other in (k - 1, k + 1) if 0 <= other < len(plan)]
        after = plan[k + 1] if k + 1 < len(plan) else None
        tired = {name for name, had in busy.items() if had and had + bars[k] > table["tires"]}
        own = phrase
        if joint is not None and not phrase.turns and phrase.scheme != UNISON:
            heir = _heir(phrase, joint, beside, bars[k], tunes[k], tired, palette)
            step = DYNAMICS.index(after.dynamic) - DYNAMICS.index(phrase.dynamic) if after is not None else 0
            thinner = after is not None and after.section == phrase.section and after.doublers < phrase.doublers
            if heir:
                own = handed_over(phrase, joint, heir, family)
            elif not (thinner if joint.rises else step > 0):
                own = halved(phrase, joint, tired)
        found.append(own)
        for start, end in pairwise((own.start, *(turn.start for turn in own.turns), own.end)):
            part = own.at(start)
            length = bars[k] * (end - start) / (own.end - own.start)
            busy = {name: busy[name] + length if name in (part.lead, *part.joined) else 0.0 for name in busy}
    return found


def halved(phrase: PhrasePlan, joint: Joint, tired: Collection[str] = ()) -> PhrasePlan:
    """The phrase with one player fewer on its tune up to the joint, or from there on where it falls: the last of the `tired`
    ones, or the last of all; as it is where nobody joins it."""
    if not phrase.joined:
        return phrase
    gone = max(range(len(phrase.joined)), key=lambda k: (phrase.joined[k] in tired, k))
    joined = phrase.joined[:gone] + phrase.joined[gone + 1 :]
    doublers = phrase.doublers - 1
    fewer = replace(phrase, joined=joined, doublers=doublers, octaves=max(1, min(phrase.octaves, doublers)))
    before, after = (fewer, phrase) if joint.rises else (phrase, fewer)
    return replace(before, turns=(_turn(joint.tick, after),))


def handed_over(phrase: PhrasePlan, joint: Joint, heir: str, family: Mapping[str, str]) -> PhrasePlan:
    """The phrase with another colour in the lead from the joint on; its own is silent there, and where another family answers
    so is who joined it of that one.

    Args:
        family: of each colour.
    """
    stays = family.values() if family[heir] == family[phrase.lead] else (family[heir],)
    joined = tuple(name for name in phrase.joined if name != heir and family[name] in stays)
    doublers = max(min(1, phrase.doublers), phrase.doublers - (len(phrase.joined) - len(joined)))
    octaves = max(min(1, phrase.octaves), min(phrase.octaves, doublers))
    after = replace(phrase, lead=heir, joined=joined, doublers=doublers, octaves=octaves)
    return replace(phrase, turns=(replace(_turn(joint.tick, after), lead=heir),))


def _family(instrument: Instrument) -> str:
    return "strings" if group_of(instrument) == "strings" else "winds"


def _turn(tick: int, after: PhrasePlan) -> Turn:
    return Turn(
        tick, after.dynamic, after.weight, after.joined, after.ground, after.bass, after.octaves, after.doublers,
        after.scheme, tune=True, octave=after.octave,
    )  # fmt: skip


def _heir(
    phrase: PhrasePlan,
    joint: Joint,
    beside: Sequence[PhrasePlan],
    bars: float,
    tune: Sequence[SketchNote],
    tired: Collection[str],
    palette: Palette,
) -> str | None:
    """The colour that takes the tune over at the joint, or None where its own goes on: one that suits the second half about as
    well, of the groups that play; where the second half begins as the first did, of the other family if there is one.

    One colour goes through a phrase but a long one, which winds hand on. Soft music of that length that begins again is asked and
    answered where the colour has the phrase before or after it too, and neither of the two is an answer already.

    Args:
        beside: the phrases before and after it.
    """
    table = palette.tables.rule("plan")["half"]
    colours = {row["id"]: palette.instrument(row) for row in palette.colours}
    own, loud = colours[phrase.lead], DYNAMICS.index(phrase.dynamic) >= SOFTEST_TUTTI
    if bars < table["long_bars"]:
        return None
    same = any(other.lead == phrase.lead for other in beside)
    dialogue = phrase.answers is not None or any(other.answers is not None for other in beside)
    off = abs(2 * joint.tick - phrase.start - phrase.end)
    even = joint.again and off <= table["uneven"] * (phrase.end - phrase.start)
    asks = bool(phrase.joined) and even and same and not dialogue and phrase.dynamic in table["asking"]
    if not (own.kind == "wind" or asks) or phrase.scheme == "full chord in each family":
        return None
    pitches: dict[int, int] = {}
    for note in tune:
        if note.onset >= joint.tick:
            pitches[note.pitch.midi] = pitches.get(note.pitch.midi, 0) + note.duration
    suits = {
        name: fit(instrument, tuple(sorted(pitches.items())), phrase.dynamic, palette)
        for name, instrument in colours.items()
    }
    groups = {group_of(own), *phrase.ground}
    free = [
        name
        for name, instrument in colours.items()
        if name not in (phrase.lead, *tired)
        and group_of(instrument) in groups
        and (instrument.kind != "bowed" or instrument.id not in phrase.bass)
        and suits[name] <= suits[phrase.lead] + table["worse"]
        and (phrase.joined or not loud or group_of(instrument) != "woodwind")
    ]
    joins = next(row["joins"] for row in palette.colours if row["id"] == phrase.lead)

    def worth(name: str) -> tuple[bool, int, int]:
        return (
            asks and _family(colours[name]) == _family(own),
            suits[name],
            joins.index(name) if name in joins else len(joins),
        )

    return min(free, key=worth, default=None)
