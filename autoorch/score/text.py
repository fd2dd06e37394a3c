"""What a choir sings: the sketch's own text, that of the tune where all move together, or a vowel at each entry where there is
none."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from autoorch.instruments import DYNAMICS
from autoorch.lineup import Player
from autoorch.score.notation import Notation
from autoorch.score.streams import Key, Played
from autoorch.sketch.model import Sketch


def syllables(
    player: Player, notes: Sequence[Played], sketch: Sketch, force: Callable[[Played], str], house: Notation
) -> dict[Key, str]:
    """The syllable of each note that has one.

    A line that has no text at all has the syllables that others begin with its notes. Where there are none, each of its entries
    (its first note, and each after a rest) gets the open or the closed vowel of the table, by its dynamic; the notes after it
    are sung on it.

    Args:
        force: the dynamic at a note.
    """
    if player.instrument.kind != "voice":
        return {}
    by_id = sketch.by_id
    found = {n.key: next((by_id[s].lyric for s in n.note.sources if s in by_id and by_id[s].lyric), "") for n in notes}
    texts = {key: lyric for key, lyric in found.items() if lyric}
    worded = {key[0] for key in texts}
    others = {n.onset: n.lyric for n in sketch.notes if n.lyric}
    along = {n.key: others[n.note.onset] for n in notes if n.line not in worded and n.note.onset in others}
    texts.update(along)
    worded.update(line for line, _ in along)
    end: dict[str, int] = {}
    for note in notes:
        if note.line not in worded and end.get(note.line, -1) < note.onset:
            texts[note.key] = _vowel(force(note), house)
        end[note.line] = note.end
    return texts


def _vowel(dynamic: str, house: Notation) -> str:
    loud = DYNAMICS.index(dynamic) >= DYNAMICS.index(house.syllables["open_from"])
    return house.syllables["open" if loud else "closed"]
