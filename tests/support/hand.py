"""Scores made by hand: lines of music in a short notation, who plays them, and the score that comes of it.

A line is written as "C4:4 D4:2.5 -:1 E4:1/3": pitch, colon, length in quarters ("-" rests).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import lcm

from autoorch.layers.assigned import assigned
from autoorch.layers.model import Material, PhrasePlan
from autoorch.lineup import Lineup
from autoorch.pitch import parse
from autoorch.problem.draft import Choice, Draft
from autoorch.roles.model import Line, Phrase, Reading, Strand
from autoorch.score.model import Score
from autoorch.score.realise import realise
from autoorch.sketch.model import Bar, Mark, Sketch, SketchNote, Slur, Staff
from autoorch.tables import load_tables


def make_sketch(
    lines: Sequence[str],
    metre: tuple[int, int] = (4, 4),
    fifths: int = 0,
    pickup: str = "0",
    marks: Sequence[Mark] = (),
    slurs: Sequence[tuple[str, str]] = (),
    notes: dict[str, dict[str, object]] | None = None,
) -> Sketch:
    """A sketch of one staff a line; notes are called "a0", "a1", … on the first line, "b0", … on the second.

    Args:
        lines: music, see above.
        pickup: length of a pickup bar in quarters.
        marks: in ticks.
        notes: changes of single notes, by id.
    """
    parsed = [[(word.split(":")[0], Fraction(word.split(":")[1])) for word in line.split()] for line in lines]
    lengths = [length for line in parsed for _, length in line] + [Fraction(4 * metre[0], metre[1]), Fraction(pickup)]
    ticks = lcm(*(length.denominator for length in lengths))
    found: list[SketchNote] = []
    total = 0
    for staff, line in enumerate(parsed):
        at = 0
        for number, (name, length) in enumerate(line):
            duration = int(length * ticks)
            if name != "-":
                id_ = f"{'abcdefgh'[staff]}{number}"
                fields: dict[str, object] = {
                    "id": id_, "onset": at, "duration": duration, "pitch": parse(name), "staff": staff, "voice": 1,
                }  # fmt: skip
                fields.update((notes or {}).get(id_, {}))
                found.append(SketchNote(**fields))  # type: ignore[arg-type]
                duration = int(length * ticks) if fields["duration"] else 0
            at += duration
        total = max(total, at)
    bars, at, full = [], 0, int(Fraction(4 * metre[0], metre[1]) * ticks)
    first = int(Fraction(pickup) * ticks)
    while at < total:
        length = first if first and not bars else full
        number = len(bars) if first else len(bars) + 1
        bars.append(Bar(len(bars), str(number), at, length, metre, fifths, "major"))
        at += length
    staves = tuple(Staff(k, "") for k in range(len(lines)))
    return Sketch(
        ticks, staves, tuple(bars), tuple(sorted(found, key=lambda n: (n.onset, n.staff))),
        tuple(Slur(*pair) for pair in slurs), tuple(marks),
    )  # fmt: skip


def read_hand(sketch: Sketch, roles: Sequence[str] = ()) -> Reading:
    """One strand of one line a staff, "s1", "s2", …; one phrase, mf, at 100."""
    strands = []
    for staff in sketch.staves:
        own = tuple(note.id for note in sketch.notes if note.staff == staff.index)
        role = roles[staff.index] if roles else "melody" if staff.index == 0 else "inner"
        strands.append(Strand(f"s{staff.index + 1}", role, (Line(f"s{staff.index + 1}.1", own),)))
    return Reading(tuple(strands), (Phrase(0, sketch.end),), ())


def make_score(sketch: Sketch, lineup: Lineup, wanted: Sequence[Choice], reading: Reading | None = None) -> Score:
    """The score of these choices."""
    reading = reading or read_hand(sketch)
    plan = tuple(PhrasePlan(p.start, p.end, 0.5, p.dynamic) for p in reading.phrases)
    material = Material(assigned(sketch, reading, load_tables()), plan)
    return realise(sketch, reading, material, lineup, Draft(tuple(wanted)))


def whole(sketch: Sketch, player: str, *lines: int, octave: int = 0, share: int = 12) -> Choice:
    """The player takes these staves' lines (counted from 1) from beginning to end."""
    return Choice(player, f"s{lines[0]}", tuple(f"s{k}.1" for k in lines), octave, 0, sketch.end, share)
