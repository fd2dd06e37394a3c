"""Who shares a line, in how many octaves, in which order: Rimsky-Korsakov's pairs and counted doublings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import product
from typing import Any

from autoorch.problem.data import Option, ProblemData, Span
from autoorch.problem.terms import Cost, Form, Limit, both, missing, over
from autoorch.rules.unary import alone

NAME = "doubling"
ALLOWED = {
    "melody": "doublers_by_dynamic",
    "counterline": "inner_doublers_by_dynamic",
    "bass": "bass_doublers_by_dynamic",
}


def limits(data: ProblemData) -> Iterator[Limit]:
    """None."""
    return iter(())


def costs(data: ProblemData) -> Iterator[Cost]:
    """Per span and line: octaves, number of doublers, pairs."""
    table = data.tables.rule(NAME)
    weights = table["weights"]
    for span in data.spans:
        strand = data.strands[span.strand]
        if strand.layer == "bass" and data.by_span[span.index]:
            yield _landing(data, weights["landing"], span)
        if strand.layer != "assigned":
            continue
        dynamic = data.plan[span.phrase].at(span.start).dynamic
        for line in span.lines:
            options = data.by_line.get((span.index, line), [])
            if not options:
                continue
            allowed = table[ALLOWED.get(strand.role, "inner_doublers_by_dynamic")][dynamic]
            if len(data.players) <= table["few"] and dynamic not in table["spread"] and strand.role != "bass":
                allowed = 1
            weight = weights["doubler" if strand.role in ("melody", "bass") else "inner_doubler"] * max(
                data.busy(o) for o in options
            )
            spread = strand.role not in ("melody", "bass") and dynamic in table["spread"]
            for found in _by_octave(options).values() if spread else (options,):
                terms = tuple((o.index, 1) for o in found)
                yield over(NAME, span.phrase, weight, terms, allowed, f"more doublers than {dynamic} asks for")
            if strand.role in ("melody", "bass"):
                yield from _layout(data, table, span, line, options, dynamic)
            if strand.role == "melody":
                yield from _pairs(data, table, span, options)
        if strand.role == "bass":
            yield from _apart(data, table["octave_apart"], weights["bass_apart"], weights["bass_above"], span)
        elif strand.role != "melody" and dynamic in table["spread"]:
            yield from _spread(data, weights["moved_loud"], span)
        elif strand.role != "melody":
            for option in data.by_span[span.index]:
                if option.octave:
                    amount = weights["moved"] * data.busy(option) * abs(option.octave)
                    yield alone(NAME, data, option, amount, "moved from its octave")


def _spread(data: ProblemData, weight: int, span: Span) -> Iterator[Cost]:
    """An inner line that somebody has in another octave and nobody where it was written."""
    for line in span.lines:
        octaves = _by_octave(data.by_line.get((span.index, line), []))
        home = [(data.groups.any(o.index for o in found), -1) for found in [octaves.pop(0, [])] if found]
        for octave, options in octaves.items():
            terms = [(data.groups.any(o.index for o in options), 1), *home]
            amount = weight * abs(octave) * max(data.busy(o) for o in options)
            yield Cost(NAME, span.phrase, amount, (Form(tuple(terms)),), "moved from its octave")


def _apart(data: ProblemData, pair: Mapping[str, Any], weight: int, home: int, span: Span) -> Iterator[Cost]:
    """Who has the bass an octave apart has it in one octave though the lower could go below, or the upper has it too low; or they
    have it farther apart; or the plan means both, and the upper one has it an octave higher than it stands in his usual range
    (`home`)."""
    usual, instruments = data.tables.rule("registers")["usual_as"]["bass"], data.tables.instruments
    top, bottom = instruments[pair["upper"]].normal[0], instruments[pair["lower"]].normal[0]
    both_planned = {pair["upper"], pair["lower"]} <= set(data.plan[span.phrase].at(span.start).bass)
    for line, profile in span.lines.items():
        octaves: dict[str, dict[int, list[int]]] = defaultdict(lambda: defaultdict(list))
        for option in data.by_line.get((span.index, line), ()):
            octaves[data.instrument(option).id][option.octave].append(option.index)
        high, low = octaves[pair["upper"]], octaves[pair["lower"]]
        for above, below in product(sorted(high), sorted(low)):
            lowered = below - 1 in low and profile.low + 12 * (below - 1) >= bottom
            raised = above + 1 in high and profile.mean + 12 * above < usual[pair["upper"]][0]
            fits = both_planned and profile.low >= top and profile.mean >= usual[pair["upper"]][0]
            if above > 0 and below == 0 and fits:
                literals = data.groups.any(high[above]), data.groups.any(low[below])
                yield both(NAME, span.phrase, home * span.length, *literals, "the bass higher than it need be")
            if above - below > 1 or (above == below and (lowered or raised)):
                literals = data.groups.any(high[above]), data.groups.any(low[below])
                yield both(NAME, span.phrase, weight * span.length, *literals, "the bass not an octave apart")


def _landing(data: ProblemData, weight: int, span: Span) -> Cost:
    """Somebody has the lower octave of the bass where it lands: in a strand of its own, or under the bass all along."""
    first, last = min(p.onset for p in span.lines.values()), max(p.end for p in span.lines.values())
    options = [o.index for o in data.by_span[span.index]]
    for other in data.spans:
        strand = data.strands[other.strand]
        if strand.role == "bass" and strand.layer == "assigned" and other.start <= first and other.end >= last:
            options += [o.index for o in data.by_span[other.index] if o.octave < 0]
    return missing(
        NAME, span.phrase, weight, [data.groups.any(options)], "a landing without the lower octave of its bass"
    )


def _by_octave(options: list[Option]) -> dict[int, list[Option]]:
    found: dict[int, list[Option]] = defaultdict(list)
    for option in options:
        found[option.octave].append(option)
    return dict(sorted(found.items()))


def _layout(
    data: ProblemData, table: Mapping[str, Any], span: Span, line: int, options: list[Option], dynamic: str
) -> Iterator[Cost]:
    """Octaves of a melody or bass: how many, no gaps, its own one among them."""
    weights, phrase = table["weights"], span.phrase
    octaves = {k: data.groups.any(o.index for o in found) for k, found in _by_octave(options).items()}
    if 0 in octaves:
        yield missing(NAME, phrase, weights["home"] * span.length, [octaves[0]], "nobody plays it in its own octave")
    if data.strands[span.strand].role == "bass":
        return
    yield over(
        NAME,
        phrase,
        weights["octave"] * span.length,
        tuple((lit, 1) for lit in octaves.values()),
        table["octaves_by_dynamic"][dynamic],
        f"more octaves than {dynamic} asks for",
    )
    if {-1, 0, 1} <= set(octaves):
        form = Form(((octaves[-1], 1), (octaves[1], 1), (octaves[0], -1)), -1)
        yield Cost(NAME, phrase, weights["gap"] * span.length, (form,), "outer octaves without the middle one")


def _pairs(data: ProblemData, table: Mapping[str, Any], span: Span, options: list[Option]) -> Iterator[Cost]:
    """Pairs warned against, rare unisons, like woodwinds in octaves, strings and brass alone together."""
    weights, phrase, length = table["weights"], span.phrase, span.length
    kinds: dict[tuple[str, int], list[int]] = defaultdict(list)
    strings: list[int] = []
    for option in options:
        kinds[data.instrument(option).id, option.octave].append(option.index)
        if data.instrument(option).family == "strings":
            strings.append(option.index)
    octaves = sorted({octave for _, octave in kinds})
    for high in octaves:
        for low in (k for k in octaves if k < high):
            for row in table["warned"]:
                upper = [i for name in row["upper"] for i in kinds.get((name, high), ())]
                lower = [i for name in row["lower"] for i in kinds.get((name, low), ())]
                if upper and lower:
                    yield both(
                        NAME,
                        phrase,
                        weights["warned"] * length,
                        data.groups.any(upper),
                        data.groups.any(lower),
                        "octaves in reversed order",
                    )
            for name in sorted({kind for kind, octave in kinds if octave == high}):
                first, second = kinds.get((name, high)), kinds.get((name, low))
                if first and second and data.tables.instruments[name].family == "woodwind":
                    terms = [(data.groups.any(first), 1), (data.groups.any(second), 1)]
                    if strings:
                        terms.append((data.groups.any(strings), -1))
                    yield Cost(
                        NAME, phrase, weights["alike"] * length, (Form(tuple(terms), -1),), "like woodwinds in octaves"
                    )
    for octave in octaves:
        for row in table["rare"]:
            pair = [kinds.get((name, octave)) for name in row["pair"]]
            if pair[0] and pair[1]:
                yield both(
                    NAME,
                    phrase,
                    weights["rare"] * length,
                    data.groups.any(pair[0]),
                    data.groups.any(pair[1]),
                    "a rare unison",
                )
        own = [(o.index, data.instrument(o)) for o in options if o.octave == octave]
        reeds = [i for i, instrument in own if instrument.family == "woodwind"]
        blending = table["blending"]
        for mellow in (True, False):
            brass = [i for i, one in own if one.family == "brass" and (one.id in blending["brass"]) == mellow]
            bowed = [i for i, one in own if one.family == "strings" and not (mellow and one.id in blending["strings"])]
            if brass and bowed:
                terms = [(data.groups.any(brass), 1), (data.groups.any(bowed), 1)]
                if reeds:
                    terms.append((data.groups.any(reeds), -1))
                form, what = Form(tuple(terms), -1), "strings and brass alone in unison"
                yield Cost(NAME, phrase, weights["blend"] * length, (form,), what)
