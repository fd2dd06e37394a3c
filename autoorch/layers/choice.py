"""What a phrase brings to the choice of colours, and what it gets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Need:
    """What one phrase brings to the choice.

    Attributes:
        bars: its length.
        dynamic: as in the plan.
        tune: (sounding MIDI pitch, ticks) of its tune; () where it has none. speed: its notes a second where it is fastest.
        section: number of its section.
        wanted: players that its weight asks for.
        low: its lowest note, sounding MIDI pitch.
        bass: (sounding MIDI pitch, ticks) of its bass; () where it has none. attack: what that is ([attack] of
            constraints/plan.toml): "detached", "held", "pedal", or "" where it moves.
        restates: index of the phrase whose material it brings back, or None.
        answers: it could answer the phrase before it.
        thin: it is to be the thinnest, so that what lies under softer music suits it.
        before_peak: it stands before the peak; peak: it is the peak.
        lean: ("colour", "ground" or "bass", id) -> extra cost, tenths a bar (directions, staff names).
    """

    bars: int
    dynamic: str
    tune: tuple[tuple[int, int], ...]
    section: int
    wanted: int
    speed: float = 0.0
    low: int = 127
    bass: tuple[tuple[int, int], ...] = ()
    attack: str = ""
    character: str = ""
    restates: int | None = None
    answers: bool = False
    thin: bool = False
    before_peak: bool = False
    peak: bool = False
    lean: Mapping[tuple[str, str], int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Pick:
    """What one phrase gets: ids of a colour, a ground and a bass of constraints/plan.toml."""

    lead: str
    ground: str
    bass: str


@dataclass(frozen=True, slots=True)
class Choice:
    """The picks of all phrases; `costs`: reason -> tenths."""

    picks: tuple[Pick, ...]
    costs: Mapping[str, int]

    @property
    def cost(self) -> int:
        return sum(self.costs.values())

    def reason_against(self, other: Choice) -> str:
        """What makes this choice dearer than another, the chief thing only."""
        return max({**self.costs, **other.costs}, key=lambda name: self.costs.get(name, 0) - other.costs.get(name, 0))
