"""Hostile and broken input in bulk: no traceback, no hang, no file left behind.

    python -m tests.benchmarks.fuzz [--inputs 20000] [--seed 1] [--kind KIND] [--drafts 100]

Kinds: built (scores written at random, with impossible values among the usual ones), xml, mxl, midi (real files with bytes,
numbers, elements and events changed at random), reading, brief, record (what a person may edit, changed in the same ways).
The real files are the examples and the MusicXML test suite that music21 carries. A sketch that is read goes on to its
reading, and every Nth of those (--drafts) to a whole draft. An input fails by any exception but the project's own one-line
errors, by taking longer than 20 processor seconds (or a minute of the clock), or by leaving a file.
"""

from __future__ import annotations

import argparse
import io
import random
import re
import signal
import sys
import tempfile
import time
import traceback
import zipfile
from collections import Counter
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from types import FrameType
from typing import Any

import mido
import music21

from autoorch import delivery, pipeline
from autoorch.brief import read_brief
from autoorch.errors import AutoorchError
from autoorch.roles import read_roles
from autoorch.roles.edit import read_reading
from autoorch.roles.told import reading_text
from autoorch.sketch import read_sketch
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from autoorch.write.record import read_record
from tests.support.xml import bar, note, score

SECONDS, CLOCK = 20, 60
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SUITE = Path(music21.__file__).parent / "musicxml" / "lilypondTestSuite"
ODD = (
    "0",
    "-1",
    "1",
    "7",
    "255",
    "65536",
    "2147483648",
    "99999999999999999999",
    "1e999",
    "-0.5",
    "NaN",
    "",
    "x",
    "½",
    "\u202e",
)
NUMBER = re.compile(rb"\d+")
ELEMENT = re.compile(rb"<[a-z-]+[^<>]*>[^<>]*</[a-z-]+>|<[a-z-]+[^<>]*/>")


class TooLong(BaseException):
    """An input that keeps the reader busy."""


def _alarm(number: int, frame: FrameType | None) -> None:
    raise TooLong


@cache
def _texts() -> tuple[bytes, ...]:
    files = [*sorted(EXAMPLES.rglob("*.musicxml")), *sorted(SUITE.rglob("*.xml"))]
    return tuple(path.read_bytes() for path in files)


@cache
def _midis() -> tuple[bytes, ...]:
    return tuple(path.read_bytes() for path in sorted(EXAMPLES.rglob("*.mid")))


def _spans(data: bytes, pattern: re.Pattern[bytes], rng: random.Random) -> tuple[int, int]:
    found = [match.span() for match in pattern.finditer(data)]
    return rng.choice(found) if found else (0, 0)


def mutated(data: bytes, rng: random.Random) -> bytes:
    """One to five changes of bytes, numbers, elements or lines; more often such as leave a text well formed."""
    for _ in range(rng.choice((1, 1, 1, 2, 5))):
        way = rng.choice((0, 1, 2, 2, 2, 2, 3, 3, 3, 4, 4, 4, 5, 6, 7))
        if way == 0 and data:  # a byte
            place = rng.randrange(len(data))
            data = data[:place] + bytes([rng.randrange(256)]) + data[place + 1 :]
        elif way == 1 and data:  # cut off
            data = data[: rng.randrange(len(data))]
        elif way == 2:  # a number
            first, last = _spans(data, NUMBER, rng)
            data = data[:first] + rng.choice(ODD).encode() + data[last:]
        elif way == 3:  # an element lost
            first, last = _spans(data, ELEMENT, rng)
            data = data[:first] + data[last:]
        elif way == 4:  # an element moved
            first, last = _spans(data, ELEMENT, rng)
            piece, rest = data[first:last], data[:first] + data[last:]
            place = _spans(rest, ELEMENT, rng)[0]
            data = rest[:place] + piece + rest[place:]
        elif way == 5:  # a line twice or gone
            lines = data.split(b"\n")
            place = rng.randrange(len(lines))
            lines[place : place + 1] = [lines[place]] * rng.choice((0, 2))
            data = b"\n".join(lines)
        elif way == 6 and data:  # two stretches exchanged
            a, b, c = sorted(rng.randrange(len(data)) for _ in range(3))
            data = data[:a] + data[b:c] + data[a:b] + data[c:]
        else:  # strange characters
            place = rng.randrange(len(data) + 1)
            data = (
                data[:place] + rng.choice((b"\0", b"\xff\xfe", b"&x;", b"]]>", b"\r", "\u0301".encode())) + data[place:]
            )
    return data


def built(rng: random.Random) -> bytes:
    """A score of random bars, voices, values, backups and marks, mostly sound."""

    def rarely(usual: Any, *odd: Any) -> Any:
        return rng.choice(odd or ODD) if rng.random() < 0.01 else usual

    def one() -> str:
        signs = (
            "",
            "",
            "<tied type='start'/>",
            "<slur type='stop' number='3'/>",
            "<fermata/>",
            "<tuplet type='start'/>",
        )
        return note(
            rng.choice(("", "C4", "F#3", "Bb5", "E2", rarely("G4", "C0", "B9"))),
            rarely(rng.choice((1, 1, 2, 3, 4, 5))),
            rng.choice(("", "", "quarter", "eighth", rarely("half", "breve", "1024th", "nonsense"))),
            chord=rng.random() < 0.2,
            grace="<grace/>" if rng.random() < 0.05 else "",
            tuplet=rng.choice((None, None, None, (3, 2), (7, 4), rarely((5, 4), (0, 1), (13, 11)))),
            dots=rng.choice((0, 0, 1, rarely(2, 3, 9))),
            voice=rarely(rng.choice(("1", "1", "2", "5")), "x", ""),
            staff=rarely(rng.choice((0, 1, 2)), 9),
            signs=rng.choice(signs),
        )

    def part() -> list[str]:
        found = []
        for number in range(rng.randint(1, 6)):
            content = "".join(one() for _ in range(rng.randint(0, 8)))
            if rng.random() < 0.3:
                content += f"<backup><duration>{rarely(2)}</duration></backup>" + one()
            attributes = ""
            if number == 0 or rng.random() < 0.1:
                beats, unit = rarely(rng.choice((4, 3, 6)), "3+2", 0, 99), rarely(rng.choice((4, 8)), 0, 3)
                attributes = (
                    f"<divisions>{rarely(rng.choice((4, 8, 480)))}</divisions>"
                    f"<key><fifths>{rarely(rng.randint(-7, 7), 44, 'x')}</fifths></key>"
                    f"<time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>"
                    f"<staves>{rarely(2, 1, 99)}</staves>"
                )
            found.append(bar(content, rarely(str(number + 1), "1", "X1", "-2"), attributes))
        return found

    return score(*(part() for _ in range(rng.choice((1, 1, 2, 3))))).encode()


def packed(rng: random.Random) -> bytes:
    """A compressed score: broken inside, broken outside, or its paths leading astray."""
    text = mutated(rng.choice(_texts()), rng) if rng.random() < 0.5 else rng.choice(_texts())
    name = rng.choice(("score.xml", "score.xml", "../score.xml", "/etc/score.xml", "a" * 300 + ".xml"))
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(
            "META-INF/container.xml", f'<container><rootfiles><rootfile full-path="{name}"/></rootfiles></container>'
        )
        archive.writestr(name, text)
    return mutated(stream.getvalue(), rng) if rng.random() < 0.5 else stream.getvalue()


def midi(rng: random.Random) -> bytes:
    """A MIDI file with bytes changed, or with lost and doubled note ends, no lengths, and wild metas."""
    if rng.random() < 0.6:
        return mutated(rng.choice(_midis()), rng)
    file = mido.MidiFile(type=rng.choice((0, 1, 1, 2)), ticks_per_beat=rng.choice((1, 24, 480, 32767)))
    for _ in range(1 if file.type == 0 else rng.choice((1, 2, 20))):
        track = mido.MidiTrack()
        for _ in range(rng.randint(0, 60)):
            kind = rng.choice(("note_on", "note_on", "note_off", "control_change", "set_tempo", "time_signature"))
            time_ = rng.choice((0, 0, 1, 120, 480, 100_000))
            if kind in ("note_on", "note_off"):
                track.append(
                    mido.Message(
                        kind, note=rng.choice((0, 60, 60, 64, 127)), velocity=rng.choice((0, 1, 64, 127)), time=time_
                    )
                )
            elif kind == "control_change":
                track.append(mido.Message(kind, control=64, value=rng.choice((0, 127)), time=time_))
            elif kind == "set_tempo":
                track.append(mido.MetaMessage(kind, tempo=rng.choice((1, 500_000, 16_777_215)), time=time_))
            else:
                track.append(
                    mido.MetaMessage(
                        kind, numerator=rng.choice((1, 4, 255)), denominator=rng.choice((1, 4, 64)), time=time_
                    )
                )
        file.tracks.append(track)
    stream = io.BytesIO()
    file.save(file=stream)
    return stream.getvalue()


@cache
def _known() -> tuple[Path, str, bytes]:
    """A sketch, the text of its reading, and the record of its draft."""
    path = EXAMPLES / "stone-chapel-chorale" / "sketch.musicxml"
    sketch = read_sketch(path)
    result = pipeline.draft(sketch, "string quartet", limits=Limits(seconds=2))
    stream = io.BytesIO()
    delivery.outputs(result)["draft.json"](stream)
    return path, reading_text(read_roles(sketch, load_tables()), sketch), stream.getvalue()


def _sketch(path: Path) -> None:
    read_roles(read_sketch(path), load_tables())


def _whole(path: Path) -> None:
    delivery.write(pipeline.draft(path, "string quartet", limits=Limits(seconds=1)), path.parent / "out")


def _reading(path: Path) -> None:
    read_reading(path, read_sketch(_known()[0]))


def _brief(path: Path) -> None:
    brief = read_brief(path)
    pipeline.draft(_known()[0], "string quartet", brief=brief, limits=Limits(seconds=1))


def _record(path: Path) -> None:
    read_record(path, load_tables())


KINDS: dict[str, tuple[str, Callable[[random.Random], bytes], Callable[[Path], object]]] = {
    "built": ("in.musicxml", built, _sketch),
    "xml": ("in.xml", lambda rng: mutated(rng.choice(_texts()), rng), _sketch),
    "mxl": ("in.mxl", packed, _sketch),
    "midi": ("in.mid", midi, _sketch),
    "reading": ("reading.toml", lambda rng: mutated(_known()[1].encode(), rng), _reading),
    "brief": (
        "brief.toml",
        lambda rng: mutated(rng.choice(sorted(EXAMPLES.rglob("brief.toml"))).read_bytes(), rng),
        _brief,
    ),
    "record": ("draft.json", lambda rng: mutated(_known()[2], rng), _record),
}
# Inputs a kind gets of a hundred; a mutated brief that is still one costs a whole solve.
SHARES = {"built": 25, "xml": 30, "mxl": 12, "midi": 15, "reading": 10, "brief": 3, "record": 5}


def attempt(path: Path, use: Callable[[Path], object]) -> str:
    """ "read", "refused", or what went wrong."""
    signal.signal(signal.SIGPROF, _alarm)
    signal.signal(signal.SIGALRM, _alarm)
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    signal.alarm(CLOCK)
    try:
        use(path)
    except AutoorchError as error:
        return "refused" if "\n" not in str(error) else f"error of several lines: {error}"
    except TooLong:
        return f"longer than {SECONDS} s"
    except Exception:
        return traceback.format_exc(limit=-3)
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.alarm(0)
    return "read"


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--inputs", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", action="append", choices=KINDS)
    parser.add_argument("--drafts", type=int, default=100, metavar="N", help="every Nth sketch that is read is drafted")
    parser.add_argument("--keep", type=Path, help="folder for the inputs that fail")
    options = parser.parse_args(arguments)
    kinds = options.kind or list(KINDS)
    counts: Counter[tuple[str, str]] = Counter()
    failures, read, slowest = 0, 0, (0.0, "")
    began = time.perf_counter()
    for number in range(options.inputs):
        rng = random.Random(f"{options.seed}/{number}")
        kind = rng.choices(kinds, [SHARES[name] for name in kinds])[0]
        name, make, use = KINDS[kind]
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / name
            path.write_bytes(make(rng))
            started = time.process_time()
            outcome = attempt(path, use)
            if outcome == "read" and use is _sketch:
                read += 1
                if read % options.drafts == 0:
                    outcome = attempt(path, _whole)
            slowest = max(slowest, (time.process_time() - started, f"{kind} {number}"))
            left = {path.name for path in Path(folder).iterdir()} - {name, "out"}
            if left:
                outcome = f"left behind: {sorted(left)}"
            counts[kind, outcome if outcome in ("read", "refused") else "FAILED"] += 1
            if outcome not in ("read", "refused"):
                failures += 1
                print(f"{kind} {number}: {outcome}", flush=True)
                if options.keep:
                    options.keep.mkdir(parents=True, exist_ok=True)
                    (options.keep / f"{number}-{name}").write_bytes(path.read_bytes())
    for kind in kinds:
        told = ", ".join(f"{count} {outcome}" for (which, outcome), count in sorted(counts.items()) if which == kind)
        print(f"{kind:<8} {told}")
    spent = time.perf_counter() - began
    print(f"{failures} of {options.inputs} inputs fail; slowest {slowest[0]:.1f} s ({slowest[1]}); {spent:.0f} s")
    sys.exit(1 if failures else 0)


if __name__ == "__main__":
    main()
