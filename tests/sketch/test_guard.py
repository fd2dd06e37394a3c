"""Files that are no sketch: each is refused in one line that names the file, before it costs time or memory."""

from __future__ import annotations

import os
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from autoorch.errors import SketchError
from autoorch.sketch import Limits, read_sketch
from autoorch.sketch.guard import integer, load, number, plain
from tests.support.xml import COMMON, HEAD, bar, note, read, score

ATTRIBUTES = f"<divisions>1</divisions>{COMMON}"
GOOD = score([bar(note("C4", 4, "whole"), attributes=ATTRIBUTES)])
CONTAINER = '<container><rootfiles><rootfile full-path="{}"/></rootfiles></container>'
BOMB = (
    f"{HEAD}<!DOCTYPE score-partwise [<!ENTITY a0 'aaaaaaaaaa'>"
    + "".join(f"<!ENTITY a{k} '{f'&a{k - 1};' * 10}'>" for k in range(1, 10))
    + "]>"
)


def refused(path: Path, limits: Limits | None = None) -> str:
    with pytest.raises(SketchError) as caught:
        read_sketch(path, limits=limits or Limits())
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith(path.name)
    return str(caught.value)


def one_bar(content: str, attributes: str = ATTRIBUTES) -> str:
    return score([bar(content, "7", attributes)])


@pytest.mark.parametrize(
    ("content", "what"),
    [
        ("", "empty"),
        ("\n \n", "empty"),
        ("this is no score", "broken XML"),
        ("<html><body/></html>", "its root is <html>"),
        (GOOD[:-40], "broken XML"),
        (GOOD.replace("<score-partwise", "<score-partwise xmlns='urn:x'"), "its root is"),
        (one_bar(note("", 4, "whole")), "no notes"),
        (f"{HEAD}<score-partwise/>", "no notes"),
        (BOMB + "<score-partwise>&a9;</score-partwise>", "entities"),
        (BOMB + "<score-partwise><part id='&a9;'/></score-partwise>", "entities"),
        (f"{HEAD}<!DOCTYPE s [<!ENTITY x SYSTEM 'file:///etc/passwd'>]>" + GOOD[len(HEAD) :], "entities"),
        (f"{HEAD}<!DOCTYPE s [<!ENTITY % x SYSTEM 'http://localhost/x'> %x;]>" + GOOD[len(HEAD) :], "entities"),
        (one_bar("<a>" * 1000 + "</a>" * 1000), "broken XML"),
        (one_bar(note("C9", 4, "whole") + note("C9", 4).replace(">9<", ">25<")), "bar 7: holds the pitch C25"),
        (one_bar(note("C4", 4).replace("<octave>4", "<alter>400</alter><octave>4")), "altered by 400"),
        (one_bar(note("C4", 4).replace(">C<", ">H<")), "without a step"),
        (one_bar(note("C4", 10_000)), "bar 7: is longer than"),
        (one_bar(note("C4", "1e999999999")), "is no duration"),
        (one_bar(note("C4", -4)), "is no duration"),
        (one_bar(note("C4", 0)), "without a length"),
        (one_bar(note("C4", 1), "<divisions>0</divisions>"), "divisions"),
        (one_bar(note("C4", 1), "<divisions>999999937</divisions>"), "no common unit"),
        (one_bar(note("C4", 4), ATTRIBUTES + "<staves>99</staves>"), "99 staves"),
        (one_bar(note("C4", 4, staff=13)), "13 staves"),
        (one_bar(note("C4", 4), ATTRIBUTES.replace("<beats>4", "<beats>-4")), "metre"),
        (score(*[[bar(note("C4", 4), attributes=ATTRIBUTES)]] * 13), "13 staves"),
        (one_bar(note("C4", 4)).replace('<part id="P0">', '<part id="P0"/><part id="P0">'), "twice"),
    ],
)
def test_xml_that_is_no_sketch(tmp_path: Path, content: str, what: str) -> None:
    path = tmp_path / "sketch.musicxml"
    path.write_text(content, encoding="utf-8")
    assert what in refused(path)


def test_what_is_no_file(tmp_path: Path) -> None:
    assert "folder" in refused(tmp_path)
    assert "no such file" in refused(tmp_path / "missing.mid")
    pipe = tmp_path / "pipe.xml"
    os.mkfifo(pipe)
    assert "no regular file" in refused(pipe)


def test_every_kind_of_limit(tmp_path: Path) -> None:
    path = tmp_path / "sketch.musicxml"
    bars = [bar(note("C4", 4, "whole"), str(k), ATTRIBUTES) for k in range(20)]
    path.write_text(score(bars), encoding="utf-8")
    assert len(read_sketch(path).notes) == 20
    for limits in (Limits(packed=100), Limits(unpacked=100), Limits(tags=100), Limits(notes=19), Limits(bars=19)):
        refused(path, limits)
    assert "notes" in refused(path, Limits(notes=19))


def test_a_million_notes_cost_no_time(tmp_path: Path) -> None:
    path = tmp_path / "sketch.musicxml"
    path.write_text(one_bar("<note/>" * 1_000_000), encoding="utf-8")
    assert "1,000,000 notes" in refused(path)


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8-sig", "utf-8"])
def test_encodings_with_a_mark(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "sketch.xml"
    text = GOOD.replace("Piano", "Hörner").replace("UTF-8", encoding.removesuffix("-sig"))
    path.write_bytes(text.encode(encoding))
    assert read_sketch(path).staves[0].name == "Hörner"


def test_bytes_that_are_not_the_encoding_they_claim(tmp_path: Path) -> None:
    path = tmp_path / "sketch.xml"
    path.write_bytes(GOOD.replace("Piano", "Hörner").encode("latin-1"))
    assert "broken XML" in refused(path)


# Archives


def archive(path: Path, **members: str) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in members.items():
            packed.writestr(name, content)
    return path


def test_archives_by_container_and_without(tmp_path: Path) -> None:
    inside = {"META-INF/container.xml": CONTAINER.format("music/x.xml"), "music/x.xml": GOOD, "a.xml": "<no/>"}
    assert read_sketch(archive(tmp_path / "with.mxl", **inside)).notes
    assert read_sketch(archive(tmp_path / "without.mxl", **{"x.musicxml": GOOD})).notes


@pytest.mark.parametrize(
    ("members", "what"),
    [
        ({"META-INF/container.xml": CONTAINER.format("../../etc/passwd")}, "outside the archive"),
        ({"META-INF/container.xml": CONTAINER.format("/etc/passwd")}, "outside the archive"),
        ({"META-INF/container.xml": CONTAINER.format("gone.xml")}, "not in the archive"),
        ({"META-INF/container.xml": BOMB + "<container>&a9;</container>"}, "broken XML"),
        ({"META-INF/container.xml": "<container"}, "broken XML"),
        ({"../outside.txt": "no"}, "without a score"),
        ({"x.xml": "0" * 50_000_000}, "unpacks to more"),
    ],
)
def test_archives_that_are_no_sketch(tmp_path: Path, members: dict[str, str], what: str) -> None:
    path = archive(tmp_path / "sketch.mxl", **members)
    assert what in refused(path, Limits(unpacked=1_000_000))
    assert [found.name for found in tmp_path.iterdir()] == ["sketch.mxl"]


def test_broken_archives(tmp_path: Path) -> None:
    path = archive(tmp_path / "sketch.mxl", **{"x.xml": GOOD * 20})
    good = path.read_bytes()
    path.write_bytes(b"PK\x03\x04 and then nothing")
    assert "broken archive" in refused(path)
    path.write_bytes(good[: len(good) // 2])
    assert "broken archive" in refused(path)
    path.write_bytes(good[:60] + bytes(40) + good[100:])
    assert "broken archive" in refused(path)


# Any file


@settings(deadline=None, max_examples=300)
@given(st.data())
def test_no_byte_can_break_the_reader(data: st.DataObject) -> None:
    text = score([bar(note("C4", 2, "half", voice="1") + note("E4", 2, "half"), attributes=ATTRIBUTES)])
    good = bytearray(text.encode())
    for _ in range(data.draw(st.integers(1, 4))):
        good[data.draw(st.integers(0, len(good) - 1))] = data.draw(st.integers(32, 126))
    try:
        sketch = read(good.decode())
    except SketchError as error:
        assert "\n" not in str(error)
    else:
        assert all(n.end <= sketch.end for n in sketch.notes)


@given(st.text())
def test_texts_are_one_line_and_numbers_are_plain(text: str) -> None:
    line = plain(text, 20)
    assert len(line) <= 20 and line == " ".join(line.split()) and (not line or line.isprintable())
    value = number(text)
    assert value is None or abs(value) < 10**10
    assert integer(text) is None or integer(text) == value


def test_numbers_are_decimal_and_short() -> None:
    assert [number(t) for t in ("12", " -1.5 ", "1e9", "", None, "9" * 12, "nan", "1/2", "٣")] == [
        *(12, -1.5, None, None, None, None, None, None, None)
    ]


def test_a_folder_is_named_even_where_its_name_is_a_dot() -> None:
    with pytest.raises(SketchError, match=r"^\.: is a folder; name a file in it$"):
        load(Path(), Limits())
