"""Drafts beside each other: the table, and losses that two written scores confirm, nothing left out and nothing invented."""

from __future__ import annotations

from collections import Counter, defaultdict
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest

from autoorch import compare, pipeline
from autoorch.brief import Brief
from autoorch.check.limits import Limits as Level
from autoorch.check.read import read_score
from autoorch.errors import AutoorchError
from autoorch.lost import lost
from autoorch.pipeline import Result
from autoorch.sketch import read_sketch
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables

CUE = Path(__file__).resolve().parents[1] / "examples" / "harbour-snow-cue" / "sketch.musicxml"
LINEUPS = ("romantic", "classical", "chamber", "string quartet", "wind quintet")


@pytest.fixture(scope="module")
def drafts(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Path, Result]]:
    """One reading for each line-up, in its folder."""
    folder = tmp_path_factory.mktemp("lineups")
    sketch = read_sketch(CUE)
    found = {}
    for name in LINEUPS:
        result = pipeline.draft(sketch, name, brief=Brief(), limits=Limits(seconds=2))
        pipeline.write(result, folder / name)
        found[name] = folder / name, result
    return found


def attacks(path: Path) -> Counter[tuple[str, Fraction, int]]:
    """(bar, onset in quarters, sounding pitch) -> parts that attack it, from the written score; the same part counts once."""
    score = read_score(path / "score.musicxml", Level(load_tables(), "professional"))
    found: Counter[tuple[str, Fraction, int]] = Counter()
    for part in score.parts:
        for start, pitch in {(note.start, note.pitch) for note in part.notes}:
            found[score.bars[score.bar(start)].number, Fraction(start, score.ticks), pitch] += 1
    return found


@pytest.mark.parametrize(("large", "small"), [*pairwise(LINEUPS[:4]), ("chamber", "wind quintet")])
def test_the_losses_are_those_of_the_two_scores(drafts: dict[str, tuple[Path, Result]], large: str, small: str) -> None:
    (one, whole), (two, less) = drafts[large], drafts[small]
    before, after = attacks(one), attacks(two)
    degrees = {(onset, pitch % 12) for _, onset, pitch in after}
    wanted: dict[str, set[str]] = defaultdict(set)
    for (bar, onset, pitch), count in before.items():
        has = after[bar, onset, pitch]
        if has < count:
            kind = (
                "doubled by fewer"
                if has
                else "only in another octave"
                if (onset, pitch % 12) in degrees
                else "left out"
            )
            wanted[kind].add(bar)
    told: dict[str, set[str]] = defaultdict(set)
    for loss in lost(whole.sketch, (whole.material, whole.draft.choices), (less.material, less.draft.choices)):
        told[loss.kind] |= {whole.sketch.bars[bar].number for bar in loss.bars}
        assert loss.players
    assert wanted
    assert told == wanted


@pytest.mark.parametrize("name", LINEUPS)
def test_every_melody_and_bass_note_is_accounted_for(drafts: dict[str, tuple[Path, Result]], name: str) -> None:
    _, result = drafts[name]
    fates = {fate.note: fate for fate in result.draft.fates}
    tune = [s for s in result.reading.strands if s.role == "melody"]
    bass = [s for s in result.reading.strands if s.role == "bass"]
    assert tune and bass
    for strand in tune:
        for note in strand.lines[0].notes:
            assert fates[note].fate in ("copied", "octave moved")
    for strand in bass:
        for note in strand.lines[0].notes:
            assert fates[note].fate in ("copied", "octave moved", "held through", "re-figured")


def test_the_table_has_a_row_a_draft_and_the_losses(drafts: dict[str, tuple[Path, Result]]) -> None:
    folders = [drafts[name][0] for name in ("classical", "string quartet")]
    lines = compare.table(compare.beside(folders, load_tables())).splitlines()
    assert lines[0].split()[0] == "draft"
    assert lines[1].startswith("classical") and lines[2].startswith("string quartet")
    assert all(line.startswith("lost in string quartet: bar") for line in lines[3:]) and lines[3:]


def test_what_can_not_be_compared_is_told(drafts: dict[str, tuple[Path, Result]], tmp_path: Path) -> None:
    tables = load_tables()
    folder = drafts["chamber"][0]
    with pytest.raises(AutoorchError, match="two drafts or more"):
        compare.beside([folder], tables)
    with pytest.raises(AutoorchError, match="can't be read"):
        compare.beside([folder, tmp_path], tables)
    other = CUE.parents[1] / "stone-chapel-chorale" / "sketch.musicxml"
    pipeline.write(pipeline.draft(other, "string quartet", limits=Limits(seconds=2)), tmp_path / "other")
    with pytest.raises(AutoorchError, match="another sketch"):
        compare.beside([folder, tmp_path / "other"], tables)
