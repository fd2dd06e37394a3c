"""Seconds by step, gap and peak memory over the length of the cue, against a floor: music21 reading the sketch and writing the
finished score once, with its own notation pass.

The cue is piano music out of music21's corpus, piece after piece, cut at so many bars. Each size runs in a process of its own.
"""

from __future__ import annotations

import argparse
import json
import math
import resource
import subprocess
import sys
import tempfile
import time
import zipfile
from copy import deepcopy
from pathlib import Path
from typing import Any

import numpy as np
from lxml import etree
from music21 import converter, corpus
from music21.musicxml.m21ToXml import GeneralObjectExporter

from autoorch import delivery, pipeline
from autoorch.solver.solve import Limits
from tests.benchmarks.clock import ORDER, step_seconds
from tests.benchmarks.pieces import PIANO

CHAIN = ("polonaise1", "polonaise3", "rag", "polonaise2", "polonaise4", "donna")
BARS = (16, 32, 64, 128, 256)
LINEUPS = ("chamber", "romantic")


def cue(bars: int, path: Path) -> None:
    """Write a two-stave piano sketch of so many bars; repeats and endings are taken out, the whole chain may come again."""
    root: etree._Element | None = None
    measures: list[etree._Element] = []
    for name in CHAIN:
        with zipfile.ZipFile(corpus.getWork(PIANO[name])) as archive:
            inside = next(file for file in archive.namelist() if file.endswith("xml") and not file.startswith("META"))
            piece = etree.fromstring(archive.read(inside))
        root = piece if root is None else root
        measures += piece.find("part").findall("measure")
    assert root is not None
    part = root.find("part")
    part[:] = [deepcopy(measures[k % len(measures)]) for k in range(bars)]
    for number, measure in enumerate(part, 1):
        measure.set("number", str(number))
        for barline in measure.findall("barline"):
            measure.remove(barline)
    path.write_bytes(etree.tostring(root, xml_declaration=True, encoding="UTF-8"))


def floor(sketch: Path, score: Path) -> float:
    """Seconds of music21 for reading the sketch and writing the score (reading the score is not counted)."""
    finished = converter.parse(score, forceSource=True)
    began = time.perf_counter()
    converter.parse(sketch, forceSource=True)
    GeneralObjectExporter(finished).parse()
    return time.perf_counter() - began


def measure(bars: int, lineup: str, seconds: float, with_floor: bool) -> dict[str, Any]:
    """One size for one line-up in this process; the effort grows with the cue beyond 64 bars."""
    seconds *= max(1.0, bars / 64)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sketch = folder / "cue.musicxml"
        cue(bars, sketch)
        with step_seconds() as spent:
            result = pipeline.draft(sketch, lineup, limits=Limits(seconds=seconds))
            delivery.write(result, folder / "draft")
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        return {
            "bars": bars,
            "lineup": lineup,
            "status": result.draft.status,
            "gap": result.draft.gap,
            "options": len(result.problem.options),
            "windows": result.solution.windows,
            "seconds": spent,
            "total": sum(spent.values()),
            "floor": floor(sketch, folder / "draft" / "score.musicxml") if with_floor else math.nan,
            "memory": memory,
        }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, epilog="Data: music21's corpus.")
    parser.add_argument("--bars", type=int, action="append", help=f"length, repeatable ({', '.join(map(str, BARS))})")
    parser.add_argument(
        "--for", dest="lineup", action="append", metavar="LINEUP", help="repeatable (chamber, romantic)"
    )
    parser.add_argument("--seconds", type=float, default=Limits().seconds, help="effort of the solver (40)")
    parser.add_argument("--json", type=Path, help="write one JSON object a run into this file")
    parser.add_argument(
        "--no-floor", dest="floor", action="store_false", help="without music21 (minutes at 1,024 bars)"
    )
    parser.add_argument("--here", action="store_true", help="the first size in this process, as JSON")
    options = parser.parse_args()
    sizes, lineups = options.bars or BARS, options.lineup or LINEUPS
    if options.here:
        print(json.dumps(measure(sizes[0], lineups[0], options.seconds, options.floor)))
        return
    print(
        f"{'bars':>5} {'line-up':<10}"
        + "".join(f"{step:>10}" for step in ORDER)
        + "     total     floor  ratio     gap   MB"
    )
    for lineup in lineups:
        totals = []
        for bars in sizes:
            command = [sys.executable, "-m", "tests.benchmarks.speed", "--here", "--for", lineup]
            command += ["--bars", str(bars), "--seconds", str(options.seconds)]
            command += [] if options.floor else ["--no-floor"]
            done = subprocess.run(command, capture_output=True, text=True, check=False)
            if done.returncode:
                print(f"{bars:>5} {lineup:<10} failed: {done.stderr.strip().splitlines()[-1]}", flush=True)
                continue
            row = json.loads(done.stdout)
            totals.append((bars, row["total"]))
            steps = "".join(f"{row['seconds'][step]:>10.2f}" for step in ORDER)
            ratio = row["total"] / row["floor"]
            tail = f"{row['total']:>10.2f}{row['floor']:>10.2f}{ratio:>7.2f}{row['gap']:>8.2%}{row['memory']:>5.0f}"
            print(f"{bars:>5} {lineup:<10}{steps}{tail}", flush=True)
            if options.json:
                with options.json.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(row) + "\n")
        if len(totals) > 1:
            logs = [(math.log(bars), math.log(total)) for bars, total in totals]
            slope = np.polyfit([x for x, _ in logs], [y for _, y in logs], 1)[0]
            print(f"      {lineup}: log seconds over log bars, slope {slope:.2f}", flush=True)


if __name__ == "__main__":
    main()
