"""Where colour may change: each strand cut at phrase joints, at its own cuts, and wherever no one instrument could go on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise

from autoorch.instruments import Instrument
from autoorch.layers.model import Material, MaterialNote
from autoorch.lineup import Lineup
from autoorch.problem.data import Cell, Span, notes_in
from autoorch.problem.feasible import STROKES
from autoorch.problem.profile import profile
from autoorch.tables import Tables


def fitting(
    instruments: Sequence[Instrument], notes: Sequence[MaterialNote], tables: Tables, farthest: int = 0
) -> list[Instrument]:
    """The instruments that have all the notes in their extreme range, moved by at most `farthest` octaves, and can make all leaps
    at a stroke."""
    pitches = [note.pitch.midi for note in notes]
    low, high = min(pitches), max(pitches)
    widest = max((leap for leap, _ in _leaps(notes)), default=0)
    times: float = tables.rule("playability")["stroke"]["widest"]
    found = []
    for instrument in instruments:
        bottom, top = instrument.extreme
        reach = instrument.kind not in STROKES or widest <= times * instrument.fluency.leap
        if reach and any(low + 12 * k >= bottom and high + 12 * k <= top for k in range(-farthest, farthest + 1)):
            found.append(instrument)
    return found


def fits(instruments: Sequence[Instrument], notes: Sequence[MaterialNote], tables: Tables) -> bool:
    """Some instrument can have all the notes at some octave shift."""
    return bool(fitting(instruments, notes, tables, tables.rule("continuity")["cut"]["octaves"]))


def cut(
    notes: Sequence[MaterialNote],
    start: int,
    end: int,
    instruments: Sequence[Instrument],
    tables: Tables,
    least: int,
    at: Sequence[int] = (),
) -> list[int]:
    """Cut points inside (start, end): those of `at`, and more until each piece fits some instrument.

    A piece that fits nobody is cut so that as many as can be of its two parts fit and last for `least` ticks, before the note
    after the widest leap nearest to its middle; a single note stays as it is.
    """
    inner = notes_in(notes, start, end)
    points = [tick for tick in at if start < tick < end]
    if points:
        edges = [start, *points, end]
        more = [tick for a, b in pairwise(edges) for tick in cut(notes, a, b, instruments, tables, least)]
        return sorted({*points, *more})
    if len({n.onset for n in inner}) < 2 or fits(instruments, inner, tables):
        return []
    middle = (inner[0].onset + inner[-1].onset) / 2
    leaps = [
        (
            fits(instruments, inner[:k], tables) + fits(instruments, inner[k:], tables),
            min(b.onset - start, end - b.onset, least),
            _leap(a, b),
            -abs(b.onset - middle),
            -b.onset,
        )
        for k, (a, b) in enumerate(pairwise(inner), 1)
        if b.onset > start and b.onset > a.onset
    ]
    if not leaps:
        return []
    tick = -max(leaps)[-1]
    rest = (cut(notes, a, b, instruments, tables, least) for a, b in ((start, tick), (tick, end)))
    return sorted({tick, *(one for more in rest for one in more)})


def _kept(points: Iterable[int], edges: Iterable[int], shortest: int) -> list[int]:
    """Those of the points, in time order, that leave pieces of at least `shortest` ticks to each other and to the edges."""
    kept: list[int] = []
    fixed = sorted(edges)
    for tick in sorted(points):
        if fixed[0] < tick < fixed[-1] and all(abs(tick - other) >= shortest for other in (*fixed, *kept)):
            kept.append(tick)
    return kept


def _entries(lines: Sequence[tuple[int, Sequence[MaterialNote]]], rest: Callable[[int], int]) -> set[int]:
    """Where a strand comes in again after all its lines have been silent for `rest`."""
    found: set[int] = set()
    end: int | None = None
    for note in sorted((note for _, notes in lines for note in notes), key=lambda note: note.onset):
        if end is not None and note.onset - end >= rest(note.onset):
            found.add(note.onset)
        end = max(end or 0, note.end)
    return found


def _leap(first: MaterialNote, second: MaterialNote) -> int:
    return abs(second.pitch.midi - first.pitch.midi)


def _leaps(notes: Sequence[MaterialNote]) -> Iterator[tuple[int, int]]:
    """(semitones, tick of the second note) of notes that follow each other without a rest."""
    return ((_leap(a, b), b.onset) for a, b in pairwise(notes) if a.onset < b.onset <= a.end)


def _parting(
    notes: Sequence[MaterialNote], edges: Sequence[int], instruments: Sequence[Instrument], tables: Tables, wide: int
) -> Iterator[int]:
    """Leaps of at least `wide` semitones in the pieces between `edges` over which not even half of those can go who have the
    longer part."""
    for start, end in pairwise(edges):
        inner = notes_in(notes, start, end)
        for leap, tick in _leaps(inner):
            if leap >= wide:
                longer = max(notes_in(inner, start, tick), notes_in(inner, tick, end), key=len)
                if 2 * len(fitting(instruments, inner, tables)) < len(fitting(instruments, longer, tables)):
                    yield tick


def _strays(
    notes: Sequence[MaterialNote], edges: Sequence[int], instruments: Sequence[Instrument], tables: Tables, bar: int
) -> Iterator[int]:
    """Where a few notes between rests begin and end, of at most half a bar, without which twice as many instruments or more could
    have the piece between `edges` that holds them: the end of a tune in the other hand, far below, is for somebody else."""
    stray: int = tables.rule("continuity")["cut"]["stray_notes"]
    for start, end in pairwise(edges):
        inner = notes_in(notes, start, end)
        runs = _runs(inner)
        for k, run in enumerate(runs):
            others = [note for other in runs if other is not run for note in other]
            if (
                len({note.onset for note in run}) > stray
                or 2 * (run[-1].end - run[0].onset) > bar
                or len(others) < 2 * len(run)
            ):
                continue
            fewer = 2 * len(fitting(instruments, inner, tables)) <= len(fitting(instruments, others, tables))
            if fewer and fits(instruments, run, tables):
                yield from (run[0].onset, *(later[0].onset for later in runs[k + 1 : k + 2]))


def _runs(notes: Sequence[MaterialNote]) -> list[list[MaterialNote]]:
    """Notes that follow each other without a rest."""
    runs: list[list[MaterialNote]] = []
    for note in notes:
        if not runs or note.onset > max(other.end for other in runs[-1]):
            runs.append([])
        runs[-1].append(note)
    return runs


def make_spans(
    material: Material,
    lineup: Lineup,
    tables: Tables,
    seconds: Callable[[int], float],
    quarter_bar: Callable[[int], int],
    shortest: Callable[[int], int],
    rest: Callable[[int], int] | None = None,
) -> list[Span]:
    """All spans in order of phrase, then strand, then time.

    Args:
        material: the strands.
        lineup: who could play them.
        tables: what they can do.
        seconds: ticks to seconds.
        quarter_bar: tick -> ticks of a quarter of the bar there.
        shortest: tick -> least length in ticks of a span that the strand's own cuts may make there.
        rest: tick -> ticks of silence at which a strand is cut too, so that few players can serve strands in turn; where there
            are few, a tune is cut more often too.
    """
    spans: list[Span] = []
    figures, hard = tables.rule("continuity")["cut"], tables.rule("playability")
    pitched = [p.instrument for p in lineup.players if p.instrument.kind not in ("unpitched", "timpani")]
    pitched = [one for one in pitched if one.kind in ("wind", "bowed")] or pitched
    for number, phrase in enumerate(material.plan):
        for index, strand in enumerate(material.strands):
            lines = [(k, notes_in(line.notes, phrase.start, phrase.end)) for k, line in enumerate(strand.lines)]
            lines = [(k, notes) for k, notes in lines if notes]
            if not lines:
                continue
            bar = 4 * quarter_bar(phrase.start)
            points = {tick for tick in material.seams if phrase.start < tick < phrase.end}
            if strand.role == "melody":
                points |= {turn.start for turn in phrase.turns if turn.tune}
            points |= set(_kept(strand.cuts, (phrase.start, phrase.end), shortest(phrase.start)))
            answers = {tick for name, tick in material.answers if name == strand.id}
            points |= set(_kept(answers, (phrase.start, phrase.end), bar))
            if rest is not None and strand.layer == "assigned":
                points |= _entries(lines, rest)
            if not strand.families:
                edges = [phrase.start, *sorted(points), phrase.end]
                few = rest is not None and strand.role == "melody"
                wide = figures["tune_leap" if few else "line_leap"]
                points |= {tick for _, notes in lines for tick in _parting(notes, edges, pitched, tables, wide)}
                if few:
                    edges = [phrase.start, *sorted(points), phrase.end]
                    points |= {tick for _, notes in lines for tick in _strays(notes, edges, pitched, tables, bar)} - {
                        phrase.start
                    }
                leaps = {tick for _, notes in lines for leap, tick in _leaps(notes) if leap >= figures["line_leap"]}
                points |= set(_kept(leaps, (phrase.start, *points, phrase.end), bar))
                for _, notes in lines:
                    points |= set(cut(notes, phrase.start, phrase.end, pitched, tables, bar, sorted(points)))
            edges = [phrase.start, *sorted(points), phrase.end]
            for a, b in pairwise(edges):
                profiles = {k: profile(part, b, seconds, hard) for k, notes in lines if (part := notes_in(notes, a, b))}
                if profiles:
                    length = max(1, round((b - a) / quarter_bar(a)))
                    spans.append(Span(len(spans), index, number, a, b, length, profiles))
    return spans


def make_cells(material: Material, spans: Sequence[Span], quarter_bar: Callable[[int], int]) -> list[Cell]:
    """Each phrase cut at all its spans' edges. Touches of the last layer are moments, and belong to no cell."""
    cells: list[Cell] = []
    lasting = [span for span in spans if material.strands[span.strand].layer != "finish"]
    for number, phrase in enumerate(material.plan):
        inside = [span for span in lasting if span.phrase == number]
        edges = sorted({phrase.start, phrase.end, *(s.start for s in inside)})
        for a, b in pairwise(edges):
            here = tuple(s.index for s in inside if s.start < b and s.end > a)
            length = max(1, round((b - a) / quarter_bar(a)))
            cells.append(Cell(len(cells), number, a, b, length, here))
    return cells
