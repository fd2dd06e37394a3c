"""How far each note of played MIDI was moved: a table to open as a spreadsheet, and its farthest notes in a line."""

from __future__ import annotations

import csv
from io import StringIO

from autoorch.sketch.model import Sketch, SketchNote

HEAD = ("note", "bar", "quarters into the bar", "pitch", "staff", "seconds as played", "length as played", "moved by")
MOST = 3


def moved_csv(sketch: Sketch) -> bytes:
    """CSV (UTF-8, RFC 4180): a row a note, in order of their numbers; seconds, moved later positive, earlier negative.

    Bars are numbered as printed; `sketch` is one with `raw` and `moved`.
    """
    out = StringIO()
    rows = csv.writer(out)
    rows.writerow(HEAD)
    for key, way in sketch.moved.items():
        note = sketch.by_id[key]
        bar = sketch.bar_at(note.onset)
        into = (note.onset - bar.onset) / sketch.ticks
        at, length = sketch.raw[key]
        seconds = (f"{value:.3f}" for value in (at, length, way + 0.0))
        rows.writerow((key, bar.number, f"{into:g}", note.pitch, sketch.staves[note.staff].name, *seconds))
    return out.getvalue().encode()


def farthest(sketch: Sketch) -> str:
    """The notes that moved farthest, in one line; "" where nothing was played in."""

    def told(note: SketchNote) -> str:
        way = sketch.moved[note.id]
        bar = sketch.bar_at(note.onset).number
        return f"{note.pitch} in bar {bar} by {abs(way):.3f} s {'later' if way > 0 else 'earlier'}"

    found = sorted(sketch.moved, key=lambda key: -abs(sketch.moved[key]))[:MOST]
    return "moved farthest: " + ", ".join(told(sketch.by_id[key]) for key in found) if found else ""
