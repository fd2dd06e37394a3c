"""The examples: valid files, sketches that are read whole, briefs that can be followed, and each one drafted."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from io import BytesIO
from pathlib import Path

import pytest

from autoorch import delivery, pipeline
from autoorch.brief import Brief, named, read_brief
from autoorch.lineup import parse_lineup
from autoorch.sketch import read_sketch
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from tests.benchmarks.heard import hear
from tests.support.schema import schema_errors

FOLDERS = sorted(path for path in (Path(__file__).resolve().parents[1] / "examples").iterdir() if path.is_dir())
each = pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)


def test_there_are_at_least_five_examples() -> None:
    assert len(FOLDERS) >= 5
    assert all({"sketch.musicxml", "brief.toml"} <= {path.name for path in folder.iterdir()} for folder in FOLDERS)


@each
def test_the_file_is_valid(folder: Path) -> None:
    assert schema_errors(folder / "sketch.musicxml") == []


@each
def test_the_sketch_is_read_whole(folder: Path) -> None:
    sketch = read_sketch(folder / "sketch.musicxml")
    assert sketch.lost == ()
    assert sketch.title
    kinds = {mark.kind for mark in sketch.marks}
    assert {"dynamic", "tempo"} <= kinds
    assert sketch.slurs or folder.name == "stone-chapel-chorale"


@each
def test_the_brief_can_be_followed(folder: Path) -> None:
    tables = load_tables()
    sketch = read_sketch(folder / "sketch.musicxml")
    brief = read_brief(folder / "brief.toml")
    lineup = parse_lineup(brief.lineup, tables)
    numbers = {bar.number for bar in sketch.bars}
    assert brief.directions
    for direction in brief.directions:
        assert direction.bars is not None and {direction.bars.first, direction.bars.last} <= numbers
        names = direction.must + direction.prefer + direction.avoid + direction.only
        assert names
        assert named(names, lineup, tables, folder.name)


@each
def test_each_is_drafted_by_its_brief(folder: Path) -> None:
    result = pipeline.draft(
        folder / "sketch.musicxml", brief=read_brief(folder / "brief.toml"), limits=Limits(seconds=5)
    )
    assert [fate.note for fate in result.draft.fates] == [note.id for note in result.sketch.notes]
    assert result.draft.status in ("optimal", "feasible")
    assert result.draft.objective == sum(result.draft.costs.values())
    # a percussion player has a stave for each instrument, named after both
    staves = [part.player.name.partition(":")[0] for part in result.score.parts]
    assert list(dict.fromkeys(staves)) == [player.name for player in result.lineup.players]


def test_the_waltz_comes_home_smaller_than_it_left() -> None:
    sketch = read_sketch(FOLDERS[0].parent / "lighthouse-waltz" / "sketch.musicxml")
    bars = [bar for bar in sketch.bars if bar.number != "0"]
    assert len(bars) == 64
    assert sketch.bars[0].length == sketch.ticks  # the pickup
    notes = [sum(1 for note in sketch.notes if bars[k].onset <= note.onset < bars[k + 15].end) for k in (0, 16, 32, 48)]
    assert min(notes) == notes[3]


def test_the_march_keeps_its_repeat_and_endings() -> None:
    sketch = read_sketch(FOLDERS[0].parent / "paper-boats-march" / "sketch.musicxml")
    by_number = {bar.number: bar for bar in sketch.bars}
    assert by_number["5"].repeat_start
    assert by_number["12"].repeat_end == 2
    assert {number: by_number[number].endings for number in ("10", "11", "12", "13", "14", "15")} == {
        "10": (),
        "11": (1,),
        "12": (1,),
        "13": (2,),
        "14": (2,),
        "15": (),
    }


def test_the_cue_is_the_same_music_as_midi() -> None:
    folder = FOLDERS[0].parent / "harbour-snow-cue"
    written, played = (read_sketch(folder / name) for name in ("sketch.musicxml", "sketch.mid"))
    assert played.source == "midi"
    heard = [
        Counter(
            (note.onset * 480 // sketch.ticks, note.duration * 480 // sketch.ticks, note.pitch.midi)
            for note in sketch.notes
        )
        for sketch in (written, played)
    ]
    assert heard[0] == heard[1]


def test_the_horns_of_the_ostinato_have_their_own_staff() -> None:
    sketch = read_sketch(FOLDERS[0].parent / "clockmaker-ostinato" / "sketch.musicxml")
    assert (sketch.staves[0].name, sketch.staves[1].hint) == ("Horns", "")
    assert sketch.staves[0].hint


def foreign(folder: Path, intent: str, to: Path) -> list[tuple[str, Fraction, int]]:
    """(part, onset in quarters, sounding pitch) of what the written score strikes and the sketch has in no octave then."""
    result = pipeline.draft(folder / "sketch.musicxml", "chamber", brief=Brief(intent=intent), limits=Limits(seconds=5))
    file = BytesIO()
    delivery.outputs(result)[delivery.SCORES[0]](file)
    to.write_bytes(file.getvalue())
    ticks = result.sketch.ticks
    own = {(Fraction(note.onset, ticks), note.pitch.midi % 12) for note in result.sketch.notes}
    struck = [(p.name, onset, m) for p in hear(to).values() for onset, pitches in p.attacks.items() for m in pitches]
    assert len(struck) >= len(own)
    return [(part, onset, midi) for part, onset, midi in struck if (onset, midi % 12) not in own]


@pytest.mark.parametrize("name", ["harbour-snow-cue", "lighthouse-waltz"])
def test_a_faithful_draft_strikes_only_what_the_sketch_strikes_then(name: str, tmp_path: Path) -> None:
    """Octaves and unisons are all that it adds: read back from the file. With everything allowed there is more."""
    folder = next(folder for folder in FOLDERS if folder.name == name)
    assert foreign(folder, "faithful", tmp_path / "faithful.musicxml") == []
    assert foreign(folder, "full", tmp_path / "full.musicxml")
