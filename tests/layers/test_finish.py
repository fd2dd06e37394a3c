"""Touches of the last layer: each for a moment that calls for it, inside what hands can do."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import pytest

from autoorch.brief import parse_brief
from autoorch.errors import BriefError
from autoorch.instruments import DYNAMICS
from autoorch.layers.beats import beats
from autoorch.layers.cue import Cue
from autoorch.layers.finish import finish, wanted
from autoorch.layers.model import MaterialStrand
from autoorch.layers.plan import make_plan
from autoorch.layers.touches import chime, close, run, sweep
from autoorch.lineup import parse_lineup
from autoorch.problem.feasible import pedals
from autoorch.problem.profile import profile
from autoorch.roles import read_roles
from autoorch.roles.model import Moment
from autoorch.sketch import read_sketch
from autoorch.tables import load_tables

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PIECES = ("paper-boats-march", "lighthouse-waltz", "harbour-snow-cue")
TABLES = load_tables()
HARD = TABLES.rule("playability")


@lru_cache(maxsize=16)
def cue(piece: str, brief: str = "", lineup: str = "studio") -> Cue:
    sketch = read_sketch(EXAMPLES / piece / "sketch.musicxml")
    reading, asked, players = read_roles(sketch), parse_brief(brief), parse_lineup(lineup, TABLES)
    plan = make_plan(sketch, reading, players, asked, TABLES)
    return Cue(sketch, reading, plan, players, asked, TABLES)


@lru_cache(maxsize=16)
def touches(piece: str, brief: str = "", lineup: str = "studio") -> tuple[MaterialStrand, ...]:
    return finish(cue(piece, brief, lineup))


@pytest.mark.parametrize("piece", PIECES)
def test_each_touch_names_its_moment(piece: str) -> None:
    found = touches(piece)
    assert found
    kinds = {moment.kind for moment in cue(piece).moments}
    for strand in found:
        assert strand.layer == "finish" and strand.families
        if strand.id != "timp1" and not strand.id.startswith(("beat", "close")):
            assert strand.reason.split(": ")[1].split(" in bar ")[0] in kinds


@pytest.mark.parametrize("piece", PIECES)
def test_lines_are_one_note_at_a_time_inside_the_cue(piece: str) -> None:
    for strand in touches(piece):
        for line in strand.lines:
            assert all(note.duration > 0 or note.grace for note in line.notes)
            assert all(first.end <= second.onset for first, second in pairwise(line.notes))
            assert line.notes[0].onset >= 0 and line.notes[-1].end <= cue(piece).sketch.end


@pytest.mark.parametrize("piece", PIECES)
def test_touches_of_one_kind_lie_apart(piece: str) -> None:
    here = cue(piece)
    for touch in TABLES.rule("finish")["touch"]:
        bars = [here.sketch.bar_at(m.onset).index for m in wanted(here, touch, touch["least"])]
        assert all(b - a >= touch["apart"] for a, b in pairwise(bars))
        assert len(bars) <= max(1, round(touch["most"] * len(here.sketch.bars) / 32))


@pytest.mark.parametrize("piece", PIECES)
def test_the_harp_has_one_pedal_setting_a_touch(piece: str) -> None:
    here = cue(piece)
    harp = [s for s in touches(piece) if s.families == ("harp",)]
    assert harp
    assert all(
        pedals([profile(line.notes, here.sketch.end, here.tempo.seconds, HARD) for line in strand.lines]) is not None
        for strand in harp
    )


def test_a_moment_of_the_brief_is_marked_where_it_stands() -> None:
    """Bar 4 of the march is loud, bar 20 soft: a hit there is a clash, here a triangle."""
    brief = '[[moment]]\nbar = 4\nbeat = 2\nkind = "hit"\n[[moment]]\nbar = 20\nkind = "hit"\n'
    sketch = cue("paper-boats-march").sketch
    hits = [s for s in touches("paper-boats-march", brief) if ": hit in " in s.reason]
    loud = sketch.bars[3].onset + sketch.ticks
    assert {s.texture for s in hits if s.lines[0].notes[0].onset == loud} == {"cymbal clash", "bass drum", "brass stab"}
    assert {s.texture for s in hits if s.lines[0].notes[0].onset > loud} == {"triangle"}
    assert {s.reason for s in hits if s.texture == "triangle"} == {"triangle: hit in bar 20"}


def test_a_moment_in_no_bar_is_an_error() -> None:
    with pytest.raises(BriefError, match="no bar 99"):
        touches("paper-boats-march", '[[moment]]\nbar = 99\nkind = "hit"\n')


def test_what_begins_with_an_upbeat_is_struck_on_its_bar_line() -> None:
    """The waltz's bars 17 and 25 come in with a crotchet: harp and triangle wait for the bar line, as a leap down to an upbeat is
    no leap at all."""
    here = cue("lighthouse-waltz", lineup="romantic")
    upbeats = {p.start for p in here.plan if p.start != here.sketch.bar_at(p.start).onset}
    assert upbeats & {m.onset for m in here.moments if m.kind == "arrival"}
    assert upbeats & {m.onset for m in here.moments if m.kind == "leap"}
    struck = [
        s
        for s in touches("lighthouse-waltz", lineup="romantic")
        if ": arrival in " in s.reason or ": leap in " in s.reason
    ]
    assert struck and not upbeats & {s.lines[0].notes[0].onset for s in struck}


@pytest.mark.parametrize(("place", "struck"), [((44, 3), 43), ((43, 1), 43), ((42, 2), 42), ((30, 2), None)])
def test_a_climax_is_struck_where_its_loudness_begins_and_at_the_peak_alone(
    place: tuple[int, int], struck: int | None
) -> None:
    """The waltz's peak is the phrase of bars 41 to 44, loud from bar 43 on; bar 30 is loud and no peak."""
    here = cue("lighthouse-waltz", lineup="romantic")
    bars = {bar.number: bar.onset for bar in here.sketch.bars}
    tick = bars[str(place[0])] + (place[1] - 1) * here.sketch.ticks
    top = replace(here, reading=replace(here.reading, moments=(Moment(tick, "climax", 1.0, ""),)))
    touch = next(row for row in TABLES.rule("finish")["touch"] if row["id"] == "harp glissando")
    assert [m.onset for m in wanted(top, touch, touch["least"])] == ([] if struck is None else [bars[str(struck)]])
    asked = replace(top, brief=parse_brief(f'[[moment]]\nbar = {place[0]}\nbeat = {place[1]}\nkind = "climax"\n'))
    assert [m.onset for m in wanted(asked, touch, touch["least"])] == [tick]


def test_what_is_heavy_is_for_where_much_sounds() -> None:
    here = cue("lighthouse-waltz", lineup="romantic")
    at = next(p for p in here.plan if p.peak).turns[0].start
    called = TABLES.rule("moments")["kind"]["climax"]["finish"]
    heavy = [row for row in TABLES.rule("finish")["touch"] if "weight" in row and row["id"] in called]
    assert {"cymbal clash", "bass drum", "cymbal swell"} <= {row["id"] for row in heavy}
    top = replace(here, reading=replace(here.reading, moments=(Moment(at, "climax", 1.0, ""),)))
    for row in heavy:
        if here.dynamic_at(at) in row["dynamics"] and "dance" in row.get("characters", ("dance",)):
            assert wanted(top, row, row["least"])
            assert not wanted(top, {**row, "weight": 1.1}, row["least"])


def test_nothing_leads_into_the_beginning_of_a_cue() -> None:
    """An upbeat of a full bar leaves time for a run before the first bar line, and there is nothing to run from."""
    here = cue("paper-boats-march")
    first = here.plan[0].start
    moments = (Moment(first, "arrival", 1.0), *(m for m in here.reading.moments if m.kind != "arrival"))
    early = replace(here, reading=here.reading.with_(moments=moments))
    row = next(t for t in TABLES.rule("finish")["touch"] if t["id"] == "woodwind run")
    chord = next(t for t in TABLES.rule("finish")["touch"] if t["id"] == "harp chord")
    anywhere = {"dynamics": list(DYNAMICS), "characters": []}
    assert not [m for m in wanted(early, {**row, **anywhere}, 0.0) if m.kind == "arrival"]
    assert [m for m in wanted(early, {**chord, **anywhere}, 0.0) if m.kind == "arrival"]


def test_a_run_has_more_than_a_few_notes() -> None:
    """Where hands allow few notes in the time there is none; where the grid has no room, they are small ones before the beat."""
    here = cue("lighthouse-waltz", lineup="romantic")
    row = next(t for t in TABLES.rule("finish")["touch"] if t["shape"] == "sweep")
    arrivals = [Moment(note.onset, "arrival", 1.0) for note in here.tune]
    some = {**row, "fewest": 4}
    quick = [lines for moment in arrivals if (lines := sweep(here, some, moment, "x"))]
    assert quick and all(len(lines[0]) >= 4 for lines in quick)
    assert not any(sweep(here, {**some, "per_s": 1.5}, moment, "x") for moment in arrivals)
    small = [(moment, lines[0]) for moment in arrivals if (lines := sweep(here, row, moment, "x"))]
    assert small
    for moment, line in small:
        *graces, landing = line
        tune = here.tune_at(moment.onset)
        assert all(note.grace and not note.duration and note.onset == moment.onset for note in graces)
        assert row["fewest"] <= len(graces) <= row["small"], "four quavers are no glissando"
        assert [n.pitch.midi for n in line] == sorted(n.pitch.midi for n in line) and landing.pitch.midi <= row["high"]
        assert tune is not None and (landing.pitch.midi - tune.pitch.midi) % 12 == 0
        assert pedals([profile(line, landing.end, lambda tick: tick / 8, HARD)]) is not None, (
            "one setting of the pedals"
        )


def test_most_strokes_fall_on_moments() -> None:
    """Percussion in the cues that neither dance nor march: each stroke stands at a moment, or leads to one and lands there."""
    struck: list[bool] = []
    for piece in ("harbour-snow-cue", "clockmaker-ostinato", "stone-chapel-chorale"):
        here = cue(piece)
        ticks = {moment.onset for moment in here.moments} | {
            here.sketch.bar_at(m.onset).end for m in here.moments if m.kind in ("arrival", "key")
        }
        for strand in touches(piece):
            if {here.tables.instruments[name].family for name in strand.families} != {"percussion"}:
                continue
            for line in strand.lines:
                struck += [bool({note.onset, note.end} & ticks) for note in line.notes]
    assert len(struck) >= 10 and sum(struck) > len(struck) / 2


def test_what_runs_through_stops_short_of_a_phrase_that_grows_beyond_it() -> None:
    """The waltz's bars 41 to 44 come to a fortissimo, where a triangle is not heard and its player has cymbals to take up."""
    here = cue("lighthouse-waltz", lineup="romantic")
    crested = next(p for p in here.plan if "ff" in {turn.dynamic for turn in p.turns})
    fullest = replace(crested, weight=1.0)
    grows, level = (
        replace(here, plan=tuple(phrase if p is crested else p for p in here.plan))
        for phrase in (fullest, replace(fullest, turns=()))
    )
    for one, runs in ((grows, False), (level, True)):
        found = [s for s in beats(one) if s.families == ("triangle",)]
        assert found and any(crested.start <= s.lines[0].notes[0].onset < crested.end for s in found) is runs


def test_an_instrument_that_runs_through_gets_no_stroke_besides() -> None:
    found = touches("lighthouse-waltz", lineup="romantic")
    running = [s for s in found if s.id.startswith("beat") and "triangle" in s.families]
    strokes = [s.lines[0].notes[0].onset for s in found if s.texture == "triangle"]
    assert running and not any(
        s.lines[0].notes[0].onset <= t < s.lines[0].notes[-1].end for s in running for t in strokes
    )


def test_under_dialogue_nothing_strikes() -> None:
    found = touches("paper-boats-march", 'under = "dialogue"\n')
    allowed = set(TABLES.rule("finish")["under"])
    assert {s.texture for s in found if not s.id.startswith("timp")} <= allowed


def test_who_is_not_booked_is_not_asked() -> None:
    names = {name for s in touches("paper-boats-march", lineup="string orchestra") for name in s.families}
    assert names <= {"violin", "viola", "cello"}


@pytest.mark.parametrize("split", [2, 99])
def test_a_long_run_is_shared_out_and_every_run_lands_on_the_tune(split: int) -> None:
    here = cue("harbour-snow-cue")
    row = next(t for t in TABLES.rule("finish")["touch"] if t["id"] == "woodwind run")
    found = [lines for m in wanted(here, row, row["least"]) if (lines := run(here, {**row, "split": split}, m, "x"))]
    assert found
    for lines in found:
        assert len(lines) == (2 if split == 2 else 1)
        first, second = lines[-1], lines[0]
        assert split == 99 or first[-1].onset == second[0].onset, "both have the note where they meet"
        landing = second[-1]
        tune = here.tune_at(landing.onset)
        assert tune is not None and (landing.pitch.midi - tune.pitch.midi) % 12 == 0
        pitches = [note.pitch.midi for line in reversed(lines) for note in line]
        assert pitches == sorted(pitches)


def test_a_run_into_a_phrase_ends_before_it_and_none_goes_over_a_joint() -> None:
    """Bar 5 of the march begins a phrase; the waltz's bar 17 begins one with an upbeat, in which the run would lie."""
    row = next(t for t in TABLES.rule("finish")["touch"] if t["id"] == "woodwind run")
    march = cue("paper-boats-march")
    (moment,) = (m for m in wanted(march, row, row["least"]) if m.kind == "arrival")
    assert march.plan_at(moment.onset).start == moment.onset
    assert {line[-1].end for line in run(march, {**row, "split": 99}, moment, "x")} == {moment.onset}
    waltz = cue("lighthouse-waltz")
    (moment,) = (m for m in wanted(waltz, row, row["least"]) if m.kind == "arrival")
    assert waltz.plan_at(moment.onset).start < moment.onset
    (line,) = run(waltz, row, moment, "x")
    assert all(note.onset >= waltz.plan_at(moment.onset).start for note in line)


def test_no_last_chord_is_struck_anew_under_a_suspension() -> None:
    """The chorale's tenor resolves on the second beat of its last bar, where the others have their notes."""
    here = cue("stone-chapel-chorale")
    row = next(t for t in TABLES.rule("finish")["touch"] if t["id"] == "closing strings")
    (last,) = (m for m in here.moments if m.kind == "last")
    assert close(here, row, last, "x") == ()
    harbour = cue("harbour-snow-cue")
    (last,) = (m for m in harbour.moments if m.kind == "last")
    assert len(close(harbour, row, last, "x")) == row["lines"]


def test_a_chorale_has_no_strokes_and_nothing_runs_in_it() -> None:
    """A sketch of parts alone: tune, bass and full voices between them, loud and with a climax."""
    chorale, harbour = cue("stone-chapel-chorale"), cue("harbour-snow-cue")
    assert chorale.chorale and not harbour.chorale
    loud = replace(chorale, plan=tuple(replace(p, dynamic="ff", weight=0.9, peak=True) for p in chorale.plan))
    found = finish(loud)
    allowed = {*TABLES.rule("finish")["chorale"], "trumpets at the close"}
    assert {s.texture for s in found if "timpani" not in s.families} <= allowed
    assert [s for s in found if s.texture == "choir"]


def test_rolls_and_swells_grow_into_what_is_louder() -> None:
    """Bar 9 of the waltz is as soft as what comes before, bars 28 and 29 as loud; bar 17 is louder, after an upbeat."""
    here = cue("lighthouse-waltz", lineup="romantic")
    bars = {bar.number: bar.onset for bar in here.sketch.bars}
    touch = next(row for row in TABLES.rule("finish")["touch"] if row["id"] == "cymbal swell")
    always = {**touch, "dynamics": list(DYNAMICS), "weight": 0.0, "apart": 0}
    arrivals = tuple(Moment(bars[n], "arrival", 1.0, "") for n in ("9", "17", "28", "29"))
    softer = replace(here, reading=replace(here.reading, moments=arrivals))
    assert [m.onset for m in wanted(softer, always, 0.0)] == [bars["17"]]
    rolls = [s for s in touches("lighthouse-waltz", lineup="romantic") if s.id.startswith("roll")]
    assert not [s for s in rolls if bars["9"] <= s.lines[0].notes[0].onset < bars["13"]]


def test_who_rests_is_not_called_in_for_a_stroke() -> None:
    here = cue("lighthouse-waltz", lineup="romantic")
    touch = next(row for row in TABLES.rule("finish")["touch"] if row["id"] == "plucked chord")
    assert touch["joining"]
    met = wanted(here, touch, 0.0)
    alone = tuple(replace(p, ground=("woodwind",), turns=()) for p in here.plan)
    assert met and not wanted(replace(here, plan=alone), touch, 0.0)


def test_a_bell_doubles_a_gesture_or_is_silent() -> None:
    """Two to four notes of the tune on end, in its rhythm; one alone only where a theme arrives or the brief asks for it."""
    here = cue("lighthouse-waltz", lineup="romantic")
    row = next(t for t in TABLES.rule("finish")["touch"] if t["id"] == "glockenspiel touch")
    leaps = [lines for n in here.tune if (lines := chime(here, row, Moment(n.onset, "leap", 1.0), "x"))]
    arrivals = [lines for n in here.tune if (lines := chime(here, row, Moment(n.onset, "arrival", 1.0), "x"))]
    assert leaps and all(len(lines) == 1 and 2 <= len(lines[0]) <= 4 for lines in leaps)
    assert len(arrivals) > len(leaps), "some notes stand alone"
    onsets = {n.onset: n.pitch.midi for n in here.tune}
    for (line,) in arrivals:
        assert all((note.pitch.midi - onsets[note.onset]) % 12 == 0 for note in line)
        assert len({note.pitch.midi - onsets[note.onset] for note in line}) == 1, "all in one octave"
        assert all(84 <= note.pitch.midi <= 108 for note in line)


def test_percussion_has_a_hand_for_each_stroke() -> None:
    """One player has the drum that runs through, two bass drum and snare, three the clash that is asked for too, and the triangle
    of the next bar waits for a fourth."""
    brief = '[[moment]]\nbar = 4\nbeat = 2\nkind = "hit"\n'
    sketch = cue("paper-boats-march").sketch
    hit = sketch.bars[3].onset + sketch.ticks

    def struck(percussion: str, tick: int = hit) -> set[str]:
        found = touches("paper-boats-march", brief, f"2.2.2.2 - 4.2.3.1 - tmp+{percussion} - hp - str")
        drums = (s for s in found if TABLES.instruments[s.families[0]].family == "percussion" and s.id != "timp1")
        return {s.families[0] for s in drums if s.lines[0].notes[0].onset <= tick < s.lines[0].notes[-1].end}

    assert struck("1") == {"snare_drum"}
    assert struck("2") == {"snare_drum", "bass_drum"}
    assert struck("3") == struck("4") == {"snare_drum", "bass_drum", "cymbals"}
    assert "triangle" not in struck("3", sketch.bars[4].onset)
    assert "triangle" in struck("4", sketch.bars[4].onset)


def test_strings_may_pluck_the_chord_of_an_arrival() -> None:
    (chord,) = (s for s in touches("lighthouse-waltz", lineup="romantic") if s.texture == "plucked chord")
    assert chord.technique == "pizz" and len(chord.lines) == 3
    bar = cue("lighthouse-waltz").sketch.bar_at(chord.lines[0].notes[0].onset)
    assert bar.number == "33" and bar.onset == chord.lines[0].notes[0].onset, "on the bar line after the theme's upbeat"
    assert not [s for s in touches("paper-boats-march", lineup="romantic") if s.texture == "plucked chord"]


def test_lean_intent_touches_less_and_lets_no_percussion_run_through() -> None:
    full, lean = (touches("lighthouse-waltz", f'intent = "{intent}"\n', "romantic") for intent in ("full", "lean"))
    assert {s.reason for s in lean} < {s.reason for s in full}
    assert any(s.id.startswith("beat") for s in full) and not any(s.id.startswith("beat") for s in lean)


def test_a_choir_holds_open_chords_where_the_climax_is() -> None:
    """Through the part of the phrase that the climax has, all four voices from its first chord on, each inside its own octave."""
    here = cue("harbour-snow-cue", lineup="3.3.3.3 - 4.3.3.1 - tmp+2 - hp - satb - str")
    (climax,) = (m for m in here.moments if m.kind == "climax")
    (choir,) = (s for s in touches("harbour-snow-cue", lineup=here.lineup.name) if s.texture == "choir")
    begins = max(start for phrase in here.plan for start, _, _ in phrase.parts if start <= climax.onset)
    assert [line.notes[0].onset for line in choir.lines] == [begins] * 4
    first = [line.notes[0].pitch.midi for line in choir.lines]
    assert first == sorted(first, reverse=True) and first[0] - first[-1] > 12, "open"
    assert first[-2] - first[-1] >= 5, "wide at the bottom"


def test_winds_are_alone_only_where_there_are_others() -> None:
    here = cue("paper-boats-march")
    winds = replace(here, plan=tuple(replace(p, scheme="winds alone", weight=0.9) for p in here.plan))
    band = replace(winds, lineup=parse_lineup("concert band", TABLES))
    assert not any(True for _ in beats(winds))
    assert {name for strand in beats(band) for name in strand.families} >= {"snare_drum", "bass_drum"}
    solo = replace(band, plan=tuple(replace(p, scheme="solo") for p in winds.plan))
    assert not any(True for _ in beats(solo))


def test_a_chorale_has_timpani_alone_and_on_its_held_chords() -> None:
    strands = touches("stone-chapel-chorale", lineup="romantic")
    drums = [s for s in strands if all(TABLES.instruments[n].family == "percussion" for n in s.families)]
    assert {s.texture for s in drums} == {"strokes", "roll"}
    assert {s.families for s in drums} == {("timpani",)}
    assert all("fermata" in s.reason or "last" in s.reason for s in drums if s.texture == "roll")


def test_a_drummer_alone_has_one_rhythm_at_a_time() -> None:
    """A band's one drummer is offered no bass drum under the snare drum; three players have both."""

    def drums(lineup: str) -> list[tuple[int, int]]:
        found = touches("paper-boats-march", lineup=lineup)
        return [(s.lines[0].notes[0].onset, s.lines[0].notes[-1].end) for s in found if s.id.startswith("beat")]

    alone, three = drums("2 tpt, 2 tbn, pno, db, drums"), drums("romantic")
    assert alone and all(a[1] <= b[0] for a, b in pairwise(sorted(alone)))
    assert any(a[1] > b[0] for a, b in pairwise(sorted(three)))
