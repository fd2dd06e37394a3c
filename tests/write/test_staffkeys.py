"""Each staff of a drawn score has its own change of key, also after long rests."""

from __future__ import annotations

import io
from dataclasses import replace

from lxml import etree

from autoorch.lineup import Lineup
from autoorch.score.model import Score
from autoorch.score.notation import notation
from autoorch.score.parts import parts_of
from autoorch.write.engrave import engrave
from autoorch.write.musicxml import write_musicxml
from autoorch.write.staffkeys import changes
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players

SVG = "{http://www.w3.org/2000/svg}"


def moving(lineup: Lineup, first: int = 0, ended: bool = False) -> Score:
    """Eight bars in a first key, then eight in E flat; the first player plays all the time. `ended`: with two endings before."""
    sketch = make_sketch(["C5:4 " * 16])
    ends = {6: (1,), 7: (2,)} if ended else {}
    bars = tuple(
        replace(
            bar,
            fifths=-3 if bar.index >= 8 else first,
            endings=ends.get(bar.index, ()),
            repeat_end=2 * (bar.index == 6 and ended),
        )
        for bar in sketch.bars
    )
    sketch = replace(sketch, bars=bars)
    return make_score(sketch, lineup, [whole(sketch, lineup.players[0].name, 1)])


def xml(score: Score) -> bytes:
    file = io.BytesIO()
    write_musicxml(score, file)
    return file.getvalue()


def signs(file: bytes) -> set[tuple[int, ...]]:
    """How many accidentals the key signatures of each drawn bar have, staff by staff from the top."""
    found = set()
    for page in engrave(file, notation()).pages:
        for measure in etree.fromstring(page.encode()).iter(f"{SVG}g"):
            if measure.get("class") == "measure":
                staves = [s for s in measure if s.get("class") == "staff"]
                keys = [[g for g in s.iter(f"{SVG}g") if g.get("class") == "keySig"] for s in staves]
                found.add(
                    tuple(
                        sum(1 for g in own[-1:] for a in g.iter(f"{SVG}g") if a.get("class") == "keyAccid")
                        for own in keys
                    )
                )
    return found


def test_transposing_and_unpitched_players_keep_their_keys_after_a_change() -> None:
    made = moving(players("flute", "clarinet_bb", "horn", "triangle"))
    assert changes(xml(made)) == {8: {1: -3, 2: -1, 3: -2}}
    drawn = signs(xml(made))
    assert (3, 1, 2, 0) in drawn and not any(row[3] for row in drawn)


def test_a_change_after_an_ending_is_the_staffs_own_too() -> None:
    drawn = signs(xml(moving(players("flute", "clarinet_bb", "triangle"), first=-2, ended=True)))
    assert (3, 1, 0) in drawn and not any(row[2] for row in drawn)


def test_long_rests_count_as_one_bar() -> None:
    made = moving(players("flute", "glockenspiel", "triangle"))
    desk = (replace(part, seat="Percussion 1") for part in made.parts[1:])
    own = parts_of(replace(made, parts=(made.parts[0], *desk)))[1]
    (bar,) = changes(xml(own))
    assert bar < 8
    assert (3, 0) in signs(xml(own))
