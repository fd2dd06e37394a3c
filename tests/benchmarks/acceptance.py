"""Every piece for every line-up, the whole way, measured on the files that are written.

A draft passes when it has a status, valid scores, nothing unplayable, costs that the rules' own check confirms, one fate for
every sketch note that the score bears out, every melody note attacked where the draft says, the bass heard at every chord
change, and the same notes when other programs read the score back. One line a draft, a summary, exit 1 where a draft fails.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from collections import Counter
from fractions import Fraction
from itertools import product, zip_longest
from pathlib import Path
from typing import Any

from autoorch import delivery, pipeline
from autoorch.check import check
from autoorch.pipeline import Result
from autoorch.rules import RULES, report
from autoorch.score.model import Score
from autoorch.solver.solve import Limits
from autoorch.write.musicxml import write_musicxml
from autoorch.write.pages import Pages, scores
from tests.benchmarks.clock import step_seconds
from tests.benchmarks.heard import Heard, hear
from tests.benchmarks.pieces import LINEUPS, PIECES, sketch_file
from tests.support.readback import READERS, heads_of, musicxml2ly_ok, notes_of, notes_verovio, same
from tests.support.schema import schema_errors
from tests.support.signs import SIGNS, signs_music21, signs_of, signs_verovio

SCORES = ("score.musicxml", "score-concert.musicxml")
# What must be 0 for a draft to pass.
FAULTS = ("costs", "schema", "unplayable", "fates", "untrue", "melody", "bass", "readback", "signs", "lilypond")
FAULTS += ("pages_schema", "pages_readback")


def melody_missing(result: Result, heard: dict[str, Heard]) -> tuple[int, int]:
    """Melody notes that no player attacks at pitch plus a declared octave: (in principal lines, in the others)."""
    sketch = result.sketch
    part_of = {part.player.name: heard[part.id] for part in result.score.parts}
    missing = [0, 0]
    for strand in result.reading.strands:
        if strand.role != "melody":
            continue
        choices = [choice for choice in result.draft.choices if choice.strand == strand.id]
        for number, line in enumerate(strand.lines):
            for note in (sketch.by_id[name] for name in line.notes):
                if note.grace:
                    continue
                onset = Fraction(note.onset, sketch.ticks)
                found = any(
                    note.pitch.midi + 12 * choice.octave in part_of[choice.player].attacks.get(onset, ())
                    for choice in choices
                    if choice.start <= note.onset < choice.end
                )
                missing[min(number, 1)] += not found
    return missing[0], missing[1]


def bass_missing(result: Result, heard: dict[str, Heard]) -> tuple[int, int]:
    """Chord changes at which the pitch class of the sketch's lowest sounding note is (heard nowhere, not the lowest)."""
    sketch = result.sketch
    sounds = [sound for part in heard.values() for sound in part.sounds]
    silent = higher = 0
    for chord in result.reading.chords:
        expected = [note.pitch.midi for note in sketch.notes if note.onset <= chord.start < note.end]
        if not expected:
            continue
        now = Fraction(chord.start, sketch.ticks)
        got = sorted(pitch for start, end, pitch in sounds if start <= now < end)
        silent += min(expected) % 12 not in {pitch % 12 for pitch in got}
        higher += not got or got[0] % 12 != min(expected) % 12
    return silent, higher


def untrue_fates(result: Result, heard: dict[str, Heard]) -> int:
    """Notes said to be copied or octave moved that none of their players strikes (at pitch, or at its pitch class)."""
    sketch = result.sketch
    part_of = {part.player.name: heard[part.id] for part in result.score.parts}
    wrong = 0
    for fate in result.draft.fates:
        note = sketch.by_id[fate.note]
        if note.grace or fate.fate not in ("copied", "octave moved"):
            continue
        modulus = 128 if fate.fate == "copied" else 12
        onset = Fraction(note.onset, sketch.ticks)
        struck = {pitch % modulus for player in fate.players for pitch in part_of[player].attacks.get(onset, ())}
        wrong += note.pitch.midi % modulus not in struck
    return wrong


def readback(score: Score, path: Path) -> list[str]:
    """What music21, partitura and verovio read otherwise than it was written, one line each."""
    found = []
    for name, reader, written in READERS:
        found += [f"{name}: {difference}" for difference in same(notes_of(score, written), reader(path))]
    theirs = notes_verovio(path)
    ours = heads_of(score)
    found += [f"verovio: P{k}" for k, pair in enumerate(zip_longest(ours, theirs), 1) if pair[0] != pair[1]]
    return found


def signs_lost(score: Score, path: Path) -> int:
    """Dynamics, hairpins, slurs, ties and tuplets that music21 or verovio count otherwise."""
    ours = signs_of(score)
    return sum(
        abs(ours[sign] - theirs[sign]) for theirs in (signs_music21(path), signs_verovio(path)) for sign in SIGNS
    )


def more_pages(result: Result, folder: Path) -> dict[str, Any]:
    """The condensed score and every part: schema errors, and what other programs read otherwise."""
    invalid = differing = count = 0
    for name, score in scores(result.score, Pages(parts=True)).items():
        if name in SCORES:
            continue
        path = folder / f"{count}.musicxml"
        with path.open("wb") as file:
            write_musicxml(score, file)
        count += 1
        invalid += len(schema_errors(path))
        differing += len(readback(score, path))
    return {"pages": count, "pages_schema": invalid, "pages_readback": differing}


def measure(piece: str, lineup: str, seconds: float, folder: Path, parts: bool) -> dict[str, Any]:
    """One draft, with all that is counted; a failure of the pipeline is a row with "failed"."""
    row: dict[str, Any] = {"piece": piece, "lineup": lineup}
    out = folder / "draft"
    try:
        with step_seconds() as spent:
            result = pipeline.draft(sketch_file(piece, folder), lineup, limits=Limits(seconds=seconds))
            delivery.write(result, out)
    except Exception as error:
        return row | {"failed": f"{type(error).__name__}: {error}"}
    draft, sketch = result.draft, result.sketch
    confirmed = sum(report(rule, result.problem, result.solution.chosen).cost for rule in RULES)
    heard = hear(out / "score.musicxml")
    melody, doublings = melody_missing(result, heard)
    silent, higher = bass_missing(result, heard)
    found = Counter(finding.severity for finding in check(out / "score.musicxml").findings)
    began = time.perf_counter()
    differing = readback(result.score, out / "score.musicxml")
    converted = musicxml2ly_ok(out / "score.musicxml", folder)
    if parts:
        row |= more_pages(result, folder)
    return row | {
        "status": draft.status,
        "gap": round(draft.gap, 4),
        "cost": draft.objective,
        "bars": len(sketch.bars),
        "notes": len(sketch.notes),
        "fate": dict(Counter(fate.fate for fate in draft.fates)),
        "losses": len(draft.losses),
        "costs": int(confirmed != draft.objective or sum(draft.costs.values()) != confirmed),
        "schema": sum(len(schema_errors(out / name)) for name in SCORES),
        "unplayable": found["unplayable"],
        "risky": found["risky"],
        "style": found["style"],
        "fates": int([fate.note for fate in draft.fates] != [note.id for note in sketch.notes]),
        "untrue": untrue_fates(result, heard),
        "melody": melody,
        "melody_doublings": doublings,
        "bass": silent,
        "bass_not_lowest": higher,
        "readback": len(differing),
        "signs": signs_lost(result.score, out / "score.musicxml"),
        "readback_seconds": round(time.perf_counter() - began, 2),
        "differing": differing[:5],
        "lilypond": int(bool(converted)),
        "seconds": {step: round(value, 2) for step, value in spent.items()},
    }


def faults(row: dict[str, Any]) -> list[str]:
    """Why a draft does not pass; [] where it does."""
    if "failed" in row:
        return [row["failed"]]
    stopped = [] if row["status"] in ("optimal", "feasible") else [f"status {row['status']}"]
    return stopped + [f"{name} {row[name]}" for name in FAULTS if row.get(name)]


def line(row: dict[str, Any]) -> str:
    """One draft on one line."""
    head = f"{row['piece']:<12} {row['lineup']:<17}"
    wrong = ", ".join(faults(row)) or "ok"
    if "failed" in row:
        return f"{head} {wrong}"
    total = sum(row["seconds"].values())
    figures = f"gap {row['gap']:6.2%} cost {row['cost']:>7} {total:6.1f} s  losses {row['losses']:>3}"
    return f"{head} {row['status']:<9} {figures}  {wrong}"


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__,
        epilog=f"Pieces, all out of music21's corpus: {' '.join(PIECES)}. Line-ups: {', '.join(LINEUPS)}.",
    )
    parser.add_argument("--piece", action="append", choices=PIECES, help="only these pieces (repeatable)")
    parser.add_argument(
        "--for", dest="lineup", action="append", metavar="LINEUP", help="only these line-ups (repeatable)"
    )
    parser.add_argument("--share", default="1/1", metavar="I/N", help="every Nth draft, from the Ith on (1/1)")
    parser.add_argument("--seconds", type=float, default=Limits().seconds, help="effort of the solver, as for a draft")
    parser.add_argument("--parts", action="store_true", help="the condensed score and every part too")
    parser.add_argument("--json", type=Path, help="write one JSON object a draft into this file")
    options = parser.parse_args()
    first, step = (int(part) for part in options.share.split("/"))
    jobs = list(product(options.piece or PIECES, options.lineup or LINEUPS))[first - 1 :: step]
    rows = []
    for piece, lineup in jobs:
        with tempfile.TemporaryDirectory() as folder:
            rows.append(measure(piece, lineup, options.seconds, Path(folder), options.parts))
        print(line(rows[-1]), flush=True)
        if options.json:
            with options.json.open("a", encoding="utf-8") as file:
                file.write(json.dumps(rows[-1]) + "\n")
    failing = [row for row in rows if faults(row)]
    whole = [row for row in rows if "failed" not in row]
    worst = max((row["gap"] for row in whole), default=0.0)
    print(f"{len(rows) - len(failing)} of {len(rows)} drafts pass; largest gap {worst:.2%}")
    for name in FAULTS:
        print(
            f"  {name}: {sum(row.get(name, 0) for row in whole)} in {sum(1 for row in whole if row.get(name))} drafts"
        )
    sys.exit(1 if failing else 0)


if __name__ == "__main__":
    main()
