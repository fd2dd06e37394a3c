"""What a phrase's pick means for its players, at its dynamic and weight: who joins the tune and in how many octaves, what lies
under it, who rests, by which scheme a tutti is laid out, and as much weight as those can bear."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import takewhile
from typing import Any

from autoorch.instruments import DYNAMICS, Instrument
from autoorch.layers.choice import Need, Pick
from autoorch.layers.colours import GROUPS, Palette, group_of
from autoorch.layers.model import FULL, JOBS, UNISON, PhrasePlan, Turn
from autoorch.layers.weights import SOFTEST_TUTTI, Loudness

ALONE = ("strings alone", "winds alone")
"""Schemes of one family by itself."""


@dataclass(frozen=True, slots=True)
class _Place:
    """What is known of a phrase, or of what stands between its turns, besides its own plan.

    Attributes:
        before: the phrase that it restates, or None.
        last: the phrase right before it, of which it is told apart by one of those who join; or None.
        bare: nobody doubles its tune.
        tired: colours that are the last to join, since they have been on the tune for so many bars that it gets long.
        least: its weight is not made less than that for what the players can bear; 1 where it stands in the brief.
        kept: colours that are on the tune already where it grows: they stay, and others join.
        spent: colours that do not join, since with the bars before and those that they lead next they would have no relief.
        asked: colours that somebody asked for besides the leading one: they join before all others.
    """

    before: PhrasePlan | None = None
    last: PhrasePlan | None = None
    bare: bool = False
    tired: Mapping[str, int] = field(default_factory=dict)
    least: float = 0.0
    kept: tuple[str, ...] = ()
    spent: Collection[str] = ()
    asked: tuple[str, ...] = ()


def led(
    plan: Sequence[PhrasePlan], picks: Sequence[Pick], asked: Sequence[int | None], palette: Palette
) -> list[PhrasePlan]:
    """The plan of a few players: who leads, and whom he answers; anybody may do anything else."""
    everybody = tuple(group for group in GROUPS if palette.seats[group])
    return [
        replace(
            phrase,
            lead=pick.lead,
            ground=everybody,
            answers=None if asks is None or picks[asks].lead == pick.lead else asks,
        )
        for phrase, pick, asks in zip(plan, picks, asked, strict=True)
    ]


def coloured(
    plan: Sequence[PhrasePlan],
    picks: Sequence[Pick],
    palette: Palette,
    counted: int,
    given: Mapping[int, float],
    loud: Loudness,
    asks: Sequence[int | None],
    needs: Sequence[Need],
) -> list[PhrasePlan]:
    """The plan with its colours, who joins the tune, how many octaves, who rests, and weights that those can bear.

    Args:
        given: weights of the brief by phrase.
        asks: for each phrase the one that it could answer, or None.
        needs: what each brought to the choice.
    """
    table = palette.tables.rule("plan")
    colours = {row["id"]: row for row in palette.colours}
    strong = {name for name, row in colours.items() if group_of(palette.instrument(row)) != "woodwind"}
    lengths = [need.bars for need in needs]
    asked = [also_asked(need, pick) for need, pick in zip(needs, picks, strict=True)]
    undoubled = _undoubled(plan, picks, asked, table["tune"]["undoubled"], strong, loud.thinnest)
    winds = [name for name, row in colours.items() if palette.instrument(row).kind == "wind"]
    busy: dict[str, int] = dict.fromkeys(winds, 0)
    found: list[PhrasePlan] = []
    for k, (phrase, pick) in enumerate(zip(plan, picks, strict=True)):
        before = found[phrase.restates] if phrase.restates is not None else None
        long = {name: bars for name, bars in busy.items() if bars and bars + lengths[k] > table["tune"]["tires"]}
        spent = {
            name
            for name in winds
            if busy[name] + lengths[k] + _ahead(picks, lengths, k, name) > table["tune"]["relief"]
        }
        parts: list[tuple[int, PhrasePlan]] = []
        for start, _, part in phrase.parts:
            own = replace(part, turns=())
            least = 1.0 if k in given else loud.least(k, DYNAMICS.index(part.dynamic))
            ground = _ground(own, pick, palette, counted, turned=start > phrase.start)
            if any(_tutti(later) for tick, _, later in phrase.parts if tick > start) and not _tutti(own):
                ground = _without_brass(ground)
            bare = k in undoubled and start == phrase.start
            last = found[-1] if found and not phrase.turns else None
            kept = (
                parts[-1][1] if parts and DYNAMICS.index(part.dynamic) >= DYNAMICS.index(parts[-1][1].dynamic) else None
            )
            place = _Place(
                before, last, bare, {} if _tutti(own) else long, least, kept.joined if kept else (), spent, asked[k]
            )
            parts.append((start, _scored(own, pick, ground, place, palette, counted)))
        turns = [
            Turn(start, p.dynamic, p.weight, p.joined, p.ground, p.bass, p.octaves, p.doublers, p.scheme)
            for start, p in parts[1:]
        ]
        led = {group_of(palette.instrument(colours[picks[q].lead])) == "strings" for q in (k, asks[k]) if q is not None}
        found.append(replace(parts[0][1], turns=tuple(turns), answers=asks[k] if len(led) > 1 else None))
        singing = {pick.lead}.union(*(part.joined for _, part in parts))
        busy = {name: busy[name] + lengths[k] if name in singing else 0 for name in winds}
    return found


def also_asked(need: Need, pick: Pick) -> tuple[str, ...]:
    """The colours that somebody asked for on the tune of a phrase, besides the one that leads it."""
    return tuple(name for (row, name), cost in need.lean.items() if row == "colour" and cost < 0 and name != pick.lead)


def _ahead(picks: Sequence[Pick], lengths: Sequence[int], k: int, name: str) -> int:
    """Bars that a colour leads right after phrase `k`."""
    led = takewhile(lambda other: picks[other].lead == name, range(k + 1, len(picks)))
    return sum(lengths[other] for other in led)


def _ground(phrase: PhrasePlan, pick: Pick, palette: Palette, counted: int, *, turned: bool) -> Mapping[str, Any]:
    """What lies under the tune: everybody in a tutti, else what was picked; where the phrase has turned louder or softer, what
    serves best there."""
    weights, column = palette.tables.rule("plan")["choice"], DYNAMICS.index(phrase.dynamic)
    if _tutti(phrase) or phrase.scheme == UNISON:
        return max(palette.grounds, key=lambda row: sum(palette.seats[group] for group in row["groups"]))
    picked = next(row for row in palette.grounds if row["id"] == pick.ground)
    if not turned:
        return picked

    def cost(row: Mapping[str, Any]) -> int:
        missing = round(counted * phrase.weight) - 1 - sum(palette.seats[group] for group in row["groups"])
        value: int = row["dear"][column] + weights["short"] * max(0, missing) + weights["turned"] * (row is not picked)
        return value

    return min(palette.grounds, key=cost)


def _without_brass(ground: Mapping[str, Any]) -> Mapping[str, Any]:
    """The ground of a phrase that is to become a tutti: its brass is saved for that, where it has others."""
    groups = [group for group in ground["groups"] if group != "brass"]
    return {**ground, "groups": groups} if groups and groups != ["horns"] else ground


def _scored(
    phrase: PhrasePlan, pick: Pick, ground: Mapping[str, Any], place: _Place, palette: Palette, counted: int
) -> PhrasePlan:
    """One phrase, or what stands between its turns, with its colours at its dynamic and weight."""
    if phrase.scheme == UNISON:
        return _in_unison(phrase, pick, palette, counted)
    table = palette.tables.rule("plan")
    colours = {row["id"]: row for row in palette.colours}
    column = DYNAMICS.index(phrase.dynamic)
    lead = colours[pick.lead]
    bass = _borne(_bass(phrase, pick, ground, palette), round(phrase.weight * counted), palette)
    groups = tuple(group for group in ground["groups"] if palette.seats[group])
    own = group_of(palette.instrument(lead))
    playing = {own, *groups, *bass["groups"]}
    busy = palette.held if "woodwind" not in groups else bass["players"]
    able = [name for name in _joined(phrase, lead, playing, busy, palette) if name not in place.spent or _tutti(phrase)]
    asked = [name for name in place.asked if _free(palette.instrument(colours[name]), bass["players"])]
    able = [*asked, *(name for name in able if name not in asked)]
    alike = [name for name in able if group_of(palette.instrument(colours[name])) == own]
    kept = [*asked, *(name for name in place.kept if name in able and name not in asked)]
    scheme = _scheme(phrase, own, groups, palette)
    foreign = {group_of(palette.instrument(colours[name])) for name in asked} - {own, *groups}
    scheme = "" if scheme in ALONE and (foreign or palette.apart(bass)) else scheme
    scheme = "" if scheme == JOBS and not set(kept) <= set(alike) else scheme
    joined = _joining(alike if scheme == JOBS else able, kept, place, pick.lead, table["tune"]["joined"][column])
    if scheme == FULL:
        joined += _tops(able, (pick.lead, *joined), palette)
    octaves = 1 if place.bare else table["tune"]["octaves"][column]
    if (before := place.before) is not None and not place.bare:
        if phrase.peak:
            octaves = max(octaves, table["tune"]["peak_octaves"])
        elif (before.lead, before.ground, before.octaves) == (pick.lead, groups, octaves):
            octaves = octaves + 1 if octaves == 1 else octaves - 1
    weight = min(phrase.weight, palette.capacity(lead, ground) / counted)
    weight *= table["shape"]["alone"] if place.bare and own != "strings" else 1
    weight = max(weight, min(place.least, phrase.weight))
    most = max(1, round(weight * counted) - table["tune"]["others"])
    octaves = min(octaves, most)
    doublers = max(octaves, table["tune"]["doublers"][column])
    if scheme == FULL:
        doublers = max(doublers, round(table["tutti"]["on_tune"] * weight * counted))
    alone = min(table["tune"]["alone"][column], max(palette.held.get(name, 0) for name in lead["instruments"]))
    return replace(
        phrase,
        weight=weight,
        lead=pick.lead,
        joined=() if place.bare else tuple(joined),
        ground=groups,
        bass=tuple(bass["players"]),
        resting=tuple(g for g in GROUPS if palette.seats[g] and g not in playing),
        octaves=octaves,
        doublers=alone if place.bare else max(min(most, doublers), len(asked) + 1 if asked else 0),
        scheme=scheme or ("solo" if place.bare and alone == 1 and own != "strings" else ""),
    )


def _borne(bass: Mapping[str, Any], count: int, palette: Palette) -> Mapping[str, Any]:
    """The bass, or as many of its own players as so thin a phrase can bear: of `count` one is left for the tune, and one for
    something between."""
    least = palette.tables.rule("plan")["tune"]["others"]

    def players(row: Mapping[str, Any]) -> int:
        return sum(palette.held[name] for name in row["players"])

    if players(bass) <= max(1, count - least):
        return bass
    column = DYNAMICS.index("pp")
    fewer = [row for row in palette.basses if "attack" not in row and set(row["players"]) < set(bass["players"])]
    return min(fewer or [bass], key=lambda row: (players(row), row["dear"][column]))


def _bass(phrase: PhrasePlan, pick: Pick, ground: Mapping[str, Any], palette: Palette) -> Mapping[str, Any]:
    """Who has the bass: whoever was picked, where the ground has them and nothing serves far better at this dynamic; in a tutti
    those of still louder music. What is for one kind of bass only is taken where it was picked."""
    table, column = palette.tables.rule("plan"), DYNAMICS.index(phrase.dynamic)
    picked = next(row for row in palette.basses if row["id"] == pick.bass)
    usual = [row for row in palette.basses if row is picked or "attack" not in row]
    fitting = [row for row in usual if set(row["groups"]) <= set(ground["groups"])]
    if _tutti(phrase):
        column = min(column + table["tutti"]["bass_steps"], len(DYNAMICS) - 1)
        return min(fitting or usual, key=lambda row: row["dear"][column])
    turned = table["choice"]["turned"]
    return min(fitting or usual, key=lambda row: row["dear"][column] + turned * (row is not picked))


def _joined(
    phrase: PhrasePlan, lead: Mapping[str, Any], playing: Collection[str], busy: Collection[str], palette: Palette
) -> list[str]:
    """Colours that could join the lead, the first to do so first: of groups that play, but string sections that are `busy`."""
    colours = {row["id"]: palette.instrument(row) for row in palette.colours}
    found = [name for name in lead["joins"] if name in colours and group_of(colours[name]) in playing]
    found = [name for name in found if _free(colours[name], busy)]
    loud = DYNAMICS.index(phrase.dynamic) >= SOFTEST_TUTTI
    woodwind = group_of(palette.instrument(lead)) == "woodwind"
    if loud:
        first = palette.tables.rule("plan")["tune"]["loud"]
        found.sort(key=lambda name: (name not in first, woodwind and group_of(colours[name]) != "strings"))
    return found


def _free(instrument: Instrument, busy: Collection[str]) -> bool:
    """No string section of those that are `busy`."""
    return instrument.kind != "bowed" or instrument.id not in busy


def _joining(able: Sequence[str], kept: Sequence[str], place: _Place, lead: str, count: int) -> list[str]:
    """So many of the able colours join the lead, first those that are `kept`, last the tired ones; where they would be those of
    the phrase before, the next one in the place of the last."""
    order = [*kept, *sorted((name for name in able if name not in kept), key=lambda name: place.tired.get(name, 0))]
    joined, spare = order[: max(count, len(kept))], order[max(count, len(kept)) :]
    last = place.last
    if (
        spare
        and last is not None
        and (last.lead, last.joined) == (lead, tuple(joined))
        and joined[-1] not in place.asked
    ):
        joined[-1:] = spare[:1]
    return joined


def _tops(able: Sequence[str], singing: Sequence[str], palette: Palette) -> list[str]:
    """Of each group that could join the tune and has nobody on it yet the first colour: in a full chord of each family the tune
    lies on top of each."""
    rows = {row["id"]: row for row in palette.colours}
    found = {group_of(palette.instrument(rows[name])) for name in singing}
    tops: list[str] = []
    for name in able:
        group = group_of(palette.instrument(rows[name]))
        if group not in found:
            found.add(group)
            tops.append(name)
    return tops


def _in_unison(phrase: PhrasePlan, pick: Pick, palette: Palette, counted: int) -> PhrasePlan:
    """A tutti in unison and octaves: everybody has the tune or its bass, nobody anything else."""
    table, column = palette.tables.rule("plan"), DYNAMICS.index(phrase.dynamic)
    bass = min(palette.basses, key=lambda row: (-len(row["players"]), row["dear"][column]))
    others = sorted((row for row in palette.colours if row["id"] != pick.lead), key=lambda row: -row["share"])
    low = sum(palette.held[name] for name in bass["players"])
    return replace(
        phrase,
        lead=pick.lead,
        joined=tuple(row["id"] for row in others),
        bass=tuple(bass["players"]),
        octaves=table["unison"]["octaves"],
        doublers=max(table["tune"]["doublers"][column], round(phrase.weight * counted) - low),
    )


def _undoubled(
    plan: Sequence[PhrasePlan],
    picks: Sequence[Pick],
    asked: Sequence[Collection[str]],
    shares: Sequence[float],
    strong: Collection[str],
    thinnest: int | None,
) -> set[int]:
    """Phrases whose tune nobody doubles: the `thinnest`, then of each dynamic the planned share, the thinnest ones first, never
    the peak, not two on end of one colour where there are others; what is less than a phrase of one dynamic counts for the next
    louder one. Where several are `asked` for they double it.

    From forte on only `strong` colours are left alone.
    """
    found: set[int] = set()

    def beside(k: int) -> bool:
        """The same colour is alone in the phrase before or after it."""
        return any(other in found and picks[other].lead == picks[k].lead for other in (k - 1, k + 1))

    due = 0.0
    for level, dynamic in enumerate(DYNAMICS):
        own = [
            k for k, p in enumerate(plan) if p.dynamic == dynamic and not p.peak and p.scheme != UNISON and not asked[k]
        ]
        if level >= SOFTEST_TUTTI:
            own = [k for k in own if picks[k].lead in strong]
        due += shares[level] * len(own)
        count = max(round(due), int(thinnest in own))
        due -= count
        for _ in range(count):
            free = [k for k in own if k not in found]
            found.add(
                min(free, key=lambda k: (k != thinnest, beside(k), picks[k].lead == "violins", plan[k].weight, k))
            )
    return found


def _tutti(phrase: PhrasePlan) -> bool:
    """Everybody plays, whatever the section keeps to: very loud phrases, and a loud peak."""
    level = DYNAMICS.index(phrase.dynamic)
    return level > SOFTEST_TUTTI or (level == SOFTEST_TUTTI and phrase.peak)


def _scheme(phrase: PhrasePlan, own: str, groups: Sequence[str], palette: Palette) -> str:
    """What a thin or full phrase is by its players: one family alone where there are others, a tutti of full chords, or, where
    loud music comes back that is none, one job a family; else ""."""
    seats = palette.seats
    if set(groups) == {"strings"} and own == "strings" and sum(seats.values()) > seats["strings"]:
        return ALONE[0]
    if "strings" not in groups and own != "strings" and seats["strings"]:
        return ALONE[1]
    if _tutti(phrase) and len(groups) > 2:
        return FULL
    table = palette.tables.rule("plan")["tutti"]
    loud = DYNAMICS.index(phrase.dynamic) >= SOFTEST_TUTTI and phrase.weight >= table["job_weight"]
    return JOBS if loud and phrase.restates is not None and own in table["job_leads"] and len(groups) > 2 else ""
