"""Line-ups: presets, files of players, names, and what names mean."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from autoorch.errors import LineupError
from autoorch.lineup import Lineup, Player, describe, everyone, parse_lineup, presets, resolve, rows_of, seated
from autoorch.shorthand import Seat
from autoorch.tables import load_tables

TABLES = load_tables()
ALL = TABLES.instruments
ROMANTIC = parse_lineup("romantic", TABLES)
STUDIO = parse_lineup("studio", TABLES)


def names(lineup: Lineup) -> list[str]:
    return [player.name for player in lineup.players]


def called(text: str, lineup: Lineup = ROMANTIC) -> list[str]:
    return [player.name for player in resolve(lineup, text)]


@pytest.mark.parametrize(
    ("preset", "shorthand"),
    [
        ("string quartet", "1.1.1.1.0"),
        ("string orchestra", "8.7.6.5.3"),
        ("wind quintet", "1.1.1.1 - 1.0.0.0"),
        ("brass quintet", "0 - 1.2.1.1"),
        ("chamber", "1.1.1.1 - 1.1.0.0 - tmp - 6.5.4.3.2"),
        ("classical", "2.2.2.2 - 2.2.0.0 - tmp - 10.8.6.5.4"),
        (
            "romantic",
            "3(III=picc).3(III=ca).3(III=bcl).3(III=cbn) - 4.3.3.1 - tmp+3 - hp - 16.14.12.10.8",
        ),
        (
            "concert band",
            "2+picc.2.3+ebcl+bcl.2 - 4.3.3.1+euph - +2asax+tsax+bsax - tmp+3",
        ),
    ],
)
def test_a_preset_is_its_shorthand(preset: str, shorthand: str) -> None:
    assert parse_lineup(preset, TABLES).players == parse_lineup(shorthand, TABLES).players


def test_studio_is_its_shorthand_with_deep_basses() -> None:
    shorthand = parse_lineup(
        "3(III=picc/afl).2(II=ca).3(III=bcl).2(II=cbn) - 6.3.4.1 - tmp+3 - hp.cel.pno - satb - 16.12.10.10.6", TABLES
    )
    assert STUDIO.players[:-1] == shorthand.players[:-1]
    deep, usual = STUDIO.players[-1], shorthand.players[-1]
    # E1 without, C1 with an extension or a fifth string (abjad, music21 and two lists of ranges).
    assert (deep.low_c, deep.instrument.normal[0], deep.instrument.extreme[0]) == (True, 24, 24)
    assert (usual.low_c, usual.instrument.normal[0], usual.instrument.extreme[0]) == (False, 28, 28)


def test_the_presets_are_those_of_the_trade_and_found_however_written() -> None:
    assert presets(TABLES) == (
        "brass quintet", "chamber", "classical", "concert band", "romantic", "string orchestra", "string quartet", "studio",
        "wind quintet",
    )  # fmt: skip
    assert parse_lineup(" String-Quartet ", TABLES) == parse_lineup("string quartet", TABLES)


def test_players_stand_in_score_order_under_the_trade_s_names() -> None:
    assert names(ROMANTIC) == [
        "Flute 1", "Flute 2", "Flute 3", "Oboe 1", "Oboe 2", "Oboe 3", "Clarinet 1", "Clarinet 2", "Clarinet 3",
        "Bassoon 1", "Bassoon 2", "Bassoon 3", "Horn 1", "Horn 2", "Horn 3", "Horn 4", "Trumpet 1", "Trumpet 2",
        "Trumpet 3", "Trombone 1", "Trombone 2", "Bass trombone", "Tuba", "Timpani", "Percussion 1", "Percussion 2",
        "Percussion 3", "Harp", "Violins I", "Violins II", "Violas", "Violoncellos", "Double basses",
    ]  # fmt: skip
    assert names(parse_lineup("string quartet", TABLES)) == ["Violin I", "Violin II", "Viola", "Violoncello"]
    assert [player.number for player in ROMANTIC.players if player.group == "Strings"] == [1, 2, 0, 0, 0]
    assert list(dict.fromkeys(player.group for player in STUDIO.players)) == [
        "Woodwind", "Brass", "Percussion", "Harp and keyboards", "Voices", "Strings",
    ]  # fmt: skip
    assert ROMANTIC.by_name["Flute 3"].doubles == (ALL["piccolo"],)


def test_percussionists_play_everything_but_timpani() -> None:
    players = [player for player in ROMANTIC.players if player.name.startswith("Percussion")]
    assert [player.instrument.id for player in players] == ["snare_drum", "cymbals", "bass_drum"]
    percussion = {each for each in ALL.values() if each.family == "percussion" and each.id != "timpani"}
    assert all({player.instrument, *player.doubles} == percussion for player in players)


def test_a_file_of_players(tmp_path: Path) -> None:
    path = tmp_path / "pit band.toml"
    path.write_text(
        'players = [\n{ instrument = "cl", count = 2 },\n{ instrument = "clarinet_a" },\n'
        '{ instrument = "fl", doubles = ["picc"] },\n'
        '{ instrument = "violin", name = "Leader" },\n{ instrument = "violin", size = 4 },\n{ instrument = "percussion" }]\n',
        "utf-8",
    )
    lineup = parse_lineup(str(path), TABLES)
    assert lineup.name == "pit band"
    assert names(lineup) == ["Flute", "Clarinet 1", "Clarinet 2", "Clarinet 3", "Percussion", "Leader", "Violins"]
    assert lineup.by_name["Clarinet 3"].instrument is ALL["clarinet_a"]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ('{ instrument = "kazoo" }', 'player 1: no instrument "kazoo"; known: percussion, piccolo'),
        ('{ instrument = "flute", size = 2 }', "size is for strings and voices; for more players of Flute write count"),
        ('{ instrument = "cello", low_c = true }', "low_c is for double basses, not for Violoncello"),
        ('{ instrument = "percussion", doubles = ["timpani"] }', "percussion already means all of them"),
        ('{ instrument = "flute", count = 0 }', "players[1].count: must be from 1 to 24, not 0"),
        ('{ instrument = "flute", seat = 1 }', "players[1].seat: unknown key"),
        ('{ instrument = "flute", count = 2, name = "Solo" }', "two players are called Solo"),
        ('{ instrument = "violin", size = 60, count = 4 }', "240 people are too many, 200 at most"),
        ("", "nobody is left to play"),
    ],
)
def test_a_wrong_file_is_refused_in_one_line(tmp_path: Path, row: str, says: str) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(f"players = [{row}]", "utf-8")
    with pytest.raises(LineupError) as caught:
        parse_lineup(str(path), TABLES)
    assert says in str(caught.value)
    assert "mine" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_file_that_is_not_there_is_said() -> None:
    with pytest.raises(LineupError, match=r"line-up nowhere\.toml: can't be read: No such file"):
        parse_lineup("nowhere.toml", TABLES)


seats = st.one_of(
    st.builds(
        Seat,
        st.sampled_from([each for each in ALL.values() if each.family not in ("strings", "voice")]),
        doubles=st.lists(st.sampled_from(list(ALL.values())), max_size=2, unique=True).map(tuple),
    ),
    st.builds(
        Seat, st.sampled_from([each for each in ALL.values() if each.family == "strings"]), size=st.integers(1, 20)
    ),
    st.builds(Seat, st.just(ALL["double_bass"]), size=st.integers(1, 9), low_c=st.booleans()),
    st.just(Seat(ALL["snare_drum"], percussion=True)),
)


def as_file(lineup: Lineup) -> str:
    """The players as a TOML file; a value of JSON is one of TOML too."""
    rows = (", ".join(f"{key} = {json.dumps(value)}" for key, value in row.items()) for row in rows_of(lineup, TABLES))
    return "players = [" + ", ".join(f"{{{row}}}" for row in rows) + "]"


@given(st.lists(seats, min_size=1, max_size=8))
def test_a_written_line_up_reads_back(tmp_path_factory: pytest.TempPathFactory, booked: list[Seat]) -> None:
    lineup = seated("mine", booked, TABLES)
    path = tmp_path_factory.mktemp("lineup") / "mine.toml"
    path.write_text(as_file(lineup), "utf-8")
    assert parse_lineup(str(path), TABLES) == lineup


@pytest.mark.parametrize("preset", presets(TABLES))
def test_a_written_preset_reads_back(tmp_path: Path, preset: str) -> None:
    path = tmp_path / f"{preset}.toml"
    path.write_text(as_file(parse_lineup(preset, TABLES)), "utf-8")
    assert parse_lineup(str(path), TABLES) == parse_lineup(preset, TABLES)


@pytest.mark.parametrize("preset", presets(TABLES))
def test_everybody_answers_to_his_name_and_to_his_group(preset: str) -> None:
    lineup = parse_lineup(preset, TABLES)
    for player in lineup.players:
        assert resolve(lineup, player.name) == (player,)
        if player.name != "Timpani":  # "Percussion" means the percussionists, if there are any
            assert player in resolve(lineup, player.group)
        assert player in resolve(lineup, player.instrument.plural)
    assert resolve(lineup, "Tutti") == lineup.players


@pytest.mark.parametrize(
    ("text", "players"),
    [
        ("Horns", "Horn 1|Horn 2|Horn 3|Horn 4"),
        ("Hns 1-2", "Horn 1|Horn 2"),
        ("Hn. 1.2", "Horn 1|Horn 2"),
        ("Horns 1, 3", "Horn 1|Horn 3"),
        ("Horn III", "Horn 3"),
        ("Fl 1", "Flute 1"),
        ("Fl. 1/2", "Flute 1|Flute 2"),
        ("2nd Flute", "Flute 2"),
        ("Vln I", "Violins I"),
        ("First Violins", "Violins I"),
        ("Violins I & II", "Violins I|Violins II"),
        ("violins", "Violins I|Violins II"),
        ("Vc., Cb.", "Violoncellos|Double basses"),
        ("Celli and basses", "Violoncellos|Double basses"),
        ("Strings low", "Violoncellos|Double basses"),
        ("Strings (high)", "Violins I|Violins II|Violas"),
        ("Low brass", "Trombone 1|Trombone 2|Bass trombone|Tuba"),
        ("Trombones", "Trombone 1|Trombone 2|Bass trombone"),
        ("Trombone 3", "Bass trombone"),
        ("Tbn. 1", "Trombone 1"),
        ("Trombone", "Trombone 1|Trombone 2"),
        ("Piccolo", "Flute 3"),
        ("English horn", "Oboe 3"),
        ("Clarinets a2", "Clarinet 1|Clarinet 2|Clarinet 3"),
        ("Percussion", "Percussion 1|Percussion 2|Percussion 3"),
        ("Perc. 2", "Percussion 2"),
        ("Glockenspiel", "Percussion 1|Percussion 2|Percussion 3"),
        ("Harp and keyboards", "Harp"),
        ("winds", "|".join(player.name for player in ROMANTIC.players if player.group == "Woodwind")),
    ],
)
def test_the_trade_s_names_are_understood(text: str, players: str) -> None:
    assert called(text) == players.split("|")


@pytest.mark.parametrize(
    "text", ["", "  ", "Flute 7", "Horn 0", "Kazoo", "Right hand", "Celesta", "Horns 3-9", ",", "2"]
)
def test_who_is_not_there_does_not_answer(text: str) -> None:
    assert called(text) == []


def test_bass_is_whoever_is_there() -> None:
    assert called("Bass") == ["Double basses"]
    assert called("Bass", STUDIO) == ["Bass"]
    assert called("Basses", STUDIO) == ["Double basses"]
    assert called("Choir", STUDIO) == ["Soprano", "Alto", "Tenor", "Bass"]


@given(
    st.lists(st.sampled_from(STUDIO.players), min_size=1, unique=True),
    st.sampled_from([", ", " and ", " & ", "/", "; "]),
)
def test_any_list_of_names_is_these_players_in_score_order(booked: list[Player], apart: str) -> None:
    found = resolve(STUDIO, apart.join(player.name for player in booked))
    assert found == tuple(player for player in STUDIO.players if player in booked)


WORDS = ("Fl", "Horns", "1", "3-4", "II", "and", ",", "Violins", "a2", "low", "Strings", "2nd", "(", "perc.", "-", "x")


@given(st.text(max_size=30) | st.lists(st.sampled_from(WORDS), max_size=6).map(" ".join))
def test_any_text_resolves_to_players_or_nobody(text: str) -> None:
    found = resolve(STUDIO, text)
    assert [player for player in STUDIO.players if player in found] == list(found)


def test_everyone_is_one_of_each() -> None:
    assert [player.instrument.id for player in everyone(TABLES).players if not player.doubles] == sorted(
        ALL, key=lambda name: ALL[name].order
    )


def test_a_description_names_all() -> None:
    text = describe(STUDIO)
    assert text.splitlines()[0] == "studio: 133 players"
    assert "Flute 3 (also Piccolo, Alto flute)" in text
    assert "Percussion 1 (any)" in text
    assert "Double basses (6; to low C)" in text
    assert all(player.name in text for player in STUDIO.players)
