"""What can't hold together, found out in how long: 30 directions on a cue of 64 bars, two of which clash, against one solve
of the cue without the clash; processor seconds. Fails where it takes more than three times as long or names others."""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from autoorch.brief import Brief, parse_direction
from autoorch.errors import NoDraft
from autoorch.layers.build import build_material
from autoorch.lineup import parse_lineup
from autoorch.problem.build import build_problem
from autoorch.problem.data import ProblemData
from autoorch.roles import read_roles
from autoorch.sketch import read_sketch
from autoorch.solver.solve import solve
from autoorch.solver.statements import gather
from autoorch.tables import load_tables

SKETCH = Path(__file__).resolve().parents[2] / "examples" / "lighthouse-waltz" / "sketch.musicxml"
INNOCENT = tuple(f"{bar}-{bar + 3} {role} avoid Trumpets" for bar in range(1, 57, 4) for role in ("harmony", "figure"))
CLASHES = (
    ("25-40 melody only Oboes", "33-36 melody avoid Oboes"),
    ("1-8 melody only Flutes", "1-8 melody must Trumpets"),
    ("41-64 melody only Strings", "57-64 melody must Horns"),
)
MOST = 3.0
"""An explanation may take so many solves."""


def problem(said: tuple[str, ...], lineup: str) -> ProblemData:
    """The cue with these directions."""
    tables = load_tables()
    brief = Brief(directions=tuple(parse_direction(text) for text in said))
    sketch, players = read_sketch(SKETCH), parse_lineup(lineup, tables)
    reading = read_roles(sketch, tables)
    material = build_material(sketch, reading, players, brief, tables)
    return build_problem(sketch, reading, material, players, tables, brief)


def seconds(data: ProblemData) -> tuple[float, tuple[str, ...]]:
    """(processor seconds from the problem to the draft or the explanation, directions named)."""
    start = time.process_time()
    try:
        solve(data, gather(data))
        core: tuple[str, ...] = ()
    except NoDraft as error:
        core = error.core
    return time.process_time() - start, core


def main() -> None:
    """A row for each line-up and clash."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--for", dest="lineups", nargs="+", default=["chamber", "classical", "romantic"])
    asked = parser.parse_args()
    failed = False
    for lineup in asked.lineups:
        once, _ = seconds(problem(INNOCENT, lineup))
        for clash in CLASHES:
            data = problem((*INNOCENT, *clash), lineup)
            assert len({wish.name for wish in data.wishes}) == 30
            took, core = seconds(data)
            right = set(core) == {str(parse_direction(text)) for text in clash}
            failed = failed or not right or took > MOST * once
            print(f"{lineup:10} one solve {once:.1f} s, explained in {took:.1f} ({took / once:.2f}); {'; '.join(core)}")
    raise SystemExit(failed)


if __name__ == "__main__":
    main()
