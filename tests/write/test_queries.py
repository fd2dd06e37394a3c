"""queries.txt: directions, fates, additions, what is ours, who plays and who has nothing to play."""

from __future__ import annotations

from dataclasses import replace

from autoorch.lineup import parse_lineup
from autoorch.problem.draft import Added, Choice, Draft, Fate, Verdict
from autoorch.roles.model import Phrase
from autoorch.score.desks import desks
from autoorch.sketch.model import Mark
from autoorch.tables import load_tables
from autoorch.write.front import instrumentation
from autoorch.write.queries import IDLE, idle, queries, told
from tests.support.hand import make_score, make_sketch, read_hand, whole
from tests.support.tiny import line, players


def lines(draft: Draft, nearly: tuple[str, ...] = (), **changes: object) -> list[str]:
    """The text for a flute that plays four bars of two notes each."""
    marks = [Mark("tempo", 0, 0, -1, "90"), Mark("dynamic", 0, 0, 0, "p")]
    sketch = make_sketch(["C5:2 D5:2 E5:2 F5:2 G5:2 A5:2 B5:2 C6:2"], marks=marks)
    reading = read_hand(sketch).with_(
        tempo_proposed=False, phrases=(Phrase(0, sketch.end, dynamic="p", dynamic_proposed=False),)
    )
    reading = reading.with_(**changes)
    fates = draft.fates or tuple(Fate(note.id, "copied", ("flute",)) for note in sketch.notes)
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)], reading)
    made = replace(draft, fates=fates)
    ours = {"pad1.1": line("pad1.1", "C4 D4 E4 F4"), "touch1.1": line("touch1.1", "- - C5")}
    return queries(sketch, score, told(sketch, reading, made, score, options=nearly, lines=ours)).decode().splitlines()


def test_nothing_to_ask() -> None:
    assert lines(Draft(())) == [
        "Untitled", "", "Line-up", "  Woodwind: Flute", "",
        "Nothing to ask: every note of the sketch is in the score at its own pitch.",
    ]  # fmt: skip


def test_who_has_nothing_to_play_is_told_and_that_is_no_question() -> None:
    sketch = make_sketch(["C5:4"])
    score = make_score(sketch, players("flute", "oboe"), [whole(sketch, "flute", 1)])
    made = Draft((), tuple(Fate(note.id, "copied", ("flute",)) for note in sketch.notes))
    reading = read_hand(sketch).with_(tempo_proposed=False, phrases=())
    said = told(sketch, reading, made, score)
    assert said == ((IDLE, ("Oboe",)),)
    text = queries(sketch, score, said).decode()
    assert "Nothing to ask" in text and "Nothing to play\n  Oboe\n" in text


def test_what_became_of_each_direction_stands_first() -> None:
    verdicts = (Verdict("melody: must Flute", "kept"), Verdict("bass: prefer Tuba", "bent", "kept in 60% of it"))
    told = lines(Draft((), verdicts=verdicts))
    place = told.index("Directions")
    assert told[place + 1 : place + 4] == [
        "  kept: melody: must Flute", "  bent: bass: prefer Tuba (kept in 60% of it)", "",
    ]  # fmt: skip
    assert told[-1].startswith("Nothing to ask")


def test_notes_with_one_fate_stand_together() -> None:
    kinds = ["octave moved"] * 2 + ["copied"] * 4 + ["octave moved", "dropped"]
    fates = tuple(
        Fate(f"a{k}", kind, () if kind == "dropped" else ("flute",), "no player" if kind == "dropped" else "")
        for k, kind in enumerate(kinds)
    )
    up = Choice("flute", "s1", ("s1.1",), 1, 0, 4), Choice("flute", "s1", ("s1.1",), -2, 4, 16)
    told = lines(Draft(up, fates))
    assert told[told.index("Left out") + 1] == "  bar 4, beat 3: C6 (dropped: no player)"
    assert told[told.index("Moved by octaves") + 1 :] == [
        "  bar 1: C5 D5 (flute, an octave up)", "  bar 4, beat 1: B5 (flute, 2 octaves down)",
    ]  # fmt: skip


def test_what_is_added_says_why_and_who_plays_it() -> None:
    choices = tuple(Choice(name, "pad1", ("pad1.1",), 0, 0, 16) for name in ("horn 1", "horn 2"))
    choices += (Choice("triangle", "touch1", ("touch1.1",), 0, 0, 16),)
    added = Added("pad1", "harmony", "held chords for horns"), Added("touch1", "finish", "triangle: hit in bar 3")
    told = lines(Draft(choices, added=added))
    start = told.index("Added by the draft")
    assert told[start + 1 : start + 3] == [
        "  bars 1-4: held chords for horns (horn 1, horn 2)", "  bar 3: triangle: hit in bar 3 (triangle)",
    ], "by what sounds, not by the span"  # fmt: skip


def test_options_stand_last_even_where_nothing_is_asked() -> None:
    told = lines(Draft(()), ("bar 1, melody: Oboe for Flute: 3 more than 70",))
    assert told[-4].startswith("Nothing to ask") and told[-3] == ""
    assert told[-2].startswith("Options") and told[-1] == "  bar 1, melody: Oboe for Flute: 3 more than 70"


def test_what_is_ours_is_named() -> None:
    told = lines(Draft(()), tempo_proposed=True, phrases=(Phrase(0, 8, dynamic="mp"), Phrase(8, 16, dynamic="f")))
    start = told.index("Ours, to be confirmed")
    assert told[start + 1 :] == [
        "  tempo: 100 quarters a minute", "  dynamic: mp in bars 1-2", "  dynamic: f in bars 3-4", "  breath marks: Flute",
    ]  # fmt: skip


def test_the_line_up_page_names_doublings_keys_and_strings() -> None:
    lineup = parse_lineup("romantic", load_tables())
    told = instrumentation(make_score(make_sketch(["C5:4"]), lineup, []))
    assert told[0] == (
        "Woodwind: 3 Flutes (3rd also Piccolo), 3 Oboes (3rd also Cor Anglais), 3 Clarinets in B♭ "
        "(3rd also Bass Clarinet in B♭), 3 Bassoons (3rd also Contrabassoon)"
    )
    assert told[1] == "Brass: 4 Horns in F, 3 Trumpets in B♭, 2 Trombones, Bass Trombone, Tuba"
    assert told[2] == "Percussion: Timpani, 3 percussion players"
    assert told[-1] == "Strings: 16 Violins I, 14 Violins II, 12 Violas, 10 Violoncellos, 8 Double basses"


def test_who_rests_throughout_is_named_once() -> None:
    sketch = make_sketch(["C5:4 D5:4"])
    lineup = parse_lineup("2 fl, 2 perc, str", load_tables())
    drummer = next(p for p in lineup.players if p.name == "Percussion 1")
    choices = [whole(sketch, "Flute 1", 1), replace(whole(sketch, drummer.name, 1), instrument="triangle")]
    rest = ("Flute 2", "Percussion 2", "Violin I", "Violin II", "Viola", "Violoncello", "Double Bass")
    assert idle(make_score(sketch, lineup, choices)) == rest


def test_percussion_that_is_used_is_named() -> None:
    lineup = parse_lineup("romantic", load_tables())
    sketch = make_sketch(["C5:4"])
    drummer = next(p for p in lineup.players if p.name == "Percussion 1")
    choice = replace(whole(sketch, "Percussion 1", 1), instrument="triangle")
    assert [player.name for player, _ in desks(drummer, [choice])] == ["Percussion 1: Triangle"]
    told = instrumentation(make_score(sketch, lineup, [choice]))
    assert told[2] == "Percussion: Timpani, 3 percussion players (Triangle)"
