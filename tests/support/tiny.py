"""Problems small enough to read: a few strands of a few notes for a few players, one phrase, four crotchets a bar."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from autoorch.layers.model import Entrance, Manner, Material, MaterialLine, MaterialNote, MaterialStrand, PhrasePlan
from autoorch.lineup import Lineup, Player
from autoorch.pitch import parse
from autoorch.problem.build import build_problem
from autoorch.problem.data import ProblemData
from autoorch.roles.model import Chord, Phrase, Reading
from autoorch.sketch.model import Bar, Sketch, SketchNote, Staff
from autoorch.tables import load_tables

TICKS = 4
BAR = 4 * TICKS


def players(*names: str, size: int = 12) -> Lineup:
    """A line-up by instrument ids; strings and voices are sections of `size`; like ones are numbered."""
    tables = load_tables()
    found: list[Player] = []
    for name in names:
        instrument = tables.instruments[name]
        number = 1 + sum(1 for p in found if p.instrument.id == name)
        many = names.count(name) > 1
        whole = size if instrument.family in ("strings", "voice") else 1
        found.append(
            Player(f"{name} {number}" if many else name, instrument, whole, number if many else 0, instrument.bracket)
        )
    return Lineup("tiny", tuple(found))


def line(name: str, text: str, crotchets: float = 1.0) -> MaterialLine:
    """A line of equal notes, such as "C4 D4 - E4" ("-" rests)."""
    length = round(crotchets * TICKS)
    notes = [
        MaterialNote(f"{name}.{k}", k * length, length, parse(word), (f"{name}.{k}",))
        for k, word in enumerate(text.split())
        if word != "-"
    ]
    return MaterialLine(name, tuple(notes))


def strand(name: str, role: str, *lines: MaterialLine, **more: object) -> MaterialStrand:
    """A strand; `layer` is "assigned" unless given."""
    values: dict[str, object] = {"layer": "assigned", **more}
    return MaterialStrand(name, role, lines=tuple(lines), **values)  # type: ignore[arg-type]


def problem(
    lineup: Lineup,
    *strands: MaterialStrand,
    dynamic: str = "mf",
    weight: float = 0.5,
    chords: Sequence[Chord] = (),
    bars: int = 1,
    phrases: int = 1,
    tempo: float = 60.0,
    manners: Sequence[Manner] = (),
    entrances: Sequence[Entrance] = (),
) -> ProblemData:
    """The problem of `bars` bars in `phrases` equal phrases."""
    notes = [n for s in strands for ln in s.lines if not ln.reduced and s.layer == "assigned" for n in ln.notes]
    notes.sort(key=lambda n: (n.onset, n.id))
    sketch = Sketch(
        TICKS,
        (Staff(0, ""),),
        tuple(Bar(k, str(k + 1), k * BAR, BAR, (4, 4), 0) for k in range(bars)),
        tuple(SketchNote(n.id, n.onset, n.duration, n.pitch, 0, 1) for n in notes),
    )
    edges = [round(k * bars * BAR / phrases) for k in range(phrases + 1)]
    spans = list(itertools.pairwise(edges))
    reading = Reading((), tuple(Phrase(a, b, dynamic=dynamic) for a, b in spans), tuple(chords), tempo=tempo)
    material = Material(
        tuple(strands),
        tuple(PhrasePlan(a, b, weight, dynamic, section=k) for k, (a, b) in enumerate(spans)),
        manners=tuple(manners),
        entrances=tuple(entrances),
    )
    return build_problem(sketch, reading, material, lineup, load_tables())


def taken(data: ProblemData, *wanted: tuple[str, str, int]) -> frozenset[int]:
    """Options by (player, line id, octave), whole sections, in every span that has them.

    Raises:
        KeyError: where no option fits a wish.
    """
    found = set()
    for player, line_id, octave in wanted:
        hits = [
            o.index
            for o in data.options
            if data.players[o.player].name == player
            and o.octave == octave
            and o.share == 12
            and [data.strands[data.spans[o.span].strand].lines[k].id for k in o.lines] == [line_id]
        ]
        if not hits:
            raise KeyError((player, line_id, octave))
        found.update(hits)
    return frozenset(found)
