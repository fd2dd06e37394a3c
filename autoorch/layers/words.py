"""What the sketch itself says of who plays: "Ob.", "Hns", "Strings" over a staff become directions that prefer them there.

A cue holds for what its staff has from its bar on, to the end of the phrase or to the next cue on the staff. Words that mean
nobody in the line-up, or everybody, are no cues; so are names of voices, which look like other words ("ten.").
"""

from __future__ import annotations

from dataclasses import replace

from autoorch.brief import STRAND_ROLES, Bars, Brief, Direction
from autoorch.lineup import Lineup, Player, resolve
from autoorch.roles.model import Reading
from autoorch.sketch.model import Mark, Sketch

_SAID_OF = {strand: role for role, strands in reversed(STRAND_ROLES.items()) for strand in strands}
"""Role of a strand -> role as a direction says it."""


def with_words(brief: Brief, sketch: Sketch, reading: Reading, lineup: Lineup) -> Brief:
    """The brief with a direction for each cue that it has not already."""
    cues = [(mark, players) for mark in sketch.marks if mark.kind == "words" and (players := cued(mark.value, lineup))]
    found = []
    for number, (mark, players) in enumerate(cues):
        after = [
            other.onset for other, _ in cues[number + 1 :] if other.staff == mark.staff and other.onset > mark.onset
        ]
        direction = _direction(sketch, reading, mark, players, after)
        if direction is not None and direction not in (*brief.directions, *found):
            found.append(direction)
    return replace(brief, directions=brief.directions + tuple(found)) if found else brief


def cued(text: str, lineup: Lineup) -> tuple[Player, ...]:
    """The players that a cue means; the first of several alike where it names one ("Ob."); () where it is no cue."""
    words = text.strip().removesuffix("solo").strip(" ,()")
    players = resolve(lineup, words) if words else ()
    if len(players) == len(lineup.players) or any(player.instrument.family == "voice" for player in players):
        return ()
    one = len({player.instrument.id for player in players}) == 1 and not words.rstrip(".").endswith("s")
    sections = any(player.size > 1 for player in players)
    return players[:1] if one and not sections and not any(letter.isdigit() for letter in words) else players


def _direction(
    sketch: Sketch, reading: Reading, mark: Mark, players: tuple[Player, ...], after: list[int]
) -> Direction | None:
    """Who is preferred for what the staff has there; None where it has nothing more."""
    first = sketch.bar_at(mark.onset)
    here = [n for n in sketch.notes if n.onset >= mark.onset and n.duration and mark.staff in (n.staff, -1)]
    if not here:
        return None
    note = min(here, key=lambda n: (n.onset, n.voice, -n.pitch.midi))
    role = next((s.role for s in reading.strands if s.id == reading.strand_of.get(note.id)), "")
    end = min([reading.phrases[reading.phrase_at(note.onset)].end, *after])
    last = sketch.bar_at(max(first.onset, end - 1))
    if after and end in after and last.index > first.index and end != last.end:
        last = sketch.bars[last.index - 1]
    bars = Bars(first.number, last.number)
    return Direction(bars, _SAID_OF.get(role, ""), prefer=tuple(player.name for player in players))
