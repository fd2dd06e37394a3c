"""What no player can do: outside the instrument, too fast, too many notes at once. Facts of one player against one profile."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from autoorch.instruments import Instrument
from autoorch.lineup import Player
from autoorch.problem.profile import Profile

STROKES = ("wind", "voice", "bowed")
"""Kinds of instruments that go from note to note in one stroke or breath; hands on keys and strings lie ready."""


def in_range(instrument: Instrument, profile: Profile, octave: int) -> bool:
    """All notes lie inside the extreme sounding range."""
    low, high = instrument.extreme
    return profile.low + 12 * octave >= low and profile.high + 12 * octave <= high


def haste(instrument: Instrument, profile: Profile, table: Mapping[str, Any]) -> float:
    """How far the line asks beyond the instrument's extreme limits of repetition, runs, leaps and held notes; 1: just at them.

    Args:
        table: constraints/playability.toml.
    """
    limits = instrument.fluency
    held = profile.held / (1000 * limits.held_s[1]) if limits.held_s else 0.0
    widest = table["stroke"]["widest"] * limits.leap
    leap = max(profile.leaps, default=0) / widest if instrument.kind in STROKES else 0.0
    return max(
        profile.repeated / (100 * limits.repeat_per_s[1]), profile.moving / (100 * limits.moving_per_s[1]), held, leap
    )


def together(profiles: Sequence[Profile]) -> list[tuple[int, ...]]:
    """The sets of pitches that sound at once, one per attack, lowest first."""
    notes = sorted((n for p in profiles for n in p.notes if n.duration > 0), key=lambda n: (n.onset, n.pitch.midi))
    found = []
    active: list[tuple[int, int]] = []
    for position, note in enumerate(notes):
        active = [(end, pitch) for end, pitch in active if end > note.onset]
        active.append((note.end, note.pitch.midi))
        if position + 1 == len(notes) or notes[position + 1].onset > note.onset:
            found.append(tuple(sorted(pitch for _, pitch in active)))
    return found


def one_hand(profiles: Sequence[Profile], hand: Mapping[str, int]) -> bool:
    """One hand on harp or keyboard can take the lines: whatever sounds at once lies under its fingers."""
    return all(in_hand(chord, hand) for chord in together(profiles))


def in_hand(pitches: Sequence[int], hand: Mapping[str, int]) -> bool:
    """One hand can take the chord (rising); `hand`: [hand] of constraints/playability.toml."""
    return len(pitches) <= hand["fingers"] and (not pitches or pitches[-1] - pitches[0] <= hand["semitones"])


def two_hands(pitches: Sequence[int], hand: Mapping[str, int]) -> bool:
    """Two hands can take the chord, the one below the other."""
    return any(in_hand(pitches[:cut], hand) and in_hand(pitches[cut:], hand) for cut in range(len(pitches) + 1))


def pedals(profiles: Sequence[Profile]) -> dict[str, int] | None:
    """Letter -> alteration of the one pedal setting that the notes need; None where one setting does not do.

    All octaves share a letter's pedal (published guides for composers); pedals move between spans, not inside them.
    """
    setting: dict[str, int] = {}
    for profile in profiles:
        for note in profile.notes:
            if setting.setdefault(note.pitch.step, note.pitch.alter) != note.pitch.alter or abs(note.pitch.alter) > 1:
                return None
    return setting


def double_stop(instrument: Instrument, pitches: Sequence[int], frame: int, highest: int) -> bool:
    """One player can stop the two pitches on neighbouring strings, the fingers at most `frame` semitones apart along them, and
    none more than `highest` semitones up its string."""
    if len(pitches) < 2:
        return True
    if len(pitches) > 2:
        return False
    low, high = pitches
    for lower, upper in zip(instrument.strings, instrument.strings[1:], strict=False):
        first, second = low - lower, high - upper
        if (
            0 <= first <= highest
            and 0 <= second <= highest
            and (min(first, second) == 0 or abs(first - second) <= frame)
        ):
            return True
    return False


def can_take(
    player: Player,
    profiles: Sequence[Profile],
    octave: int,
    frame: int,
    table: Mapping[str, Any],
    *,
    relaxed: bool = False,
) -> bool:
    """The player can play the lines at once.

    Args:
        frame: see `double_stop`.
        table: constraints/playability.toml.
        relaxed: leaves out the limits of speed.
    """
    instrument = player.instrument
    if not all(in_range(instrument, p, octave) and (relaxed or haste(instrument, p, table) <= 1) for p in profiles):
        return False
    if instrument.id == "harp" and pedals(profiles) is None:
        return False
    if len(profiles) == 1:
        return True
    chords = [tuple(pitch + 12 * octave for pitch in chord) for chord in together(profiles)]
    if instrument.kind == "bowed":
        return player.size > 1 or all(
            double_stop(instrument, chord, frame, table["stroke"]["stop"]) for chord in chords
        )
    if instrument.kind in ("keys", "plucked"):
        return all(two_hands(chord, table["hand"]) for chord in chords)
    return False
