"""Voice separation against the voices that Bach wrote (music21's corpus), with staves and voices withheld."""

from __future__ import annotations

from collections import Counter, defaultdict
from itertools import pairwise

from music21 import corpus

from autoorch.roles import read_roles
from autoorch.roles.lines import in_lines
from autoorch.roles.parameters import parameters
from autoorch.roles.texture import Texture
from autoorch.tables import load_tables
from tests.roles.support import piece, sketch

CHORALES = ("bwv66.6", "bwv269", "bwv302", "bwv277", "bwv318")
CONTIG = 0.949  # contig mapping on the corpus's chorales, as partitura computes it (measured)


def pairs(voices: list[list[tuple[float, str]]]) -> Counter[tuple[tuple[float, str], tuple[float, str]]]:
    """Consecutive notes of one voice."""
    return Counter(pair for voice in voices for pair in pairwise(sorted(voice)))


def test_the_voices_of_chorales() -> None:
    hits = found = wanted = 0
    for name in CHORALES:
        score = corpus.parse(f"bach/{name}")
        truth: dict[int, list[tuple[float, str]]] = defaultdict(list)
        rows = []
        for k, part in enumerate(score.parts):
            for note in part.stripTies().flatten().notes:
                pitch = note.pitch.nameWithOctave.replace("-", "b")
                truth[k].append((float(note.offset), pitch))
                rows.append((float(note.offset), float(note.quarterLength), pitch))
        read = sketch(*rows, bars=60)
        lines = in_lines(Texture(read).tones, parameters(load_tables())["lines"])
        mine = pairs([[(t.onset / read.ticks, str(read.by_id[t.id].pitch)) for t in line] for line in lines])
        real = pairs(list(truth.values()))
        hits += (mine & real).total()
        found += mine.total()
        wanted += real.total()
    assert 2 * hits / (found + wanted) > CONTIG


def test_a_held_note_is_not_crossed() -> None:
    read = sketch((0, 4, "E4"), (0, 1, "C5"), (1, 1, "B4"), (2, 1, "A4"), (0, 2, "C4"), (2, 2, "D4"))
    lines = in_lines(Texture(read).tones, parameters(load_tables())["lines"])
    names = [[str(read.by_id[t.id].pitch) for t in line] for line in lines]
    assert names == [["C5", "B4", "A4"], ["E4"], ["C4", "D4"]]


def test_a_figure_stays_in_its_line_though_a_silent_one_lies_nearer() -> None:
    """Schubert, Lindenbaum, bar 5: G#3 E4 G#3 A3 F#4 A3 in sextuplets, after chords in four lines."""
    read = piece("schubert/Lindenbaum")
    here = {
        note.id
        for note in read.notes
        if note.staff == 1 and read.bars[4].onset <= note.onset < read.bars[4].end and note.duration < read.ticks // 2
    }
    lines = [line for strand in read_roles(read).strands for line in strand.lines if here & {*line.notes}]
    assert len(here) == 18
    assert [len(here & {*line.notes}) for line in lines] == [18]
