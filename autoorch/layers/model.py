"""The material a draft is made from: the sketch's strands ("assigned") and strands that the layers add.

Positions are ticks of the sketch. A layer only adds; what players get of all this is the solver's business.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise

from autoorch.pitch import Pitch
from autoorch.roles.model import Leader
from autoorch.sketch.model import Mark

UNISON = "unison and octaves"
"""The scheme of a tutti in which everybody has the tune or its bass."""
FULL, JOBS = "full chord in each family", "one job per family"
"""The schemes of the other tuttis."""
SHARED = "shared"
"""The texture of a note on which who hands the tune on may finish while the next one begins on it."""


@dataclass(frozen=True, slots=True)
class MaterialNote:
    """A note that a player may get.

    Attributes:
        id: the sketch note's id, or one of its own ("pad2.1.7") for added notes.
        onset, duration: ticks; duration 0 for grace notes.
        pitch: sounding, before any octave shift.
        sources: ids of the sketch notes it carries; () for notes made by us.
        marks, grace: as in the sketch.
        swell: (dynamic at its beginning, dynamic at its end) of a note that grows by itself, else ().
    """

    id: str
    onset: int
    duration: int
    pitch: Pitch
    sources: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    grace: str = ""
    swell: tuple[str, ...] = ()

    @property
    def end(self) -> int:
        return self.onset + self.duration


@dataclass(frozen=True, slots=True)
class MaterialLine:
    """One note at a time. `reduced` lines repeat notes of their strand's other lines (the line that keeps the thirds, the
    bass at chord changes only) for line-ups or players that can't take everything; those that stand `instead` say the same
    as the others in a way that suits winds and strings better."""

    id: str
    notes: tuple[MaterialNote, ...]
    reduced: bool = False
    instead: bool = False


@dataclass(frozen=True, slots=True)
class MaterialStrand:
    """A strand of the sketch or one of ours.

    Attributes:
        id: as in the reading, or "pad1", "touch2" … for added ones.
        role: as in roles.model.ROLES.
        layer: "assigned" or the name of the layer that added it.
        lines: highest first; reduced lines last.
        families: families that may play it; () for any.
        complete: its lines sound all together (a set) or not at all.
        hint: instrument or section wished for, or "".
        reason: why the layer made it, in one plain line; "" for assigned strands.
        cuts: as in the reading.
        technique: how whoever gets it plays it, where the instrument can: a key of constraints/techniques.toml ("pizz",
            "trem"); "" for the ordinary way.
    """

    id: str
    role: str
    layer: str
    lines: tuple[MaterialLine, ...]
    texture: str = ""
    families: tuple[str, ...] = ()
    complete: bool = False
    hint: str = ""
    reason: str = ""
    cuts: tuple[int, ...] = ()
    technique: str = ""


@dataclass(frozen=True, slots=True)
class Manner:
    """Over some ticks a strand may be played in a special way, or must be.

    Attributes:
        strand: material strand id; "" for all.
        start, end: ticks; it holds for spans that start inside.
        technique: a key of constraints/techniques.toml ("pizz"); "" for the ordinary way.
        group: the group that the ordinary way is asked for in ("mute"); "" for a technique, which has its own.
        players: names of those it is for; () for all who can.
        asked: the brief asks for it, so the ordinary way is no choice there; else it is offered.
        reason: why it is offered, in one plain line.
    """

    strand: str
    start: int
    end: int
    technique: str
    players: tuple[str, ...] = ()
    asked: bool = False
    reason: str = ""
    group: str = ""


@dataclass(frozen=True, slots=True)
class Entrance:
    """A strand takes up a subject with one of its lines (an id), from `start` to `end` (ticks)."""

    subject: int
    strand: str
    line: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Turn:
    """From `start` (ticks) to the next turn or the end of its phrase the plan is another: more players for louder music, fewer
    where it falls; fields as in the phrase's plan. With `tune` it is another for the tune alone: somebody joins it, leaves it, or
    takes it over (`lead`, "" where the phrase's goes on)."""

    start: int
    dynamic: str
    weight: float
    joined: tuple[str, ...] = ()
    ground: tuple[str, ...] = ()
    bass: tuple[str, ...] = ()
    octaves: int = 0
    doublers: int = 0
    scheme: str = ""
    tune: bool = False
    lead: str = ""
    octave: int | None = None


@dataclass(frozen=True, slots=True)
class RunnerUp:
    """The cheapest plan of the cue that has another leading colour at the peak: who leads there, over which groups, by how much
    it is dearer (in the costs of constraints/plan.toml, of which that has the tenths), and what chiefly makes it so."""

    lead: str
    ground: tuple[str, ...]
    dearer: float
    reason: str


@dataclass(frozen=True, slots=True)
class PhrasePlan:
    """What the plan asks of one phrase.

    Attributes:
        weight: 0 to 1, how much should sound.
        dynamic: the dynamic of its players.
        peak: the one peak of the cue.
        label: material of the phrase ("A'").
        section: number of its section, from 0; a section keeps one scoring.
        restates: index of the last phrase with the same material, or None; answers: that of the phrase right before it, where
            strings and winds ask and answer.
        lead: colour of constraints/plan.toml that has the tune, "" where the plan leaves it open; joined: colours that
            may double it.
        ground: groups that have chords, figures and off-beats; bass: instruments that have the bass.
        resting: groups that rest.
        octaves, doublers: octaves of the tune and players on it; 0 where the plan leaves open what anybody does besides leading.
        octave: how far from where it is written the lead has the tune at least, in octaves; None where that is left open.
        scheme: "solo", "strings alone", "winds alone", "one job per family", "full chord in each family", "unison and
            octaves" or "".
        turns: where inside the phrase the plan changes, in time order.
        runner_up: what this phrase, the peak, nearly was.
    """

    start: int
    end: int
    weight: float
    dynamic: str
    peak: bool = False
    label: str = ""
    section: int = 0
    restates: int | None = None
    answers: int | None = None
    lead: str = ""
    joined: tuple[str, ...] = ()
    ground: tuple[str, ...] = ()
    bass: tuple[str, ...] = ()
    resting: tuple[str, ...] = ()
    octaves: int = 0
    doublers: int = 0
    scheme: str = ""
    turns: tuple[Turn, ...] = ()
    octave: int | None = None
    runner_up: RunnerUp | None = None

    def at(self, tick: int) -> PhrasePlan:
        """What is planned at a tick of the phrase: that of the last turn that has come by then."""
        turn = next((turn for turn in reversed(self.turns) if turn.start <= tick), None)
        if turn is None:
            return self
        return replace(
            self, dynamic=turn.dynamic, weight=turn.weight, joined=turn.joined, ground=turn.ground, bass=turn.bass,
            octaves=turn.octaves, doublers=turn.doublers, scheme=turn.scheme, lead=turn.lead or self.lead, turns=(),
            octave=turn.octave,
        )  # fmt: skip

    @property
    def detailed(self) -> bool:
        """It says who does what, not only who leads."""
        return self.doublers > 0

    @property
    def parts(self) -> tuple[tuple[int, int, PhrasePlan], ...]:
        """(start, end, what is planned there): the whole phrase, or what stands between its turns for everybody."""
        edges = (self.start, *(turn.start for turn in self.turns if not turn.tune), self.end)
        return tuple((start, end, self.at(start)) for start, end in pairwise(edges))


@dataclass(frozen=True)
class Material:
    """All strands, the plan of the cue, and where a strand may or must be played in a special way.

    At each of `seams` (ticks) all strands are cut: the plan of a phrase turns there, a direction begins or ends, or bars on one
    side are kept as another draft has them. `marks` are hairpins and words about the tempo of ours, for everybody; `swells` are
    hairpins into and out of a tune's crest, for those who sing or hold there. `entrances` and `leaders` are the reading's: who
    takes up a subject, who leads in which bars.
    """

    strands: tuple[MaterialStrand, ...]
    plan: tuple[PhrasePlan, ...]
    notices: tuple[str, ...] = field(default=())
    manners: tuple[Manner, ...] = field(default=())
    seams: tuple[int, ...] = ()
    marks: tuple[Mark, ...] = ()
    swells: tuple[Mark, ...] = ()
    entrances: tuple[Entrance, ...] = ()
    leaders: tuple[Leader, ...] = ()

    @cached_property
    def strand(self) -> dict[str, MaterialStrand]:
        return {strand.id: strand for strand in self.strands}

    @cached_property
    def line(self) -> dict[str, MaterialLine]:
        return {line.id: line for strand in self.strands for line in strand.lines}

    @cached_property
    def answers(self) -> frozenset[tuple[str, int]]:
        """(strand, tick) of each entry that takes up a subject in the strand that has just had it."""
        subjects: dict[int, list[Entrance]] = defaultdict(list)
        for entrance in self.entrances:
            subjects[entrance.subject].append(entrance)
        pairs = (pair for entries in subjects.values() for pair in pairwise(entries))
        return frozenset(
            (second.strand, second.start)
            for first, second in pairs
            if first.strand == second.strand and first.end <= second.start
        )
