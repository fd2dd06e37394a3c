"""Signs of a score counted: in the score itself, in music21's and in verovio's reading of its file."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

from autoorch.score.model import Score

SIGNS = ("dynamic", "wedge", "slur", "tie", "tuplet", "grace")


def signs_of(score: Score, cues: bool = True) -> Counter[str]:
    """How many of each of SIGNS the score has; without the ties of cues, which MusicXML can only draw."""
    found: Counter[str] = Counter()
    for part in score.parts:
        for measure in part.measures:
            found.update(d.kind for d in measure.directions if d.kind == "dynamic")
            found["wedge"] += sum(d.kind == "wedge" and d.value != "stop" for d in measure.directions)
            for event in (event for voice in measure.voices for event in voice):
                found["slur"] += len(event.slur_starts)
                found["tie"] += sum(head.tie_start for head in event.heads if cues or not event.cue)
                found["tuplet"] += event.tuplet_start
                found["grace"] += bool(event.grace)
    return found


def signs_music21(path: Path) -> Counter[str]:
    """As music21 reads the file; it keeps tuplets note by note, so brackets are counted by their starts."""
    from music21 import chord, converter, dynamics, note, spanner

    stream = converter.parse(path, forceSource=True)
    found: Counter[str] = Counter()
    for element in stream.recurse():
        if isinstance(element, dynamics.Dynamic):
            found["dynamic"] += 1
        elif isinstance(element, dynamics.DynamicWedge):
            found["wedge"] += 1
        elif isinstance(element, spanner.Slur):
            found["slur"] += 1
        elif isinstance(element, note.GeneralNote):
            found["grace"] += element.duration.isGrace
            found["tuplet"] += sum(each.type == "start" for each in element.duration.tuplets)
            notes = element.notes if isinstance(element, chord.Chord) else [element]
            found["tie"] += sum(n.tie is not None and n.tie.type in ("start", "continue") for n in notes)
    return found


def signs_verovio(path: Path) -> Counter[str]:
    """As verovio has them in its MEI."""
    import verovio
    from lxml import etree

    toolkit = verovio.toolkit()
    toolkit.setOptions({"xmlIdSeed": 1})
    assert toolkit.loadFile(str(path))
    mei = etree.fromstring(toolkit.getMEI().encode())
    space = "{http://www.music-encoding.org/ns/mei}"
    tags = {"dynam": "dynamic", "hairpin": "wedge", "slur": "slur", "tie": "tie", "tuplet": "tuplet"}
    found = Counter({name: len(list(mei.iter(f"{space}{tag}"))) for tag, name in tags.items()})
    # words such as "cresc." are dynamics in MEI too
    said = ("".join(element.itertext()).strip() for element in mei.iter(f"{space}dynam"))
    found["dynamic"] = sum(re.fullmatch("[fmnprsz]+", text) is not None for text in said)
    heads = [e for tag in ("note", "chord") for e in mei.iter(f"{space}{tag}") if e.get("grace")]
    found["grace"] = sum(e.getparent() is None or e.getparent().get("grace") is None for e in heads)
    return found
