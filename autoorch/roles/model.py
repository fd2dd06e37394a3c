"""What a reading holds: strands with roles, phrases, harmony, moments, and what the sketch leaves unsaid.

Every note of the sketch stands in exactly one line of exactly one strand. Positions are ticks of the sketch.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

ROLES = ("melody", "counterline", "bass", "pedal", "inner", "figure", "rhythm")


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
        label: letter of its material, with primes for variations: "A", "A'", "B".
        dynamic: "ppp" … "fff" in force at its start.
        dynamic_proposed: True where the sketch gives none and the reading proposes it.
        character: "lyrical", "dance", "march", "hymn", "comic", "dark", "agitated" or "".
    """

    start: int
    end: int
    label: str = ""
    dynamic: str = "mf"
    dynamic_proposed: bool = True
    character: str = ""


@dataclass(frozen=True, slots=True)
class Chord:
    """The harmony from `start` to `end`.

    Attributes:
        root, third, bass: pitch classes 0 to 11; root and third are None where the notes make no chord of thirds.
        members: pitch classes of the chord, root first; () where none is recognised.
        tendency: pitch classes that must move on (leading note of a dominant, chord seventh).
        key: (tonic pitch class, "major" | "minor").
        numeral: roman numeral or "".
        borrowed: the chord is not of the key (secondary or borrowed).
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


@dataclass(frozen=True, slots=True)
class Moment:
    """A place that asks for something: kind is "climax", "arrival", "leap", "run", "cadence", "borrowed", "key",
    "fermata", "sudden", "last" or "hit"; strength 0 to 1."""

    onset: int
    kind: str
    strength: float


@dataclass(frozen=True)
class Reading:
    """The whole reading of one sketch.

    Attributes:
        key: of the whole, (tonic pitch class, mode).
        tempo: quarters a minute at the start; `tempo_proposed` where the sketch gives none.
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
    queries: tuple[str, ...] = ()
    notices: tuple[str, ...] = field(default=())

    @cached_property
    def strand_of(self) -> dict[str, str]:
        """sketch note id -> strand id"""
        return {note: strand.id for strand in self.strands for line in strand.lines for note in line.notes}

    def phrase_at(self, tick: int) -> int:
        """Index of the phrase that holds `tick`."""
        for index, phrase in enumerate(self.phrases):
            if tick < phrase.end:
                return index
        return len(self.phrases) - 1

    def with_(self, **changes: object) -> Reading:
        """A copy with the named fields replaced."""
        return replace(self, **changes)  # type: ignore[arg-type]
