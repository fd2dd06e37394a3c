"""Breath marks at the joints of choices, before the air runs out; at 100 crotchets a minute a bar of 4/4 lasts 2.4 s."""

from __future__ import annotations

import itertools

from autoorch.layers.model import MaterialNote
from autoorch.pitch import from_midi
from autoorch.problem.draft import Choice
from autoorch.score.breath import breaths
from autoorch.score.model import Event
from autoorch.score.notation import notation
from autoorch.score.streams import Played
from autoorch.tables import load_tables
from tests.score.test_realise import events
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players


def joined(instrument: str, music: str, *bars: int) -> list[Event]:
    """Events of a player whose choices begin at these bars (from 0)."""
    sketch = make_sketch([music])
    edges = [4 * sketch.ticks * bar for bar in bars] + [sketch.end]
    choices = [Choice(instrument, "s1", ("s1.1",), 0, a, b) for a, b in itertools.pairwise(edges)]
    return events(make_score(sketch, players(instrument), choices))


def marked(found: list[Event]) -> list[int]:
    return [k for k, event in enumerate(found) if "breath-mark" in event.marks]


LONG = "C5:2 D5:2 " * 12


def test_a_long_stretch_is_divided_at_the_last_joint_in_reach() -> None:
    limit = load_tables().instruments["flute"].fluency.stretch_s
    assert limit is not None and 4 * 2.4 < limit[0] < 8 * 2.4
    assert marked(joined("flute", LONG, 0, 2, 4, 8)) == [7, 15], "before bars 4 and 8, counted from 0"


def test_who_has_a_rest_or_does_not_breathe_needs_no_mark() -> None:
    rests = "C5:2 D5:2 C5:2 D5:1 -:1 " * 6
    assert marked(joined("flute", rests, 0, 2, 4, 8)) == []
    assert marked(joined("violin", LONG, 0, 2, 4, 8)) == []


def test_a_rest_too_short_for_a_breath_has_no_mark_beside_it() -> None:
    """A semiquaver's rest before bar 4 (0.15 s), and an eighth's (0.3 s) which is a breath."""
    bars = "C5:2 D5:2 " * 3
    assert marked(joined("flute", f"{bars}C5:2 D5:1.75 -:.25 {LONG[:40]}", 0, 4)) == []
    assert marked(joined("flute", f"{bars}C5:2 D5:2 {LONG[:40]}", 0, 4)) == [7]
    assert marked(joined("flute", f"{bars}C5:2 D5:1.5 -:.5 {LONG[:40]}", 0, 3, 4, 5)) == []


def test_without_a_joint_the_player_finds_a_place() -> None:
    assert marked(joined("flute", LONG, 0)) == []


def test_no_slur_goes_over_a_breath() -> None:
    sketch = make_sketch([LONG], slurs=[("a0", "a23")])
    choices = [Choice("flute", "s1", ("s1.1",), 0, a, b) for a, b in ((0, 16), (16, 48))]
    found = events(make_score(sketch, players("flute"), choices))
    assert marked(found) == [7]
    assert found[7].slur_stops and found[8].slur_starts


def test_the_whole_of_the_sketch_in_one_choice_is_one_stretch() -> None:
    sketch = make_sketch(["C5:4 D5:4"])
    assert marked(events(make_score(sketch, players("flute"), [whole(sketch, "flute", 1)]))) == []


def test_the_only_joint_is_one() -> None:
    """Though nothing begins at the beginning."""
    (flute,) = players("flute").players
    pitch = from_midi(72)
    notes = [Played(MaterialNote(f"a{k}", 2 * k, 2, pitch), 2 * k, 2 * k + 2, 0, "s1.1") for k in range(8)]
    found = breaths(flute, notes, [8], float, notation(load_tables()))
    assert [k for k, note in enumerate(found) if note.note.marks] == [3]
