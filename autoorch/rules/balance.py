"""Strength: the melody against each strand near it, the bass under it, equal lines inside a chord (Rimsky-Korsakov's units)."""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from statistics import mean

from autoorch.instruments import DYNAMICS
from autoorch.layers.cue import CHORALE
from autoorch.layers.model import MaterialNote
from autoorch.power import manner, power
from autoorch.problem.data import Cell, Option, ProblemData, Span
from autoorch.problem.profile import Profile
from autoorch.problem.terms import Cost, Form, Limit

NAME = "balance"
SOLO = "solo"
"""Technique of a tune that one player of a section may have."""
QUARTERS = 4
"""Quarter-bars in a bar."""


def limits(data: ProblemData) -> Iterator[Limit]:
    """None: balance is a threshold with a price."""
    return iter(())


def strength(data: ProblemData, option: Option) -> int:
    """Tenths of a woodwind's unit, at the dynamic in force, that the option puts on each of its lines."""
    player, dynamic = data.players[option.player], data.dynamic(option)
    loudness: int = data.tables.rule(NAME)["loudness"][DYNAMICS.index(dynamic)]
    share = option.share // len(option.lines) if player.instrument.kind == "bowed" else option.share
    whole = power(data.tables, player.instrument, player.size, dynamic, data.mean_pitch(option), share)
    return max(1, int(manner(data.tables, option.techniques) * 10 * whole) // loudness)


def costs(data: ProblemData) -> Iterator[Cost]:
    """Per cell: melody against every other strand near it that moves; bass against melody; lines of a chord among themselves."""
    known = {option.index: strength(data, option) for option in data.options}
    yield from _tune(data, known)
    yield from _chords(data, known)


def _tune(data: ProblemData, known: Mapping[int, int]) -> Iterator[Cost]:
    table = data.tables.rule(NAME)
    weights = table["rule"]
    margin, reach, grains = table["melody_margin"], table["reach"], weights["grain"]
    for cell in data.cells:
        spans = [data.spans[index] for index in cell.spans]
        tunes = [s for s in spans if data.strands[s.strand].role == "melody"] or _leading(data, spans, cell)
        if not tunes:
            continue
        tune = tunes[0]
        lead = min(tune.lines)
        melody = data.by_line.get((tune.index, lead), [])
        dynamic = data.plan[cell.phrase].at(cell.start).dynamic
        own = tuple((o.index, -100 * known[o.index]) for o in melody)
        goal = planned(data, tune, melody, known)
        if goal:
            weight = weights["masked"] * cell.length
            what = "the melody is weaker than planned"
            yield _short(cell.phrase, weight, own, what, 100 * goal, grains["masked"])
        for span in spans:
            if span in tunes or _entering(data, span, cell):
                continue
            for octaves, length, voice in _near(data, tune, span, cell, reach):
                near = [(o, lines) for o, lines in voice if o.octave in octaves]
                if not near:
                    continue
                share = margin if goal else table["open_margin"][DYNAMICS.index(dynamic)]
                terms = tuple((o.index, share * known[o.index] * lines) for o, lines in near)
                what = "the melody is weaker than another strand near it"
                if goal:
                    yield _short(cell.phrase, weights["masked"] * length, terms, what, -100 * goal, grains["masked"])
                else:
                    yield _short(cell.phrase, weights["open"] * length, own + terms, what, grain=grains["open"])
        if dynamic in weights["grounded"]:
            for span in spans:
                if data.strands[span.strand].role == "bass" and data.is_assigned(span.strand):
                    bass = [o for o in data.by_span[span.index] if 0 in o.lines]
                    terms = tuple((o.index, weights["bass_share"] * known[o.index]) for o in melody)
                    terms += tuple((o.index, -100 * known[o.index]) for o in bass)
                    if bass:
                        weight = weights["bass"] * cell.length
                        yield _short(
                            cell.phrase, weight, terms, "the bass is weak under the melody", grain=grains["bass"]
                        )


def _chords(data: ProblemData, known: Mapping[int, int]) -> Iterator[Cost]:
    weights = data.tables.rule(NAME)["rule"]
    grain = weights["grain"]["uneven"]
    for span in data.spans:
        strand = data.strands[span.strand]
        lines = [k for k in span.lines if not strand.lines[k].reduced]
        if strand.role == "melody" or len(lines) < 2:
            continue
        even = weights["even"][DYNAMICS.index(data.plan[span.phrase].at(span.start).dynamic)]
        for first, second in itertools.pairwise(lines):
            a, b = (
                tuple(
                    (o.index, round(known[o.index] / grain))
                    for o in data.by_line.get((span.index, line), ())
                    if other not in o.lines
                )
                for line, other in ((first, second), (second, first))
            )
            if a and b:
                forms = tuple(
                    Form(plus + tuple((lit, -coef) for lit, coef in minus), -round(even / grain))
                    for plus, minus in ((a, b), (b, a))
                )
                yield Cost(NAME, span.phrase, weights["uneven"] * span.length, forms, "unequal lines in one chord")


def _leading(data: ProblemData, spans: Sequence[Span], cell: Cell) -> list[Span]:
    """Of a cell without a tune the span that leads in most of its bars, if any."""
    lasts: Counter[str] = Counter()
    for leader in data.material.leaders:
        if leader.start < cell.end and leader.end > cell.start:
            lasts[leader.strand] += min(leader.end, cell.end) - max(leader.start, cell.start)
    best = max(lasts, key=lambda name: lasts[name], default="")
    return [span for span in spans if data.strands[span.strand].id == best]


def _entering(data: ProblemData, span: Span, cell: Cell) -> bool:
    """A subject enters in the span for most of the cell: it is to be heard beside the tune, not under it."""
    return any(
        entrance.strand == data.strands[span.strand].id
        and 2 * (min(entrance.end, cell.end) - max(entrance.start, cell.start)) > cell.end - cell.start
        for entrance in data.material.entrances
    )


def _near(
    data: ProblemData, tune: Span, span: Span, cell: Cell, reach: int
) -> Iterator[tuple[tuple[int, ...], int, list[tuple[Option, int]]]]:
    """(octaves in which a strand covers the tune, quarter-bars, its options with the number of lines that each has); apart for
    each line where they are voices of a hymn, since each of these is a part beside the tune."""
    voices = [([*span.lines.values()], [(option, len(option.lines)) for option in data.by_span[span.index]])]
    if data.strands[span.strand].texture in CHORALE:
        voices = [
            ([profile], [(option, 1) for option in data.by_line.get((span.index, line), ())])
            for line, profile in span.lines.items()
        ]
    for profiles, options in voices:
        for octaves, length in sorted(covers(data, tune, profiles, cell, reach).items()):
            yield octaves, length, options


def covers(
    data: ProblemData, tune: Span, others: Iterable[Profile], cell: Cell, reach: int
) -> Counter[tuple[int, ...]]:
    """Octaves -> quarter-bars of a cell in whose bar other lines cover the tune in just these: within `reach`, and moving."""
    farthest = data.tables.rule("continuity")["cut"]["octaves"]
    found = Counter[tuple[int, ...]]()
    for above, length in heights(data, tune, others, cell).items():
        octaves = tuple(k for k in range(-farthest, farthest + 1) if abs(above + 12 * k) <= reach)
        found[octaves] += length
    return found


def heights(data: ProblemData, tune: Span, others: Iterable[Profile], cell: Cell) -> Counter[float]:
    """Semitones by which other lines that move lie above the tune in a bar -> quarter-bars of a cell in such bars.

    What attacks once a bar is held, and does not move.
    """

    def by_bar(profiles: Iterable[Profile]) -> dict[int, list[MaterialNote]]:
        found: dict[int, list[MaterialNote]] = defaultdict(list)
        for note in (note for profile in profiles for note in profile.notes):
            if note.duration and cell.start <= note.onset < cell.end:
                found[bisect_right(data.bars, note.onset)].append(note)
        return found

    own, found = by_bar([tune.lines[min(tune.lines)]]), Counter[float]()
    for bar, notes in by_bar(others).items():
        if bar in own and len({note.onset for note in notes}) > 1:
            found[mean(n.pitch.midi for n in notes) - mean(n.pitch.midi for n in own[bar])] += QUARTERS
    return found


def planned(data: ProblemData, tune: Span, melody: Sequence[Option], known: Mapping[int, int]) -> int:
    """Strength, in tenths, of the tune as the plan has it: its leading players, then those who join, each in the octave nearest
    to the written one, and no more than one player where it may be a solo; 0 where the plan leaves the tune open, or says who
    leads but not how strongly (small line-ups).

    Measured against it, tune and other strands are judged apart, which is far easier to solve than one against the other.
    """
    phrase = data.plan[tune.phrase].at(tune.start)
    if not (phrase.lead and phrase.detailed) or data.strands[tune.strand].role != "melody":
        return 0
    members = {row["id"]: row["instruments"] for row in data.tables.rule("plan")["colour"]}
    found: list[int] = []
    for colour in (phrase.lead, *phrase.joined):
        best: dict[int, tuple[int, int]] = {}
        for option in melody:
            if data.instrument(option).id in members[colour]:
                value = (-abs(option.octave), known[option.index])
                best[option.player] = max(best.get(option.player, value), value)
        found += sorted((strong for _, strong in best.values()), reverse=True)
    alone = [known[option.index] for option in melody if SOLO in option.techniques]
    return min([sum(found[: max(1, phrase.doublers)]), *filter(None, [max(alone, default=0)])])


def _short(
    phrase: int, weight: int, terms: tuple[tuple[int, int], ...], what: str, constant: int = 0, grain: int = 1
) -> Cost:
    """A cost for each `grain` tenths of a unit by which a sum in thousandths exceeds 0."""
    scaled = tuple((lit, round(coef / (100 * grain))) for lit, coef in terms)
    return Cost(NAME, phrase, weight, (Form(scaled, round(constant / (100 * grain))),), what)
