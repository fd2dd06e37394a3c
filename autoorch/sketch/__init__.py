"""The sketch: what it holds (`model`), how each format is read (`read`), what a file may be at all (`guard`)."""

from autoorch.sketch.guard import Limits
from autoorch.sketch.model import Sketch
from autoorch.sketch.read import read_sketch

__all__ = ["Limits", "Sketch", "read_sketch"]
