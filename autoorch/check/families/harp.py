"""Hands and feet: fingers and spans of harp and keyboards, and the harp's pedals as a search over their settings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice, product
from typing import Any

from autoorch.check.find import Fault, state
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding
from autoorch.pitch import NATURAL, STEPS

LETTERS = "DCBEFGA"
NEVER = float("-inf")
"""When a string that has not sounded yet was struck."""


def hands(score: Score, limits: Limits) -> Iterator[Finding]:
    """Harp: four fingers a hand and a tenth; keyboards: five fingers. Rolled chords may be wider."""
    for part in score.parts:
        if part.instrument is None or part.instrument.family not in ("harp", "keyboard"):
            continue
        rule = "harp hands" if part.instrument.family == "harp" else "hands"
        table = limits.of("harp" if rule == "harp hands" else "keys")
        if part.instrument.id == "organ":
            continue  # the feet have notes of their own
        faults = [fault for group in part.onsets if (fault := _grip(part, group, table)) is not None]
        yield from state(score, rule, table["source"], faults)


def _grip(part: Part, group: Sequence[Note], table: Mapping[str, Any]) -> Fault | None:
    pitches = sorted({note.pitch for note in group})
    fingers, span = int(table["fingers"]), table["span_absurd"] if any(n.rolled for n in group) else table["span"]
    names = " ".join(n.name for n in sorted({n.pitch: n for n in group}.values(), key=lambda n: n.pitch))
    if len(pitches) > 2 * fingers:
        message = f"{len(pitches)} notes at once: {names}"
        return Fault(part, group[0].start, "unplayable", str(len(pitches)), str(2 * fingers), message, len(pitches))
    widths = [
        max(_width(pitches[:cut]), _width(pitches[cut:]))
        for cut in range(len(pitches) + 1)
        if cut <= fingers and len(pitches) - cut <= fingers
    ]
    widest = min(widths)
    written = max(len({n.pitch for n in group if n.staff == staff}) for staff in {n.staff for n in group})
    if written > fingers and (widest > span or len({note.staff for note in group}) > 1):
        message = f"{written} notes for one hand: {names}"
        severity = "risky" if widest <= span else "unplayable"
        return Fault(part, group[0].start, severity, str(written), str(fingers), message, written)
    if widest > span:
        severity = "unplayable" if widest > table["span_absurd"] and not any(n.rolled for n in group) else "risky"
        message = f"{names} spread a hand over {widest} semitones"
        return Fault(part, group[0].start, severity, str(widest), f"{span:g}", message, widest)
    return None


def _width(pitches: Sequence[int]) -> int:
    return pitches[-1] - pitches[0] if pitches else 0


@dataclass(frozen=True, slots=True)
class _Feet:
    """One way the pedals can stand: setting of each letter (None: free until first used), when each letter was last
    struck, until when each foot is busy, and what it cost so far (impossible notes, hurried moves, moves)."""

    setting: tuple[int | None, ...]
    struck: tuple[float, ...]
    busy: tuple[tuple[float, ...], tuple[float, ...]]
    cost: tuple[int, int, int]
    faults: tuple[tuple[int, str], ...] = ()


def pedals(score: Score, limits: Limits) -> Iterator[Finding]:
    """A beam search over spellings and pedal moves; what even the best way can't do in time is reported.

    Every pitch may be respelled on another string (C# as Db). A foot moves one pedal at a time, between the last
    stroke of a string in its old setting and the first in its new one.
    """
    table = limits.of("harp")
    for part in score.parts:
        if part.instrument is None or part.instrument.id != "harp" or not part.notes:
            continue
        best = _search(part, table)
        faults = []
        for tick, kind in best.faults:
            if kind == "clash":
                message = "these notes can't be set on the seven pedals at once, however they are spelled"
                faults.append(Fault(part, tick, "unplayable", "clash", "7 pedals", message, 3))
            elif kind.startswith("!"):
                message = f"no time to move the pedals for {kind[1:]}"
                faults.append(Fault(part, tick, "unplayable", kind[1:], f"{table['pedal_absurd']:g} s", message, 2))
            else:
                message = f"hurried pedals for {kind}"
                faults.append(Fault(part, tick, "risky", kind, f"{table['pedal']:g} s a pedal and foot", message, 1))
        yield from state(score, "harp pedals", table["source"], faults)


def _search(part: Part, table: Mapping[str, Any]) -> _Feet:
    beam = [_Feet((None,) * 7, (NEVER,) * 7, ((), ()), (0, 0, 0))]
    for group in part.onsets:
        reached: dict[tuple[Any, ...], _Feet] = {}
        for spelled in _spellings(group, int(table["spellings"])):
            for feet in beam:
                new = _step(feet, spelled, group, table)
                key = (new.setting, new.struck, new.busy)
                if key not in reached or new.cost < reached[key].cost:
                    reached[key] = new
        beam = sorted(reached.values(), key=lambda f: (f.cost, str(f.setting)))[: table["beam"]]
    return min(beam, key=lambda f: (f.cost, str(f.setting)))


def _spellings(group: Sequence[Note], most: int) -> list[dict[int, set[int]]]:
    """Ways to set a moment's pitches: letter (index into LETTERS) -> settings asked of it; as written first, `most` at most."""
    choices: list[list[tuple[int, int]]] = []
    for pitch, note in sorted({n.pitch: n for n in group if n.pitch >= 0}.items()):
        options = []
        for letter in STEPS:
            alter = (pitch - NATURAL[STEPS.index(letter)] + 6) % 12 - 6
            if abs(alter) <= 1:
                options.append((LETTERS.index(letter), alter))
        options.sort(key=lambda option: (LETTERS[option[0]] != note.letter, option))
        choices.append(options)
    found: list[dict[int, set[int]]] = []
    for combination in islice(product(*choices), most):
        asked: dict[int, set[int]] = {}
        for place, alter in combination:
            asked.setdefault(place, set()).add(alter)
        if asked not in found:
            found.append(asked)
    possible = [asked for asked in found if all(len(settings) == 1 for settings in asked.values())]
    return possible or found[:1]


def _step(feet: _Feet, asked: dict[int, set[int]], group: Sequence[Note], table: Mapping[str, Any]) -> _Feet:
    now, tick = group[0].at, group[0].start
    setting, struck = list(feet.setting), list(feet.struck)
    busy = [list(feet.busy[0]), list(feet.busy[1])]
    impossible, hurried, moves = feet.cost
    faults = list(feet.faults)
    for letter, settings in sorted(asked.items(), key=lambda item: feet.struck[item[0]]):
        target = min(settings)
        if len(settings) > 1:
            impossible += 1
            faults.append((tick, "clash"))
        if setting[letter] is not None and setting[letter] != target:
            moves += 1
            foot = busy[0 if LETTERS[letter] in table["left"] else 1]
            name = LETTERS[letter] + {-1: "b", 0: " natural", 1: "#"}[target]
            earliest = struck[letter] + table["ring"]
            begin = _slot(foot, earliest, now, table["pedal"])
            if begin is None:
                if (
                    now - struck[letter] < table["pedal_absurd"]
                    or _slot(foot, earliest, now, table["pedal_absurd"]) is None
                ):
                    impossible += 1
                    faults.append((tick, "!" + name))
                else:
                    hurried += 1
                    faults.append((tick, name))
                foot.append(now - table["pedal_absurd"])
            else:
                foot.append(begin)
        setting[letter] = target
        struck[letter] = now
    kept = tuple(tuple(sorted(begin for begin in foot if begin > now - table["memory"])) for foot in busy)
    return _Feet(
        tuple(setting), tuple(struck), (kept[0], kept[1]), (impossible, hurried, moves), tuple(faults)
    )  # fmt: skip


def _slot(foot: Sequence[float], earliest: float, latest: float, seconds: float) -> float | None:
    """The first moment from `earliest` at which the foot is free for so long before `latest`."""
    begin = earliest
    for taken in sorted(foot):
        if taken >= begin + seconds - 1e-9:
            break
        if taken + seconds > begin:
            begin = taken + seconds
    return begin if begin + seconds <= latest + 1e-9 else None


RULES = (hands, pedals)
