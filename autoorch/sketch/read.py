"""A sketch file of any kind, told apart by its content, as a sketch."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from autoorch.errors import SketchError
from autoorch.sketch.guard import Limits, load, plain, unzip
from autoorch.sketch.midi import NOTHING, Known, is_midi, read_midi
from autoorch.sketch.model import Sketch
from autoorch.sketch.musicxml import read_musicxml
from autoorch.sketch.other import is_other, read_other
from autoorch.tables import Tables


def read_sketch(
    path: Path | str,
    *,
    played: bool | None = None,
    known: Known = NOTHING,
    limits: Limits = Limits(),  # noqa: B008
    tables: Tables | None = None,
) -> Sketch:
    """Read MusicXML (.musicxml, .xml, .mxl), MIDI (.mid) or another format that music21 knows.

    Args:
        path: the file.
        played: whether a MIDI file was played in (True) or comes from notation (False); found out where None. Without
            meaning for other formats.
        known: what is told of the beats and bars of MIDI that was played.
        limits: what is refused for its size.
        tables: the packaged ones where None; used for played MIDI.

    Raises:
        SketchError: one line that says what is wrong with the file, where, and what to do.
    """
    path = Path(path)
    file = plain(path.name)
    data = load(path, limits)
    if is_midi(data):
        return _titled(read_midi(data, file, limits, played, tables, known), path.stem)
    if known:
        raise SketchError("tempo and metre are told of MIDI that was played in, and this is no MIDI file", file)
    if is_other(path):
        return read_other(path, data, file, limits)
    if data.startswith(b"PK"):
        data = unzip(data, file, limits)
    return read_musicxml(data, file, limits)


def _titled(sketch: Sketch, stem: str) -> Sketch:
    """A MIDI file seldom has a title: its own name stands for it then, and that is said."""
    title = plain(stem.replace("_", " "))
    if sketch.title or not title:
        return sketch
    return replace(sketch, title=title, notices=(*sketch.notices, f'no title given: "{title}", as the file is called'))
