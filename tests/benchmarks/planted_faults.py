"""Plants faults of every kind at random into clean scores and counts how many the checker finds.

    python -m tests.benchmarks.planted_faults [--each 40] [SCORE.musicxml ...]

Without scores: chorales of music21's corpus laid out plainly for 21 instruments. With scores: each must be part-wise
MusicXML (not compressed) with English part names, such as the score.musicxml of a draft for a romantic line-up.
"""

from __future__ import annotations

import argparse
import random
import tempfile
import time
from pathlib import Path

from autoorch.check import CheckReport, check
from tests.check.host import chorale_host
from tests.check.kinds import KINDS
from tests.check.plant import Host


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("scores", nargs="*", type=Path, help="clean scores to plant in")
    parser.add_argument("--each", type=int, default=40, help="faults of each kind (40)")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--kind", choices=sorted(KINDS), help="only this kind")
    arguments = parser.parse_args()
    hosts = [Host.read(path) for path in arguments.scores] or [chorale_host()]
    names = [arguments.kind] if arguments.kind else list(KINDS)
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder) / "score.musicxml"
        clean = [check(host.save(work)) for host in hosts]
        began = time.perf_counter()
        print(f"{'kind':36} found  planted  share")
        for name in names:
            row(name, hosts, clean, arguments.each, arguments.seed, work)
        print(f"{time.perf_counter() - began:.0f} s")


def row(name: str, hosts: list[Host], clean: list[CheckReport], each: int, seed: int, work: Path) -> None:
    rng = random.Random(f"{name} {seed}")
    found = planted = 0
    missed = []
    for number in range(each):
        which = number % len(hosts)
        host = hosts[which].fresh()
        fault = KINDS[name](host, rng)
        if fault is None:
            continue
        planted += 1
        if fault.found(clean[which], check(host.save(work)), host.numbers):
            found += 1
        else:
            missed.append(fault)
    share = f"{found / planted:.0%}" if planted else "no place for it"
    print(f"{name:36} {found:5}  {planted:7}  {share}", flush=True)
    for fault in missed[:3]:
        print(f"    missed: {fault}")


if __name__ == "__main__":
    main()
