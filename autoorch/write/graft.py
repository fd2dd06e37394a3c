"""Bars of a written score put into another one byte for byte, and what must be said again at the seams.

A written score is a list of parts, each a list of `<measure>` elements; a patch replaces one of them. The bars beside kept
bars, which may change, say what the kept ones take for granted: clef, key and transposition, dynamic, ways of playing.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import count

from lxml import etree

from autoorch.errors import SketchError
from autoorch.score.notation import notation

_PART = re.compile(rb'<part id="([^"]+)">(.*?)</part>', re.DOTALL)
_MEASURE = re.compile(rb"<measure\b.*?</measure>", re.DOTALL)
_LIST = re.compile(rb"<part-list>.*?</part-list>", re.DOTALL)
_DESKS = "desks"
"""The kind of what is said of how a section is shared out."""
_ATTRIBUTES = ("key", "clef", "transpose")
"""Elements of `<attributes>` that hold on, in the schema's order."""
State = Mapping[str, str]
"""What is in force: kind -> the element or word that says so; the ordinary way of playing has no word."""


@dataclass(frozen=True, slots=True)
class Patch:
    """One bar of one part as it is to be written: `file` as in the folder, `bar` counted from 0, `text` the element."""

    file: str
    part: str
    bar: int
    text: str


@lru_cache(maxsize=8)
def parts_of(data: bytes) -> dict[str, list[bytes]]:
    """Part id -> its `<measure>` elements as they stand in the file."""
    return {part.group(1).decode(): _MEASURE.findall(part.group(2)) for part in _PART.finditer(data)}


def grafted(data: bytes, patches: Iterable[Patch]) -> bytes:
    """The score with the patched bars in place of its own."""
    wanted = {(patch.part.encode(), patch.bar): patch.text.encode() for patch in patches}
    if not wanted:
        return data

    def part(found: re.Match[bytes]) -> bytes:
        bar = count()
        body = _MEASURE.sub(lambda m: wanted.get((found.group(1), next(bar)), m.group(0)), found.group(2))
        return b'<part id="' + found.group(1) + b'">' + body + b"</part>"

    return _PART.sub(part, data)


def kept_bars(file: str, new: bytes, old: bytes, bars: Collection[int]) -> list[Patch]:
    """The bars of `old` that `new` writes otherwise.

    Raises:
        SketchError: where the two scores don't have the same parts and bars.
    """
    mine, theirs = parts_of(new), parts_of(old)
    if [(name, len(own)) for name, own in mine.items()] != [(name, len(own)) for name, own in theirs.items()]:
        raise SketchError("has other parts or bars than the draft it is to be kept in", file)
    return [
        Patch(file, part, bar, theirs[part][bar].decode())
        for part, own in mine.items()
        for bar in sorted(bars)
        if own[bar] != theirs[part][bar]
    ]


def seams(file: str, whole: bytes, origin: Mapping[int, bytes], free: bytes) -> tuple[list[Patch], list[str]]:
    """(bars beside kept bars that say again what changes hands there, what could not be said).

    Args:
        whole: the score with the kept bars in place.
        origin: kept bar -> the score it comes from; all other bars come from `free`.
    """
    parts, names = parts_of(whole), _names(whole)
    known = {id(data): _states_of(data) for data in (free, *origin.values())}
    patches: list[Patch] = []
    notices: list[str] = []
    for part, measures in parts.items():
        states = {key: own[part] for key, own in known.items()}
        trees: dict[int, etree._Element] = {}
        for bar in range(1, len(measures)):
            before, here = origin.get(bar - 1, free), origin.get(bar, free)
            if before is here:
                continue
            is_, wants = states[id(before)][bar], states[id(here)][bar]
            missing = {kind: value for kind, value in wants.items() if is_.get(kind) != value}
            missing |= {kind: back for kind in is_.keys() - wants if (back := _back(kind, is_[kind]))}
            missing = {k: v for k, v in missing.items() if k not in _said_first(etree.fromstring(measures[bar]))}
            if not missing or not _plays(measures[bar:]):
                continue
            side = bar if bar not in origin else bar - 1 if bar - 1 not in origin else None
            if side is None:
                what = " and ".join(sorted(_named(kind, value) for kind, value in missing.items()))
                notices.append(
                    f"{names[part]}, bar {_number(measures[bar])}: enters without its {what}, between kept bars"
                )
                continue
            tree = trees.setdefault(side, etree.fromstring(measures[side]))
            _say(tree, missing, at_end=side == bar - 1)
        patches += [Patch(file, part, bar, etree.tostring(tree).decode()) for bar, tree in sorted(trees.items())]
    return patches, notices


def _names(data: bytes) -> dict[str, str]:
    """Part id -> its name on the page."""
    found = _LIST.search(data)
    listed = etree.fromstring(found.group(0)).findall("score-part") if found else []
    return {part.get("id", ""): part.findtext("part-name", "") for part in listed}


def _number(measure: bytes) -> str:
    return etree.fromstring(measure).get("number", "")


@lru_cache(maxsize=8)
def _states_of(data: bytes) -> dict[str, list[State]]:
    """Part id -> what is in force at the beginning of each bar; see `_states`."""
    return {part: _states(measures) for part, measures in parts_of(data).items()}


def _states(measures: Sequence[bytes]) -> list[State]:
    """What is in force before each bar."""
    found: list[State] = []
    now: dict[str, str] = {}
    for text in measures:
        found.append(dict(now))
        for kind, value in _changes(etree.fromstring(text)):
            if value not in _endings(kind):
                now[kind] = value
            elif kind == _DESKS or value == _back(kind, now.get(kind, "")):
                now.pop(kind, None)
    return found


@lru_cache(maxsize=1)
def _ways() -> dict[str, dict[str, str]]:
    """Group of ways of playing -> word -> the word that ends it."""
    found: dict[str, dict[str, str]] = {}
    for row in notation().techniques.values():
        if row["word"]:
            found.setdefault(row["group"], {})[row["word"]] = row["back"]
    return found


def _endings(kind: str) -> Collection[str]:
    """The words that bring back the ordinary way of that kind."""
    section = notation().section
    return (section["united"], section["everybody"]) if kind == _DESKS else _ways().get(kind, {}).values()


def _back(kind: str, value: str) -> str:
    """The word that ends what is in force; "" where none is needed."""
    if kind == _DESKS:
        section = notation().section
        return section["united" if value.startswith(section["divided"]) else "everybody"]
    return _ways().get(kind, {}).get(value, "")


def _named(kind: str, value: str) -> str:
    """What a notice calls it: "dynamic", or the word."""
    return value if kind in _ways() or kind == _DESKS else kind.split(" ")[0]


def _changes(measure: etree._Element) -> Iterable[tuple[str, str]]:
    divisions, ways = notation().divisions, _ways()
    for element in measure:
        if element.tag == "attributes":
            for child in element:
                if child.tag in _ATTRIBUTES:
                    yield (
                        f"{child.tag} {child.get('number', '')}".strip(),
                        etree.tostring(child, with_tail=False).decode(),
                    )
        elif element.tag == "direction":
            for dynamics in element.iterfind("direction-type/dynamics"):
                yield "dynamic", etree.tostring(dynamics, with_tail=False).decode()
            for words in (mark.text or "" for mark in element.iterfind("direction-type/words")):
                yield from ((kind, words) for kind, own in ways.items() if words in own or words in own.values())
                if words.startswith(divisions) or words.endswith(divisions):
                    yield _DESKS, words


def _said_first(measure: etree._Element) -> set[str]:
    """Kinds that a bar says itself before its first note."""
    said: set[str] = set()
    for element in measure:
        if element.tag == "note" and element.find("rest") is None:
            break
        shell = etree.Element("measure")
        shell.append(etree.fromstring(etree.tostring(element, with_tail=False)))
        said |= {kind for kind, _ in _changes(shell)}
    return said


def _plays(measures: Sequence[bytes]) -> bool:
    return any(b"<pitch>" in measure or b"<unpitched>" in measure for measure in measures)


def _say(measure: etree._Element, missing: State, at_end: bool) -> None:
    """Write what is missing into a bar: at its end for the bar that follows, else before its first note."""
    made = []
    attributes = [value for kind, value in missing.items() if kind.split(" ")[0] in _ATTRIBUTES]
    if attributes:
        shell = etree.Element("attributes")
        order = sorted(
            (etree.fromstring(text) for text in attributes),
            key=lambda e: (_ATTRIBUTES.index(e.tag), e.get("number", "")),
        )
        shell.extend(order)
        made.append(shell)
    for kind, value in sorted(missing.items()):
        if kind.split(" ")[0] in _ATTRIBUTES:
            continue
        direction = etree.Element("direction", placement="below" if kind == "dynamic" else "above")
        inner = etree.SubElement(direction, "direction-type")
        if kind == "dynamic":
            inner.append(etree.fromstring(value))
        else:
            etree.SubElement(inner, "words").text = value
        made.append(direction)
    for element in made:
        element.tail = "\n  "
    place = len(measure) if at_end else sum(1 for _ in _head(measure))
    if at_end and len(measure) and measure[-1].tag == "barline" and measure[-1].get("location") == "right":
        place -= 1
    for offset, element in enumerate(made):
        measure.insert(place + offset, element)


def _head(measure: etree._Element) -> Iterable[etree._Element]:
    """What stands before the music of a bar."""
    for element in measure:
        if element.tag not in ("print", "barline", "attributes"):
            return
        yield element
