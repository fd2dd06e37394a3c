"""What a MusicXML file holds and what of it went into the sketch, counted tag by tag, so that nothing is lost in silence.

Every tag is either layout (it says where something is printed or how it is spelled out), or kept, or lost and listed.
"""

from __future__ import annotations

from collections import Counter

from lxml import etree

from autoorch.sketch.guard import plain

# Tags whose content the sketch states another way, or that only concern the page and its playback.
_LAYOUT = """
score-partwise score-timewise measure part attributes divisions note chord pitch step alter octave duration voice type
dot staff stem beam accidental rest display-step display-octave grace backup forward notations direction
direction-type articulations ornaments technical dynamics offset sound print barline bar-style repeat ending time
beats beat-type key fifths mode cancel key-octave key-step key-alter key-accidental staves part-symbol instruments
clef sign line clef-octave-change staff-details staff-type staff-lines line-detail staff-tuning tuning-step
tuning-alter tuning-octave capo staff-size transpose diatonic chromatic octave-change double for-part part-clef
part-transpose directive measure-style multiple-rest time-modification actual-notes normal-notes normal-type
normal-dot tuplet tuplet-actual tuplet-normal tuplet-number tuplet-type tuplet-dot tie tied instrument
instrument-change midi-device midi-instrument midi-channel midi-program midi-bank midi-unpitched midi-name volume pan
elevation play ipa mute semi-pitched other-play swing straight first second swing-type swing-style listen listening
assess wait other-listen other-listening player footnote level notehead-text display-text accidental-text text
syllabic elision extend end-line end-paragraph laughing humming beat-unit beat-unit-dot beat-unit-tied per-minute
metronome-note metronome-type metronome-dot metronome-beam metronome-relation metronome-tuplet metronome-tied
metronome-arrows root root-step root-alter numeral numeral-root numeral-alter numeral-key numeral-fifths numeral-mode
function kind inversion bass bass-step bass-alter bass-separator degree degree-value degree-alter degree-type
frame-strings frame-frets frame-note first-fret barre figure prefix figure-number suffix pedal-tuning
pedal-step pedal-alter accordion-high accordion-middle accordion-low natural artificial base-pitch touching-pitch
sounding-pitch bend-alter pre-bend release with-bar hole-type hole-closed hole-shape arrow-direction arrow-style
arrowhead circular-arrow accord page-layout page-height page-width page-margins left-margin
right-margin top-margin bottom-margin system-layout system-margins system-distance top-system-distance staff-layout
staff-distance system-dividers left-divider right-divider measure-layout measure-distance measure-numbering
part-name-display part-abbreviation-display part-name part-abbreviation image link bookmark eyeglasses grouping
feature
"""
LAYOUT = frozenset(_LAYOUT.split())

# (one, many) for what may be lost; any other tag is listed by its own name.
_NAMES = {
    "slur": ("slur end without its partner", "slur ends without their partners"),
    "wedge": ("hairpin sign without its partner", "hairpin signs without their partners"),
    "dashes": ("end of a dashed line", "ends of dashed lines"),
    "bracket": ("end of a bracket", "ends of brackets"),
    "octave-shift": ("octave line sign without its partner", "octave line signs without their partners"),
    "pedal": ("pedal sign without its partner", "pedal signs without their partners"),
    "lyric": ("lyric syllable of a further verse", "lyric syllables of further verses"),
    "fermata": ("fermata on a rest", "fermatas on rests"),
    "figured-bass": ("figured-bass sign", "figured-bass signs"),
    "frame": ("fretboard diagram", "fretboard diagrams"),
    "cue": ("cue note (silent)", "cue notes (silent)"),
    "unpitched": ("stroke without pitch", "strokes without pitch"),
    "notehead": ("special note head", "special note heads"),
    "fingering": ("fingering", "fingerings"),
    "string": ("string number", "string numbers"),
    "fret": ("fret number", "fret numbers"),
    "senza-misura": ("passage without metre", "passages without metre"),
    "interchangeable": ("second metre beside another", "second metres beside another"),
    "measure-repeat": ("bar-repeat sign", "bar-repeat signs"),
    "beat-repeat": ("beat-repeat sign", "beat-repeat signs"),
    "slash": ("slash sign", "slash signs"),
    "metronome": ("metronome mark without a number", "metronome marks without a number"),
    "harp-pedals": ("harp pedal diagram", "harp pedal diagrams"),
    "scordatura": ("scordatura", "scordaturas"),
    "accordion-registration": ("accordion registration", "accordion registrations"),
    "other-ornament": ("ornament without a standard name", "ornaments without a standard name"),
    "other-articulation": ("articulation without a standard name", "articulations without a standard name"),
    "other-technical": ("technical sign without a standard name", "technical signs without a standard name"),
    "other-notation": ("sign without a standard name", "signs without a standard name"),
}


class Count:
    """Tags seen and kept, and whatever else a reader gives up.

    Attributes:
        seen: tags of all measures.
        kept: tags that went into the sketch.
        given_up: (one, many) -> how often, for losses that are no tag.
    """

    def __init__(self) -> None:
        self.seen: Counter[str] = Counter()
        self.kept: Counter[str] = Counter()
        self.given_up: Counter[tuple[str, str]] = Counter()

    def see(self, measure: etree._Element) -> None:
        self.seen.update([str(element.tag) for element in measure.iter("*")])

    def keep(self, tag: str, times: int = 1) -> None:
        self.kept[tag] += times

    def give_up(self, one: str, many: str) -> None:
        self.given_up[one, many] += 1

    def lost(self) -> tuple[str, ...]:
        """One plain line for each kind of thing that the sketch does not hold, in alphabetical order."""
        found: Counter[tuple[str, str]] = Counter(self.given_up)
        for tag, seen in self.seen.items():
            if tag not in LAYOUT and seen > self.kept[tag]:
                word = plain(tag, 60).replace("-", " ")
                found[_NAMES.get(tag, (f"{word} sign", f"{word} signs"))] += seen - self.kept[tag]
        lines = [(names[times > 1], times) for names, times in found.items()]
        return tuple(f"{times} {name}" for name, times in sorted(lines))
