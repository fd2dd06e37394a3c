"""What stands before the music: which score or whose part it is; who plays, by families, with doublings, percussion and numbers
of strings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from autoorch.lineup import Player
from autoorch.score.model import Part, Score

PERCUSSION = "Percussion"
OCTAVE = 12
"""Semitones."""


def heading(score: Score) -> str:
    """Whose part it is, or which of the scores."""
    names = score.house.first_page
    if score.heading:
        return score.heading
    if score.concert:
        return str(names["concert"])
    moved = any(part.transposition[1] % OCTAVE for part in score.parts)
    return str(names["transposed" if moved else "plain"])


def lineup(score: Score) -> tuple[str, ...]:
    """The lines under the title of a full score, where more play than the names before the staves tell at a glance."""
    many = len(score.parts) >= score.house.first_page["players"]
    return instrumentation(score) if many and not score.heading else ()


def instrumentation(score: Score) -> tuple[str, ...]:
    """One line a group of the full score: "Woodwind: 3 Flutes (3rd also Piccolo), 2 Oboes, …"."""
    found = []
    for group, parts in groupby(score.parts, key=lambda part: part.player.group):
        found.append(f"{group or 'Players'}: {', '.join(_told(list(parts)))}")
    return tuple(found)


def _told(parts: Sequence[Part]) -> Iterator[str]:
    drums: dict[str, list[str]] = {}
    for _, like in groupby(parts, key=lambda part: _kind(part.player)):
        own = list(like)
        if own[0].player.name.startswith(f"{PERCUSSION} "):
            for part in own:
                plays = part.player.name != part.seat
                drums.setdefault(part.seat, []).extend([part.player.instrument.name] if plays else [])
        else:
            yield _seats([part.player for part in own])
    if drums:
        used = ", ".join(dict.fromkeys(name for names in drums.values() for name in names))
        people = f"{len(drums)} percussion player{'s' if len(drums) > 1 else ''}"
        yield f"{people} ({used})" if used else people


def _kind(player: Player) -> str:
    """What counts as alike: percussionists by their being that, strings section by section."""
    if player.name.startswith(f"{PERCUSSION} "):
        return PERCUSSION
    return player.name if player.size > 1 else player.instrument.id


def _seats(players: Sequence[Player]) -> str:
    first = players[0]
    if first.size > 1:
        return f"{first.size} {first.name}"
    also = [
        f"{_ordinal(place) if len(players) > 1 else ''} also {', '.join(other.name for other in player.doubles)}".strip()
        for place, player in enumerate(players, start=1)
        if player.doubles
    ]
    name = first.instrument.name
    if len(players) > 1:
        plain, _, key = name.partition(" in ")
        plural = first.instrument.plural if plain == first.instrument.player else f"{plain}s"
        name = f"{len(players)} {plural}" + (f" in {key}" if key else "")
    return f"{name} ({'; '.join(also)})" if also else name


def _ordinal(number: int) -> str:
    return f"{number}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(number, 'th') }".replace(" ", "")
