"""Processor seconds of reading a sketch against music21 parsing the same file, without harmony and with it, and the slope.

The cue is `speed.cue`: piano music of music21's corpus, piece after piece, at so many bars. "Sketch" is the file into the
model; "reading" adds strands, roles, phrases, chords and moments. Slope: least squares of log seconds over log bars.
"""

from __future__ import annotations

import argparse
import math
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from music21 import converter

from autoorch.roles import read_roles
from autoorch.sketch import read_sketch
from autoorch.tables import load_tables
from tests.benchmarks.speed import cue

BARS = (62, 125, 250, 500, 1000)


def spent(run: Callable[[], Any]) -> tuple[float, Any]:
    """Processor seconds and the result."""
    began = time.process_time()
    found = run()
    return time.process_time() - began, found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--bars", type=int, action="append", help=f"repeatable ({', '.join(map(str, BARS))})")
    options = parser.parse_args()
    tables = load_tables()
    print(f"{'bars':>6} {'music21':>8} {'sketch':>8} {'ratio':>6} {'reading':>8} {'ratio':>6}")
    rows = []
    with tempfile.TemporaryDirectory() as name:
        for bars in (8, *(options.bars or BARS)):  # the first run only loads what is loaded once
            path = Path(name) / f"{bars}.musicxml"
            cue(bars, path)
            floor, _ = spent(lambda path=path: converter.parse(path, forceSource=True))  # type: ignore[misc]
            plain, sketch = spent(lambda path=path: read_sketch(path))  # type: ignore[misc]
            roles, _ = spent(lambda sketch=sketch: read_roles(sketch, tables))  # type: ignore[misc]
            if bars == 8:
                continue
            rows.append((bars, plain, plain + roles))
            ratios = (plain / floor, (plain + roles) / floor)
            print(
                f"{bars:>6} {floor:>8.2f} {plain:>8.2f} {ratios[0]:>6.2f} {plain + roles:>8.2f} {ratios[1]:>6.2f}",
                flush=True,
            )
    if len(rows) > 1:
        logs = np.log(np.array(rows))
        slopes = [float(np.polyfit(logs[:, 0], logs[:, k], 1)[0]) for k in (1, 2)]
        print(f"slope: sketch {slopes[0]:.2f}, reading {slopes[1]:.2f}")
        assert all(math.isfinite(slope) for slope in slopes)


if __name__ == "__main__":
    main()
