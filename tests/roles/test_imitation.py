"""Imitation: canons of our own, a fugue's subject and answer, entries that every description of a movement names; who leads."""

from __future__ import annotations

import random
import re
from dataclasses import replace

import pytest
from music21 import corpus

from autoorch.pitch import parse
from autoorch.roles import read_roles
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch, Staff
from tests.roles.support import PIECES, doubled, piece, sketch, transposed

Row = tuple[float, float, str]


def line(start: float, text: str) -> list[Row]:
    """Notes "C5:2" one after the other, the number their length in semiquavers; "r:2" is a rest."""
    rows: list[Row] = []
    now = start
    for word in text.split():
        name, _, length = word.partition(":")
        if name != "r":
            rows.append((now, int(length) / 4, name))
        now += int(length) / 4
    return rows


# Subject and answer of Bach's fugue in C minor, BWV 847 (from memory), which enter in bars 1, 3 and 7 in alto, soprano and bass.
SUBJECT = "C5:1 B4:1 C5:2 G4:2 Ab4:2 C5:1 B4:1 C5:2 D5:2 G4:2 C5:1 B4:1 C5:2 D5:2 F4:1 G4:1 Ab4:4 G4:1 F4:1 Eb4:2"
ANSWER = "G5:1 F#5:1 G5:2 C5:2 Eb5:2 G5:1 F#5:1 G5:2 A5:2 D5:2 G5:1 F#5:1 G5:2 A5:2 C5:1 D5:1 Eb5:4 D5:1 C5:1 Bb4:2"
BASS = "C3:1 B2:1 C3:2 G2:2 Ab2:2 C3:1 B2:1 C3:2 D3:2 G2:2 C3:1 B2:1 C3:2 D3:2 F2:1 G2:1 Ab2:4 G2:1 F2:1 Eb2:2"
UNDER = "r:2 C4:6 Bb3:8 A3:8 Bb3:8"
OVER = "r:2 Eb5:6 D5:4 C5:4 F5:8 D5:6 C5:4"
EXPOSITION = [*line(0.5, SUBJECT), *line(8.5, ANSWER), *line(8.5, UNDER), *line(24.5, BASS), *line(24.5, OVER)]
ROUND = "G4:4 A4:2 B4:2 C5:6 B4:2 A4:4 D5:4 B4:4 G4:4 E5:2 D5:2 C5:2 B4:2 A4:6 F#4:2 G4:8"


def lowered(text: str, octaves: int) -> str:
    return re.sub(r"\d(?=:)", lambda octave: str(int(octave[0]) - octaves), text)


def entries(read: Sketch, reading: Reading) -> list[tuple[int, int, float, str]]:
    """Subject, interval, bar and first pitch of each."""
    found = []
    for entry in reading.entries:
        first = read.by_id[entry.notes[0]]
        found.append((entry.subject, entry.interval, first.onset / read.bars[0].length, str(first.pitch)))
    return found


def test_a_fugue_s_answer_is_known_though_it_is_tonal() -> None:
    read = sketch(*EXPOSITION, bars=9)
    found = entries(read, read_roles(read))
    assert [row[1:] for row in found if row[0] == 1] == [
        (0, 0.125, "C5"),
        (7, 2.125, "G5"),
        (-24, 6.125, "C3"),
    ]


@pytest.mark.parametrize(("down", "later"), [(12, 4), (12, 8), (24, 8)])
def test_a_canon_is_one_subject(down: int, later: float) -> None:
    read = sketch(*line(0, ROUND), *line(later, lowered(ROUND, down // 12)), bars=6)
    assert [row[1:3] for row in entries(read, read_roles(read))] == [(0, 0.0), (-down, later / 4)]


SCALE = ("C", "D", "E", "F", "G", "A", "B")
LENGTHS = ((1.0,), (1.0,), (0.5, 0.5), (1.5, 0.5), (2.0,))


def melody(seed: int, beats: float) -> list[tuple[float, float, int]]:
    """A tune at random: onset, length, step of the scale of C."""
    chance = random.Random(seed)
    rows: list[tuple[float, float, int]] = []
    now, step = 0.0, 35
    while now < beats:
        for length in chance.choice(LENGTHS):
            step = max(31, min(41, step + chance.choice((-3, -2, -1, -1, 1, 1, 2, 3))))
            rows.append((now, length, step))
            now += length
    return rows


@pytest.mark.parametrize("staves", [1, 2])
@pytest.mark.parametrize("lag", [1, 2, 4])
@pytest.mark.parametrize("steps", [0, -7, 7, 4, -4])
def test_canons_of_tunes_made_at_random(steps: int, lag: int, staves: int) -> None:
    """At the unison, the octave and the fifth, whether both voices stand on one staff or on two: nine of ten at least."""
    found = 0
    for seed in range(10):
        one = melody(seed, max(16, 8 * lag))
        rows = [(onset, length, f"{SCALE[step % 7]}{step // 7}", 0) for onset, length, step in one]
        rows += [(o + 4 * lag, d, f"{SCALE[(s + steps) % 7]}{(s + steps) // 7}", staves - 1) for o, d, s in one]
        read = on_staves(rows, bars=max(4, 2 * lag) + lag + 1, staves=staves)
        first = [row for row in entries(read, read_roles(read)) if row[0] == 1]
        if len(first) == 2:
            (_, _, begin, _), (_, interval, after, _) = first
            found += begin < 0.5 and after - begin == lag and abs(interval - 12 * steps / 7) < 2
    assert found >= 9


def on_staves(rows: list[tuple[float, float, str, int]], bars: int, staves: int) -> Sketch:
    """Rows of (onset, length, pitch, staff)."""
    whole = sketch(*(row[:3] for row in rows), bars=bars)
    ordered = sorted(rows, key=lambda row: (row[0], parse(row[2]).midi))
    notes = tuple(replace(note, staff=row[3]) for note, row in zip(whole.notes, ordered, strict=True))
    return replace(whole, notes=notes, staves=tuple(Staff(k, "") for k in range(staves)))


def test_the_four_entries_of_a_quartet_s_finale() -> None:
    """Beethoven, opus 59 no. 3, finale: viola, second violin, violoncello, first violin, ten bars apart (as its parts begin)."""
    score = corpus.parse("beethoven/opus59no3/movement4").measures(1, 40)
    starts = [part.flatten().notes[0] for part in score.parts]
    rows = [
        (float(note.offset), float(note.quarterLength), note.pitch.nameWithOctave.replace("-", "b"))
        for part in score.parts
        for note in part.stripTies().flatten().notes
        if not note.duration.isGrace and note.isNote
    ]
    read = sketch(*rows, bars=44)
    reading = read_roles(read)
    mine = {round(4 * row[2]) for row in entries(read, reading) if row[0] == 1}
    assert {round(float(note.getOffsetInHierarchy(score))) for note in starts} <= mine
    first = [entry for entry in reading.entries if entry.subject == 1 and len(entry.notes) > 40]
    assert [entry.interval for entry in first] == [0, 7, -12, 12]


@pytest.mark.parametrize(
    "work", ["joplin/maple_leaf_rag", "chopin/mazurka06-2", "bach/bwv269", "mozart/k545/movement1_exposition"]
)
def test_what_is_restated_whole_is_not_imitated(work: str) -> None:
    assert not read_roles(piece(work)).entries


@pytest.mark.parametrize("name", ["fugue", "round", *PIECES])
def test_neither_key_nor_note_values_change_entries_and_leaders(name: str) -> None:
    own = {"fugue": EXPOSITION, "round": [*line(0, ROUND), *line(8, lowered(ROUND, 1))]}
    read = sketch(*own[name], bars=9) if name in own else piece(name)
    one = read_roles(read)
    assert bool(one.entries) == (name in own)
    assert one.leaders
    for other, factor in ((transposed(read, 2, 3), 1), (doubled(read), 2)):
        again = read_roles(other)
        assert again.entries == one.entries
        assert [(leader.start, leader.end, leader.strand) for leader in again.leaders] == [
            (factor * leader.start, factor * leader.end, leader.strand) for leader in one.leaders
        ]


def test_every_bar_has_one_leader_and_the_tune_leads_where_nothing_is_imitated() -> None:
    read = piece("mozart/k545/movement1_exposition")
    reading = read_roles(read)
    tune = next(strand.id for strand in reading.strands if strand.role == "melody")
    assert [(leader.start, leader.end, leader.strand) for leader in reading.leaders] == [(0, read.end, tune)]


def test_an_entry_in_the_bass_leads() -> None:
    read = sketch(*EXPOSITION, bars=9)
    reading = read_roles(read)
    entry = next(entry for entry in reading.entries if entry.interval == -24)
    leader = next(leader for leader in reading.leaders if leader.start <= 7 * 48 < leader.end)
    strand = next(strand for strand in reading.strands if strand.id == leader.strand)
    assert set(entry.notes) & {note for row in strand.lines for note in row.notes}
