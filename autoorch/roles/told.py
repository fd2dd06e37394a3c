"""A reading as text (reading.toml): every field readable, places as bars and beats, notes with their pitches."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from pathlib import Path

from autoorch.roles.model import Chord, Cue, Entry, Leader, Moment, Phrase, Reading, Strand
from autoorch.roles.names import key_name, name_of, quoted
from autoorch.roles.places import Places
from autoorch.sketch.model import Sketch

_HEAD = """\
# The reading of the sketch. Change what is wrong and give it back: autoorch draft SKETCH --reading reading.toml
# Places are bar, or bar and beat: "9", "9.3", "9.3+1/2" (half a beat after beat 3), "end".
# What is marked as proposed stands nowhere in the sketch: set it, and write false.
# Every note stands in exactly one line of one strand; to move a note, move its name with its pitch. A line has one note
# at a time. Roles: melody, counterline, bass, pedal, inner, figure, rhythm.
"""
_CHORDS = """
# Chords: pitch classes, root first; foreign: notes that begin in it and are no members, each with what it does."""
_CUES = """
# Written cues: what the sketch asks for in words, from there to there, on that staff (1 is the highest, 0 is all of them).
# asks: a role, then prefer, must, avoid or only with players, octave, technique: "melody prefer Horns; octave +1; con sord".
# weight: how much should sound there, 0 to 1 ("tutti").
# A cue that asks for nothing was not understood: give it something to ask for, or leave it."""


_ENTRIES = """
# Entries: notes that take up a subject (fugue, canon); interval: semitones above its first entry."""
_LEADERS = """
# Leaders: the strand that is most prominent, from bar to bar."""


def reading_text(reading: Reading, sketch: Sketch) -> str:
    """The reading as TOML."""
    places = Places(sketch)
    rows = [
        _HEAD,
        f"key = {quoted(key_name(reading.key, sketch.bars[0].fifths))}",
        f"tempo = {float(reading.tempo)!r}  # quarters a minute",
        f"tempo_proposed = {_bool(reading.tempo_proposed)}",
        *_texts("queries", reading.queries),
        *_texts("notices", reading.notices),
    ]
    for phrase in reading.phrases:
        rows += _phrase(phrase, places)
    for strand in reading.strands:
        rows += _strand(strand, sketch, places)
    rows.append(_CHORDS)
    for chord in reading.chords:
        rows += _chord(chord, sketch, places)
    for moment in reading.moments:
        rows += _moment(moment, places)
    if reading.entries:
        rows.append(_ENTRIES)
    for entry in reading.entries:
        rows += _entry(entry, sketch, places)
    rows.append(_LEADERS)
    for leader in reading.leaders:
        rows += _leader(leader, places)
    if reading.cues:
        rows.append(_CUES)
    for cue in reading.cues:
        rows += _cue(cue, places)
    return "\n".join(rows) + "\n"


def write_reading(reading: Reading, sketch: Sketch, path: Path) -> None:
    """The reading as a file."""
    path.write_text(reading_text(reading, sketch), "utf-8", newline="\n")


def _phrase(phrase: Phrase, places: Places) -> list[str]:
    rows = ["", "[[phrase]]", *_from_to(phrase.start, phrase.end, places)]
    rows += _given(section=phrase.section, label=phrase.label, cadence=phrase.cadence)
    rows += [f"dynamic = {quoted(phrase.dynamic)}", f"dynamic_proposed = {_bool(phrase.dynamic_proposed)}"]
    rows += _given(character=phrase.character)
    return [*rows, f"character_proposed = {_bool(phrase.character_proposed)}"]


def _strand(strand: Strand, sketch: Sketch, places: Places) -> list[str]:
    rows = ["", "[[strand]]", f"id = {quoted(strand.id)}", f"role = {quoted(strand.role)}"]
    rows += _given(texture=strand.texture, hint=strand.hint)
    if strand.cuts:
        rows.append(f"cuts = [{', '.join(quoted(places.told(cut)) for cut in strand.cuts)}]")
    for line in strand.lines:
        rows += ["[[strand.line]]", f"id = {quoted(line.id)}", *_notes(line.notes, sketch, places)]
    return rows


def _notes(ids: Iterable[str], sketch: Sketch, places: Places) -> list[str]:
    rows = ["notes = ["]
    for bar, notes in groupby(ids, key=lambda note: places.bar(sketch.by_id[note].onset)):
        told = " ".join(f"{note}({sketch.by_id[note].pitch})" for note in notes)
        rows.append(f"  {quoted(told)},  # bar {bar}")
    return [*rows, "]"]


def _chord(chord: Chord, sketch: Sketch, places: Places) -> list[str]:
    near = sketch.bar_at(chord.start).fifths

    def names(classes: Iterable[int]) -> str:
        return " ".join(name_of(degree, chord.key, near) for degree in classes)

    rows = ["[[chord]]", *_from_to(chord.start, chord.end, places), f"key = {quoted(key_name(chord.key, near))}"]
    rows += _given(numeral=chord.numeral, bass=names([chord.bass]))
    rows += _given(root=names([] if chord.root is None else [chord.root]))
    rows += _given(third=names([] if chord.third is None else [chord.third]))
    rows += _given(members=names(chord.members), tendency=names(chord.tendency))
    if chord.foreign:
        rows.append(f"foreign = [{_list(f'{note} {kind}' for note, kind in chord.foreign)}]")
    return rows + (["borrowed = true"] if chord.borrowed else [])


def _moment(moment: Moment, places: Places) -> list[str]:
    rows = ["", "[[moment]]", f"at = {quoted(places.told(moment.onset))}", f"kind = {quoted(moment.kind)}"]
    return [*rows, *_given(what=moment.what), f"strength = {float(moment.strength)!r}"]


def _entry(entry: Entry, sketch: Sketch, places: Places) -> list[str]:
    rows = ["[[entry]]", f"subject = {entry.subject}", f"interval = {entry.interval}"]
    return rows + _notes(entry.notes, sketch, places)


def _leader(leader: Leader, places: Places) -> list[str]:
    return ["[[leader]]", *_from_to(leader.start, leader.end, places), f"strand = {quoted(leader.strand)}"]


def _cue(cue: Cue, places: Places) -> list[str]:
    rows = ["[[cue]]", *_from_to(cue.start, cue.end, places), f"staff = {cue.staff + 1}", f"text = {quoted(cue.text)}"]
    rows += [] if cue.weight is None else [f"weight = {float(cue.weight)!r}"]
    asks = (f"{direction.role} {direction.wishes}".strip() for direction in cue.directions)
    return rows + ([f"asks = [{_list(asks)}]"] if cue.directions else [])


def _from_to(start: int, end: int, places: Places) -> list[str]:
    return [f"from = {quoted(places.told(start))}", f"to = {quoted(places.told(end))}"]


def _list(texts: Iterable[str]) -> str:
    return ", ".join(quoted(text) for text in texts)


def _given(**texts: str) -> list[str]:
    """Rows for those texts that are not empty."""
    return [f"{key} = {quoted(text)}" for key, text in texts.items() if text]


def _texts(key: str, texts: tuple[str, ...]) -> list[str]:
    return [f"{key} = [", *(f"  {quoted(text)}," for text in texts), "]"] if texts else []


def _bool(value: bool) -> str:
    return "true" if value else "false"
