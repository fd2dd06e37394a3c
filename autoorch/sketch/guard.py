"""What a sketch file may be before anything trusts it: how large, how deep, which bytes; nothing here knows music.

Archives are read in memory and never unpacked to disk; XML is read without its document type, entities or network.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from io import BytesIO
from pathlib import Path, PurePosixPath
from typing import Any

from lxml import etree

from autoorch.errors import SketchError

XML_HEADS = (b"<", b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff", b"<\x00", b"\x00<")
"""How XML may begin, a byte order mark included."""
ROOTS = ("score-partwise", "score-timewise")
NOT_A_SKETCH = "save the sketch as MusicXML (.musicxml, .mxl) or MIDI (.mid)"

_NUMBER = re.compile(r"-?[0-9]{1,9}(\.[0-9]{1,9})?")
_NOTE = tuple(f"<note{after}".encode(code) for code in ("utf-8", "utf-16-le", "utf-16-be") for after in "> /")


@dataclass(frozen=True, slots=True)
class Limits:
    """The largest sketch that is read; beyond any of these a file is refused before it costs time or memory.

    Attributes:
        packed: bytes of the file on disk.
        unpacked: bytes of the XML inside an archive or of a plain XML file.
        midi: bytes of a MIDI file; other: bytes of a file of any further format, whose parsers are slow.
        tags: XML tags, opening and closing.
        notes, bars, staves, tracks: as counted in the file, tied notes apart.
        bar_quarters: quarters in one bar.
        ticks: ticks a quarter.
        text: characters of one text.
    """

    packed: int = 64_000_000
    unpacked: int = 256_000_000
    midi: int = 2_000_000
    other: int = 50_000
    tags: int = 12_000_000
    notes: int = 200_000
    bars: int = 4_000
    staves: int = 12
    tracks: int = 1_000
    bar_quarters: int = 1_000
    ticks: int = 100_000_000
    text: int = 500


def load(path: Path, limits: Limits) -> bytes:
    """The bytes of a regular file.

    Raises:
        SketchError: where there is no such file, it can't be read, is empty or too large.
    """
    name = plain(path.name or str(path))
    try:
        if path.is_dir():
            raise SketchError("is a folder; name a file in it", name)
        if not path.exists():
            raise SketchError("there is no such file", name)
        if not path.is_file():
            raise SketchError("is no regular file", name)
        size = path.stat().st_size
        if size > limits.packed:
            raise SketchError(f"has {size:,} bytes; a sketch has at most {limits.packed:,}", name)
        data = path.read_bytes()
    except (OSError, ValueError) as error:
        raise SketchError(f"can't be read ({getattr(error, 'strerror', None) or error})", name) from None
    if not data.strip(b"\0 \t\r\n"):
        raise SketchError(f"is empty; {NOT_A_SKETCH}", name)
    return data


def unzip(data: bytes, file: str, limits: Limits) -> bytes:
    """The score inside a compressed MusicXML file: the first root file of its container.

    Raises:
        SketchError: where the archive is broken, encrypted, too large or holds no score.
    """
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            name = _root_file(archive, file, limits)
            return _member(archive, name, file, limits)
    except KeyError:
        raise SketchError("its container names a score that is not in the archive; export it anew", file) from None
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, RuntimeError) as error:
        raise SketchError(f"is a broken archive ({plain(str(error))}); export it anew", file) from None


def _root_file(archive: zipfile.ZipFile, file: str, limits: Limits) -> str:
    names = archive.namelist()
    if "META-INF/container.xml" in names:
        container = _parse(_member(archive, "META-INF/container.xml", file, limits), file)
        for element in container.iter("{*}rootfile"):
            path = element.get("full-path") or ""
            if path.startswith("/") or "\\" in path or ".." in PurePosixPath(path).parts:
                raise SketchError("its container points outside the archive; export it anew", file)
            return path
    for name in names:
        if name.endswith((".xml", ".musicxml")) and not name.startswith(("META-INF/", "__MACOSX/")):
            return name
    raise SketchError(f"is an archive without a score; {NOT_A_SKETCH}", file)


def _member(archive: zipfile.ZipFile, name: str, file: str, limits: Limits) -> bytes:
    with archive.open(name) as stream:
        data = stream.read(limits.unpacked + 1)
    if len(data) > limits.unpacked:
        raise SketchError(f"unpacks to more than {limits.unpacked:,} bytes; that is no sketch", file)
    return data


def _parse(data: bytes, file: str) -> etree._Element:
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, remove_comments=True)
    try:
        return etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        raise SketchError(_broken(error), file) from None


def elements(data: bytes, file: str, limits: Limits, tags: tuple[str, ...]) -> Iterator[tuple[str, etree._Element]]:
    """Pairs ("start" or "end", element) for the root and the elements named in `tags`, in the order of the file.

    Raises:
        SketchError: where the XML is broken, no score, too large, or declares entities.
    """
    if len(data) > limits.unpacked:
        raise SketchError(f"has {len(data):,} bytes; a sketch has at most {limits.unpacked:,}", file)
    notes = sum(data.count(tag) for tag in _NOTE)
    if notes > limits.notes:
        raise SketchError(f"has {notes:,} notes and rests; a sketch has at most {limits.notes:,}", file)
    if data.count(b"<") > limits.tags:
        raise SketchError(f"has more than {limits.tags:,} XML tags; that is no sketch", file)
    events = etree.iterparse(
        BytesIO(data),
        events=("start", "end"),
        tag=(*tags, *ROOTS),
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        for event, element in events:
            if event == "start" and element.getparent() is None:
                _refuse_entities(element, file)
            yield event, element
        root = "" if events.root is None else str(events.root.tag)
        if root not in ROOTS:
            found = plain(root, 60)
            raise SketchError(f"is no MusicXML score (its root is <{found}>); {NOT_A_SKETCH}", file)
    except etree.XMLSyntaxError as error:
        raise SketchError(_broken(error), file) from None


def _refuse_entities(root: etree._Element, file: str) -> None:
    declared: Any = root.getroottree().docinfo.internalDTD
    if declared is not None and any(True for _ in declared.iterentities()):
        raise SketchError("declares XML entities, which no score needs; export it anew", file)


def _broken(error: etree.XMLSyntaxError) -> str:
    what = plain(error.msg or "nothing in it").split(", line ")[0].rstrip(".")
    line = f", line {error.lineno}" if error.lineno else ""
    return f"is broken XML ({what}{line}); export it anew"


def plain(text: str | None, most: int = 500) -> str:
    """The text on one line, without control characters, at most `most` characters long."""
    line = " ".join("".join(c if c.isprintable() else " " for c in (text or "")[: 4 * most]).split())
    return line if len(line) <= most else line[: most - 1] + "…"


@lru_cache(maxsize=4096)
def number(text: str | None) -> Fraction | None:
    """A plain decimal number of at most nine digits either side of the point; None for anything else."""
    text = (text or "").strip()
    return Fraction(text) if _NUMBER.fullmatch(text) else None


@lru_cache(maxsize=4096)
def integer(text: str | None) -> int | None:
    """A plain whole number of at most nine digits; None for anything else."""
    value = number(text)
    return int(value) if value is not None and value.denominator == 1 else None
