"""What was written comes back as it was: every bar of every part, event by event."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from lxml import etree

from autoorch.pitch import from_midi, parse
from autoorch.score.condensed import condensed
from autoorch.score.model import Event, Head, Measure, Score
from autoorch.score.pairs import paired
from autoorch.score.transpose import at_concert_pitch
from autoorch.write.graft import parts_of
from autoorch.write.musicxml import write_musicxml
from autoorch.write.reread import with_written
from tests.support.hand import make_score, make_sketch, whole
from tests.support.tiny import players
from tests.write.test_corpus import fixed
from tests.write.test_golden import quintet
from tests.write.test_musicxml import rich

LINE = parse("E4")
"""Where unpitched notes stand."""


def blank(score: Score) -> Score:
    """The same bars and parts with nothing in them but rests and what everybody is told."""

    def empty(measure: Measure, length: int) -> Measure:
        told = tuple(d for d in measure.directions if d.everybody)
        return replace(measure, voices=((Event(0, length, (), ""),),), staff_of=(1,), directions=told, clefs=())

    parts = [
        replace(part, measures=tuple(empty(m, b.length) for m, b in zip(part.measures, score.bars, strict=True)))
        for part in score.parts
    ]
    return replace(score, parts=tuple(parts))


def nameless(score: Score) -> list[list[Measure]]:
    """Its bars without what the file does not say: where a note comes from, the name of what sounds, a drum's pitch."""

    def head(own: Head, pitched: bool) -> Head:
        sounding = from_midi(own.sounding.midi) if pitched else LINE
        return replace(own, source="", sounding=sounding, written=own.written if pitched else LINE)

    def event(own: Event, pitched: bool) -> Event:
        return replace(own, heads=tuple(head(each, pitched) for each in own.heads))

    return [
        [
            replace(m, voices=tuple(tuple(event(e, part.player.instrument.gm > 0) for e in v) for v in m.voices))
            for m in part.measures
        ]
        for part in score.parts
    ]


SCORES = {
    "rich": rich, "concert": lambda: at_concert_pitch(rich()), "quintet": quintet, "pairs": lambda: paired(rich()),
    "condensed": lambda: condensed(rich()), "mazurka": lambda: fixed("chopin/mazurka06-2"),
    "op19": lambda: fixed("schoenberg/opus19/movement2"),
}  # fmt: skip


@pytest.mark.parametrize("name", SCORES)
def test_every_bar_comes_back(name: str) -> None:
    score = SCORES[name]()
    file = io.BytesIO()
    write_musicxml(score, file)
    bars = [
        (part, number, text.decode())
        for part, measures in parts_of(file.getvalue()).items()
        for number, text in enumerate(measures)
    ]
    for part, ours, theirs in zip(
        score.parts, nameless(score), nameless(with_written(blank(score), bars)), strict=True
    ):
        for bar, (one, other) in enumerate(zip(ours, theirs, strict=True), start=1):
            assert other == one, f"{part.name}, bar {bar}"


def test_notes_keep_where_they_come_from_and_other_bars_stay() -> None:
    sketch = make_sketch(["C5:4 D5:4"])
    score = make_score(sketch, players("horn"), [whole(sketch, "horn", 1)])
    file = io.BytesIO()
    write_musicxml(score, file)
    text = parts_of(file.getvalue())["P1"][1].decode()
    again = with_written(score, [("P1", 1, text.replace("<step>A</step>", "<step>B</step>"))])
    heads = [head for m in again.parts[0].measures for e in m.voices[0] for head in e.heads]
    assert [(str(h.written), str(h.sounding), h.source) for h in heads] == [("G5", "C5", "a0"), ("B5", "E5", "")]
    assert with_written(score, [("P1", 1, text)]) == score
    assert etree.fromstring(text).findtext(".//step") == "A"
