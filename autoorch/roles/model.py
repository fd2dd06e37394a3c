"""What a reading holds: strands with roles, phrases, harmony, moments, and what the sketch leaves unsaid.

Every note of the sketch stands in exactly one line of exactly one strand. Positions are ticks of the sketch.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

from autoorch.brief import Direction

ROLES = ("melody", "counterline", "bass", "pedal", "inner", "figure", "rhythm")
SCORE_ORDER = ("melody", "counterline", "inner", "figure", "rhythm", "pedal", "bass")
"""The same from top to bottom of a score, which is also who leads before whom where nothing is imitated."""
BACKGROUND = ("figure", "rhythm", "pedal")
"""Roles that lead only where nothing else does."""
MOMENTS = (
    "climax", "last", "arrival", "key", "cadence", "borrowed", "leap", "run", "landing", "fermata", "sudden", "hit",
)  # fmt: skip
CADENCES = ("authentic", "half", "deceptive", "plagal")
CHARACTERS = ("lyrical", "dance", "march", "hymn", "comic", "dark", "agitated", "majestic", "still")
FOREIGN = ("passing", "neighbour", "suspension", "appoggiatura", "anticipation", "escape", "pedal", "free")


@dataclass(frozen=True, slots=True)
class Line:
    """Notes that one wind player could play one after the other.

    Attributes:
        id: "s2.1": strand id, dot, number from 1; line 1 is the strand's principal or highest one.
        notes: sketch note ids in time order; no two of them overlap (grace notes stand before their main note).
    """

    id: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Strand:
    """One thing that happens in the music, through the whole cue or part of it.

    Attributes:
        id: "s1", "s2", …
        role: one of ROLES.
        lines: at least one; a tune in octaves or thirds has two, a chordal figure several (highest first).
        texture: what it is in trade words: "tune", "octaves", "thirds", "held chords", "repeated chords", "off-beats",
            "alberti", "arpeggio", "tremolo", "pedal", "ostinato", "line", …
        hint: instrument or section wished for by the sketch's own staff name, or "".
        cuts: ticks at which the strand's own spans are cut besides the phrase joints (sub-phrases, crests, wide leaps).
    """

    id: str
    role: str
    lines: tuple[Line, ...]
    texture: str = ""
    hint: str = ""
    cuts: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase of the whole texture, from joint to joint; phrases cover the cue without gaps.

    Attributes:
        label: small letter of its material, with primes for variations: "a", "a'", "b".
        section: capital letter of the section it belongs to, likewise: "A", "A'", "B".
        cadence: how it closes, one of CADENCES or "".
        dynamic: "ppp" … "fff" in force at its start.
        dynamic_proposed: True where the sketch gives none and the reading proposes it.
        character: one of CHARACTERS or "".
        character_proposed: True where no word of the sketch says it.
    """

    start: int
    end: int
    label: str = ""
    dynamic: str = "mf"
    dynamic_proposed: bool = True
    character: str = ""
    character_proposed: bool = True
    section: str = ""
    cadence: str = ""


@dataclass(frozen=True, slots=True)
class Chord:
    """The harmony from `start` to `end`.

    Attributes:
        root, third, bass: pitch classes 0 to 11; root and third are None where the notes make no chord of thirds.
        members: pitch classes of the chord, root first; () where none is recognised.
        tendency: pitch classes that must move on (leading note of a dominant, chord seventh).
        key: (tonic pitch class, "major" | "minor").
        numeral: roman numeral with the figures of its inversion ("V65", "V7/V") or "".
        borrowed: the chord is not of the key (secondary or borrowed).
        foreign: (sketch note id, one of FOREIGN) of the notes that start in it and are no members.
    """

    start: int
    end: int
    root: int | None
    third: int | None
    bass: int
    members: tuple[int, ...] = ()
    tendency: tuple[int, ...] = ()
    key: tuple[int, str] = (0, "major")
    numeral: str = ""
    borrowed: bool = False
    foreign: tuple[tuple[str, str], ...] = ()

    @property
    def inversion(self) -> int:
        """Place of the bass among the members; 0 where it is none of them."""
        return self.members.index(self.bass) if self.bass in self.members else 0


@dataclass(frozen=True, slots=True)
class Moment:
    """A place that asks for something: kind is one of MOMENTS, strength 0 to 1; `what` says more ("V7/V", "half", "C minor")."""

    onset: int
    kind: str
    strength: float
    what: str = ""


@dataclass(frozen=True, slots=True)
class Cue:
    """Words of the sketch that ask for players or a way of playing, or that were not understood.

    Attributes:
        start, end: ticks it holds for: to the next cue of its staff or the phrase's end.
        staff: index of the staff, or -1.
        text: as written.
        directions: what it asks for, each with its origin; () where it was not understood.
        weight: how much should sound there, 0 to 1, or None ("tutti").
    """

    start: int
    end: int
    staff: int
    text: str
    directions: tuple[Direction, ...] = ()
    weight: float | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """A voice takes up a subject (fugue, canon).

    Attributes:
        subject: number from 1; the first entry of each is the one that brings it.
        interval: semitones above that one.
        notes: sketch note ids in time order, in whatever strands they stand.
    """

    subject: int
    interval: int
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Leader:
    """The strand that is most prominent from `start` to `end`, whole bars; bars in which nothing begins may have none."""

    start: int
    end: int
    strand: str


@dataclass(frozen=True)
class Reading:
    """The whole reading of one sketch.

    Attributes:
        key: of the whole, (tonic pitch class, mode).
        tempo: quarters a minute at the start; `tempo_proposed` where the sketch gives none.
        cues: written cues of the sketch in order of time.
        entries: of subjects that are imitated, in order of time.
        leaders: who leads, bar by bar.
        queries: likely misprints and doubts, one plain line each with its bar.
        notices: defaults that were taken and should be told.
    """

    strands: tuple[Strand, ...]
    phrases: tuple[Phrase, ...]
    chords: tuple[Chord, ...]
    moments: tuple[Moment, ...] = ()
    key: tuple[int, str] = (0, "major")
    tempo: float = 100.0
    tempo_proposed: bool = True
    cues: tuple[Cue, ...] = ()
    entries: tuple[Entry, ...] = ()
    leaders: tuple[Leader, ...] = ()
    queries: tuple[str, ...] = ()
    notices: tuple[str, ...] = field(default=())

    @cached_property
    def strand_of(self) -> dict[str, str]:
        """sketch note id -> strand id"""
        return {note: strand.id for strand in self.strands for line in strand.lines for note in line.notes}

    @property
    def directions(self) -> tuple[Direction, ...]:
        """What the sketch's own cues ask for."""
        return tuple(direction for cue in self.cues for direction in cue.directions)

    def phrase_at(self, tick: int) -> int:
        """Index of the phrase that holds `tick`."""
        for index, phrase in enumerate(self.phrases):
            if tick < phrase.end:
                return index
        return len(self.phrases) - 1

    def with_(self, **changes: object) -> Reading:
        """A copy with the named fields replaced."""
        return replace(self, **changes)  # type: ignore[arg-type]
