"""The reading of a sketch, step by step: tune, bass, phrases, the other strands, harmony, what is left unsaid."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from autoorch.instruments import DYNAMICS
from autoorch.roles.cadences import Closes
from autoorch.roles.canon import canons
from autoorch.roles.character import with_character
from autoorch.roles.claims import Claims, in_time, indices, layers_of, tune_and_bass, with_companions
from autoorch.roles.cues import find_cues, not_understood
from autoorch.roles.dynamics import with_given, with_proposed
from autoorch.roles.foreign import with_foreign
from autoorch.roles.form import labelled
from autoorch.roles.grounds import deepest
from autoorch.roles.harmony import find_chords, harmony_table, main_key
from autoorch.roles.imitation import find_entries, find_leaders
from autoorch.roles.material import Material
from autoorch.roles.melody import melody_table
from autoorch.roles.misprints import misprints
from autoorch.roles.model import Chord, Phrase, Reading, Strand
from autoorch.roles.moments import find_moments, moments_table
from autoorch.roles.parameters import Section, parameters
from autoorch.roles.phrases import find_phrases
from autoorch.roles.proposals import proposals
from autoorch.roles.ringing import held_under, ringing, scales
from autoorch.roles.strands import make_strands
from autoorch.roles.tempo import proposed_tempo
from autoorch.roles.texture import Texture
from autoorch.roles.voices import voices_table, ways_to_hear
from autoorch.sketch.model import Sketch
from autoorch.tables import Tables, load_tables


def read_roles(sketch: Sketch, tables: Tables | None = None) -> Reading:
    """The reading that autoorch proposes; every note of the sketch stands in one line of one strand.

    Args:
        sketch: at least one note.
        tables: the parameters; the packaged ones where None.

    Raises:
        TableError: for a wrong table of parameters.
    """
    tables = tables or load_tables()
    table, harmony, voices = parameters(tables), harmony_table(tables), voices_table(tables)
    texture = Texture(sketch)
    claims = tune_and_bass(texture, melody_table(tables), table)
    chords = _chords(claims, harmony, table["figure"])
    closes = Closes(texture, chords, table["cadence"])
    material = Material(texture, claims.tune, chords, table["material"])
    phrases = find_phrases(texture, claims.tune, closes, material, table["phrase"])
    phrases = labelled(texture, phrases, closes, material, table["form"])
    claims = with_companions(claims, phrases, chords, table["texture"])
    layers = layers_of(claims, phrases, table, voices)
    strands = make_strands(texture, layers, table["texture"], table["strand"], table["lines"])
    ways = [*ways_to_hear(texture, voices, table["lines"]), *canons(texture, table["imitation"])]
    entries = find_entries(texture, ways, strands, table["imitation"])
    phrases = _with_proposals(claims, phrases, strands, chords, proposals(tables))
    tempo, why = _tempo(claims, proposals(tables)["tempo"])
    cues = find_cues(sketch, phrases, strands, tables)
    doubts = misprints(texture, strands, chords, table["misprint"], harmony)
    return Reading(
        strands,
        tuple(phrases),
        tuple(with_foreign(texture, strands, chords)),
        find_moments(texture, claims.tune, phrases, chords, closes, moments_table(tables)),
        key=main_key(texture, chords, harmony),
        tempo=tempo,
        tempo_proposed=sketch.tempo_at(0) is None,
        cues=cues,
        entries=entries,
        leaders=find_leaders(texture, strands, entries),
        queries=(*sketch.queries, *doubts, *not_understood(sketch, cues)),
        notices=_notices(phrases, tempo, why),
    )


def _chords(claims: Claims, harmony: Mapping[str, Any], figure: Section) -> list[Chord]:
    """The chords over the bass, the lowest notes of a drone and an ostinato's first in each bar; a broken chord is heard whole, a
    scale only passes, and so does an ostinato between the beats."""
    texture = claims.texture
    passing = scales(texture, figure)
    rings = held_under(texture, passing, ringing(texture, indices(claims.tune), figure))
    passing |= indices(tone for tone in claims.ground if not texture.on_beat(tone.onset))
    firsts = [tone for tone in claims.ground if texture.on_bar(tone.onset)]
    return find_chords(texture, in_time(claims.bass, deepest(claims.drone), firsts), harmony, rings, passing)


def _with_proposals(
    claims: Claims,
    phrases: Sequence[Phrase],
    strands: Sequence[Strand],
    chords: Sequence[Chord],
    table: Mapping[str, Any],
) -> list[Phrase]:
    """The phrases with the sketch's own dynamics, and characters and dynamics for those that have none."""
    given = with_given(claims.texture, phrases)
    return with_proposed(
        claims.texture, with_character(claims.texture, given, claims.tune, strands, chords, table), claims.tune, table
    )


def _tempo(claims: Claims, table: Mapping[str, Any]) -> tuple[float, str]:
    """Quarters a minute at the start, and why, or "" where the sketch says it."""
    given = claims.texture.sketch.tempo_at(0)
    return (given, "") if given is not None else proposed_tempo(claims.texture, claims.tune, table)


def _notices(phrases: Sequence[Phrase], tempo: float, why: str) -> tuple[str, ...]:
    """What was proposed."""
    found = []
    if why:
        found.append(f"no tempo in the sketch: {tempo:g} quarters a minute proposed, {why}")
    if any(phrase.dynamic_proposed for phrase in phrases):
        told = ", ".join(sorted({p.dynamic for p in phrases if p.dynamic_proposed}, key=DYNAMICS.index))
        found.append(f"phrases without a dynamic in the sketch: {told} proposed")
    return tuple(found)
