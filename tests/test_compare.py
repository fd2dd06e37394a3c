"""Drafts beside each other: the table, and losses that two written scores confirm, nothing left out and nothing invented."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest

from autoorch import compare, delivery, pipeline
from autoorch.brief import Brief
from autoorch.check.limits import Limits as Level
from autoorch.check.read import read_score
from autoorch.errors import AutoorchError
from autoorch.layers.finale import TEXTURE
from autoorch.lost import lost
from autoorch.pipeline import Result
from autoorch.sketch import read_sketch
from autoorch.sketch.model import Sketch
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from tests.benchmarks.pieces import sketch_file
from tests.support.opening import opening

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
CUE = EXAMPLES / "harbour-snow-cue" / "sketch.musicxml"
OPENINGS = {"paper-boats-march": 12, "lighthouse-waltz": 12, "k545": 12, "mazurka": 12, "op19-6": 9, "bwv269": 8}
"""Cues besides, with so many bars: drums, a waltz, sonata, dance, no key, four voices."""
LINEUPS = ("romantic", "classical", "chamber", "string quartet", "wind quintet")
STEPS = (*pairwise(LINEUPS[:4]), ("chamber", "wind quintet"))
Drafts = dict[str, tuple[Path, Result]]
Sound = tuple[str, Fraction, int | str]
"""(bar, onset in quarters, sounding pitch or what is struck)"""


def drafted(sketch: Sketch, folder: Path) -> Drafts:
    """One reading for each line-up, in its folder."""
    found = {}
    for name in LINEUPS:
        result = pipeline.draft(sketch, name, brief=Brief(), limits=Limits(seconds=2))
        delivery.write(result, folder / name)
        found[name] = folder / name, result
    return found


@pytest.fixture(scope="module")
def drafts(tmp_path_factory: pytest.TempPathFactory) -> Drafts:
    return drafted(read_sketch(CUE), tmp_path_factory.mktemp("lineups"))


@pytest.fixture(scope="module", params=["harbour-snow-cue", *OPENINGS])
def family(request: pytest.FixtureRequest, drafts: Drafts, tmp_path_factory: pytest.TempPathFactory) -> Drafts:
    """One cue for all line-ups."""
    if (name := request.param) not in OPENINGS:
        return drafts
    folder = tmp_path_factory.mktemp(name)
    path = EXAMPLES / name / "sketch.musicxml"
    sketch = read_sketch(path if path.exists() else sketch_file(name, folder))
    return drafted(opening(sketch, OPENINGS[name]), folder)


def attacks(path: Path, result: Result) -> dict[Sound, set[str]]:
    """Who attacks what, from the written score; a player who has it twice counts once."""
    score = read_score(path / "score.musicxml", Level(load_tables(), "professional"))
    found: dict[Sound, set[str]] = defaultdict(set)
    for part, own in zip(score.parts, result.score.parts, strict=True):
        for note in part.notes:
            place = score.bars[score.bar(note.start)].number, Fraction(note.start, score.ticks)
            found[*place, note.stroke or note.pitch].add(own.player.name.split(": ")[0])
    return found


def test_the_losses_are_those_of_the_two_scores(family: Drafts) -> None:
    for large, small in STEPS:
        (one, whole), (two, less) = family[large], family[small]
        before, after = attacks(one, whole), attacks(two, less)
        degrees = {(onset, pitch % 12) for _, onset, pitch in after if isinstance(pitch, int)}
        wanted: dict[str, set[str]] = defaultdict(set)
        gone: dict[tuple[str, str], set[str]] = defaultdict(set)
        for (bar, onset, pitch), had in before.items():
            has = after.get((bar, onset, pitch), set())
            if len(has) >= len(had):
                continue
            elsewhere = isinstance(pitch, int) and (onset, pitch % 12) in degrees
            kind = "doubled by fewer" if has else "only in another octave" if elsewhere else "left out"
            wanted[kind].add(bar)
            gone[kind, bar] |= had - has
        told: dict[str, set[str]] = defaultdict(set)
        for loss in lost(whole.sketch, (whole.problem, whole.draft), (less.problem, less.draft)):
            bars = {whole.sketch.bars[bar].number for bar in loss.bars}
            told[loss.kind] |= bars
            assert loss.players
            assert set(loss.players) <= set[str]().union(*(gone[loss.kind, bar] for bar in bars))
        assert wanted
        assert told == wanted, (large, small)


def test_every_melody_and_bass_note_is_accounted_for(family: Drafts) -> None:
    for name in LINEUPS:
        _, result = family[name]
        fates = {fate.note: fate for fate in result.draft.fates}
        tune = [s for s in result.reading.strands if s.role == "melody"]
        bass = [s for s in result.reading.strands if s.role == "bass"]
        assert tune and bass
        chords = [strand for strand in result.material.strands if strand.texture == TEXTURE]
        laid = {source for strand in chords for line in strand.lines for note in line.notes for source in note.sources}
        last = max(note.onset for note in result.sketch.notes)
        assert all(result.sketch.by_id[note].onset == last for note in laid)
        for strand in tune:
            for note in strand.lines[0].notes:
                assert fates[note].fate in ("copied", "octave moved") or (note in laid and fates[note].players)
        for strand in bass:
            for note in strand.lines[0].notes:
                assert fates[note].fate in ("copied", "octave moved", "held through", "re-figured")


def test_the_table_has_a_row_a_draft_and_the_losses(drafts: Drafts) -> None:
    folders = [drafts[name][0] for name in ("classical", "string quartet")]
    lines = compare.table(compare.beside(folders, load_tables())).splitlines()
    assert lines[0].split()[0] == "draft"
    assert lines[1].startswith("classical") and lines[2].startswith("string quartet")
    assert all(line.startswith("lost in string quartet: bar") for line in lines[3:]) and lines[3:]


def test_what_can_not_be_compared_is_told(drafts: Drafts, tmp_path: Path) -> None:
    tables = load_tables()
    folder = drafts["chamber"][0]
    with pytest.raises(AutoorchError, match="two drafts or more"):
        compare.beside([folder], tables)
    with pytest.raises(AutoorchError, match="can't be read"):
        compare.beside([folder, tmp_path], tables)
    other = CUE.parents[1] / "stone-chapel-chorale" / "sketch.musicxml"
    delivery.write(pipeline.draft(other, "string quartet", limits=Limits(seconds=2)), tmp_path / "other")
    with pytest.raises(AutoorchError, match="another sketch"):
        compare.beside([folder, tmp_path / "other"], tables)


def test_a_draft_is_called_after_its_folder_as_far_as_that_tells_it(drafts: Drafts) -> None:
    _, result = drafts["chamber"]

    def called(*paths: str) -> list[str]:
        return compare.names([compare.Beside(Path(path), result, b"", None, load_tables()) for path in paths])

    assert called("a/one", "b/two") == ["one", "two"]
    assert called("drafts/1", "drafts/2") == ["1", "2"]
    assert called("a/one", "b/one") == ["a/one", "b/one"]
    assert called("first", "drafts/2") == ["first", "drafts/2"]
