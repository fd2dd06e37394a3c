"""The reading of a sketch, step by step: tune, bass, phrases, the other strands, harmony, what is left unsaid."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.instruments import DYNAMICS
from autoorch.roles.bass import find_bass
from autoorch.roles.cadences import Closes
from autoorch.roles.character import with_character
from autoorch.roles.cues import find_cues, not_understood
from autoorch.roles.dynamics import with_given, with_proposed
from autoorch.roles.foreign import with_foreign
from autoorch.roles.form import labelled
from autoorch.roles.harmony import find_chords, harmony_table
from autoorch.roles.keys import main_key
from autoorch.roles.material import Material
from autoorch.roles.melody import crests, find_melody
from autoorch.roles.misprints import misprints
from autoorch.roles.model import Phrase, Reading
from autoorch.roles.moments import find_moments, moments_table
from autoorch.roles.parameters import parameters
from autoorch.roles.phrases import find_phrases
from autoorch.roles.proposals import proposals
from autoorch.roles.strands import doublings, make_strands, rest_of
from autoorch.roles.tempo import proposed_tempo
from autoorch.roles.texture import Texture
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
    tune = crests(texture, find_melody(texture, table["melody"], table["melody_weights"]), table["figure"])
    taken = {tone.index for tone in tune}
    bass, lowest = find_bass(texture, taken, table["bass"], table["figure"])
    taken |= {tone.index for tone in bass}
    harmony = harmony_table(tables)
    chords = find_chords(texture, bass, harmony)
    closes = Closes(texture, chords, table["cadence"])
    material = Material(texture, tune, chords, table["material"])
    phrases = find_phrases(texture, tune, closes, material, table["phrase"])
    phrases = labelled(texture, phrases, closes, material, table["form"])
    copies = doublings(texture, tune, phrases, taken, table["melody"]["double_share"])
    free = [tone for tone in texture.tones if tone.index not in taken]
    groups = rest_of(texture, free, {t.index for t in lowest}, phrases, table["texture"], table["figure"])
    name = max({name for _, name in copies}, key=lambda n: (sum(m == n for _, m in copies), n)) if copies else "tune"
    parts = [("melody", name, [tune, [tone for tone, _ in copies]]), ("bass", "line", [bass])]
    parts += [(role, kind, [tones]) for (role, kind), tones in groups.items()]
    strands = make_strands(
        texture, [part for part in parts if part[2][0]], table["texture"], table["strand"], table["lines"]
    )
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
        queries=misprints(texture, strands, chords, table["misprint"], harmony) + not_understood(sketch, cues),
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
