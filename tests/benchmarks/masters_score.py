"""Real scores as sketches of our kind: passages of a full score, the line-up they are written for, and their reduction.

The reduction: all sounding pitches without grace notes and percussion; exact unisons merged; octave copies of the main
part's notes (same onset and duration) dropped; of octave copies of the lowest note at an onset only the lowest stays; two
staves split at middle C. Dynamics are the middle one of those in force in the staves that sound, bar by bar.
"""

from __future__ import annotations

import csv
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from autoorch.check.limits import Limits as Checked
from autoorch.check.names import Names
from autoorch.check.read import read_score
from autoorch.instruments import DYNAMICS, Instrument
from autoorch.lineup import Lineup, seated
from autoorch.pitch import Pitch
from autoorch.shorthand import SCHEMA, Seat
from autoorch.sketch import read_sketch
from autoorch.sketch.guard import Limits
from autoorch.sketch.model import Bar, Mark, Sketch, SketchNote, Staff
from autoorch.sketch.number import Loose, numbered
from autoorch.tables import Tables

MIDDLE_C = 60
THREE = 3
"""Trombones in a score: the last of so many is of another size, whatever its part is called."""
SIZES = {
    "classical": {"violin": (10, 8), "viola": (6,), "cello": (5,), "double_bass": (4,)},
    "romantic": {"violin": (16, 14), "viola": (12,), "cello": (10,), "double_bass": (8,)},
}
"""Strings of the presets classical and romantic; a section that is written on two staves is halved."""
ROMANTIC = ("brahms", "beach", "bruckner")


@dataclass(frozen=True, slots=True)
class Played:
    """A note as one part has it: ticks from the start of the passage, sounding pitch."""

    onset: int
    end: int
    pitch: Pitch


@dataclass(frozen=True)
class Passage:
    """Some bars of a real score.

    Attributes:
        sketch: the reduction.
        main: ids of the sketch notes that the main part (the tune, as annotated) sounds.
        players: sketch note id -> names of the players who sound it or a dropped octave copy of it.
        lineup: the real one.
        played: player -> its notes, in time order; the line-up's own names.
    """

    name: str
    sketch: Sketch
    main: frozenset[str]
    players: dict[str, tuple[str, ...]]
    lineup: Lineup
    played: dict[str, tuple[Played, ...]]


@dataclass(frozen=True)
class Movement:
    """A full score with its parts' players and who has the tune from when on.

    Attributes:
        score: one staff a part.
        staff_of: player -> staff.
        tunes: (tick, staff) in time order.
    """

    name: str
    score: Sketch
    lineup: Lineup
    staff_of: dict[str, int]
    tunes: tuple[tuple[int, int], ...]


def seats(parts: Sequence[str], sizes: str, name: str, tables: Tables) -> tuple[Lineup, dict[str, int]]:
    """The line-up that a score's part names mean, and player -> number of its part; percussion is left out.

    Raises:
        ValueError: for a part whose name means no instrument.
    """
    names = Names(tables)
    found: list[tuple[int, Instrument]] = []
    for number, part in enumerate(parts):
        instrument = names.by_name(part)
        if instrument is None:
            raise ValueError(f"{name}: no instrument is called {part}")
        if instrument.kind not in ("timpani", "unpitched"):
            found.append((number, instrument))
    for usual, last in tables.rule("shorthand", SCHEMA)["last_of_three"].items():
        three = [place for place, (_, instrument) in enumerate(found) if instrument.id == usual]
        if len(three) == THREE:
            found[three[-1]] = found[three[-1]][0], tables.instruments[last]
    found.sort(key=lambda pair: pair[1].order)
    count: dict[str, int] = defaultdict(int)
    made = []
    for _, instrument in found:
        sections = SIZES[sizes].get(instrument.id)
        like = sum(1 for _, other in found if other is instrument)
        place = count[instrument.id]
        count[instrument.id] += 1
        if sections is None:
            made.append(Seat(instrument))
        else:
            size = sections[place] if like == len(sections) else sum(sections) // like
            made.append(Seat(instrument, max(1, size)))
    lineup = seated(name, made, tables)
    return lineup, {player.name: number for player, (number, _) in zip(lineup.players, found, strict=True)}


def read_movement(path: Path, tables: Tables) -> Movement:
    """A score and, beside it, STEM_annotations.csv (measure, beat, part_num counted from 0), as in OpenScore Orchestra's data."""
    score = read_sketch(path, limits=Limits(staves=64))
    low = old_clefs(path, tables)
    score = replace(score, notes=tuple(meant(n) if (n.staff, n.pitch.midi) in low else n for n in score.notes))
    sizes = "romantic" if any(name in path.stem for name in ROMANTIC) else "classical"
    lineup, staff_of = seats([staff.name for staff in score.staves], sizes, path.stem, tables)
    start = {bar.number: bar for bar in reversed(score.bars)}
    tunes = []
    with path.with_name(f"{path.stem}_annotations.csv").open(newline="") as file:
        for row in csv.DictReader(file):
            bar = start.get(row["measure"])
            if bar is not None:
                tunes.append((bar.onset + round((float(row["beat"]) - 1) * score.ticks), int(row["part_num"])))
    return Movement(path.stem, score, lineup, staff_of, tuple(sorted(tunes)))


def old_clefs(path: Path, tables: Tables) -> set[tuple[int, int]]:
    """(part, sounding pitch) of what lies below an instrument's safe range in the clef in which older scores write it an octave
    too low (`ranges.old_clefs` in constraints/limits.toml: horns in the bass clef)."""
    limits = Checked(tables)
    signs = {name: sign for name, (sign, shift) in limits.of("ranges")["old_clefs"].items() if shift > 0}
    return {
        (part.index, note.pitch)
        for part in read_score(path, limits).parts
        for note in part.notes
        if note.instrument
        and note.clef == signs.get(note.instrument.id)
        and 0 <= note.pitch < note.instrument.normal[0]
    }


def meant(note: SketchNote) -> SketchNote:
    """The note an octave higher."""
    return replace(note, pitch=replace(note.pitch, octave=note.pitch.octave + 1))


def passage(movement: Movement, first: int, count: int) -> Passage:
    """`count` bars from the bar of index `first` on."""
    score = movement.score
    bars = score.bars[first : first + count]
    start, end = bars[0].onset, bars[-1].end
    starts = [tick for tick, _ in movement.tunes]

    def leader(tick: int) -> int | None:
        index = bisect_right(starts, tick + start) - 1
        return movement.tunes[index][1] if index >= 0 else None

    notes = [
        (note.staff, Played(note.onset - start, min(note.end, end) - start, note.pitch))
        for note in score.notes
        if start <= note.onset < end and note.duration
    ]
    moved = tuple(replace(bar, index=k, onset=bar.onset - start) for k, bar in enumerate(bars))
    tempo = score.tempo_at(start)
    marks = [Mark("tempo", 0, 0, -1, f"{tempo:g}")] if tempo else []
    marks += _dynamics(score, bars, start)
    name = f"{movement.name} {bars[0].number}-{bars[-1].number}"
    return reduced(name, notes, leader, movement.lineup, movement.staff_of, score.ticks, moved, marks)


def reduced(
    name: str,
    notes: Iterable[tuple[int, Played]],
    leader: Callable[[int], int | None],
    lineup: Lineup,
    staff_of: dict[str, int],
    ticks: int,
    bars: tuple[Bar, ...],
    marks: Sequence[Mark],
) -> Passage:
    """The passage of these (part number, note); `leader` names the main part from a tick on."""
    player_of = {number: player for player, number in staff_of.items()}
    played: dict[str, list[Played]] = {player.name: [] for player in lineup.players}
    heard: dict[int, dict[tuple[int, int], tuple[Pitch, set[int]]]] = defaultdict(dict)
    for part, note in notes:
        if part in player_of:
            played[player_of[part]].append(note)
            heard[note.onset].setdefault((note.end, note.pitch.midi), (note.pitch, set()))[1].add(part)
    loose, main, players = [], [], []
    for onset, here in sorted(heard.items()):
        lead, low = leader(onset), min(midi for _, midi in here)
        for (end, midi), (pitch, own) in sorted(here.items()):
            copies = [key for key in here if key != (end, midi) and key[0] == end and (key[1] - midi) % 12 == 0]
            tune = lead in own
            if not tune and midi != low and any(lead in here[key][1] or key[1] == low for key in copies):
                continue
            loose.append(Loose(onset, end - onset, pitch, int(midi < MIDDLE_C), 0))
            main.append(tune)
            parts = own.union(*(here[key][1] for key in copies))
            players.append(tuple(player_of[part] for part in sorted(parts)))
    ordered, ids = numbered(loose)
    sketch = Sketch(ticks, (Staff(0, ""), Staff(1, "")), bars, ordered, marks=tuple(marks), title=name)
    return Passage(
        name,
        sketch,
        frozenset(number for number, tune in zip(ids, main, strict=True) if tune),
        dict(zip(ids, players, strict=True)),
        lineup,
        {player: tuple(sorted(own, key=lambda n: (n.onset, n.pitch.midi))) for player, own in played.items()},
    )


def _dynamics(score: Sketch, bars: Sequence[Bar], start: int) -> list[Mark]:
    """A mark wherever the middle dynamic of the sounding staves changes from one bar to the next."""
    marks: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for mark in score.marks:
        if mark.kind == "dynamic" and mark.value in DYNAMICS:
            marks[mark.staff].append((mark.onset, DYNAMICS.index(mark.value)))
    sounding: dict[int, set[int]] = defaultdict(set)
    for note in score.notes:
        if bars[0].onset <= note.onset < bars[-1].end:
            sounding[score.bar_at(note.onset).index].add(note.staff)
    found: list[Mark] = []
    for bar in bars:
        soon = bar.onset + score.ticks
        levels = sorted(
            inforce[-1]
            for staff in sounding[bar.index]
            if (inforce := [level for onset, level in marks[staff] if onset < soon])
        )
        if levels and (not found or found[-1].value != DYNAMICS[levels[len(levels) // 2]]):
            found.append(Mark("dynamic", bar.onset - start, bar.onset - start, -1, DYNAMICS[levels[len(levels) // 2]]))
    return found
