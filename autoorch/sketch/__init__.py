"""Sketches in: what a sketch holds, and a reader for each format."""

from autoorch.sketch.guard import Limits
from autoorch.sketch.model import Sketch
from autoorch.sketch.read import read_sketch

__all__ = ["Limits", "Sketch", "read_sketch"]
