"""Keys and pitch classes by name, spelled as their key spells them."""

from __future__ import annotations

import json

from autoorch.errors import BriefError
from autoorch.pitch import from_midi, parse

Key = tuple[int, str]
MODES = ("major", "minor")
FOURTH, FIFTH, SIXTH_RAISED, LEADING = 5, 7, 9, 11
"""Semitones above a tonic: the fourth and fifth degrees, minor's raised sixth, the leading note."""
_TO_MAJOR = 3
"""Steps on the line of fifths from a minor tonic up to its relative major's signature."""
_CENTRE = 2
"""The middle of a signature's seven notes lies two fifths above its tonic."""
_MIDDLE = 60
_MOST = 7
"""Signs of a signature."""


def signature(key: Key, near: int = 0) -> int:
    """Sharps of the key (flats negative), seven at most, by the signature nearest to that of the music around it; else the one
    with the fewest signs, six written as flats in major."""
    sharps = (key[0] * 7 - (0 if key[1] == "major" else _TO_MAJOR)) % 12
    usual = sharps if sharps <= (5 if key[1] == "major" else 6) else sharps - 12
    other = usual - 12 if usual > 0 else usual + 12
    return other if abs(other) <= _MOST and abs(other - near) < abs(usual - near) else usual


def name_of(degree: int, key: Key, near: int = 0) -> str:
    """A pitch class as the key spells it near such a signature, "C#" or "Bb"."""
    pitch = from_midi(_MIDDLE + degree, signature(key, near) + _CENTRE)
    return str(pitch)[: -len(str(pitch.octave))]


def pitch_class(name: str) -> int:
    """0 to 11.

    Raises:
        BriefError: where the text names no note.
    """
    try:
        return parse(f"{name}4").midi % 12
    except ValueError:
        raise BriefError(f'"{name}" is no note name such as C, F# or Bb') from None


def key_name(key: Key, near: int = 0) -> str:
    """ "E minor"; spelled near such a signature."""
    return f"{name_of(key[0], key, near)} {key[1]}"


def short_name(key: Key, near: int = 0) -> str:
    """ "G" for G major, "g" for G minor."""
    name = name_of(key[0], key, near)
    return name if key[1] == "major" else name.lower()


def key_of(text: str) -> Key:
    """The key of such a name.

    Raises:
        BriefError: where the text names no key.
    """
    tonic, _, mode = text.partition(" ")
    if mode not in MODES:
        raise BriefError(f'"{text}" is no key such as "E minor" or "Bb major"')
    return pitch_class(tonic), mode


def quoted(text: str) -> str:
    """The text as a TOML string."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
