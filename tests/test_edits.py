"""An edited score comes back: every edit is found by part, bar and beat; those of who plays what hold in the next draft."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import etree

from autoorch import delivery, pipeline
from autoorch.brief import Brief
from autoorch.edits import Edit, differences, locks
from autoorch.errors import SketchError
from autoorch.pipeline import Result
from autoorch.problem.draft import Choice
from autoorch.revise import revised
from autoorch.score.realise import realise
from autoorch.sketch import read_sketch
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from autoorch.write.musicxml import write_musicxml
from autoorch.write.record import read_record
from tests.benchmarks.pieces import sketch_file
from tests.support.opening import opening

CUE = Path(__file__).resolve().parents[1] / "examples" / "harbour-snow-cue" / "sketch.musicxml"
OTHERS = (("lighthouse-waltz", "classical"), ("k545", "romantic"), ("mazurka", "wind quintet"))
"""Cues and line-ups besides, whose first bars are edited at random."""
LIMITS = Limits(seconds=2)
DYNAMICS = ("pp", "p", "mp", "mf", "f", "ff")


@pytest.fixture(scope="module")
def result() -> Result:
    return pipeline.draft(CUE, "chamber", brief=Brief(), limits=LIMITS)


@pytest.fixture(scope="module")
def folder(result: Result, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("edits") / "draft"
    delivery.write(result, out)
    return out


class Hand:
    """Edits a score file with a pencil: what it does to a note or dynamic, and where that is."""

    def __init__(self, path: Path) -> None:
        self.tree = etree.parse(str(path))
        names = {p.get("id"): p.findtext("part-name") for p in self.tree.iterfind("part-list/score-part")}
        self.notes: list[tuple[str, str, Fraction, etree._Element]] = []
        self.dynamics: list[tuple[str, str, etree._Element]] = []
        for number, part in enumerate(self.tree.iterfind("part")):
            assert names[part.get("id")]
            divisions, unit = 1, 4
            for measure in part.iterfind("measure"):
                at = 0
                for element in measure:
                    if element.tag == "attributes":
                        divisions = int(element.findtext("divisions") or divisions)
                        unit = int(element.findtext("time/beat-type") or unit)
                    elif element.tag == "backup":
                        at -= int(element.findtext("duration") or 0)
                    elif element.tag == "direction" and element.find("direction-type/dynamics") is not None:
                        self.dynamics.append((str(number), measure.get("number") or "", element))
                    elif element.tag == "note":
                        plain = element.find("chord") is None and element.find("grace") is None
                        free = element.find("tie") is None and element.find("beam") is None
                        if plain and free and element.find("pitch") is not None:
                            beat = 1 + Fraction(at * unit, 4 * divisions)
                            self.notes.append((str(number), measure.get("number") or "", beat, element))
                        if plain:
                            at += int(element.findtext("duration") or 0)

    def write(self, path: Path) -> Path:
        self.tree.write(str(path), encoding="UTF-8", xml_declaration=True)
        return path


def beats(text: str) -> Fraction:
    return Fraction(text).limit_denominator(64)


@pytest.fixture(
    scope="module", params=[("harbour-snow-cue", "chamber"), *OTHERS], ids=lambda asked: " for ".join(asked)
)
def drafted(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Result, Path]:
    """A draft and its folder, of each cue and line-up."""
    name, lineup = request.param
    out = tmp_path_factory.mktemp(name)
    path = CUE.parents[1] / name / "sketch.musicxml"
    sketch = opening(read_sketch(path if path.exists() else sketch_file(name, out)), 16)
    made = pipeline.draft(sketch, lineup, brief=Brief(), limits=LIMITS)
    delivery.write(made, out / "draft")
    return made, out / "draft"


def only(element: etree._Element, path: str) -> etree._Element:
    """What stands there, and must."""
    found = element.find(path)
    assert found is not None
    return found


@pytest.mark.parametrize("seed", [11, 12, 13])
def test_thirty_random_edits_are_all_found(drafted: tuple[Result, Path], seed: int, tmp_path: Path) -> None:
    result, folder = drafted
    players = [player.name for player in result.lineup.players]
    chance = random.Random(seed)
    hand = Hand(folder / "score.musicxml")
    alone = [row for row in hand.notes if ((after := row[3].getnext()) is None or after.find("chord") is None)]
    wanted: set[tuple[str, str, str, str]] = set()
    for number, bar, beat, note in chance.sample(alone, 24):
        player = players[int(number)]
        if chance.random() < 0.5:
            note.replace(only(note, "pitch"), etree.Element("rest"))
            wanted.add(("deleted", player, bar, str(beat)))
        else:
            octave = only(note, "pitch/octave")
            octave.text = str(int(octave.text or "") + chance.choice((-1, 1)))
            wanted.add(("pitch", player, bar, str(beat)))
    one_a_bar = {(number, bar): (number, bar, direction) for number, bar, direction in hand.dynamics}
    for number, bar, direction in chance.sample(list(one_a_bar.values()), 6):
        (mark,) = only(direction, "direction-type/dynamics")
        mark.tag = chance.choice([name for name in DYNAMICS if name != mark.tag])
        wanted.add(("dynamic", players[int(number)], bar, ""))
    assert len(wanted) == 30
    edited = hand.write(tmp_path / "edited.musicxml")
    found = differences(folder / "score.musicxml", edited, players, load_tables())
    told = {(e.kind, e.player, e.bar, "" if e.kind == "dynamic" else str(beats(e.beat))) for e in found}
    assert len(found) == 30
    assert {edit[1:] for edit in told} == {edit[1:] for edit in wanted}
    # Where a note goes as another comes in the same place at the same pitch, both together are one that moved.
    places = [(e.bar, e.beat) for e in found if e.kind != "dynamic"]
    single = {place for place in places if places.count(place) == 1}
    assert {e for e in told if (e[2], e[3]) in single} == {e for e in wanted if (e[2], e[3]) in single}
    assert single


def test_nothing_edited_nothing_found(result: Result, folder: Path) -> None:
    players = [player.name for player in result.lineup.players]
    score = folder / "score.musicxml"
    assert differences(score, score, players, load_tables()) == ()


def test_a_percussionist_with_several_staves_is_one_player(tmp_path: Path) -> None:
    """The romantic orchestra's three have four instruments in this cue, each on a staff of its own."""
    made = pipeline.draft(CUE, "romantic", brief=Brief(), limits=LIMITS)
    assert len(made.score.parts) > len(made.lineup.players)
    delivery.write(made, tmp_path / "draft")
    score = tmp_path / "draft" / "score.musicxml"
    revision = revised(tmp_path / "draft", None, [], lambda brief: brief, load_tables(), score)
    assert revision.base.asked.locks == made.asked.locks == ()


def rewritten(result: Result, path: Path, change: dict[Choice, tuple[Choice, ...]]) -> Path:
    """The score of the draft with some choices changed."""
    choices = tuple(new for old in result.draft.choices for new in change.get(old, (old,)))
    draft = replace(result.draft, choices=tuple(sorted(choices, key=lambda c: (c.start, c.player))))
    with path.open("wb") as file:
        write_musicxml(
            realise(result.sketch, result.reading, result.material, result.lineup, draft, result.problem.tables), file
        )
    return path


def of_role(result: Result, role: str) -> list[Choice]:
    return [c for c in result.draft.choices if result.material.strand[c.strand].role == role]


def free(result: Result, choice: Choice) -> str:
    """A violin, viola or flute that rests while the choice sounds."""
    busy = {c.player for c in result.draft.choices if c.start < choice.end and c.end > choice.start}
    return next(n for n in ("Flute", "Oboe", "Clarinet", "Violins I", "Violins II", "Violas") if n not in busy)


def test_a_line_moved_to_another_player_stays_there(result: Result, folder: Path, tmp_path: Path) -> None:
    choice = next(c for c in of_role(result, "melody") if c.octave == 0)
    moved = replace(choice, player=free(result, choice), share=12, techniques=(), instrument="")
    edited = rewritten(result, tmp_path / "edited.musicxml", {choice: (moved,)})
    tables = load_tables()
    revision = revised(folder, None, [], lambda brief: brief, tables, edited)
    base = revision.base
    assert len(base.asked.locks) == 1
    assert moved in base.asked.locks[0].choices and choice not in base.asked.locks[0].choices
    new = pipeline.draft(
        base.sketch, base.lineup, brief=base.brief, reading=base.reading, limits=LIMITS, asked=base.asked
    )
    here = {(c.player, c.octave) for c in new.draft.choices if (c.strand, c.start) == (choice.strand, choice.start)}
    before = {
        (c.player, c.octave) for c in result.draft.choices if (c.strand, c.start) == (choice.strand, choice.start)
    }
    assert here == before - {(choice.player, 0)} | {(moved.player, 0)}
    delivery.write(new, tmp_path / "new")
    again = pipeline.again(read_record(tmp_path / "new", tables))
    assert again.draft == new.draft


def test_a_doubling_deleted_is_gone(result: Result, folder: Path, tmp_path: Path) -> None:
    melody = of_role(result, "melody")
    doubled = next(c for c in melody if sum((o.strand, o.start) == (c.strand, c.start) for o in melody) > 1)
    edited = rewritten(result, tmp_path / "edited.musicxml", {doubled: ()})
    found = differences(
        folder / "score.musicxml", edited, [player.name for player in result.lineup.players], load_tables()
    )
    assert {e.kind for e in found} <= {"deleted", "dynamic"} and {e.player for e in found} == {doubled.player}
    locked, rest = locks(result.problem, result.draft, found)
    assert [lock.strand for lock in locked] == [doubled.strand]
    assert doubled not in locked[0].choices
    assert rest == ()


def test_what_is_no_choice_of_players_is_told(result: Result) -> None:
    edit = Edit("pitch", "Flute", "9", "2", "C5 to D5", Fraction(33), 72, 74)
    assert locks(result.problem, result.draft, [edit]) == ((), (edit,))
    assert str(edit) == "Flute, bar 9, beat 2: pitch C5 to D5"


def test_a_score_of_other_parts_is_refused(result: Result, folder: Path) -> None:
    with pytest.raises(SketchError, match="parts"):
        differences(folder / "score.musicxml", CUE, [player.name for player in result.lineup.players], load_tables())
