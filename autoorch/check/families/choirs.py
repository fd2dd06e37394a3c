"""Families complete: a family that plays full chords has the third of the chord in its own parts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from autoorch.check.families.vertical import chord_root
from autoorch.check.find import whole
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding

FAMILIES = ("woodwind", "brass", "strings")
_THIRDS = (3, 4)


@dataclass(frozen=True, slots=True)
class _Hollow:
    """A family without the third: ticks, the root's pitch class, how many notes it has at the start."""

    family: str
    root: int
    start: int
    end: int
    notes: int


def families(score: Score, limits: Limits) -> Iterator[Finding]:
    """Several parts of one family hold root and fifth of a chord whose third only other families have.

    Unisons and octaves are no chord; so is a pair, and what is shorter than the table's seconds.
    """
    table = limits.of("family_chord")
    told: set[tuple[int, str]] = set()
    for hollow in sorted(_runs(score, int(table["parts"])), key=lambda one: (one.start, FAMILIES.index(one.family))):
        place = score.bar(hollow.start), hollow.family
        if place in told or score.seconds(hollow.end) - score.seconds(hollow.start) < table["seconds"]:
            continue
        told.add(place)
        message = f"the {hollow.family} hold root and fifth, the third is only in other families"
        yield whole(
            score, "family chord", "style", hollow.start, f"{hollow.notes} notes", "third", table["source"], message
        )  # fmt: skip


def _runs(score: Score, parts: int) -> Iterator[_Hollow]:
    """Each stretch of time through which a family is hollow over one root, others moving or not."""
    open_: dict[str, _Hollow] = {}
    for start, end, sounding in score.moments:
        root = chord_root(sorted({note.pitch for _, note in sounding}))
        for family in FAMILIES:
            own = [(part, note) for part, note in sounding if part.instrument and part.instrument.family == family]
            before = open_.pop(family, None)
            if root is not None and _hollow(own, root, parts):
                if before and (before.end, before.root) == (start, root):
                    open_[family] = replace(before, end=end)
                    continue
                open_[family] = _Hollow(family, root, start, end, len(own))
            if before:
                yield before
    yield from open_.values()


def _hollow(own: Sequence[tuple[Part, Note]], root: int, parts: int) -> bool:
    """Enough parts, at least root and another member, and no third."""
    steps = {(note.pitch - root) % 12 for _, note in own}
    return len({part.index for part, _ in own}) >= parts and {0, 7} <= steps and not steps & set(_THIRDS)


RULES = (families,)
