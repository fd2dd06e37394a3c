"""A draft: who plays which lines in which octave, span by span, with what it costs and how sure we are."""

from __future__ import annotations

from dataclasses import dataclass, field

from autoorch.layers.model import PhrasePlan


@dataclass(frozen=True, slots=True)
class Choice:
    """One player takes lines of one strand over one span.

    Attributes:
        player: name as in the line-up.
        strand: material strand id.
        lines: material line ids, highest first; several for divided strings, double stops and keyboards.
        octave: declared shift in octaves of everything in the span.
        start, end: ticks; notes that start inside belong to the choice.
        share: how much of a section plays it, in twelfths (12 = all, 6 = half: divisi).
        instrument: id of the instrument a doubling player takes for it; "" for the usual one.
        techniques: how it is played, keys of constraints/techniques.toml, at most one of each group ("con_sord", "pizz"); () for
            the ordinary way.
    """

    player: str
    strand: str
    lines: tuple[str, ...]
    octave: int
    start: int
    end: int
    share: int = 12
    instrument: str = ""
    techniques: tuple[str, ...] = ()


FATES = ("copied", "octave moved", "held through", "re-figured", "thinned", "dropped")
"""What can become of a note, from nothing to the worst."""


@dataclass(frozen=True, slots=True)
class Fate:
    """What became of one sketch note.

    Attributes:
        note: sketch note id.
        fate: one of FATES.
        players: who has it; () where nobody.
        reason: plain words, given where the note is thinned or dropped.
    """

    note: str
    fate: str
    players: tuple[str, ...]
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Added:
    """A strand of ours that somebody plays: its id, the layer that made it, and why."""

    strand: str
    layer: str
    reason: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """What became of one direction: `state` is "kept", "bent" (kept in part) or "refused"; `detail` says how far."""

    direction: str
    state: str
    detail: str = ""

    def __str__(self) -> str:
        """ "bent: bars 9-16, melody: prefer Oboe (kept in 60% of it)"."""
        return f"{self.state}: {self.direction}" + (f" ({self.detail})" if self.detail else "")


@dataclass(frozen=True)
class Draft:
    """The decisions of one draft, sorted by (start, player order, strand).

    Attributes:
        choices: who plays what.
        fates: one per sketch note, in note order.
        costs: cost by rule name, from the rules' own checks.
        directed: shortfall of soft directions (first number of the objective).
        objective: sum of `costs` (second number of the objective).
        bound: proven lower bound of the objective where the cue was solved in one piece, else of each window given those before
            it, added up.
        status: "optimal" (in one piece, and proven), "feasible" or "stopped".
        losses: what a small line-up could not take, one line each.
        verdicts: one for each thing that the brief's directions ask.
        plan: what the plan of the cue asked of each phrase.
        added: what is not the sketch's.
    """

    choices: tuple[Choice, ...]
    fates: tuple[Fate, ...] = ()
    costs: dict[str, int] = field(default_factory=dict)
    directed: int = 0
    objective: int = 0
    bound: int = 0
    status: str = "feasible"
    losses: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()
    verdicts: tuple[Verdict, ...] = ()
    plan: tuple[PhrasePlan, ...] = ()
    added: tuple[Added, ...] = ()

    @property
    def gap(self) -> float:
        """(objective - bound) / objective, 0 for an objective of 0."""
        return (self.objective - self.bound) / self.objective if self.objective > 0 else 0.0
