"""Formats that only music21 reads: Humdrum, abc, MEI, MuseData, Capella, Noteworthy; they come in by way of its MusicXML."""

from __future__ import annotations

import warnings
import zipfile
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import replace
from io import BytesIO, StringIO
from pathlib import Path

from autoorch.errors import SketchError
from autoorch.sketch.guard import Limits, plain
from autoorch.sketch.model import Sketch
from autoorch.sketch.musicxml import read_musicxml

# File ending -> music21's name of the format. Its pickles are left out: reading them runs code.
FORMATS = {
    ".krn": "humdrum",
    ".abc": "abc",
    ".mei": "mei",
    ".md": "musedata",
    ".musedata": "musedata",
    ".capx": "capella",
    ".nwctxt": "noteworthytext",
    ".nwc": "noteworthy",
    ".tntxt": "tinynotation",
}

_MUSEDATA = b"WK#:"
"""Stands at the head of every part of MuseData; a text that ends in .md has none."""

_ABC = 8
"""A byte of abc costs music21 as much as so many of another format (both by the square of their number; measured)."""


def is_other(path: Path) -> bool:
    return path.suffix.lower() in FORMATS


def read_other(path: Path, data: bytes, file: str, limits: Limits) -> Sketch:
    """The sketch in a file of one of FORMATS.

    What music21 leaves out can't be counted, so the sketch says by what way it came.

    Raises:
        SketchError: where music21 can't read the file, it holds several pieces, no notes, or is beyond the limits.
    """
    kind = FORMATS[path.suffix.lower()]
    _check(data, file, limits.other // (_ABC if kind == "abc" else 1))
    if kind == "musedata" and _MUSEDATA not in data:
        raise SketchError("is no score (a text, no MuseData); name a MusicXML or MIDI file", file)
    # These parsers are many and raise whatever comes up, print, and warn: none of that is for the user.
    with warnings.catch_warnings(), redirect_stdout(StringIO()), redirect_stderr(StringIO()):
        warnings.simplefilter("ignore")
        from music21 import converter, stream
        from music21.musicxml.m21ToXml import GeneralObjectExporter

        try:
            reader = converter.Converter()
            reader.parseFileNoPickle(path, format=kind)
            score = reader.stream
            several = isinstance(score, stream.Opus)
            xml = b"" if several else GeneralObjectExporter(score).parse()
        except Exception as error:
            what = plain(str(error), 120) or type(error).__name__
            raise SketchError(f"music21 can't read it as {kind} ({what}); save it as MusicXML", file) from None
        title, composer = (plain(score.metadata.title, limits.text), plain(score.metadata.composer, limits.text))
    if several:
        raise SketchError("holds several pieces; leave one of them in the file", file)
    sketch = read_musicxml(xml, file, limits, "other")
    notice = f"read by way of music21 as {kind}; signs that it does not keep are not listed"
    texts = tuple(mark for mark in sketch.marks if mark.kind != "text")
    return replace(sketch, title=title, composer=composer, marks=texts, notices=(*sketch.notices, notice))


def _check(data: bytes, file: str, most: int) -> None:
    size = len(data)
    if data.startswith(b"PK"):
        try:
            with zipfile.ZipFile(BytesIO(data)) as archive:
                size = sum(member.file_size for member in archive.infolist())
        except (zipfile.BadZipFile, OSError, ValueError) as error:
            raise SketchError(f"is a broken archive ({plain(str(error))}); export it anew", file) from None
    if size > most:
        raise SketchError(f"has {size:,} bytes, and {most:,} at most in this format; save it as MusicXML", file)
    if b"<!ENTITY" in data:
        raise SketchError("declares XML entities, which no score needs; export it anew", file)
