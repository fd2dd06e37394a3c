"""The smallest and oddest sketches go through the whole house: each note has its fate, and sounds where the draft says."""

from __future__ import annotations

import pytest

from autoorch.errors import SketchError
from autoorch.pipeline import Result, draft
from autoorch.solver.solve import Limits
from tests.support.xml import bar, note, read, score

BACK = "<backup><duration>16</duration></backup>"
REST = note("", 16, staff=2, voice="5")
LOW = note("C3", 16, staff=2, voice="5")


def attributes(beats: int = 4, fifths: int = 0) -> str:
    time = f"<time><beats>{beats}</beats><beat-type>4</beat-type></time>"
    return f"<divisions>4</divisions><key><fifths>{fifths}</fifths></key>{time}<staves>2</staves>"


def held(first: bool, last: bool) -> str:
    """A bar of a note that is held from the first of several bars to the last."""
    ends = ([] if first else ["stop"]) + ([] if last else ["start"])
    ties = "".join(f'<tie type="{end}"/>' for end in ends)
    return note("C5", 16, inside=ties, signs="".join(f'<tied type="{end}"/>' for end in ends), staff=1)


SKETCHES = {
    "one note": [bar(note("C4", 16, staff=1) + BACK + REST, "1", attributes())],
    "a short note": [bar(note("C4", 1, staff=1) + note("", 15, staff=1) + BACK + REST, "1", attributes())],
    "a pickup and nothing else": [bar(note("C4", 4, staff=1), "0", attributes(), ' implicit="yes"')],
    "an empty staff": [
        bar(note("C5", 8, staff=1) + note("D5", 8, staff=1) + BACK + REST, str(k + 1), "" if k else attributes())
        for k in range(4)
    ],
    "a note held over windows": [
        bar(held(k == 0, k == 11) + BACK + LOW, str(k + 1), "" if k else attributes()) for k in range(12)
    ],
    "seven sharps, then seven flats": [
        bar(note(pitch, 16, staff=1) + BACK + LOW, str(k + 1), attributes(fifths=fifths))
        for k, (pitch, fifths) in enumerate((("C#5", 7), ("Cb5", -7)))
    ],
    "extremes": [bar(note("C9", 16, staff=1) + BACK + note("C0", 16, staff=2, voice="5"), "1", attributes())],
}


def sounds(result: Result) -> set[tuple[str, int, int]]:
    """(player, tick, MIDI) of each attack in the score."""
    return {
        (part.seat, bar_.onset + event.onset, head.sounding.midi)
        for part in result.score.parts
        for bar_, measure in zip(result.score.bars, part.measures, strict=True)
        for voice in measure.voices
        for event in voice
        for head in event.heads
        if not head.tie_stop
    }


def chosen(result: Result) -> set[tuple[str, int, int]]:
    """The same of the draft's choices."""
    factor = result.score.ticks // result.sketch.ticks
    return {
        (choice.player, factor * one.onset, one.pitch.midi + 12 * choice.octave)
        for choice in result.draft.choices
        for name in choice.lines
        for one in result.material.line[name].notes
        if choice.start <= one.onset < choice.end and one.duration
    }


@pytest.mark.parametrize("name", SKETCHES)
@pytest.mark.parametrize("lineup", ["string quartet", "wind quintet"])
def test_odd_sketches_are_drafted_whole(name: str, lineup: str) -> None:
    result = draft(read(score(SKETCHES[name])), lineup, limits=Limits(seconds=2, options=60))
    assert [fate.note for fate in result.draft.fates] == [one.id for one in result.sketch.notes]
    assert {fate.fate for fate in result.draft.fates} <= {"copied", "octave moved"}
    assert sounds(result) == chosen(result) != set()


@pytest.mark.parametrize(
    "content", [note("", 16, staff=1), note("C5", 0, grace="<grace/>", staff=1) + note("", 16, staff=1)]
)
def test_a_sketch_without_notes_that_last_is_refused_in_a_line(content: str) -> None:
    with pytest.raises(SketchError):
        draft(read(score([bar(content + BACK + REST, "1", attributes())])), "string quartet")
