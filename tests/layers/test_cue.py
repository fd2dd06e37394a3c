"""Questions that layers ask of a cue: places, dynamics in force, moments, names of notes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.brief import parse_brief
from autoorch.errors import BriefError
from autoorch.layers.cue import ASKED
from autoorch.roles.model import Moment
from autoorch.sketch.model import Mark
from tests.layers.test_counterline import BAR, TICKS, cue

HERE = cue(("C5 4", "D5 4", "E5 4", "C5 4"))


def test_places_are_named_with_their_beat() -> None:
    assert HERE.place(0) == "bar 1"
    assert HERE.place(BAR + 2 * TICKS) == "bar 2, beat 3"
    assert HERE.place(6) == "bar 1, beat 2.5"
    assert HERE.on_beat(4) and not HERE.on_beat(6)


def test_the_last_mark_inside_the_phrase_is_in_force() -> None:
    marks = (Mark("dynamic", BAR, BAR, 0, "ff"), Mark("dynamic", 2 * BAR, 2 * BAR, 0, "sfz"))
    marked = replace(HERE, sketch=replace(HERE.sketch, marks=marks))
    assert [marked.dynamic_at(tick) for tick in (0, BAR, 3 * BAR)] == ["mp", "ff", "ff"]
    assert marked.swell(BAR, 3) == ("mp", "ff")
    assert HERE.swell(0, 9) == ("ppp", "mp")
    second = replace(HERE.plan[0], start=2 * BAR, dynamic="p")
    two = replace(marked, plan=(replace(HERE.plan[0], end=2 * BAR), second))
    assert two.dynamic_at(3 * BAR) == "p"


def test_the_brief_s_moments_stand_above_the_reading_s() -> None:
    brief = parse_brief('[[moment]]\nbar = 2\nbeat = 3\nkind = "hit"\n')
    reading = HERE.reading.with_(moments=(Moment(BAR + 8, "hit", 0.5), Moment(0, "arrival", 0.6)))
    assert replace(HERE, brief=brief, reading=reading).moments == (
        Moment(0, "arrival", 0.6),
        Moment(BAR + 8, "hit", ASKED),
    )
    with pytest.raises(BriefError, match="no bar 40"):
        assert replace(HERE, brief=parse_brief('[[moment]]\nbar = 40\nkind = "hit"\n')).moments
    with pytest.raises(BriefError, match=r"moment, bar 2: there is no beat 5; the bar has 4$"):
        assert replace(HERE, brief=parse_brief('[[moment]]\nbar = 2\nbeat = 5\nkind = "hit"\n')).moments


@pytest.mark.parametrize(
    ("fifths", "key", "name"), [(4, (1, "minor"), "C#4"), (-5, (1, "major"), "Db4"), (4, (8, "major"), "B#3")]
)
def test_notes_are_spelled_near_the_signature(fifths: int, key: tuple[int, str], name: str) -> None:
    """C sharp minor has C sharp; G sharp major inside four sharps its B sharp, not a C."""
    bars = tuple(replace(bar, fifths=fifths) for bar in HERE.sketch.bars)
    chords = tuple(replace(chord, key=key) for chord in HERE.reading.chords)
    here = replace(HERE, sketch=replace(HERE.sketch, bars=bars, notes=()), reading=HERE.reading.with_(chords=chords))
    assert str(here.spelled(60 if name == "B#3" else 61, 0)) == name


def test_a_note_that_the_sketch_has_in_the_chord_is_spelled_as_there() -> None:
    """The tune's first note is C, whatever key the chord is heard in; the next chord's is not its."""
    chords = tuple(replace(chord, key=(8, "major")) for chord in HERE.reading.chords)
    sharp = tuple(replace(bar, fifths=4) for bar in HERE.sketch.bars)
    here = replace(HERE, sketch=replace(HERE.sketch, bars=sharp), reading=HERE.reading.with_(chords=chords))
    first = [note for note in here.sketch.notes if note.onset < chords[0].end]
    assert {str(note.pitch)[:-1] for note in first if note.pitch.midi % 12 == 0} == {"C"}
    assert str(here.spelled(48, 0)) == "C3"
    only = replace(here, sketch=replace(here.sketch, notes=tuple(n for n in here.sketch.notes if n not in first)))
    assert str(only.spelled(48, 0)) == "B#2"


def test_who_has_an_instrument() -> None:
    assert HERE.seats(("triangle",)) == 3, "every percussionist"
    assert HERE.seats(("piccolo",)) == 1, "the third flute"
    assert HERE.seats(("celesta",)) == 0
