"""What stays or comes again: drones, pedals and what only looks like one, ostinatos that move, octaves that a hand adds."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from autoorch.roles import read_roles
from autoorch.roles.model import Strand
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Sketch, Staff
from tests.roles.support import piece, sketch

Row = tuple[float, float, str]
TUNE: list[Row] = [
    (4 * bar + onset, length, name)
    for bar, names in enumerate(
        ("E4 F4 G4", "A4 G4 F4", "G4 B4 E4", "D4 F4 E4", "E4 F4 G4", "A4 G4 F4", "G4 F4 E4", "D4 B3 C4")
    )
    for (onset, length), name in zip(((0, 1.5), (1.5, 1), (2.5, 1.5)), names.split(), strict=True)
]
PATTERN = ((0, "C2"), (0.5, "G2"), (1, "Ab2"), (1.5, "B2"), (2, "C3"), (3, "G2"), (3.5, "D2"))
UP = {"C2": "F2", "G2": "C3", "Ab2": "Db3", "B2": "E3", "C3": "F3", "D2": "G2"}


def of_role(read: Sketch, role: str) -> list[Strand]:
    return [strand for strand in read_roles(read).strands if strand.role == role]


def rows(read: Sketch, strand: Strand) -> list[Row]:
    notes = [read.by_id[note] for line in strand.lines for note in line.notes]
    return [(note.onset / read.ticks, note.duration / read.ticks, str(note.pitch)) for note in notes]


def test_a_note_that_is_struck_again_and_again_over_a_tune_is_a_drone() -> None:
    drone = [(beat, 2.0, name) for beat in range(0, 32, 2) for name in ("C6", "C3")]
    read = sketch(*TUNE, *drone, bars=8)
    [tune], [pedal] = of_role(read, "melody"), of_role(read, "pedal")
    assert rows(read, tune) == TUNE
    assert sorted(rows(read, pedal)) == sorted((float(onset), length, name) for onset, length, name in drone)


def test_the_mazurka_s_tune_moves_between_its_drones() -> None:
    """Chopin, opus 6 no. 2, bars 1-8: G sharp above, G sharp and D sharp below."""
    read = piece("chopin/mazurka06-2")
    end = read.bars[8].onset
    [tune] = of_role(read, "melody")
    begin = [str(read.by_id[n].pitch) for line in tune.lines for n in line.notes if read.by_id[n].onset < end]
    assert begin[:4] == ["B#3", "A#3", "B#3", "C#4"]
    assert "G#4" not in begin
    [pedal] = of_role(read, "pedal")
    assert {str(read.by_id[n].pitch) for line in pedal.lines for n in line.notes} == {"G#2", "D#3", "G#4"}


def test_a_tune_on_one_pitch_with_its_chords_is_no_drone() -> None:
    """Everything moves with it: nothing else is the tune."""
    chords = (("C4", "E4"), ("B3", "F4"), ("A3", "F4"), ("B3", "D4"))
    harmony = [(beat, 1, name) for beat in range(32) for name in chords[beat // 4 % 4]]
    read = sketch(*[(beat, 1, "G5") for beat in range(32)], *harmony, bars=8)
    [tune] = of_role(read, "melody")
    assert {name for _, _, name in rows(read, tune)} == {"G5"}


def test_a_bass_that_comes_again_but_not_on_each_first_beat_is_no_pedal() -> None:
    chords = ("C4 E4", "D4 F4", "B3 D4", "C4 E4") * 2
    held = [(4 * bar, 4, name) for bar, text in enumerate(chords) for name in text.split()]
    bass = [(4 * bar + beat, 4 - beat, "G2") for bar, beat in enumerate((0, 2, 0, 2) * 2)]
    high = [(onset, length, f"{name[:-1]}{int(name[-1]) + 1}") for onset, length, name in TUNE]
    read = sketch(*high, *held, *bass, bars=8)
    assert not of_role(read, "pedal")
    assert {name for strand in of_role(read, "bass") for _, _, name in rows(read, strand)} >= {"G2"}


def test_an_ostinato_stays_one_strand_where_it_moves_and_where_it_breaks_off() -> None:
    figure: list[Row] = [
        (4 * bar + onset, 0.5, UP[name] if bar == 3 else name) for bar in range(6) for onset, name in PATTERN
    ]
    figure += [(24 + onset, 0.5, name) for onset, name in PATTERN[:5]]
    tune = [(onset, length, f"{name[:-1]}{int(name[-1]) + 1}") for onset, length, name in TUNE if onset < 28]
    read = sketch(*tune, *figure, bars=7)
    [ostinato] = [strand for strand in of_role(read, "bass") if strand.texture == "ostinato"]
    assert rows(read, ostinato) == figure


def test_a_broken_chord_that_comes_again_is_a_figure_over_its_bass() -> None:
    names = "G2 D3 B3 D4 B3 D3 B3 D3"
    figure = [(4 * bar + k / 2, 0.5, name) for bar in range(8) for k, name in enumerate(names.split())]
    high = [(onset, length, f"{name[:-1]}{int(name[-1]) + 1}") for onset, length, name in TUNE]
    read = sketch(*high, *figure, bars=8)
    assert {strand.texture for strand in read_roles(read).strands} == {"tune", "arpeggio", "line"}
    [bass] = of_role(read, "bass")
    assert {name for _, _, name in rows(read, bass)} == {"G2"}


def test_the_octave_under_the_tune_goes_with_it_though_a_figure_strikes_it_too() -> None:
    """Bar 16 of the snow cue: G5 and G4 in the right hand, G4 in the left hand's figure."""
    read = read_sketch(Path("examples/harbour-snow-cue/sketch.musicxml"))
    here = [n for n in read.notes if str(n.pitch) == "G4" and n.onset == read.bars[15].onset + 3 * read.ticks]
    [tune] = of_role(read, "melody")
    own = {note for line in tune.lines for note in line.notes}
    assert [(n.staff, n.id in own) for n in sorted(here, key=lambda n: n.staff)] == [(0, True), (1, False)]


def test_the_clockmaker_s_ostinato_is_whole() -> None:
    """Bars 1 to 16 and 18 to 19 of the left hand, also where it goes to other chords."""
    read = read_sketch(Path("examples/clockmaker-ostinato/sketch.musicxml"))
    [ostinato] = [strand for strand in of_role(read, "bass") if strand.texture == "ostinato"]
    mine = {note for line in ostinato.lines for note in line.notes}
    low = max(note.staff for note in read.notes)
    wanted = {n.id for n in read.notes if n.staff == low and read.bar_at(n.onset).index in (*range(16), 17, 18)}
    assert len(wanted) == 180
    assert wanted <= mine


def test_a_bass_in_octaves_is_one_strand_with_chords_beside_it() -> None:
    pairs = ((0, "C2"), (0, "C3"), (2, "G2"), (2, "G3"))
    bass = [(4 * bar + beat, 1, name) for bar in range(8) for beat, name in pairs]
    chords = [(4 * bar + beat, 1, name) for bar in range(8) for beat in (1, 3) for name in ("E3", "G3", "C4")]
    tune = [(onset, length, f"{name[:-1]}{int(name[-1]) + 1}") for onset, length, name in TUNE]
    read = sketch(*tune, *bass, *chords, bars=8)
    [strand] = of_role(read, "bass")
    assert (strand.texture, len(strand.lines)) == ("octaves", 2)
    assert sorted(rows(read, strand)) == sorted((float(o), float(d), p) for o, d, p in bass)
    assert {s.texture for s in of_role(read, "rhythm")} == {"stride"}


def test_octaves_that_the_hand_adds_to_some_notes_go_with_the_tune() -> None:
    tune = [(onset, length, f"{name[:-1]}{int(name[-1]) + 1}") for onset, length, name in TUNE]
    accents = [(onset, length, f"{name[:-1]}{int(name[-1]) - 1}") for onset, length, name in tune if onset % 4 == 0]
    bass = [(4 * bar, 4, "C2") for bar in range(8)]
    read = sketch(*tune, *accents, *bass, bars=8)
    both = replace(
        read,
        staves=(Staff(0, ""), Staff(1, "")),
        notes=tuple(replace(note, staff=int(str(note.pitch) == "C2")) for note in read.notes),
    )
    [strand] = of_role(both, "melody")
    assert (strand.texture, sorted(rows(both, strand))) == ("octaves", sorted([*tune, *accents]))


def test_a_note_left_alone_in_a_gap_of_the_tune_belongs_to_it() -> None:
    """Chopin, opus 6 no. 2, bar 24: the left hand rests, and the tune leaps between two octaves."""
    read = piece("chopin/mazurka06-2")
    bar = next(bar for bar in read.bars if bar.number == "24")
    inside = {note.id for note in read.notes if bar.onset <= note.onset < bar.end and note.duration}
    [tune] = of_role(read, "melody")
    assert len(inside) == 6
    assert inside <= set(tune.lines[0].notes)
