"""The unofficial MusicXML test suite, as music21 carries it (musicxml/lilypondTestSuite): what each of its files is about, and
what a draft keeps of it.

Each file is drafted for a small orchestra with a choir. What stands in the file (pitches, values, signs, words, …) is counted in
its raw XML and looked for in the raw XML of the scores. Kept: all of it is there. Kept differently: it stands there in another
form, or the file's own list of what can't be kept names it. Refused: one clear line. Lost: gone without a word, which is a fault.
"""

from __future__ import annotations

import argparse
import io
import re
import time
import zipfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import music21
from lxml import etree

from autoorch import delivery, pipeline
from autoorch.errors import AutoorchError
from autoorch.sketch import read_sketch
from autoorch.solver.solve import Limits

FOLDER = Path(music21.__file__).parent / "musicxml" / "lilypondTestSuite"
LINEUP = "1.1.1.1 - 1.1.0.0 - tmp - satb - 6.5.4.3.2"
SUFFIXES = (".xml", ".musicxml", ".mxl")

Thing = tuple[str, str]
"""(kind, value)"""

DIFFERENT = {
    "clef": "every player has clefs of their own",
    "key": "keys are those of the transposing players",
    "value": "notes are written by the metre anew",
    "microtone": "taken as semitones",
    "chord": "the notes of chords are shared out among players",
    "tremolo between notes": "written as plain notes",
    "pedal": "held notes are written full",
    "octave line": "notes are written where they sound or are read",
    "transposition": "every player has a transposition of their own",
    "staff": "every player has a staff of their own",
    "tuplet": "brackets are drawn anew by the metre",
    "slur": "slurs become bows and breaths",
    "wedge": "hairpins last while their players sound",
    "dynamic": "dynamics stand at their players' attacks",
    "words": "words stand with who plays there",
    "sign": "signs stand with the players they mean something to",
    "grace": "graces stand with their main note's player",
    "lyric": "sung by a choir's line only",
    "ending": "endings stand closed in every part",
    "bar line": "bar lines are plain, double, dashed or final",
    "tie": "ties are cut by the metre anew",
    "rest": "every player rests in values by the metre",
    "metre": "metres are written as one fraction",
    "title": "the title stands on the first page",
}
"""Kind -> how it is kept otherwise than in the file."""

UNITS = {"long": 16, "breve": 8, "whole": 4, "half": 2, "quarter": 1, "eighth": 0.5, "16th": 0.25}
_SIGNS = ("articulations", "ornaments", "technical")
_BETWEEN = {"start", "stop"}


def things(root: etree._Element) -> Counter[Thing]:
    """What stands in a file; kinds as in DIFFERENT, and others that must be found again as they are."""
    found: Counter[Thing] = Counter()
    moved = 0
    for element in root.iter("*"):
        if element.tag == "part":
            moved = 0
        elif element.tag == "transpose":
            moved = int(element.findtext("chromatic") or 0)
        found.update(_of(element, moved))
    return found


def _of(element: etree._Element, moved: int) -> Iterator[Thing]:
    """What one element says, in a part that sounds `moved` semitones from where it is written."""
    tag, words = str(element.tag), (element.text or "").strip()
    parent = element.getparent()
    above = str(parent.tag) if parent is not None else ""
    plain = {"type": "value", "normal-notes": "tuplet", "fifths": "key", "rehearsal": "letter", "work-title": "title",
        "movement-title": "title", "bar-style": "bar line"}  # fmt: skip
    if tag in plain and words:
        yield plain[tag], words
    elif tag == "pitch":
        alter = float(element.findtext("alter") or 0)
        natural = "C D EF G A B".index(str(element.findtext("step")))
        yield ("microtone", "") if alter % 1 else ("pitch class", str((natural + int(alter) + moved) % 12))
    elif tag == "time" and element.find("beats") is not None:
        yield "metre", "/".join(child.text or "" for child in element)
    elif tag in ("rest", "chord", "grace", "tie", "staff-details", "transpose", "clef"):
        name = {"staff-details": "staff", "transpose": "transposition"}.get(tag, tag)
        yield name, ""
    elif tag == "slur" and element.get("type") == "start":
        yield "slur", ""
    elif tag == "wedge" and element.get("type") != "stop":
        yield "wedge", element.get("type", "")
    elif tag in ("pedal", "octave-shift", "repeat", "ending"):
        names = {"octave-shift": "octave line"}
        yield names.get(tag, tag), element.get("direction") or element.get("type", "")
    elif tag == "metronome" and (quarters := _quarters(element)):
        yield "tempo", quarters
    elif tag == "words" and words:
        yield "words", words
    elif above == "dynamics" and tag != "other-dynamics":
        yield "dynamic", tag
    elif tag == "tremolo" and element.get("type") in _BETWEEN:
        yield "tremolo between notes", ""
    elif (above in _SIGNS and not tag.startswith("other-")) or tag in ("fermata", "arpeggiate"):
        yield "sign", tag
    elif above == "lyric" and tag == "text" and words:
        yield "lyric", words


def _quarters(metronome: etree._Element) -> str:
    """Quarters a minute of a metronome mark with a number; "" for others."""
    minute, unit = metronome.findtext("per-minute") or "", metronome.findtext("beat-unit") or ""
    number = re.search(r"[\d.]+", minute)
    if not number or unit not in UNITS or len(metronome.findall("beat-unit")) > 1:
        return ""
    return f"{float(number[0]) * UNITS[unit] * (2 - 0.5 ** len(metronome.findall('beat-unit-dot'))):g}"


@dataclass(frozen=True)
class Row:
    """What became of a file: "kept", "differently", "refused", "lost" or "fault", and why."""

    name: str
    outcome: str
    told: str


def root_of(path: Path) -> etree._Element:
    """The file's own XML, out of its archive if it is one."""
    data = path.read_bytes()
    if zipfile.is_zipfile(path):
        with zipfile.ZipFile(path) as archive:
            container = etree.fromstring(archive.read("META-INF/container.xml"))
            name = next(e.get("full-path") for e in container.iter("*") if str(e.tag).endswith("rootfile"))
            data = archive.read(str(name))
    return etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))


def row(path: Path, seconds: float = 2) -> Row:
    """Draft one file and look for what it is about."""
    try:
        result = pipeline.draft(read_sketch(path), LINEUP, limits=Limits(seconds=seconds))
    except AutoorchError as error:
        return Row(path.name, "refused", str(error).removeprefix(f"{path.name}: "))
    except Exception as error:
        return Row(path.name, "fault", f"{type(error).__name__}: {error}")
    found: set[Thing] = set()
    for name, writer in delivery.outputs(result).items():
        if name.startswith("score") and name.endswith(".musicxml"):
            file = io.BytesIO()
            writer(file)
            found |= set(things(etree.fromstring(file.getvalue())))
    missing = [thing for thing in things(root_of(path)) if thing not in found]
    dropped = [fate.note for fate in result.draft.fates if fate.fate == "dropped"]
    if dropped:
        missing = [thing for thing in missing if thing[0] != "pitch class"]
    notices = (*result.sketch.lost, *result.sketch.notices, *result.score.notices, *result.draft.losses)
    said = " ".join(notices).lower()
    lost = [f"{kind} {value}".strip() for kind, value in missing if kind not in DIFFERENT and value.lower() not in said]
    if lost:
        return Row(path.name, "lost", "; ".join(sorted(lost)))
    kinds = sorted({kind for kind, _ in missing})
    if kinds or result.sketch.lost or dropped:
        reasons = [f"{kind}: {DIFFERENT.get(kind, 'told')}" for kind in kinds]
        left = [f"{len(dropped)} notes left out, listed"] if dropped else []
        return Row(path.name, "differently", "; ".join((*result.sketch.lost, *left, *reasons)))
    return Row(path.name, "kept", "")


def files(pattern: str = "*") -> list[Path]:
    """The suite's files whose names fit, by name."""
    return sorted(path for path in FOLDER.glob(pattern) if path.suffix in SUFFIXES)


def table(rows: Sequence[Row]) -> str:
    """The rows under one another, and the sums."""
    width = max(len(one.name) for one in rows)
    lines = [f"{one.name:{width}}  {one.outcome:11}  {one.told}".rstrip() for one in rows]
    counts = Counter(one.outcome for one in rows)
    return "\n".join([*lines, "", ", ".join(f"{count} {name}" for name, count in counts.most_common())])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("pattern", nargs="?", default="*", help="which files, such as '31*' (all)")
    parser.add_argument("--seconds", type=float, default=2, help="effort of the solver a file (2)")
    asked = parser.parse_args()
    start = time.perf_counter()
    print(table([row(path, asked.seconds) for path in files(asked.pattern)]))
    print(f"{time.perf_counter() - start:.0f} s")


if __name__ == "__main__":
    main()
