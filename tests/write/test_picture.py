"""The reading drawn and charted: every note and strand is there, told apart by shape, colour and name; same input, same bytes."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from autoorch import delivery
from autoorch.roles import read_roles
from autoorch.roles.model import MOMENTS, ROLES
from autoorch.sketch import read_sketch
from autoorch.write.chart import chart
from autoorch.write.picture import COLOURS, SIGNS, picture

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SVG = "{http://www.w3.org/2000/svg}"
# Okabe and Ito, Color Universal Design (2008), from memory: the palette's eight colours.
OKABE_ITO = {"#000000", "#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7"}
SKETCH = read_sketch(EXAMPLES / "lighthouse-waltz" / "sketch.musicxml")
READING = read_roles(SKETCH)


def texts(root: etree._Element) -> list[str]:
    return [element.text or "" for element in root.iter(f"{SVG}text")]


def test_each_role_has_its_own_colour_of_the_palette_and_each_moment_its_sign() -> None:
    assert set(COLOURS) == set(ROLES) and set(COLOURS.values()) <= OKABE_ITO
    assert len(set(COLOURS.values())) == len(COLOURS)
    assert set(SIGNS) == set(MOMENTS) and len(set(SIGNS.values())) == len(SIGNS)


def test_every_note_is_drawn_under_its_strand() -> None:
    root = etree.fromstring(picture(SKETCH, READING))
    titles = Counter(element.text.split()[0] for element in root.iter(f"{SVG}title") if ": " in (element.text or ""))
    rows = {strand.id: sum(len(line.notes) for line in strand.lines) for strand in READING.strands}
    for name, count in rows.items():
        assert titles[name] >= count  # a note across the end of a row is drawn in both


def test_bars_phrases_keys_and_strands_are_named() -> None:
    said = texts(etree.fromstring(picture(SKETCH, READING)))
    assert {bar.number for bar in SKETCH.bars} <= set(said)
    assert {strand.id for strand in READING.strands} <= set(said)
    assert any(text.startswith("A'' a") for text in said) and any(text.startswith("G: ") for text in said)
    assert any("melody (s1)" in text for text in said)


def test_shapes_tell_roles_apart_without_colour() -> None:
    strand = READING.strands[0]
    drawn = set()
    for role in ROLES:
        reading = replace(READING, strands=(replace(strand, role=role), *READING.strands[1:]))
        group = next(
            g
            for g in etree.fromstring(picture(SKETCH, reading)).iter(f"{SVG}g")
            if (g[0].text or "").startswith(f"{strand.id} {role}")
        )
        drawn.add(tuple((e.tag, e.get("stroke-dasharray"), e.get("fill") in ("none", "#FFFFFF")) for e in group[1:]))
    assert len(drawn) >= len(ROLES) - 1  # figure and rhythm differ in a dot and a triangle


def test_the_same_reading_gives_the_same_bytes() -> None:
    assert picture(SKETCH, READING) == picture(SKETCH, read_roles(SKETCH))


def test_titles_are_escaped() -> None:
    assert etree.fromstring(picture(replace(SKETCH, title="<&>"), READING)) is not None


@pytest.mark.parametrize("width", [80, 120, 200])
def test_the_chart_keeps_to_the_width_and_shows_each_phrase(width: int) -> None:
    lines = chart(SKETCH, READING, width).splitlines()
    assert max(len(line.split("| ")[0]) for line in lines[3:]) <= max(width, 80)
    for phrase in READING.phrases:
        assert any(line.startswith(f"{phrase.section:4}{phrase.label:5}bar ") for line in lines)
    assert "form A A' B A''" in lines[0]


def test_chords_that_find_no_room_leave_a_sign() -> None:
    bar, chord = SKETCH.bars[1], READING.chords[0]
    step = bar.length // 3
    crowded = tuple(
        replace(chord, start=bar.onset + k * step, end=bar.onset + (k + 1) * step, numeral=numeral)
        for k, numeral in enumerate(("viio65", "IV64", "viio7"))
    )
    row = next(line for line in chart(SKETCH, READING.with_(chords=crowded), 120).splitlines() if "viio65" in line)
    assert "viio65…" in row and "IV64" not in row


def test_read_writes_both_files_and_what_it_wrote_comes_back(tmp_path: Path) -> None:
    folder = tmp_path / "reading"
    sketch, reading = delivery.read(EXAMPLES / "paper-boats-march" / "sketch.musicxml", folder)
    assert sorted(path.name for path in folder.iterdir()) == ["reading.svg", "reading.toml"]
    assert (folder / "reading.svg").read_bytes() == picture(sketch, reading)
