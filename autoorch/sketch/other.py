"""Whatever else music21 reads (kern, ABC and more), by way of MusicXML in memory."""

from __future__ import annotations

import warnings
from pathlib import Path

from autoorch.errors import SketchError
from autoorch.sketch.guard import Limits, plain
from autoorch.sketch.model import Sketch
from autoorch.sketch.musicxml import read_musicxml

SUFFIXES = (".krn", ".abc", ".md", ".rntxt", ".capx", ".mei")


def is_other(path: Path) -> bool:
    """Whether the name ends as a file of one of these formats does."""
    return path.suffix.lower() in SUFFIXES


def read_other(path: Path, data: bytes, file: str, limits: Limits) -> Sketch:
    """Read a file that music21 understands.

    Raises:
        SketchError: where it is too large or music21 makes no music of it.
    """
    if len(data) > limits.other:
        raise SketchError(f"is larger than {limits.other:,} bytes; give the cue alone", file)
    from music21 import converter
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            score = converter.parse(path, forceSource=True)
            written = GeneralObjectExporter(score).parse()
    except Exception as error:  # music21 raises whatever its parsers run into
        raise SketchError(
            f"can't be read ({plain(str(error), 80) or type(error).__name__}); export it as MusicXML", file
        ) from None
    return read_musicxml(written, file, limits, source="other")
