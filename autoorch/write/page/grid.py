"""A draft as the data of a grid: players in score order down, bars across, in each cell who plays what and why.

All numbers are indices into the lists of the same object; bars count from 0, `number` is what is printed.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from typing import Any

from autoorch.brief import LAYERS
from autoorch.layers.model import Material
from autoorch.lineup import Lineup, Player
from autoorch.plain import plain
from autoorch.problem.draft import Choice, Draft
from autoorch.roles.model import Reading
from autoorch.score.model import Part, Score
from autoorch.sketch.bars import mainly
from autoorch.sketch.model import Sketch
from autoorch.solver.why import Reason
from autoorch.write.page.words import choice_words, reason_words

STEPS = ("plan", "assigned", *LAYERS[1:])
"""The layers in the order in which they are shown: the plan, the sketch's own strands, what is added."""
ABOUT = {
    "plan": "how much of the orchestra each phrase wants",
    "assigned": "the sketch's own strands, given to players",
}


def grid_data(
    name: str,
    sketch: Sketch,
    reading: Reading,
    lineup: Lineup,
    material: Material,
    draft: Draft,
    score: Score,
    reasons: Sequence[Reason] = (),
    balance: Sequence[Mapping[str, Any] | None] = (),
) -> dict[str, Any]:
    """Everything that grid.js needs, ready for JSON.

    Args:
        name: what the draft is called where several stand on one page.
        reasons: of the draft's choices, in any order; () where they are not wanted.
        balance: of each bar, as `balance` in write/page/balance.py tells it; () where it is not wanted.
    """
    onsets = [bar.onset for bar in sketch.bars]
    player_index = {player.name: k for k, player in enumerate(lineup.players)}
    why: dict[Choice, list[Reason]] = {}
    for reason in reasons:
        why.setdefault(reason.choice, []).append(reason)
    choices = [
        _choice(choice, sketch, material, player_index[choice.player], onsets, why.get(choice, []))
        for choice in draft.choices
    ]
    used = {choice["layer"] for choice in choices}
    return {
        "name": name,
        "bars": _bars(sketch, score),
        "phrases": _phrases(sketch, reading, material, draft.choices, player_index),
        "players": [
            {
                "name": p.name,
                "short": next((part.short for part in score.parts if part.player.name == p.name), p.name),
                "parts": [part.name for part in score.parts if _owns(p, part)],
                "family": p.instrument.family,
                "group": p.group,
            }
            for p in lineup.players
        ],
        "choices": choices,
        "strands": {
            strand.id: {"role": strand.role, "layer": strand.layer, "texture": strand.texture, "reason": strand.reason}
            for strand in material.strands
        },
        "layers": [{"name": step, "about": ABOUT.get(step, "")} for step in STEPS if step == "plan" or step in used],
        "dynamics": _dynamics(lineup, score),
        "balance": [dict(bar) if bar else None for bar in balance],
    }


def bars_between(onsets: Sequence[int], start: int, end: int) -> tuple[int, int]:
    """First and last index of the bars that hold [start, end)."""
    first = max(0, bisect_right(onsets, start) - 1)
    return first, max(first, bisect_left(onsets, end) - 1)


def _choice(
    choice: Choice, sketch: Sketch, material: Material, player: int, onsets: Sequence[int], why: Sequence[Reason]
) -> dict[str, Any]:
    strand = material.strand[choice.strand]
    bars: set[int] = set()
    pitches: list[int] = []
    count = 0
    for line in choice.lines:
        for note in material.line[line].notes:
            if choice.start <= note.onset < choice.end:
                count += 1
                pitches.append(note.pitch.midi + 12 * choice.octave)
                first, last = bars_between(onsets, note.onset, max(note.end, note.onset + 1))
                bars.update(range(first, last + 1))
    return {
        "player": player,
        "strand": choice.strand,
        "role": strand.role,
        "layer": strand.layer,
        "octave": choice.octave,
        "bars": sorted(bar for bar in bars if bar < len(sketch.bars)),
        "notes": count,
        "words": choice_words(choice, strand, count, pitches),
        "why": [line for reason in why for line in reason_words(reason)],
    }


def _bars(sketch: Sketch, score: Score) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for bar, measure in zip(sketch.bars, score.parts[0].measures, strict=True):
        before = sketch.bars[bar.index - 1] if bar.index else None
        found.append(
            {
                "number": bar.number,
                "letter": next((d.value for d in measure.directions if d.kind == "rehearsal"), ""),
                "metre": "" if before and before.metre == bar.metre else f"{bar.metre[0]}/{bar.metre[1]}",
            }
        )
    return found


def _phrases(
    sketch: Sketch, reading: Reading, material: Material, choices: Sequence[Choice], players: Mapping[str, int]
) -> list[dict[str, Any]]:
    """The plan's phrases over whole bars, upbeats left out; of those that share a bar the last one has it."""
    found: list[dict[str, Any]] = []
    tune = [choice for choice in choices if material.strand[choice.strand].role == "melody"]
    for index, plan in enumerate(material.plan):
        own = mainly(sketch, plan.start, plan.end)
        first, last = own[0], own[-1]
        if found and found[-1]["last"] >= first:
            found[-1]["last"] = first - 1
        phrase = reading.phrases[index] if index < len(reading.phrases) else None
        moments = [
            {"bar": sketch.bar_at(m.onset).index, "kind": m.kind}
            for m in reading.moments
            if plan.start <= m.onset < plan.end
        ]
        facts = {key: value for key, value in plain(plan).items() if key not in ("start", "end")}
        found.append(
            {
                **facts,
                "first": first,
                "last": last,
                "character": phrase.character if phrase else "",
                "proposed": bool(phrase and phrase.dynamic_proposed),
                "moments": moments,
                "tune": sorted({players[c.player] for c in tune if plan.start <= c.start < plan.end}),
            }
        )
    return [phrase for phrase in found if phrase["last"] >= phrase["first"]]


def _owns(player: Player, part: Part) -> bool:
    """A percussionist has a part for each instrument, "Percussion 1: Snare drum"."""
    return part.player.name == player.name or part.player.name.startswith(f"{player.name}: ")


def _dynamics(lineup: Lineup, score: Score) -> list[list[Any]]:
    """[player, bar, sign] of each dynamic and hairpin, "<" or ">"."""
    signs = {"crescendo": "<", "diminuendo": ">"}
    return [
        [index, bar, signs.get(mark.value, mark.value)]
        for index, player in enumerate(lineup.players)
        for part in score.parts
        if _owns(player, part)
        for bar, measure in enumerate(part.measures)
        for mark in measure.directions
        if mark.kind == "dynamic" or (mark.kind == "wedge" and mark.value in signs)
    ]


def cells(data: Mapping[str, Any]) -> dict[tuple[int, int], list[int]]:
    """(player, bar) -> indices of the choices that sound there."""
    found: dict[tuple[int, int], list[int]] = {}
    for index, choice in enumerate(data["choices"]):
        for bar in choice["bars"]:
            found.setdefault((choice["player"], bar), []).append(index)
    return found
