"""The mock-up read back: tracks, ticks, repeats, tempo, ports, dynamics, ornaments, sounds."""

from __future__ import annotations

import io
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import mido
import pretty_midi
import pytest
import symusic

from autoorch.lineup import parse_lineup
from autoorch.problem.draft import Choice
from autoorch.score.model import Score
from autoorch.sketch.model import Mark, Sketch
from autoorch.tables import load_tables
from autoorch.write.dynamics import VELOCITY
from autoorch.write.midi import write_midi
from tests.score.test_changes import score as doubling_flute
from tests.support.hand import make_score, make_sketch, whole
from tests.support.readback import notes_of
from tests.support.tiny import players

Note = tuple[int, int, int, int]
"""start, end (MIDI ticks), MIDI number, velocity"""


def midi(score: Score) -> mido.MidiFile:
    file = io.BytesIO()
    write_midi(score, file)
    return mido.MidiFile(file=io.BytesIO(file.getvalue()), charset="utf-8")


def notes(track: mido.MidiTrack) -> list[Note]:
    now, found, sounding = 0, [], {}
    for message in track:
        now += message.time
        if message.type == "note_on":
            assert message.note not in sounding, "no pitch is struck while it sounds"
            sounding[message.note] = (now, message.velocity)
        elif message.type == "note_off":
            start, velocity = sounding.pop(message.note)
            found.append((start, now, message.note, velocity))
    assert not sounding
    return sorted(found)


def flute(music: str, **more: object) -> list[Note]:
    sketch = make_sketch([music], **more)  # type: ignore[arg-type]
    return notes(midi(make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])).tracks[1])


def messages(track: mido.MidiTrack, kind: str) -> list[tuple[int, mido.Message]]:
    now, found = 0, []
    for message in track:
        now += message.time
        if message.type == kind:
            found.append((now, message))
    return found


def test_every_note_of_the_score_is_in_its_own_track_at_480_ticks() -> None:
    sketch = make_sketch(["C5:1 D5:1/3 E5:2/3 F5:6", "C4:4 E4:3 G4:1"])
    lineup = players("clarinet_bb", "violin", "harp", "double_bass")
    choices = [
        whole(sketch, "clarinet_bb", 1),
        whole(sketch, "violin", 1, 2),
        whole(sketch, "harp", 1, 2),
        whole(sketch, "double_bass", 2, octave=-1),
    ]
    score = make_score(sketch, lineup, choices)
    file = midi(score)
    assert (file.type, file.ticks_per_beat, len(file.tracks)) == (1, 480, 5)
    assert [track.name for track in file.tracks[1:]] == [player.name for player in lineup.players]
    for track, wanted in zip(file.tracks[1:], notes_of(score), strict=True):
        read = Counter((Fraction(a, 480), Fraction(b - a, 480), pitch) for a, b, pitch, _ in notes(track))
        assert read == wanted


def test_onsets_are_rounded_one_by_one() -> None:
    starts = [start for start, _, _, _ in flute(" ".join(["C5:1/7 D5:1/7"] * 14))]
    assert starts == [round(480 * k / 7) for k in range(28)], "nothing drifts"


def test_repeats_and_endings_are_played_out() -> None:
    sketch = make_sketch(["C5:4 D5:4 E5:4 F5:4"])
    bars = list(sketch.bars)
    bars[1] = replace(bars[1], endings=(1,), repeat_end=2)
    bars[2] = replace(bars[2], endings=(2,))
    changed = Sketch(sketch.ticks, sketch.staves, tuple(bars), sketch.notes)
    file = midi(make_score(changed, players("flute"), [whole(changed, "flute", 1)]))
    assert [(start // 1920, pitch) for start, _, pitch, _ in notes(file.tracks[1])] == [
        (0, 72), (1, 74), (2, 72), (3, 76), (4, 77),
    ]  # fmt: skip
    cues = [message.text for _, message in messages(file.tracks[0], "cue_marker")]
    assert cues == ["bar 1", "bar 2", "bar 1", "bar 3", "bar 4"]


def test_the_conductor_has_tempo_metre_key_and_letters() -> None:
    marks = [Mark("tempo", 0, 0, -1, "90"), Mark("tempo", 6, 6, -1, "60", "Adagio"), Mark("rehearsal", 6, 6, -1, "A")]
    sketch = make_sketch(["C5:3 D5:3 E5:3"], metre=(3, 4), fifths=-3, marks=marks)
    file = midi(make_score(sketch, players("flute"), [whole(sketch, "flute", 1)]))
    track = file.tracks[0]
    assert [(t, round(mido.tempo2bpm(m.tempo), 3)) for t, m in messages(track, "set_tempo")] == [(0, 90), (2880, 60)]
    assert [(t, m.numerator, m.denominator) for t, m in messages(track, "time_signature")] == [(0, 3, 4)]
    assert [m.key for _, m in messages(track, "key_signature")] == ["Eb"]
    assert [(t, m.text) for t, m in messages(track, "marker")] == [(2880, "A")]
    assert file.length == pytest.approx(6 * 60 / 90 + 3, abs=0.001)


def test_a_pickup_is_a_short_bar() -> None:
    sketch = make_sketch(["G4:1 C5:4"], pickup="1")
    track = midi(make_score(sketch, players("flute"), [])).tracks[0]
    assert [(t, m.numerator, m.denominator) for t, m in messages(track, "time_signature")] == [(0, 1, 4), (480, 4, 4)]


def test_channels_are_used_anew_on_the_next_port_and_percussion_has_channel_10() -> None:
    lineup = parse_lineup("romantic", load_tables())
    sketch = make_sketch(["C5:4"])
    tracks = midi(make_score(sketch, lineup, [whole(sketch, p.name, 1) for p in lineup.players])).tracks[1:]
    places = []
    for player, track in zip(lineup.players, tracks, strict=True):
        (port,) = [m.port for _, m in messages(track, "midi_port")]
        (channel,) = {m.channel for m in track if not m.is_meta}
        programs = [m.program for _, m in messages(track, "program_change")]
        if player.instrument.gm == 0:
            assert channel == 9 and programs == [] and {p for _, _, p, _ in notes(track)} == {player.instrument.gm_key}
        else:
            assert channel != 9 and len(programs) == 1
            places.append((port, channel))
    assert len(set(places)) == len(places) > 16
    assert {port for port, _ in places} == {0, 1, 2} if len(places) > 30 else {0, 1}


def test_dynamics_and_hairpins_become_velocities_and_expression() -> None:
    marks = [Mark("dynamic", 0, 0, 0, "p"), Mark("wedge", 4, 8, 0, "crescendo"), Mark("dynamic", 8, 8, 0, "f")]
    sketch = make_sketch(["C5:1 D5:1 E5:1 F5:1 C5:1 D5:1 E5:1 F5:1 G5:4"], marks=marks)
    track = midi(make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])).tracks[1]
    velocities = [velocity for *_, velocity in notes(track)]
    assert velocities[:5] == [VELOCITY["p"]] * 5
    assert velocities[4] < velocities[5] < velocities[6] < velocities[7] < velocities[8] == VELOCITY["f"]
    curve = [(t, m.value) for t, m in messages(track, "control_change") if m.control == 11]
    assert [v for _, v in curve] == sorted({v for _, v in curve}) and len(curve) > 10
    assert curve[0][0] == 0 and 4 * 480 < curve[1][0] < 5 * 480 and curve[-1][0] <= 8 * 480


def test_curves_are_sent_as_modulation_too_on_request() -> None:
    marks = [Mark("dynamic", 0, 0, 0, "p"), Mark("wedge", 0, 4, 0, "crescendo"), Mark("dynamic", 4, 4, 0, "f")]
    sketch = make_sketch(["C5:4 D5:4", "C3:8"], marks=marks)
    score = make_score(sketch, players("flute", "harp"), [whole(sketch, "flute", 1), whole(sketch, "harp", 2)])
    file = io.BytesIO()
    write_midi(score, file, modulation=True)
    flute_track, harp_track = mido.MidiFile(file=io.BytesIO(file.getvalue())).tracks[1:]
    moves = messages(flute_track, "control_change")
    curves = [[(t, m.value) for t, m in moves if m.control == number] for number in (1, 11)]
    assert curves[0] == curves[1] and len(curves[0]) > 5
    assert messages(harp_track, "control_change") == [], "a plucked string can't swell"


def test_accents_and_short_notes() -> None:
    plain, accented = flute("C5:1 D5:1", notes={"a1": {"marks": ("accent", "staccato")}})
    assert accented[3] > plain[3]
    assert (plain[1] - plain[0], accented[1] - accented[0]) == (480, 240)


def test_accented_dynamics_begin_loud_and_go_on_as_they_say() -> None:
    def velocities(*signs: str) -> list[int]:
        marks = [Mark("dynamic", k, k, 0, sign) for k, sign in enumerate(signs)]
        return [velocity for *_, velocity in flute("C5:1 D5:1 E5:1", marks=marks)]

    for sign, after in (("fp", "p"), ("sfp", "p"), ("sfpp", "pp")):
        first, second, third = velocities(sign)
        assert first >= VELOCITY["f"] > second == third == VELOCITY[after]
    plain, accented, again = velocities("p", "sf")
    assert plain == again == VELOCITY["p"] < accented < VELOCITY["f"]


def test_ornaments_are_played_out() -> None:
    def pitches(mark: str, music: str = "C5:1", **more: object) -> list[int]:
        return [p for _, _, p, _ in flute(music, notes={"a0": {"marks": (mark,)}}, **more)]

    trill = flute("E5:1", notes={"a0": {"marks": ("trill-mark",)}})
    assert [p for _, _, p, _ in trill] == [76, 77] * 3 + [76], "the upper neighbour of the key, the note itself last"
    assert trill[-1][1] == 480
    assert pitches("mordent") == [72, 71, 72]
    assert pitches("inverted-mordent") == [72, 74, 72]
    assert pitches("turn") == [74, 72, 71, 72]
    assert pitches("inverted-turn") == [71, 72, 74, 72]
    assert pitches("delayed-turn") == [72, 74, 72, 71, 72]
    assert pitches("delayed-inverted-turn") == [72, 71, 72, 74, 72]
    assert pitches("shake") == pitches("trill-mark")
    assert pitches("trill-mark", "D5:1", fifths=-4)[:2] == [74, 75]
    assert pitches("tremolo-2") == [72] * 4


def test_a_trill_keeps_its_speed_at_any_tempo() -> None:
    for tempo, least, most in (("40", 10, 15), ("60", 10, 15), ("100", 10, 15), ("184", 10, 15)):
        marks = [Mark("tempo", 0, 0, -1, tempo)]
        found = flute("E5:4", notes={"a0": {"marks": ("trill-mark",)}}, marks=marks)
        assert least <= 480 / (found[0][1] - found[0][0]) * float(tempo) / 60 <= most, tempo


def test_tremolos_are_played_out() -> None:
    def strokes(music: str, mark: str) -> list[tuple[int, int]]:
        return [(start, end) for start, end, _, _ in flute(music, notes={"a0": {"marks": (mark,)}})]

    assert strokes("C5:1", "tremolo-1") == [(0, 240), (240, 480)], "one stroke: quavers"
    assert strokes("C5:1/2", "tremolo-1") == [(0, 120), (120, 240)], "on a quaver: semiquavers"
    assert strokes("C5:1", "tremolo-3") == [(60 * k, 60 * k + 60) for k in range(8)]
    assert strokes("C5:6", "tremolo-2")[-1] == (2760, 2880), "over the bar line"


def tremolo_of_two(beams: int) -> Score:
    """C5 and E5 in turn for a bar of 4/4."""
    sketch = make_sketch(["C5:2 E5:2"])
    score = make_score(sketch, players("violin"), [whole(sketch, "violin", 1)])
    (part,) = score.parts
    (measure,) = part.measures
    first, second = measure.voices[0]
    voice = (replace(first, marks=(f"tremolo-start-{beams}",)), replace(second, marks=(f"tremolo-stop-{beams}",)))
    return replace(score, parts=(replace(part, measures=(replace(measure, voices=(voice,)),)),))


def test_a_tremolo_of_two_notes_goes_to_and_fro() -> None:
    played = notes(midi(tremolo_of_two(2)).tracks[1])
    assert [(start, end, pitch) for start, end, pitch, _ in played] == [
        (120 * k, 120 * k + 120, 76 if k % 2 else 72) for k in range(16)
    ]


def test_a_rolled_chord_rises() -> None:
    sketch = make_sketch(["E5:4", "C5:4", "G4:4"], notes={f"{s}0": {"marks": ("arpeggiate",)} for s in "abc"})
    score = make_score(sketch, players("harp"), [whole(sketch, "harp", k) for k in (1, 2, 3)])
    played = notes(midi(score).tracks[1])
    assert [(start, end, pitch) for start, end, pitch, _ in played] == [(0, 1920, 67), (30, 1920, 72), (60, 1920, 76)]


def test_a_chord_without_a_sign_begins_at_once() -> None:
    sketch = make_sketch(["E5:4", "C5:4", "G4:4"])
    score = make_score(sketch, players("harp"), [whole(sketch, "harp", k) for k in (1, 2, 3)])
    assert [note[:3] for note in notes(midi(score).tracks[1])] == [(0, 1920, 67), (0, 1920, 72), (0, 1920, 76)]


def test_a_hairpin_that_leads_to_no_mark_goes_a_degree() -> None:
    for way, after in (("crescendo", "f"), ("diminuendo", "mp")):
        marks = [Mark("dynamic", 0, 0, 0, "mf"), Mark("wedge", 0, 4, 0, way)]
        assert [velocity for *_, velocity in flute("C5:4 D5:4", marks=marks)] == [VELOCITY["mf"], VELOCITY[after]]


def test_a_hairpin_leads_to_the_mark_at_its_end_and_not_to_one_far_on() -> None:
    swell = [Mark("wedge", 0, 4, 0, "crescendo"), Mark("wedge", 4, 8, 0, "diminuendo")]
    marks = [Mark("dynamic", 0, 0, 0, "mf"), *swell, Mark("dynamic", 16, 16, 0, "ff")]
    played = flute("C5:4 D5:4 E5:4 F5:4 G5:4", marks=marks)
    assert [velocity for *_, velocity in played] == [VELOCITY[mark] for mark in ("mf", "f", "mf", "mf", "ff")]
    near = [Mark("dynamic", 0, 0, 0, "p"), swell[0], Mark("dynamic", 5, 5, 0, "ff")]
    assert [velocity for *_, velocity in flute("C5:4 -:1 D5:3", marks=near)] == [VELOCITY["p"], VELOCITY["ff"]]


def test_two_voices_tie_the_same_pitch() -> None:
    sketch = make_sketch(["C4:6 D4:2", "C4:5 B3:3"])
    score = make_score(sketch, players("harp"), [whole(sketch, "harp", 1), whole(sketch, "harp", 2)])
    played = notes(midi(score).tracks[1])
    assert (0, 6 * 480, 60) in [note[:3] for note in played]


def test_grace_notes_come_before_the_beat() -> None:
    found = flute("C5:2 B4:1 D5:2", notes={"a1": {"duration": 0, "grace": "acciaccatura"}})
    assert [(start, end, pitch) for start, end, pitch, _ in found] == [(0, 960, 72), (900, 960, 71), (960, 1920, 74)]
    long = flute("C5:2 B4:1 D5:2", notes={"a1": {"duration": 0, "grace": "appoggiatura"}})
    assert [(start, end, pitch) for start, end, pitch, _ in long] == [(0, 960, 72), (960, 1440, 71), (1440, 1920, 74)]


def test_pizzicato_changes_the_program_and_arco_changes_it_back() -> None:
    marks = [Mark("words", 4, 4, 0, "pizz."), Mark("words", 8, 8, 0, "arco")]
    sketch = make_sketch(["C5:4 D5:4 E5:4"], marks=marks)
    track = midi(make_score(sketch, players("violin"), [whole(sketch, "violin", 1)])).tracks[1]
    assert [(t, m.program) for t, m in messages(track, "program_change")] == [(0, 48), (1920, 45), (3840, 48)]


@pytest.mark.parametrize(
    ("name", "word", "back", "own"),
    [
        ("trumpet_c", "con sord.", "senza sord.", 56),
        ("bass_trombone", "con sord.", "senza sord.", 57),
        ("horn", "gest.", "offen", 60),
        ("violin", "con sord.", "senza sord.", None),
    ],
)
def test_muted_brass_has_its_own_sound(name: str, word: str, back: str, own: int | None) -> None:
    sketch = make_sketch(["C4:4 D4:4 E4:4"], marks=[Mark("words", 4, 4, 0, word), Mark("words", 8, 8, 0, back)])
    track = midi(make_score(sketch, players(name), [whole(sketch, name, 1)])).tracks[1]
    wanted = [(0, 48)] if own is None else [(0, own), (1920, 59), (3840, own)]
    assert [(t, m.program) for t, m in messages(track, "program_change")] == wanted


def test_a_doubling_player_sounds_like_the_instrument_in_hand() -> None:
    """Flute, from bar 5 piccolo, from bar 8 flute again."""
    track = midi(doubling_flute()).tracks[1]
    assert [(t // 1920, m.program) for t, m in messages(track, "program_change")] == [(0, 73), (4, 72), (7, 73)]
    assert [pitch for _, _, pitch, _ in notes(track)] == [72, 74, 88, 89, 72], "the piccolo sounds an octave up"


def test_cues_are_not_played() -> None:
    sketch = make_sketch(["C5:2 D5:2"])
    score = make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])
    (part,) = score.parts
    (measure,) = part.measures
    first, second = measure.voices[0]
    cued = replace(measure, voices=((first, replace(second, cue=True)),))
    made = midi(replace(score, parts=(replace(part, measures=(cued,)),)))
    assert [pitch for _, _, pitch, _ in notes(made.tracks[1])] == [72]


def test_pizzicato_is_for_bowed_strings_only() -> None:
    sketch = make_sketch(["C5:4"], marks=[Mark("words", 0, 0, 0, "pizz.")])
    track = midi(make_score(sketch, players("flute"), [whole(sketch, "flute", 1)])).tracks[1]
    assert [m.program for _, m in messages(track, "program_change")] == [73]


def test_symusic_reads_the_same_notes_tracks_and_tempos(tmp_path: Path) -> None:
    lineup = parse_lineup("romantic", load_tables())
    marks = [Mark("tempo", 0, 0, -1, "84"), Mark("words", 12, 12, -1, "rit."), Mark("words", 18, 18, 0, "pizz.")]
    sketch = make_sketch(["C5:1 D5:1/3 E5:2/3 F5:6 G5:4", "C3:4 D3:8"], marks=marks)
    choices = [whole(sketch, p.name, 1 + k % 2, octave=-(k % 3)) for k, p in enumerate(lineup.players)]
    path = tmp_path / "mockup.mid"
    with path.open("wb") as file:
        write_midi(make_score(sketch, lineup, choices), file)
    ours, theirs = mido.MidiFile(path, charset="utf-8"), symusic.Score(str(path))
    read: dict[str, list[Note]] = {}
    for track in theirs.tracks:  # one a program, so that a track with pizzicato comes as two
        read.setdefault(track.name, []).extend((n.time, n.time + n.duration, n.pitch, n.velocity) for n in track.notes)
    assert {name: sorted(found) for name, found in read.items()} == {t.name: notes(t) for t in ours.tracks[1:]}
    assert [(t.time, t.mspq) for t in theirs.tempos] == [
        (t, m.tempo) for t, m in messages(ours.tracks[0], "set_tempo")
    ] and len(theirs.tempos) > 5
    assert theirs.end() == sum(message.time for message in ours.tracks[1])


def test_a_second_library_reads_the_same(tmp_path: Path) -> None:
    sketch = make_sketch(["C5:1 D5:1/3 E5:2/3 F5:2", "C3:4"], marks=[Mark("tempo", 0, 0, -1, "75")])
    score = make_score(sketch, players("flute", "cello"), [whole(sketch, "flute", 1), whole(sketch, "cello", 2)])
    path = tmp_path / "mockup.mid"
    with path.open("wb") as file:
        write_midi(score, file)
    read = pretty_midi.PrettyMIDI(str(path))
    assert [instrument.name for instrument in read.instruments] == ["flute", "cello"]
    second = 60 / 75
    assert [(round(n.start / second, 3), n.pitch) for n in read.instruments[0].notes] == [
        (0, 72), (1, 74), (1.333, 76), (2, 77),
    ]  # fmt: skip
    assert read.get_end_time() == pytest.approx(4 * second, abs=0.001)


def test_the_same_score_gives_the_same_bytes() -> None:
    sketch = make_sketch(["C5:1 D5:1 E5:2"])

    def made() -> bytes:
        file = io.BytesIO()
        write_midi(make_score(sketch, players("flute"), [Choice("flute", "s1", ("s1.1",), 0, 0, 4)]), file)
        return file.getvalue()

    assert made() == made()
