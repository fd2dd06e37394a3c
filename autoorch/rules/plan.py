"""The plan of the cue is kept: its leading colour, its bass, who is silent, how many share the tune and in how many octaves; a
tutti is what its scheme says."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from autoorch.layers.colours import GROUPS, group_of
from autoorch.layers.model import FULL, JOBS, SHARED, UNISON, PhrasePlan
from autoorch.problem.data import Cell, Option, ProblemData, Span
from autoorch.problem.terms import Cost, Limit, Literal, missing, over, under
from autoorch.rules.unary import alone

NAME = "plan"
DOUBLING = ("melody", "bass")
"""Layers that double a strand of the sketch; who has them is for the layer."""


def limits(data: ProblemData) -> Iterator[Limit]:
    """None: a draft may leave the plan where nothing else will do, at a price."""
    return iter(())


def costs(data: ProblemData) -> Iterator[Cost]:
    """Span by span, in phrases for which the plan names colours."""
    table = data.tables.rule(NAME)
    for cell in data.cells:
        yield from _scheme(data, table, data.plan[cell.phrase].at(cell.start), cell)
    members = {row["id"]: frozenset(row["instruments"]) for row in table["colour"]}
    for span in data.spans:
        phrase, strand = data.plan[span.phrase].at(span.start), data.strands[span.strand]
        if not phrase.lead or strand.layer in DOUBLING:
            continue
        if strand.role == "melody":
            yield from _tune(data, table["rule"], members, phrase, span)
        elif not phrase.detailed:
            continue
        elif strand.role in ("bass", "pedal"):
            yield from _bass(data, table["rule"], phrase, span)
        else:
            yield from _ground(data, table, phrase, span)


def _tune(
    data: ProblemData,
    weights: Mapping[str, Any],
    members: Mapping[str, frozenset[str]],
    phrase: PhrasePlan,
    span: Span,
) -> Iterator[Cost]:
    """The leading colour has the principal line, somebody of each that joins doubles it, and nobody has it to whom the plan gives
    no part in it. The answer to a subject is for whoever sets it off."""
    answer = (data.strands[span.strand].id, span.start) in data.material.answers
    lead = members[phrase.lead]
    allowed = lead.union(*(members[name] for name in phrase.joined))
    principal = data.by_line.get((span.index, min(span.lines)), [])
    own = [o.index for o in principal if data.instrument(o).id in lead]
    if own and not answer:
        yield missing(NAME, span.phrase, weights["lead"] * span.length, own, f"the tune is not with the {phrase.lead}")
    if phrase.octave is not None:
        high = [o.index for o in principal if data.instrument(o).id in lead and o.octave >= phrase.octave]
        if high:
            yield missing(
                NAME, span.phrase, weights["height"] * span.length, high, f"the {phrase.lead} are low for the peak"
            )
    terms = tuple((o.index, 1) for o in (*principal, *_outlined(data, span)))
    for name in phrase.joined[: phrase.doublers - 1] if phrase.scheme != UNISON and phrase.doublers > 1 else ():
        joining = [index for index, _ in terms if data.instrument(data.options[index]).id in members[name]]
        if joining and not answer:
            weight = weights["joined"] * span.length
            yield missing(NAME, span.phrase, weight, joining, f"none of the {name} joins the tune")
    for option in data.by_span[span.index]:
        if phrase.detailed and data.instrument(option).id not in allowed and not answer:
            weight = weights["outsider"] * data.busy(option)
            yield alone(NAME, data, option, weight, "the plan gives it no part in the tune")
    if phrase.doublers and terms:
        more, fewer = (
            weights["alone" if phrase.scheme == "solo" else "more"] * span.length,
            weights["fewer"] * span.length,
        )
        yield over(NAME, span.phrase, more, terms, phrase.doublers, "more on the tune than planned")
        if phrase.doublers > 1:
            yield under(NAME, span.phrase, fewer, terms, phrase.doublers, "fewer on the tune than planned")
    octaves: dict[int, list[int]] = defaultdict(list)
    for option in principal:
        octaves[option.octave].append(option.index)
    wanted = min(phrase.octaves, len(octaves))
    if wanted > 1:
        literals = tuple((data.groups.any(indices), 1) for _, indices in sorted(octaves.items()))
        weight = weights["octaves"] * span.length
        yield under(NAME, span.phrase, weight, literals, wanted, "fewer octaves of the tune than planned")


def _outlined(data: ProblemData, span: Span) -> list[Option]:
    """Those who double the tune by its outline: they count as on it."""
    return [
        option
        for other in data.spans
        if other.start < span.end and other.end > span.start
        if (strand := data.strands[other.strand]).layer == "melody" and strand.texture != SHARED
        for option in data.by_span[other.index]
    ]


def _bass(data: ProblemData, weights: Mapping[str, Any], phrase: PhrasePlan, span: Span) -> Iterator[Cost]:
    """Each instrument of the planned bass has it, in a unison all of it, and nobody else, least of all who is to rest."""
    by_kind: dict[str, list[int]] = defaultdict(list)
    for option in data.by_span[span.index]:
        name = data.instrument(option).id
        by_kind[name].append(option.index)
        weight = weights["bass_outsider"] * data.busy(option)
        if name not in phrase.bass:
            rests = 0 if _in_place(data, phrase, option) else weights["ground"] * data.busy(option)
            yield alone(NAME, data, option, weight + rests, "the plan gives it no part in the bass")
        elif phrase.scheme == UNISON and any(data.strands[span.strand].lines[line].reduced for line in option.lines):
            yield alone(NAME, data, option, weight, "a unison of which it has only some notes")
    for name in phrase.bass:
        if by_kind[name]:
            weight = weights["bass"] * span.length
            yield missing(NAME, span.phrase, weight, by_kind[name], "a planned bass player does not have the bass")


def _ground(data: ProblemData, table: Mapping[str, Any], phrase: PhrasePlan, span: Span) -> Iterator[Cost]:
    """Chords, figures and off-beats stay with the groups of the ground, soft off-beats with its strings; drums, harp and keys are
    free, but those who have the bass."""
    own = table["offbeats"]
    strand = data.strands[span.strand]
    soft = strand.texture in own["textures"] and phrase.dynamic in own["dynamics"]
    if soft and set(own["groups"]) & set(phrase.ground):
        phrase = replace(phrase, ground=tuple(group for group in phrase.ground if group in own["groups"]))
    for option in data.by_span[span.index]:
        if not _in_place(data, phrase, option) or (strand.layer != "finish" and _has_bass(data, phrase, option)):
            weight = table["rule"]["ground"] * data.busy(option)
            yield alone(NAME, data, option, weight, "the plan lets it rest or do another thing")


def _scheme(data: ProblemData, table: Mapping[str, Any], phrase: PhrasePlan, cell: Cell) -> Iterator[Cost]:
    """A tutti by its scheme: with full chords different lines in each family that has voices for them, copies in unison or
    octaves being one; with one job a family none has two of tune, chords and figure."""
    if phrase.scheme not in (FULL, JOBS):
        return
    lines: dict[str, dict[frozenset[tuple[int, int]], list[int]]] = defaultdict(lambda: defaultdict(list))
    classes = {
        (index, k): frozenset(
            (note.onset, note.pitch.midi % 12)
            for note in profile.notes
            if note.onset < cell.end and note.end > cell.start
        )
        for index in cell.spans
        for k, profile in data.spans[index].lines.items()
    }
    jobs: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    for option in (option for index in cell.spans for option in data.by_span[index]):
        family = data.players[option.player].instrument.family
        strand = data.strands[data.spans[option.span].strand]
        if strand.layer == "finish" or group_of(data.players[option.player].instrument) not in GROUPS:
            continue
        job = table["job"].get(strand.role)
        if job is not None:
            jobs[family][job].append(option.index)
        for line in option.lines:
            if classes[option.span, line]:
                lines[family][classes[option.span, line]].append(option.index)
    for family in sorted(jobs):
        seats = sum(player.instrument.family == family for player in data.players)
        if phrase.scheme == FULL and seats >= table["tutti"]["voices"]:
            terms = _any(data, lines[family].values())
            wanted = min(table["tutti"]["chord_lines"], len(terms))
            if wanted:
                what = f"no full chord in the {family}"
                yield under(NAME, cell.phrase, table["rule"]["full"] * cell.length, terms, wanted, what)
        elif phrase.scheme == JOBS and len(jobs[family]) > 1:
            weight = table["rule"]["job"] * cell.length
            terms = _any(data, jobs[family].values())
            yield over(NAME, cell.phrase, weight, terms, 1, f"the {family} has more than one job")


def _any(data: ProblemData, groups: Iterable[list[int]]) -> tuple[tuple[Literal, int], ...]:
    return tuple((data.groups.any(options), 1) for options in groups)


def _has_bass(data: ProblemData, phrase: PhrasePlan, option: Option) -> bool:
    """The plan gives the bass to a player who is in no group, such as the harp, and that is its job."""
    player = data.players[option.player].instrument
    return group_of(player) not in GROUPS and data.instrument(option).id in phrase.bass


def _in_place(data: ProblemData, phrase: PhrasePlan, option: Option) -> bool:
    group = group_of(data.players[option.player].instrument)
    return group not in GROUPS or group in phrase.ground
