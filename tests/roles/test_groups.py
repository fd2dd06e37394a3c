"""The notes beside the tune: what waits, what comes again, what is off the beat."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from autoorch.roles import read_roles
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Sketch
from tests.roles.support import piece, sketch, strands

OOM_PAH = [(bar * 4, 1, "C2") for bar in range(4)] + [
    (bar * 4 + beat, 1, pitch) for bar in range(4) for beat in (1, 2, 3) for pitch in ("E3", "G3", "C4")
]
TUNE = [(k, 1, pitch) for k, pitch in enumerate(("G4", "A4", "B4", "C5", "D5", "E5", "D5", "C5") * 2)]


def test_chords_off_the_beat_stay_out_of_the_bass() -> None:
    read = sketch(*OOM_PAH, *TUNE, bars=4)
    found = {role: [str(read.by_id[n].pitch) for n in lines[0]] for role, _, lines in strands(read_roles(read))}
    assert set(found.get("bass", [])) | set(found.get("pedal", [])) == {"C2"}
    assert "off-beats" in {name for _, name, _ in strands(read_roles(read))}


def test_an_ostinato_is_one_strand() -> None:
    figure = [(bar * 4 + k, 1, pitch) for bar in range(4) for k, pitch in enumerate(("C2", "G2", "Eb2", "D2"))]
    reading = read_roles(sketch(*figure, *[(o, d, p) for o, d, p in TUNE if o % 2 == 0], bars=4))
    ostinato = [lines for _, name, lines in strands(reading) if name == "ostinato"]
    assert [len(line) for line in ostinato[0]] == [16]


def kinds(read: Sketch, first: int, last: int, staff: int) -> dict[str, int]:
    """Texture -> notes of a staff in bars (by index) that are neither tune nor bass."""
    beside = {
        note: s.texture
        for s in read_roles(read).strands
        if s.role not in ("melody", "bass")
        for line in s.lines
        for note in line.notes
    }
    here = (n.id for n in read.notes if n.staff == staff and read.bars[first].onset <= n.onset < read.bars[last].end)
    return Counter(beside[note] for note in here if note in beside)


def test_a_bar_of_broken_chords_is_no_off_beats_because_its_phrase_goes_on_with_them() -> None:
    """Bar 45 of our waltz, which begins with an upbeat: D2, D3 G3 B3 G3 D3, then chords after the beat."""
    read = read_sketch(Path(__file__).resolve().parents[2] / "examples" / "lighthouse-waltz" / "sketch.musicxml")
    assert read.bars[45].number == "45"
    assert kinds(read, 45, 45, staff=1) == {"arpeggio": 5}
    assert kinds(read, 46, 46, staff=1) == {"off-beats": 4}


def test_repeated_chords_of_some_bars_keep_their_name_in_a_long_piece() -> None:
    """Joplin, Maple Leaf Rag: the left hand repeats its chords in quavers for bars on end, among off-beats all over the piece."""
    assert kinds(piece("joplin/maple_leaf_rag"), 9, 12, staff=1) == {"repeated chords": 33}
