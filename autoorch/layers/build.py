"""The layers in their order: the plan, the sketch's own strands, and what each layer adds to them."""

from __future__ import annotations

from autoorch.brief import Brief
from autoorch.layers.accompaniment import figures
from autoorch.layers.assigned import assigned
from autoorch.layers.bass import landings, under_symbols
from autoorch.layers.breath import relieved
from autoorch.layers.companions import companions
from autoorch.layers.counted import counted
from autoorch.layers.counterline import counterlines
from autoorch.layers.cue import Cue
from autoorch.layers.directed import edges
from autoorch.layers.finale import closing, revoiced
from autoorch.layers.finish import finish
from autoorch.layers.hairpins import into_crests, to_the_peak, told
from autoorch.layers.harmony import held_chords
from autoorch.layers.imitation import entrances
from autoorch.layers.melody import outlines, shared
from autoorch.layers.model import Material, PhrasePlan
from autoorch.layers.picked import sung_on
from autoorch.layers.plan import make_plan
from autoorch.layers.refigured import refigured
from autoorch.layers.shapes import level_with_peak
from autoorch.layers.techniques import manners
from autoorch.layers.tempi import tempi, told_tempi
from autoorch.layers.tutti import roots
from autoorch.lineup import Lineup
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch
from autoorch.tables import Tables

KEYS = "keys"
"""Kind of the instruments that a sketch is written for: alone they have it as it is."""


def build_material(
    sketch: Sketch,
    reading: Reading,
    lineup: Lineup,
    brief: Brief,
    tables: Tables,
    plan: tuple[PhrasePlan, ...] = (),
) -> Material:
    """Everything that players may get. With intent "faithful" nothing is added; a brief can stop after a layer or leave it
    out. `plan` is that of an accepted draft; made from the reading where there is none."""
    plan = plan or make_plan(sketch, reading, lineup, brief, tables)
    cue = Cue(sketch, reading, plan, lineup, brief, tables)
    strands = assigned(sketch, reading, tables)
    if any(player.instrument.kind != KEYS for player in lineup.players):
        strands = counted(cue, refigured(cue, sung_on(cue, strands)))
        strands = relieved(cue, companions(cue, strands))
    if brief.adds("finish"):
        strands = revoiced(cue, strands)
    if brief.adds("melody"):
        strands += (*outlines(cue), *shared(cue))
    if brief.adds("bass"):
        strands += (*landings(cue), *under_symbols(cue), *roots(cue))
    if brief.adds("harmony"):
        strands += held_chords(cue)
    if brief.adds("accompaniment"):
        strands += figures(cue)
    if brief.adds("counterline"):
        strands += counterlines(cue)
    if brief.adds("finish"):
        strands += finish(cue)
    ways = manners(sketch, reading, plan, strands, lineup, brief, tables)
    grown, swells, words = (to_the_peak(cue), into_crests(cue), tempi(cue)) if brief.works("finish") else ((), (), ())
    level = level_with_peak(sketch, reading.phrases, brief)
    notices = (*level, *told(cue, (*grown, *swells)), *told_tempi(cue, words))
    turns = {turn.start for phrase in plan for turn in phrase.turns if not turn.tune}
    seams = tuple(sorted(turns.union(edges(sketch, plan, brief), closing(cue, strands))))
    subjects = entrances(sketch, reading)
    return Material(strands, plan, notices, ways, seams, (*grown, *words), swells, subjects, reading.leaders)
