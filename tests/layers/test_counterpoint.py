"""Second lines checked by code of their own: J. J. Fux, Gradus ad Parnassum (1725), on perfect consonances, suspensions and
passing notes; "moves under 70 % of the tune's long notes, spans a fifth or more" is ours."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from autoorch.layers.counterpoint import Slot, Sung, _allowed, compose
from autoorch.tables import load_tables

TABLE = load_tables().rule("counterline")
BELOW, ABOVE = TABLE["place"]
MAJOR = frozenset((0, 2, 4, 5, 7, 9, 11))
CHORDS = (frozenset((0, 4, 7)), frozenset((5, 9, 0)), frozenset((7, 11, 2)))
BEATS, HALVES = 4, 2
Tune = list[tuple[int, int]]
"""(slots, pitch)"""


def scene(tune: Tune, chords: list[int]) -> tuple[list[Slot], list[tuple[int, int]]]:
    """Slots of half beats in bars of four, a chord a bar; and the long notes (three slots or more)."""
    slots: list[Slot] = []
    long_notes = []
    for length, pitch in tune:
        start = len(slots)
        if length >= 3:
            long_notes.append((start, start + length))
        for k in range(start, start + length):
            bar = CHORDS[chords[k // (BEATS * HALVES) % len(chords)]]
            slots.append(
                Slot(
                    beat=k % HALVES == 0,
                    strong=k % (2 * HALVES) == 0,
                    first=k % (BEATS * HALVES) == 0,
                    chord=bar,
                    scale=MAJOR,
                    tune=(pitch, pitch),
                    at=pitch,
                    attack=k == start,
                    still=length >= 3 and k > start,
                )
            )
    return slots, long_notes


def faults(slots: list[Slot], line: list[Sung], place: dict[str, int]) -> list[str]:
    """What is wrong with a line, by rules written down again."""
    found = []
    at = {k: note for note in line for k in range(note.start, note.start + note.length)}
    if sorted(at) != list(range(len(slots))):
        found.append("gaps")
    for k, slot in enumerate(slots):
        pitch = at[k].pitch
        if not place["low"] <= pitch <= place["high"] or pitch % 12 not in slot.scale:
            found.append(f"{k}: out of place")
        if slot.at is not None and abs(slot.at - pitch) < 3:
            found.append(f"{k}: touches the tune")
    for before, note in pairwise(line):
        k, step = note.start, note.pitch - before.pitch
        slot = slots[k]
        if abs(step) in (6, 10, 11) or abs(step) > 12:
            found.append(f"{k}: leap of {step}")
        outside = note.pitch % 12 not in slot.chord
        if outside and (slot.strong or not 0 < abs(step) <= 2):
            found.append(f"{k}: a dissonance that is not passed into")
        left = slots[k - 1]
        if before.pitch % 12 not in left.chord:
            struck_outside = before.pitch % 12 not in slots[before.start].chord
            if not 0 < abs(step) <= 2:
                found.append(f"{k}: a dissonance left by leap")
            if not struck_outside and not (-2 <= step < 0 and not outside):
                found.append(f"{k}: a suspension that does not resolve down")
        if slot.attack and left.at is not None and slot.at is not None:
            apart = abs(note.pitch - slot.at) % 12
            if apart in (0, 7) and step * (slot.at - left.at) > 0:
                found.append(f"{k}: similar motion into a perfect consonance")
        if slot.beat and slot.at is not None and abs(note.pitch - slot.at) % 12 in (1, 11):
            found.append(f"{k}: a clash")
    return found


notes = st.tuples(st.sampled_from([1, 2, 2, 4, 6, 8]), st.sampled_from([67, 69, 71, 72, 74, 76, 77, 79]))
tunes = st.lists(notes, min_size=6, max_size=12).filter(lambda t: 16 <= sum(n for n, _ in t) <= 40)
harmonies = st.lists(st.integers(0, 2), min_size=2, max_size=4)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(tunes, harmonies)
def test_lines_keep_the_rules(tune: Tune, chords: list[int]) -> None:
    slots, long_notes = scene(tune, chords)
    line = compose(slots, long_notes, HALVES, BELOW, TABLE)
    if not line:
        return
    assert faults(slots, line, BELOW) == []
    pitches = [note.pitch for note in line]
    assert max(pitches) - min(pitches) >= 7
    assert pitches.count(max(pitches)) == 1
    starts = {note.start for note in line}
    moved = sum(1 for a, b in long_notes if starts & set(range(a + 1, b)))
    assert moved >= 0.7 * len(long_notes)


PLAIN: Tune = [(4, 76), (4, 74), (8, 72), (2, 74), (2, 76), (4, 77), (8, 79), (4, 76), (4, 72)]


def test_a_plain_tune_gets_a_line_under_it_and_a_low_one_over_it() -> None:
    slots, long_notes = scene(PLAIN, [0, 1, 2, 0])
    assert faults(slots, compose(slots, long_notes, HALVES, BELOW, TABLE), BELOW) == []
    low, long_low = scene([(length, pitch - 17) for length, pitch in PLAIN], [1, 0, 2, 0])
    line = compose(low, long_low, HALVES, ABOVE, TABLE)
    assert line and all(note.pitch > 62 for note in line)


def test_the_same_line_every_time() -> None:
    slots, long_notes = scene(PLAIN, [0, 1, 2, 0])
    assert compose(slots, long_notes, HALVES, BELOW, TABLE) == compose(slots, long_notes, HALVES, BELOW, TABLE)


def test_no_room_no_line() -> None:
    """A tune down to C3 leaves nothing under it from C3 on."""
    slots, long_notes = scene([(4, 48), (4, 76), (8, 72)], [0])
    assert compose(slots, long_notes, HALVES, BELOW, TABLE) == []


def test_the_check_finds_faults() -> None:
    slots, _ = scene([(4, 76), (4, 77), (8, 79)], [0])
    wrong = [Sung(0, 4, 64), Sung(4, 4, 65), Sung(8, 8, 71)]
    assert {fault.split(": ")[1] for fault in faults(slots, wrong, BELOW)} >= {
        "out of place",
        "a dissonance that is not passed into",
        "similar motion into a perfect consonance",
        "leap of 6",
    }


def test_the_highest_note_is_not_among_the_first() -> None:
    slots, long_notes = scene(PLAIN, [0, 1, 2, 0])
    early = {**TABLE, "cost": {**TABLE["cost"], "early": -TABLE["cost"]["early"]}}
    crests = []
    for table in (TABLE, early):
        line = compose(slots, long_notes, HALVES, BELOW, table)
        assert faults(slots, line, BELOW) == []
        crests.append(max(line, key=lambda note: note.pitch).start / len(slots))
    assert crests[1] < 0.25 <= crests[0]


def test_what_the_bass_does_between_two_slots_counts() -> None:
    """C4 over C3, then D4 over D3: octaves in a row where C3 sounds right before, and none where the bass has moved on."""
    before = Slot(True, True, True, CHORDS[0], MAJOR, bass=48)
    after = Slot(True, False, False, frozenset((2, 5, 9)), MAJOR, bass=50, bass_attack=True)
    assert not _allowed(before, after, 60, 62)
    assert _allowed(before, replace(after, bass_before=55), 60, 62)
    low = replace(before, bass=43)
    assert _allowed(low, after, 60, 62) and not _allowed(low, replace(after, bass_before=48), 60, 62)
    led = replace(after, bass=None, at=74, attack=True)
    assert _allowed(replace(before, at=77), led, 60, 62)
    assert not _allowed(replace(before, at=77), replace(led, tune_before=72), 60, 62)
