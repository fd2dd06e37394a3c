"""Many cues at once: seconds for the same jobs with one worker and with two, and whether the bytes are the same.

The jobs are the examples for two line-ups, cut to so many; the machine should have nothing else to do.
"""

from __future__ import annotations

import argparse
import os
import time
from pathlib import Path

from autoorch.jobs import Made, run_all
from autoorch.orders import Order, jobs_of

SKETCHES = tuple(sorted((Path(__file__).resolve().parents[2] / "examples").glob("*/sketch.musicxml")))

BUSY = 0.25
"""Load a core at the start from which the seconds are not to be believed."""


def main() -> None:
    """Print a row for each number of workers."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=8)
    parser.add_argument("--workers", type=int, nargs="+", default=[1, 2])
    parser.add_argument("--for", dest="lineups", nargs="+", default=["classical", "romantic"])
    asked = parser.parse_args()
    load, cores = os.getloadavg()[0], os.cpu_count() or 1
    if load > BUSY * cores:
        print(f"the machine is busy already (load {load:.1f} on {cores} cores): only the bytes count, not the seconds")
    jobs, _ = jobs_of(Order(sketches=SKETCHES, lineups=tuple(asked.lineups), output=Path("scaling")))
    jobs = jobs[: asked.jobs]
    base: tuple[float, dict[int, dict[str, bytes]]] | None = None
    for workers in asked.workers:
        start = time.perf_counter()
        found = {index: dict(made.files) for index, made in run_all(jobs, workers) if isinstance(made, Made)}
        seconds = time.perf_counter() - start
        base = base or (seconds, found)
        same = "same bytes" if found == base[1] else "OTHER BYTES"
        load = os.getloadavg()[0]
        share = seconds / base[0]
        print(
            f"{len(found)} drafts, {workers} workers: {seconds:.1f} s, {share:.2f} of the first; {same}; load {load:.1f}"
        )


if __name__ == "__main__":
    main()
