"""The masters by our objective: real scorings against random ones, the fixed mapping, our own and near misses of themselves.

    python -m tests.benchmarks.masters DATA [--half set|report] [--worked worked_notes.csv]

Each passage of a real score becomes a sketch of our kind (its reduction, with the annotated tune and the lines that its parts
have), its scoring becomes choices of our problem, and the rules price it beside 200 random playable scorings with as many
takes, a fixed mapping, our own solution for the same line-up, and near misses: one line given to another player, one octave
moved, everybody doubles, a solo thickened, quiet players filled in, entries brought forward to the phrase's start. What can't
be mapped (reduced doublings, fragments of lines) is counted and left out of the sketch for everybody: "told" is the share of
the parts' notes that the choices sound, "extra" the share that they add, "out" the share of the sketch left out. What must hold
comes first: a scoring that breaks a limit (a third that nobody has) is beaten by one that breaks fewer. Weights are
set on every other passage and reported on the rest. Colours that our own plan of a cue would choose are not asked of them.

DATA: a folder with the scores STEM.mxl and STEM_annotations.csv of movements of the public OpenScore Orchestra data set
(github.com/MarkGotham/Hauptstimme). --worked: a table of notes of short passages besides (movement, first_bar, passage, part,
onset_quarter, duration_quarter, sounding_pitch_midi, dynamic); who has the tune stands in constraints/palette.toml.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from autoorch.brief import Brief
from autoorch.errors import NoDraft
from autoorch.layers.build import build_material
from autoorch.layers.model import PhrasePlan
from autoorch.problem.build import build_problem
from autoorch.problem.data import ProblemData
from autoorch.solver.solve import Limits, solve
from autoorch.solver.statements import gather
from autoorch.tables import Tables, load_tables
from tests.benchmarks.baselines import fixed_mapping
from tests.benchmarks.masters_reading import reading_of
from tests.benchmarks.masters_score import Passage, passage, read_movement
from tests.benchmarks.masters_scoring import Prices, mapped
from tests.benchmarks.masters_worked import worked
from tests.benchmarks.near_misses import Takes, near_misses, scorings

SEED = 104
RANDOMS_BEATEN, NEAR_BEATEN = 0.80, 0.75
MEDIAN = 2
"""Column of the medians in the shares of constraints/texture.toml."""
HALVES = ("set", "report")


@dataclass
class Row:
    """One passage: its scoring's cost by rule, and what the others cost.

    Attributes:
        told, extra: shares of the parts' notes that the mapped choices sound, and that they add.
        left_out: share of the reduction's notes that no mapped choice sounds.
        fixed: cost by rule of the fixed mapping.
        near: (kind, cost by rule) of each near miss.
        fixed_broken: limits that the fixed mapping breaks.
    """

    name: str
    half: str
    told: float
    extra: float
    cost: Counter[str]
    fixed: Counter[str]
    ours: int
    randoms: list[int] = field(default_factory=list)
    near: list[tuple[str, Counter[str]]] = field(default_factory=list)
    left_out: float = 0.0
    broken: list[str] = field(default_factory=list)
    fixed_broken: list[str] = field(default_factory=list)

    @property
    def total(self) -> int:
        return self.cost.total()

    @property
    def beats_fixed(self) -> bool:
        """Fewer broken limits than the fixed mapping, or as many and cheaper."""
        return (len(self.broken), self.total) < (len(self.fixed_broken), self.fixed.total())

    @property
    def beaten(self) -> float:
        """Share of the random scorings that cost more."""
        return sum(self.total < other for other in self.randoms) / max(1, len(self.randoms))

    def near_beaten(self, kind: str = "") -> tuple[int, int]:
        """(near misses that cost more, all of them), of one kind or all."""
        costs = [cost.total() for name, cost in self.near if kind in ("", name)]
        return sum(self.total < cost for cost in costs), len(costs)


def measure(one: Passage, half: str, tables: Tables, randoms: int, each: int, seconds: float) -> Row | None:
    """The passage's row; None where nobody can score its reduction."""
    try:
        data, left_out = settled(one, tables)
        statements = gather(data)
        ours = solve(data, statements, Limits(seconds=seconds)).solver_cost
    except NoDraft:
        return None
    prices = Prices(data, statements)
    takes = Takes(data, prices.limits)
    master, fixed = mapped(one, data), fixed_mapping(data)
    cost = prices.by_rule(master.chosen)
    row = Row(
        one.name,
        half,
        master.told / max(1, master.notes),
        master.extra / max(1, master.notes),
        cost,
        prices.by_rule(fixed),
        ours,
        left_out=left_out,
        broken=prices.broken(master.chosen),
        fixed_broken=prices.broken(fixed),
    )
    row.randoms = [prices.total(other) for other in scorings(takes, master.chosen, randoms, SEED)]
    row.near = [(kind, prices.by_rule(other)) for kind, other in near_misses(takes, master.chosen, each, SEED)]
    return row


def posed(one: Passage, tables: Tables) -> ProblemData:
    """The passage's problem, nothing added, under a plan without colours of our own: the counted median of each dynamic."""
    brief = Brief(intent="faithful")
    reading = reading_of(one, tables)
    material = build_material(one.sketch, reading, one.lineup, brief, tables)
    share = tables.rule("texture")["active_share"]
    plan = tuple(
        PhrasePlan(p.start, p.end, share[p.dynamic][MEDIAN], p.dynamic, label=p.label) for p in reading.phrases
    )
    return build_problem(one.sketch, reading, replace(material, plan=plan), one.lineup, tables, brief)


def settled(one: Passage, tables: Tables) -> tuple[ProblemData, float]:
    """The problem without the sketch notes that no mapped choice sounds, and their share; read anew until none is left."""
    data = posed(one, tables)
    total = len(one.sketch.notes)
    while True:
        carried = mapped(one, data).carried
        notes = tuple(note for note in one.sketch.notes if note.id in carried)
        if len(notes) == len(one.sketch.notes):
            return data, 1 - len(notes) / total
        one = replace(one, sketch=replace(one.sketch, notes=notes))
        data = posed(one, tables)


def passages(folder: Path, bars: int, tables: Tables) -> Iterator[Passage]:
    """Each movement from end to end, `bars` at a time."""
    for path in sorted(folder.glob("*.mxl")):
        if path.stem.endswith("_melody"):
            continue
        movement = read_movement(path, tables)
        for first in range(0, len(movement.score.bars) - bars + 1, bars):
            yield passage(movement, first, bars)


def line(row: Row) -> str:
    won, total = row.near_beaten()
    return (
        f"{row.name:<34} {row.half:<6} told {row.told:4.0%} extra {row.extra:4.0%} out {row.left_out:4.0%}  "
        f"cost {row.total:>6} ours {row.ours:>6} fixed {row.fixed.total():>6}!{len(row.fixed_broken)}  "
        f"randoms {row.beaten:4.0%}  near {won:>2} of {total:>2}  limits broken {len(row.broken)}"
    )


def summary(rows: Sequence[Row]) -> Iterator[str]:
    """What the targets ask, over some rows; then which rules decide where the master loses."""
    if not rows:
        return
    passed = sum(row.beaten >= RANDOMS_BEATEN for row in rows)
    randoms = sum(row.beaten for row in rows) / len(rows)
    yield f"  at least {RANDOMS_BEATEN:.0%} of the randoms beaten: {passed} of {len(rows)} passages; mean {randoms:.0%}"
    worse = [row for row in rows if not row.beats_fixed]
    why = _told(_more((row.cost, row.fixed) for row in worse))
    yield f"  fixed mapping beaten: {len(rows) - len(worse)} of {len(rows)}  lost by: {why}"
    won = sum(row.near_beaten()[0] for row in rows)
    total = sum(row.near_beaten()[1] for row in rows)
    good = sum(row.near_beaten()[0] >= NEAR_BEATEN * row.near_beaten()[1] for row in rows)
    yield f"  near misses beaten: {won} of {total} ({won / max(1, total):.0%}); {NEAR_BEATEN:.0%} and more in {good} passages"
    for kind in dict.fromkeys(kind for row in rows for kind, _ in row.near):
        own = [row.near_beaten(kind) for row in rows]
        won, total = sum(pair[0] for pair in own), sum(pair[1] for pair in own)
        near = [(row, cost) for row in rows for name, cost in row.near if name == kind]
        why = _told(_more((row.cost, cost) for row, cost in near if cost.total() <= row.total))
        yield f"    {kind:<26} {won:>4} of {total:>4} ({won / max(1, total):4.0%})  lost by: {why}"
    told = sum(row.told for row in rows) / len(rows)
    extra, left_out = (sum(getattr(row, name) for row in rows) / len(rows) for name in ("extra", "left_out"))
    yield f"  told {told:.0%} of the notes, {extra:.0%} added by the mapping, {left_out:.0%} of the sketches left out"
    gap: dict[str, int] = defaultdict(int)
    for row in rows:
        for rule, amount in row.cost.items():
            gap[rule] += amount
    yield "  cost of the masters by rule: " + ", ".join(f"{k} {v}" for k, v in sorted(gap.items(), key=lambda i: -i[1]))


def _more(pairs: Iterable[tuple[Counter[str], Counter[str]]]) -> Counter[str]:
    """Rule -> what the first of each pair pays more than the second, in all."""
    found: Counter[str] = Counter()
    for one, other in pairs:
        found.update(one)
        found.subtract(other)
    return found


def _told(lost: Counter[str]) -> str:
    rules = sorted(lost.items(), key=lambda item: -item[1])
    return ", ".join(f"{rule} {amount:+}" for rule, amount in rules if amount) or "none"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("data", nargs="?", type=Path, help="folder of scores with their annotations")
    parser.add_argument("--worked", type=Path, help="a table of notes of short passages, measured too")
    parser.add_argument("--bars", type=int, default=24, help="bars a passage (24)")
    parser.add_argument("--half", choices=HALVES, help="only one half of the passages (both)")
    parser.add_argument("--every", type=int, default=1, help="every Nth passage of a half only (1)")
    parser.add_argument("--randoms", type=int, default=200, help="random scorings a passage (200)")
    parser.add_argument("--each", type=int, default=6, help="near misses of each kind (6)")
    parser.add_argument("--seconds", type=float, default=5.0, help="effort of the solver for our own (5)")
    parser.add_argument("--constraints", type=Path, help="folder of tables of one's own")
    parser.add_argument("--json", type=Path, help="write one JSON object a passage into this file")
    options = parser.parse_args()
    tables = load_tables(options.constraints)
    rows: list[Row] = []
    left_out = []
    found = list(passages(options.data, options.bars, tables)) if options.data else []
    found += worked(options.worked, tables) if options.worked else ()
    for number, one in enumerate(found):
        half = HALVES[number % 2]
        if (options.half and half != options.half) or number // 2 % options.every:
            continue
        row = measure(one, half, tables, options.randoms, options.each, options.seconds)
        if row is None:
            left_out.append(one.name)
            continue
        rows.append(row)
        print(line(row), flush=True)
        if options.json:
            with options.json.open("a", encoding="utf-8") as file:
                file.write(json.dumps({"name": row.name, "half": half, "cost": row.cost, "near": row.near}) + "\n")
    for half in HALVES:
        own = [row for row in rows if row.half == half]
        print(f"\n{half}: {len(own)} passages")
        print("\n".join(summary(own)))
    if left_out:
        print(f"\nnobody can score the reduction of {', '.join(left_out)}")


if __name__ == "__main__":
    main()
