"""Families complete: a family that plays full chords has the third of the chord in its own parts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from autoorch.check.families.vertical import chord_root
from autoorch.check.find import whole
from autoorch.check.limits import Limits
from autoorch.check.model import Note, Part, Score
from autoorch.check.report import Finding

_THIRDS = (3, 4)


def families(score: Score, limits: Limits) -> Iterator[Finding]:
    """Several parts of one family hold root and fifth of a chord whose third only other families have.

    Unisons and octaves are no chord; so is a pair, and what is shorter than the table's seconds.
    """
    table = limits.of("family_chord")
    told: set[tuple[int, str]] = set()
    for start, end, sounding in score.moments:
        if score.seconds(end) - score.seconds(start) < table["seconds"]:
            continue
        root = chord_root(sorted({note.pitch for _, note in sounding}))
        if root is None:
            continue
        for family in ("woodwind", "brass", "strings"):
            own = [(part, note) for part, note in sounding if part.instrument and part.instrument.family == family]
            place = score.bar(start), family
            if place in told or not _hollow(own, root, int(table["parts"])):
                continue
            told.add(place)
            message = f"the {family} hold root and fifth, the third is only in other families"
            yield whole(
                score, "family chord", "style", start, f"{len(own)} notes", "third", table["source"], message
            )  # fmt: skip


def _hollow(own: Sequence[tuple[Part, Note]], root: int, parts: int) -> bool:
    """Enough parts, at least root and another member, and no third."""
    steps = {(note.pitch - root) % 12 for _, note in own}
    return len({part.index for part, _ in own}) >= parts and {0, 7} <= steps and not steps & set(_THIRDS)


RULES = (families,)
