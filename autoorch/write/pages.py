"""Which scores are written: the full one, the one in C, a condensed one, parts; like winds apart or in pairs, keys or none."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass

from autoorch.score.condensed import condensed
from autoorch.score.model import Score
from autoorch.score.pairs import paired
from autoorch.score.parts import parts_of
from autoorch.score.transpose import at_concert_pitch, without_keys

SCORE, CONCERT, CONDENSED, PARTS = "score.musicxml", "score-concert.musicxml", "condensed.musicxml", "parts"
_FORBIDDEN = '<>:"/\\|?*'
"""Signs that some file systems refuse."""


@dataclass(frozen=True, slots=True)
class Pages:
    """What the user wants of it.

    Attributes:
        parts: a file a player or section too.
        pairs: like winds two on a staff in the scores; parts stay one a player.
        keys: key signatures; without them every accidental is written.
    """

    parts: bool = False
    pairs: bool = False
    keys: bool = True


def scores(score: Score, pages: Pages, there: Container[str] = ()) -> dict[str, Score]:
    """File name inside the draft's folder -> score, but for the files that are `there` already."""
    full = {} if SCORE in there else {SCORE: score}
    if CONCERT not in there:
        full[CONCERT] = at_concert_pitch(score)
    found = {name: paired(each) if pages.pairs else each for name, each in full.items()}
    found[CONDENSED] = condensed(score)
    if pages.parts:
        found |= parts(score)
    return found if pages.keys else {name: without_keys(each) for name, each in found.items()}


def parts(score: Score) -> dict[str, Score]:
    """File name -> part; the number in front keeps them in score order."""
    return {
        f"{PARTS}/{number:02d} {_safe(own.heading)}.musicxml": own
        for number, own in enumerate(parts_of(score), start=1)
    }


def _safe(name: str) -> str:
    plain = "".join("-" if sign in _FORBIDDEN else sign for sign in name)
    return plain.replace("♭", "b").replace("♯", "sharp").strip(" .")
