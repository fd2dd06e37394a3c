"""Real scores as drafts of our kind: the reduction keeps its definition, the mapping finds who plays what, misses are near."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import accumulate, pairwise
from pathlib import Path

from autoorch.pitch import Pitch, parse
from autoorch.problem.data import ProblemData
from autoorch.roles.model import Phrase
from autoorch.sketch.model import Bar, Mark, Sketch, Staff
from autoorch.solver.statements import gather
from autoorch.tables import load_tables
from tests.benchmarks.masters import NEAR_BEATEN, Row, measure
from tests.benchmarks.masters_reading import by_dynamic, reading_of
from tests.benchmarks.masters_score import Passage, Played, reduced, seats
from tests.benchmarks.masters_scoring import Prices, mapped
from tests.benchmarks.masters_worked import worked
from tests.benchmarks.near_misses import Takes, near_misses, scorings
from tests.support.tiny import line, players, problem, strand, taken

TICKS = 4
PARTS = ("Flute 1", "Bassoon 1", "Violin 1", "Viola", "Violoncello", "Contrabass")
TUNE = "E5 F5 G5 E5"
CHORD = "G4 D4 E4 G4"
BASS = "C3 B2 C3 C3"


def notes(part: int, text: str, octave: int = 0) -> list[tuple[int, Played]]:
    return [
        (part, Played(k * TICKS, (k + 1) * TICKS, shifted(parse(word), octave))) for k, word in enumerate(text.split())
    ]


def shifted(pitch: Pitch, octaves: int) -> Pitch:
    return replace(pitch, octave=pitch.octave + octaves)


def tiny_passage() -> Passage:
    """Violins and a bassoon an octave below with the tune, violas inside, cellos and basses in octaves, the flute silent."""
    lineup, staff_of = seats(PARTS, "classical", "tiny", load_tables())
    played = notes(2, TUNE) + notes(1, TUNE, -1) + notes(3, CHORD) + notes(4, BASS) + notes(5, BASS, -1)
    bar = Bar(0, "1", 0, 4 * TICKS, (4, 4), 0)
    return reduced("tiny", played, lambda tick: 2, lineup, staff_of, TICKS, (bar,), ())


def names(data: ProblemData, chosen: frozenset[int]) -> set[tuple[str, str, int]]:
    return {
        (data.players[o.player].name, data.role(o), o.octave) for o in (data.options[index] for index in sorted(chosen))
    }


def test_the_reduction_drops_octave_copies_of_tune_and_bass() -> None:
    one = tiny_passage()
    assert sorted(note.pitch.midi for note in one.sketch.notes if note.onset == 0) == [36, 67, 76]
    assert {one.sketch.by_id[note].pitch.midi for note in one.main} == {76, 77, 79}
    tune = next(note.id for note in one.sketch.notes if note.pitch.midi == 76)
    assert one.players[tune] == ("Bassoon", "Violins")


def test_a_real_scoring_is_found_again_among_the_options() -> None:
    one = tiny_passage()
    reading = reading_of(one, load_tables())
    assert [(s.role, len(s.lines)) for s in reading.strands] == [("melody", 1), ("bass", 1), ("inner", 1)]
    data = problem(
        one.lineup,
        strand("s1", "melody", line("s1.1", TUNE)),
        strand("s2", "inner", line("s2.1", CHORD)),
        strand("s3", "bass", line("s3.1", "C2 B1 C2 C2")),
    )
    found = mapped(one, data)
    assert {("Violins", "melody", 0), ("Bassoon", "melody", -1), ("Violas", "inner", 0)} <= names(data, found.chosen)
    assert ("Double basses", "bass", 0) in names(data, found.chosen)
    assert not any(player == "Flute" for player, _, _ in names(data, found.chosen))
    assert found.told == sum(len(own) for own in one.played.values()) - 4 * (
        ("Violoncellos", "bass", 1) not in names(data, found.chosen)
    )
    assert found.extra == 0


def table(movement: str, first: int, name: str, *rows: tuple[str, int]) -> str:
    """A table of notes of one passage: each part holds one note for a bar."""
    head = "movement,first_bar,passage,part,onset_quarter,duration_quarter,sounding_pitch_midi,dynamic"
    return "\n".join([head, *(f"{movement},{first},{name},{part},0,2,{midi},p" for part, midi in rows)])


def test_the_palette_says_who_has_the_tune_of_a_worked_passage(tmp_path: Path) -> None:
    file = tmp_path / "notes.csv"
    rows = ("Bb Clarinet 1", 73), ("Bb Clarinet 2", 67), ("Bassoon 2", 68), ("Eb Horn 1", 64), ("Violoncello", 43)
    file.write_text(table("Brahms_Op.68_3", 1, "clarinet theme", *rows))
    (one,) = worked(file, load_tables())
    assert [one.sketch.by_id[note].pitch.midi for note in sorted(one.main)] == [73]
    assert one.players[min(one.main)] == ("Clarinet 1",)


def test_a_master_beats_the_fixed_mapping_and_every_random_scoring(tmp_path: Path) -> None:
    """L. van Beethoven, Symphony 3, i, bars 3-6: cellos alone with the tune under what violins and violas repeat."""
    tune = (51, 2), (55, 1), (51, 2), (46, 1), (51, 1), (55, 1), (58, 1), (51, 2), (50, 1)
    parts = {"Violin 2": [(67, 3)] * 4, "Viola": [(58, 3)] * 4, "Violoncello": list(tune)}
    head = "movement,first_bar,passage,part,onset_quarter,duration_quarter,sounding_pitch_midi,dynamic"
    rows = [
        f"Beethoven_Op.55_1,3,theme,{part},{onset},{length},{midi},p"
        for part, notes in parts.items()
        for (midi, length), onset in zip(notes, accumulate((n[1] for n in notes), initial=0), strict=False)
    ]
    file = tmp_path / "notes.csv"
    file.write_text("\n".join([head, *rows]))
    (one,) = worked(file, load_tables())
    row = measure(one, "set", load_tables(), randoms=5, each=6, seconds=1)
    assert row is not None and row.told == 1 and not row.broken
    assert row.total < row.fixed.total() and row.beaten == 1
    won, near = row.near_beaten()
    assert near > 0 and won >= NEAR_BEATEN * near


def test_horns_in_c_that_stand_as_written_sound_an_octave_lower(tmp_path: Path) -> None:
    file = tmp_path / "notes.csv"
    rows = ("C Horn 1", 72), ("E Horn 3", 64), ("Trombone 1", 65), ("Trombone 3", 44)
    file.write_text(table("Brahms_Op.68_4", 47, "chorale", *rows))
    (one,) = worked(file, load_tables())
    assert [note.pitch.midi for note in one.played["Horn 1"]] == [60]
    assert [note.pitch.midi for note in one.played["Horn 3"]] == [64]
    assert [note.pitch.midi for note in one.played["Bass trombone"]] == [44]


def cut(*marks: tuple[int, str], bars: int = 8, joint: int = 0) -> list[tuple[int, int, str]]:
    """A phrase of eight bars, or two with a joint, under dynamics at these bars: (first bar, end, dynamic) of the pieces."""
    length = 4 * TICKS
    there = tuple(Bar(k, str(k + 1), k * length, length, (4, 4), 0) for k in range(bars))
    set_at = tuple(Mark("dynamic", bar * length, bar * length, -1, value) for bar, value in marks)
    edges = [0, joint * length, bars * length] if joint else [0, bars * length]
    phrases = [Phrase(start, end, dynamic="f") for start, end in pairwise(edges)]
    found = by_dynamic(Sketch(TICKS, (Staff(0, ""),), there, (), marks=set_at), phrases)
    return [(piece.start // length, piece.end // length, piece.dynamic) for piece in found]


def test_a_phrase_is_cut_where_its_dynamic_changes_for_some_bars() -> None:
    assert cut((0, "f"), (1, "p")) == [(0, 8, "p")]  # the end of the phrase before
    assert cut((0, "p"), (4, "ff")) == [(0, 4, "p"), (4, 8, "ff")]
    assert cut((0, "p"), (4, "ff"), (5, "p")) == [(0, 8, "p")]
    assert cut() == [(0, 8, "f")]
    assert cut((0, "p"), joint=3) == [(0, 3, "p"), (3, 8, "p")]
    assert cut((0, "p"), (4, "ff"), joint=5) == [(0, 4, "p"), (4, 8, "ff")], "no tutti in the phrase before it"


def test_a_line_given_to_somebody_who_has_it_is_no_near_miss() -> None:
    data = tiny()
    chosen = taken(data, ("oboe", "s1.1", 0), ("flute", "s1.1", 0), ("viola", "s2.1", 0), ("cello", "s3.1", 0))
    found = list(near_misses(Takes(data, Prices(data, gather(data)).limits), chosen, 6, seed=1))
    moved = [other for kind, other in found if kind in ("another player", "an octave moved")]
    assert moved
    assert {len(other) for other in moved} == {len(chosen)}


def tiny() -> ProblemData:
    return problem(
        players("flute", "oboe", "clarinet_bb", "violin", "viola", "cello", "double_bass"),
        strand("s1", "melody", line("s1.1", TUNE)),
        strand("s2", "inner", line("s2.1", CHORD)),
        strand("s3", "bass", line("s3.1", BASS)),
        dynamic="p",
    )


def test_prices_are_those_of_the_rules() -> None:
    data = tiny()
    chosen = taken(data, ("oboe", "s1.1", 0), ("viola", "s2.1", 0), ("cello", "s3.1", 0))
    prices = Prices(data, gather(data))
    assert prices.total(chosen) == prices.by_reason(chosen).total()
    assert prices.broken(chosen) == []
    assert prices.broken(frozenset()) != []


def test_near_misses_change_one_thing() -> None:
    data = tiny()
    chosen = taken(data, ("oboe", "s1.1", 0), ("viola", "s2.1", 0), ("cello", "s3.1", 0))
    takes = Takes(data, Prices(data, gather(data)).limits)
    found = list(near_misses(takes, chosen, 3, seed=1))
    kinds = {kind for kind, _ in found}
    expected = {"another player", "an octave moved", "a solo thickened", "quiet players filled in", "everybody doubles"}
    assert kinds == expected
    for kind, other in found:
        if kind in ("another player", "an octave moved"):
            assert len(other) == len(chosen)
            assert len(other & chosen) == len(chosen) - 1
        else:
            assert chosen < other
        assert Prices(data, gather(data)).broken(other) == []


def test_random_scorings_are_playable_and_as_full() -> None:
    data = tiny()
    chosen = taken(data, ("oboe", "s1.1", 0), ("viola", "s2.1", 0), ("cello", "s3.1", 0))
    prices = Prices(data, gather(data))
    found = list(scorings(Takes(data, prices.limits), chosen, 10, seed=1))
    assert len(set(found)) > 5
    assert all(prices.broken(other) == [] and len(other) == len(chosen) for other in found)


def test_what_must_hold_comes_before_what_it_costs() -> None:
    row = Row("a passage", "set", 1.0, 0.0, Counter(idiom=5), Counter(idiom=4), 0)
    assert not row.beats_fixed
    assert replace(row, fixed_broken=["third heard/bar 1"]).beats_fixed
    assert not replace(row, broken=["third heard/bar 1"], fixed=Counter(idiom=9)).beats_fixed
