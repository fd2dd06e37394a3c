"""Which colour leads each phrase, what lies under it and who has the bass: one small CP-SAT model of the whole cue.

Form is heard as colour: a section keeps its scoring, a restatement brings another family or another ground, no colour leads
much more than it does with the masters, and heavy colours are saved for the peak. Costs stand in constraints/plan.toml.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from ortools.sat.python import cp_model

from autoorch.cpsat import solver_for
from autoorch.instruments import DYNAMICS, Instrument
from autoorch.layers.choice import Choice, Need, Pick
from autoorch.lineup import Lineup
from autoorch.tables import Tables

GROUPS = ("woodwind", "horns", "brass", "strings")


def group_of(instrument: Instrument) -> str:
    """The group an instrument rests and plays with: horns by themselves, else its family."""
    return "horns" if instrument.id == "horn" else instrument.family


@dataclass(frozen=True)
class Palette:
    """The rows of constraints/plan.toml that a line-up has players for.

    Attributes:
        few: so few players that all of them play most of the time: the ground is everybody, the bass the lowest one's unless
            he leads; next_low: how low the next one comes, sounding MIDI pitch.
        seats: group -> players in it.
        held: instrument id -> players who have it, as their own or to change to.
    """

    tables: Tables
    colours: tuple[Mapping[str, Any], ...]
    grounds: tuple[Mapping[str, Any], ...]
    basses: tuple[Mapping[str, Any], ...]
    seats: Mapping[str, int]
    held: Mapping[str, int]
    few: bool = False
    next_low: int = 0

    @staticmethod
    def of(lineup: Lineup, tables: Tables, *, drums: bool = True) -> Palette:
        """Colours with a player; grounds with at least two players, told apart by whom they have; basses with everybody, timpani
        only where `drums` are given strokes at all."""
        table = tables.rule("plan")
        counted = [player.instrument for player in lineup.players if group_of(player.instrument) in GROUPS]
        seats = dict.fromkeys(GROUPS, 0)
        held: dict[str, int] = {}
        for player in lineup.players:
            group = group_of(player.instrument)
            if group in seats:
                seats[group] += 1
            for instrument in (player.instrument, *player.doubles):
                held[instrument.id] = held.get(instrument.id, 0) + 1
        colours = tuple(row for row in table["colour"] if any(name in held for name in row["instruments"]))
        if 0 < len(counted) <= table["small"]:
            everybody = max(table["ground"], key=lambda row: len(row["groups"]))
            lowest, *others = sorted(counted, key=lambda instrument: instrument.normal)
            next_low = min((instrument.extreme[0] for instrument in others), default=0)
            bass = {"id": "lowest", "players": [lowest.id], "groups": [], "dear": [0] * len(DYNAMICS)}
            return Palette(tables, colours, (everybody,), (bass,), seats, held, True, next_low)
        grounds: dict[tuple[str, ...], Mapping[str, Any]] = {}
        for row in table["ground"]:
            present = tuple(group for group in row["groups"] if seats[group])
            if sum(seats[group] for group in present) > 1:
                grounds.setdefault(present, row)
        able = {name for name in held if drums or tables.instruments[name].kind != "timpani"}
        basses = tuple(row for row in table["bass"] if able.issuperset(row["players"]))
        return Palette(tables, colours, tuple(grounds.values()), basses, seats, held)

    def instrument(self, colour: Mapping[str, Any]) -> Instrument:
        """The first instrument of a colour that the line-up has."""
        return self.tables.instruments[next(name for name in colour["instruments"] if name in self.held)]

    def apart(self, bass: Mapping[str, Any]) -> set[str]:
        """Families of those of a bass who are in no group: harp, drums."""
        players = (self.tables.instruments[name] for name in bass["players"])
        return {group_of(player) for player in players} - set(GROUPS)

    def capacity(self, colour: Mapping[str, Any], ground: Mapping[str, Any]) -> int:
        """Players of the ground's groups and of the leading colour's."""
        groups = {*ground["groups"], group_of(self.instrument(colour))}
        return sum(self.seats[group] for group in groups if group in self.seats)


def fit(instrument: Instrument, tune: Sequence[tuple[int, int]], dynamic: str, palette: Palette) -> int:
    """Tenths a bar that a tune, (sounding MIDI pitch, ticks), costs on an instrument, in the octave that suits it best."""
    total = sum(ticks for _, ticks in tune)
    if not total:
        return 0
    weights = palette.tables.rule("plan")["choice"]
    level = DYNAMICS.index(dynamic)
    low, high = palette.tables.rule("registers")["staff"].get(instrument.id, (0, 127))
    best: int | None = None
    for octave in (0, -1, 1):
        cost = 0.0
        for pitch, ticks in tune:
            midi = pitch + 12 * octave
            band = instrument.register(midi)
            paid = 0 if instrument.normal[0] <= midi <= instrument.normal[1] else weights["outside"]
            if band is not None:
                paid += weights["weak"] * max(0, -band.strength) * (instrument.kind != "bowed")
                beyond = max(0, DYNAMICS.index(band.softest) - level) + max(0, level - DYNAMICS.index(band.loudest))
                paid += weights["level"] * beyond
            paid += weights["staff"] * (midi < low) + weights["above"] * (midi > high)
            cost += paid * ticks
        top = instrument.register(max(pitch for pitch, _ in tune) + 12 * octave)
        forced = max(0, DYNAMICS.index(top.softest) - level) if top is not None else 0
        value: int = round(cost / total) + weights["crest"] * forced + weights["octave"][level] * abs(octave)
        best = value if best is None else min(best, value)
    assert best is not None
    return best


def bass_fit(row: Mapping[str, Any], need: Need, palette: Palette) -> int:
    """Tenths a bar that a phrase's bass costs those of a row: one of them should have it where it stands; some rows are for some
    kinds of bass, for few different notes, or suit a character."""
    weights = palette.tables.rule("plan")["choice"]
    cost: int = weights["character"] * (need.character in row.get("character", ()))
    degrees = {pitch % 12 for pitch, _ in need.bass}
    if need.attack not in row.get("attack", (need.attack,)) or len(degrees) > row.get("degrees", len(degrees)):
        cost += weights["attack"]
    if total := sum(ticks for _, ticks in need.bass):
        spans = [palette.tables.instruments[name].normal for name in row["players"]]
        outside = (sum(t for p, t in need.bass if not low <= p <= high) for low, high in spans)
        cost += round(weights["outside"] * min(outside) / total)
    return cost


def choose(needs: Sequence[Need], palette: Palette) -> tuple[Choice, ...]:
    """The cheapest scoring of all phrases, and the cheapest that has another leading colour at the peak, where there is one; ()
    where the line-up has no colour, ground or bass to choose."""
    if not (needs and palette.colours and palette.grounds and palette.basses):
        return ()
    model = _Model(needs, palette)
    model.unary()
    model.sections()
    model.answers()
    model.restatements()
    model.relief()
    model.shares()
    model.alone()
    first = model.solve()
    peak = next((p for p, need in enumerate(needs) if need.peak), None)
    other = model.solve(peak, first.picks[peak].lead) if first is not None and peak is not None else None
    return tuple(sorted((choice for choice in (first, other) if choice is not None), key=lambda choice: choice.cost))


class _Model:
    """The model: one colour a phrase; one ground with its bass a section, or a part of it that asks or answers.

    Attributes:
        unders: (ground, bass) that go together.
        unit: for each phrase the number of the stretch that keeps one ground.
        costs: (reason, linear expression in tenths).
        answer: phrase that could answer -> a Boolean: another family leads it than the phrase before.
    """

    def __init__(self, needs: Sequence[Need], palette: Palette) -> None:
        self.needs, self.palette = needs, palette
        self.weights = palette.tables.rule("plan")["choice"]
        self.cp = cp_model.CpModel()
        self.costs: list[tuple[str, Any]] = []
        self.group = [group_of(palette.instrument(row)) for row in palette.colours]
        self.family = ["strings" if group == "strings" else "winds" for group in self.group]
        if palette.few:
            self.family = [row["id"] for row in palette.colours]
        pairs = [(ground, bass) for ground in palette.grounds for bass in palette.basses]
        fitting = [(ground, bass) for ground, bass in pairs if set(bass["groups"]) <= set(ground["groups"])]
        self.unders = fitting or pairs
        self.unit = [0] * len(needs)
        for p in range(1, len(needs)):
            fresh = needs[p].section != needs[p - 1].section or needs[p].answers or needs[p - 1].answers
            self.unit[p] = self.unit[p - 1] + fresh
        self.lead = self._one_of(range(len(needs)), len(palette.colours))
        self.under = self._one_of(sorted({*self.unit}), len(self.unders))
        self.answer = {p: self.cp.new_bool_var("") for p, need in enumerate(needs) if need.answers}

    def _one_of(self, places: Iterable[int], count: int) -> dict[int, list[Any]]:
        """For each place as many Booleans, exactly one of them true."""
        found = {}
        for place in places:
            found[place] = [self.cp.new_bool_var("") for _ in range(count)]
            self.cp.add_exactly_one(found[place])
        return found

    def _both(self, *literals: Any) -> Any:
        """A Boolean that is true where all literals are."""
        both = self.cp.new_bool_var("")
        self.cp.add(sum(literals) - both <= len(literals) - 1)
        return both

    def _same(self, rows: Mapping[int, list[Any]], p: int, q: int, key: Callable[[int], object]) -> Any:
        """A Boolean that is true where both places have alternatives of one kind."""
        same = self.cp.new_bool_var("")
        kinds: dict[object, list[int]] = {}
        for k in range(len(rows[p])):
            kinds.setdefault(key(k), []).append(k)
        for members in kinds.values():
            self.cp.add(sum(rows[p][k] for k in members) + sum(rows[q][k] for k in members) - same <= 1)
        return same

    def unary(self) -> None:
        """Range, register, character and wishes of each lead; dynamics and capacity of what lies under it."""
        palette, weights, many = self.palette, self.weights, not self.palette.few
        first = max(palette.colours, key=lambda row: row["share"])
        for p, need in enumerate(self.needs):
            column = DYNAMICS.index(need.dynamic)
            own_place = palette.few and (p == 0 or need.peak)
            for c, row in enumerate(palette.colours):
                own = {
                    "its register suits the tune less": fit(palette.instrument(row), need.tune, need.dynamic, palette),
                    "it is less nimble": self._quick(palette.instrument(row), need),
                    "somebody asked otherwise": need.lean.get(("colour", row["id"]), 0),
                    "opening and peak are the first voice's": weights["first"] * (own_place and row is not first),
                    "it suits the character less": weights["character"] * (need.character in row["character"]),
                    "it is easily covered": weights["covered"][column]
                    * (row["id"] in weights["coverable"] or (many and self.group[c] == "woodwind")),
                    "brass is saved": many * weights["saved"] * (need.before_peak and self.group[c] == "brass"),
                }
                self.costs += [(reason, cost * need.bars * self.lead[p][c]) for reason, cost in own.items() if cost]
            column = max(0, column - weights["thinner"] * need.thin)
            for u, (ground, bass) in enumerate(self.unders):
                missing = need.wanted - 1 - sum(palette.seats[group] for group in ground["groups"])
                cost = ground["dear"][column] + bass["dear"][column] + weights["short"] * max(0, missing)
                cost += bass_fit(bass, need, palette)
                foreign = bass["groups"] and "strings" in ground["groups"] and "strings" not in bass["groups"]
                cost += weights["foreign_bass"] * bool(foreign)
                cost += weights["peak"] * (need.peak and not {"strings", "woodwind"} <= set(ground["groups"]))
                cost += need.lean.get(("ground", ground["id"]), 0) + need.lean.get(("bass", bass["id"]), 0)
                self.costs.append(("what lies under it suits less", cost * need.bars * self.under[self.unit[p]][u]))
            for c, row in enumerate(palette.colours):
                low = [u for u, (_, bass) in enumerate(self.unders) if set(row["instruments"]) & set(bass["players"])]
                if low and (palette.instrument(row).kind == "bowed" or self._single(row)):
                    two = self.cp.new_bool_var("")
                    self.cp.add(self.lead[p][c] + sum(self.under[self.unit[p]][u] for u in low) <= 1 + two)
                    deep = weights["deep"] * (palette.few and need.low < palette.next_low)
                    self.costs.append(("who has the bass has the tune", (weights["clash"] + deep) * need.bars * two))

    def _quick(self, instrument: Instrument, need: Need) -> int:
        """Tenths a bar for a tune that is faster than moves easily on an instrument, or faster than anything moves there."""
        easy, most = instrument.fluency.moving_per_s
        cost: int = min(self.weights["outside"], round(self.weights["quick"] * max(0.0, need.speed - easy)))
        cost += round(self.weights["impossible"] * max(0.0, need.speed / most - 1))
        return cost

    def _single(self, row: Mapping[str, Any]) -> bool:
        """One player has the colour."""
        return sum(self.palette.held.get(name, 0) for name in row["instruments"]) == 1

    def sections(self) -> None:
        """One scoring inside a section but where a phrase answers, another one after it."""
        weights = self.weights
        for p, (need, after) in enumerate(pairwise(self.needs)):
            free = [self.answer[q] for q in (p, p + 1) if q in self.answer]
            if need.section == after.section:
                for c in range(len(self.palette.colours)):
                    change = self.cp.new_bool_var("")
                    self.cp.add(self.lead[p][c] - self.lead[p + 1][c] <= change + sum(free))
                    self.costs.append(("colours change inside sections", weights["colour"] * change))
                change = self.cp.new_bool_var("")
                for before, then in zip(self.under[self.unit[p]], self.under[self.unit[p + 1]], strict=True):
                    if before is not then:
                        self.cp.add(before - then <= change + sum(free))
                self.costs.append(("grounds change inside sections", weights["ground"] * change))
            else:
                under = self._same(self.under, self.unit[p], self.unit[p + 1], self._ground)
                same = self._same(self.lead, p, p + 1, lambda k: k)
                self.costs.append(("sections on end sound alike", weights["again"] * same))
                self.costs.append(("sections on end sound alike", weights["ground_again"] * under))

    def answers(self) -> None:
        """Strings ask and winds answer, or the other way round."""
        for p, answer in self.answer.items():
            for family in dict.fromkeys(self.family):
                own = [c for c, name in enumerate(self.family) if name == family]
                led = sum(self.lead[q][c] for q in (p - 1, p) for c in own)
                self.cp.add(led + answer <= 2)
            self.costs.append(("fewer phrases are answered", self.weights["unanswered"] * (1 - answer)))

    def _ground(self, under: int) -> object:
        return self.unders[under][0]["id"]

    def restatements(self) -> None:
        """Material that comes back has another family or another ground, and another bass."""
        many = not self.palette.few
        for p, need in enumerate(self.needs):
            if need.restates is None:
                continue
            q = need.restates
            same = self._same(self.lead, p, q, lambda k: self.family[k])
            if self.unit[p] != self.unit[q]:
                under = self._same(self.under, self.unit[p], self.unit[q], self._ground)
                same = self._both(same, under)
                bass = self._same(self.under, self.unit[p], self.unit[q], lambda k: self.unders[k][1]["id"])
                self.costs.append(("what comes back contrasts less", many * self.weights["same_bass"] * bass))
            colour = self._same(self.lead, p, q, lambda k: k)
            self.costs.append(("what comes back contrasts less", self.weights["same"] * same))
            self.costs.append(("what comes back contrasts less", self.weights["same_colour"] * colour))

    def relief(self) -> None:
        """Winds who lead for long without another colour's phrase."""
        bars = [need.bars for need in self.needs]
        winds = [c for c, row in enumerate(self.palette.colours) if self.palette.instrument(row).kind == "wind"]
        for p in range(len(bars)):
            ends = (q for q in range(p + 2, len(bars) + 1) if sum(bars[p:q]) > self.weights["long_bars"])
            if (end := next(ends, None)) is None:
                break
            for c in winds:
                whole = self._both(*(self.lead[q][c] for q in range(p, end)))
                self.costs.append(("winds lead for long", self.weights["long"] * whole))

    def shares(self) -> None:
        """Bars that a colour leads beyond its share; where all shares leave some bars to nobody they grow in proportion."""
        total = sum(need.bars for need in self.needs)
        whole = min(1.0, sum(row["share"] for row in self.palette.colours))
        for c, row in enumerate(self.palette.colours):
            led = sum(need.bars * self.lead[p][c] for p, need in enumerate(self.needs))
            beyond = self.cp.new_int_var(0, total, "")
            self.cp.add(led - round(row["share"] / whole * total) - 1 <= beyond)
            self.costs.append(("a colour leads beyond its share", self.weights["beyond"] * beyond))

    def alone(self) -> None:
        """In a cue of some length the strings are once by themselves, and the winds, where there are enough for both."""
        if len(self.needs) < self.weights["many"] or self.palette.few:
            return
        for family, groups in (("strings", {"strings"}), ("winds", {"woodwind", "horns", "brass"})):
            leads = [c for c, name in enumerate(self.family) if name == family]
            unders = [
                u
                for u, (ground, bass) in enumerate(self.unders)
                if set(ground["groups"]) | self.palette.apart(bass) <= groups
            ]
            if not (leads and unders):
                continue
            found = []
            for p in range(len(self.needs)):
                both = self.cp.new_bool_var("")
                self.cp.add(both <= sum(self.lead[p][c] for c in leads))
                self.cp.add(both <= sum(self.under[self.unit[p]][u] for u in unders))
                found.append(both)
            never = self.cp.new_bool_var("")
            self.cp.add(sum(found) + never >= 1)
            self.costs.append(("a family is never alone", self.weights["alone"] * never))

    def solve(self, place: int | None = None, other_than: str = "") -> Choice | None:
        """The cheapest choice, the same for the same needs; None where there is none.

        Args:
            place, other_than: a phrase, and a colour that is not to lead it, from now on.
        """
        if place is not None:
            for c, row in enumerate(self.palette.colours):
                if row["id"] == other_than:
                    self.cp.add(self.lead[place][c] == 0)
        self.cp.minimize(sum(cost for _, cost in self.costs))
        solver = solver_for(self.weights["seconds"], self.weights["gap"])
        status = solver.solve(self.cp)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None

        def taken(row: Sequence[Any]) -> int:
            return next(k for k, variable in enumerate(row) if solver.boolean_value(variable))

        picks = []
        for p in range(len(self.needs)):
            ground, bass = self.unders[taken(self.under[self.unit[p]])]
            picks.append(Pick(self.palette.colours[taken(self.lead[p])]["id"], ground["id"], bass["id"]))
        paid: Counter[str] = Counter()
        for reason, cost in self.costs:
            paid[reason] += solver.value(cost)
        return Choice(tuple(picks), paid)
