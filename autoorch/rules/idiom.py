"""Who is at home in which role, and who was asked for by the sketch's own staff names.

A line that is two things at once, a high bass, a tune in the rhythm of its chords, repeated notes in a figure, is charged as what
its player does better; what fills a tutti is charged less than what is heard in front.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from autoorch.brief import LEADING
from autoorch.lineup import resolve
from autoorch.problem.between import FILLING
from autoorch.problem.data import ProblemData, Span
from autoorch.problem.terms import Cost, Limit
from autoorch.roles.model import ROLES
from autoorch.roles.patterns import BROKEN
from autoorch.rules.texture import COUNTED
from autoorch.rules.unary import alone

NAME = "idiom"
CHORDAL = ("inner", "bass", "pedal")
MOVING = ("figure", "rhythm")


def limits(data: ProblemData) -> Iterator[Limit]:
    """None: being out of place is never forbidden, only dear."""
    return iter(())


def costs(data: ProblemData) -> Iterator[Cost]:
    """One cost an option: its role's step, none for a bass that the plan gives it, and broken chords, a wrong staff, a wrong
    family, times how long it plays."""
    table = data.tables.rule(NAME)
    wanted = {
        index: {player.name for player in resolve(data.lineup, strand.hint)}
        for index, strand in enumerate(data.strands)
        if strand.hint
    }
    for span in data.spans:
        strand, role = data.strands[span.strand], data.strands[span.strand].role
        if strand.families:
            continue
        inner = {line for line in span.lines if is_inner(data, span, line)}
        rolling = {line for line in span.lines if is_broken(data, span, line)}
        plan = data.plan[span.phrase].at(span.start)
        full = plan.dynamic in table["full"] and role in FILLING
        planned = plan.bass if role in ("bass", "pedal") else ()
        for option in data.by_span[span.index]:
            instrument, besides = data.instrument(option), not inner.isdisjoint(option.lines)
            steps = table["roles"][instrument.id]
            step = min(steps[ROLES.index(name)] for name in ((role, "inner") if besides else (role,)))
            if data.dynamic(option) in table["all_in"] and instrument.family in COUNTED:
                step -= min(steps)
            if instrument.id in planned:
                step = 0
            extra = 0
            if not besides and not rolling.isdisjoint(option.lines):
                extra += table["broken"] * (instrument.id not in table["broken_chords"])
            names = wanted.get(span.strand)
            if names and data.players[option.player].name not in names:
                extra += table["wrong_hint"]
            if data.leading and role == "melody" and instrument.family not in LEADING[data.leading]:
                extra += table["wrong_lead"]
            filling = full and instrument.family in COUNTED and steps[ROLES.index("inner")] < table["foreign"]
            share = table["filling"] / 100 if filling else 1
            if amount := round((extra + share * step) * data.busy(option)):
                yield alone(NAME, data, option, amount, "not the role it is best at")


def is_inner(data: ProblemData, span: Span, line: int) -> bool:
    """A line is an inner part besides its role: a bass that never goes low, a line of a figure that holds or repeats its note, a
    tune in the rhythm of the chords under it."""
    table, role, profile = data.tables.rule(NAME)["besides"], data.strands[span.strand].role, span.lines[line]
    notes = [note for note in profile.notes if note.duration]
    if role == "bass":
        return bool(profile.low >= table["high_bass"])
    if role == "figure":
        repeats = sum(a.pitch.midi == b.pitch.midi for a, b in pairwise(notes))
        return bool(100 * repeats >= table["repeats"] * (len(notes) - 1))
    if role == "melody":
        own, chords = {note.onset for note in notes}, _attacks(data, span)
        return bool(100 * len(own & chords) >= table["one_rhythm"] * len(own | chords) > 0)
    return False


def is_broken(data: ProblemData, span: Span, line: int) -> bool:
    """A line rolls through chords: in a figure of broken chords, or going on from note to note by leaps in what else moves."""
    table, strand = data.tables.rule(NAME)["rolling"], data.strands[span.strand]
    if strand.role not in MOVING:
        return False
    notes = span.lines[line].notes
    steps = [abs(a.pitch.midi - b.pitch.midi) for a, b in pairwise(notes) if a.end == b.onset and a.duration]
    leaps = sum(step >= table["leap"] for step in steps)
    named = strand.role == "figure" and strand.texture in BROKEN
    return named or (len(steps) >= table["steps"] and 100 * leaps >= table["share"] * len(steps))


def _attacks(data: ProblemData, tune: Span) -> set[int]:
    """Ticks at which the sketch's bass and chords attack while a tune lasts."""
    return {
        note.onset
        for span in data.spans
        if span.start < tune.end and span.end > tune.start and data.is_assigned(span.strand)
        if data.strands[span.strand].role in CHORDAL
        for profile in span.lines.values()
        for note in profile.notes
        if note.duration and tune.start <= note.onset < tune.end
    }
