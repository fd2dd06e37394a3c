"""What the layers add to real pieces: second lines by their figures, percussion by what it falls on, ways of playing, figures.

Pieces are the examples and piano music out of music21's corpus (no data of one's own is needed). Second lines: how many of
the tune's long notes have a new note under them, of those between their first note and their last and of those of the whole
phrases in which they lie, and the span from lowest to highest note; long notes are counted here, in the sketch. Percussion:
strokes that a moment called for beside those of rhythms that run through and of the timpani. All that is counted on what the
layers offer for the line-up, before the solver chooses. Motion of second lines against tune and bass is judged by code of its
own.

With --drafts the pieces are drafted as well: how many of the second lines somebody has, how often a figure of the sketch goes
from one attack to the next to quite other players (handed round note by note, as nobody scores), what percussion plays falls
on, and which instruments of percussion have more than one player.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path

from autoorch.brief import Brief
from autoorch.layers.build import build_material
from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialStrand
from autoorch.lineup import parse_lineup
from autoorch.pipeline import Result, draft
from autoorch.roles import read_roles
from autoorch.sketch import read_sketch
from autoorch.sketch.model import SketchNote
from autoorch.tables import Tables, load_tables
from tests.benchmarks.pieces import PIANO, sketch_file

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
LONG_BEATS = 1.5
"""Beats from which a note of the tune is long."""
BEAT, TOUCH, TIMPANI = "beat", "touch", "timpani"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--for", dest="lineup", default="romantic", help="preset or shorthand (romantic)")
    parser.add_argument("--piece", action="append", help="only these pieces (repeatable)")
    parser.add_argument("--drafts", action="store_true", help="draft them too, and count what was chosen")
    arguments = parser.parse_args()
    tables = load_tables()
    lineup = parse_lineup(arguments.lineup, tables)
    totals: Counter[str] = Counter()
    spans: list[int] = []
    with tempfile.TemporaryDirectory() as folder:
        examples = [(path.name, path / "sketch.musicxml") for path in sorted(EXAMPLES.iterdir()) if path.is_dir()]
        pieces = [*examples, *((name, sketch_file(name, Path(folder))) for name in PIANO)]
        for name, path in [piece for piece in pieces if not arguments.piece or piece[0] in arguments.piece]:
            sketch = read_sketch(path)
            reading = read_roles(sketch, tables)
            material = build_material(sketch, reading, lineup, Brief(), tables)
            cue = Cue(sketch, reading, material.plan, lineup, Brief(), tables)
            layers = Counter(strand.layer for strand in material.strands if strand.layer != "assigned")
            offered = Counter(manner.technique for manner in material.manners if manner.technique)
            print(f"{name}: {len(sketch.bars)} bars; {dict(layers)}; offered {dict(offered)}")
            totals["of all"] += len(long_notes(cue, 0, sketch.end))
            for strand in material.strands:
                if strand.layer == "counterline" and strand.texture != "echo":
                    totals.update(moved(cue, strand))
                    for fault in motion_faults(cue, strand):
                        totals["faults"] += 1
                        print(f"  {fault}")
                    pitches = [note.pitch.midi for note in strand.lines[0].notes]
                    spans.append(max(pitches) - min(pitches))
                elif strand.layer == "finish":
                    totals[kind(tables, strand)] += sum(len(line.notes) for line in strand.lines)
            if arguments.drafts:
                chosen = drafted(draft(path, arguments.lineup))
                print(f"  drafted: {dict(chosen)}")
                totals.update(chosen)
    print(
        f"second lines: {len(spans)}, under {totals['moved']} of {totals['long']} long notes between their ends, "
        f"{totals['phrase']} in their phrases, {totals['of all']} in all; spans {sorted(spans)}, "
        f"{totals['faults']} faults of motion"
    )
    print(f"percussion: {totals[TOUCH]} strokes on moments, {totals[BEAT]} in rhythms, {totals[TIMPANI]} of timpani")
    if arguments.drafts:
        print(
            f"drafted: {totals['second lines']} second lines; {totals['handed on']} of {totals['steps']} steps of figures "
            f"handed on, {totals['struck on moments']} strokes on moments, {totals['struck in rhythms']} in rhythms, "
            f"{totals['struck by timpani']} of timpani; "
            f"{totals['shared instruments']} instruments of percussion with more than one player"
        )


def long_notes(cue: Cue, start: int, end: int) -> list[SketchNote]:
    """Notes of the tune's first line that begin in [start, end) and last so many beats of their metre."""
    ids = {note for strand in cue.reading.strands if strand.role == "melody" for note in strand.lines[0].notes}
    tune = [note for note in cue.sketch.notes if note.id in ids and start <= note.onset < end]
    beat = {note.id: 4 * cue.sketch.ticks / cue.sketch.bar_at(note.onset).metre[1] for note in tune}
    return [note for note in tune if note.duration >= LONG_BEATS * beat[note.id]]


def moved(cue: Cue, strand: MaterialStrand) -> Counter[str]:
    """Long notes of the tune over or under a second line, those of its whole phrase, and those under which it moves."""
    notes = strand.lines[0].notes
    onsets = {note.onset for note in notes}
    phrase = next(p for p in cue.plan if p.start <= notes[0].onset < p.end)
    tune = long_notes(cue, notes[0].onset, notes[-1].end)
    return Counter(
        long=len(tune),
        phrase=len(long_notes(cue, phrase.start, phrase.end)),
        moved=sum(any(n.onset < onset < n.end for onset in onsets) for n in tune),
    )


def motion_faults(cue: Cue, strand: MaterialStrand) -> Iterator[str]:
    """Leaps that are hard to sing, sharp clashes with the tune on a beat, similar motion into a perfect consonance with the tune,
    parallel perfect consonances with the bass: found on the notes themselves, by nothing that the line's composer uses."""

    def sounding(notes: Sequence[SketchNote], tick: int) -> SketchNote | None:
        return next((n for n in reversed(notes) if n.onset <= tick < n.end), None)

    for before, note in pairwise(strand.lines[0].notes):
        place, step = f"{strand.id}, {cue.place(note.onset)}", note.pitch.midi - before.pitch.midi
        if abs(step) in (6, 10, 11) or abs(step) > 12:
            yield f"{place}: a leap of {step}"
        for name, notes in (("tune", cue.tune), ("bass", cue.bass)):
            last, now = sounding(notes, note.onset - 1), sounding(notes, note.onset)
            if now is None:
                continue
            apart = abs(note.pitch.midi - now.pitch.midi) % 12
            if name == "tune" and apart in (1, 11) and cue.on_beat(note.onset):
                yield f"{place}: a clash with the tune"
            if last is None or now.onset != note.onset or step * (now.pitch.midi - last.pitch.midi) <= 0:
                continue
            was = abs(before.pitch.midi - last.pitch.midi) % 12
            if apart in (0, 7) and (name == "tune" or was == apart):
                yield f"{place}: together into a perfect consonance with the {name}"


def drafted(result: Result) -> Counter[str]:
    """Of a draft: attacks of the sketch's figures after which quite other players go on, and percussion by what it plays."""
    found: Counter[str] = Counter()
    lines: set[str] = set()
    players: dict[str, set[str]] = defaultdict(set)
    who: dict[str, set[str]] = defaultdict(set)
    for choice in result.draft.choices:
        strand = result.material.strand[choice.strand]
        notes = [n for k in choice.lines for n in result.material.line[k].notes if choice.start <= n.onset < choice.end]
        for note in notes:
            for source in note.sources:
                who[source].add(choice.player)
        if strand.layer == "counterline" and strand.texture != "echo" and notes:
            lines.add(strand.id)
        sort = kind(result.problem.tables, strand) if strand.layer == "finish" else ""
        if sort:
            told = {TOUCH: "struck on moments", BEAT: "struck in rhythms", TIMPANI: "struck by timpani"}
            found[told[sort]] += len(notes)
            players[choice.instrument or choice.player].add(choice.player)
    found["second lines"] = len(lines)
    found["shared instruments"] = sum(len(names) > 1 for names in players.values())
    for strand in result.material.strands:
        if strand.layer != "assigned" or strand.role not in ("figure", "rhythm"):
            continue
        attacks: dict[int, set[str]] = defaultdict(set)
        for line in strand.lines:
            for note in line.notes:
                attacks[note.onset] |= set().union(*(who[source] for source in note.sources))
        for plan in result.material.plan:
            row = [attacks[tick] for tick in sorted(attacks) if plan.start <= tick < plan.end and attacks[tick]]
            found["steps"] += max(0, len(row) - 1)
            found["handed on"] += sum(not one & other for one, other in pairwise(row))
    return found


def kind(tables: Tables, strand: MaterialStrand) -> str:
    """What a strand of the last layer is counted as; "" for other players than percussion."""
    families = {tables.instruments[name].family for name in strand.families}
    if families != {"percussion"}:
        return ""
    if strand.families == ("timpani",):
        return TIMPANI
    return BEAT if strand.id.startswith(BEAT) else TOUCH


if __name__ == "__main__":
    main()
