"""MusicXML sketches: what each sign becomes, and the same notes as music21, an independent reader, finds."""

from __future__ import annotations

import warnings
from collections import Counter
from fractions import Fraction
from pathlib import Path

import music21
import pytest

from autoorch.errors import SketchError
from autoorch.sketch import Sketch, read_sketch
from autoorch.sketch.model import Mark
from tests.support.chorales import NUMBERS, chorale
from tests.support.xml import COMMON, bar, note, places, read, score

HOME = Path(music21.__file__).parent
PIECES = (
    *("bach/bwv846", "joplin/maple_leaf_rag", "mozart/k545/movement1_exposition", "schoenberg/opus19/movement2"),
    *("schoenberg/opus19/movement6", "verdi/laDonnaEMobile", "cpebach/h186", "bach/bwv267", "bach/bwv40.8"),
    *(f"schumann_clara/polonaise_op1n{number}" for number in (1, 2, 3, 4)),
)
SUITE = sorted((HOME / "musicxml" / "lilypondTestSuite").glob("*.[xm][mx]*l"))
DIVISIONS = "<divisions>{}</divisions>"
FOUR = DIVISIONS.format(4) + COMMON

Attacks = Counter[tuple[int, Fraction, int]]


def rounded(place: float | Fraction) -> Fraction:
    """music21 rounds odd tuplets to what the file's durations say: places are compared to a 48th of a quarter."""
    return Fraction(round(place * 48), 48)


def ours(sketch: Sketch) -> tuple[Attacks, Counter[int]]:
    """Attacks as (bar, place in it, key), and the keys of grace notes."""
    attacks: Attacks = Counter()
    for n in sketch.notes:
        if not n.grace:
            at = sketch.bar_at(n.onset)
            attacks[at.index, rounded(Fraction(n.onset - at.onset, sketch.ticks)), n.pitch.midi] += 1
    return attacks, Counter(n.pitch.midi for n in sketch.notes if n.grace)


def heard(path: Path) -> tuple[Attacks, Counter[int], dict[int, list[tuple[float, float]]]]:
    """The same as `ours`, by music21, and the stretches of time in which each key sounds."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        piece = music21.converter.parse(path, forceSource=True).toSoundingPitch()
    attacks: Attacks = Counter()
    graces: Counter[int] = Counter()
    stretches: dict[int, list[tuple[float, float]]] = {}
    for part in piece.parts:
        for index, measure in enumerate(part.getElementsByClass("Measure")):
            for element in measure.flatten().notes:
                if isinstance(element, music21.harmony.Harmony):
                    continue
                for head in element.notes if isinstance(element, music21.chord.Chord) else [element]:
                    key = head.pitch.midi
                    if element.duration.isGrace:
                        graces[key] += 1
                        continue
                    if head.tie is None or head.tie.type == "start":
                        attacks[index, rounded(element.offset), key] += 1
                    start = float(measure.offset + element.offset)
                    stretches.setdefault(key, []).append((start, start + float(element.quarterLength)))
    return attacks, graces, stretches


def sounding(stretches: list[tuple[float, float]]) -> list[tuple[Fraction, Fraction]]:
    """Stretches that touch or overlap made one."""
    joined: list[tuple[float, float]] = []
    for start, end in sorted(stretches):
        if joined and start <= joined[-1][1] + 0.02:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return [(rounded(start), rounded(end)) for start, end in joined]


@pytest.mark.parametrize("name", PIECES)
def test_the_same_notes_as_music21_finds(name: str) -> None:
    path = HOME / "corpus" / f"{name}.mxl"
    sketch = read_sketch(path)
    attacks, graces, stretches = heard(path)
    assert ours(sketch) == (attacks, graces)
    mine: dict[int, list[tuple[float, float]]] = {}
    for n in sketch.notes:
        if not n.grace:
            mine.setdefault(n.pitch.midi, []).append((n.onset / sketch.ticks, n.end / sketch.ticks))
    assert {key: sounding(own) for key, own in mine.items()} == {key: sounding(own) for key, own in stretches.items()}


@pytest.mark.parametrize("path", SUITE, ids=lambda path: path.stem)
def test_every_file_of_the_unofficial_suite_is_read_or_refused_in_one_line(path: Path) -> None:
    try:
        sketch = read_sketch(path)
    except SketchError as error:
        assert "\n" not in str(error)
        assert "no notes" in str(error) or "staves" in str(error)
    else:
        assert sketch.notes
        assert all(n.onset >= 0 and n.end <= sketch.end for n in sketch.notes)


def test_twenty_chorales_on_two_staves() -> None:
    for number in NUMBERS:
        sketch = chorale(number)
        assert [staff.name for staff in sketch.staves] == ["Piano", "Piano"]
        assert {(n.staff, n.voice) for n in sketch.notes} == {(0, 1), (0, 2), (1, 1), (1, 2)}
        assert [n.id for n in sketch.notes] == [f"n{k + 1}" for k in range(len(sketch.notes))]


# Time


def test_rounded_tuplets_are_exact_and_backups_find_their_places() -> None:
    """Divisions of 4 can't hold a triplet eighth: 1, 2, 1 stand for a third each; the backup counts what stands there."""
    triplet = [note("C5", duration, "eighth", tuplet=(3, 2)) for duration in (1, 2, 1)]
    lower = note("E4", 4, "quarter", voice="2")
    content = "".join(triplet) + note("D5", 4, "quarter") + "<backup><duration>4</duration></backup>" + lower
    sketch = read(score([bar(content, attributes=FOUR)]))
    assert sketch.ticks == 3
    assert [(n.onset, n.duration, str(n.pitch)) for n in sketch.notes] == [
        *((0, 1, "C5"), (1, 1, "C5"), (2, 1, "C5"), (3, 3, "D5"), (3, 3, "E4"))
    ]


def test_where_value_and_duration_disagree_by_whole_divisions_the_duration_wins() -> None:
    sketch = read(score([bar(note("C4", 8, "quarter") + note("D4", 8, "half"), attributes=FOUR)]))
    assert places(sketch) == [(0, 2, "C4"), (2, 2, "D4")]


def test_bars_are_as_long_as_what_they_hold() -> None:
    pickup = bar(note("G4", 4, "quarter"), "0", FOUR, ' implicit="yes"')
    full = bar(note("C5", 16, "whole"), "1")
    whole_rest = bar(note("", 16, "whole"), "2", "<time><beats>2</beats><beat-type>4</beat-type></time>")
    short = bar(note("C5", 4, "quarter"), "3")
    sketch = read(score([pickup, full, whole_rest, short]))
    assert [(b.number, b.length, b.metre) for b in sketch.bars] == [
        *(("0", 1, (4, 4)), ("1", 4, (4, 4)), ("2", 2, (2, 4)), ("3", 1, (2, 4)))
    ]
    assert sketch.notices == ()


def test_a_bar_that_does_not_fill_its_metre_is_told() -> None:
    bars = [bar(note("C4", 16, "whole"), "1", FOUR), *(bar(note("C4", d, ""), str(k)) for k, d in ((2, 10), (3, 16)))]
    assert read(score(bars)).notices == ("bar 2: not as long as the metre says; taken as written",)


def test_a_bar_rest_in_one_part_lasts_as_long_as_the_bar_of_the_other() -> None:
    three = DIVISIONS.format(4) + "<time><beats>3</beats><beat-type>4</beat-type></time>"
    parts = (
        [bar(note(pitch, duration, value), "1", three)]
        for pitch, duration, value in (("C4", 12, ""), ("", 16, "whole"))
    )
    assert read(score(*parts)).bars[0].length == 3


def test_metres_keys_repeats_endings_and_bar_lines() -> None:
    three = "<key><fifths>-3</fifths><mode>minor</mode></key><time><beats>3+2</beats><beat-type>8</beat-type></time>"
    forward = '<barline location="left"><repeat direction="forward"/></barline>'
    one = '<barline location="left"><ending number="1, 2" type="start"/></barline>'
    back = '<barline location="right"><ending number="1, 2" type="stop"/><repeat direction="backward" times="3"/></barline>'
    double = '<barline location="right"><bar-style>light-light</bar-style></barline>'
    end = '<barline location="right"><bar-style>light-heavy</bar-style><fermata/></barline>'
    tone = note("C4", 10, "")
    contents = (forward + tone, one + tone + back, tone + double, tone + end)
    sketch = read(
        score([bar(c, str(k + 1), DIVISIONS.format(4) + three if not k else "") for k, c in enumerate(contents)])
    )
    assert {(b.metre, b.fifths, b.mode) for b in sketch.bars} == {((5, 8), -3, "minor")}
    assert [(b.repeat_start, b.repeat_end, b.endings, b.barline, b.fermata) for b in sketch.bars] == [
        (True, 0, (), "", False),
        (False, 3, (1, 2), "", False),
        (False, 0, (), "double", False),
        (False, 0, (), "final", True),
    ]
    assert sketch.lost == ("1 metre written as a sum, read as one",)


# Notes


def test_ties_are_merged_across_bars_and_voices_and_in_chords() -> None:
    start, stop = '<tie type="start"/>', '<tie type="stop"/>'
    first = note("C4", 16, "whole", inside=start) + note("E4", 16, "whole", chord=True, inside=start)
    second = note("E4", 4, "quarter", inside=stop) + "<backup><duration>4</duration></backup>"
    third = note("C4", 8, "half", voice="2", inside=stop + start) + note("C4", 8, "half", voice="2", inside=stop)
    sketch = read(score([bar(first, "1", FOUR), bar(second + third, "2")]))
    assert places(sketch) == [(0, 8, "C4"), (0, 5, "E4")]
    assert sketch.lost == ()


def test_a_tie_without_its_partner_is_told() -> None:
    sketch = read(score([bar(note("C4", 16, "whole", inside='<tie type="stop"/>'), attributes=FOUR)]))
    assert (len(sketch.notes), sketch.lost) == (1, ("1 tie end without its partner",))


def test_grace_notes_stand_before_their_note_in_the_order_written() -> None:
    graces = note("G5", 0, "16th", grace='<grace slash="yes"/>') + note("A4", 0, "16th", grace="<grace/>")
    sketch = read(score([bar(graces + note("B4", 16, "whole"), attributes=FOUR)]))
    assert [(n.onset, n.duration, n.grace, str(n.pitch)) for n in sketch.notes] == [
        (0, 0, "acciaccatura", "G5"),
        (0, 0, "appoggiatura", "A4"),
        (0, 4 * sketch.ticks, "", "B4"),
    ]


def test_grace_notes_alone_are_no_music() -> None:
    with pytest.raises(SketchError, match="has grace notes and no others"):
        read(score([bar(note("G5", 0, "16th", grace="<grace/>"), attributes=FOUR)]))


def test_signs_velocity_and_lyrics_stay_on_their_note() -> None:
    signs = (
        "<articulations><staccato/><accent/></articulations><ornaments><trill-mark/><tremolo>3</tremolo></ornaments>"
        '<fermata/><arpeggiate/><dynamics><sfz/></dynamics><slur type="start" number="2"/>'
    )
    lyric = '<lyric number="1"><syllabic>begin</syllabic><text>Mu</text></lyric>'
    first = note("C4", 8, "half", signs=signs, after=lyric).replace("<note>", '<note dynamics="80">')
    pair = '<ornaments><tremolo type="start">2</tremolo></ornaments>'
    second = note("D4", 4, "quarter", signs=pair) + note(
        "E4", 4, "quarter", signs=pair.replace("start", "stop") + '<slur type="stop" number="2"/>'
    )
    sketch = read(score([bar(first + second, attributes=FOUR)]))
    assert sketch.notes[0].marks == ("accent", "arpeggiate", "fermata", "staccato", "tremolo-3", "trill-mark")
    assert [n.marks for n in sketch.notes[1:]] == [("tremolo-start-2",), ("tremolo-stop-2",)]
    assert sketch.notes[0].velocity == 72  # 80 % of 90: MusicXML 4.0, musicxml.xsd
    assert sketch.notes[0].lyric == "Mu-"
    assert sketch.marks == (Mark("dynamic", 0, 0, 0, "sfz"),)
    assert [(slur.first, slur.last) for slur in sketch.slurs] == [("n1", "n3")]
    assert sketch.lost == ()


def test_an_articulation_holds_for_the_whole_chord_and_an_ornament_for_its_note() -> None:
    """MusicXML writes what stands over a chord on one of its notes."""
    signs = "<articulations><accent/></articulations><ornaments><trill-mark/></ornaments>"
    chord = note("C5", 8, "half") + note("E4", 8, "half", chord=True, signs=signs) + note("D5", 8, "half")
    sketch = read(score([bar(chord, attributes=FOUR)]))
    assert {str(n.pitch): n.marks for n in sketch.notes} == {
        "C5": ("accent",), "E4": ("accent", "trill-mark"), "D5": (),
    }  # fmt: skip


def test_a_transposing_part_comes_in_at_sounding_pitch_and_key() -> None:
    """A clarinet in B flat sounds a major second below the page (MusicXML 4.0, transpose)."""
    clarinet = "<key><fifths>2</fifths></key><transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    sketch = read(score([bar(note("F#4", 16, "whole"), attributes=FOUR + clarinet)], names=["Clarinet"]))
    assert (str(sketch.notes[0].pitch), sketch.bars[0].fifths, sketch.staves[0].hint) == ("E4", 0, "Clarinet")


def test_voices_count_from_one_on_each_staff_and_guests_come_last() -> None:
    """Voice 1 of the upper staff crosses to the lower one, where voice 5 is at home."""
    upper = (
        note("C5", 8, "half", voice="1", staff=1)
        + note("C5", 4, "quarter", voice="1", staff=1)
        + note("A3", 4, "quarter", voice="1", staff=2)
    )
    lower = note("C3", 16, "whole", voice="5", staff=2)
    content = upper + "<backup><duration>16</duration></backup>" + lower
    sketch = read(score([bar(content, attributes=FOUR + "<staves>2</staves>")]))
    assert [(str(n.pitch), n.staff, n.voice) for n in sketch.notes] == [
        *(("C5", 0, 1), ("C3", 1, 1), ("C5", 0, 1), ("A3", 1, 2))
    ]


def test_cue_notes_are_silent_and_told() -> None:
    cue = note("G4", 8, "half").replace("<note>", "<note><cue/>")
    sketch = read(score([bar(cue + note("C4", 8, "half"), attributes=FOUR)]))
    assert places(sketch) == [(2, 2, "C4")]
    assert sketch.lost == ("1 cue note (silent)",)


# Marks and texts


def direction(content: str, more: str = "") -> str:
    return f"<direction><direction-type>{content}</direction-type>{more}</direction>"


def test_marks_have_places_and_extents() -> None:
    tone = note("C4", 4, "quarter")
    content = "".join(
        (
            direction(
                "<words>Andante</words></direction-type><direction-type><metronome><beat-unit>quarter</beat-unit>"
                "<beat-unit-dot/><per-minute>60</per-minute></metronome>"
            ),
            direction("<dynamics><mp/></dynamics>"),
            direction("<rehearsal>A</rehearsal>"),
            direction('<pedal type="start"/>'),
            direction('<octave-shift type="down" size="8"/>'),
            tone,
            direction('<wedge type="crescendo"/>', "<offset>2</offset>"),
            direction('<words>poco</words></direction-type><direction-type><dashes type="start"/>'),
            tone,
            direction('<pedal type="change"/>'),
            direction('<wedge type="stop"/>'),
            tone,
            direction('<octave-shift type="stop" size="8"/>'),
            direction('<dashes type="stop"/>'),
            direction('<pedal type="stop"/>'),
            "<harmony><root><root-step>A</root-step></root><kind>minor-seventh</kind>"
            "<bass><bass-step>G</bass-step></bass></harmony>",
            tone,
            '<sound tempo="80"/>',
        )
    )
    sketch = read(score([bar(content, attributes=FOUR)]))
    assert sketch.ticks == 2
    assert sorted((m.kind, m.onset, m.end, m.staff, m.value, m.text) for m in sketch.marks) == [
        ("chord", 6, 6, 0, "Am7/G", ""),
        ("dynamic", 0, 0, 0, "mp", ""),
        ("ottava", 0, 6, 0, "8va", ""),
        ("pedal", 0, 4, 0, "", ""),
        ("pedal", 4, 6, 0, "", ""),
        ("rehearsal", 0, 0, -1, "A", ""),
        ("tempo", 0, 0, -1, "90", "Andante"),
        ("tempo", 8, 8, -1, "80", ""),
        ("wedge", 3, 4, 0, "crescendo", ""),
        ("words", 2, 6, 0, "poco", ""),
    ]
    assert sketch.lost == ()


@pytest.mark.parametrize("first", ("words", "metronome"))
def test_bold_words_at_a_bare_metronome_mark_are_its_own(first: str) -> None:
    words = direction('<words font-weight="bold">Held back</words>')
    metronome = direction(
        "<metronome><beat-unit>quarter</beat-unit><per-minute>66</per-minute></metronome>", '<sound tempo="66"/>'
    )
    both = words + metronome if first == "words" else metronome + words
    content = direction("<words>Ob solo</words>") + both + note("C4", 8, "half")
    later = direction('<words font-weight="bold">Vc</words>') + note("C4", 8, "half")
    marks = read(score([bar(content + later, attributes=FOUR)])).marks
    assert {(m.kind, m.onset, m.staff, m.value, m.text) for m in marks} == {
        ("tempo", 0, -1, "66", "Held back"),
        ("words", 0, 0, "Ob solo", ""),
        ("words", 2, 0, "Vc", ""),
    }


def test_a_hairpin_left_open_lasts_its_bar_and_is_told() -> None:
    content = direction('<wedge type="diminuendo"/>') + note("C4", 16, "whole")
    sketch = read(score([bar(content, attributes=FOUR)]))
    assert sketch.marks == (Mark("wedge", 0, sketch.end, 0, "diminuendo"),)
    assert sketch.lost == ("1 hairpin sign without its partner",)


def test_title_and_composer_of_the_head_and_of_the_page() -> None:
    tones = [bar(note("C4", 16, "whole"), attributes=FOUR)]
    head = (
        "<work><work-title>Suite</work-title></work><movement-title>Air</movement-title>"
        '<identification><creator type="composer">A. Nother</creator><creator type="lyricist">N. Body</creator>'
        "</identification>"
    )
    sketch = read(score(tones, head=head))
    assert (sketch.title, sketch.composer) == ("Suite: Air", "A. Nother")
    assert sketch.marks == (Mark("text", 0, 0, -1, "lyricist: N. Body"),)
    page = (
        '<credit page="1"><credit-words justify="center">Air</credit-words></credit>'
        '<credit page="1"><credit-words justify="right">A. Nother</credit-words></credit>'
    )
    sketch = read(score(tones, head=page))
    assert (sketch.title, sketch.composer, sketch.marks) == ("Air", "A. Nother", ())


def test_named_parts_are_strands_of_their_instrument() -> None:
    tones = [bar(note("C4", 16, "whole"), attributes=FOUR)]
    names = ["Horns", "Strings low", "Piano (right hand)", "MusicXML Part", ""]
    sketch = read(score(*[tones] * 5, names=names))
    assert [staff.hint for staff in sketch.staves] == ["Horns", "Strings low", "", "", ""]


def test_a_score_by_measures_is_the_same_sketch() -> None:
    bars = [
        [bar(note(p, 16, "whole"), str(k), FOUR) for k, p in enumerate(row, 1)] for row in (("C5", "D5"), ("C3", "B2"))
    ]
    by_parts = score(*bars)
    measures = "".join(
        f'<measure number="{k + 1}">'
        + "".join(
            f'<part id="P{p}">{rows[k].split(">", 1)[1].removesuffix("</measure>")}</part>'
            for p, rows in enumerate(bars)
        )
        + "</measure>"
        for k in range(2)
    )
    by_measures = (
        by_parts[: by_parts.index("<part id")].replace("partwise", "timewise") + measures + "</score-timewise>"
    )
    assert read(by_measures) == read(by_parts)
