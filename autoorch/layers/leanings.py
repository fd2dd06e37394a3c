"""What directions and staff names say for and against the colours, grounds and basses of the plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from autoorch.brief import WISHES, Brief, named
from autoorch.layers.colours import GROUPS, Palette, group_of
from autoorch.layers.directed import held_over
from autoorch.lineup import Lineup, Player, resolve
from autoorch.roles.model import Phrase, Reading
from autoorch.sketch.model import Sketch

Lean = Mapping[tuple[str, str], int]
"""("colour", "ground" or "bass", id of constraints/plan.toml) -> extra cost, tenths a bar."""
LEADING = {"strings": ("strings",), "winds": ("woodwind",), "brass": ("brass", "horns")}
ROWS = {"melody": "colour", "bass": "bass", "harmony": "ground", "figure": "ground", "": ""}


@dataclass(frozen=True, slots=True)
class _Wish:
    """A wish of `kind` for players; `row` is the kind of row it is about, "" for all."""

    start: int
    end: int
    kind: str
    row: str
    players: tuple[Player, ...]

    @property
    def ids(self) -> set[str]:
        """What the players hold."""
        return {instrument.id for player in self.players for instrument in (player.instrument, *player.doubles)}


def leanings(sketch: Sketch, reading: Reading, lineup: Lineup, brief: Brief, palette: Palette) -> list[Lean]:
    """For each phrase the rows that somebody asked for, or against.

    Raises:
        BriefError: for bars or players that are not there.
    """
    wishes = [*_directions(sketch, reading, lineup, brief, palette), *_hints(sketch, reading, lineup)]
    return [_of_phrase(phrase, wishes, lineup, brief, palette) for phrase in reading.phrases]


def _directions(sketch: Sketch, reading: Reading, lineup: Lineup, brief: Brief, palette: Palette) -> list[_Wish]:
    found = []
    for direction in brief.directions:
        if direction.role not in ROWS:
            continue
        start, end = held_over(sketch, reading.phrases, direction.bars)
        for kind in WISHES:
            names: Sequence[str] = getattr(direction, kind)
            if names and (direction.role or kind in ("only", "avoid")):
                players = named(names, lineup, palette.tables, str(direction), absent=kind == "avoid")
                found.append(_Wish(start, end, kind, ROWS[direction.role], players))
    return found


def _hints(sketch: Sketch, reading: Reading, lineup: Lineup) -> list[_Wish]:
    """Staff names of the sketch that ask for somebody, where he has tune or bass."""
    found = []
    for strand in reading.strands:
        row = ROWS.get(strand.role, "")
        players = resolve(lineup, strand.hint) if strand.hint and row else ()
        notes = [sketch.by_id[name] for name in strand.lines[0].notes]
        if players and notes:
            found.append(_Wish(notes[0].onset, notes[-1].end, "prefer", row, tuple(players)))
    return found


def _of_phrase(phrase: Phrase, wishes: Sequence[_Wish], lineup: Lineup, brief: Brief, palette: Palette) -> Lean:
    weights = palette.tables.rule("plan")["choice"]
    lean: dict[tuple[str, str], int] = {}
    asks = "wanted"

    def add(row: str, name: str, wanted: bool, unwanted: bool) -> None:
        cost = weights[asks] * wanted + weights["unwanted"] * unwanted
        if cost:
            lean[row, name] = lean.get((row, name), 0) + cost

    for wish in wishes:
        if wish.start >= phrase.end or wish.end <= phrase.start:
            continue
        ids, against, only = wish.ids, wish.kind == "avoid", wish.kind == "only"
        asks = "ordered" if wish.kind == "must" else "wanted"
        for kind, rows, key in (("colour", palette.colours, "instruments"), ("bass", palette.basses, "players")):
            if wish.row not in ("", kind):
                continue
            for data in rows:
                own = {name for name in data[key] if name in palette.held}
                asked = bool(own & ids) and not against and not only
                add(kind, data["id"], asked, bool(own & ids) if against else only and not own <= ids)
        if wish.row in ("", "ground"):
            named_groups = _groups(wish.players, lineup, whole=against)
            for data in palette.grounds:
                own = {group for group in data["groups"] if palette.seats[group]}
                asked = bool(own & named_groups) and not against and not only
                add(
                    "ground",
                    data["id"],
                    asked,
                    bool(own & named_groups) if against else only and not own <= named_groups,
                )
    if brief.leading:
        for data in palette.colours:
            add("colour", data["id"], False, group_of(palette.instrument(data)) not in LEADING[brief.leading])
    return lean


def _groups(players: Sequence[Player], lineup: Lineup, *, whole: bool) -> set[str]:
    """Groups that the players belong to; with `whole` only those all of whose players are among them."""
    names = {player.name for player in players}
    found = set()
    for group in GROUPS:
        own = {player.name for player in lineup.players if group_of(player.instrument) == group}
        if own and (own <= names if whole else own & names):
            found.add(group)
    return found
