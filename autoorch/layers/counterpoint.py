"""A line composed against a tune by CP-SAT: a path through pitches from slot to slot, every step of which is allowed by the rules
and priced, with what holds for the line as a whole (one highest note, its span, movement under long notes) stated beside it.

Rules: J. J. Fux, Gradus ad Parnassum (1725): into a perfect consonance by contrary or oblique motion, suspensions prepared and
resolved down by step, other notes outside the chord passed through by step, a wide leap answered by a step back.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ortools.sat.python import cp_model

from autoorch.cpsat import solver_for

PERFECT = (0, 7)
SHARP = (1, 11)
SECONDS = (1, 2, 10, 11)
CONSONANT = (0, 3, 4, 7, 8, 9)
STEP = 2


@dataclass(frozen=True, slots=True)
class _State:
    """Where the line stands: its pitch, whether it is a suspension, and which way a wide leap has just gone (-1 down, 1 up)."""

    pitch: int
    suspended: bool = False
    leapt: int = 0


@dataclass(frozen=True, slots=True)
class _Move:
    """What may happen from one slot to the next."""

    before: _State
    after: _State
    attack: bool
    cost: int


@dataclass(frozen=True, slots=True)
class Slot:
    """The shortest time that a note of the line lasts.

    Attributes:
        beat, strong: it begins on a beat, on a strong one (or with a new chord); first: on the bar's first.
        chord: pitch classes of the chord, empty where there is none; scale: those of the key and the chord.
        tune: (lowest, highest) pitch of the tune inside it, None where it rests; at: the tune's pitch at its beginning;
            attack: the tune attacks there.
        still: it lies inside a long note of the tune.
        bass: pitch of the bass, None where there is none; bass_attack: it attacks there.
        tendency: pitch classes that only one part may have.
        tune_before, bass_before: their pitches right before it, None where they are those of the slot before.
    """

    beat: bool
    strong: bool
    first: bool
    chord: frozenset[int]
    scale: frozenset[int]
    tune: tuple[int, int] | None = None
    at: int | None = None
    attack: bool = False
    still: bool = False
    bass: int | None = None
    bass_attack: bool = False
    tendency: frozenset[int] = frozenset()
    tune_before: int | None = None
    bass_before: int | None = None

    def inside(self, pitch: int) -> bool:
        """The pitch belongs to the chord; without one, it is consonant with the tune."""
        if self.chord:
            return pitch % 12 in self.chord
        return self.at is None or abs(pitch - self.at) % 12 in CONSONANT


@dataclass(frozen=True, slots=True)
class Sung:
    """A note of the line: first slot, slots, sounding MIDI pitch."""

    start: int
    length: int
    pitch: int


def compose(
    slots: Sequence[Slot],
    long_notes: Sequence[tuple[int, int]],
    slots_a_beat: int,
    place: Mapping[str, Any],
    table: Mapping[str, Any],
) -> list[Sung]:
    """The best line found, [] where there is none.

    Args:
        slots: at least two.
        long_notes: (first slot, first slot behind it) of each long note of the tune.
        slots_a_beat: 1 or more.
        place: id, low and high of the line (sounding MIDI).
        table: constraints/counterline.toml.
    """
    fields = [_pitches(slot, place, table["line"]["apart"]) for slot in slots]
    model = _Line(slots, fields, place, table)
    if not model.complete:
        return []
    model.shape(table["line"]["span"], table["cost"]["early"])
    model.hold(max(2, round(table["line"]["hold_beats"] * slots_a_beat)))
    model.move(long_notes, table["line"]["moved"], table["cost"]["unmoved"])
    starts = model.solve(table["effort"])
    ends = [start for start, _ in starts[1:]] + [len(slots)]
    return [Sung(start, end - start, pitch) for (start, pitch), end in zip(starts, ends, strict=False)]


class _Line:
    """The model: one Boolean a move, a path from the first slot to the last."""

    def __init__(
        self,
        slots: Sequence[Slot],
        fields: Sequence[Sequence[int]],
        place: Mapping[str, Any],
        table: Mapping[str, Any],
    ) -> None:
        self.cp = cp_model.CpModel()
        self.costs: list[cp_model.LinearExprT] = []
        self.attacks: list[list[tuple[int, cp_model.IntVar]]] = [
            [] for _ in slots
        ]  # slot -> (pitch, move) that attack there
        self.complete = False
        first = [p for p in fields[0] if slots[0].inside(p) and not _sharp(slots[0], p)]
        into: dict[_State, list[cp_model.IntVar]] = {}
        for pitch in first:
            start = self.cp.new_bool_var("")
            into[_State(pitch)] = [start]
            self.attacks[0].append((pitch, start))
        for t in range(1, len(slots)):
            self.cp.add_exactly_one(v for moves in into.values() for v in moves)
            into = self._step(t, into, slots[t - 1], slots[t], set(fields[t]), place, table)
            if not into:
                return
        for state, moves in into.items():
            if state.suspended or not slots[-1].inside(state.pitch):
                self.cp.add_bool_and([~v for v in moves])
        self.complete = True

    def _step(
        self,
        t: int,
        into: Mapping[_State, Sequence[cp_model.IntVar]],
        before: Slot,
        slot: Slot,
        field: set[int],
        place: Mapping[str, Any],
        table: Mapping[str, Any],
    ) -> dict[_State, list[cp_model.IntVar]]:
        """The moves of slot t: what comes into a state goes out of it."""
        found: dict[_State, list[cp_model.IntVar]] = defaultdict(list)
        for state, arriving in into.items():
            leaving = []
            for move in _moves(state, before, slot, field, place, table):
                taken = self.cp.new_bool_var("")
                leaving.append(taken)
                found[move.after].append(taken)
                if move.attack:
                    self.attacks[t].append((move.after.pitch, taken))
                if move.cost:
                    self.costs.append(move.cost * taken)
            self.cp.add(sum(arriving) == sum(leaving))
        return found

    def shape(self, span: Sequence[int], early: int) -> None:
        """One highest note, `early` where it lies in the first quarter, and so far from it to the lowest."""
        soon: dict[int, list[cp_model.IntVar]] = defaultdict(list)
        for row in self.attacks[: -(-len(self.attacks) // 4)]:
            for pitch, move in row:
                soon[pitch].append(move)
        sinking = self.cp.new_bool_var("")
        self.costs.append(early * sinking)
        by_pitch: dict[int, list[cp_model.IntVar]] = defaultdict(list)
        for row in self.attacks:
            for pitch, move in row:
                by_pitch[pitch].append(move)
        tops = []
        for top in sorted(by_pitch):
            is_top = self.cp.new_bool_var("")
            tops.append(is_top)
            for move in soon[top]:
                self.cp.add_bool_or([~is_top, ~move, sinking])
            self.cp.add_exactly_one(by_pitch[top]).only_enforce_if(is_top)
            beyond = [m for p, moves in by_pitch.items() if p > top or p < top - span[1] for m in moves]
            self.cp.add_bool_and([~m for m in beyond]).only_enforce_if(is_top)
            self.cp.add_bool_or([*(m for p, moves in by_pitch.items() if p <= top - span[0] for m in moves), ~is_top])
        self.cp.add_exactly_one(tops)

    def hold(self, most: int) -> None:
        """No note longer than `most` slots."""
        for t in range(len(self.attacks) - most):
            self.cp.add_bool_or([move for row in self.attacks[t + 1 : t + most + 1] for _, move in row])

    def move(self, long_notes: Sequence[tuple[int, int]], share: float, weight: int) -> None:
        """A new note under so large a share of the tune's long notes at least, a cost for each of the others."""
        moved = []
        for start, end in long_notes:
            under = self.cp.new_bool_var("")
            self.cp.add_bool_or([*(move for row in self.attacks[start + 1 : end] for _, move in row), ~under])
            moved.append(under)
        self.cp.add(100 * sum(moved) >= round(100 * share) * len(moved))
        self.costs += [weight * (1 - under) for under in moved]

    def solve(self, effort: Mapping[str, float]) -> list[tuple[int, int]]:
        """(slot, pitch) of each attack; [] where no line is found."""
        self.cp.minimize(sum(self.costs))
        solver = solver_for(effort["seconds"], effort["gap"])
        if solver.solve(self.cp) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return []
        return [(t, p) for t, row in enumerate(self.attacks) for p, move in row if solver.boolean_value(move)]


def _pitches(slot: Slot, place: Mapping[str, Any], apart: int) -> list[int]:
    """What may sound in a slot at all: of the scale, in the place, never touching or crossing the tune."""
    low, high = place["low"], place["high"]
    if slot.tune is not None and place["id"] == "below":
        high = min(high, slot.tune[0] - apart)
    elif slot.tune is not None:
        low = max(low, slot.tune[1] + apart)
    return [p for p in range(low, high + 1) if p % 12 in slot.scale]


def _sharp(slot: Slot, pitch: int) -> bool:
    return slot.at is not None and abs(pitch - slot.at) % 12 in SHARP


def _moves(
    state: _State, before: Slot, slot: Slot, field: set[int], place: Mapping[str, Any], table: Mapping[str, Any]
) -> Iterator[_Move]:
    """All that may happen from a state in one slot to the next slot, with its cost."""
    cost, line = table["cost"], table["line"]
    p, settled = state.pitch, before.inside(state.pitch)
    if p in field and (settled or not slot.beat):
        late = not slot.inside(p) and (settled or state.suspended)
        idle = cost["idle"] if slot.still and slot.beat else 0
        yield _Move(state, _State(p, late, state.leapt), False, idle)
    widest = max(line["leaps"]) if slot.beat and before.beat else line["quick_leap"]
    for q in range(p - max(line["leaps"]), p + max(line["leaps"]) + 1):
        step, inside = abs(q - p), slot.inside(q)
        stepwise = 0 < step <= STEP
        if q not in field or (step > STEP and (step not in line["leaps"] or step > widest)):
            continue
        if not stepwise and (not settled or not inside or state.leapt):
            continue
        if (not inside and slot.strong) or (state.suspended and not (q < p and inside)):
            continue
        motion = (q > p) - (q < p)
        if motion * state.leapt > 0 or not _allowed(before, slot, p, q):
            continue
        price = _price(slot, p, q, state.suspended, inside, place, table)
        yield _Move(state, _State(q, leapt=motion if step > line["wide_leap"] else 0), True, price)


def _allowed(before: Slot, slot: Slot, p: int, q: int) -> bool:
    """Motion against tune and bass: no sharp clash on a beat, perfect consonances by contrary or oblique motion only, no
    second leading note, no parallels with the bass."""
    if slot.beat and _sharp(slot, q):
        return False
    tune = before.at if slot.tune_before is None else slot.tune_before
    bass = before.bass if slot.bass_before is None else slot.bass_before
    if slot.at is not None:
        apart = abs(q - slot.at) % 12
        if apart == 0 and q % 12 in slot.tendency:
            return False
        if slot.attack and tune is not None and apart in PERFECT and (q - p) * (slot.at - tune) > 0:
            return False
    if slot.bass_attack and slot.bass is not None and bass is not None and slot.bass != bass:
        first, second = (p - bass) % 12, (q - slot.bass) % 12
        if first == second and second in PERFECT and (q - p) * (slot.bass - bass) > 0:
            return False
    return True


def _price(
    slot: Slot, p: int, q: int, held: bool, inside: bool, place: Mapping[str, Any], table: Mapping[str, Any]
) -> int:
    cost, step = table["cost"], abs(q - p)
    wider = max(0, step - table["line"]["wide_leap"])
    total = cost["suspension"] if held else 0
    total += cost["together"] if slot.attack and not slot.first else 0
    total += cost["short"] if not slot.beat else 0
    total += cost["same"] if step == 0 else 0
    total += cost["leap"] + wider * (cost["leap"] // 2) if step > STEP else 0
    total += 0 if inside else cost["dissonance"]
    if slot.at is not None:
        apart = abs(q - slot.at) % 12
        total += cost["perfect"] if slot.strong and apart in PERFECT else 0
        total += cost["second"] if apart in SECONDS else 0
    total += cost["edge"] * (abs(q - (place["low"] + place["high"]) // 2) // 3)
    return int(total)
