"""Form: phrases of the same material get the same letter, with primes where the material comes back varied."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from string import ascii_uppercase

from autoorch.roles.model import Phrase
from autoorch.roles.parameters import Section
from autoorch.roles.strands import by_phrase
from autoorch.roles.texture import Tone

_Material = Counter[tuple[int, int]]


def labelled(phrases: Sequence[Phrase], tune: Sequence[Tone], table: Section) -> list[Phrase]:
    """The phrases with letters: compared are the tune's intervals with the steps between their attacks."""
    tones = dict(by_phrase(tune, phrases))
    materials = [_material(tones.get(k, [])) for k in range(len(phrases))]
    firsts: list[tuple[int, int]] = []  # phrase that brought a letter, times it came back varied
    found = []
    for k, phrase in enumerate(phrases):
        likeness = [(_alike(materials[first], materials[k]), -n) for n, (first, _) in enumerate(firsts)]
        best, n = max(likeness, default=(0.0, 0))
        if best < table["same"]:
            firsts.append((k, 0))
            found.append(replace(phrase, label=_letter(len(firsts) - 1)))
        elif best >= table["equal"]:
            found.append(replace(phrase, label=_letter(-n)))
        else:
            first, varied = firsts[-n]
            firsts[-n] = (first, varied + 1)
            found.append(replace(phrase, label=_letter(-n) + "'" * min(varied + 1, int(table["primes"]))))
    return found


def _material(tones: Sequence[Tone]) -> _Material:
    """Multiset of (interval, ticks to the next attack)."""
    return Counter((b.pitch - a.pitch, b.onset - a.onset) for a, b in itertools.pairwise(tones))


def _alike(one: _Material, other: _Material) -> float:
    """Share of what both have in common, 0 to 1."""
    most = max(one.total(), other.total())
    return (one & other).total() / most if most else 0.0


def _letter(number: int) -> str:
    """A to Z, then A1 …"""
    turn, place = divmod(number, len(ascii_uppercase))
    return ascii_uppercase[place] + (str(turn) if turn else "")
