"""What a group of notes does, in trade words: chords held, repeated or off the beat, broken chords and their pattern, tremolo,
repeated notes, single lines."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import pairwise
from statistics import median_low

from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone

Kind = tuple[str, str]
"""Role and texture."""
CHORDAL = ("off-beats", "repeated chords", "held chords", "hymn", "stride")
AFTER_BEATS = ("off-beats", "stride")
"""Of these, chords after a bass note, which a piece has by turns."""
BROKEN = ("alberti", "arpeggio")
"""Textures of broken chords, which a piano's pedal holds."""


def by_attack(tones: Sequence[Tone]) -> dict[int, list[Tone]]:
    """Attack -> the tones that start there."""
    found: dict[int, list[Tone]] = {}
    for tone in tones:
        found.setdefault(tone.onset, []).append(tone)
    return found


def kind_of(
    texture: Texture,
    tones: Sequence[Tone],
    tune: Sequence[Tone],
    bass: Sequence[Tone],
    figures: Collection[int],
    table: Section,
    figure: Section,
) -> Kind:
    """Role and texture of a group of tones in one phrase.

    Args:
        texture: all notes.
        tones: the group, in time order.
        tune, bass: of the same phrase.
        figures: indices of lowest notes that belong to a figure.
        table: [texture]; `figure`: [figure].
    """
    attacks = by_attack(tones)
    onsets = list(attacks)
    usual = median_low(t.length / texture.beat_at(t.onset) for t in tones)
    again = [{t.pitch for t in attacks[a]} == {t.pitch for t in attacks[b]} for a, b in pairwise(onsets)]
    repeated = sum(again) / len(again) if again else 0.0
    if len(tones) / len(onsets) >= table["chord"]:
        if _shaken(texture, onsets, attacks, figure):
            return "figure", "tremolo"
        ground = {tone.onset for tone in bass}
        off = sum(onset not in ground for onset in onsets) / len(onsets)
        crowded = len(onsets) > table["crowd"] * len(ground) and repeated >= table["repeated"]
        if off >= table["off_beat"] and usual <= table["held"] and ground - attacks.keys() and not crowded:
            return "rhythm", "stride" if _strides(attacks, bass, table, figure) else "off-beats"
        if repeated >= table["repeated"] and usual <= table["held"]:
            return "rhythm", "repeated chords"
        struck = {tone.onset for tone in tune}
        with_tune = len(struck & attacks.keys())
        hymn = with_tune >= table["together"] * max(len(struck), len(onsets)) and repeated < table["repeated"]
        return "inner", "hymn" if hymn else "held chords"
    pitches = [attacks[onset][0].pitch for onset in onsets]
    short = usual <= figure["unit"] * 1.5
    if short and len(onsets) >= figure["notes"]:
        if _shaken(texture, onsets, attacks, figure):
            return "figure", "tremolo"
        if repeated >= table["repeated"]:
            return "rhythm", "repeated notes"
        leaps = [abs(b - a) >= figure["third"] for a, b in pairwise(pitches)]
        if sum(t.index in figures for t in tones) * 2 > len(tones) or sum(leaps) >= figure["leaps"] * len(leaps):
            whole = by_attack(sorted((*tones, *bass), key=lambda t: t.index))
            alberti = _alberti([group[-1].pitch for group in whole.values()], table["repeated"])
            return "figure", "alberti" if alberti else "arpeggio"
    return "inner", "line"


def _strides(attacks: dict[int, list[Tone]], bass: Sequence[Tone], table: Section, figure: Section) -> bool:
    """Bass and chords in turn, about as many of each, the hand leaping from one to the other."""
    if not figure["even"] * len(attacks) <= len(bass) <= len(attacks) / figure["even"]:
        return False
    order = sorted([(t.onset, 0, t.pitch) for t in bass] + [(o, 1, group[-1].pitch) for o, group in attacks.items()])
    turns = [abs(b[2] - a[2]) for a, b in pairwise(order) if a[1] != b[1]]
    return 2 * len(turns) >= len(order) - 1 and 2 * sum(leap >= table["stride"] for leap in turns) >= len(turns) > 0


def _shaken(texture: Texture, onsets: Sequence[int], attacks: dict[int, list[Tone]], figure: Section) -> bool:
    """Two notes or chords in quick alternation."""
    if len(onsets) < 2 * figure["notes"]:
        return False
    chords = [frozenset(t.pitch for t in attacks[onset]) for onset in onsets]
    back = sum(a == c and a != b for a, b, c in zip(chords, chords[1:], chords[2:], strict=False))
    quick = sum(b - a <= figure["quick"] * texture.beat_at(a) for a, b in pairwise(onsets))
    return min(back, quick) >= figure["even"] * (len(onsets) - 2)


def _alberti(pitches: Sequence[int], share: float) -> bool:
    """Low, high, middle, high: each group of four comes back to its second note from a lower one between."""
    groups = [pitches[k : k + 4] for k in range(len(pitches) - 3)]
    hits = sum(b == d and a < c < b for a, b, c, d in groups)
    return 4 * hits >= share * len(groups) > 0
