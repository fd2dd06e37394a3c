"""A notated score, ready for the writers: every part has every bar, every bar every beat, every note its written spelling.

Positions inside a bar are ticks from the bar's start. `Score.ticks` ticks make a quarter.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from autoorch.instruments import Instrument
from autoorch.lineup import Player
from autoorch.pitch import Pitch
from autoorch.score.notation import Notation, notation
from autoorch.sketch.model import Bar


@dataclass(frozen=True, slots=True)
class Head:
    """One note head.

    Attributes:
        sounding: concert pitch; `written`: pitch on the page.
        source: material note id (provenance).
        tie_start, tie_stop: ties to the next and from the last event of the same voice.
    """

    sounding: Pitch
    written: Pitch
    source: str
    tie_start: bool = False
    tie_stop: bool = False


@dataclass(frozen=True, slots=True)
class Event:
    """A rest, note or chord with one notated value.

    Attributes:
        onset: ticks from the start of the bar.
        duration: ticks; 0 for grace notes.
        heads: () for a rest; several for a chord (lowest first).
        value: MusicXML type name ("quarter", "eighth", …) and `dots`; "" only for a whole-bar rest.
        tuplet: (actual, normal, normal type) or None; `tuplet_start` / `tuplet_stop` mark the bracket's ends.
        grace: "", "acciaccatura", "appoggiatura".
        marks: MusicXML names of articulations, ornaments, technical signs ("staccato", "trill-mark", "breath-mark", …).
        slur_starts, slur_stops: numbers of the slurs that begin / end here.
        beams: MusicXML beam values from the eighth's beam on ("begin", "continue", "end", "forward hook", …).
        lyric: syllable or "".
        cue: a small note of somebody else's, to be read and not played.
    """

    onset: int
    duration: int
    heads: tuple[Head, ...]
    value: str
    dots: int = 0
    tuplet: tuple[int, int, str] | None = None
    tuplet_start: bool = False
    tuplet_stop: bool = False
    grace: str = ""
    marks: tuple[str, ...] = ()
    slur_starts: tuple[int, ...] = ()
    slur_stops: tuple[int, ...] = ()
    beams: tuple[str, ...] = ()
    lyric: str = ""
    cue: bool = False


@dataclass(frozen=True, slots=True)
class Direction:
    """A mark at a place: kind "dynamic", "words", "wedge" (value "crescendo", "diminuendo", "stop"), "tempo"
    (value = quarters a minute or ""), "rehearsal"; onset in ticks from the bar's start; `text` for the words of a tempo;
    `everybody`: it stands once on top of the score and in every part."""

    kind: str
    onset: int
    value: str
    text: str = ""
    staff: int = 1
    everybody: bool = False


@dataclass(frozen=True, slots=True)
class Measure:
    """One bar of one part; `voices[k]` fills the bar without gaps; `staff_of[k]` is the voice's staff, from 1.

    Attributes:
        fifths: written key signature in force.
        held: the instrument that a doubling player has in hand, None for the usual one.
        rests: a rest of that many bars, this one included, is written as one; 0 where none begins here.
        turn: the page is turned before this bar.
        clefs: (staff, clef name) that take force at the bar's start: "treble", "bass", "alto", "tenor", "treble-8", "percussion".
    """

    voices: tuple[tuple[Event, ...], ...]
    staff_of: tuple[int, ...] = (1,)
    directions: tuple[Direction, ...] = ()
    clefs: tuple[tuple[int, str], ...] = ()
    fifths: int = 0
    held: Instrument | None = None
    rests: int = 0
    turn: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """One player or section.

    Attributes:
        id: "P1" …, fixed by the line-up's order.
        name, short: "Horn in F 1", "Hn. 1".
        player: who plays it, with instrument and bracket group.
        transposition: (diatonic steps, semitones) from sounding to written, as this score has it.
        seat: the player's name in the line-up, which all staves of a percussionist have.
    """

    id: str
    name: str
    short: str
    player: Player
    transposition: tuple[int, int]
    measures: tuple[Measure, ...]
    seat: str = ""

    @property
    def staves(self) -> int:
        """1, or 2 for harp and keyboards."""
        return self.player.instrument.staves


@dataclass(frozen=True)
class Score:
    """All parts over the sketch's bars.

    Attributes:
        bars: metres, sounding keys, repeats, endings and numbers, in the score's own ticks.
        tempo: quarters a minute at the start.
        heading: whose part it is, where it is no full score.
        concert: at sounding pitch (octave transposers at their customary octave); else as the players read it.
        notices: what could not be written, one plain line each.
        house: the habits it is written by.
    """

    ticks: int
    title: str
    composer: str
    bars: tuple[Bar, ...]
    parts: tuple[Part, ...]
    tempo: float
    concert: bool = False
    heading: str = ""
    notices: tuple[str, ...] = field(default=())
    house: Notation = field(default_factory=notation, repr=False)
