"""Briefs in TOML and directions said on one line, read strictly."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from autoorch.brief.model import (
    FARTHEST_OCTAVE,
    INTENTS,
    LAYERS,
    LEADING,
    MOMENTS,
    PALETTE,
    READ_AS,
    ROLES,
    TECHNIQUES,
    TEMPI,
    UNDER,
    WISHES,
    Bars,
    Brief,
    Direction,
    Hit,
    Like,
    Shape,
)
from autoorch.errors import BriefError, TableError
from autoorch.tables import spoken
from autoorch.toml import Schema, parse, text_of

_SCHEMA: Schema = {
    "lineup?": str,
    "intent?": frozenset(INTENTS),
    "leading?": frozenset(LEADING),
    "under?": frozenset(UNDER),
    "tempo?": frozenset(TEMPI),
    "until?": frozenset(LAYERS),
    "without?": [frozenset(LAYERS)],
    "direction?": [
        {
            "bars?": str,
            "role?": frozenset((*ROLES, *READ_AS)),
            **{f"{wish}?": [str] for wish in WISHES},
            "octave?": (int, -FARTHEST_OCTAVE, FARTHEST_OCTAVE),
            "technique?": str,
            "like?": str,
        }
    ],
    "shape?": [{"bars": str, "weight?": (float, 0, 1), "peak?": bool}],
    "moment?": [{"bar": object, "beat?": (float, 1, 64), "kind": frozenset(MOMENTS)}],
}
_BARS = re.compile(r"^(#?\w+?)(?:\.(\d+(?:\.\d+)?))?(?:\s*[-–]\s*(#?\w+?)(?:\.(\d+(?:\.\d+)?))?)?$")
_SAID = re.compile(
    r"^(?:everywhere:|bars?\s+)?\s*(#?\d[\w.]*(?:\s*[-–]\s*#?\d[\w.]*)?)?[\s,]*"
    rf"(?:({'|'.join((*ROLES, *READ_AS))})\b)?[\s,:]*(.*)$"
)


def read_brief(path: Path) -> Brief:
    """The brief in a TOML file; scores that it points at are looked for from the folder it stands in.

    Raises:
        BriefError: file, key and what is wrong; an unknown key with the known ones.
    """
    try:
        text = text_of(path)
    except TableError as error:
        raise BriefError(str(error)) from None
    brief = parse_brief(text, path.name)
    return replace(brief, directions=tuple(_found_from(path.parent, direction) for direction in brief.directions))


def _found_from(folder: Path, direction: Direction) -> Direction:
    like = direction.like
    if like is None or like.bars is None:
        return direction
    return replace(direction, like=replace(like, file=str(folder / like.file)))


def parse_brief(text: str, file: str = "brief") -> Brief:
    """The same for text at hand; `file` is for messages.

    Raises:
        BriefError: as `read_brief`.
    """
    try:
        data = parse(text, file, _SCHEMA)
    except TableError as error:
        raise BriefError(str(error)) from None
    places = {kind: f"{file}, {kind}" for kind in ("direction", "shape", "moment")}
    return Brief(
        lineup=data.get("lineup", "romantic"),
        intent=data.get("intent", "full"),
        leading=data.get("leading", ""),
        under=data.get("under", ""),
        tempo=data.get("tempo", ""),
        until=data.get("until", ""),
        without=tuple(data.get("without", ())),
        directions=tuple(
            _direction(row, f"{places['direction']} {number}")
            for number, row in enumerate(data.get("direction", ()), 1)
        ),
        shapes=_shapes(data.get("shape", ()), places["shape"]),
        moments=tuple(
            _hit(row, f"{places['moment']} {number}") for number, row in enumerate(data.get("moment", ()), 1)
        ),
    )


def parse_direction(text: str) -> Direction:
    """A direction on one line, as it is said: "9-16 melody must Oboe 1", "bars 9-16, bass: avoid Horns; octave -1".

    Raises:
        BriefError: where bars, role, wishes or technique are none.
    """
    place = f'direction "{text}"'
    match = _SAID.match(" ".join(text.split()))
    assert match
    bars, role, rest = match.groups()
    row: dict[str, Any] = {key: value for key, value in (("bars", bars), ("role", role)) if value}
    for said in filter(None, (part.strip() for part in rest.split(";"))):
        word, _, names = said.partition(" ")
        if word in WISHES:
            row[word] = tuple(name.strip() for name in names.split(","))
        elif word == "octave" and re.fullmatch(r"[+-]?\d", names.strip()):
            row[word] = int(names)
        elif word == "like":
            row[word] = names
        elif spoken(said) in TECHNIQUES:
            if "technique" in row:
                raise BriefError(f'{place}: one way of playing a direction; say "{said}" in another one for these bars')
            row["technique"] = said
        else:
            raise BriefError(f"{place}: {_no_wish(said, role)}")
    if abs(row.get("octave", 0)) > FARTHEST_OCTAVE:
        raise BriefError(f"{place}: octave from {-FARTHEST_OCTAVE} to {FARTHEST_OCTAVE}")
    return _direction(row, place)


def parse_place(text: str, place: str) -> tuple[Bars | None, str]:
    """(bars, role) of "9-16 melody", "9-16" or "bass"; None for the whole cue, "" for all roles.

    Raises:
        BriefError: where it is neither; `place` says where it stands.
    """
    match = _SAID.match(" ".join(text.split()))
    assert match
    bars, role, rest = match.groups()
    if rest or not (bars or role):
        raise BriefError(f'{place} "{text}" wants bars, a role ({", ".join(ROLES)}) or both, such as "9-16 melody"')
    return parse_bars(bars, f'{place} "{text}"') if bars else None, READ_AS.get(role, role or "")


def _no_wish(said: str, role: str | None) -> str:
    """Why something said is no wish, and what would be: a role of another name, or neither wish nor technique."""
    words = said.split()
    if role is None and len(words) > 1 and words[1] in WISHES:
        return f'"{words[0]}" is no role; roles are {", ".join(ROLES)}'
    known = ", ".join((*WISHES, "octave +1", "like SCORE:BARS"))
    known = f'{known}, or a technique ({", ".join(TECHNIQUES)}), such as "9-16 bass must Cellos; pizz"'
    return f'"{said}" is no wish; after bars and role write {known}'


def directed(brief: Brief, said: Iterable[str]) -> Brief:
    """The brief with directions said on one line each after its own.

    Raises:
        BriefError: as `parse_direction`.
    """
    return replace(brief, directions=brief.directions + tuple(parse_direction(text) for text in said))


def parse_bars(text: str, place: str = "brief") -> Bars:
    """Read "9", "9-16", "9.3-12" (from beat 3), "9-12.2" (beat 2 included).

    Raises:
        BriefError: where it is no such thing; `place` says where it stands.
    """
    match = _BARS.match(text.strip())
    if match is None:
        raise BriefError(f'{place}: "{text}" is no run of bars such as 9, 9-16 or 9.3-12')
    first, from_beat, last, to_beat = match.groups()
    if last is None:
        last, to_beat = first, from_beat
    bars = Bars(first, last, float(from_beat or 1), float(to_beat) if to_beat else None)
    same = bars.first == bars.last and bars.to_beat is not None and bars.to_beat < bars.from_beat
    backwards = first.isdecimal() and last.isdecimal() and int(last) < int(first)
    if same or backwards or min(bars.from_beat, bars.to_beat or 1) < 1:
        raise BriefError(f'{place}: "{text}" ends before it begins; bars and beats run upwards, beats from 1')
    return bars


def _direction(row: Mapping[str, Any], place: str) -> Direction:
    technique = spoken(row.get("technique", ""))
    if technique and technique not in TECHNIQUES:
        raise BriefError(f'{place}: no technique "{row["technique"]}"; known: {", ".join(TECHNIQUES)}')
    for wish in WISHES:
        if wish in row and not all(name.strip() for name in row[wish]):
            raise BriefError(f"{place}: an empty name in {wish}")
    direction = Direction(
        bars=parse_bars(row["bars"], place) if "bars" in row else None,
        role=READ_AS.get(row.get("role", ""), row.get("role", "")),
        must=row.get("must", ()),
        prefer=row.get("prefer", ()),
        avoid=row.get("avoid", ()),
        only=row.get("only", ()),
        octave=row.get("octave"),
        technique=technique,
        like=_like(row["like"], place) if "like" in row else None,
    )
    asks = any(getattr(direction, wish) for wish in WISHES) or direction.technique or direction.like
    if not asks and direction.octave is None:
        raise BriefError(f"{place}: asks for nothing; give {', '.join(WISHES)}, octave, technique or like")
    return direction


def _shapes(rows: Sequence[Mapping[str, Any]], place: str) -> tuple[Shape, ...]:
    shapes = tuple(_shape(row, f"{place} {number}") for number, row in enumerate(rows, 1))
    peaks = [number for number, shape in enumerate(shapes, 1) if shape.peak]
    if len(peaks) > 1:
        raise BriefError(f"{place} {peaks[1]}: a second peak; a cue has one, and shape {peaks[0]} says where")
    return shapes


def _shape(row: Mapping[str, Any], place: str) -> Shape:
    if "weight" not in row and not row.get("peak", False):
        raise BriefError(f"{place}: asks for nothing; give weight (0 to 1) or peak = true")
    weight = float(row["weight"]) if "weight" in row else None
    return Shape(parse_bars(row["bars"], place), weight, row.get("peak", False))


def _hit(row: Mapping[str, Any], place: str) -> Hit:
    if isinstance(row["bar"], bool) or not isinstance(row["bar"], int | str):
        raise BriefError(f"{place}: bar must be a bar number, such as 12")
    bars = parse_bars(str(row["bar"]), place)
    if bars != Bars(bars.first, bars.first):
        raise BriefError(f'{place}: "{row["bar"]}" must be one bar; its beat stands in beat')
    return Hit(bars.first, float(row.get("beat", 1)), row["kind"])


def _like(text: str, place: str) -> Like:
    if text.startswith(PALETTE) and text != PALETTE:
        return Like(text)
    file, colon, bars = text.rpartition(":")
    if not colon or not file.strip():
        raise BriefError(
            f'{place}: like = "{text}" wants a score and its bars, such as other.musicxml:41-48, or {PALETTE}NAME'
        )
    return Like(file.strip(), parse_bars(bars, place))
