"""What became of the brief's shapes, moments and passages to be scored like: a verdict for each, beside those of directions."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence

from autoorch.brief import Bars
from autoorch.layers.cue import Cue
from autoorch.layers.directed import held_over
from autoorch.layers.finish import at
from autoorch.layers.like import LIKE
from autoorch.layers.shapes import peak_given
from autoorch.problem.data import WHOLE, ProblemData
from autoorch.problem.divided import HALF
from autoorch.problem.draft import Verdict
from autoorch.rules import texture
from autoorch.sketch.bars import mainly, runs

WHOLE_PART = WHOLE // HALF
"""Half parts of a player."""


def answers(cue: Cue, data: ProblemData, chosen: frozenset[int], found: Sequence[Verdict]) -> tuple[Verdict, ...]:
    """A verdict for each passage, shape and moment of the brief; `found` are those of its directions."""
    return (*likes(cue, found), *shapes(cue, data, chosen), *moments(cue, data, chosen))


def likes(cue: Cue, found: Sequence[Verdict]) -> Iterator[Verdict]:
    """Each passage: how many of the preferences that it became are kept."""
    states = {verdict.direction: verdict.state for verdict in found}
    own: dict[tuple[str, Bars | None], list[str]] = defaultdict(list)
    for direction in cue.brief.directions:
        if direction.origin.startswith(LIKE):
            own[direction.origin, direction.bars].append(states.get(str(direction), "refused"))
    for (origin, bars), told in own.items():
        kept = told.count("kept")
        state = "kept" if kept == len(told) else "refused" if told.count("refused") == len(told) else "bent"
        place = f"bars {bars}" if bars else "everywhere"
        bent = f", {told.count('bent')} in part" if "bent" in told else ""
        yield Verdict(f"{place}: {origin}", state, f"{kept} of its {len(told)} preferences kept{bent}")


def shapes(cue: Cue, data: ProblemData, chosen: frozenset[int]) -> Iterator[Verdict]:
    """Each shape: what is planned there, and the share of winds and strings that sounds, which is to be the weight within the
    plan's own tolerance; the peak is to be fuller than every other phrase."""
    tolerance: float = data.tables.rule(texture.NAME)["tolerance"]
    phrases = cue.reading.phrases
    for shape in cue.brief.shapes:
        start, end = held_over(cue.sketch, phrases, shape.bars)
        sounds = sounding(data, chosen, start, end)
        missing = []
        if shape.weight is not None and abs(sounds - shape.weight) > tolerance:
            missing.append("thinner than asked" if sounds < shape.weight else "fuller than asked")
        peak = peak_given(cue.sketch, phrases, cue.brief)
        if shape.peak and peak is not None:
            shares = [sounding(data, chosen, phrase.start, phrase.end) for phrase in phrases]
            fullest = max(range(len(phrases)), key=lambda k: (shares[k], k == peak))
            if fullest != peak:
                missing.append(
                    f"{_bars(cue, phrases[fullest].start, phrases[fullest].end)} fuller, {shares[fullest]:.0%}"
                )
        detail = f"{_planned(cue, start, end)}; {sounds:.0%} of winds and strings sound"
        yield Verdict(str(shape), "bent" if missing else "kept", "; ".join([detail, *missing]))


def _planned(cue: Cue, start: int, end: int) -> str:
    """ "planned weight 0.9, f" of what the plan has between two ticks, each once."""
    parts = (part for phrase in cue.plan for first, last, part in phrase.parts if first < end and start < last)
    told = dict.fromkeys(f"weight {part.weight:g}, {part.dynamic}" for part in parts)
    return f"planned {', then '.join(told)}"


def sounding(data: ProblemData, chosen: frozenset[int], start: int, end: int) -> float:
    """Share of the counted players that sounds between two ticks, 0 to 1, as the plan counts it."""
    players = texture.counted(data)
    total = parts = 0
    for cell in data.cells:
        ticks = min(end, cell.end) - max(start, cell.start)
        if ticks <= 0 or not players:
            continue
        by_player: Counter[int] = Counter()
        for option, half_parts in texture.parts(data, cell, players, texture.enough(data, cell)[0]):
            if option in chosen:
                by_player[data.options[option].player] += half_parts
        parts += ticks * sum(min(WHOLE_PART, count) for count in by_player.values())
        total += ticks * WHOLE_PART * len(players)
    return parts / total if total else 0.0


def moments(cue: Cue, data: ProblemData, chosen: frozenset[int]) -> Iterator[Verdict]:
    """Each moment: which strokes and colours answer it, or that none does."""
    played: dict[int, dict[str, None]] = defaultdict(dict)
    for index in sorted(chosen):
        option = data.options[index]
        played[data.spans[option.span].strand][data.players[option.player].name] = None
    for hit, moment in zip(cue.brief.moments, cue.asked, strict=True):
        end = at(cue, moment)
        offered = [
            k for k, strand in enumerate(data.strands) if strand.layer == "finish" and strand.reason.endswith(end)
        ]
        told = [f"{data.strands[k].reason.removesuffix(end)}: {', '.join(played[k])}" for k in offered if k in played]
        if told:
            yield Verdict(str(hit), "kept", "; ".join(told))
        else:
            left = (
                "the cheapest draft found leaves out the stroke offered"
                if offered
                else "no stroke or colour answers it"
            )
            off = "" if cue.brief.adds("finish") else "; the brief has none added"
            yield Verdict(str(hit), "refused", left + off)


def _bars(cue: Cue, start: int, end: int) -> str:
    return runs(cue.sketch, mainly(cue.sketch, start, end))
