"""Scores read back by programs that are not ours, each as notes a part that can be compared.

A note is (onset in quarters from the beginning, sounding or written length in quarters, MIDI number); tied notes are one.
Grace notes have no length and are left out, except from verovio's count.
"""

from __future__ import annotations

import shutil
import subprocess
import warnings
from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from autoorch.pitch import Pitch
from autoorch.score.model import Score

Notes = Counter[tuple[Fraction, Fraction, int]]
STROKE = -1
FINEST = 65535
"""Largest denominator of music21's times."""


class _Ties:
    """Notes that are held on, by whatever tells them apart; two voices may hold the same pitch."""

    def __init__(self) -> None:
        self._open: dict[Hashable, list[tuple[Fraction, Fraction]]] = defaultdict(list)

    def start(self, key: Hashable, onset: Fraction, length: Fraction) -> None:
        self._open[key].append((onset, length))

    def stop(self, key: Hashable, onset: Fraction) -> tuple[Fraction, Fraction]:
        """(onset, length so far) of a note that ends where this one begins."""
        found = next((held for held in self._open[key] if sum(held) == onset), None)
        assert found is not None, f"no tie of {key} leads to {onset}: {self._open[key]}"
        self._open[key].remove(found)
        return found

    def left(self) -> list[Hashable]:
        return [key for key, held in self._open.items() if held]


def notes_of(score: Score, written: bool = False) -> list[Notes]:
    """The score's own notes a part, at sounding or at written pitch; strokes of unpitched percussion are STROKE, and left out
    at written pitch (partitura lists only what has a pitch). MusicXML 4.0 draws the ties of cue notes (`tied`) and has no
    sounding tie for them, so each is a note of its own."""
    found = []
    for part in score.parts:
        own: Notes = Counter()
        strokes = part.player.instrument.kind == "unpitched"
        ties = _Ties()
        for bar, measure in zip(score.bars, part.measures, strict=True):
            for staff, voice in zip(measure.staff_of, measure.voices, strict=True):
                for event in voice:
                    if event.grace:
                        continue
                    onset = Fraction(bar.onset + event.onset, score.ticks)
                    length = Fraction(event.duration, score.ticks)
                    for head in () if strokes and written else event.heads:
                        pitch = STROKE if strokes else (head.written if written else head.sounding).midi
                        key = (staff, pitch)
                        start, before = (
                            ties.stop(key, onset) if head.tie_stop and not event.cue else (onset, Fraction(0))
                        )
                        if head.tie_start and not event.cue:
                            ties.start(key, start, before + length)
                        else:
                            own[start, before + length, pitch] += 1
        assert not ties.left(), f"ties of {part.name} lead nowhere: {ties.left()}"
        found.append(own)
    return found


def notes_music21(path: Path) -> list[Notes]:
    """At sounding pitch, as music21 reads the file."""
    from music21 import converter, note

    stream = converter.parse(path, forceSource=True).toSoundingPitch()
    found = []
    for staves in _music21_parts(stream):
        own: Notes = Counter()
        for staff in staves:
            ties = _Ties()
            for element in staff.flatten().notes:
                if element.duration.isGrace:
                    continue
                onset, length = _exact(element.offset), _exact(element.quarterLength)
                for one in element.notes if element.isChord else [element]:
                    if not isinstance(one, note.Note | note.Unpitched):
                        continue
                    pitch = one.pitch.midi if isinstance(one, note.Note) else STROKE
                    kind, start, before = one.tie.type if one.tie else "", onset, Fraction(0)
                    if kind in ("continue", "stop"):
                        start, before = ties.stop(pitch, onset)
                    if kind in ("start", "continue"):
                        ties.start(pitch, start, before + length)
                    else:
                        own[start, before + length, pitch] += 1
        found.append(own)
    return found


def _music21_parts(stream: Any) -> list[list[Any]]:
    """The staves of each part of the file (music21 makes two parts of the two staves of one)."""
    from music21 import layout
    from music21.stream import PartStaff

    groups = [list(g.getSpannedElements()) for g in stream.getElementsByClass(layout.StaffGroup) if g.symbol == "brace"]
    pairs = [staves for staves in groups if len(staves) == 2 and all(isinstance(staff, PartStaff) for staff in staves)]
    joined = {id(staves[0]): staves for staves in pairs}
    found: list[list[Any]] = []
    taken: set[int] = set()
    for part in stream.parts:
        if id(part) not in taken:
            found.append(joined.get(id(part), [part]))
            taken.update(id(staff) for staff in found[-1])
    return found


def notes_partitura(path: Path) -> list[Notes]:
    """At written pitch, as partitura reads the file."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura

        score = partitura.load_musicxml(str(path))
    found = []
    for part in score.parts:
        own: Notes = Counter()
        table = part.note_array()
        per_quarter = part.quarter_durations()[0][1]
        start = min((p.start.t for p in part.measures), default=0)
        for row in table:
            if row["duration_div"] == 0:
                continue
            onset = Fraction(int(row["onset_div"]) - start, int(per_quarter))
            own[onset, Fraction(int(row["duration_div"]), int(per_quarter)), int(row["pitch"])] += 1
        found.append(own)
    return found


def notes_verovio(path: Path) -> list[Counter[int]]:
    """Written MIDI numbers of all heads a part (grace notes and tied ones too), as verovio has them in its MEI."""
    import verovio
    from lxml import etree

    toolkit = verovio.toolkit()
    toolkit.setOptions({"xmlIdSeed": 1})
    assert toolkit.loadFile(str(path))
    mei = etree.fromstring(toolkit.getMEI().encode())
    space = "{http://www.music-encoding.org/ns/mei}"
    part_of: dict[str, int] = {}
    found: list[Counter[int]] = []
    score_def = mei.find(f".//{space}scoreDef")
    for element in score_def.iter(f"{space}staffDef", f"{space}staffGrp"):
        if (element.get("{http://www.w3.org/XML/1998/namespace}id") or "").startswith("P"):
            for own in element.iter(f"{space}staffDef"):
                part_of[own.get("n")] = len(found)
            found.append(Counter())
    for staff in mei.iter(f"{space}staff"):
        for note in staff.iter(f"{space}note"):
            if note.get("pname") is None:
                continue
            sign = note.find(f"{space}accid")
            alter = note.get("accid.ges") or note.get("accid")
            if alter is None and sign is not None:
                alter = sign.get("accid.ges") or sign.get("accid")
            pitch = Pitch(note.get("pname").upper(), _MEI_ALTER.get(alter or "n", 0), int(note.get("oct")))
            found[part_of[staff.get("n")]][pitch.midi] += 1
    return found


_MEI_ALTER = {"s": 1, "f": -1, "ss": 2, "x": 2, "ff": -2, "n": 0, "xs": 3, "tf": -3}


def heads_of(score: Score) -> list[Counter[int]]:
    """Written MIDI numbers of all heads a part, grace notes and tied ones too, strokes of unpitched percussion left out."""
    return [
        Counter(
            head.written.midi
            for measure in part.measures
            for voice in measure.voices
            for event in voice
            for head in event.heads
            if part.player.instrument.kind != "unpitched"
        )
        for part in score.parts
    ]


def musicxml2ly_ok(path: Path, folder: Path) -> str:
    """ "" if LilyPond's converter takes the file without an error, else what it said."""
    program = shutil.which("musicxml2ly")
    assert program, "LilyPond's musicxml2ly is not installed"
    done = subprocess.run(
        [program, "--no-beaming", "-o", str(folder / "out.ly"), str(path)], capture_output=True, text=True, timeout=120
    )
    said = [line for line in done.stderr.splitlines() if "error" in line.lower() or "Traceback" in line]
    if done.returncode or not (folder / "out.ly").is_file():
        return done.stderr[-500:] or f"exit {done.returncode}"
    return "; ".join(said)


def same(ours: Sequence[Counter[Any]], theirs: Sequence[Counter[Any]]) -> list[str]:
    """Differences part by part, one line each; [] where all is the same."""
    found = [] if len(ours) == len(theirs) else [f"{len(ours)} parts written, {len(theirs)} read"]
    for index, (a, b) in enumerate(zip(ours, theirs, strict=False), start=1):
        for what, more in (("lost", a - b), ("new", b - a)):
            found += [f"P{index} {what}: {_told(note)} x{count}" for note, count in sorted(more.items())[:4]]
    return found


def _told(note: object) -> str:
    return " ".join(str(value) for value in note) if isinstance(note, tuple) else str(note)


def _exact(value: float | Fraction) -> Fraction:
    """music21's times are exact fractions, or floats where they are a power of two's."""
    return Fraction(value).limit_denominator(FINEST)


READERS: tuple[tuple[str, Callable[[Path], list[Notes]], bool], ...] = (
    ("music21", notes_music21, False),
    ("partitura", notes_partitura, True),
)
"""(name, function, reads written pitch)"""
