"""What the user asks for: line-up, intent, directions over bars, shape and moments, read strictly from TOML.

Bars stay as they were written; whoever has the sketch finds them in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from autoorch.errors import BriefError, TableError
from autoorch.lineup import Lineup, Player, everyone, resolve
from autoorch.tables import Tables, spoken
from autoorch.toml import Schema, parse, text_of

INTENTS = ("faithful", "lean", "full")
LEADING = {"strings": ("strings",), "winds": ("woodwind",), "brass": ("brass",)}
"""Who may be asked to lead, and the families of instruments that are meant."""
UNDER = ("dialogue",)
LAYERS = ("plan", "melody", "bass", "harmony", "accompaniment", "counterline", "finish")
"""Layers in their order; all but the plan can be left out."""
ROLES = ("melody", "bass", "harmony", "figure", "counterline", "accents")
STRAND_ROLES = {
    "melody": ("melody",),
    "bass": ("bass", "pedal"),
    "harmony": ("inner",),
    "figure": ("figure", "rhythm"),
    "counterline": ("counterline",),
    "accents": ("rhythm",),
    "": (),
}
"""The roles of a reading that each role of a brief stands for; () for all."""
WISHES = ("must", "prefer", "avoid", "only")
MOMENTS = ("hit", "climax", "arrival", "cadence", "sudden", "fermata", "leap", "run", "last")
TECHNIQUES = (
    "arco", "col legno", "con sord", "div", "half", "harm", "one desk", "open", "pizz", "senza sord", "solo", "soli",
    "stopped", "sul g", "sul pont", "sul tasto", "trem", "tutti", "unis",
)  # fmt: skip
FARTHEST_OCTAVE = 3
SUGGESTED = 3
"""So many names are offered for one that nobody has."""
PALETTE = "palette:"
"""Begins the name of a passage of constraints/palette.toml, where a score and its bars might stand."""

_SCHEMA: Schema = {
    "lineup?": str,
    "intent?": frozenset(INTENTS),
    "leading?": frozenset(LEADING),
    "under?": frozenset(UNDER),
    "until?": frozenset(LAYERS),
    "without?": [frozenset(LAYERS[1:])],
    "direction?": [
        {
            "bars?": str,
            "role?": frozenset(ROLES),
            **{f"{wish}?": [str] for wish in WISHES},
            "octave?": (int, -FARTHEST_OCTAVE, FARTHEST_OCTAVE),
            "technique?": str,
            "like?": str,
        }
    ],
    "shape?": [{"bars": str, "weight?": (float, 0, 1), "peak?": bool}],
    "moment?": [{"bar": object, "beat?": (float, 1, 64), "kind": frozenset(MOMENTS)}],
}
_BARS = re.compile(r"^(\w+?)(?:\.(\d+(?:\.\d+)?))?(?:\s*[-–]\s*(\w+?)(?:\.(\d+(?:\.\d+)?))?)?$")
_SAID = re.compile(
    rf"^(?:everywhere:|bars?\s+)?\s*(\d[\w.]*(?:\s*[-–]\s*\d[\w.]*)?)?[\s,]*(?:({'|'.join(ROLES)})\b)?[\s,:]*(.*)$"
)


@dataclass(frozen=True, slots=True)
class Bars:
    """A run of bars, both ends included, by their printed numbers where those are unique, else counted.

    Attributes:
        first, last: "9", "16", "12a".
        from_beat: beat of the first bar at which it begins, from 1.
        to_beat: last beat of the last bar that belongs to it; None for all of the bar.
    """

    first: str
    last: str
    from_beat: float = 1.0
    to_beat: float | None = None

    def __str__(self) -> str:
        start = self.first if self.from_beat == 1 else f"{self.first}.{_beat(self.from_beat)}"
        end = self.last if self.to_beat is None else f"{self.last}.{_beat(self.to_beat)}"
        return start if start == end else f"{start}-{end}"


@dataclass(frozen=True, slots=True)
class Like:
    """A passage to score it like: a score file and its bars, or "palette:NAME" and no bars."""

    file: str
    bars: Bars | None = None

    def __str__(self) -> str:
        return f"{self.file}:{self.bars}" if self.bars else self.file


@dataclass(frozen=True, slots=True)
class Direction:
    """One direction.

    Attributes:
        bars: None for the whole cue.
        role: one of ROLES, "" for all.
        must, prefer, avoid, only: names of players and groups, as written.
        octave: octave shift asked for, or None.
        technique: one of TECHNIQUES or "".
        origin: where it comes from if not from a brief ("sketch, bar 5").
    """

    bars: Bars | None = None
    role: str = ""
    must: tuple[str, ...] = ()
    prefer: tuple[str, ...] = ()
    avoid: tuple[str, ...] = ()
    only: tuple[str, ...] = ()
    octave: int | None = None
    technique: str = ""
    like: Like | None = None
    origin: str = ""

    def __str__(self) -> str:
        """The direction as one would say it: "bars 9-16, counterline: must Clarinet 1, Violas"."""
        place = (
            ", ".join(part for part in (f"bars {self.bars}" if self.bars else "", self.role) if part) or "everywhere"
        )
        said = f"{place}: {self.wishes}"
        return f"{said} ({self.origin})" if self.origin else said

    @property
    def wishes(self) -> str:
        """What it asks for, without bars and role."""
        wishes = [f"{wish} {', '.join(getattr(self, wish))}" for wish in WISHES if getattr(self, wish)]
        wishes += [f"octave {self.octave:+d}"] if self.octave is not None else []
        wishes += [self.technique] if self.technique else []
        wishes += [f"like {self.like}"] if self.like else []
        return "; ".join(wishes)


@dataclass(frozen=True, slots=True)
class Shape:
    """How much sounds over some bars: `weight` 0 to 1 (None: as the plan has it); `peak` marks the peak."""

    bars: Bars
    weight: float | None = None
    peak: bool = False


@dataclass(frozen=True, slots=True)
class Hit:
    """A moment to be marked: bar as printed, beat from 1, kind one of MOMENTS."""

    bar: str
    beat: float
    kind: str


@dataclass(frozen=True, slots=True)
class Brief:
    """Everything asked for.

    Attributes:
        lineup: preset, shorthand or TOML file of players.
        intent: "faithful" (nothing added), "lean" or "full".
        leading: "strings", "winds", "brass" or "".
        under: "dialogue" (thin, no high solos, no accents) or "".
        until: the last layer that adds anything, "" for all; without: layers that add nothing.
    """

    lineup: str = "romantic"
    intent: str = "full"
    leading: str = ""
    under: str = ""
    until: str = ""
    without: tuple[str, ...] = ()
    directions: tuple[Direction, ...] = ()
    shapes: tuple[Shape, ...] = ()
    moments: tuple[Hit, ...] = ()

    def adds(self, layer: str) -> bool:
        """The layer may add material: it works, and the intent is not "faithful"."""
        return self.intent != "faithful" and self.works(layer)

    def works(self, layer: str) -> bool:
        """It is none after `until` and none of `without`."""
        return LAYERS.index(layer) <= LAYERS.index(self.until or LAYERS[-1]) and layer not in self.without


def led(brief: Brief, lineup: Lineup) -> tuple[Brief, tuple[str, ...]]:
    """The brief, who leads left open where the line-up has nobody of those who should, and a line that says so."""
    families = {player.instrument.family for player in lineup.players}
    if not brief.leading or families.intersection(LEADING[brief.leading]):
        return brief, ()
    return replace(brief, leading=""), (f"{brief.leading} should lead, and {lineup.name} has none: it is left open",)


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
        until=data.get("until", ""),
        without=tuple(data.get("without", ())),
        directions=tuple(
            _direction(row, f"{places['direction']} {number}")
            for number, row in enumerate(data.get("direction", ()), 1)
        ),
        shapes=tuple(_shape(row, f"{places['shape']} {number}") for number, row in enumerate(data.get("shape", ()), 1)),
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
        elif "technique" not in row and spoken(said) in TECHNIQUES:
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
    return parse_bars(bars, f'{place} "{text}"') if bars else None, role or ""


def _no_wish(said: str, role: str | None) -> str:
    """Why something said is no wish, and what would be: a role of another name, or neither wish nor technique."""
    words = said.split()
    if role is None and len(words) > 1 and words[1] in WISHES:
        return f'"{words[0]}" is no role; roles are {", ".join(ROLES)}'
    known = ", ".join((*WISHES, "octave +1", "like SCORE:BARS"))
    return f'"{said}" is no wish; after bars and role write {known}, or a technique ({", ".join(TECHNIQUES)})'


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


def named(names: Iterable[str], lineup: Lineup, tables: Tables, place: str, absent: bool = False) -> tuple[Player, ...]:
    """The players of the line-up that the names mean, in score order.

    Args:
        place: what the message says first ("bars 9-16").
        absent: an instrument or group that exists but isn't in this line-up means nobody instead of raising.
    Raises:
        BriefError: for a name that means nobody; it lists who is there.
    """
    found: set[str] = set()
    for name in names:
        players = resolve(lineup, name)
        if not players and not (absent and resolve(everyone(tables), name)):
            names_there = [player.name for player in lineup.players]
            near = get_close_matches(name, names_there, n=SUGGESTED)
            there = f"did you mean {' or '.join(near)}?" if near else f"there are {', '.join(names_there)}"
            raise BriefError(f'{place}: nobody in the line-up "{lineup.name}" is called "{name}"; {there}')
        found |= {player.name for player in players}
    return tuple(player for player in lineup.players if player.name in found)


def _beat(beat: float) -> str:
    return str(int(beat)) if beat.is_integer() else repr(beat)


def _direction(row: Mapping[str, Any], place: str) -> Direction:
    technique = spoken(row.get("technique", ""))
    if technique and technique not in TECHNIQUES:
        raise BriefError(f'{place}: no technique "{row["technique"]}"; known: {", ".join(TECHNIQUES)}')
    for wish in WISHES:
        if wish in row and not all(name.strip() for name in row[wish]):
            raise BriefError(f"{place}: an empty name in {wish}")
    direction = Direction(
        bars=parse_bars(row["bars"], place) if "bars" in row else None,
        role=row.get("role", ""),
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
