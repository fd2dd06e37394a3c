"""The sketch: what it holds (`model`), how each format is read (`read`), what a file may be at all (`guard`)."""

from autoorch.sketch.guard import Limits
from autoorch.sketch.midi import NOTHING, Known
from autoorch.sketch.model import Sketch
from autoorch.sketch.read import read_sketch

__all__ = ["NOTHING", "Known", "Limits", "Sketch", "read_sketch"]
