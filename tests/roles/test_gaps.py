"""What leads while the tune rests: runs through both hands, kept whole."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.roles import read_roles
from autoorch.roles.gaps import out_of_figures
from autoorch.roles.texture import Texture
from autoorch.sketch.model import Sketch, Staff
from tests.roles.support import TICKS, piece, sketch
from tests.roles.test_texture import TUNE, Row, ground

RUN = [(8 + k / 4, 0.25, name) for k, name in enumerate("G2 B2 D3 G3 B3 D4 G4 B4 D5 G5 B5 D6 G6 D6 B5 G5".split())]
AROUND: list[Row] = [row for row in TUNE if not 8 <= row[0] < 16]


def of_role(read: Sketch, role: str) -> list[set[str]]:
    """The pitches that each strand of a role has in the third bar."""
    first, last = read.bars[2].onset, read.bars[2].end
    return [
        {
            str(note.pitch)
            for line in strand.lines
            for note in map(read.by_id.__getitem__, line.notes)
            if first <= note.onset < last
        }
        for strand in read_roles(read).strands
        if strand.role == role
    ]


def on_two_staves(read: Sketch) -> Sketch:
    """What lies below C4 on a staff of its own."""
    notes = tuple(replace(note, staff=int(note.pitch.midi < 60)) for note in read.notes)
    return replace(read, notes=notes, staves=(Staff(0, ""), Staff(1, "")))


def test_a_run_that_is_all_there_is_is_the_tune_s() -> None:
    bass = [row for row in ground((0, 4)) if not 8 <= row[0] < 16]
    read = on_two_staves(sketch(*AROUND, *RUN, *bass, bars=8))
    assert {name for _, _, name in RUN} in of_role(read, "melody")


def test_a_run_through_both_hands_whose_notes_overlap_is_one_figure() -> None:
    """Joplin, Maple Leaf Rag, bars 7 and 8: four octaves up, the hand's quavers lasting under semiquavers."""
    read = piece("joplin/maple_leaf_rag")
    run = {note.id for note in read.notes if read.bars[7].onset <= note.onset < read.bars[8].end}
    reading = read_roles(read)
    [strand] = {reading.strand_of[note] for note in run}
    assert next(s.role for s in reading.strands if s.id == strand) == "figure"


def test_a_broken_chord_that_stays_where_it_is_waits_for_the_tune() -> None:
    """No run: it comes back to where it began."""
    bass = [row for row in ground((0, 4)) if not 8 <= row[0] < 16]
    figure = [(8 + k / 4, 0.25, name) for k, name in enumerate(("G3", "D4", "B3", "D4") * 4)]
    read = on_two_staves(sketch(*AROUND, *figure, *bass, bars=8))
    assert {"G3", "D4", "B3"} not in of_role(read, "melody")


def test_an_accompaniment_that_begins_before_its_tune_is_none() -> None:
    """Verdi, La donna e mobile, bar 1: bass and chords alone, as they go on under the tune from bar 2 on."""
    read = piece("verdi/laDonnaEMobile")
    first = {note.id for note in read.notes if note.onset < read.bars[0].end}
    tune = {n for s in read_roles(read).strands if s.role == "melody" for line in s.lines for n in line.notes}
    assert len(first) == 7 and not first & tune
    assert min(read.by_id[note].onset for note in tune) == read.bars[1].onset


@pytest.mark.parametrize(
    ("last", "theirs"),
    [
        ("G2", {"G2"}),
        ("A2", set()),  # a pitch that the hand has not had: it may lead
    ],
)
def test_what_the_other_hand_s_figure_goes_on_with_is_not_the_tune_s(last: str, theirs: set[str]) -> None:
    figure = [(k / 2, 0.5, name) for k, name in enumerate(("C2", "G2", "E3", "G3", "E3", "G3", "E3", last))]
    texture = Texture(on_two_staves(sketch((0, 3.5, "C5"), *figure, bars=1)))
    tune = [tone for tone in texture.tones if tone.staff == 0 or tone.onset == 3.5 * TICKS]
    assert len(tune) == 2
    found = out_of_figures(texture, tune)
    assert {str(texture.sketch.by_id[tone.id].pitch) for tone in texture.tones if tone.index in found} == theirs
    assert out_of_figures(texture, [tone for tone in texture.tones if tone.staff == 1]) == set()
