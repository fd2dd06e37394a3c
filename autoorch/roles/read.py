"""The reading of a sketch, step by step: tune, bass, phrases, the other strands, harmony, what is left unsaid."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.instruments import DYNAMICS
from autoorch.roles.bass import find_bass, grounded, without_twins
from autoorch.roles.below import led_from_below
from autoorch.roles.cadences import Closes
from autoorch.roles.canon import canons
from autoorch.roles.character import with_character
from autoorch.roles.cues import find_cues, not_understood
from autoorch.roles.dynamics import with_given, with_proposed
from autoorch.roles.foreign import with_foreign
from autoorch.roles.form import labelled
from autoorch.roles.gaps import in_gaps, one_by_one, runs_alone, swept, what_goes_on
from autoorch.roles.grounds import deepest, drones, ostinatos, pedals, vamps, without
from autoorch.roles.groups import rest_of
from autoorch.roles.harmony import find_chords, harmony_table
from autoorch.roles.imitation import find_entries, find_leaders
from autoorch.roles.keys import main_key
from autoorch.roles.material import Material
from autoorch.roles.melody import find_melody, melody_table
from autoorch.roles.misprints import misprints
from autoorch.roles.model import Phrase, Reading
from autoorch.roles.moments import find_moments, moments_table
from autoorch.roles.parameters import parameters
from autoorch.roles.phrases import find_phrases
from autoorch.roles.proposals import proposals
from autoorch.roles.ringing import held_under, ringing, scales
from autoorch.roles.strands import doublings, make_strands, octaves_of
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
    table = parameters(tables)
    texture = Texture(sketch)
    melody = melody_table(tables)
    tune = find_melody(texture, melody, table["figure"])
    drone = drones(texture, tune, table["texture"])
    beside = without(texture, tune, drone, melody, table["figure"])
    tune, drone = (beside, drone) if beside else (tune, [])
    waiting = {tone.index for tone in vamps(texture, tune, table["figure"])}
    waiting |= what_goes_on(texture, tune)
    tune = [tone for tone in tune if tone.index not in waiting]
    ground = ostinatos(texture, tune, table["figure"])
    within = {tone.index for tone in ground}
    others = [tone for tone in tune if tone.index not in within]
    tune, ground = (others, ground) if others else (tune, [])
    standing = {tone.index for tone in drone}
    ground = [tone for tone in ground if tone.index not in standing]
    settled = waiting | standing | {tone.index for tone in ground}
    sweeps = swept(texture, tune, settled, table["figure"])
    tune = [tone for tone in tune if tone.index not in sweeps]
    runs = runs_alone(texture, tune, settled, table["figure"])
    tune = sorted((*tune, *(t for run in runs if one_by_one(run) for t in run)), key=lambda tone: tone.index)
    crossed = [tone for run in runs if not one_by_one(run) for tone in run]
    taken = {tone.index for tone in (*tune, *ground, *drone, *crossed)}
    bass, lowest = find_bass(texture, taken, table["bass"], table["figure"])
    bass, high = grounded(texture, bass, tune)
    tune = sorted((*tune, *in_gaps(texture, tune, high)), key=lambda tone: tone.index)
    tune = without_twins(tune, bass)
    tune, bass = led_from_below(texture, tune, bass, table["texture"], table["figure"])
    taken = {tone.index for tone in (*tune, *ground, *drone, *crossed)}
    harmony = harmony_table(tables)
    passing = scales(texture, table["figure"])
    rings = held_under(texture, passing, ringing(texture, {tone.index for tone in tune}, table["figure"]))
    low = sorted((*bass, *deepest(drone)), key=lambda tone: tone.index)
    chords = find_chords(texture, low, harmony, rings, passing)
    closes = Closes(texture, chords, table["cadence"])
    material = Material(texture, tune, chords, table["material"])
    phrases = find_phrases(texture, tune, closes, material, table["phrase"])
    phrases = labelled(texture, phrases, closes, material, table["form"])
    copies = doublings(texture, tune, phrases, within | standing, table["texture"])
    taken |= {tone.index for tone, _ in copies}
    bass = [tone for tone in bass if tone.index not in taken]
    held = pedals(texture, bass, [(chord.start, chord.root) for chord in chords], table["texture"])
    still = {tone.index for tone in held}
    bass = [tone for tone in bass if tone.index not in still]
    held = sorted((*held, *drone), key=lambda tone: tone.index)
    taken |= {tone.index for tone in (*bass, *held)}
    octaves = [
        octaves_of(texture, tones, phrases, taken, table["texture"]["octaves"]) for tones in (bass, ground, held)
    ]
    taken |= {tone.index for tones in octaves for tone in tones}
    name = max({name for _, name in copies}, key=lambda n: (sum(m == n for _, m in copies), n)) if copies else "tune"
    groups = [
        ("melody", name, [tune, [tone for tone, _ in copies]]),
        ("bass", "octaves" if octaves[0] else "line", [bass, octaves[0]]),
    ]
    groups += [("bass", "ostinato", [ground, octaves[1]]), ("pedal", "pedal", [held, octaves[2]])]
    groups += [("figure", "arpeggio", [crossed])]
    free = [tone for tone in texture.tones if tone.index not in taken]
    sections = (table["texture"], table["figure"], table["lines"])
    under = [*bass, *ground, *held]
    found = rest_of(texture, free, tune, under, {t.index for t in lowest}, phrases, sections, voices_table(tables))
    groups += [(role, kind, [tones]) for role, kind, tones in found]
    strands = make_strands(
        texture, [group for group in groups if group[2][0]], table["texture"], table["strand"], table["lines"]
    )
    ways = [*ways_to_hear(texture, voices_table(tables), table["lines"]), *canons(texture, table["imitation"])]
    entries = find_entries(texture, ways, strands, table["imitation"])
    wanted = proposals(tables)
    phrases = with_given(texture, phrases)
    phrases = with_character(texture, phrases, tune, strands, chords, wanted)
    phrases = with_proposed(texture, phrases, tune, wanted)
    given = sketch.tempo_at(0)
    tempo, why = (given, "") if given is not None else proposed_tempo(texture, tune, wanted["tempo"])
    keys = [chord.key for chord in chords for _ in range(max(1, (chord.end - chord.start) // sketch.ticks))]
    cues = find_cues(sketch, phrases, strands, tables)
    return Reading(
        strands,
        tuple(phrases),
        tuple(with_foreign(texture, strands, chords)),
        find_moments(texture, tune, phrases, chords, closes, moments_table(tables)),
        key=main_key(keys),
        tempo=tempo,
        tempo_proposed=given is None,
        cues=cues,
        entries=entries,
        leaders=find_leaders(texture, strands, entries),
        queries=(
            *sketch.queries,
            *misprints(texture, strands, chords, table["misprint"], harmony),
            *not_understood(sketch, cues),
        ),
        notices=_notices(phrases, tempo, why),
    )


def _notices(phrases: Sequence[Phrase], tempo: float, why: str) -> tuple[str, ...]:
    """What was proposed."""
    found = []
    if why:
        found.append(f"no tempo in the sketch: {tempo:g} quarters a minute proposed, {why}")
    if any(phrase.dynamic_proposed for phrase in phrases):
        told = ", ".join(sorted({p.dynamic for p in phrases if p.dynamic_proposed}, key=DYNAMICS.index))
        found.append(f"phrases without a dynamic in the sketch: {told} proposed")
    return tuple(found)
