"""From material and line-up to the problem: spans, cells, options, what is told of lines that nobody can take."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from autoorch.brief import Brief
from autoorch.errors import NoDraft
from autoorch.layers.model import Material
from autoorch.lineup import Lineup
from autoorch.problem.between import Between
from autoorch.problem.data import Option, ProblemData, Span
from autoorch.problem.draft import Choice
from autoorch.problem.kept import kept_options
from autoorch.problem.manners import Ways
from autoorch.problem.options import Offers
from autoorch.problem.spans import make_cells, make_spans
from autoorch.problem.wishes import wishes
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch
from autoorch.sketch.tempo import TempoMap
from autoorch.tables import Tables


def build_problem(
    sketch: Sketch,
    reading: Reading,
    material: Material,
    lineup: Lineup,
    tables: Tables,
    brief: Brief | None = None,
    kept: Sequence[Choice] = (),
) -> ProblemData:
    """Spans and options of the whole cue; choices of other drafts that are `kept` are options in any case.

    Raises:
        NoDraft: where a melody or bass line has no player at all in some span; names bar and strand.
    """
    tempo = TempoMap(sketch, reading.tempo)

    def quarter_bar(tick: int) -> int:
        beats, unit = sketch.bar_at(tick).metre
        return max(1, beats * sketch.ticks // unit)

    spans = make_spans(
        material,
        lineup,
        tables,
        tempo.seconds,
        quarter_bar,
        lambda tick: 4 * quarter_bar(tick) * int(tables.rule("continuity")["shortest_bars"]),
        quarter_bar if len(lineup.players) <= tables.rule("texture")["small"] else None,
    )
    cells = make_cells(material, spans, quarter_bar)
    required = _required(material, spans)
    asked = wishes(brief or Brief(), sketch, material.plan, lineup, tables)
    offers = Offers(material, lineup, tables, required, asked, Ways(material, tables), Between(material))
    options, losses = _options(sketch, material, lineup, spans, required, offers, kept)
    ms = tuple(round(1000 * (tempo.seconds(p.end) - tempo.seconds(p.start))) for p in material.plan)
    return ProblemData(
        tables=tables,
        lineup=lineup,
        material=material,
        chords=reading.chords,
        ticks=sketch.ticks,
        strands=material.strands,
        plan=material.plan,
        spans=tuple(spans),
        cells=tuple(cells),
        options=tuple(options),
        phrase_ms=ms,
        span_ms=tuple(round(1000 * (tempo.seconds(s.end) - tempo.seconds(s.start))) for s in spans),
        bars=tuple(bar.onset for bar in sketch.bars),
        bar_name={
            tick: sketch.bar_at(tick).number for tick in {bar.onset for bar in sketch.bars} | {s.start for s in spans}
        },
        required=required,
        losses=tuple(losses),
        wishes=asked,
        leading=(brief or Brief()).leading,
    )


def _options(
    sketch: Sketch,
    material: Material,
    lineup: Lineup,
    spans: Sequence[Span],
    required: Collection[tuple[int, int]],
    offers: Offers,
    kept: Sequence[Choice],
) -> tuple[list[Option], list[str]]:
    """(all options, numbered; what is told of lines that nobody can take)."""
    options: list[Option] = []
    losses: list[str] = []
    for span in spans:
        found = offers.found(span)
        losses += _losses(sketch, material, lineup, span, {line for one in found for line in one.lines}, required)
        own = list(offers.options(span, found, len(options)))
        more = kept_options(span, material.strands[span.strand], lineup, own, kept)
        options += own
        options += [replace(option, index=number) for number, option in enumerate(more, len(options))]
    return options, losses


def _losses(
    sketch: Sketch,
    material: Material,
    lineup: Lineup,
    span: Span,
    taken: Collection[int],
    required: Collection[tuple[int, int]],
) -> Iterator[str]:
    """What is to be told of a span's lines that nobody can take.

    Raises:
        NoDraft: where one of them is required.
    """
    strand = material.strands[span.strand]
    for line, profile in span.lines.items():
        if line in taken:
            continue
        bar = sketch.bar_at(profile.onset).number
        if (span.index, line) in required:
            raise NoDraft(
                f"bar {bar}: nobody in {lineup.name} can play the {strand.role} (strand {strand.id}, "
                f"{profile.notes[0].pitch}); add a player or edit the reading"
            )
        if strand.layer == "assigned" and not strand.lines[line].reduced:
            yield f"bar {bar}: {strand.role} line {strand.lines[line].id} fits no player"


def _required(material: Material, spans: Sequence[Span]) -> frozenset[tuple[int, int]]:
    """(span, line) of every melody line of the sketch and of the bass."""
    found = set()
    for span in spans:
        strand = material.strands[span.strand]
        if strand.layer != "assigned":
            continue
        for line in span.lines:
            if not strand.lines[line].reduced and (strand.role == "melody" or (strand.role == "bass" and line == 0)):
                found.add((span.index, line))
    return frozenset(found)
