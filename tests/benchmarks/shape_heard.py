"""What a draft sounds, note by note, and whether its melody is heard: by the powers of its players at the dynamics written."""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from autoorch.instruments import DYNAMICS
from autoorch.layers.colours import GROUPS, group_of
from autoorch.layers.cue import CHORALE
from autoorch.lineup import Player
from autoorch.pipeline import Result
from autoorch.power import power
from autoorch.tables import load_tables

NEAR = 12
"""Semitones within which another strand can cover the melody."""


@dataclass(frozen=True, slots=True)
class Sound:
    """One note of one player, ticks and sounding pitch; `octave`: by how many the player has it moved.

    `strand` is a line's name where the lines of a strand are voices of a hymn: each is a part beside the tune."""

    player: Player
    strand: str
    role: str
    onset: int
    end: int
    midi: int
    share: int
    octave: int


def sounds(result: Result) -> list[Sound]:
    """Every note of the counted players."""
    found = []
    for choice in result.draft.choices:
        player = result.lineup.by_name[choice.player]
        if group_of(player.instrument) not in GROUPS:
            continue
        strand = result.material.strand[choice.strand]
        for name in choice.lines:
            part = name if strand.texture in CHORALE and strand.role != "melody" else choice.strand
            for note in result.material.line[name].notes:
                if choice.start <= note.onset < choice.end and note.duration:
                    midi = note.pitch.midi + 12 * choice.octave
                    sound = Sound(player, part, strand.role, note.onset, note.end, midi, choice.share, choice.octave)
                    found.append(sound)
    return found


def marks(result: Result) -> dict[str, list[tuple[int, str]]]:
    """Player -> (tick of the sketch, dynamic) as it stands in the score."""
    score, found = result.score, {}
    factor = score.ticks // result.sketch.ticks
    for part in score.parts:
        found[part.player.name] = [
            ((bar.onset + direction.onset) // factor, direction.value)
            for bar, measure in zip(score.bars, part.measures, strict=True)
            for direction in measure.directions
            if direction.kind == "dynamic" and direction.value in DYNAMICS
        ]
    return found


def in_force(marked: Sequence[tuple[int, str]], tick: int) -> str:
    """The last mark by `tick`; mf where there is none."""
    return next((value for onset, value in sorted(marked, reverse=True) if onset <= tick), "mf")


def heard(result: Result, found: Sequence[Sound]) -> tuple[int, int, int]:
    """Bars in which the melody's players, at the dynamics written in their parts, are at least as strong as any one other strand
    near it, as any one other player near it, and bars with a melody."""
    tables, marked = load_tables(), marks(result)
    good = parts = total = 0
    for bar in result.sketch.bars:
        by_strand: dict[str, list[Sound]] = defaultdict(list)
        for sound in found:
            if bar.onset <= sound.onset < bar.end:
                by_strand[sound.strand].append(sound)
        strong: dict[str, list[int]] = {}
        centre: dict[str, float] = {}
        for strand, own in by_strand.items():
            players = {s.player.name: s for s in own}
            centre[strand] = statistics.mean(s.midi for s in own)
            strong[strand] = [
                power(
                    tables,
                    s.player.instrument,
                    s.player.size,
                    in_force(marked[s.player.name], s.onset),
                    s.midi,
                    s.share,
                )
                for s in players.values()
            ]
        tunes = [strand for strand, own in by_strand.items() if own[0].role == "melody"]
        if not tunes:
            continue
        total += 1
        best = max(sum(strong[strand]) for strand in tunes)
        tune = [s.midi for strand in tunes for s in by_strand[strand]]
        near = [
            strand
            for strand in by_strand
            if strand not in tunes and abs(centre[strand] - statistics.mean(tune)) <= NEAR
            and len({s.onset for s in by_strand[strand]}) > 1
        ]  # fmt: skip
        good += all(sum(strong[strand]) <= best for strand in near)
        parts += all(max(strong[strand]) <= best for strand in near)
    return good, parts, total
