"""The instruments against published figures: where sources and table differ, the difference is named and chosen.

Data and their sources: the first lines of the files in tests/outside/data.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pretty_midi
import pytest
from music21 import instrument as music21_instrument

from autoorch.instruments import Instrument
from autoorch.pitch import parse
from autoorch.tables import load_tables

DATA = Path(__file__).parent / "data"
ALL = load_tables().instruments
PITCHED = [each for each in ALL.values() if each.kind != "unpitched"]


def rows(name: str) -> list[dict[str, str]]:
    lines = (DATA / name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def span(row: dict[str, str], instrument: Instrument) -> tuple[int, int]:
    """Sounding MIDI numbers of a published range."""
    down = instrument.transposition[1] if row.get("pitch") == "written" else 0
    return parse(row["low"]).midi - down, parse(row["high"]).midi - down


# Where abjad's range is not ours: (abjad's, ours) as edge -> pitches, and why.
ABJAD_DIFFERS = {
    "flute": ("C4 D7", "B3 D7", "B foot, common though not universal (two handbooks, the corpus minimum is B3)"),
    "clarinet_eb": ("F3 C7", "G3 C7", "lowest written note is E3, which sounds G3"),
    "bass_clarinet": ("Bb1 G5", "Bb1 F5", "written G6 sounds F5; abjad's top would be written A6"),
    "baritone_saxophone": ("C2 Ab4", "C2 A4", "written F#6 as on the other saxophones"),
    "bassoon": ("Bb1 Eb5", "Bb1 E5", "the corpus maximum is E5"),
    "contrabassoon": ("Bb0 Bb4", "Bb0 Bb3", "abjad's top is an octave beyond practice; corpus maximum A3"),
    "trombone": ("E2 Eb5", "C2 F5", "F attachment below; F5 in a handbook and in the corpus"),
    "bass_trombone": ("C2 F4", "Bb0 C5", "pedal notes; corpus maximum F#4"),
    "tuba": ("D1 F4", "D1 G4", "a soloist's G4 allowed as extreme, never as normal"),
    "glockenspiel": ("G5 C8", "F5 F8", "large instruments (percussion maker's table)"),
    "xylophone": ("C4 C7", "C4 C8", "two sources have C8; abjad's is a smaller make"),
    "vibraphone": ("F3 F6", "C3 F6", "four-octave instruments (percussion maker's table)"),
    "marimba": ("F2 C7", "C2 C7", "five-octave instruments (percussion maker's table)"),
    "soprano": ("C4 E6", "C4 A5", "abjad has soloists; these are choirs"),
    "alto": ("F3 G5", "F3 F5", "abjad has soloists; these are choirs"),
    "tenor": ("C3 D5", "C3 A4", "abjad has soloists; these are choirs"),
    "bass": ("E2 F4", "D2 E4", "abjad has soloists; a choir's second basses reach D2"),
    "violin": ("G3 G7", "G3 A7", "two lists have A7"),
    "viola": ("C3 D6", "C3 E6", "two lists have E6"),
    "cello": ("C2 G5", "C2 C6", "C6 in a handbook; the corpus maximum is Eb6"),
    "double_bass": ("C1 G4", "C1 C4", "G4 is a soloist's"),
}


@pytest.mark.parametrize("row", rows("abjad_ranges.csv"), ids=lambda row: row["instrument"])
def test_extreme_ranges_against_abjad(row: dict[str, str]) -> None:
    instrument = ALL[row["instrument"]]
    theirs = span(row, instrument)
    if instrument.id not in ABJAD_DIFFERS:
        assert theirs == instrument.extreme
        return
    named, ours, _ = ABJAD_DIFFERS[instrument.id]
    assert tuple(parse(name).midi for name in named.split()) == theirs
    assert tuple(parse(name).midi for name in ours.split()) == instrument.extreme
    assert theirs != instrument.extreme


@pytest.mark.parametrize("row", rows("abjad_ranges.csv"), ids=lambda row: row["instrument"])
def test_transpositions_against_abjad(row: dict[str, str]) -> None:
    sounding = parse(row["middle_c"])
    assert str(ALL[row["instrument"]].written(sounding)) == "C4"


@pytest.mark.parametrize("row", rows("handbook_ranges.csv"), ids=lambda row: f"{row['instrument']}-{row['source']}")
def test_no_published_range_reaches_beyond_the_extreme(row: dict[str, str]) -> None:
    instrument = ALL[row["instrument"]]
    low, high = span(row, instrument)
    assert row["source"] in instrument.sources
    assert instrument.extreme[0] <= low < high <= instrument.extreme[1]


# Extremes that no list here has, by instrument and edge, and where they come from.
OUR_OWN_EDGES = {
    ("baritone_saxophone", "high"): "A4: written F#6, as on the other saxophones",
    ("bassoon", "high"): "E5: corpus maximum",
    ("contrabassoon", "high"): "Bb3: memory, just above the corpus maximum A3",
    ("clarinet_eb", "low"): "G3: written E3",
    ("trombone", "low"): "C2: F attachment",
    ("bass_trombone", "low"): "Bb0: pedal notes, memory",
    ("bass_trombone", "high"): "C5: memory",
    ("tuba", "high"): "G4: memory",
    ("vibraphone", "low"): "C3: the same maker's largest instrument",
    ("trumpet_bb", "high"): "D6: as the trumpet in C",
}
NO_LIST = {"cornet", "euphonium", "celesta", "organ"}


@pytest.mark.parametrize("instrument", PITCHED, ids=lambda each: each.id)
def test_every_extreme_edge_is_somebody_s(instrument: Instrument) -> None:
    published = [
        span(row, instrument)
        for name in ("abjad_ranges.csv", "handbook_ranges.csv")
        for row in rows(name)
        if row["instrument"] == instrument.id
    ]
    assert bool(published) != (instrument.id in NO_LIST)
    if not published:
        assert "memory" in instrument.sources
        return
    for edge, name in enumerate(("low", "high")):
        backed = instrument.extreme[edge] in {each[edge] for each in published}
        assert backed != ((instrument.id, name) in OUR_OWN_EDGES)


@pytest.mark.parametrize("row", rows("corpus_ranges.csv"), ids=lambda row: row["instrument"])
def test_what_the_masters_wrote_lies_in_the_extreme_range(row: dict[str, str]) -> None:
    low, high = ALL[row["instrument"]].extreme
    assert low <= parse(row["p1"]).midi < parse(row["p99"]).midi <= high


# Ninety-eight notes in a hundred also lie in the normal range, but for these: (edge, why).
CORPUS_BEYOND_NORMAL = {
    "contrabassoon": ("high", "written at the basses' pitch in old scores"),
    "horn": ("high", "high natural horns; Eb5 is a semitone above normal"),
    "trumpet_bb": ("low", "F3 on natural trumpets"),
    "trombone": ("high", "C5 on alto trombones"),
}


@pytest.mark.parametrize("row", rows("corpus_ranges.csv"), ids=lambda row: row["instrument"])
def test_what_the_masters_wrote_against_the_normal_range(row: dict[str, str]) -> None:
    low, high = ALL[row["instrument"]].normal
    beyond = [
        edge for edge, out in (("low", parse(row["p1"]).midi < low), ("high", parse(row["p99"]).midi > high)) if out
    ]
    named = CORPUS_BEYOND_NORMAL.get(row["instrument"])
    assert beyond == ([named[0]] if named else [])


MUSIC21 = {
    "piccolo": "Piccolo", "flute": "Flute", "oboe": "Oboe", "cor_anglais": "EnglishHorn", "clarinet_bb": "Clarinet",
    "bass_clarinet": "BassClarinet", "soprano_saxophone": "SopranoSaxophone", "alto_saxophone": "AltoSaxophone",
    "tenor_saxophone": "TenorSaxophone", "baritone_saxophone": "BaritoneSaxophone", "bassoon": "Bassoon",
    "contrabassoon": "Contrabassoon", "horn": "Horn", "trumpet_bb": "Trumpet", "trombone": "Trombone",
    "bass_trombone": "BassTrombone", "tuba": "Tuba", "timpani": "Timpani", "glockenspiel": "Glockenspiel",
    "xylophone": "Xylophone", "vibraphone": "Vibraphone", "marimba": "Marimba", "tubular_bells": "TubularBells",
    "harp": "Harp", "celesta": "Celesta", "piano": "Piano", "organ": "PipeOrgan", "guitar": "AcousticGuitar",
    "soprano": "Soprano", "alto": "Alto", "tenor": "Tenor", "bass": "Bass", "violin": "Violin", "viola": "Viola",
    "cello": "Violoncello", "double_bass": "Contrabass",
}  # fmt: skip
# music21 10.5.1 gives these no transposition; the trade writes them one or two octaves away (common practice).
MUSIC21_UNTRANSPOSED = {"contrabassoon", "glockenspiel", "xylophone", "celesta", "guitar"}
# Lowest notes, music21's written one against ours as written, and why.
MUSIC21_LOWEST = {
    "flute": ("C4", "B3", "B foot"),
    "bass_clarinet": ("Eb3", "C3", "low C instruments (handbook)"),
    "baritone_saxophone": ("Bb3", "A3", "low A key (abjad too)"),
    "horn": ("C2", "F#2", "pedal notes left out; F#2 in two sources"),
    "trombone": ("E2", "C2", "F attachment"),
    "bass_trombone": ("Bb1", "Bb0", "pedal notes"),
    "harp": ("C1", "B0", "the C string flat"),
    "double_bass": ("E2", "C2", "C extension"),
}


@pytest.mark.parametrize("name", sorted(MUSIC21))
def test_transpositions_against_music21(name: str) -> None:
    theirs = getattr(music21_instrument, MUSIC21[name])().transposition
    ours = ALL[name].transposition
    if name in MUSIC21_UNTRANSPOSED:
        assert theirs is None
        assert ours in ((7, 12), (-7, -12), (-14, -24))
    elif theirs is None:
        assert ours == (0, 0)
    else:
        steps = theirs.diatonic.generic.undirected - 1
        assert ours == (-steps if theirs.semitones > 0 else steps, -theirs.semitones)


@pytest.mark.parametrize("name", sorted(MUSIC21))
def test_lowest_notes_against_music21(name: str) -> None:
    lowest = getattr(music21_instrument, MUSIC21[name])().lowestNote
    if lowest is None:
        assert ALL[name].family in ("percussion", "keyboard", "voice")
        return
    theirs = lowest.midi
    if name == "guitar":  # music21's E2 is the sounding note, for want of a transposition
        theirs += 12
    ours = ALL[name].extreme[0] + ALL[name].transposition[1]
    if name in MUSIC21_LOWEST:
        assert (theirs, ours) == tuple(parse(each).midi for each in MUSIC21_LOWEST[name][:2])
    else:
        assert theirs == ours


def test_sound_ids_stand_in_the_standard() -> None:
    standard = set((DATA / "musicxml_sounds.txt").read_text("utf-8").splitlines()[1:])
    assert len(standard) == 894
    assert {each.id: each.sound for each in ALL.values() if each.sound not in standard} == {}
    assert len({each.sound for each in ALL.values()}) == len(ALL)


# Names of General MIDI level 1, as pretty_midi prints them; instruments without a program of their own take the parent's.
PROGRAMS = {
    "Piccolo": "piccolo", "Flute": "flute alto_flute", "Oboe": "oboe", "English Horn": "cor_anglais",
    "Clarinet": "clarinet_eb clarinet_bb clarinet_a bass_clarinet", "Soprano Sax": "soprano_saxophone",
    "Alto Sax": "alto_saxophone", "Tenor Sax": "tenor_saxophone", "Baritone Sax": "baritone_saxophone",
    "Bassoon": "bassoon contrabassoon", "French Horn": "horn", "Trumpet": "trumpet_bb trumpet_c cornet flugelhorn",
    "Trombone": "trombone bass_trombone", "Tuba": "euphonium tuba", "Timpani": "timpani",
    "Glockenspiel": "glockenspiel crotales", "Xylophone": "xylophone", "Vibraphone": "vibraphone", "Marimba": "marimba",
    "Tubular Bells": "tubular_bells", "Orchestral Harp": "harp", "Acoustic Guitar (nylon)": "guitar", "Celesta": "celesta",
    "Acoustic Grand Piano": "piano", "Church Organ": "organ", "Choir Aahs": "soprano alto tenor bass", "Violin": "violin",
    "Viola": "viola", "Cello": "cello", "Contrabass": "double_bass",
}  # fmt: skip
KEYS = {
    "triangle": "Open Triangle", "tambourine": "Tambourine", "snare_drum": "Acoustic Snare", "cymbals": "Crash Cymbal 1",
    "suspended_cymbal": "Crash Cymbal 2", "tam_tam": "Chinese Cymbal", "bass_drum": "Bass Drum 1",
}  # fmt: skip


def test_general_midi_programs_and_keys() -> None:
    wanted = {name: program for program, names in PROGRAMS.items() for name in names.split()}
    assert {each.id: pretty_midi.program_to_instrument_name(each.gm - 1) for each in PITCHED} == wanted
    drums = {each.id: pretty_midi.note_number_to_drum_name(each.gm_key) for each in ALL.values() if each.gm == 0}
    assert drums == KEYS
    sections = {each.id for each in PITCHED if each.gm_section != each.gm}
    assert {pretty_midi.program_to_instrument_name(ALL[name].gm_section - 1) for name in sections} == {
        "String Ensemble 1"
    }


# music21 says Voice Oohs for voices and has no program for crotales and the like; the trade's mock-ups use Choir Aahs.
@pytest.mark.parametrize("name", sorted(MUSIC21))
def test_general_midi_programs_against_music21(name: str) -> None:
    theirs = getattr(music21_instrument, MUSIC21[name])().midiProgram + 1
    assert theirs == (54 if ALL[name].family == "voice" else ALL[name].gm)
