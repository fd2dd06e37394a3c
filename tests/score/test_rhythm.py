from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from autoorch.score.notation import notation
from autoorch.score.rhythm import Piece, write_rhythm

VALUES = {
    name: Fraction(8, 2**k)
    for k, name in enumerate("breve whole half quarter eighth 16th 32nd 64th 128th 256th 512th 1024th".split())
}


def written(text: str, metre: tuple[int, int], ticks: int = 24, offset: int = 0) -> list[Piece]:
    """Lengths in quarters, rests negative: "1/2 1 -1/2"."""
    slices, at = [], 0
    for word in text.split():
        length = int(abs(Fraction(word)) * ticks)
        slices.append((at, at + length, word.startswith("-")))
        at += length
    return list(write_rhythm(tuple(slices), at, offset, metre, ticks, notation()))


def told(pieces: list[Piece]) -> str:
    return " ".join(
        ("(" if p.tuplet_start else "") + (p.value or "bar") + "." * p.dots + ("~" if p.tied else "")
        + (")" if p.tuplet_stop else "")
        for p in pieces
    )  # fmt: skip


# What divides and what may stay whole in each metre: common practice of engraving.
@pytest.mark.parametrize(
    ("rhythm", "metre", "expected"),
    [
        ("1/2 1 1/2 2", (4, 4), "eighth quarter eighth half"),
        ("1 2 1", (4, 4), "quarter half quarter"),
        ("3/2 1/2 2", (4, 4), "quarter. eighth half"),
        ("3/2 1 3/2", (4, 4), "quarter. eighth~ eighth quarter."),
        ("1/2 2 3/2", (4, 4), "eighth quarter.~ eighth quarter."),
        ("3 1", (4, 4), "half. quarter"),
        ("5/2 3/2", (4, 4), "half~ eighth quarter."),
        ("1/4 1/2 1/4 1", (2, 4), "16th eighth 16th quarter"),
        ("3/4 1/2 3/4", (2, 4), "eighth. 16th~ 16th eighth."),
        ("1/2 2 1/2", (3, 4), "eighth eighth~ quarter. eighth"),
        ("2 1", (3, 4), "half quarter"),
        ("2 1", (6, 8), "quarter.~ eighth quarter"),
        ("3/2 3/2", (6, 8), "quarter. quarter."),
        ("1 1/2 1/2 1", (6, 8), "quarter eighth eighth quarter"),
        ("3 3/2", (9, 8), "half. quarter."),
        ("5/2", (5, 8), "quarter.~ quarter"),
        ("6", (6, 4), "whole."),
        ("1 -3", (4, 4), "quarter quarter half"),
        ("-1 2 -1", (4, 4), "quarter half quarter"),
        ("1 -2", (3, 4), "quarter quarter quarter"),
        ("1/2 -5/2", (6, 8), "eighth eighth eighth quarter."),
        ("-1 1/2 -3/2", (6, 8), "quarter eighth quarter."),
        ("1/4 -7/4", (2, 4), "16th 16th eighth quarter"),
        ("-4", (4, 4), "bar"),
        ("-3", (3, 4), "bar"),
        ("2/3 2/3 2/3 2", (4, 4), "(quarter quarter quarter) half"),
        ("1/3 1/3 1/3 1", (2, 4), "(eighth eighth eighth) quarter"),
        ("2/3 1/3 1", (2, 4), "(quarter eighth) quarter"),
        ("4/3 4/3 4/3", (4, 4), "(half half half)"),
        ("1/6 1/6 1/6 1/6 1/6 1/6 1", (2, 4), "(16th 16th 16th 16th 16th 16th) quarter"),
        ("1/3 1/6 1/6 -1/3 1", (2, 4), "(eighth 16th 16th eighth) quarter"),
        ("1 1/3 -1/3 1/3", (2, 4), "quarter (eighth eighth eighth)"),
    ],
)
def test_notes_and_rests_show_the_beats(rhythm: str, metre: tuple[int, int], expected: str) -> None:
    assert told(written(rhythm, metre)) == expected


def test_tuplets_of_any_number() -> None:
    for count, normal, kind in ((3, 2, "eighth"), (5, 4, "16th"), (7, 4, "16th"), (9, 8, "32nd"), (11, 8, "32nd")):
        pieces = written(" ".join([f"1/{count}"] * count) + " 1", (2, 4), ticks=4 * count)
        assert {p.tuplet for p in pieces[:count]} == {(count, normal, kind)}
        assert [p.tuplet_start for p in pieces] == [True] + [False] * count
        assert [p.tuplet_stop for p in pieces] == [False] * (count - 1) + [True, False]
    quintuplet = written(" ".join(["3/10"] * 5) + " 3/2", (6, 8), ticks=20)
    assert quintuplet[0].tuplet == (5, 3, "eighth"), "five in the time of three eighths"


def test_a_pickup_lies_at_the_end_of_its_metre() -> None:
    ticks = 24
    assert told(written("3/2", (4, 4), ticks, offset=5 * ticks // 2)) == "quarter."
    assert told(written("3/2", (4, 4), ticks, offset=0)) == "quarter."
    assert told(written("1 1/2", (6, 8), ticks, offset=3 * ticks // 2)) == "quarter eighth"
    assert told(written("-1", (3, 4), ticks, offset=2 * ticks)) == "quarter", "no whole-bar rest in a short bar"


def test_beams_follow_the_beats() -> None:
    four = written("1/2 1/2 1/2 1/2 1/4 1/4 1/2 1", (4, 4))
    assert [p.beams for p in four] == [
        ("begin",), ("continue",), ("continue",), ("end",), ("begin", "begin"), ("continue", "end"), ("end",), (),
    ]  # fmt: skip
    six = written("1/2 1/2 1/2 1/2 1/2 1/2", (6, 8))
    assert [p.beams for p in six] == [("begin",), ("continue",), ("end",)] * 2
    dotted = written("3/4 1/4 1/4 3/4", (2, 4))
    assert [p.beams for p in dotted] == [("begin",), ("end", "backward hook"), ("begin", "forward hook"), ("end",)]
    rest = written("1/2 -1/2 1/2 1/2", (2, 4))
    assert [p.beams for p in rest] == [(), (), ("begin",), ("end",)]


def test_too_fine_a_rhythm_is_refused() -> None:
    with pytest.raises(ValueError, match="no written value"):
        write_rhythm(((0, 1, False), (1, 4096, False)), 4096, 0, (1, 4), 4096, notation())


METRES = [
    (4, 4),
    (3, 4),
    (2, 4),
    (2, 2),
    (6, 8),
    (9, 8),
    (12, 8),
    (3, 8),
    (5, 8),
    (7, 8),
    (5, 4),
    (6, 4),
    (3, 2),
    (8, 8),
]


@st.composite
def rhythms(draw: st.DrawFn) -> tuple[tuple[int, int], int, list[tuple[int, int, bool]]]:
    metre = draw(st.sampled_from(METRES))
    odd = draw(st.sampled_from([1, 3, 5, 7, 9, 11, 13, 15, 21]))
    ticks = 16 * odd
    length = 4 * ticks * metre[0] // metre[1]
    steps = [ticks, ticks // 2, ticks // 4, ticks // 16, ticks // odd, 2 * ticks // odd, 8]
    cuts, at = {0, length}, 0
    while at < length:
        at += draw(st.sampled_from(steps)) * draw(st.integers(1, 5))
        if at < length:
            cuts.add(at)
    rests = draw(st.lists(st.booleans(), min_size=len(cuts), max_size=len(cuts)))
    return metre, ticks, [(a, b, rests[k]) for k, (a, b) in enumerate(pairwise(sorted(cuts)))]


@settings(max_examples=400, deadline=None)
@given(rhythms())
def test_any_rhythm_fills_its_bar_exactly(case: tuple[tuple[int, int], int, list[tuple[int, int, bool]]]) -> None:
    metre, ticks, slices = case
    length = slices[-1][1]
    pieces = write_rhythm(tuple(slices), length, 0, metre, ticks, notation())
    at, inside = 0, False
    bracket = Fraction(0)
    for k, piece in enumerate(pieces):
        assert piece.onset == at
        at += piece.duration
        start, end, rest = slices[piece.slice]
        assert start <= piece.onset and at <= end
        assert piece.tied == (not rest and at < end), "a note cut in two is tied, a rest never"
        if piece.value:
            value = VALUES[piece.value] * (2 - Fraction(1, 2**piece.dots))
            actual, normal, _ = piece.tuplet or (1, 1, "")
            assert value * normal / actual == Fraction(piece.duration, ticks)
            assert piece.tuplet is None or not rest or piece.dots == 0
        else:
            assert len(slices) == 1 and rest
        assert not (inside and piece.tuplet_start), "never nested"
        assert inside or piece.tuplet_start or piece.tuplet is None
        if piece.tuplet_start:
            inside, bracket = True, Fraction(0)
        if inside:
            assert piece.tuplet
            bracket += VALUES[piece.value] * (2 - Fraction(1, 2**piece.dots))
        if piece.tuplet_stop:
            assert piece.tuplet
            assert bracket == VALUES[piece.tuplet[2]] * piece.tuplet[0], "the bracket holds what its number says"
            inside = False
        if piece.beams and piece.beams[0] in ("begin", "continue"):
            follower = pieces[k + 1].beams
            assert follower and follower[0] in ("continue", "end")
    assert at == length and not inside


def test_threes_and_fives_in_neighbouring_beats_have_brackets_of_their_own() -> None:
    pieces = written("1/6 1/6 1/6 1/10 1/10 1/10 1/10 1/10 1/2", (3, 8), ticks=60)
    assert [p.tuplet for p in pieces if p.tuplet_start] == [(3, 2, "16th"), (5, 4, "32nd")]
