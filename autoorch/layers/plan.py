"""The plan of the cue, made first: how much sounds in each phrase, where the peak is, which colour leads, who rests.

Weights follow dynamics, form and the way to the peak; colours are chosen by one small model (autoorch/layers/colours.py);
what of the tunes is doubled, and in how many octaves, follows the counted shares in constraints/plan.toml.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from statistics import median

from autoorch.brief import Brief
from autoorch.errors import BriefError
from autoorch.instruments import DYNAMICS
from autoorch.layers.bass import LOW, attack
from autoorch.layers.choice import Choice, Need
from autoorch.layers.colours import GROUPS, Palette, choose, group_of
from autoorch.layers.halves import find_joint, in_halves
from autoorch.layers.height import heightened
from autoorch.layers.leanings import Lean, leanings
from autoorch.layers.melody import speed
from autoorch.layers.model import UNISON, PhrasePlan, RunnerUp, Turn
from autoorch.layers.scoring import also_asked, coloured, led
from autoorch.layers.sections import answered, find_sections, restated
from autoorch.layers.shapes import peak_given, weights_given
from autoorch.layers.turns import Level, find_levels, find_unisons
from autoorch.layers.weights import Loudness, find_peak
from autoorch.lineup import Lineup
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch.model import Sketch, SketchNote
from autoorch.sketch.tempo import TempoMap
from autoorch.tables import Tables

TENTHS = 10
"""The plan's costs are in tenths."""


def make_plan(sketch: Sketch, reading: Reading, lineup: Lineup, brief: Brief, tables: Tables) -> tuple[PhrasePlan, ...]:
    """One plan a phrase, from its dynamic, its place in the form, the climax of the reading, and what the brief says of it.

    Raises:
        BriefError: for a shape over bars that are not there, a player who is not, or a shape where the plan is left out.
    """
    table = tables.rule("plan")
    if not brief.works("plan"):
        return _unplanned(reading, brief, tables)
    if not reading.phrases:
        return ()
    given, asked_peak = weights_given(sketch, reading.phrases, brief), peak_given(sketch, reading.phrases, brief)
    peak = find_peak(sketch, reading, table["peak"]) if asked_peak is None else asked_peak

    def in_bars(tick: int) -> float:
        bar = sketch.bar_at(tick)
        return bar.index + (tick - bar.onset) / max(1, bar.length)

    back = restated(reading)
    sections = find_sections(reading, peak, in_bars, table["section"])
    counted = sum(1 for player in lineup.players if group_of(player.instrument) in GROUPS)
    levels = find_levels(sketch, reading, table["turn"])
    unisons = (
        find_unisons(sketch, reading, levels, table["unison"]) if counted > table["small"] else [None] * len(levels)
    )
    levels = [_after(own, end, p.end) for own, end, p in zip(levels, unisons, reading.phrases, strict=True)]
    heads = [k for k, unison in enumerate(unisons) if unison is not None]
    loud = Loudness(reading, levels, peak, back, tables, bool(brief.under), heads)
    united = {k for k in heads if k not in given or unisons[k] == reading.phrases[k].end}
    plan = [
        PhrasePlan(
            p.start, p.end, given.get(k, loud.opening(k, level)), DYNAMICS[level], k == peak, p.label,
            section=sections[k], restates=back[k], scheme=UNISON if k in united else "",
            turns=tuple(Turn(tick, DYNAMICS[to], loud.weight(k, to)) for tick, to in turns if k not in given),
        )
        for k, (p, ((_, level), *turns)) in enumerate(zip(reading.phrases, loud.levels, strict=True))
    ]  # fmt: skip
    palette = Palette.of(lineup, tables, drums=brief.adds("finish"))
    if len(palette.colours) > palette.few:
        asked = answered(reading, in_bars, table["answer"])
        tunes = [_notes(sketch, reading, p) for p in reading.phrases]
        lean = leanings(sketch, reading, lineup, brief, palette)
        found = _needs(sketch, reading, tables, plan, tunes, lean, in_bars)
        needs = [
            replace(need, answers=asks is not None, thin=k == loud.thinnest, wanted=round(counted * plan[k].weight))
            for k, (need, asks) in enumerate(zip(found, asked, strict=True))
        ]
        chosen = choose(needs, palette)
        if chosen:
            picks = chosen[0].picks
            joints = [
                None if also_asked(need, pick) else find_joint(sketch, tune, p.start, p.end, table["half"])
                for tune, p, need, pick in zip(tunes, plan, needs, picks, strict=True)
            ]
            lengths = [need.bars for need in needs]
            if palette.few:
                plan = led(plan, picks, asked, palette)
            else:
                plan = coloured(plan, picks, palette, counted, given, loud, asked, needs)
            plan = heightened(plan, tunes, palette)
            plan = in_halves(plan, tunes, joints, lengths, palette)
            plan = [replace(p, runner_up=_runner_up(chosen, k, palette)) if p.peak else p for k, p in enumerate(plan)]
    return tuple(_rounded(p) for p in plan)


def _unplanned(reading: Reading, brief: Brief, tables: Tables) -> tuple[PhrasePlan, ...]:
    """Each phrase as full as the middle of the repertoire at its dynamic, with no peak and no colours: all else is open."""
    if brief.shapes:
        raise BriefError(f"shape, bars {brief.shapes[0].bars}: the plan is left out, and a shape is for the plan")
    share = tables.rule("texture")["active_share"]
    return tuple(
        PhrasePlan(p.start, p.end, median(share[p.dynamic]), p.dynamic, label=p.label, restates=before)
        for p, before in zip(reading.phrases, restated(reading), strict=True)
    )


def _needs(
    sketch: Sketch,
    reading: Reading,
    tables: Tables,
    plan: Sequence[PhrasePlan],
    tunes: Sequence[Sequence[SketchNote]],
    lean: Sequence[Lean],
    in_bars: Callable[[int], float],
) -> list[Need]:
    """What each phrase brings to the choice by itself: length, dynamic, its tune's notes and speed, place in the form, wishes."""
    table, steps = tables.rule("plan")["attack"], tables.rule("playability")["speed"]["intervals"]
    tempo = TempoMap(sketch, reading.tempo)
    peak = next(k for k, phrase in enumerate(plan) if phrase.peak)

    def seconds(start: int, end: int) -> float:
        return tempo.seconds(end) - tempo.seconds(start)

    low = [note for s in reading.strands if s.role in LOW and s.lines for note in s.lines[0].notes]
    basses = [_inside(sketch, low, p) for p in plan]
    others = [
        (s.texture, sorted(sketch.by_id[note].onset for line in s.lines for note in line.notes))
        for s in reading.strands
        if s.role not in ("melody", *LOW)
    ]

    def beside(phrase: PhrasePlan) -> set[str]:
        return {name for name, at in others if bisect_left(at, phrase.start) < bisect_left(at, phrase.end)}

    def lowest(phrase: PhrasePlan) -> int:
        return min((n.pitch.midi for n in sketch.notes if phrase.start <= n.onset < phrase.end), default=127)

    return [
        Need(
            max(1, round(in_bars(p.end) - in_bars(p.start))), p.dynamic, _lasting(tune), p.section, 0,
            speed(seconds, tune, steps), lowest(p), _lasting(basses[k]), attack(basses[k], p.end, beside(p), seconds, table),
            read.character, p.restates, before_peak=k < peak, peak=k == peak, lean=leans,
        )
        for k, (p, read, tune, leans) in enumerate(zip(plan, reading.phrases, tunes, lean, strict=True))
    ]  # fmt: skip


def _runner_up(chosen: Sequence[Choice], peak: int, palette: Palette) -> RunnerUp | None:
    """What phrase `peak` is in the second of the choices, where there is one."""
    if len(chosen) < 2:
        return None
    best, other = chosen
    pick = other.picks[peak]
    ground = next(row["groups"] for row in palette.grounds if row["id"] == pick.ground)
    groups = tuple(group for group in ground if palette.seats[group])
    return RunnerUp(pick.lead, groups, (other.cost - best.cost) / TENTHS, other.reason_against(best))


def _after(levels: tuple[Level, ...], unison: int | None, end: int) -> tuple[Level, ...]:
    """The dynamics of a phrase that ends at `end`, with a turn where its head in unison is over."""
    if unison is None or unison == end or any(tick == unison for tick, _ in levels):
        return levels
    level = max((tick, level) for tick, level in levels if tick < unison)[1]
    return tuple(sorted((*levels, (unison, level))))


def _rounded(phrase: PhrasePlan) -> PhrasePlan:
    """Weights from 0 to 1 with three places, so that they read well in a record."""

    def share(weight: float) -> float:
        return round(min(1.0, max(0.0, weight)), 3)

    turns = tuple(replace(turn, weight=share(turn.weight)) for turn in phrase.turns)
    return replace(phrase, weight=share(phrase.weight), turns=turns)


def _notes(sketch: Sketch, reading: Reading, phrase: Phrase) -> list[SketchNote]:
    """The tune's principal line in a phrase, in time order."""
    ids = [i for s in reading.strands if s.role == "melody" and s.lines for i in s.lines[0].notes]
    return _inside(sketch, ids, phrase)


def _inside(sketch: Sketch, ids: Iterable[str], phrase: Phrase | PhrasePlan) -> list[SketchNote]:
    """Of some notes those of a phrase that last, in time order."""
    own = (note for note in map(sketch.by_id.__getitem__, ids) if phrase.start <= note.onset < phrase.end)
    return sorted((note for note in own if note.duration), key=lambda note: (note.onset, note.id))


def _lasting(tune: Sequence[SketchNote]) -> tuple[tuple[int, int], ...]:
    """(pitch, ticks) of a line."""
    found: dict[int, int] = {}
    for note in tune:
        found[note.pitch.midi] = found.get(note.pitch.midi, 0) + note.duration
    return tuple(sorted(found.items()))
