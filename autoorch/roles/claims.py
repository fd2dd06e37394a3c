"""Who has which notes: tune, what stays beside it, bass and their copies claim theirs one after the other; the rest is free."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from autoorch.roles.bass import find_bass, grounded, without_twins
from autoorch.roles.below import led_from_below
from autoorch.roles.gaps import before_it_enters, in_gaps, one_by_one, out_of_figures, runs_alone, swept, what_goes_on
from autoorch.roles.grounds import drones, ostinatos, pedals, vamps, without
from autoorch.roles.groups import rest_of
from autoorch.roles.melody import find_melody
from autoorch.roles.model import Chord, Phrase
from autoorch.roles.parameters import Section
from autoorch.roles.riffs import found_without, over, riffs
from autoorch.roles.slurred import in_its_hand, with_slurs
from autoorch.roles.strands import Layers, doublings, octaves_of
from autoorch.roles.texture import Texture, Tone


def indices(*groups: Iterable[Tone]) -> set[int]:
    """Of all their tones."""
    return {tone.index for group in groups for tone in group}


def but(tones: Iterable[Tone], out: set[int]) -> list[Tone]:
    """The tones without those of these indices."""
    return [tone for tone in tones if tone.index not in out]


def in_time(*groups: Iterable[Tone]) -> list[Tone]:
    """Their tones in time order."""
    return sorted((tone for group in groups for tone in group), key=lambda tone: tone.index)


@dataclass(frozen=True)
class Claims:
    """Who has which notes so far; every list is in time order, and no tone stands in two of them.

    Attributes:
        texture: all notes.
        tune: the tune.
        drone: what stays at one pitch while others move.
        ground: an ostinato.
        sweeps: runs through both hands whose notes overlap.
        bass: the bass.
        figures: lowest notes that belong to a figure; nobody has claimed them.
        held: pedal notes, the drone with them.
        copies: what doubles the tune, each with the doubling's name.
        octaves: the octave that a hand adds to the bass, the ground, the pedal notes.
    """

    texture: Texture
    tune: list[Tone]
    drone: list[Tone] = field(default_factory=list)
    ground: list[Tone] = field(default_factory=list)
    sweeps: list[Tone] = field(default_factory=list)
    bass: list[Tone] = field(default_factory=list)
    figures: list[Tone] = field(default_factory=list)
    held: list[Tone] = field(default_factory=list)
    copies: list[tuple[Tone, str]] = field(default_factory=list)
    octaves: tuple[list[Tone], list[Tone], list[Tone]] = field(default_factory=lambda: ([], [], []))

    @property
    def beside(self) -> set[int]:
        """What is neither bass nor free before the bass is found: tune, ground, drone, sweeps."""
        return indices(self.tune, self.ground, self.drone, self.sweeps)

    @property
    def taken(self) -> set[int]:
        """All that is claimed."""
        doubled = (tone for tone, _ in self.copies)
        return self.beside | indices(doubled, self.bass, self.held, *self.octaves)


def tune_and_bass(texture: Texture, melody: Mapping[str, Any], table: Mapping[str, Section]) -> Claims:
    """The tune, what stays or runs beside it, and the bass.

    Args:
        texture: all notes.
        melody: constraints/melody.toml; `table`: constraints/reading.toml.
    """
    tune = find_melody(texture, melody, table["figure"])
    riff = riffs(texture, tune, melody, table["figure"])
    tune = over(texture, riff, found_without(texture, riff, melody, table["figure"])) if riff else tune
    claims = Claims(texture, in_its_hand(texture, with_slurs(texture, tune)))
    claims = _with_drone(claims, melody, table)
    waiting = indices(riff, vamps(texture, claims.tune, table["figure"])) | what_goes_on(texture, claims.tune)
    waiting |= before_it_enters(texture, claims.tune, table["figure"]) | out_of_figures(texture, claims.tune)
    claims = replace(claims, tune=but(claims.tune, waiting))
    claims = _with_ground(claims, table["figure"])
    claims = _with_runs(claims, waiting, table["figure"])
    return _with_bass(claims, table)


def _with_drone(claims: Claims, melody: Mapping[str, Any], table: Mapping[str, Section]) -> Claims:
    """A drone that seemed to be the tune, where something else is."""
    drone = drones(claims.texture, claims.tune, table["texture"])
    tune = without(claims.texture, claims.tune, drone, melody, table["figure"])
    return replace(claims, tune=tune, drone=drone) if tune else claims


def _with_ground(claims: Claims, figure: Section) -> Claims:
    """An ostinato, unless the tune is nothing else."""
    ground = ostinatos(claims.texture, claims.tune, figure)
    tune = but(claims.tune, indices(ground))
    return replace(claims, tune=tune, ground=but(ground, indices(claims.drone))) if tune else claims


def _with_runs(claims: Claims, waiting: set[int], figure: Section) -> Claims:
    """Runs that are all there is: those of one note at a time go on with the tune, others are figures."""
    settled = waiting | indices(claims.drone, claims.ground)
    tune = but(claims.tune, swept(claims.texture, claims.tune, settled, figure))
    runs = runs_alone(claims.texture, tune, settled, figure)
    single, sweeps = [run for run in runs if one_by_one(run)], [run for run in runs if not one_by_one(run)]
    return replace(claims, tune=in_time(tune, *single), sweeps=in_time(*sweeps))


def _with_bass(claims: Claims, table: Mapping[str, Section]) -> Claims:
    """The bass, and the tune with what it has of the lowest notes."""
    texture = claims.texture
    bass, figures = find_bass(texture, claims.beside, table["bass"], table["figure"])
    bass, high = grounded(texture, bass, claims.tune)
    tune = without_twins(in_time(claims.tune, in_gaps(texture, claims.tune, high)), bass)
    tune, bass = led_from_below(texture, tune, bass, table["texture"], table["figure"])
    return replace(claims, tune=tune, bass=bass, figures=figures)


def with_companions(claims: Claims, phrases: Sequence[Phrase], chords: Sequence[Chord], table: Section) -> Claims:
    """What doubles the tune, which bass notes are pedals, and the octaves of what lies low.

    Args:
        table: [texture] of constraints/reading.toml.
    """
    texture = claims.texture
    copies = doublings(texture, claims.tune, phrases, indices(claims.ground, claims.drone), table)
    bass = but(claims.bass, claims.beside | indices(tone for tone, _ in copies))
    pedal = pedals(texture, bass, [(chord.start, chord.root) for chord in chords], table)
    bass = but(bass, indices(pedal))
    claims = replace(claims, copies=copies, bass=bass, held=in_time(pedal, claims.drone))
    taken, share = claims.taken, table["octaves"]
    low = [octaves_of(texture, tones, phrases, taken, share) for tones in (bass, claims.ground, claims.held)]
    return replace(claims, octaves=(low[0], low[1], low[2]))


def layers_of(
    claims: Claims, phrases: Sequence[Phrase], table: Mapping[str, Section], voices: Mapping[str, Any]
) -> list[Layers]:
    """All notes by role and texture: what is claimed, then what the free ones do.

    Args:
        table: constraints/reading.toml; `voices`: constraints/voices.toml.
    """
    texture = claims.texture
    doubled = [tone for tone, _ in claims.copies]
    of_bass, of_ground, of_held = claims.octaves
    found: list[Layers] = [
        ("melody", _doubling(claims), [claims.tune, doubled]),
        ("bass", "octaves" if of_bass else "line", [claims.bass, of_bass]),
        ("bass", "ostinato", [claims.ground, of_ground]),
        ("pedal", "pedal", [claims.held, of_held]),
        ("figure", "arpeggio", [claims.sweeps]),
    ]
    free = but(texture.tones, claims.taken)
    under = [*claims.bass, *claims.ground, *claims.held]
    sections = (table["texture"], table["figure"], table["lines"])
    rest = rest_of(texture, free, claims.tune, under, indices(claims.figures), phrases, sections, voices)
    found += [(role, kind, [tones]) for role, kind, tones in rest]
    return [layers for layers in found if layers[2][0]]


def _doubling(claims: Claims) -> str:
    """The commonest name of what doubles the tune; "tune" where nothing does."""
    names = Counter(name for _, name in claims.copies)
    return max(names, key=lambda name: (names[name], name), default="tune")
