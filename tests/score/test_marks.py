from __future__ import annotations

from dataclasses import replace

from autoorch.brief import parse_direction
from autoorch.layers.assigned import assigned
from autoorch.layers.model import Material, PhrasePlan
from autoorch.problem.draft import Choice, Draft
from autoorch.roles.model import Cue, Phrase
from autoorch.score.model import Score
from autoorch.score.realise import realise
from autoorch.sketch.model import Mark
from autoorch.tables import load_tables
from tests.support.hand import make_score, make_sketch, read_hand, whole
from tests.support.tiny import players


def marks(score: Score, part: int = 0, *kinds: str) -> list[tuple[int, int, str]]:
    """(bar from 0, tick, value)"""
    return [
        (k, d.onset, d.value)
        for k, m in enumerate(score.parts[part].measures)
        for d in m.directions
        if d.kind in (kinds or ("dynamic",))
    ]


QUIET = "C5:4 -:4 D5:4 -:4 -:4 E5:4 F5:4"


def test_a_dynamic_at_the_first_note_after_long_rests_and_at_changes() -> None:
    sketch = make_sketch([QUIET], marks=[Mark("dynamic", 0, 0, 0, "p"), Mark("dynamic", 24, 24, 0, "f")])
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])
    assert marks(score) == [(0, 0, "p"), (5, 0, "p"), (6, 0, "f")]


def test_without_dynamics_the_phrases_have_their_proposed_ones() -> None:
    sketch = make_sketch(["C5:4 D5:4 E5:4 F5:4"])
    reading = read_hand(sketch).with_(phrases=(Phrase(0, 8, dynamic="mp"), Phrase(8, 16, dynamic="f")))
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)], reading)
    assert marks(score) == [(0, 0, "mp"), (2, 0, "f")]


def test_a_change_under_a_held_note_stands_where_it_happens() -> None:
    sketch = make_sketch(["C5:8"], marks=[Mark("dynamic", 0, 0, 0, "p"), Mark("dynamic", 6, 6, 0, "f")])
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])
    assert marks(score) == [(0, 0, "p"), (1, 2, "f")]


def test_an_accented_dynamic_leaves_the_one_in_force() -> None:
    sketch = make_sketch(["C5:2 D5:2 E5:4"], marks=[Mark("dynamic", 0, 0, 0, "p"), Mark("dynamic", 2, 2, 0, "sfz")])
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])
    assert marks(score) == [(0, 0, "p"), (0, 2, "sfz")]


def test_hairpins_are_cut_to_what_a_player_plays_and_always_end() -> None:
    wedge = Mark("wedge", 0, 8, 0, "crescendo")
    sketch = make_sketch(["C5:4 D5:4 E5:4", "-:12"], marks=[wedge, Mark("dynamic", 8, 8, 0, "f")])
    lineup = players("flute", "oboe", "bassoon")
    choices = [
        whole(sketch, "flute", 1),
        Choice("oboe", "s1", ("s1.1",), 0, 4, 12),
        Choice("bassoon", "s1", ("s1.1",), -1, 8, 12),
    ]
    score = make_score(sketch, lineup, choices)
    assert marks(score, 0, "wedge") == [(0, 0, "crescendo"), (1, 4, "stop")]
    assert marks(score, 1, "wedge") == [(1, 0, "crescendo"), (1, 4, "stop")]
    assert marks(score, 2, "wedge") == []


def test_single_notes_have_a_hairpin_only_where_they_are_held_and_do_not_end_in_a_rest() -> None:
    wedge = Mark("wedge", 0, 8, 0, "crescendo")

    def hairpins(text: str, player: str = "flute", mark: Mark = wedge, techniques: tuple[str, ...] = ()) -> int:
        sketch = make_sketch([text], marks=[mark])
        choice = replace(whole(sketch, player, 1), techniques=techniques)
        return len(marks(make_score(sketch, players(player), [choice]), 0, "wedge"))

    falling = replace(wedge, value="diminuendo")
    assert hairpins("C5:8 D5:4") == 2
    assert hairpins("C5:1 -:3 -:4 D5:4") == 0
    assert hairpins("C5:4 -:4 D5:4") == 0
    assert hairpins("C5:4 -:4 D5:4", mark=falling) == 2
    assert hairpins("C5:1 -:3 D5:1 -:3 D5:4") == 2
    assert hairpins("C5:8 D5:4", "harp") == 0
    assert hairpins("C4:8 D4:4", "viola", techniques=("pizz",)) == 0
    assert hairpins("C4:8 D4:4", "viola") == 2


def test_swells_of_ours_are_for_those_who_sing_or_hold() -> None:
    swell = Mark("wedge", 0, 8, -1, "crescendo")
    sketch = make_sketch(["C5:4 D5:4 E5:8", "-:1 G4:1 -:1 G4:1 -:1 G4:1 -:1 G4:1 E4:8"])
    reading = read_hand(sketch)
    plan = tuple(PhrasePlan(p.start, p.end, 0.5, p.dynamic) for p in reading.phrases)
    lineup = players("flute", "clarinet_bb")
    draft = Draft((whole(sketch, "flute", 1), whole(sketch, "clarinet_bb", 2)))
    for material, expected in (
        (Material((), plan, swells=(swell,)), (2, 0)),
        (Material((), plan, marks=(swell,)), (2, 2)),
    ):
        score = realise(
            sketch, reading, replace(material, strands=assigned(sketch, reading, load_tables())), lineup, draft
        )
        assert tuple(len(marks(score, part, "wedge")) for part in (0, 1)) == expected


def test_a_hairpin_stops_for_a_rest_after_which_the_dynamic_is_said_again() -> None:
    wedge, first = Mark("wedge", 0, 24, 0, "crescendo"), Mark("dynamic", 0, 0, 0, "p")
    sketch = make_sketch(["C5:2 B4:2 -:12 D5:4 E5:4"], marks=[first, wedge])
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])
    assert marks(score, 0, "wedge") == [(0, 0, "crescendo"), (0, 4, "stop"), (4, 0, "crescendo"), (5, 4, "stop")]
    assert marks(score) == [(0, 0, "p"), (4, 0, "p")]
    short = make_sketch(["C5:4 -:1 D5:3 E5:4"], marks=[first, Mark("wedge", 0, 12, 0, "crescendo")])
    score = make_score(short, players("flute"), [whole(short, "flute", 1)])
    assert marks(score, 0, "wedge") == [(0, 0, "crescendo"), (2, 4, "stop")]


def test_inside_a_hairpin_nothing_else_is_said() -> None:
    sketch = make_sketch(["C5:4 D5:4 E5:4 F5:4"], marks=[Mark("wedge", 4, 12, 0, "crescendo")])
    reading = read_hand(sketch).with_(phrases=(Phrase(0, 8, dynamic="mp"), Phrase(8, 16, dynamic="f")))
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)], reading)
    assert marks(score, 0, "dynamic", "wedge") == [(0, 0, "mp"), (1, 0, "crescendo"), (2, 4, "stop"), (3, 0, "f")]


def test_tempo_and_letters_stand_once_on_top_and_words_with_who_plays_them() -> None:
    sketch = make_sketch(
        ["C5:4 D5:4", "C3:4 D3:4"],
        marks=[
            Mark("tempo", 0, 0, -1, "72", "Andante"), Mark("words", 0, 0, 0, "dolce"), Mark("words", 4, 4, 0, "rit."),
            Mark("rehearsal", 4, 4, -1, "A"), Mark("words", 4, 4, 1, "una corda"),
        ],
    )  # fmt: skip
    score = make_score(sketch, players("flute", "cello"), [whole(sketch, "flute", 1), whole(sketch, "cello", 2)])
    assert marks(score, 0, "tempo", "words", "rehearsal") == [
        (0, 0, "72"), (0, 0, "dolce"), (1, 0, "A"), (1, 0, "rit."),
    ]  # fmt: skip
    assert marks(score, 1, "tempo", "words", "rehearsal") == []


def test_words_that_ask_for_players_are_not_for_the_players() -> None:
    sketch = make_sketch(["C5:4 D5:4"], marks=[Mark("words", 0, 0, 0, "2 Fl"), Mark("words", 4, 4, 0, "Fl. espr.")])
    wish = (parse_direction("melody prefer Flute"),)
    odd, done, told = (
        Cue(0, sketch.end, 0, "2 Fl"),
        Cue(0, 4, 0, "2 Fl", wish),
        Cue(4, sketch.end, 0, "Fl. espr.", wish),
    )

    def written(*cues: Cue) -> list[tuple[int, int, str]]:
        reading = read_hand(sketch).with_(cues=cues)
        return marks(make_score(sketch, players("flute"), [whole(sketch, "flute", 1)], reading), 0, "words")

    assert written() == written(odd, told) == [(0, 0, "2 Fl"), (1, 0, "Fl. espr.")]
    assert written(done, told) == [(1, 0, "Fl. espr.")], "what is for the player stays"
    assert written(replace(odd, weight=1.0), told) == [(1, 0, "Fl. espr.")], "nor what says how much is to sound"


def test_words_at_a_bare_metronome_mark_are_its_own() -> None:
    """As programs write them that give words and number a direction each."""
    apart = [Mark("tempo", 0, 0, -1, "76"), Mark("words", 0, 0, 0, "Andante"), Mark("words", 0, 0, 0, "dolce")]
    sketch = make_sketch(["C5:4 D5:4"], marks=apart)
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])
    found = [
        (d.kind, d.value, d.text) for m in score.parts[0].measures for d in m.directions if d.kind in ("tempo", "words")
    ]
    assert found == [("tempo", "76", "Andante"), ("words", "dolce", "")]


def test_without_a_tempo_the_readings_one_stands() -> None:
    sketch = make_sketch(["C5:4"])
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])
    assert marks(score, 0, "tempo") == [(0, 0, "100")]


def test_sections_are_told_when_they_divide() -> None:
    sketch = make_sketch(["E5:4 F5:4 G5:4 A5:4 B5:4", "C5:4 D5:4 E5:4 F5:4 G5:4"])
    choices = [
        Choice("violin", "s1", ("s1.1",), 0, 0, 4),
        Choice("violin", "s1", ("s1.1", "s2.1"), 0, 4, 12),
        Choice("violin", "s1", ("s1.1",), 0, 12, 16),
        Choice("violin", "s1", ("s1.1",), 0, 16, 20, share=6),
    ]
    score = make_score(sketch, players("violin"), choices)
    assert marks(score, 0, "words") == [(1, 0, "div."), (3, 0, "unis."), (4, 0, "half")]
    solo = make_score(sketch, players("violin", size=1), choices)
    assert marks(solo, 0, "words") == [], "double stops need no word"


def test_a_finer_grid_of_the_score_moves_no_mark() -> None:
    """The same music in 4/4 and in 8/8, which needs a grid twice as fine: dynamics, hairpins, words, letters, held changes."""
    said = [
        Mark("dynamic", 0, 0, 0, "p"), Mark("wedge", 4, 10, 0, "crescendo"), Mark("dynamic", 10, 10, 0, "f"),
        Mark("dynamic", 18, 18, 0, "p"), Mark("words", 5, 5, 0, "dolce"), Mark("words", 13, 13, 0, "rit."),
        Mark("rehearsal", 8, 8, -1, "A"), Mark("tempo", 16, 16, -1, "60"),
    ]  # fmt: skip
    placed = {}
    for metre, finer in (((4, 4), 1), ((8, 8), 2)):
        sketch = make_sketch(["C5:4 D5:1 E5:3 F5:2 G5:2 A5:1 B5:3 C6:8 -:16 C5:4"], metre=metre, marks=said)
        reading = read_hand(sketch).with_(phrases=(Phrase(0, 24, dynamic="mp"), Phrase(24, sketch.end, dynamic="pp")))
        score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)], reading)
        assert score.ticks == finer
        kinds = ("dynamic", "wedge", "words", "rehearsal", "tempo")
        placed[finer] = [(bar, tick / finer, value) for bar, tick, value in marks(score, 0, *kinds)]
    assert placed[1] == placed[2]
    dynamics = [(0, 0, "p"), (2, 2, "f"), (4, 2, "p"), (10, 0, "pp")]
    assert [mark for mark in placed[1] if mark[2] in ("p", "f", "mp", "pp")] == dynamics
    assert (1, 0, "crescendo") in placed[1] and (2, 2, "stop") in placed[1]


def test_a_first_tempo_at_the_first_full_bar_holds_for_the_pickup_and_a_later_one_does_not() -> None:
    for bar, first in ((1, [(0, 0, "72")]), (2, [(0, 0, "100"), (2, 0, "72")])):
        tick = 1 + 4 * (bar - 1)
        sketch = make_sketch(
            ["G4:1 C5:4 D5:4 E5:4"], pickup="1", marks=[Mark("tempo", tick, tick, -1, "72", "Andante")]
        )
        score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])
        assert marks(score, 0, "tempo") == first
    sketch = make_sketch(["C5:4 D5:4"], marks=[Mark("tempo", 4, 4, -1, "72")])
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])
    assert marks(score, 0, "tempo") == [(0, 0, "100"), (1, 0, "72")], "a first bar that is whole is no pickup"


def test_words_of_one_staff_are_for_who_plays_from_it() -> None:
    said = [Mark("words", 0, 0, 0, "dolce"), Mark("words", 0, 0, 1, "marcato"), Mark("words", 2, 2, 1, "espr.")]
    sketch = make_sketch(["C5:4 D5:4", "C3:4 D3:4"], marks=said)
    score = make_score(sketch, players("flute", "cello"), [whole(sketch, "flute", 1), whole(sketch, "cello", 2)])
    assert marks(score, 0, "words") == [(0, 0, "dolce")]
    assert marks(score, 1, "words") == [(0, 0, "marcato")], "nor where nothing is struck"
