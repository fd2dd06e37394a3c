"""The plan of the cue, made first: how much sounds in each phrase, where the peak is, which colour leads, who rests.

Weights follow dynamics, form and the way to the peak; colours are chosen by one small model (autoorch/layers/colours.py);
what of the tunes is doubled, and in how many octaves, follows the counted shares in constraints/plan.toml.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any

from autoorch.brief import Brief
from autoorch.instruments import DYNAMICS
from autoorch.layers.colours import GROUPS, Need, Palette, Pick, choose, group_of
from autoorch.layers.crests import find_crests
from autoorch.layers.leanings import leanings
from autoorch.layers.model import Crest, PhrasePlan
from autoorch.layers.sections import find_sections, letter, restated
from autoorch.lineup import Lineup
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch.bars import ticks_of
from autoorch.sketch.model import Sketch
from autoorch.tables import Tables

SOFTEST_TUTTI = DYNAMICS.index("f")


def make_plan(sketch: Sketch, reading: Reading, lineup: Lineup, brief: Brief, tables: Tables) -> tuple[PhrasePlan, ...]:
    """One plan a phrase, from its dynamic, its place in the form, the climax of the reading, and what the brief says of it.

    Raises:
        BriefError: for a shape over bars that are not there, or a player who is not.
    """
    table = tables.rule("plan")
    if not reading.phrases:
        return ()
    shapes = [(shape, *ticks_of(sketch, shape.bars)) for shape in brief.shapes]
    peak = _peak(sketch, reading, table["peak"])
    for shape, start, end in shapes:
        if shape.peak:
            peak = next((k for k, p in enumerate(reading.phrases) if p.start < end and p.end > start), peak)

    def in_bars(tick: int) -> float:
        bar = sketch.bar_at(tick)
        return bar.index + (tick - bar.onset) / max(1, bar.length)

    back = restated(reading)
    sections = find_sections(reading, peak, in_bars, table["section"])
    crests = find_crests(sketch, reading, table["crest"])
    reached = [crest.dynamic if crest else p.dynamic for p, crest in zip(reading.phrases, crests, strict=True)]
    full = _weights(reading, reached, peak, back, table, bool(brief.under))
    opening = _weights(reading, [p.dynamic for p in reading.phrases], peak, back, table, bool(brief.under))
    weights = [min(a, b) if c else b for a, b, c in zip(opening, full, crests, strict=True)]
    given: dict[int, float] = {}
    for index, phrase in enumerate(reading.phrases):
        for shape, start, end in shapes:
            if shape.weight is not None and start <= phrase.start < end:
                given[index] = weights[index] = shape.weight
    tops = [replace(c, weight=max(weights[k], full[k])) if c and k not in given else None for k, c in enumerate(crests)]
    plan = [
        PhrasePlan(
            p.start, p.end, weights[k], p.dynamic, k == peak, p.label, section=sections[k], restates=back[k],
            crest=tops[k],
        )
        for k, p in enumerate(reading.phrases)
    ]  # fmt: skip
    counted = sum(1 for player in lineup.players if group_of(player.instrument) in GROUPS)
    if counted > table["small"]:
        palette = Palette.of(lineup, tables)
        lean = leanings(sketch, reading, lineup, brief, palette)
        needs = [
            Need(
                max(1, round(in_bars(p.end) - in_bars(p.start))), p.dynamic, _tune(sketch, reading, p), sections[k],
                round(counted * weights[k]), p.character, back[k], k < peak, k == peak, lean[k],
            )
            for k, p in enumerate(reading.phrases)
        ]  # fmt: skip
        picks = choose(needs, palette)
        if picks:
            plan = _coloured(plan, picks, palette, counted, given, table)
    return tuple(_rounded(p) for p in plan)


def _rounded(phrase: PhrasePlan) -> PhrasePlan:
    """Weights from 0 to 1 with three places, so that they read well in a record."""

    def share(weight: float) -> float:
        return round(min(1.0, max(0.0, weight)), 3)

    crest = replace(phrase.crest, weight=share(phrase.crest.weight)) if phrase.crest else None
    return replace(phrase, weight=share(phrase.weight), crest=crest)


def _peak(sketch: Sketch, reading: Reading, table: Mapping[str, Any]) -> int:
    """The phrase with the largest sum of loudness (the loudest that it comes to), the tune's highest note and a late place."""
    marks = [(m.onset, DYNAMICS.index(m.value)) for m in sketch.marks if m.kind == "dynamic" and m.value in DYNAMICS]
    climax = max((m for m in reading.moments if m.kind == "climax"), key=lambda m: m.strength, default=None)
    phrases = reading.phrases
    end = phrases[-1].end

    def worth(k: int) -> tuple[float, int]:
        phrase = phrases[k]
        reached = [level for onset, level in marks if phrase.start <= onset < phrase.end]
        value = table["dynamic"] * max([DYNAMICS.index(phrase.dynamic), *reached])
        value += table["climax"] * (climax is not None and phrase.start <= climax.onset < phrase.end)
        value += table["late"] * (1 - abs((phrase.start + phrase.end) / 2 / end - table["place"]))
        return value, k

    return max(range(len(phrases)), key=worth)


def _weights(
    reading: Reading,
    dynamics: Sequence[str],
    peak: int,
    back: Sequence[int | None],
    table: Mapping[str, Any],
    under: bool,
) -> list[float]:
    """Share of the players that each phrase wants at its dynamic, the peak the most."""
    shape = table["shape"]
    found = []
    for index in range(len(reading.phrases)):
        weight = table["weight"][dynamics[index]]
        if back[index] is not None:
            weight += shape["restatement"] if index <= peak else shape["last_return"]
        if index < peak:
            weight += shape["far"] * (peak - index) / peak
        if index == peak:
            weight += shape["peak"]
        if index == 0 and peak > 0 and DYNAMICS.index(dynamics[index]) < SOFTEST_TUTTI:
            weight += shape["opening"]
        if index == peak + 1:
            weight += shape["after_peak"]
        if under:
            weight *= shape["under"]
        found.append(min(1.0, max(shape["least"], weight)))
    for index in range(len(found)):
        if index != peak:
            found[index] = max(shape["least"], min(found[index], found[peak] - shape["below_peak"]))
    return found


def _tune(sketch: Sketch, reading: Reading, phrase: Phrase) -> tuple[tuple[int, int], ...]:
    """(pitch, ticks) of the tune's principal line in a phrase."""
    notes = [sketch.by_id[i] for s in reading.strands if s.role == "melody" and s.lines for i in s.lines[0].notes]
    found: dict[int, int] = {}
    for note in notes:
        if phrase.start <= note.onset < phrase.end and note.duration:
            found[note.pitch.midi] = found.get(note.pitch.midi, 0) + note.duration
    return tuple(sorted(found.items()))


def _coloured(
    plan: Sequence[PhrasePlan],
    picks: Sequence[Pick],
    palette: Palette,
    counted: int,
    given: Mapping[int, float],
    table: Mapping[str, Any],
) -> list[PhrasePlan]:
    """The plan with its colours, who joins the tune, how many octaves, who rests, and weights that those can bear."""
    colours = {row["id"]: row for row in palette.colours}
    strong = {name for name, row in colours.items() if group_of(palette.instrument(row)) != "woodwind"}
    undoubled = _undoubled(plan, picks, table["tune"]["undoubled"], strong)
    found: list[PhrasePlan] = []
    for k, (phrase, pick) in enumerate(zip(plan, picks, strict=True)):
        before = found[phrase.restates] if phrase.restates is not None else None
        scored = _scored(phrase, pick, before, k in undoubled, palette, counted, k in given, table)
        if phrase.crest is not None:
            crest = phrase.crest
            loud = replace(phrase, dynamic=crest.dynamic, weight=crest.weight, crest=None)
            top = _scored(loud, pick, before, False, palette, counted, k in given, table)
            crest = Crest(
                crest.start, crest.dynamic, top.weight, top.joined, top.ground, top.bass, top.octaves, top.doublers,
                top.scheme,
            )  # fmt: skip
            scored = replace(scored, crest=crest)
        found.append(replace(scored, answers=_answered(plan, k)))
    return found


def _scored(
    phrase: PhrasePlan,
    pick: Pick,
    before: PhrasePlan | None,
    bare: bool,
    palette: Palette,
    counted: int,
    given: bool,
    table: Mapping[str, Any],
) -> PhrasePlan:
    """One phrase with its colours at its dynamic and weight.

    Args:
        before: the phrase that it restates, or None.
        bare: nobody doubles its tune.
        given: its weight stands in the brief.
    """
    colours = {row["id"]: row for row in palette.colours}
    column = DYNAMICS.index(phrase.dynamic)
    lead = colours[pick.lead]
    ground = next(row for row in palette.grounds if row["id"] == pick.ground)
    bass = next(row for row in palette.basses if row["id"] == pick.bass)
    if _tutti(phrase):
        ground = max(palette.grounds, key=lambda row: sum(palette.seats[group] for group in row["groups"]))
        bass = min(palette.basses, key=lambda row: row["dear"][column])
    groups = tuple(group for group in ground["groups"] if palette.seats[group])
    if phrase.crest is not None and not _tutti(phrase) and set(groups) != {"horns", "brass"}:
        groups = tuple(group for group in groups if group != "brass")
    own = group_of(palette.instrument(lead))
    playing = {own, *groups, *bass["groups"]}
    joins = [j for j in lead["joins"] if j in colours and group_of(palette.instrument(colours[j])) in playing]
    scheme = _scheme(phrase, own, groups, column)
    octaves = 1 if bare else table["tune"]["octaves"][column]
    if before is not None and not bare:
        if phrase.peak:
            octaves = max(octaves, table["tune"]["peak_octaves"])
        elif (before.lead, before.ground, before.octaves) == (pick.lead, groups, octaves):
            octaves = octaves + 1 if octaves == 1 else octaves - 1
    weight = phrase.weight
    if not given:
        weight = min(weight, palette.capacity(lead, ground) / counted)
        weight *= table["shape"]["alone"] if bare and own != "strings" else 1
    return replace(
        phrase,
        weight=weight,
        lead=pick.lead,
        joined=() if bare else tuple(joins[: table["tune"]["joined"][column]]),
        ground=groups,
        bass=tuple(bass["players"]),
        resting=tuple(g for g in GROUPS if palette.seats[g] and g not in playing),
        octaves=octaves,
        doublers=1 if bare else max(octaves, table["tune"]["doublers"][column]),
        scheme=scheme or ("solo" if bare and own != "strings" else ""),
    )


def _undoubled(
    plan: Sequence[PhrasePlan], picks: Sequence[Pick], shares: Sequence[float], strong: Collection[str]
) -> set[int]:
    """Phrases whose tune nobody doubles: of each dynamic the planned share, the thinnest ones first, never the peak.

    From forte on only `strong` colours are left alone.
    """
    found: set[int] = set()
    for level, dynamic in enumerate(DYNAMICS):
        own = [k for k, phrase in enumerate(plan) if phrase.dynamic == dynamic and not phrase.peak]
        if level >= SOFTEST_TUTTI:
            own = [k for k in own if picks[k].lead in strong]
        count = round(shares[level] * len(own))
        found |= set(sorted(own, key=lambda k: (picks[k].lead == "violins", plan[k].weight, k))[:count])
    return found


def _tutti(phrase: PhrasePlan) -> bool:
    """Everybody plays, whatever the section keeps to: very loud phrases, and a loud peak."""
    level = DYNAMICS.index(phrase.dynamic)
    return level > SOFTEST_TUTTI or (level == SOFTEST_TUTTI and phrase.peak)


def _scheme(phrase: PhrasePlan, own: str, groups: Sequence[str], column: int) -> str:
    """What a thin or full phrase is by its players: one family alone, or one of the two ways to make a tutti."""
    if set(groups) == {"strings"} and own == "strings":
        return "strings alone"
    if "strings" not in groups and own != "strings":
        return "winds alone"
    if column >= SOFTEST_TUTTI and len(groups) > 2:
        return "full chord in each family" if _tutti(phrase) else "one job per family"
    return ""


def _answered(plan: Sequence[PhrasePlan], k: int) -> int | None:
    """The phrase right before that has the same material, which this one answers."""
    if k and letter(plan[k].label) and letter(plan[k].label) == letter(plan[k - 1].label):
        return k - 1
    return None
