"""What a harpist and a timpanist set before they play: the pedals at the first note, the drums' notes and where they change.

A harp has one pedal a letter, D C B for the left foot and E F G A for the right (published guides for composers).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from autoorch.instruments import Instrument
from autoorch.layers.model import MaterialNote
from autoorch.lineup import Player
from autoorch.pitch import Pitch, from_midi, key_alters
from autoorch.score.marks import Placed
from autoorch.score.spelling import plain
from autoorch.score.streams import Grid, Played

HARP = "harp"
"""The instrument with pedals; others of its family have frets."""
LETTERS = ("DCB", "EFGA")
SIGNS = {-1: "♭", 0: "♮", 1: "♯"}


def is_harp(player: Player) -> bool:
    return player.instrument.id == HARP


def by_pedals(notes: Sequence[Played], seconds: Callable[[int], float], foot: float) -> tuple[Played, ...]:
    """A harp's notes, spelled so that no pedal moves faster than a foot can, which needs `foot` seconds: the other name of a
    note is taken where its string stands right and the written one's does not and has just been struck."""
    setting: dict[str, int] = {}
    struck: dict[str, float] = {}
    found = []
    for note in notes:
        pitch, now = note.note.pitch, seconds(note.onset)
        hurried = pitch.step in setting and setting[pitch.step] != pitch.alter and now - struck[pitch.step] < foot
        other = _other_name(pitch, setting) if hurried or abs(pitch.alter) > 1 else None
        chosen = replace(note, note=replace(note.note, pitch=other)) if other else note
        name = chosen.note.pitch
        setting[name.step] = name.alter
        struck[name.step] = max(now, struck.get(name.step, now))
        found.append(chosen)
    return tuple(found)


def _other_name(pitch: Pitch, setting: dict[str, int]) -> Pitch | None:
    """Another name of the pitch whose string stands right already, or is free."""
    for fifths in (pitch.fifths - 12, pitch.fifths + 12):
        name = from_midi(pitch.midi, fifths)
        if name != pitch and abs(name.alter) <= 1 and setting.get(name.step, name.alter) == name.alter:
            return name
    return None


def tuning_words(player: Player, notes: Sequence[Played], grid: Grid) -> list[Placed]:
    """The words of a harp's or a timpanist's part; none for others."""
    if not notes:
        return []
    if is_harp(player):
        return list(_pedals(notes, grid))
    if player.instrument.kind == "timpani":
        return list(_drums(player.instrument, notes))
    return []


def _pedals(notes: Sequence[Played], grid: Grid) -> Iterator[Placed]:
    """Where a harp begins each letter as the piece wants it first, else as the key has it; then each that moves, as soon as the
    player has let go of what comes before."""
    first: dict[str, int] = {}
    strung = [(note, [one.pitch for one in (*note.graces, note.note)]) for note in notes]
    for _, pitches in strung:
        for pitch in pitches:
            first.setdefault(pitch.step, max(-1, min(1, pitch.alter)))
    key = key_alters(grid.bar_at(notes[0].onset).fifths)
    setting = {letter: first.get(letter, max(-1, min(1, key[letter]))) for foot in LETTERS for letter in foot}
    told = (" ".join(f"{letter}{SIGNS[setting[letter]]}" for letter in foot) for foot in LETTERS)
    yield Placed(notes[0].onset, "words", " | ".join(told))
    moves: dict[int, dict[str, int]] = {}
    free = 0
    for onset, group in groupby(strung, key=lambda entry: entry[0].onset):
        own = list(group)
        for pitch in (pitch for _, pitches in own for pitch in pitches):
            if abs(pitch.alter) <= 1 and setting[pitch.step] != pitch.alter:
                setting[pitch.step] = pitch.alter
                moves.setdefault(min(free, onset), {})[pitch.step] = pitch.alter
        free = max(free, *(note.end for note, _ in own))
    for tick, letters in moves.items():
        yield Placed(tick, "words", " ".join(f"{letter}{SIGNS[alter]}" for letter, alter in letters.items()))


def _drums(instrument: Instrument, notes: Sequence[Played]) -> Iterator[Placed]:
    """ "Tune G C" where the piece begins, in good time; "C to D" after the last note of a drum that must change."""
    wanted = [(note.onset, note.midi, note.note) for note in notes]
    names = {midi: _name(note) for _, midi, note in wanted}
    tuned = _first(instrument, [midi for _, midi, _ in wanted])
    yield Placed(0, "words", "Tune " + " ".join(names[midi] for midi in sorted(tuned.values())))
    for k, (_, midi, _) in enumerate(wanted):
        if midi in tuned.values():
            continue
        later = [m for _, m, _ in wanted[k:]]
        able = [d for d, (low, high) in enumerate(instrument.drums) if low <= midi <= high]
        if not able:
            continue
        drum = max(able, key=lambda d: (later.index(tuned[d]) if tuned.get(d) in later else len(later), -d))
        before = [note.end for note in notes[:k]]
        old = f"{names[tuned[drum]]} to " if drum in tuned else "Tune "
        yield Placed(max(before, default=notes[0].onset), "words", f"{old}{names[midi]}")
        tuned[drum] = midi


def _first(instrument: Instrument, pitches: Sequence[int]) -> dict[int, int]:
    """Drum -> note, for as many of the first different notes as the drums can have at once."""
    tuned: dict[int, int] = {}
    for midi in dict.fromkeys(pitches):
        trial = _matched(instrument, (*tuned.values(), midi))
        if trial is None:
            break
        tuned = trial
    return tuned


def _matched(instrument: Instrument, pitches: Sequence[int]) -> dict[int, int] | None:
    """Drum -> note, lower notes on larger drums, each within its drum's span; None where that can't be."""
    if not pitches:
        return {}
    rest = sorted(pitches)
    found: dict[int, int] = {}
    for drum, (low, high) in enumerate(instrument.drums):
        if rest and low <= rest[0] <= high:
            found[drum] = rest.pop(0)
    return None if rest else found


def _name(note: MaterialNote) -> str:
    pitch = note.pitch if note.pitch.alter in SIGNS else plain(note.pitch)
    return f"{pitch.step}{SIGNS[pitch.alter] if pitch.alter else ''}"
