"""MusicXML in: `score` reads the file, `part` its measures, the others what stands in them."""

from autoorch.sketch.musicxml.score import read_musicxml

__all__ = ["read_musicxml"]
