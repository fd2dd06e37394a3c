"""What can be asked for: the brief and its directions, shapes and moments, over bars as they are printed."""

from __future__ import annotations

from dataclasses import dataclass

INTENTS = ("faithful", "lean", "full")
LEADING = {"strings": ("strings",), "winds": ("woodwind",), "brass": ("brass",)}
"""Who may be asked to lead, and the families of instruments that are meant."""
UNDER = ("dialogue",)
TEMPI = ("none", "marked", "played")
"""What becomes of changes of tempo that the sketch does not have: left out, bracketed words, words that the mock-up follows."""
LAYERS = ("plan", "melody", "bass", "harmony", "accompaniment", "counterline", "finish")
"""Layers in their order; any can be left out."""
ADDING = {"faithful": (), "lean": ("melody", "bass", "harmony", "finish"), "full": LAYERS}
"""Intent -> the layers that may add material with it: a lean draft has no figures and second lines of ours."""
ROLES = ("melody", "bass", "harmony", "figure", "counterline", "accents")
READ_AS = {"inner": "harmony", "rhythm": "accents", "pedal": "bass"}
"""What a reading calls a role -> the role of a brief that has it."""
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
    "arco", "col legno", "con sord", "cuivre", "div", "div a 3", "div a 4", "flz", "gliss", "half", "harm", "one desk", "open",
    "ord", "pizz", "senza sord", "solo", "soli", "stopped", "sul g", "sul pont", "sul tasto", "trem", "tutti", "unis",
)  # fmt: skip
FARTHEST_OCTAVE = 3
PALETTE = "palette:"
"""Begins the name of a passage of constraints/palette.toml, where a score and its bars might stand."""


@dataclass(frozen=True, slots=True)
class Bars:
    """A run of bars, both ends included, by their printed numbers where those are unique, else counted.

    Attributes:
        first, last: "9", "16", "12a"; "#9" is counted in any case.
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
        origin: where it comes from if not from a brief ("sketch, bar 5", "like palette:high cellos").
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
    """How much sounds over bars: `weight` 0 to 1 (None: as the plan has it); `peak` marks the peak; `origin`: as of Direction."""

    bars: Bars
    weight: float | None = None
    peak: bool = False
    origin: str = ""

    def __str__(self) -> str:
        """ "shape, bars 41-46: weight 0.9, peak"."""
        asks = [f"weight {self.weight:g}"] if self.weight is not None else []
        said = f"shape, bars {self.bars}: {', '.join([*asks, *(['peak'] if self.peak else [])])}"
        return f"{said} ({self.origin})" if self.origin else said


@dataclass(frozen=True, slots=True)
class Hit:
    """A moment to be marked: bar as printed, beat from 1, kind one of MOMENTS."""

    bar: str
    beat: float
    kind: str

    def __str__(self) -> str:
        """ "moment, bar 12, beat 3: hit"."""
        return f"moment, bar {self.bar}, beat {self.beat:g}: {self.kind}"


@dataclass(frozen=True, slots=True)
class Brief:
    """Everything asked for.

    Attributes:
        lineup: preset, shorthand or TOML file of players.
        intent: "faithful" (nothing added), "lean" (held chords, landings and few strokes) or "full".
        leading: "strings", "winds", "brass" or "".
        under: "dialogue" (thin, no high solos, no accents) or "".
        tempo: one of TEMPI, "" for "marked" with full intent and no dialogue (whose timings stand) and "none" else.
        until: the last layer that adds anything, "" for all; without: layers that add nothing.
    """

    lineup: str = "romantic"
    intent: str = "full"
    leading: str = ""
    under: str = ""
    tempo: str = ""
    until: str = ""
    without: tuple[str, ...] = ()
    directions: tuple[Direction, ...] = ()
    shapes: tuple[Shape, ...] = ()
    moments: tuple[Hit, ...] = ()

    @property
    def tempi(self) -> str:
        """One of TEMPI."""
        return self.tempo or ("marked" if self.intent == "full" and not self.under else "none")

    def adds(self, layer: str) -> bool:
        """The layer may add material: it works, and the intent has it."""
        return layer in ADDING[self.intent] and self.works(layer)

    def works(self, layer: str) -> bool:
        """It is none after `until` and none of `without`."""
        return LAYERS.index(layer) <= LAYERS.index(self.until or LAYERS[-1]) and layer not in self.without


def _beat(beat: float) -> str:
    return str(int(beat)) if beat.is_integer() else repr(beat)
