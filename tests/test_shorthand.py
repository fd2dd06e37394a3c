"""The one-line shorthand: what it books, and what it refuses in one line."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from autoorch.errors import LineupError
from autoorch.lineup import parse_lineup
from autoorch.shorthand import EXAMPLE
from autoorch.tables import load_tables

TABLES = load_tables()
WIND = ("flute", "oboe", "clarinet_bb", "bassoon", "horn", "trumpet_bb", "trombone", "tuba")
STRINGS = ("violin", "violin", "viola", "cello", "double_bass")


def booked(text: str) -> Counter[str]:
    """Instrument id -> people."""
    found: Counter[str] = Counter()
    for player in parse_lineup(text, TABLES).players:
        found["percussion" if player.name.startswith("Percussion") else player.instrument.id] += player.size
    return found


def doubles(text: str) -> dict[str, list[str]]:
    players = parse_lineup(text, TABLES).players
    return {player.name: [other.id for other in player.doubles] for player in players if player.doubles}


@given(
    wind=st.lists(st.integers(0, 8), min_size=8, max_size=8),
    strings=st.lists(st.integers(0, 16), min_size=5, max_size=5).filter(any),
    percussion=st.integers(0, 4),
    extra=st.sampled_from([None, "picc", "ca", "asax", "euph", "cornet"]),
    dash=st.sampled_from([" - ", "-", " – ", "—"]),
)
def test_what_is_written_is_booked(
    wind: list[int], strings: list[int], percussion: int, extra: str | None, dash: str
) -> None:
    groups = [".".join(map(str, wind[:4])), ".".join(map(str, wind[4:]))]
    groups += [f"tmp+{percussion}"] if percussion else []
    groups += [f"+{extra}"] if extra else []
    groups += [".".join(map(str, strings))]
    wanted: Counter[str] = Counter()
    for name, count in zip(WIND + STRINGS, wind + strings, strict=True):
        wanted[name] += count
    if wind[6] >= 3:
        wanted["trombone"] -= 1
        wanted["bass_trombone"] += 1
    if percussion:
        wanted += Counter({"timpani": 1, "percussion": percussion})
    if extra:
        wanted[TABLES.by_alias[extra].id] += 1
    assert booked(dash.join(groups)) == +wanted


def test_the_trade_s_longest_example() -> None:
    text = "3(III=picc).2+ca.2+bcl.2+cbn - 4.3.3.1 - tmp+3 - hp.cel - satb - 14.12.10.8.6"
    assert booked(text) == Counter(
        flute=3, oboe=2, cor_anglais=1, clarinet_bb=2, bass_clarinet=1, bassoon=2, contrabassoon=1, horn=4, trumpet_bb=3,
        trombone=2, bass_trombone=1, tuba=1, timpani=1, percussion=3, harp=1, celesta=1, soprano=12, alto=12, tenor=12,
        bass=12, violin=26, viola=10, cello=8, double_bass=6,
    )  # fmt: skip
    assert doubles(text.replace(" - tmp+3", "")) == {"Flute 3": ["piccolo"]}


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("2.2.2.2 / 4.2.3.1 / timp.perc / hp / str", "2.2.2.2 - 4.2.3.1 - tmp+1 - hp - str"),
        ("2222 - 4231; timp, perc; 12.10.8.6.5", "2.2.2.2 - 4.2.3.1 - tmp+1 - str"),
        ("2(picc/afl).2.2.2 / 4.2.3.1", "2(picc/afl).2.2.2 - 4.2.3.1"),
        ("2 alto sax, tenor sax, barsax, piano, db and drums", "2 asax, tsax, bsax, pno, db, 1 perc"),
        ("2 violins, viola & 2 cellos", "2 vn, va, 2 vc"),
        ("3 trumpets, 2 clarinets, horns", "3 tpt, 2 cl, hn"),
        ("flute, clarinet, trumpet, cello", "fl, cl, tpt, vc"),
    ],
)
def test_what_people_write_for_it(text: str, plain: str) -> None:
    assert parse_lineup(text, TABLES).players == parse_lineup(plain, TABLES).players != ()


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("2(picc).0.0.0", {"Flute 2": ["piccolo"]}),
        ("2(I=afl,II=picc).0.0.0", {"Flute 1": ["alto_flute"], "Flute 2": ["piccolo"]}),
        ("3(3picc/afl).0.0.0", {"Flute 3": ["piccolo", "alto_flute"]}),
        ("0.0.3(1ebcl).0", {"Clarinet 1": ["clarinet_eb"]}),
        ("cel(pno)", {"Celesta": ["piano"]}),
        ("2+ca(ob).0.0.0", {"Cor anglais": ["oboe"]}),
    ],
)
def test_doublings(text: str, wanted: dict[str, list[str]]) -> None:
    assert doubles(text) == wanted


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("str", {"violin": 22, "viola": 8, "cello": 6, "double_bass": 5}),
        ("str(8.6.4.3.2)", {"violin": 14, "viola": 4, "cello": 3, "double_bass": 2}),
        ("t.3p.2hp", {"timpani": 1, "percussion": 3, "harp": 2}),
        ("perc", {"percussion": 1}),
        ("tmp+perc+glock", {"timpani": 1, "percussion": 1, "glockenspiel": 1}),
        ("2perc+hp", {"percussion": 2, "harp": 1}),
        ("2perc+2+hp", {"percussion": 4, "harp": 1}),
        ("sa", {"soprano": 12, "alto": 12}),
        ("soprano, pno", {"soprano": 1, "piano": 1}),
        ("4 sopranos, altos, bass voices, pno", {"soprano": 4, "alto": 12, "bass": 12, "piano": 1}),
        ("2.0.0.0+tenor", {"flute": 2, "tenor": 1}),
        ("fl, 2 cl, hn, str(8, 6, 4, 3, 2)", {**booked("fl.2cl.hn"), **booked("str(8.6.4.3.2)")}),
        ("0 - 0 - 1.0.0.0.0", {"violin": 1}),
        ("Alto Saxophone", {"alto_saxophone": 1}),
        ("2.0.0.0 - str(1.0.0.0.0)", {"flute": 2, "violin": 1}),
        ("+2cornets".replace("cornets", "cornet"), {"cornet": 2}),
    ],
)
def test_words(text: str, wanted: dict[str, int]) -> None:
    assert booked(text) == Counter(wanted)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is empty"),
        ("romatic", "did you mean romantic?"),
        ("2.2.2.2 - - str", "has an empty group between two dashes"),
        ("2.2.2", "woodwind and brass are four numbers, strings five"),
        ("4", "woodwind and brass are four numbers, strings five"),
        ("1.1.1.1 - 1.1.1.1 - 1.1.1.1", "is a third group of four numbers"),
        ("2(III=picc).0.0.0", "has no player III who could double"),
        ("0(picc).0.0.0", "has no player I who could double"),
        ("2().0.0.0", "has nothing between its brackets"),
        ("2(picc.0.0.0", "has a bracket without a partner"),
        ("2)picc(.0.0.0", "has brackets without a partner"),
        ("2(3).0.0.0", '"3" is no instrument'),
        ("99 altos", "99 is too many for Alto; 60 at most"),
        ("99.0.0.0", "99 is too many for Flute; 24 at most"),
        ("61.0.0.0.0", "61 is too many for string section; 60 at most"),
        ("tmp+99", "99 is too many for percussion"),
        ("hp+2", "must name an instrument, such as +picc"),
        ("hp.2", "say of which instrument there are 2"),
        ("2.2.2.2+kazoo", '"kazoo" is no instrument and no preset; the presets and an example: brass quintet,'),
        ("str.str", "the strings stand there twice"),
        ("str(8.6.4)", "has 3 numbers; strings have five"),
        ("str(8.6.4.x.2)", '"x" must be a number of players'),
        ("8.6(div).4.3.2", '"6(div)" must be a number of players'),
        ("fl cl str", '"fl cl str" needs commas between its names: fl, cl, str'),
        ("satb(3)", '"satb" is no instrument'),
        ("3 saxes", '"saxes" can be soprano saxophone or alto'),
        ("pno, bass, drums", '"bass" can be several things; write db'),
        ("voice, pno", '"voice" can be several things; write soprano'),
        ("2x2", '"x2" is no instrument'),
        ("0 - 0", "nobody is left to play"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(text: str, says: str) -> None:
    with pytest.raises(LineupError) as caught:
        parse_lineup(text, TABLES)
    assert says in str(caught.value)
    assert str(caught.value).startswith(f'line-up "{text}": ')
    assert "\n" not in str(caught.value)


PIECES = (
    "2.2.2.2",
    "3(III=picc)",
    "2+ca",
    " - ",
    "4.2.3.1",
    "tmp",
    "+2",
    "str",
    "hp",
    "12.10",
    ".8.6",
    "satb",
    ", ",
    "(",
    "fl",
)


@given(
    st.text(alphabet="0123456789.+-()=,/ abchilopstIV", max_size=25)
    | st.text(max_size=25)
    | st.lists(st.sampled_from(PIECES), max_size=7).map("".join)
)
def test_any_text_is_a_line_up_or_one_clear_line(text: str) -> None:
    try:
        lineup = parse_lineup(text, TABLES)
    except LineupError as error:
        assert "\n" not in str(error)
    else:
        assert lineup.players


def test_the_example_of_the_messages_works() -> None:
    assert parse_lineup(EXAMPLE, TABLES).players
