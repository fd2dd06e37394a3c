"""Anyone's score as the checker hears it: instruments by many names, players, transposition, ties, time, marks."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from autoorch.check import check
from autoorch.check.limits import Limits
from autoorch.check.model import Score
from autoorch.check.names import Names
from autoorch.check.read import read_score
from autoorch.errors import SketchError
from autoorch.tables import DYNAMICS, load_tables
from tests.check.tiny import Part, document, written

LIMITS = Limits(load_tables())
NAMES = Names(load_tables())


def read(folder: Path, *parts: Part, tempo: float = 120) -> Score:
    return read_score(written(folder, *parts, tempo=tempo), LIMITS)


# Names printed in published scores in English, Italian, German and French (common practice).
SPOKEN = {
    "flute": "Flute 1; Flauto I; Flöte; 2 Flûtes; Fl.; Flauti; Große Flöten; Flute",
    "piccolo": "Piccolo; Flauto piccolo; Petite flûte; Kleine Flöte; Ottavino; Picc.",
    "oboe": "Oboe; Hautbois; Oboi; Oboen; Ob. 1",
    "cor_anglais": "English Horn; Cor anglais; Corno inglese; Englischhorn",
    "clarinet_bb": "Clarinet in Bb; Klarinette in B; Clarinetto; Clarinettes; B♭ Clarinet 1",
    "clarinet_a": "A Clarinet 1; Clarinet in A; Klarinetten in A; Clarinetti in La",
    "bass_clarinet": "Bass Clarinet; Baßklarinette; Clarinetto basso; Clarinette basse",
    "bassoon": "Bassoon; Fagott; Fagotti; Bassons; Fag.",
    "contrabassoon": "Contrabassoon; Kontrafagott; Contrafagotto; Contrebasson; Double Bassoon",
    "horn": "Horn in E; Corno; Corni in Es; Cor 1; Hörner; F Horn 3; Waldhorn; Hns.",
    "trumpet_c": "Trumpet; Tromba; Trompete; Trompettes; D Trumpet 2; Trombe in D",
    "trombone": "Trombone; Posaune; Tromboni; Alto Trombone",
    "bass_trombone": "Bass Trombone; Bassposaune; Trombone basso",
    "tuba": "Tuba; Basstuba; Bass Tuba",
    "timpani": "Timpani; Pauken; Timbales; Kettledrums; Timp.",
    "harp": "Harp; Harfe; Arpa; Harpes; Hp. 1",
    "glockenspiel": "Glockenspiel; Campanelli; Jeu de timbres",
    "violin": "Violin I; Violine II; Violino I; Violons; 1st Violin; Vln. 2; Violins II",
    "viola": "Viola; Bratsche; Viole; Bratschen; Vla.",
    "cello": "Violoncello; Cello; Violoncelli; Violoncelles; Vc.; Continuo",
    "double_bass": "Double Bass; Contrabass; Kontrabass; Contrebasses; Contrabbassi; Kb.; String Bass",
    "soprano": "Soprano; Sopran; Soprani; Soprano Oboe 1 Violin1",
    "tenor": "Tenor; Tenore; Ténors",
    "alto_saxophone": "Alto Saxophone; Altsaxophon; Alto Sax 1",
    "alto_flute": "Alto Flute; Altflöte",
}


@pytest.mark.parametrize("key", SPOKEN)
def test_instruments_are_known_by_many_names(key: str) -> None:
    heard = {name: (found.id if (found := NAMES.by_name(name)) else None) for name in SPOKEN[key].split("; ")}
    assert heard == dict.fromkeys(heard, key)


@pytest.mark.parametrize("name", ["Theremin", "Staff 3", "", "Xyz 1"])
def test_what_is_no_instrument_is_none(name: str) -> None:
    assert NAMES.by_name(name) is None


def test_an_unknown_instrument_is_said_and_not_judged(tmp_path: Path) -> None:
    report = check(written(tmp_path, ("Theremin", "[p] C1:4")))
    assert report.findings == ()
    assert report.notices == ("Theremin: instrument not recognised, its range and fluency are not checked",)


@pytest.mark.parametrize(
    ("name", "players"),
    [
        ("Flute 1", 1),
        ("Flute", 1),
        ("2 Flutes", 2),
        ("Flutes 1.2", 2),
        ("Horns I II", 2),
        ("Horn 1-4", 4),
        ("Horns in F 3, 4", 2),
        ("Trumpet 1,2", 2),
        ("Corni", 4),
        ("Oboe 3", 1),
        ("Horns 3", 1),
        ("Flute 12 & 13", 1),
        ("3 Tromboni", 3),
    ],
)
def test_how_many_players_a_name_means(name: str, players: int) -> None:
    assert NAMES.players(name, several=4) == players


def test_sounding_pitch_comes_from_the_transposition(tmp_path: Path) -> None:
    horn = "<transpose><diatonic>-4</diatonic><chromatic>-7</chromatic></transpose>"
    score = read(tmp_path, ("Horn in F", "G4:4", horn))
    assert (score.parts[0].notes[0].pitch, score.parts[0].notes[0].name) == (60, "C4")


def test_octave_transposers_without_a_transposition_are_heard_where_they_sound(tmp_path: Path) -> None:
    score = read(tmp_path, ("Piccolo", "E4:4"), ("Contrabass", "E2:4"))
    assert [part.notes[0].pitch for part in score.parts] == [76, 40]
    assert score.notices == ["Piccolo: no transposition in the file, taken to sound where Piccolo sounds"]


def test_the_clarinet_is_the_one_of_its_transposition(tmp_path: Path) -> None:
    in_a = "<transpose><diatonic>-2</diatonic><chromatic>-3</chromatic></transpose>"
    score = read(tmp_path, ("Clarinet", "E3:4", in_a))
    note = score.parts[0].notes[0]
    assert note.instrument is not None
    assert (note.instrument.id, note.pitch) == ("clarinet_a", 49)


def test_bass_is_a_voice_in_a_choir_and_a_double_bass_under_strings(tmp_path: Path) -> None:
    choir = read(tmp_path, ("Soprano", "C5:4"), ("Alto", "G4:4"), ("Tenor", "E4:4"), ("Bass", "C3:4"))
    strings = read(tmp_path, ("Violin I", "C5:4"), ("Viola", "G4:4"), ("Cello", "C3:4"), ("Bass", "C3:4"))
    assert [str(p.instrument.id) for s in (choir, strings) for p in s.parts[-1:] if p.instrument] == [
        "bass",
        "double_bass",
    ]


@pytest.mark.parametrize("other", ["Soprano", "Tenor"])
def test_bass_stays_a_voice_where_others_sing(other: str, tmp_path: Path) -> None:
    score = read(tmp_path, ("Violin I", "C5:4"), (other, "C5:4"), ("Bass", "C3:4"), ("Cello", "C3:4"))
    assert [part.kind for part in score.parts] == ["bowed", "voice", "voice", "bowed"]


def test_a_quartet_has_players_and_an_orchestra_sections(tmp_path: Path) -> None:
    quartet = [("Violin I", "C5:4"), ("Violin II", "C5:4"), ("Viola", "C4:4"), ("Cello", "C3:4")]
    assert [part.players for part in read(tmp_path, *quartet).parts] == [1, 1, 1, 1]
    assert [part.players for part in read(tmp_path, *quartet, ("Double Bass", "C3:4")).parts] == [0, 0, 0, 0, 0]


def test_ties_make_one_note_across_the_bar(tmp_path: Path) -> None:
    score = read(tmp_path, ("Oboe", "C5:3 D5:1~|D5:2^ E5:2"))
    assert [(n.name, n.at, n.until) for n in score.parts[0].notes] == [("C5", 0, 1.5), ("D5", 1.5, 3), ("E5", 3, 4)]
    assert [score.place(n.start) for n in score.parts[0].notes] == [("1", "1"), ("1", "4"), ("2", "3")]


def test_marks_hold_until_the_next(tmp_path: Path) -> None:
    music = "[p] {pizz.} {con sord.} C4:1 C4:1 {arco} [ff] C4:1 {senza sord.} C4:1"
    notes = read(tmp_path, ("Violins I", music)).parts[0].notes
    assert [note.pizz for note in notes] == [True, True, False, False]
    assert [note.muted for note in notes] == [True, True, True, False]
    assert [DYNAMICS[note.dynamic] for note in notes if note.dynamic is not None] == ["p", "p", "ff", "ff"]


def test_players_of_a_shared_stave_come_and_go(tmp_path: Path) -> None:
    part = read(tmp_path, ("2 Oboes", "{1.} C5:1 {a2} C5:1 C5+E5:2")).parts[0]
    assert (part.players, [note.players for note in part.notes]) == (2, [1, 0, 0, 0])


def test_a_stave_for_one_that_says_a2_is_for_two(tmp_path: Path) -> None:
    assert [read(tmp_path, ("Oboe", f"{words}C5+E5:4")).parts[0].players for words in ("", "{a2} ")] == [1, 2]


@pytest.mark.parametrize(
    ("sound", "key"),
    [
        ("wind.flutes.flute.alto", "alto_flute"),
        ("wind.flutes.flute.baroque", "flute"),
        ("brass.trumpet.bflat", "trumpet_bb"),
        ("brass.trumpet.baroque", "trumpet_c"),
        ("strings.violin", "violin"),
        ("strings.viola", "viola"),
        ("metal.hubcap", None),
    ],
)
def test_a_sound_id_means_an_instrument_or_its_nearest_relative(sound: str, key: str | None) -> None:
    found = NAMES.by_sound(sound)
    assert (found.id if found else None) == key


def test_hairpins_move_the_dynamic_by_a_degree_where_no_mark_follows(tmp_path: Path) -> None:
    music = "[p] C4:1 < D4:1 = E4:1 > F4:1 = G4:1 > A4:1 [ff] B4:1 < = C5:1 < = D5:1"
    notes = read(tmp_path, ("Oboe", music)).parts[0].notes
    levels = [DYNAMICS[note.dynamic] for note in notes if note.dynamic is not None]
    assert levels == ["p", "p", "mp", "mp", "p", "p", "ff", "fff", "fff"]


def test_dynamics_by_any_name_and_words_that_are_none(tmp_path: Path) -> None:
    music = "C4:1 [sfz] C4:1 {mf dolce} C4:1 [fp] C4:1 [other] C4:1 {n} C4:1 [n] C4:1"
    path = written(tmp_path, ("Oboe", music))
    path.write_text(path.read_text("utf-8").replace("<other/>", "<other-dynamics>ffff</other-dynamics>"), "utf-8")
    levels = [note.dynamic for note in read_score(path, LIMITS).parts[0].notes]
    assert [None if k is None else DYNAMICS[k] for k in levels] == [None, None, "mf", "p", "fff", "fff", "ppp"]


@pytest.mark.parametrize(
    ("mark", "quarters"),
    [
        ("<beat-unit>quarter</beat-unit><per-minute>72</per-minute>", 72),
        ("<beat-unit>half</beat-unit><per-minute>66</per-minute>", 132),
        ("<beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>60</per-minute>", 90),
        ("<beat-unit>eighth</beat-unit><per-minute>c. 100-112</per-minute>", 50),
    ],
)
def test_the_tempo_comes_from_a_metronome_mark_too(mark: str, quarters: float, tmp_path: Path) -> None:
    path = written(tmp_path, ("Oboe", "{X} C5:4"), tempo=0)
    text = path.read_text("utf-8").replace("<words>X</words>", f"<metronome>{mark}</metronome>")
    path.write_text(text, "utf-8")
    score = read_score(path, LIMITS)
    assert (score.timed, score.tempos, score.notices) == (True, [(0, quarters)], [])


def test_beats_are_counted_in_the_unit_of_the_metre(tmp_path: Path) -> None:
    path = written(tmp_path, ("Oboe", "C5:1.5 D5:0.75 E5:0.75"), beats=6)
    path.write_text(path.read_text("utf-8").replace("<beat-type>4<", "<beat-type>8<"), "utf-8")
    score = read_score(path, LIMITS)
    assert [score.place(note.start) for note in score.parts[0].notes] == [("1", "1"), ("1", "4"), ("1", "5.5")]


def test_bars_without_numbers_are_counted_and_staves_by_words_are_one(tmp_path: Path) -> None:
    path = written(tmp_path, ("Oboe", "C5:4|_D5:4"))
    plain = path.read_text("utf-8").replace(' number="1"', "").replace(' number="2"', "")
    path.write_text(plain.replace("<staff>2<", "<staff>left<"), "utf-8")
    score = read_score(path, LIMITS)
    assert [score.place(note.start)[0] for note in score.parts[0].notes] == ["1", "2"]
    assert [note.staff for note in score.parts[0].notes] == [1, 1]


def test_only_the_same_pitch_is_tied_on(tmp_path: Path) -> None:
    notes = read(tmp_path, ("Oboe", "C5:1^ D5:1~ E5:1^ D5:1^")).parts[0].notes
    assert [(note.name, note.until - note.at) for note in notes] == [("C5", 0.5), ("D5", 0.5), ("E5", 0.5), ("D5", 0.5)]


def test_a_stave_says_another_instrument_by_its_full_name(tmp_path: Path) -> None:
    notes = (
        read(tmp_path, ("Flute", "C5:1 {Violin} C5:1 {Piccolo} C6:1 {sweet as a Flute} C6:1 {Flute} C5:1"))
        .parts[0]
        .notes
    )
    assert [note.instrument.id for note in notes if note.instrument] == [
        "flute",
        "flute",
        "piccolo",
        "piccolo",
        "flute",
    ]


def test_a_time_wise_score_is_the_same_score(tmp_path: Path) -> None:
    body = "<attributes><divisions>1</divisions></attributes>"
    note = "<note><pitch><step>C</step><octave>{}</octave></pitch><duration>4</duration></note>"
    parts = "".join(f'<part id="{key}">{body}{note.format(octave)}</part>' for key, octave in (("P1", 5), ("P2", 3)))
    bars = "".join(f'<measure number="{bar}">{parts}</measure>' for bar in (1, 2))
    listed = (("P1", "Oboe"), ("P2", "Fagott"))
    names = "".join(f'<score-part id="{key}"><part-name>{name}</part-name></score-part>' for key, name in listed)
    path = tmp_path / "timewise.xml"
    path.write_text(f"<score-timewise><part-list>{names}</part-list>{bars}</score-timewise>", encoding="utf-8")
    score = read_score(path, LIMITS)
    assert [(part.name, [note.pitch for note in part.notes]) for part in score.parts] == [
        ("Oboe", [72, 72]),
        ("Fagott", [48, 48]),
    ]
    assert [bar.number for bar in score.bars] == ["1", "2"]


def test_a_compressed_score_is_the_same_score(tmp_path: Path) -> None:
    part: Part = ("Flute", "[mf] A3:4")
    with zipfile.ZipFile(tmp_path / "tiny.mxl", "w") as archive:
        archive.writestr(
            "META-INF/container.xml", '<container><rootfiles><rootfile full-path="s.xml"/></rootfiles></container>'
        )
        archive.writestr("s.xml", document(part))
    packed, plain = check(tmp_path / "tiny.mxl"), check(written(tmp_path, part))
    assert packed.findings == plain.findings != ()


WRONG = {
    "not a score": ("<html/>", "is no MusicXML score"),
    "no notes": (document(("Flute", "r:4")), "has no notes"),
    "no parts": ("<score-partwise><part-list/></score-partwise>", "has no parts"),
    "cut off": (document(("Flute", "C4:4"))[:-40], "is broken XML"),
    "text": ("a song", "is no MusicXML score"),
    "octave": (document(("Flute", "C4:4")).replace("<octave>4", "<octave>300"), "no pitch"),
    "too high": (document(("Flute", "C9:4")).replace("<octave>9", "<octave>10"), "beyond all hearing"),
    "letter": (document(("Flute", "C4:4")).replace("<step>C", "<step>H"), "no pitch"),
    "divisions": (document(("Flute", "C4:4")).replace("<divisions>480", "<divisions>0"), "make no sense"),
    "length": (document(("Flute", "C4:4")).replace("<duration>1920", "<duration>ten"), "is no number"),
    "huge": (document(("Flute", "C4:4")).replace("<duration>1920", "<duration>99999999"), "quarters long"),
    "entities": ('<!DOCTYPE x [<!ENTITY a "b">]>' + document(("Flute", "C4:4")).split("?>", 1)[1], "entities"),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_is_no_score_is_said_in_one_line(what: str, tmp_path: Path) -> None:
    text, said = WRONG[what]
    path = tmp_path / "wrong.musicxml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SketchError, match=said) as caught:
        check(path)
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("wrong.musicxml")


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(SketchError, match="there is no such file"):
        check(tmp_path / "none.musicxml")
