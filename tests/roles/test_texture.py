"""Each texture of the trade on a small sketch of its own: what a musician would call it."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from autoorch.roles import read_roles
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch, Staff
from tests.roles.support import first_bars, piece, sketch

Row = tuple[float, float, str]
BARS = 8
TUNE: list[Row] = [
    (bar * 4 + onset, length, name)
    for half in (0, 4)
    for bar, names in enumerate(("G5 A5 B5", "C6 B5 A5", "B5 D6 G6", "F#6 E6 D6"), half)
    for (onset, length), name in zip(((0, 1.5), (1.5, 0.5), (2, 2)), names.split(), strict=True)
]
BASS = ("G2", "C3", "G2", "D3") * 2
UPPER = (("B3", "D4", "G4"), ("C4", "E4", "G4"), ("B3", "D4", "G4"), ("C4", "D4", "F#4")) * 2


def low(names: tuple[str, ...]) -> tuple[str, ...]:
    """An octave below."""
    return tuple(f"{name[:-1]}{int(name[-1]) - 1}" for name in names)


def chords(*beats: tuple[float, float]) -> list[Row]:
    """The harmony struck in every bar at these (beat, length)."""
    return [(4 * bar + beat, length, name) for bar in range(BARS) for beat, length in beats for name in UPPER[bar]]


def ground(*beats: tuple[float, float]) -> list[Row]:
    return [(4 * bar + beat, length, BASS[bar]) for bar in range(BARS) for beat, length in beats]


def spelled(step: float, order: tuple[int, ...]) -> list[Row]:
    """The harmony broken in that order, in notes of that length."""
    count = round(4 / step)
    return [(4 * bar + k * step, step, UPPER[bar][order[k % len(order)]]) for bar in range(BARS) for k in range(count)]


SHAKE = [
    (4 * bar + k / 4, 0.25, name)
    for bar in range(BARS)
    for k in range(16)
    for name in (UPPER[bar][1:] if k % 2 == 0 else UPPER[bar][:1])
]
MOVING = [
    (4 * bar + k * 0.5 + 2, 0.5, name)
    for bar in range(BARS - 1)
    for k, name in enumerate(("D4", "E4", "F#4", "E4") if bar % 2 else ("B3", "C4", "D4", "C4"))
]
TEXTURES = {
    "held chords": (chords((0, 4)), ground((0, 4))),
    "repeated chords": (chords(*((k / 2, 0.5) for k in range(8))), ground((0, 4))),
    "off-beats": (chords((1, 0.5), (2, 0.5)), ground((0, 1))),
    "stride": (chords((1, 0.5), (3, 0.5)), ground((0, 1), (2, 1))),
    "alberti": (spelled(0.5, (0, 2, 1, 2)), []),
    "arpeggio": (spelled(0.5, (0, 1, 2, 1)), ground((0, 4))),
    "tremolo": (SHAKE, ground((0, 4))),
}


def textures(read: Sketch) -> dict[str, set[str]]:
    """Texture -> roles that have it."""
    found: dict[str, set[str]] = {}
    for strand in read_roles(read).strands:
        found.setdefault(strand.texture, set()).add(strand.role)
    return found


def notes(read: Sketch, reading: Reading, role: str) -> list[Row]:
    return [
        (note.onset / read.ticks, note.duration / read.ticks, str(note.pitch))
        for strand in reading.strands
        if strand.role == role
        for note in (read.by_id[name] for name in strand.lines[0].notes)
    ]


@pytest.mark.parametrize("name", TEXTURES)
def test_what_goes_under_a_tune_has_its_name_and_leaves_the_tune_whole(name: str) -> None:
    middle, bass = TEXTURES[name]
    read = sketch(*TUNE, *middle, *bass, bars=BARS)
    reading = read_roles(read)
    assert notes(read, reading, "melody") == TUNE
    assert name in textures(read)
    others = {strand.texture for strand in reading.strands if strand.role in ("inner", "figure", "rhythm")}
    assert others == {name}, "kept whole, as one thing"


def test_a_bass_that_stays_is_a_pedal() -> None:
    read = sketch(*TUNE, *chords((0, 4)), *((4 * bar, 4, "G2") for bar in range(BARS)), bars=BARS)
    assert textures(read)["pedal"] == {"pedal"}


def test_everything_in_octaves_is_one_tune() -> None:
    deep = [(onset, length, low((name,))[0]) for onset, length, name in TUNE]
    strands = read_roles(sketch(*TUNE, *deep, bars=BARS)).strands
    assert [(strand.role, strand.texture, len(strand.lines)) for strand in strands] == [("melody", "octaves", 2)]


def test_thirds_are_one_tune() -> None:
    third = dict(zip("CDEFGAB", "ABCDEFG", strict=True))
    under = [
        (onset, length, f"{third[name[0]]}{int(name[-1]) - (name[0] in 'CD')}")
        for onset, length, name in TUNE
        if name != "F#5"
    ] + [(4 * bar, 1.5, "D5") for bar in (3, 7)]
    strands = read_roles(sketch(*TUNE, *under, *ground((0, 4)), bars=BARS)).strands
    assert [(strand.role, strand.texture) for strand in strands[:1]] == [("melody", "thirds")]


def hands(*staves: list[Row]) -> Sketch:
    """Rows of each staff."""
    read = sketch(*(row for rows in staves for row in rows), bars=BARS)
    place = {(round(o * read.ticks), name): k for k, rows in enumerate(staves) for o, _, name in rows}
    notes = tuple(replace(note, staff=place[note.onset, str(note.pitch)]) for note in read.notes)
    return replace(read, notes=notes, staves=tuple(Staff(k, "") for k in range(len(staves))))


def test_a_run_in_thirds_is_one_tune_though_the_rest_of_the_phrase_is_single() -> None:
    run = [
        (12 + k / 4, 0.25, name) for k, name in enumerate("D6 C6 B5 A5 G5 A5 B5 C6 D6 C6 B5 A5 G5 F#5 E5 D5".split())
    ]
    thirds = [
        (12 + k / 4, 0.25, name) for k, name in enumerate("B5 A5 G5 F#5 E5 F#5 G5 A5 B5 A5 G5 F#5 E5 D5 C5 B4".split())
    ]
    tune = [row for row in TUNE if not 12 <= row[0] < 16]
    read = hands([*tune, *run, *thirds], [*ground((0, 4)), *chords((0, 4))])
    [strand] = [strand for strand in read_roles(read).strands if strand.role == "melody"]
    assert strand.texture == "thirds"
    assert [len(line.notes) for line in strand.lines] == [len(tune) + len(run), len(thirds)]


def test_a_note_that_comes_back_between_chords_is_not_the_bass() -> None:
    """Bass, fifth, chord, fifth, chord, fifth, fifth, fifth: the hand breaks the chord, and keeps the bass at the beginning."""
    fifths = [(4 * bar + beat, 0.5, UPPER[bar][0]) for bar in range(BARS) for beat in (0.5, 1.5, 2.5, 3.5)]
    above = [(4 * bar + beat, 0.5, name) for bar in range(BARS) for beat in (1, 2, 3) for name in UPPER[bar][1:]]
    read = hands(TUNE, [*ground((0, 0.5)), *fifths, *above])
    assert notes(read, read_roles(read), "bass") == ground((0, 0.5))


def test_a_figure_in_octaves_between_the_hands_is_one_figure() -> None:
    upper = spelled(0.5, (0, 1, 2, 1))
    lower = [(onset, length, low((name,))[0]) for onset, length, name in upper]
    read = hands(TUNE, upper, lower)
    strands = [s for s in read_roles(read).strands if s.role != "melody"]
    assert [(s.role, s.texture, sum(len(line.notes) for line in s.lines)) for s in strands] == [
        ("figure", "arpeggio", len(upper) + len(lower))
    ]


def test_four_voices_note_against_note_are_a_hymn() -> None:
    lines = (
        ("G4 A4 B4 C5", "D4 F#4 G4 G4", "B3 C4 D4 E4", "G3 D3 G2 C3"),
        ("B4 A4 A4 G4", "G4 G4 F#4 D4", "D4 E4 D4 B3", "D3 C3 D3 G2"),
    )
    rows: list[Row] = [
        (4 * bar + beat, 1, name)
        for bar in range(BARS)
        for voice in lines[bar % 2]
        for beat, name in enumerate(voice.split())
    ]
    assert textures(sketch(*rows, bars=BARS)) == {"tune": {"melody"}, "hymn": {"inner"}, "line": {"bass"}}


def test_a_line_that_moves_while_the_tune_holds_is_a_counterline() -> None:
    read = sketch(*TUNE, *MOVING, *ground((0, 4)), bars=BARS)
    assert "counterline" in {strand.role for strand in read_roles(read).strands}


REAL = (
    # piece, bars (0 for all), texture, role: what a musician calls the most of it
    ("verdi/laDonnaEMobile", 0, "off-beats", "rhythm"),
    ("chopin/mazurka06-2", 0, "off-beats", "rhythm"),
    ("schumann_clara/polonaise_op1n2", 4, "repeated chords", "rhythm"),
    ("schumann_clara/polonaise_op1n3", 4, "repeated chords", "rhythm"),
    ("joplin/maple_leaf_rag", 0, "octaves", "bass"),
    ("joplin/maple_leaf_rag", 0, "octaves", "melody"),
    ("mozart/k545/movement1_exposition", 4, "alberti", "figure"),
    ("schubert/Lindenbaum", 0, "arpeggio", "figure"),
    ("bach/bwv846", 0, "pedal", "pedal"),
    ("schoenberg/opus19/movement6", 0, "held chords", "inner"),
)


@pytest.mark.parametrize(("work", "bars", "texture", "role"), REAL)
def test_what_a_musician_calls_it(work: str, bars: int, texture: str, role: str) -> None:
    read = first_bars(piece(work), bars) if bars else piece(work)
    most: Counter[str] = Counter()
    for strand in read_roles(read).strands:
        if strand.role == role:
            most[strand.texture] += sum(len(line.notes) for line in strand.lines)
    assert most.most_common(1)[0][0] == texture


def test_chords_go_on_while_the_tune_rests_and_the_longer_of_two_voices_is_the_bass() -> None:
    """Clara Schumann, opus 1 no. 3, bars 2 and 4: repeated chords alone; E3 as dotted minim and quaver."""
    read = first_bars(piece("schumann_clara/polonaise_op1n3"), 4)
    reading = read_roles(read)
    role = {note: s.role for s in reading.strands for line in s.lines for note in line.notes}
    chords = [n for n in read.notes if n.staff == 1 and n.duration == read.ticks // 2 and n.pitch.midi > 53]
    assert len(chords) == 60
    assert {role[n.id] for n in chords} == {"rhythm"}
    [low] = [n for n in read.notes if n.duration == 3 * read.ticks]
    assert (str(low.pitch), role[low.id]) == ("E3", "bass")


def test_a_bass_in_octaves_goes_on_while_the_tune_rests() -> None:
    """Clara Schumann, opus 1 no. 1, bars 1-4: the left hand in octaves, the right hand with rests of half a bar."""
    read = piece("schumann_clara/polonaise_op1n1")
    role = {note: s.role for s in read_roles(read).strands for line in s.lines for note in line.notes}
    left = [note for note in read.notes if note.staff == 1 and note.onset < read.bars[3].end]
    assert len(left) == 48
    assert {role[note.id] for note in left} == {"bass"}


def test_a_line_under_held_chords_is_the_tune() -> None:
    """Clara Schumann, opus 1 no. 4, bars 25-27 and 37-39: quavers in the left hand under the right hand's chords."""
    read = piece("schumann_clara/polonaise_op1n4")
    tune = {note for s in read_roles(read).strands if s.role == "melody" for note in s.lines[0].notes}
    for first, last in ((24, 26), (36, 38)):
        own = [n for n in read.notes if read.bars[first].onset <= n.onset < read.bars[last].end]
        left = {read.by_id[n].staff for n in tune & {n.id for n in own}}
        assert left == {1}
        low = {n.onset for n in own if n.staff == 1}
        assert low == {read.by_id[n].onset for n in tune & {n.id for n in own}}


def test_a_rag_s_tune_runs_through_whatever_loudness_its_file_gives() -> None:
    """Its MusicXML carries `dynamics` on each note: what a program writes for f and p, no player's touch."""
    read = piece("joplin/maple_leaf_rag")
    assert len({note.velocity for note in read.notes}) > 1
    tune = notes(read, read_roles(read), "melody")
    bars = {int(onset // 2) for onset, _, _ in tune}
    assert len(bars) >= 0.8 * len(read.bars)


def test_a_prelude_of_broken_chords_has_no_tune_but_their_crests() -> None:
    """BWV 846: two bars of the same chord in each, its highest note twice a bar, the rest a figure over a held bass."""
    read = piece("bach/bwv846")
    reading = read_roles(read)
    tune = notes(read, reading, "melody")
    assert [name for onset, _, name in tune if onset < 16] == ["E5", "E5", "F5", "F5", "F5", "F5", "E5", "E5"]
    assert textures(read)["arpeggio"] == {"figure"}
    figure = next(strand for strand in reading.strands if strand.role == "figure")
    assert sum(map(len, (line.notes for line in figure.lines))) * 2 > len(read.notes)
