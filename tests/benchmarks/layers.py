"""What the layers add to real pieces: second lines by their figures, percussion by what it falls on, ways of playing, figures.

Pieces are the examples and piano music out of music21's corpus (no data of one's own is needed). Second lines: how many of
the tune's long notes have a new note under them, and the span from lowest to highest note. Percussion: strokes that a moment
called for beside those of rhythms that run through and of the timpani. All is counted on what the layers offer for the line-up,
before the solver chooses.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from pathlib import Path

from autoorch.brief import Brief
from autoorch.layers.build import build_material
from autoorch.layers.counterline import long_notes
from autoorch.layers.cue import Cue
from autoorch.layers.model import MaterialStrand
from autoorch.lineup import parse_lineup
from autoorch.roles import read_roles
from autoorch.sketch import read_sketch
from autoorch.tables import load_tables
from tests.benchmarks.pieces import PIANO, sketch_file

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
BEAT, TOUCH, TIMPANI = "beat", "touch", "timpani"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--for", dest="lineup", default="romantic", help="preset or shorthand (romantic)")
    arguments = parser.parse_args()
    tables = load_tables()
    lineup = parse_lineup(arguments.lineup, tables)
    totals: Counter[str] = Counter()
    spans: list[int] = []
    with tempfile.TemporaryDirectory() as folder:
        examples = [(path.name, path / "sketch.musicxml") for path in sorted(EXAMPLES.iterdir()) if path.is_dir()]
        for name, path in [*examples, *((name, sketch_file(name, Path(folder))) for name in PIANO)]:
            sketch = read_sketch(path)
            reading = read_roles(sketch, tables)
            material = build_material(sketch, reading, lineup, Brief(), tables)
            cue = Cue(sketch, reading, material.plan, lineup, Brief(), tables)
            layers = Counter(strand.layer for strand in material.strands if strand.layer != "assigned")
            offered = Counter(manner.technique for manner in material.manners if manner.technique)
            print(f"{name}: {len(sketch.bars)} bars; {dict(layers)}; offered {dict(offered)}")
            for strand in material.strands:
                if strand.layer == "counterline" and strand.texture != "echo":
                    totals.update(moved(cue, strand))
                    pitches = [note.pitch.midi for note in strand.lines[0].notes]
                    spans.append(max(pitches) - min(pitches))
                elif strand.layer == "finish":
                    totals[kind(cue, strand)] += sum(len(line.notes) for line in strand.lines)
    print(f"second lines: {len(spans)}, under {totals['moved']} of {totals['long']} long notes, spans {sorted(spans)}")
    print(f"percussion: {totals[TOUCH]} strokes on moments, {totals[BEAT]} in rhythms, {totals[TIMPANI]} of timpani")


def moved(cue: Cue, strand: MaterialStrand) -> Counter[str]:
    """Long notes of the tune over or under a second line, and those of them under which it moves."""
    notes = strand.lines[0].notes
    onsets = {note.onset for note in notes}
    table = cue.tables.rule("counterline")["offer"]
    tune = [n for n in long_notes(cue, cue.phrase_at(notes[0].onset), table) if n.onset >= notes[0].onset]
    return Counter(long=len(tune), moved=sum(any(n.onset < onset < n.end for onset in onsets) for n in tune))


def kind(cue: Cue, strand: MaterialStrand) -> str:
    """What a strand of the last layer is counted as; "" for other players than percussion."""
    families = {cue.tables.instruments[name].family for name in strand.families}
    if families != {"percussion"}:
        return ""
    if strand.families == ("timpani",):
        return TIMPANI
    return BEAT if strand.id.startswith(BEAT) else TOUCH


if __name__ == "__main__":
    main()
