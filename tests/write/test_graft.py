"""Bars put into another score byte for byte, and what is said again beside them."""

from __future__ import annotations

from io import BytesIO

import pytest
from lxml import etree

from autoorch.errors import SketchError
from autoorch.lineup import Lineup, parse_lineup
from autoorch.score.model import Score
from autoorch.sketch.model import Mark
from autoorch.tables import load_tables
from autoorch.write.graft import Patch, grafted, kept_bars, parts_of, seams
from autoorch.write.musicxml import write_musicxml
from tests.support.hand import make_score, make_sketch, whole

LINE = "C4:4 D4:4 E4:4 F4:4"


def written(score: Score) -> bytes:
    file = BytesIO()
    write_musicxml(score, file)
    return file.getvalue()


def lineup() -> Lineup:
    return parse_lineup("string quartet", load_tables())


def of(dynamic: str, bars: str = LINE) -> bytes:
    """Four bars for the viola under one dynamic, from the beginning."""
    sketch = make_sketch([bars], marks=[Mark("dynamic", 0, 0, -1, dynamic)])
    return written(make_score(sketch, lineup(), [whole(sketch, "Viola", 1)]))


def dynamics(measure: bytes) -> list[str]:
    return [str(mark.tag) for mark in etree.fromstring(measure).iterfind("direction/direction-type/dynamics/*")]


def viola(data: bytes) -> list[bytes]:
    return parts_of(data)["P3"]


def with_words(data: bytes, words: str, bar: int) -> bytes:
    """The viola is told something before the first note of a bar."""
    mark = f"<direction><direction-type><words>{words}</words></direction-type></direction><note".encode()
    own = viola(data)[bar]
    changed = data.replace(own, own.replace(b"<note", mark, 1))
    assert changed.count(mark) == data.count(mark) + 1
    return changed


def said(measure: str) -> list[str]:
    return [words.text or "" for words in etree.fromstring(measure).iterfind("direction/direction-type/words")]


def test_parts_and_bars_are_found_as_they_stand() -> None:
    data = of("p")
    parts = parts_of(data)
    assert list(parts) == ["P1", "P2", "P3", "P4"]
    assert {len(measures) for measures in parts.values()} == {4}
    assert all(measure in data for measures in parts.values() for measure in measures)


def test_a_patch_changes_its_bar_and_nothing_else() -> None:
    data = of("p")
    text = viola(data)[2].decode().replace("<step>E</step>", "<step>G</step>")
    new = grafted(data, [Patch("score.musicxml", "P3", 2, text)])
    assert viola(new)[2].decode() == text
    assert new.replace(text.encode(), viola(data)[2]) == data
    assert grafted(data, []) == data


def test_only_bars_that_differ_are_patched() -> None:
    new, old = of("p"), of("p", "C4:4 D4:4 G4:4 F4:4")
    assert [(patch.part, patch.bar) for patch in kept_bars("score.musicxml", new, old, {1, 2, 3})] == [("P3", 2)]


def test_what_kept_bars_take_for_granted_is_said_in_the_bars_beside_them() -> None:
    free, source = of("f"), of("p")
    assert dynamics(viola(free)[0]) == ["f"] and dynamics(viola(source)[0]) == ["p"]
    origin = {1: source, 2: source}
    own = kept_bars("score.musicxml", free, source, {1, 2})
    mixed = grafted(free, own)
    beside, unsaid = seams("score.musicxml", mixed, origin, free)
    assert unsaid == []
    new = grafted(mixed, beside)
    assert viola(new)[1:3] == viola(source)[1:3]
    assert dynamics(viola(new)[0]) == ["f", "p"], "before the kept bars"
    assert dynamics(viola(new)[3]) == ["f"], "and after them"
    assert etree.fromstring(viola(new)[0])[-1].tag == "direction", "at the end of the bar"
    assert [str(element.tag) for element in etree.fromstring(viola(new)[3])][:2] == ["direction", "note"], (
        "at its beginning"
    )


@pytest.mark.parametrize("word", ["1 desk", "half", "3 players", "div. a3", "con sord."])
def test_who_of_a_section_plays_and_how_is_said_beside_kept_bars(word: str) -> None:
    free = of("p")
    said = f"<direction><direction-type><words>{word}</words></direction-type></direction><note".encode()
    first = viola(free)[0]
    source = free.replace(first, first.replace(b"<note", said, 1))
    assert source.count(word.encode()) == 1
    origin = {1: source, 2: source, 3: source}
    beside, unsaid = seams("score.musicxml", free, origin, free)
    assert unsaid == []
    assert [(patch.part, patch.bar, patch.text.count(word)) for patch in beside] == [("P3", 0, 1)]


@pytest.mark.parametrize(
    ("words", "back"),
    [
        ("pizz.", "arco"),
        ("col legno", "ord."),
        ("con sord.", "senza sord."),
        ("sul pont.", "ord."),
        ("div.", "unis."),
        ("half", "tutti"),
    ],
)
def test_the_ordinary_way_is_said_too(words: str, back: str) -> None:
    """The other draft plays another way before the kept bars; what follows them goes on as it was."""
    plain = of("p")
    free = with_words(plain, words, 0)
    beside, unsaid = seams("score.musicxml", free, {2: plain}, free)
    assert unsaid == []
    assert [(patch.bar, said(patch.text)) for patch in beside] == [(1, [back]), (3, [words])]


def test_what_is_said_at_the_end_of_a_bar_stands_before_its_bar_line() -> None:
    line = b'<barline location="right"><bar-style>light-light</bar-style></barline></measure>'
    loud, soft = (
        data.replace(viola(data)[1], viola(data)[1].replace(b"</measure>", line)) for data in (of("f"), of("p"))
    )
    beside, _ = seams("score.musicxml", loud, {2: soft, 3: soft}, loud)
    assert [patch.bar for patch in beside] == [1]
    assert [str(element.tag) for element in etree.fromstring(beside[0].text)][-2:] == ["direction", "barline"]


def test_several_things_are_said_in_one_order() -> None:
    free, source = of("f"), with_words(with_words(of("p"), "con sord.", 0), "pizz.", 0)
    beside, _ = seams("score.musicxml", free, {2: source}, free)
    assert [(patch.bar, dynamics(patch.text.encode()), said(patch.text)) for patch in beside] == [
        (1, ["p"], ["con sord.", "pizz."]), (3, ["f"], ["senza sord.", "arco"]),
    ]  # fmt: skip


def test_what_is_ended_before_the_kept_bars_is_not_ended_again() -> None:
    free = with_words(with_words(of("p"), "sul pont.", 0), "ord.", 1)
    assert seams("score.musicxml", free, {2: of("p")}, free) == ([], [])


def test_a_way_of_playing_that_can_not_be_said_is_told_by_its_word() -> None:
    plain, muted = of("p"), with_words(of("p"), "con sord.", 0)
    beside, unsaid = seams("score.musicxml", plain, {0: plain, 1: plain, 2: muted, 3: muted}, plain)
    assert (beside, unsaid) == ([], ["Viola, bar 3: enters without its con sord., between kept bars"])


def test_between_two_kept_runs_nothing_can_be_said_and_that_is_told() -> None:
    loud, soft = of("f"), of("p")
    origin = {0: loud, 1: loud, 2: soft, 3: soft}
    mixed = grafted(loud, kept_bars("score.musicxml", loud, soft, {2, 3}))
    beside, unsaid = seams("score.musicxml", mixed, origin, loud)
    assert beside == []
    assert unsaid == ["Viola, bar 3: enters without its dynamic, between kept bars"]


def test_another_number_of_bars_is_refused() -> None:
    with pytest.raises(SketchError, match="other parts or bars"):
        kept_bars("score.musicxml", of("p"), of("p", f"{LINE} C4:4"), {0})
