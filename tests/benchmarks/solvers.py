"""The draft's solver beside others on the same problems: cost, gap and seconds, in one run.

    python -m tests.benchmarks.solvers [--piece P] [--for LINEUP] [--seconds 40] [--highs]

fixed: a mapping that never changes (melody to first violins and flute, bass to cellos and basses, the rest to the middle);
greedy: option by option, whatever lowers the cost most; windows: as `draft` solves; one piece: the same model without windows,
with the same effort; highs: the same statements as a mixed-integer program, with the wall time that the windows took (at
least 10 s). "!n" behind a cost: n limits are broken, each thus worth more than any cost. A cost of windows within 2 % of one
piece, where that is proven, is what windows may lose.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import TypeVar

from autoorch.brief import Brief
from autoorch.layers.build import build_material
from autoorch.lineup import parse_lineup
from autoorch.problem.build import build_problem
from autoorch.problem.data import ProblemData
from autoorch.roles import read_roles
from autoorch.rules import RULES, report
from autoorch.sketch import read_sketch
from autoorch.solver.solve import Limits, Solution, solve
from autoorch.solver.statements import Statements, gather
from autoorch.tables import load_tables
from tests.benchmarks.baselines import fixed_mapping, greedy
from tests.benchmarks.pieces import LINEUPS, PIANO, PIECES, sketch_file
from tests.support.highs import best

T = TypeVar("T")
WHOLE = 10**9


def told(data: ProblemData, chosen: frozenset[int]) -> str:
    """Cost of a choice by the rules' own check, and how many limits it breaks."""
    reports = [report(rule, data, chosen) for rule in RULES]
    broken = sum(len(r.broken) for r in reports)
    return f"{sum(r.cost for r in reports)}" + (f"!{broken}" if broken else "")


def posed(sketch: Path, lineup: str) -> ProblemData:
    """The problem of a sketch, with no brief."""
    tables, brief = load_tables(), Brief()
    read = read_sketch(sketch)
    reading, players = read_roles(read, tables), parse_lineup(lineup, tables)
    return build_problem(read, reading, build_material(read, reading, players, brief, tables), players, tables, brief)


def timed(work: Callable[[], T]) -> tuple[T, float]:
    began = time.perf_counter()
    return work(), time.perf_counter() - began


def row(data: ProblemData, statements: Statements, seconds: float, highs: bool) -> tuple[str, float | None]:
    """One line of figures, and cost of the windows over that of one piece where that is proven within 0.5 %."""
    fixed = told(data, fixed_mapping(data))
    near, near_seconds = timed(lambda: greedy(data, statements))
    ours, our_seconds = timed(lambda: solve(data, statements, Limits(seconds=seconds)))
    whole, whole_seconds = timed(lambda: solve(data, statements, Limits(seconds=seconds, options=WHOLE)))
    line = (
        f"fixed {fixed:>9}  greedy {told(data, near):>9} {near_seconds:5.1f} s  windows {_solved(ours)} {our_seconds:5.1f} s"
        f"  one piece {_solved(whole)} {whole_seconds:5.1f} s"
    )
    if highs:
        cost, proven = best(data, statements, max(10.0, our_seconds))
        line += f"  highs {'none' if cost is None else cost:>7}{' proven' if proven else ''}"
    close = whole.slack <= 0.005 * whole.solver_cost
    return line, ours.solver_cost / max(1, whole.solver_cost) if close else None


def _solved(solution: Solution) -> str:
    return f"{solution.solver_cost:>7} {solution.slack / max(1, solution.solver_cost):6.2%}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--piece", action="append", choices=PIECES, help="repeatable (all piano pieces)")
    parser.add_argument("--for", dest="lineup", action="append", metavar="LINEUP", help="repeatable (all)")
    parser.add_argument("--seconds", type=float, default=Limits().seconds)
    parser.add_argument("--highs", action="store_true")
    options = parser.parse_args()
    ratios = []
    for piece, lineup in product(options.piece or PIANO, options.lineup or LINEUPS):
        with tempfile.TemporaryDirectory() as folder:
            problem = posed(sketch_file(piece, Path(folder)), lineup)
        line, ratio = row(problem, gather(problem), options.seconds, options.highs)
        print(f"{piece:<11} {lineup:<17} {line}", flush=True)
        if ratio is not None:
            ratios.append(ratio)
    if ratios:
        print(
            f"windows over one piece, {len(ratios)} cues: mean {sum(ratios) / len(ratios):.4f}, worst {max(ratios):.4f}"
        )


if __name__ == "__main__":
    main()
