"""Texture beside the repertoire: figures of a moment counted by hand, medians by time, bands of the dynamic planned."""

from __future__ import annotations

from autoorch.layers.model import Material, MaterialLine, MaterialNote, MaterialStrand, PhrasePlan
from autoorch.lineup import parse_lineup
from autoorch.pitch import parse
from autoorch.problem.draft import Choice
from autoorch.tables import load_tables
from autoorch.write.page.texture import FIGURES, Sounding, figures, moments, texture
from tests.support.hand import make_sketch

TABLES = load_tables()
BAR = 16


def test_figures_of_a_moment() -> None:
    """C3, C4 twice and E5 by four of ten: three pitches, two degrees."""
    now = [Sounding(name, 0, 4, midi) for name, midi in (("a", 48), ("b", 60), ("c", 60), ("d", 76))]
    found = figures(now, 10)
    assert list(found) == list(FIGURES)
    assert list(found.values()) == [0.4, 3, 2, 4 / 3, 1.5, 28, 76, 48]


def test_moments_are_cut_where_anything_changes() -> None:
    found = [Sounding("a", 0, 8, 60), Sounding("b", 4, 6, 64), Sounding("a", 12, 16, 62)]
    assert [(ticks, len(now)) for ticks, now in moments(found, 0, 14)] == [(4, 1), (2, 2), (2, 1), (2, 1)]


def test_texture_by_phrase() -> None:
    """Three bars of one flute, then one with cellos two octaves lower: the median is the flute's; drums do not count."""
    sketch = make_sketch(["C5:4 C5:4 C5:4 C5:4", "-:12 C3:4"])
    length = sketch.bars[0].length

    def strand(name: str, role: str, pitch: str, start: int, end: int) -> MaterialStrand:
        note = MaterialNote(f"{name}.1.1", start, end - start, parse(pitch))
        return MaterialStrand(name, role, "assigned", (MaterialLine(f"{name}.1", (note,)),))

    strands = (strand("s1", "melody", "C5", 0, 4 * length), strand("s2", "bass", "C3", 3 * length, 4 * length))
    plan = (PhrasePlan(0, 4 * length, 0.3, "f"),)
    lineup = parse_lineup("fl, perc, vc", TABLES)
    choices = [
        Choice("Flute", "s1", ("s1.1",), 0, 0, 4 * length),
        Choice("Violoncello", "s2", ("s2.1",), 0, 3 * length, 4 * length),
        Choice("Percussion", "s1", ("s1.1",), 2, 0, 4 * length),
    ]
    names = {player.name for player in lineup.players}
    assert {choice.player for choice in choices} <= names, names
    found = texture(sketch, lineup, Material(strands, plan), choices, TABLES)
    (row,) = found["rows"]
    told = dict(zip(FIGURES, row["figures"], strict=True))
    band = TABLES.rule("texture")["band"]["f"]
    assert row["bars"] == [0, 3] and row["dynamic"] == "f"
    assert told["top"]["own"] == 72 and told["top"]["said"][0] == "C5" and told["top"]["inside"] == 1
    assert told["active_share"]["own"] == 0.5 and told["active_share"]["band"] == (
        band["active_share"][0],
        band["active_share"][4],
    )
    assert told["span"]["own"] == 0 and told["span"]["inside"] == 0.25, (
        "24 semitones lie within 20 to 55, none does not"
    )


def test_where_nothing_sounds_nothing_is_told() -> None:
    sketch = make_sketch(["C5:4"])
    plan = (PhrasePlan(0, sketch.end, 0.3, "f"),)
    found = texture(sketch, parse_lineup("fl", TABLES), Material((), plan), [], TABLES)
    assert [row["figures"] for row in found["rows"]] == [[]]
