"""Second lines: where a restatement or a tune of long notes leaves room, a line of our own under or over it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from autoorch.layers.counterpoint import Slot, Sung, compose
from autoorch.layers.cue import Cue, at_most
from autoorch.layers.echoes import echoes
from autoorch.layers.imitation import entrances
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand, PhrasePlan
from autoorch.layers.touches import scale
from autoorch.roles.model import Chord
from autoorch.sketch.model import SketchNote


def counterlines(cue: Cue) -> tuple[MaterialStrand, ...]:
    """One strand a phrase that gets one, and echoes in others; who sings them, if anybody, is for the solver."""
    table = cue.tables.rule("counterline")
    found: dict[int, MaterialStrand] = {}
    for phrase in offered(cue, table["offer"]):
        strand = _composed(cue, phrase, f"counter{len(found) + 1}", table)
        if strand is not None:
            found[phrase] = strand
    return (*found.values(), *echoes(cue, found))


def offered(cue: Cue, table: Mapping[str, Any]) -> list[int]:
    """The phrases that get a second line, in order: tunes of long notes, restatements before others, fewest attacks first."""
    entering = entrances(cue.sketch, cue.reading)
    ranked = []
    for k, phrase in enumerate(cue.plan):
        start, end = room(phrase, table)
        bars = (end - start) / max(1, cue.sketch.bar_at(start).length)
        taken = _sung(cue, phrase, table["full"]) >= table["own"] * bars or any(
            entrance.start < phrase.end and entrance.end > phrase.start for entrance in entering
        )
        if taken or bars < table["least_bars"]:
            continue
        share = sum(n.duration for n in long_notes(cue, k, table)) / (end - start)
        again = phrase.label.endswith("'")
        if phrase.at(start).weight >= table["weight"] and share >= table["long_share"] / (2 if again else 1):
            ranked.append((-share * (2 if again else 1), k))
    most = at_most(cue.sketch, table["phrases_in_32_bars"])
    return sorted(k for _, k in sorted(ranked)[:most])


def room(phrase: PhrasePlan, table: Mapping[str, Any]) -> tuple[int, int]:
    """(start, end) of the longest stretch of a phrase in which a second line is heard: where a tutti comes it has ended, and
    after one it begins. Empty where there is none."""
    runs: list[tuple[int, int]] = [(phrase.start, phrase.start)]
    for start, end, plan in phrase.parts:
        if plan.dynamic in table["dynamics"] and plan.scheme not in table["covered"]:
            before, last = runs[-1]
            runs.append((before if last == start else start, end))
    return max(runs, key=lambda run: (run[1] - run[0], -run[0]))


def _sung(cue: Cue, phrase: PhrasePlan, full: Collection[str]) -> int:
    """Notes in a phrase of the sketch's own second lines, and of what lies between tune and bass as a line or in full voices."""
    own = [
        note
        for strand in cue.reading.strands
        if strand.role == "counterline" or (strand.role == "inner" and strand.texture in ("line", *full))
        for line in strand.lines
        for note in line.notes
    ]
    return sum(phrase.start <= cue.sketch.by_id[note].onset < phrase.end for note in own)


def long_notes(cue: Cue, phrase: int, table: Mapping[str, Any]) -> list[SketchNote]:
    """The tune's long notes where a phrase has room for a second line."""
    first, last = room(cue.plan[phrase], table)
    least = cue.beats(first, table["long_beats"])
    return [n for n in cue.tune if first <= n.onset < last and n.duration >= least]


def _composed(cue: Cue, phrase: int, name: str, table: Mapping[str, Any]) -> MaterialStrand | None:
    plan = cue.plan[phrase]
    first, stop = room(plan, table["offer"])
    tune = [n for n in cue.tune if n.onset < stop and n.end > first]
    if not tune:
        return None
    mean = sum(n.pitch.midi * n.duration for n in tune) / sum(n.duration for n in tune)
    place = next(row for row in table["place"] if mean >= row["from"])
    if not cue.seats(place["players"]):
        return None
    start, step, a_beat = _grid(cue, first, stop, table["offer"])
    held = next(
        (n for n in tune if "fermata" in n.marks and n.onset > start), None
    )  # where all wait, the line waits too
    end = min(held.end, stop) if held else stop
    ticks = list(range(start, (held.onset if held else end - step) + 1, step))
    if len(ticks) < 2:
        return None
    slots = list(_slots(cue, ticks, step, tune, long_notes(cue, phrase, table["offer"])))
    spans = [
        ((n.onset - start) // step, min(len(slots), -(-(n.end - start) // step)))
        for n in long_notes(cue, phrase, table["offer"])
        if n.onset >= start
    ]
    line = compose(slots, [(a, b) for a, b in spans if b - a > 1], a_beat, place, table)
    if not line:
        return None
    notes = tuple(_notes(cue, line, ticks, step, end, name))
    why = "a restatement" if plan.label.endswith("'") else "a tune of long notes"
    return MaterialStrand(
        name,
        "counterline",
        "counterline",
        (MaterialLine(f"{name}.1", notes),),
        texture=f"line {place['id']} the tune",
        families=tuple(place["players"]),
        complete=True,
        reason=f"a second line {place['id']} {why} from {cue.place(first)}",
    )


def _grid(cue: Cue, start: int, end: int, table: Mapping[str, Any]) -> tuple[int, int, int]:
    """(first tick, ticks of a slot, slots a beat): from the first beat on, in half beats where they are long and few enough."""
    beat = cue.beats(start, 1)
    bar = cue.sketch.bar_at(start)
    first = start if (start - bar.onset) % beat == 0 else start + beat - (start - bar.onset) % beat
    half = beat // 2
    few = end - first <= table["most_slots"] * half
    if beat % 2 == 0 and few and cue.seconds(first, min(end, first + half)) >= table["slot_s"]:
        return first, half, 2
    return first, beat, 1


def _slots(
    cue: Cue, ticks: Sequence[int], step: int, tune: Sequence[SketchNote], still: Sequence[SketchNote]
) -> Iterator[Slot]:
    before: Chord | None = None
    for tick in ticks:
        bar, beat = cue.sketch.bar_at(tick), cue.beats(tick, 1)
        chord = cue.chord_at(tick)
        sounding = [n for n in tune if n.onset < tick + step and n.end > tick]
        at = next((n for n in sounding if n.onset <= tick), None)
        bass = next((n for n in reversed(_until(cue.bass, tick)) if n.end > tick), None)
        members = frozenset(chord.members) if chord else frozenset()
        key = chord.key if chord else cue.reading.key
        yield Slot(
            beat=(tick - bar.onset) % beat == 0,
            strong=cue.strong(tick) or (chord is not None and chord is not before),
            first=tick == bar.onset,
            chord=members,
            scale=members | frozenset(m % 12 for m in scale(key, 0, 11)),
            tune=(min(n.pitch.midi for n in sounding), max(n.pitch.midi for n in sounding)) if sounding else None,
            at=at.pitch.midi if at else None,
            attack=at is not None and at.onset == tick,
            still=any(n.onset < tick < n.end for n in still),
            bass=bass.pitch.midi if bass else None,
            bass_attack=bass is not None and bass.onset == tick,
            tendency=frozenset(chord.tendency) if chord else frozenset(),
            tune_before=_ending(tune, tick),
            bass_before=_ending(_until(cue.bass, tick), tick),
        )
        before = chord


def _ending(notes: Sequence[SketchNote], tick: int) -> int | None:
    """Pitch of the last of the notes that has sounded right up to `tick`."""
    return next((n.pitch.midi for n in reversed(notes) if n.onset < tick <= n.end), None)


def _until(notes: Sequence[SketchNote], tick: int) -> list[SketchNote]:
    """The last few notes that begin by `tick`."""
    return [n for n in notes if n.onset <= tick][-4:]


def _notes(
    cue: Cue, line: Sequence[Sung], ticks: Sequence[int], step: int, end: int, name: str
) -> Iterator[MaterialNote]:
    for number, note in enumerate(line, 1):
        onset = ticks[note.start]
        last = note.start + note.length == len(ticks)
        length = (end if last else ticks[note.start] + note.length * step) - onset
        yield MaterialNote(f"{name}.1.{number}", onset, length, cue.spelled(note.pitch, onset))
