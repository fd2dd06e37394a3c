"""Who sings the words: the tune's own bars, a voice that is booked, the one that the staff is named after."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.lineup import parse_lineup
from autoorch.pipeline import draft
from autoorch.roles.sung import sung
from autoorch.sketch import Sketch
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from tests.support.hand import make_sketch, read_hand

TABLES = load_tables()


def song(hint: str = "", low: str = "E4") -> Sketch:
    """Eight bars: the voice sings bars 2 and 3 and bar 6, a piano's bass below; the tune goes on elsewhere without words."""
    line = f"C5:4 {low}:2 G4:2 A4:4 -:4 C5:4 D5:4 -:4 C5:4"
    own = {name: {"lyric": "la", "voice": 2} for name in ("a1", "a2", "a3", "a6")}
    found = make_sketch([line, "C3:4 " * 8], notes=own)
    return replace(found, staves=(replace(found.staves[0], name=hint, hint=hint), found.staves[1]))


def asked(lineup: str, read: Sketch) -> list[str]:
    return [str(one) for one in sung(read, read_hand(read, ("melody", "bass")), parse_lineup(lineup, TABLES))]


@pytest.mark.parametrize(
    ("lineup", "hint", "low", "singer"),
    [
        ("satb, str", "", "E4", "Soprano"),
        ("satb, str", "Alto", "E4", "Alto"),
        ("satb, str", "", "G3", "Alto"),
        ("satb, str", "Voices", "G3", "Alto"),
        ("bass voices, pno", "", "E4", "Bass"),
    ],
)
def test_the_bars_with_words_are_a_singer_s(lineup: str, hint: str, low: str, singer: str) -> None:
    assert asked(lineup, song(hint, low)) == [
        f"bars 2-3, melody: prefer {singer} (sketch, bar 2)",
        f"bars 6, melody: prefer {singer} (sketch, bar 6)",
    ]


def test_where_all_voices_have_words_all_sing() -> None:
    words: dict[str, dict[str, object]] = {f"{staff}{k}": {"lyric": "la"} for staff in "abcd" for k in range(8)}
    lines = ["C5:2 D5:2 " * 4, "G4:4 " * 8, "E4:4 " * 8, "C3:4 " * 8]
    read = make_sketch(lines, notes=words)
    reading = read_hand(read, ("melody", "inner", "inner", "bass"))

    def asked(lineup: str) -> list[str]:
        return [str(one).partition(" (")[0] for one in sung(read, reading, parse_lineup(lineup, TABLES))]

    assert asked("satb, str") == [
        "bars 1-4, melody: prefer Soprano",
        "bars 1-8, bass: prefer Bass",
        "bars 1-8, harmony: prefer Alto",
        "bars 1-8, harmony: prefer Tenor",
    ]
    assert asked("bass voices, str") == ["bars 1-4, melody: prefer Bass"]


def test_in_a_hymn_all_sing_the_words_of_the_tune() -> None:
    words: dict[str, dict[str, object]] = {f"a{k}": {"lyric": f"w{k}"} for k in range(8)}
    read = make_sketch(["C5:2 D5:2 " * 4, "G4:4 " * 4, "E4:4 " * 4, "C3:4 " * 4], notes=words)
    reading = read_hand(read, ("melody", "inner", "inner", "bass"))
    four = parse_lineup("satb, str", TABLES)
    assert len(list(sung(read, reading, four))) == 1
    hymn = reading.with_(
        strands=tuple(replace(s, texture="hymn" if s.role == "inner" else "") for s in reading.strands)
    )
    asked = [str(one).partition(" (")[0] for one in sung(read, hymn, four)]
    voices = (("bass", "Bass"), ("harmony", "Alto"), ("harmony", "Tenor"))
    assert asked[1:] == [f"bars 1-4, {role}: prefer {singer}" for role, singer in voices]


def test_without_a_voice_or_without_words_nobody_is_asked() -> None:
    read = song()
    assert asked("fl, str", read) == []
    assert asked("satb, str", replace(read, notes=tuple(replace(n, lyric="") for n in read.notes))) == []


def test_a_tenor_sings_the_words_though_tunes_are_seldom_his() -> None:
    line = "E4:2 G4:1 A4:1 G4:2 E4:2 F4:1 A4:1 D5:1 A4:1 G4:4"
    words: dict[str, dict[str, object]] = {f"a{k}": {"lyric": f"w{k}"} for k in range(10)}
    read = make_sketch([line, "C4:1 E4:1 G4:1 E4:1 " * 4, "C3:4 C3:4 F3:4 C3:4"], notes=words)
    made = draft(read, "tenor, pno", limits=Limits(seconds=2))
    tune = {note.id for note in read.notes if note.lyric}
    assert {fate.players for fate in made.draft.fates if fate.note in tune} == {("Tenor",)}
    sung = [e.lyric for m in made.score.parts[-1].measures for voice in m.voices for e in voice if e.lyric]
    assert made.score.parts[-1].name == "Tenor" and sung == [f"w{k}" for k in range(10)]
