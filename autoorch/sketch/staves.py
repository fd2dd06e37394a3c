"""Which staff and track names stand for an instrument, a section or a direction, and which just for a piano hand."""

from __future__ import annotations

import re

# Words that names of piano staves and unnamed tracks are made of, in the usual notation languages and programs'
# defaults (common practice).
_WORDS = """
piano pianoforte klavier keyboard keys grand acoustic bright pno pf pft solo
right left hand hands rh lh r l h main droite gauche mano destra sinistra rechte linke
upper lower top bottom treble clef system stave staff track part channel midi musicxml untitled unnamed default
instrument sketch score reduction condensed conductor tempo map master meta spine new
"""
_NO_INSTRUMENT = frozenset(_WORDS.split())


def hint(name: str) -> str:
    """The name itself ("Horns", "Strings low"), or "" where it only says piano, a hand or a track number."""
    words = re.findall(r"[^\W\d_]+", name.casefold())
    return "" if all(word in _NO_INSTRUMENT for word in words) else name
