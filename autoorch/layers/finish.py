"""The last layer: strokes and colours, each for a moment that calls for it, and timpani where the music is loud."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from autoorch.instruments import DYNAMICS
from autoorch.layers.beats import beats
from autoorch.layers.closes import trumpets
from autoorch.layers.colours import group_of
from autoorch.layers.cue import ASKED, Cue, at_most
from autoorch.layers.model import MaterialLine, MaterialStrand
from autoorch.layers.timpani import timpani
from autoorch.layers.touches import SHAPES, Touch
from autoorch.roles.model import Moment


def finish(cue: Cue) -> tuple[MaterialStrand, ...]:
    """One strand a touch; which of them sound is for the solver. Percussion runs through with full intent only.

    Raises:
        BriefError: for a moment of the brief in a bar that is not there.
    """
    rolls = [_struck(cue, m) for m in cue.moments if "timpani roll" in _calls(cue, m) and _planned(cue, m)]
    rolls = [m for m in rolls if m.kind in cue.tables.rule("finish")["held"] or _rises(cue, m)]
    if cue.brief.under:
        return (*(touch for _, touch in _touched(cue)), *timpani(cue, []))
    running = tuple(beats(cue)) if cue.brief.intent == "full" else ()
    touches = list(_touched(cue, running))
    ranked = [touch for _, touch in sorted(touches, key=lambda entry: -entry[0])]
    played = {strand.id for strand in in_hand(cue, (*running, *ranked))}
    heard = [strand for strand in (*(touch for _, touch in touches), *running) if strand.id in played]
    return (*heard, *trumpets(cue), *timpani(cue, rolls))


def at(cue: Cue, moment: Moment) -> str:
    """How the reason of what answers a moment ends."""
    return f": {moment.kind} in {cue.place(moment.onset)}"


def in_hand(cue: Cue, strands: Sequence[MaterialStrand]) -> list[MaterialStrand]:
    """The strands, without percussion that nobody has a hand free for, change from instrument to instrument included: who comes
    first in the sequence stays."""
    change = cue.tables.rule("limits")["percussion"]["change"]
    kept: list[MaterialStrand] = []
    busy: list[tuple[float, float, str]] = []
    for strand in strands:
        (first, *others) = strand.families
        if others or cue.tables.instruments[first].family != "percussion":
            kept.append(strand)
            continue
        start, end = (
            cue.tempo.seconds(tick) for tick in (strand.lines[0].notes[0].onset, strand.lines[0].notes[-1].end)
        )
        near = [hold for hold in busy if hold[0] < end + change and start < hold[1] + change]
        edges = [start, *(edge for edge, _, _ in near if edge > start)]
        at_once = ({first, *(name for a, b, name in near if a - change < edge < b + change)} for edge in edges)
        if all(len(names) <= cue.seats(sorted(names)) for names in at_once):
            kept.append(strand)
            busy.append((start, end, first))
    return kept


def _touched(cue: Cue, running: Sequence[MaterialStrand] = ()) -> Iterator[tuple[float, MaterialStrand]]:
    """(strength of its moment, touch), less those whose players' instrument is running through the place already."""
    table = cue.tables.rule("finish")
    number = 0
    for touch in table["touch"]:
        if cue.brief.under and touch["id"] not in table["under"]:
            continue
        if cue.seats(touch["players"]) < (1 if touch["shape"] == "spread" else touch.get("lines", 1)):
            continue
        least = max(touch["least"], table["lean"] if cue.brief.intent == "lean" else 0.0)
        for moment in wanted(cue, touch, least):
            number += 1
            name = f"touch{number}"
            lines = SHAPES[touch["shape"]](cue, touch, moment, name)
            if lines and not any(_at_work(strand, touch["players"], moment.onset) for strand in running):
                yield moment.strength, _strand(cue, touch, moment, name, lines)


def _at_work(strand: MaterialStrand, players: Sequence[str], tick: int) -> bool:
    """The strand has one of the instruments, and runs from before the tick to behind it."""
    notes = strand.lines[0].notes
    return bool(set(strand.families) & set(players)) and notes[0].onset <= tick < notes[-1].end


def _calls(cue: Cue, moment: Moment) -> tuple[str, ...]:
    """Ids of the touches that a kind of moment calls for."""
    row = cue.tables.rule("moments")["kind"].get(moment.kind, {})
    calls: tuple[str, ...] = row.get("finish", ())
    return calls


def wanted(cue: Cue, touch: Touch, least: float) -> list[Moment]:
    """The moments that get this touch, in time order: the brief's all, then the strongest, so far apart and so many as the
    table has it."""
    most = at_most(cue.sketch, touch["most"])
    table = cue.tables.rule("finish")
    found: list[Moment] = []
    for moment in sorted((_struck(cue, m) for m in cue.moments), key=lambda m: (-m.strength, m.onset)):
        if touch["id"] not in _calls(cue, moment) or moment.strength < least or not _planned(cue, moment):
            continue
        if moment.kind in table["inside"] and moment.onset == cue.plan_at(moment.onset).start:
            continue
        if moment.strength < ASKED and not cue.on_beat(moment.onset):
            continue
        if touch["shape"] in table["rising"] and not _rises(cue, moment):
            continue
        if touch.get("joining", False) and not _plays(cue, touch, moment):
            continue
        phrase = cue.phrase_at(moment.onset)
        if phrase == 0 and moment.kind in table["downbeat"] and touch["shape"] in table["leading"]:
            continue
        characters = touch.get("characters", ())
        if cue.dynamic_at(moment.onset) not in touch["dynamics"]:
            continue
        if cue.plan[phrase].at(moment.onset).weight < touch.get("weight", 0.0) and moment.strength < ASKED:
            continue
        if characters and cue.reading.phrases[phrase].character not in characters and moment.strength < ASKED:
            continue
        if cue.alone(phrase) and touch["id"] not in table["alone"] and moment.strength < ASKED:
            continue
        if cue.chorale and touch["id"] not in table["chorale"] and moment.strength < ASKED:
            continue
        here = cue.sketch.bar_at(moment.onset).index
        near = any(abs(cue.sketch.bar_at(m.onset).index - here) < touch["apart"] for m in found)
        twice = any(m.onset == moment.onset for m in found)
        asked = moment.strength >= ASKED and not twice
        if asked or (not near and len(found) < most):
            found.append(moment)
    return sorted(found, key=lambda m: m.onset)


def _planned(cue: Cue, moment: Moment) -> bool:
    """A climax that the brief asks for, or that lies in the phrase that the plan has for its peak; any other moment."""
    crest = moment.kind in cue.tables.rule("finish")["crest"]
    return not crest or moment.strength >= ASKED or cue.plan_at(moment.onset).peak


def _louder(cue: Cue, tick: int) -> bool:
    """It is louder from here on than right before."""
    return tick > 0 and DYNAMICS.index(cue.dynamic_at(tick)) > DYNAMICS.index(cue.dynamic_at(tick - 1))


def _rises(cue: Cue, moment: Moment) -> bool:
    """Something can grow up to the moment: it is louder than what comes before, upbeats left out, or opens the plan's peak, or is
    asked for."""
    phrase = cue.plan_at(moment.onset)
    part = next(start for start, end, _ in phrase.parts if moment.onset < end)
    bar = cue.sketch.bar_at(part)
    opens = moment.onset == (part if part == bar.onset else bar.end)
    return moment.strength >= ASKED or (opens and phrase.peak) or _louder(cue, part if opens else moment.onset)


def _plays(cue: Cue, touch: Touch, moment: Moment) -> bool:
    """The group that would join in for the moment plays chords or figures in that phrase anyway, or the plan leaves it open."""
    plan = cue.plan_at(moment.onset).at(moment.onset)
    groups = {group_of(cue.tables.instruments[name]) for name in touch["players"]}
    return not plan.lead or bool(groups & set(plan.ground)) or moment.strength >= ASKED


def _struck(cue: Cue, moment: Moment) -> Moment:
    """The moment where it is struck: what begins with an upbeat arrives on the bar line after it; a climax off the bar line
    where its loudness begins, or on its bar line."""
    table = cue.tables.rule("finish")
    phrase, bar = cue.plan_at(moment.onset), cue.sketch.bar_at(moment.onset)
    if moment.strength >= ASKED:
        return moment
    if moment.kind in table["downbeat"] and moment.onset == phrase.start != bar.onset and bar.end < phrase.end:
        return replace(moment, onset=bar.end)
    if moment.kind in table["crest"] and moment.onset != bar.onset >= phrase.start:
        part = next(start for start, end, _ in phrase.parts if moment.onset < end)
        begins = part == cue.sketch.bar_at(part).onset and _louder(cue, part)
        return replace(moment, onset=part if begins else bar.onset)
    return moment


def _strand(cue: Cue, touch: Touch, moment: Moment, name: str, lines: tuple[tuple[object, ...], ...]) -> MaterialStrand:
    return MaterialStrand(
        name,
        "inner" if touch["shape"] in ("held", "close") else "rhythm",
        "finish",
        tuple(MaterialLine(f"{name}.{k}", tuple(notes)) for k, notes in enumerate(lines, 1)),  # type: ignore[arg-type]
        texture=touch["id"],
        families=tuple(touch["players"]),
        complete=True,
        technique=touch.get("technique", ""),
        reason=f"{touch['id']}{at(cue, moment)}",
    )
