"""Held chords: exact voice leading, thirds present, leading notes not doubled (four-part writing, common practice)."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise, product

from autoorch.brief.model import Brief
from autoorch.layers.cue import Cue
from autoorch.layers.harmony import Beside, held_chords, lead, over_the_set, own_cost, resolving, steadied, voicings
from autoorch.layers.model import PhrasePlan
from autoorch.lineup import parse_lineup
from autoorch.roles.model import Chord
from autoorch.tables import load_tables
from tests.support.hand import make_sketch, read_hand

TONIC = Chord(0, 4, 0, 4, 0, (0, 4, 7))
FOURTH = Chord(4, 8, 5, 9, 5, (5, 9, 0))
SEVENTH = Chord(8, 12, 7, 11, 7, (7, 11, 2, 5), (11, 5))
TABLES = load_tables()
WEIGHTS = TABLES.rule("voicing")["weights"]
LOW, HIGH = 50, 66


def cost(row: list[tuple[int, ...]], chords: list[Chord]) -> int:
    own = sum(own_cost(WEIGHTS, chord, v, LOW, HIGH) for chord, v in zip(chords, row, strict=True))
    return own + sum(WEIGHTS["move"] * abs(a - b) for v, w in pairwise(row) for a, b in zip(v, w, strict=True))


def test_the_row_is_the_cheapest_of_all() -> None:
    chords = [TONIC, FOURTH, SEVENTH]
    row = lead(WEIGHTS, chords, 3, LOW, HIGH)
    every = product(*(voicings(chord, 3, LOW, HIGH) for chord in chords))
    assert cost(row, chords) == min(cost(list(other), chords) for other in every)


def test_thirds_are_there_and_leading_notes_single() -> None:
    row = lead(WEIGHTS, [TONIC, FOURTH, SEVENTH, TONIC], 4, LOW, 72)
    for chord, voicing in zip([TONIC, FOURTH, SEVENTH, TONIC], row, strict=True):
        degrees = [m % 12 for m in voicing]
        assert chord.third in degrees
        assert all(degrees.count(t) <= 1 for t in chord.tendency)


def test_what_the_bass_or_another_voice_has_is_not_doubled() -> None:
    """The leading note in the bass of the dominant, the seventh in it, and the seventh in a voice of the sketch."""
    sixth, second = replace(SEVENTH, members=(7, 11, 2), tendency=(11,), bass=11), replace(SEVENTH, bass=5)
    for chord, left in ((sixth, 11), (second, 5)):
        (voicing,) = lead(WEIGHTS, [chord], 3, LOW, HIGH)
        assert left not in {m % 12 for m in voicing}
        assert {m % 12 for m in voicing} >= set(chord.members) - {left}
    (free,), (kept,) = lead(WEIGHTS, [SEVENTH], 4, LOW, 72), lead(WEIGHTS, [SEVENTH], 4, LOW, 72, [Beside({5})])
    assert 5 in {m % 12 for m in free} and 5 not in {m % 12 for m in kept}


def test_what_resolves_is_led_as_in_the_real_parts() -> None:
    """A pair that holds the leading note comes to it and goes on from it as one of the four parts does (Rimsky-Korsakov ch. III:
    what is doubled are real parts)."""
    chords = [TONIC, SEVENTH, TONIC, FOURTH, SEVENTH, TONIC]
    real = lead(WEIGHTS, chords, 4, LOW, 72)
    steps = [{(a % 12, b % 12) for a, b in zip(v, w, strict=True)} for v, w in pairwise(real)]
    for lines, low, high in ((2, 52, 68), (3, 46, 64), (4, 69, 88)):
        row = lead(WEIGHTS, chords, lines, low, high, steps=steps)
        for (first, second), (v, w), own in zip(pairwise(chords), pairwise(row), steps, strict=True):
            moves = {(a % 12, b % 12) for a, b in zip(v, w, strict=True)}
            assert all((a, b) in own for a, b in moves if a in first.tendency or b in second.tendency)


def test_a_tune_keeps_what_resolves_to_itself() -> None:
    """Half of the chord's time is enough; a passing leading note is not."""
    for music, left in (("B4:3 D5:1", {11}), ("D5:3 B4:1", set())):
        notes = make_sketch([music]).notes
        assert resolving(SEVENTH, 0, notes[-1].end, (), notes, 0.5) == left
    voice = make_sketch(["F4:4"]).notes
    assert resolving(SEVENTH, 0, voice[-1].end, voice, (), 0.5) == {5}


def pads(upbeat: str, dots: int = 0, character: str = "") -> set[int]:
    """Ticks at which held chords are struck under a tune in 3/4 with a crotchet's upbeat; `upbeat` is the left hand there. So
    many notes have dots."""
    sketch = make_sketch(["G4:1 C5:2 D5:1 E5:3 C5:3", f"{upbeat} C3:3 E3:3 G3:3"], metre=(3, 4), pickup="1")
    dotted = tuple(replace(n, marks=("staccato",) if k < dots else ()) for k, n in enumerate(sketch.notes))
    sketch = replace(sketch, notes=dotted)
    reading = replace(read_hand(sketch, ("melody", "bass")), chords=(Chord(0, sketch.end, 0, 4, 0, (0, 4, 7)),))
    reading = replace(reading, phrases=tuple(replace(phrase, character=character) for phrase in reading.phrases))
    plan = (PhrasePlan(0, sketch.end, 0.5, "mf", lead="violins", ground=("strings", "woodwind", "horns")),)
    found = held_chords(Cue(sketch, reading, plan, parse_lineup("romantic", TABLES), Brief(), TABLES))
    return {line.notes[0].onset // sketch.ticks for strand in found for line in strand.lines}


def test_held_chords_begin_on_the_bar_line_after_an_upbeat() -> None:
    assert pads("-:1") == {1}
    assert pads("C3:1") == {1}


def test_nothing_is_held_under_what_is_dry() -> None:
    assert pads("-:1", dots=6) == pads("-:1", dots=6, character="lyrical") == {1}
    assert pads("-:1", dots=6, character="march") == set(), "six of eight"
    assert pads("-:1", dots=8) == set()


def test_held_chords_change_on_beats_or_with_the_bass() -> None:
    """The second chord comes half a beat early with the tune, the third with the bass, and the fifth is over before the beat; the
    last is complete a little after its bass."""
    sketch = make_sketch(["G4:1 A4:1.5 A4:1.5 C5:4 B4:4", "C3:4 F3:1.5 C3:2.5 G3:4"])
    reading = read_hand(sketch, ("melody", "bass"))
    here = Cue(sketch, reading, (), parse_lineup("romantic", TABLES), Brief(), TABLES)
    t = sketch.ticks
    edges = [(0, 2.5, 0), (2.5, 4, 9), (4, 5.5, 5), (5.5, 6.5, 0), (6.5, 6.75, 7), (6.75, 8.25, 0), (8.25, 12, 7)]
    chords = [
        Chord(round(a * t), round(b * t), root, root + 4, root, (root, root + 4, root + 7)) for a, b, root in edges
    ]
    assert [(c.start / t, c.end / t, c.root) for c in steadied(here, chords)] == [
        (0, 3, 0), (3, 4, 9), (4, 5.5, 5), (5.5, 8, 0), (8, 12, 7)
    ]  # fmt: skip


def test_what_is_held_lies_under_the_tune() -> None:
    """Free, the voicing lies in the middle of its region; under a tune its top is not above it, and it is as whole."""
    (free,), (under,) = lead(WEIGHTS, [TONIC], 3, 64, 88), lead(WEIGHTS, [TONIC], 3, 64, 88, [Beside(tune=72)])
    assert free[-1] > 72 >= under[-1]
    assert {m % 12 for m in free} == {m % 12 for m in under} == {0, 4, 7}


def test_how_high_the_tune_lies_over_a_set() -> None:
    """By how long its notes last; an octave higher where the plan has it in octaves; None under the set and where it rests."""
    sketch = make_sketch(["C5:3 G5:1 C4:4 -:4", "C3:12"])
    bar = sketch.bars[0].length
    reading = read_hand(sketch, ("melody", "bass"))
    for octaves, expected in ((1, [73.75, None, None]), (2, [85.75, 72.0, None])):
        plan = (PhrasePlan(0, sketch.end, 0.5, "f", octaves=octaves, lead="violins"),)
        here = Cue(sketch, reading, plan, parse_lineup("romantic", TABLES), Brief(), TABLES)
        assert [over_the_set(here, 69, 88, k * bar, (k + 1) * bar) for k in range(3)] == expected
