"""The brief: read strictly, said on one line and back; names find their players."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from autoorch.brief import (
    LAYERS,
    ROLES,
    TECHNIQUES,
    Bars,
    Brief,
    Direction,
    Hit,
    Like,
    Shape,
    directed,
    families,
    in_unison,
    led,
    named,
    parse_bars,
    parse_brief,
    parse_direction,
    parse_place,
    read_brief,
)  # fmt: skip
from autoorch.errors import BriefError
from autoorch.lineup import parse_lineup
from autoorch.tables import load_tables

TABLES = load_tables()
FULL = """
lineup = "classical"
intent = "lean"
leading = "winds"
under = "dialogue"
[[direction]]
bars = "9-16"
role = "counterline"
must = ["Clarinet 1", "Violas"]
octave = -1
technique = "Pizz."
like = "other.musicxml:41-48"
[[direction]]
avoid = ["Brass"]
[[shape]]
bars = "25-32"
weight = 0.9
[[shape]]
bars = "33"
peak = true
[[moment]]
bar = 12
beat = 3
kind = "hit"
"""


def test_everything_a_brief_can_say() -> None:
    direction = Direction(
        bars=Bars("9", "16"),
        role="counterline",
        must=("Clarinet 1", "Violas"),
        octave=-1,
        technique="pizz",
        like=Like("other.musicxml", Bars("41", "48")),
    )
    assert parse_brief(FULL) == Brief(
        lineup="classical",
        intent="lean",
        leading="winds",
        under="dialogue",
        directions=(direction, Direction(avoid=("Brass",))),
        shapes=(Shape(Bars("25", "32"), 0.9), Shape(Bars("33", "33"), peak=True)),
        moments=(Hit("12", 3.0, "hit"),),
    )
    said = "bars 9-16, counterline: must Clarinet 1, Violas; octave -1; pizz; like other.musicxml:41-48"
    assert str(direction) == said
    assert str(Direction(avoid=("Brass",))) == "everywhere: avoid Brass"


def test_an_empty_brief_is_the_default() -> None:
    assert parse_brief("") == Brief()
    assert (Brief().lineup, Brief().intent) == ("romantic", "full")


def test_a_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "brief.toml"
    path.write_text(FULL, "utf-8")
    written = parse_brief(FULL)
    found = read_brief(path)
    assert replace(found, directions=()) == replace(written, directions=())
    likes = [direction.like for direction in found.directions]
    assert [replace(direction, like=None) for direction in found.directions] == [
        replace(direction, like=None) for direction in written.directions
    ]
    beside = str(tmp_path / "other.musicxml")
    assert [like for like in likes if like] == [Like(beside, Bars("41", "48"))], "found from the brief's own folder"
    with pytest.raises(BriefError, match=r"^none\.toml: can't be read: No such file"):
        read_brief(tmp_path / "none.toml")
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(BriefError, match=r"^brief\.toml: is no UTF-8 text"):
        read_brief(path)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "metre = 3",
            "brief, metre: unknown key; known: direction, intent, leading, lineup, moment, shape, tempo, under, until, without",
        ),
        ("[[direction]]\nbar = '3'", "brief, direction[1].bar: unknown key; known: avoid, bars, like, must"),
        ("tempo = 'slow'", "tempo: must be one of marked, none, played, not 'slow'"),
        ("intent = 'loud'", "intent: must be one of faithful, full, lean, not 'loud'"),
        ("leading = 'harp'", "leading: must be one of brass, strings, winds"),
        ("lineup = 3", "lineup: must be text, not 3"),
        ("x", "brief: is no TOML"),
        ("[[direction]]\nbars = '16-9'\nmust = ['Harp']", 'direction 1: "16-9" ends before it begins'),
        (
            "[[direction]]\nbars = '9.0'\nmust = ['Harp']",
            '"9.0" ends before it begins; bars and beats run upwards, beats',
        ),
        ("[[direction]]\nbars = '9.3-9.2'\nmust = ['Harp']", "ends before it begins"),
        ("[[direction]]\nbars = '9 to 16'\nmust = ['Harp']", "is no run of bars such as 9, 9-16 or 9.3-12"),
        ("[[direction]]\nbars = '9'", "direction 1: asks for nothing"),
        ("[[direction]]\nmust = []", "direction 1: asks for nothing"),
        ("[[direction]]\nmust = [' ']", "direction 1: an empty name in must"),
        ("[[direction]]\ntechnique = 'yodel'", 'no technique "yodel"; known: arco, col legno'),
        ("[[direction]]\nlike = 'other'", "wants a score and its bars"),
        ("[[direction]]\nlike = 'palette:'", "is no run of bars"),
        ("[[direction]]\noctave = 4", "octave: must be from -3 to 3, not 4"),
        ("[[shape]]\nbars = '1-2'", "shape 1: asks for nothing"),
        ("[[shape]]\nbars = '1-2'\nweight = 1.5", "shape[1].weight: must be from 0 to 1, not 1.5"),
        (
            "[[shape]]\nbars = '1-2'\npeak = true\n[[shape]]\nbars = '9'\npeak = true",
            "shape 2: a second peak; a cue has one, and shape 1 says where",
        ),
        ("[[moment]]\nbar = '3-4'\nkind = 'hit'", 'moment 1: "3-4" must be one bar'),
        ("[[moment]]\nbar = true\nkind = 'hit'", "moment 1: bar must be a bar number"),
        ("[[moment]]\nbar = 3\nkind = 'bang'", "moment[1].kind: must be one of arrival"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(text: str, says: str) -> None:
    with pytest.raises(BriefError) as caught:
        parse_brief(text)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "bars"),
    [
        ("9", Bars("9", "9")),
        ("9-16", Bars("9", "16")),
        ("9 – 16", Bars("9", "16")),
        ("9.3-12", Bars("9", "12", 3.0)),
        ("9-12.2", Bars("9", "12", 1.0, 2.0)),
        ("9.2.5", Bars("9", "9", 2.5, 2.5)),
        ("12a-13", Bars("12a", "13")),
    ],
)
def test_bars(text: str, bars: Bars) -> None:
    assert parse_bars(text) == bars


beats = st.floats(1, 12).map(lambda beat: round(beat, 3))
numbers = st.integers(0, 999)
runs = st.builds(
    lambda first, length, start, end: Bars(str(first), str(first + length), start, end),
    numbers,
    st.integers(1, 99),
    beats,
    st.none() | beats,
)
people = st.lists(st.sampled_from(["Horn 1", "Strings", 'The "Leader"', "Flöte"]), max_size=3).map(tuple)
directions = st.builds(
    Direction,
    bars=st.none() | runs,
    role=st.sampled_from(("", *ROLES)),
    must=people,
    prefer=people,
    avoid=people,
    only=people,
    octave=st.none() | st.integers(-3, 3),
    technique=st.sampled_from(TECHNIQUES),
    like=st.none()
    | st.builds(Like, st.sampled_from(["a.musicxml", "b: c.xml"]), runs)
    | st.just(Like("palette:high cellos")),
)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("9-16 tune must Oboe", '"tune" is no role; roles are melody, bass'),
        ("9-16 melody pizzicato", "a technique (arco, "),
        ("9-16 bass con sord; pizz", 'one way of playing a direction; say "pizz" in another one for these bars'),
        ("9-16 melody octave +9", "octave from -3 to 3"),
        ("9-16 like other.musicxml", "wants a score and its bars"),
    ],
)
def test_what_is_no_direction_says_what_would_be(text: str, said: str) -> None:
    with pytest.raises(BriefError) as caught:
        parse_direction(text)
    assert said in str(caught.value)
    assert text in str(caught.value)


def test_a_name_that_nobody_has_is_answered_with_near_ones() -> None:
    romantic = parse_lineup("romantic", TABLES)
    with pytest.raises(BriefError, match=r"\"Obo 1\"; did you mean Oboe 1"):
        named(["Obo 1"], romantic, TABLES, "bars 9-16")
    with pytest.raises(BriefError, match="there are Flute 1, Flute 2"):
        named(["Xylorimba"], romantic, TABLES, "bars 9-16")


@given(directions)
def test_a_direction_said_on_one_line_reads_back(direction: Direction) -> None:
    assume(direction.wishes)
    assert parse_direction(str(direction)) == direction


@given(runs)
def test_written_bars_read_back(bars: Bars) -> None:
    assert parse_bars(str(bars)) == bars


@given(st.text(max_size=40))
def test_any_text_is_a_brief_or_one_clear_line(text: str) -> None:
    try:
        brief = parse_brief(text)
    except BriefError as error:
        assert str(error).startswith("brief")
    else:
        assert isinstance(brief, Brief)


def test_names_find_their_players_in_score_order() -> None:
    lineup = parse_lineup("classical", TABLES)
    assert [player.name for player in named(["Violas", "Clarinet 1"], lineup, TABLES, "bars 9-16")] == [
        "Clarinet 1",
        "Violas",
    ]


def test_a_name_that_means_nobody_is_an_error_that_lists_who_is_there() -> None:
    lineup = parse_lineup("string quartet", TABLES)
    with pytest.raises(
        BriefError, match=r'bars 9: nobody in the line-up "string quartet" is called "Oboe"; there are Violin I,'
    ):
        named(["Oboe"], lineup, TABLES, "bars 9")
    assert named(["Oboe"], lineup, TABLES, "bars 9", absent=True) == ()
    with pytest.raises(BriefError, match='is called "Kazoo"'):
        named(["Kazoo"], lineup, TABLES, "bars 9", absent=True)


@pytest.mark.parametrize(
    ("leading", "lineup", "kept"),
    [
        ("strings", "string quartet", True),
        ("winds", "string quartet", False),
        ("brass", "wind quintet", True),
        ("strings", "wind quintet", False),
        ("", "string quartet", True),
    ],
)
def test_who_should_lead_and_is_not_booked_is_told(leading: str, lineup: str, kept: bool) -> None:
    brief, told = led(Brief(leading=leading), parse_lineup(lineup, load_tables()))
    assert brief == Brief(leading=leading if kept else "")
    assert told == (() if kept else (f"{leading} should lead, and {lineup} has none: it is left open",))


def test_layers_stop_and_are_left_out() -> None:
    assert [layer for layer in LAYERS if Brief(until="harmony").adds(layer)] == list(LAYERS[:4])
    assert not Brief(without=("counterline",)).adds("counterline")
    assert not any(Brief(intent="faithful").adds(layer) for layer in LAYERS)
    lean = [layer for layer in LAYERS if Brief(intent="lean").adds(layer)]
    assert lean == ["melody", "bass", "harmony", "finish"]
    assert not Brief(intent="lean", until="harmony").adds("finish")


def test_a_name_that_reads_like_one_player_s_and_means_several_is_told() -> None:
    brief = directed(Brief(), ["9-16 melody must Oboe", "1-8 bass must Cellos", "1-8 melody prefer Oboe 1"])
    assert in_unison(brief, parse_lineup("romantic", TABLES)) == (
        'bars 9-16, melody: must Oboe: "Oboe" means Oboe 1, Oboe 2, Oboe 3; write Oboe 1 for one of them',
    )
    assert in_unison(brief, parse_lineup("chamber", TABLES)) == ()


def test_a_reading_s_names_of_roles_are_understood() -> None:
    assert parse_direction("1-8 inner must Violas") == parse_direction("1-8 harmony must Violas")
    assert parse_brief('[[direction]]\nrole = "rhythm"\nmust = ["Horns"]\n').directions[0].role == "accents"
    assert parse_place("1-8 pedal", "hold")[1] == "bass"


@pytest.mark.parametrize(
    ("name", "instruments"),
    [
        ("Strings", {"violin", "viola", "cello", "double_bass"}),
        ("Low brass", {"trombone", "bass_trombone", "tuba"}),
        ("Violins", None),
        ("Horns", None),
        ("Flute 1, Oboe 1", None),
        ("tutti", None),
    ],
)
def test_a_word_for_a_family_means_any_of_it(name: str, instruments: set[str] | None) -> None:
    """Unlike instruments under one word; those of one kind, of a list and everybody are meant each."""
    found = families([name], parse_lineup("romantic", TABLES))
    assert [{player.instrument.id for player in own} for own in found] == ([instruments] if instruments else [])
