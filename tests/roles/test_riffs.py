"""A pattern over a line that sings, and a staff of one's own: our sketch of a clock under horns."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from autoorch.roles import read_roles
from autoorch.roles.slurred import in_its_hand
from autoorch.roles.texture import Texture
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Sketch
from tests.roles.support import piece
from tests.support.hand import make_sketch

CLOCK = read_sketch(Path(__file__).resolve().parents[2] / "examples" / "clockmaker-ostinato" / "sketch.musicxml")


def tune(read: Sketch) -> set[str]:
    return {note for s in read_roles(read).strands if s.role == "melody" for line in s.lines for note in line.notes}


def hinted(*hints: str) -> Sketch:
    return replace(CLOCK, staves=tuple(replace(s, hint=h) for s, h in zip(CLOCK.staves, hints, strict=True)))


def test_a_line_on_a_staff_of_its_own_is_the_tune_from_its_first_note_to_its_last() -> None:
    own = {note.id for note in CLOCK.notes if note.staff == 0}
    assert len(own) == 36
    found = tune(CLOCK)
    assert found == own, "not even the clock's last stroke, when the horns have ended"


def test_a_pattern_that_comes_again_is_no_tune_while_a_line_sings_under_it() -> None:
    """Without the staff's name: the clock of bars 3 to 12."""
    read = hinted("", "", "")
    clock = {n.id for n in read.notes if n.staff == 1 and n.onset < read.bars[12].onset}
    horns = {n.id for n in read.notes if n.staff == 0 and n.onset < read.bars[11].onset}
    assert len(clock) == 52 and len(horns) == 17
    assert horns <= tune(read)
    assert not clock & tune(read)


def test_the_bass_on_a_staff_of_its_own_is_no_tune() -> None:
    low = {note.id for note in CLOCK.notes if note.staff == 2}
    assert not low & tune(hinted("", "", "Double basses"))


@pytest.mark.parametrize("work", ["schumann_clara/polonaise_op1n3", "schumann_clara/polonaise_op1n4"])
def test_a_line_under_one_slur_is_in_the_tune_whole_or_not_at_all(work: str) -> None:
    read = piece(work)
    found = tune(read)
    lines = parted = 0
    for slur in read.slurs:
        first, last = read.by_id[slur.first], read.by_id[slur.last]
        line = [
            n
            for n in read.notes
            if n.duration and (n.staff, n.voice) == (first.staff, first.voice) and first.onset <= n.onset <= last.onset
        ]
        if all(a.end <= b.onset for a, b in pairwise(line)):
            lines += 1
            parted += 0 < sum(n.id in found for n in line) * 2 < len(line)
    assert lines >= 10 and parted == 0


@pytest.mark.parametrize(
    ("above", "stays"), [("C5:1 Eb5:2 D5:0.5 C5:0.5 G4:4", True), ("C5:1 -:2 D5:0.5 C5:0.5 G4:4", False)]
)
def test_the_tune_stays_in_its_hand_over_the_figure_of_the_other(above: str, stays: bool) -> None:
    """Where the right hand holds a note over C3 G3 Eb4, the tune has it; where it rests, the left hand may have the tune."""
    read = make_sketch([above, "-:1 C3:0.5 G3:0.5 Eb4:1 G4:1 C3:4"])
    texture = Texture(read)
    right = [n.id for n in read.notes if n.staff == 0]
    astray = {n.id for n in read.notes if str(n.pitch) in ("C3", "G3", "Eb4") and n.onset < 3 * read.ticks}
    held = {n.id for n in read.notes if str(n.pitch) == "Eb5"}
    tune = [tone for tone in texture.tones if tone.id in {*right, *astray} - held]
    found = {tone.id for tone in in_its_hand(texture, tune)}
    assert len(astray) == 3
    assert found == ({*right} if stays else {*right, *astray})
