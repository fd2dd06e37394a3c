"""Seconds that each file of a draft takes, against music21 writing the same score once with its own notation pass.

The cue is that of tests/benchmarks/speed.py, piano music out of music21's corpus. Processor seconds, so that a busy machine
says the same.
"""

from __future__ import annotations

import argparse
import io
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from music21 import converter
from music21.musicxml.m21ToXml import GeneralObjectExporter

from autoorch import delivery, exhibits, pipeline
from autoorch.exhibits import Extras
from autoorch.solver.solve import Limits
from tests.benchmarks.speed import cue


def clocked(work: Callable[[], object]) -> float:
    began = time.process_time()
    work()
    return time.process_time() - began


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, epilog="Data: music21's corpus.")
    parser.add_argument("--bars", type=int, default=64, help="length (64)")
    parser.add_argument("--for", dest="lineup", default="romantic", metavar="LINEUP", help="line-up (romantic)")
    parser.add_argument("--seconds", type=float, default=Limits().seconds, help="effort of the solver, as for a draft")
    parser.add_argument("--sound", action="store_true", help="the sound too")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        sketch = Path(name) / "cue.musicxml"
        cue(options.bars, sketch)
        result = pipeline.draft(sketch, options.lineup, limits=Limits(seconds=options.seconds))
        files: dict[str, bytes] = {}
        total = 0.0
        began = time.process_time()
        writers = delivery.outputs(result)
        print(f"{'made ready':<26}{time.process_time() - began:8.2f} s")
        total += time.process_time() - began
        for file_name, writer in writers.items():
            file = io.BytesIO()
            spent = clocked(lambda writer=writer, file=file: writer(file))  # type: ignore[misc]
            files[file_name] = file.getvalue()
            total += spent
            print(f"{file_name:<26}{spent:8.2f} s{len(files[file_name]) / 1000:10.0f} kB")
        score = Path(name) / "score.musicxml"
        score.write_bytes(files["score.musicxml"])
        finished = converter.parse(score, forceSource=True)
        theirs = clocked(lambda: GeneralObjectExporter(finished).parse())
        print(
            f"{'all of these':<26}{total:8.2f} s; music21 writes the score in {theirs:.2f} s, ratio {total / theirs:.2f}"
        )
        for extra in ("page", "pdf", "sound")[: 3 if options.sound else 2]:
            shown: dict[str, bytes] = {}
            asked = Extras(**{extra: True})
            spent = clocked(lambda asked=asked, shown=shown: shown.update(exhibits.exhibits(result, files, asked)))  # type: ignore[misc]
            print(f"{'--' + extra:<26}{spent:8.2f} s{sum(map(len, shown.values())) / 1000:10.0f} kB")


if __name__ == "__main__":
    main()
