"""The layers in their order: the plan, the sketch's own strands, and what each layer adds to them."""

from __future__ import annotations

from autoorch.brief import Brief
from autoorch.layers.assigned import assigned
from autoorch.layers.harmony import held_chords
from autoorch.layers.model import Material
from autoorch.layers.plan import make_plan
from autoorch.lineup import Lineup
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch
from autoorch.tables import Tables


def build_material(sketch: Sketch, reading: Reading, lineup: Lineup, brief: Brief, tables: Tables) -> Material:
    """Everything that players may get. With intent "faithful" nothing is added."""
    plan = make_plan(reading, tables)
    strands = assigned(sketch, reading)
    if brief.intent != "faithful":
        strands += held_chords(reading, plan, lineup, tables)
    return Material(strands, plan)
