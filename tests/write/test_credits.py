"""The words on a first page: which score it is, who plays, one under the other."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.lineup import parse_lineup
from autoorch.score.condensed import condensed
from autoorch.score.model import Score
from autoorch.score.parts import parts_of
from autoorch.score.transpose import at_concert_pitch
from autoorch.tables import load_tables
from autoorch.write.credits import credits
from autoorch.write.pagesize import page_size
from tests.support.hand import make_score, make_sketch, whole


def full(lineup: str) -> Score:
    sketch = make_sketch(["C5:4"])
    players = parse_lineup(lineup, load_tables())
    made = make_score(sketch, players, [whole(sketch, players.players[0].name, 1)])
    return replace(made, title="A walk", composer="Somebody")


def told(score: Score) -> list[tuple[str, str]]:
    return [
        (own.findtext("credit-type") or "", own.findtext("credit-words") or "")
        for own in credits(score, page_size(score))
    ]


@pytest.mark.parametrize(("lineup", "name"), [("chamber", "Transposed score"), ("string quartet", "Score")])
def test_the_page_says_which_score_it_is(lineup: str, name: str) -> None:
    made = full(lineup)
    assert told(made)[:3] == [("title", "A walk"), ("part name", name), ("composer", "Somebody")]
    assert told(at_concert_pitch(made))[1] == ("part name", "Score in C")
    assert told(condensed(made))[1:] == [("part name", "Condensed score in C"), ("composer", "Somebody")]


def test_who_plays_stands_under_the_title_of_a_large_score_alone() -> None:
    lines = [words for kind, words in told(full("romantic")) if kind == "instrumentation"]
    assert lines[0].startswith("Woodwind: 3 Flutes (3rd also Piccolo)") and lines[-1].startswith("Strings: ")
    assert len(told(full("string quartet"))) == 3
    assert len(told(parts_of(full("romantic"))[0])) == 3


def test_lines_stand_one_under_the_other_on_the_page() -> None:
    made = full("romantic")
    places = [float(own.find("credit-words").get("default-y")) for own in credits(made, page_size(made))]
    assert places[0] > places[1] == places[2]
    assert places[2:] == sorted(set(places[2:]), reverse=True)
