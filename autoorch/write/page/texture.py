"""How a draft's texture lies in the repertoire's bands (constraints/texture.toml), phrase by phrase and figure by figure.

A moment is what sounds between two changes; figures of a phrase are weighted by how long its moments last. They are shown as
bands and never added up: what lies outside is rare, not wrong.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from autoorch.layers.model import Material
from autoorch.lineup import Lineup
from autoorch.pitch import from_midi
from autoorch.problem.draft import Choice
from autoorch.rules.texture import COUNTED
from autoorch.sketch.bars import mainly
from autoorch.sketch.model import Sketch
from autoorch.tables import Tables

FIGURES = {
    "active_share": "share of parts",
    "distinct_pitch": "pitches",
    "distinct_pc": "pitch classes",
    "notes_per_pitch": "parts a pitch",
    "pitch_per_pc": "pitches a class",
    "span": "span",
    "top": "top",
    "bot": "bottom",
}
"""Figures of constraints/texture.toml and what the page calls them: parts that sound of those counted, different pitches and
pitch classes, parts on one pitch, pitches on one pitch class, semitones from the lowest to the highest, both as MIDI pitches."""
HEIGHTS = ("top", "bot")
"""Those that are told as names of notes."""


@dataclass(frozen=True, slots=True)
class Sounding:
    """One note of one player: ticks, sounding pitch (MIDI)."""

    player: str
    start: int
    end: int
    midi: int


def soundings(lineup: Lineup, material: Material, choices: Iterable[Choice]) -> list[Sounding]:
    """What the woodwind, brass and strings of a draft sound; drums, keys, harp and voices are not counted."""
    found = []
    for choice in choices:
        if lineup.by_name[choice.player].instrument.family in COUNTED:
            notes = [note for name in choice.lines for note in material.line[name].notes if note.duration]
            found += [
                Sounding(choice.player, note.onset, note.end, note.pitch.midi + 12 * choice.octave)
                for note in notes
                if choice.start <= note.onset < choice.end
            ]
    return found


def moments(found: Iterable[Sounding], start: int, end: int) -> Iterator[tuple[int, list[Sounding]]]:
    """(ticks, what sounds) between any two changes in [start, end), where anything sounds."""
    inside = [s for s in found if s.start < end and s.end > start]
    edges = sorted({max(start, s.start) for s in inside} | {min(end, s.end) for s in inside})
    for first, last in pairwise(edges):
        now = [s for s in inside if s.start < last and s.end > first]
        if now:
            yield last - first, now


def figures(now: Sequence[Sounding], parts: int) -> dict[str, float]:
    """Each of `FIGURES` at one moment; `now` is not empty, `parts` are those counted."""
    pitches = {s.midi for s in now}
    degrees = {midi % 12 for midi in pitches}
    active = len({s.player for s in now})
    return {
        "active_share": active / parts,
        "distinct_pitch": len(pitches),
        "distinct_pc": len(degrees),
        "notes_per_pitch": active / len(pitches),
        "pitch_per_pc": len(pitches) / len(degrees),
        "span": max(pitches) - min(pitches),
        "top": max(pitches),
        "bot": min(pitches),
    }


def texture(
    sketch: Sketch, lineup: Lineup, material: Material, choices: Iterable[Choice], tables: Tables
) -> dict[str, Any]:
    """`heads`: what the figures are called; `rows`: for each part of a phrase with one dynamic {"bars": first and last index,
    "dynamic", "figures": for each figure {"band": the repertoire's 10 and 90 %, "own": the draft's median, "inside": share of the
    time within the band, "said": own and band in words}}; no figures where nothing sounds."""
    table = tables.rule("texture")
    parts = sum(player.instrument.family in COUNTED for player in lineup.players)
    found, rows = soundings(lineup, material, choices), []
    for start, end, plan in (part for phrase in material.plan for part in phrase.parts):
        band = table["band"][table["beyond"]["band"][plan.dynamic]]
        counted = [(ticks, figures(now, parts)) for ticks, now in moments(found, start, end)]
        own = mainly(sketch, start, end)
        told = [_figure(name, [(t, each[name]) for t, each in counted], band[name]) for name in FIGURES if counted]
        rows.append({"bars": [own[0], own[-1]], "dynamic": plan.dynamic, "figures": told})
    return {"heads": list(FIGURES.values()), "rows": rows}


def _figure(name: str, counted: Sequence[tuple[int, float]], shares: Sequence[float]) -> dict[str, Any]:
    """`counted`: (ticks, value)."""
    total = sum(ticks for ticks, _ in counted)
    band, own = (shares[0], shares[-1]), _median(counted, total)
    inside = sum(ticks for ticks, value in counted if band[0] <= value <= band[1])
    said = [_said(name, value) for value in (own, *band)]
    return {"band": band, "own": round(own, 2), "inside": round(inside / total, 2), "said": said}


def _said(name: str, value: float) -> str:
    if name in HEIGHTS:
        return str(from_midi(round(value)))
    return f"{value:.0%}" if name == "active_share" else f"{value:.3g}"


def _median(counted: Sequence[tuple[int, float]], total: int) -> float:
    passed = 0
    for ticks, value in sorted(counted, key=lambda each: each[1]):
        passed += ticks
        if 2 * passed >= total:
            return value
    raise ValueError("nothing sounds")
