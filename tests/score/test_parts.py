"""Players' own pages: one file a player, long rests as one, cues before entries, turns in rests."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

from lxml import etree

from autoorch.lineup import Lineup
from autoorch.score.model import Score
from autoorch.score.notation import notation
from autoorch.score.parts import parts_of
from autoorch.sketch.model import Mark
from autoorch.write.musicxml import write_musicxml
from tests.support.hand import make_score, make_sketch, whole
from tests.support.readback import notes_music21, notes_of, notes_partitura, same
from tests.support.schema import schema_errors
from tests.support.tiny import players

TUNE = "C5:1 D5:1 E5:1 F5:1 " * 12
LATE = "-:4 " * 10 + "G4:2 A4:2 G4:4 "
MARKS = [Mark("tempo", 0, 0, -1, "80", "Andante"), Mark("rehearsal", 16, 16, -1, "A"), Mark("words", 40, 40, 0, "rit.")]


def score() -> Score:
    """A flute that plays all along, a horn in F that enters in bar 11, a drum that rests."""
    sketch = make_sketch([TUNE, LATE], marks=MARKS)
    choices = [whole(sketch, "flute", 1), whole(sketch, "horn", 2)]
    return make_score(sketch, players("flute", "horn", "triangle"), choices)


def page(own: Score) -> etree._Element:
    file = io.BytesIO()
    write_musicxml(own, file)
    return etree.fromstring(file.getvalue())


def test_each_player_has_a_part_with_the_scores_bars_letters_and_tempo() -> None:
    found = parts_of(score())
    assert [own.heading for own in found] == ["Flute", "Horn in F", "Triangle"]
    for own in found:
        root = page(own)
        assert [m.get("number") for m in root.iter("measure")] == [str(k) for k in range(1, 13)]
        assert [r.text for r in root.iter("rehearsal")] == ["A"]
        assert root.findtext(".//per-minute") == "80"
        assert [w.text for w in root.iter("words") if w.text == "rit."] == ["rit."]


def test_long_rests_are_one_and_stop_at_what_everybody_must_see() -> None:
    horn, drum = parts_of(score())[1:]
    assert [(k + 1, m.rests) for k, m in enumerate(horn.parts[0].measures) if m.rests] == [(1, 4), (5, 4)]
    assert [(k + 1, m.rests) for k, m in enumerate(drum.parts[0].measures) if m.rests] == [(1, 4), (5, 6), (11, 2)]
    root = page(drum)
    fifth = root.findall(".//measure")[4]
    tags = [child.tag for child in fifth]
    assert tags.index("direction") < tags.index("attributes"), "some readers leave out what follows a long rest's sign"
    assert fifth.findtext(".//multiple-rest") == "6"


def test_an_entry_after_a_long_rest_has_a_cue_in_the_readers_own_pitch() -> None:
    assert (notation().cues["after_bars"], notation().cues["bars"]) == (6, 2)
    horn = parts_of(score())[1].parts[0]
    cued = [k for k, m in enumerate(horn.measures) if any(e.cue for v in m.voices for e in v)]
    assert cued == [8, 9], "the last two bars of the rest"
    first = horn.measures[8]
    assert [str(e.heads[0].written) for e in first.voices[0]] == ["G4", "A4", "B4", "C5"], "a fifth up, an octave down"
    assert [d.value for d in first.directions] == ["Fl."]
    assert not any(e.heads for e in first.voices[1]), "and the player's own rest"
    notes = page(parts_of(score())[1]).findall(".//note[cue]")
    assert len(notes) == 8 and all(n.find("tie") is None and n.find("type").get("size") == "cue" for n in notes)  # type: ignore[union-attr]


def test_a_short_rest_and_who_never_enters_have_no_cue() -> None:
    sketch = make_sketch([TUNE, "G4:4 " + "-:4 " * 4 + "A4:4 "])
    made = make_score(sketch, players("flute", "horn"), [whole(sketch, "flute", 1), whole(sketch, "horn", 2)])
    found = parts_of(made)
    assert len(found) == 2
    for own in found:
        assert not any(e.cue for m in own.parts[0].measures for v in m.voices for e in v)


def late(*instruments: str) -> Score:
    """A flute that plays all along, others that enter in bar 11."""
    sketch = make_sketch([TUNE, LATE])
    choices = [whole(sketch, "flute", 1), *(whole(sketch, name, 2) for name in instruments)]
    return make_score(sketch, players("flute", *instruments), choices)


def test_a_drummer_is_cued_by_the_rhythm_on_his_line_and_a_harpist_on_the_upper_staff(tmp_path: Path) -> None:
    for name in ("triangle", "harp"):
        own = parts_of(late(name))[1]
        path = tmp_path / f"{name}.musicxml"
        with path.open("wb") as file:
            write_musicxml(own, file)
        assert schema_errors(path) == []
        notes = etree.parse(path).findall(".//note[cue]")
        assert [n.findtext("type") for n in notes] == ["quarter"] * 8
        assert {n.findtext("staff") for n in notes} == ({"1"} if name == "harp" else {None})
        assert {n.find("unpitched") is None for n in notes} == {name == "harp"}
        assert same(notes_of(own), notes_music21(path)) == []
        assert [m.rests for m in own.parts[0].measures] == [8, *[0] * 11]


def test_all_staves_of_a_percussionist_rest_as_one_and_have_one_cue(tmp_path: Path) -> None:
    made = late("triangle", "snare_drum")
    named = [replace(p.player, name=f"Percussion 1: {p.name}") for p in made.parts[1:]]
    drums = [replace(p, player=player, seat="Percussion 1") for p, player in zip(made.parts[1:], named, strict=True)]
    own = parts_of(replace(made, parts=(made.parts[0], *drums)))[1]
    assert [part.name for part in own.parts] == ["Triangle", "Snare Drum"]
    for part, cued in zip(own.parts, (8, 0), strict=True):
        assert [m.rests for m in part.measures] == [8, *[0] * 11]
        assert sum(e.cue for m in part.measures for v in m.voices for e in v) == cued
    path = tmp_path / "part.musicxml"
    with path.open("wb") as file:
        write_musicxml(own, file)
    assert schema_errors(path) == []
    assert same(notes_of(own), notes_music21(path)) == []


def test_bars_under_an_ending_are_written_one_by_one() -> None:
    made = score()
    ends = {8: (1,), 9: (1,), 10: (2,)}
    bars = tuple(replace(bar, endings=ends.get(bar.index, ())) for bar in made.bars)
    drum = parts_of(replace(made, bars=bars))[2].parts[0]
    assert [(k + 1, m.rests) for k, m in enumerate(drum.measures) if m.rests] == [(1, 4), (5, 4)]


def test_parts_are_valid_and_read_back_the_players_notes(tmp_path: Path) -> None:
    whole_score = score()
    for number, own in enumerate(parts_of(whole_score)[:2]):
        path = tmp_path / f"{number}.musicxml"
        with path.open("wb") as file:
            write_musicxml(own, file)
        assert schema_errors(path) == []
        bare = replace(own, parts=(whole_score.parts[number],))
        played = notes_of(bare)
        if number == 0:
            assert same(played, notes_music21(path)) == []
            assert same(notes_of(bare, written=True), notes_partitura(path)) == []
        else:
            cued = notes_of(own)[0] - played[0]
            assert sum(cued.values()) == 8
            assert same([played[0] + cued], notes_music21(path)) == []


def test_a_part_with_nothing_to_play_says_so() -> None:
    made = score()
    told = [[w.text for w in page(own).iter("words")] for own in parts_of(made)]
    silent = [not any(e.heads for m in p.measures for v in m.voices for e in v) for p in made.parts]
    assert set(silent) == {True, False}
    assert ["tacet" in words for words in told] == silent


def test_pages_turn_where_the_player_rests() -> None:
    busy, rest = "C5:1/4 D5:1/4 E5:1/4 F5:1/4 " * 4, "-:4 " * 2
    sketch = make_sketch([(busy * 11 + rest) * 5])
    made = make_score(sketch, players("violin"), [whole(sketch, "violin", 1)])
    turns = [k for k, m in enumerate(parts_of(made)[0].parts[0].measures) if m.turn]
    assert turns and all(k % 13 in (0, 11) for k in turns), "only where two bars of rest begin or end"
    assert [p.get("new-page") for p in page(parts_of(made)[0]).iter("print")] == ["yes"] * len(turns)


def test_a_percussionists_staves_make_one_part() -> None:
    sketch = make_sketch([TUNE, "C4:4"])
    one, two = (p for p in players("triangle", "snare_drum").players)
    drummer = replace(one, name="Percussion 1", doubles=(two.instrument,))
    wanted = [whole(sketch, drummer.name, 1), replace(whole(sketch, drummer.name, 2), instrument="snare_drum")]
    made = make_score(sketch, Lineup("one", (drummer,)), wanted)
    (own,) = parts_of(made)
    assert (own.heading, len(own.parts)) == ("Percussion 1", 2)
    assert [w.text for w in page(own).iter("credit-words")] == ["Percussion 1"]


def test_a_percussionist_with_one_staff_keeps_the_name() -> None:
    sketch = make_sketch([TUNE])
    one, two = players("triangle", "snare_drum").players
    drummer = replace(one, name="Percussion 2", doubles=(two.instrument,))
    (own,) = parts_of(make_score(sketch, Lineup("one", (drummer,)), [whole(sketch, drummer.name, 1)]))
    assert (own.heading, own.parts[0].name) == ("Percussion 2", "Triangle")


def test_players_whose_names_begin_alike_have_parts_of_their_own() -> None:
    seats = players("flute", "oboe")
    named = [replace(player, name=f"Solo: {player.name}") for player in seats.players]
    sketch = make_sketch([TUNE, TUNE])
    wanted = [whole(sketch, player.name, k) for k, player in enumerate(named, 1)]
    found = parts_of(make_score(sketch, Lineup("named", tuple(named)), wanted))
    assert [len(own.parts) for own in found] == [1, 1]
    assert [own.heading for own in found] == [own.parts[0].name for own in found]


def test_many_like_strings_are_numbered() -> None:
    names = ["violin"] * 6
    made = make_score(make_sketch([TUNE]), players(*names, size=1), [])
    assert [part.name.rpartition(" ")[2] for part in made.parts] == ["I", "II", "III", "IV", "V", "VI"]
