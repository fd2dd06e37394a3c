"""The character of each phrase: words of the sketch where it has any, else scores over plain features, slow to change.

The features and what each adds to a character stand in constraints/proposals.toml.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np

from autoorch.instruments import DYNAMICS
from autoorch.roles.groups import by_phrase
from autoorch.roles.keys import viterbi
from autoorch.roles.model import CHARACTERS, Chord, Phrase, Strand
from autoorch.roles.proposals import FEATURES, says
from autoorch.roles.texture import Texture, Tone

_OFF_BEATS = ("off-beats", "repeated chords", "stride")
_DETACHED = {"staccato", "staccatissimo", "spiccato", "detached-legato"}


def with_character(
    texture: Texture,
    phrases: Sequence[Phrase],
    tune: Sequence[Tone],
    strands: Sequence[Strand],
    chords: Sequence[Chord],
    table: Mapping[str, Any],
) -> list[Phrase]:
    """The phrases with their character, `character_proposed` False where a word of the sketch says it."""
    rows = [
        features_of(texture, phrase, tones, tune, strands, chords, table["feature"])
        for phrase, tones in _notes(texture, phrases)
    ]
    fit = np.array([[_score(row, table["character"][name]["score"]) for name in CHARACTERS] for row in rows])
    said = [_said(texture, phrase, table["character"]) for phrase in phrases]
    for k, name in enumerate(said):
        if name:
            fit[k, CHARACTERS.index(name)] += sum(abs(weight) for weight in fit[k]) + 1.0
    change = [
        table["feature"]["new_section" if k and phrases[k].section != phrases[k - 1].section else "change"]
        for k in range(len(phrases))
    ]
    path = viterbi(fit, np.array(change)) if len(fit) else []
    found = []
    for k, phrase in enumerate(phrases):
        name = CHARACTERS[path[k]]
        clear = said[k] == name or fit[k, path[k]] >= table["feature"]["least"]
        found.append(replace(phrase, character=name if clear else "", character_proposed=said[k] != name))
    return found


def _notes(texture: Texture, phrases: Sequence[Phrase]) -> list[tuple[Phrase, list[Tone]]]:
    tones = dict(by_phrase(texture.tones, phrases))
    return [(phrase, tones.get(k, [])) for k, phrase in enumerate(phrases)]


def _score(features: Mapping[str, float], weights: Mapping[str, float]) -> float:
    return sum(weight * features[name] for name, weight in weights.items())


def _said(texture: Texture, phrase: Phrase, characters: Mapping[str, Any]) -> str:
    """The character that words at the start of the phrase name (an upbeat may come before them); "" for none."""
    reach = phrase.start + texture.sketch.bar_at(phrase.start).length
    for mark in texture.sketch.marks:
        if mark.kind in ("words", "tempo") and phrase.start <= mark.onset < min(reach, phrase.end):
            for name in CHARACTERS:
                if says(mark.text or mark.value, characters[name]["words"]):
                    return name
    return ""


def features_of(
    texture: Texture,
    phrase: Phrase,
    tones: Sequence[Tone],
    tune: Sequence[Tone],
    strands: Sequence[Strand],
    chords: Sequence[Chord],
    table: Mapping[str, float],
) -> dict[str, float]:
    """Each of FEATURES, 0 to 1."""
    found = dict.fromkeys(FEATURES, 0.0)
    if not tones:
        return found
    sketch = texture.sketch
    bar = sketch.bar_at(phrase.start)
    beat = texture.beat_of(bar)
    beats = (phrase.end - phrase.start) / beat
    tempo = sketch.tempo_at(phrase.start)
    if tempo is not None:
        pace = tempo * sketch.ticks / beat
        found["slow"], found["fast"] = float(pace <= table["slow"]), float(pace >= table["fast"])
    attacks: dict[int, int] = {}
    for tone in tones:
        attacks[tone.onset] = attacks.get(tone.onset, 0) + 1
    rate = len(attacks) / beats
    found["busy"] = _between(rate, table["calm"], table["busy"])
    found["calm"] = 1.0 - found["busy"]
    found["chordal"] = sum(count >= table["chord"] for count in attacks.values()) / len(attacks)
    lead = [tone for tone in tune if phrase.start <= tone.onset < phrase.end]
    steps = [abs(b.pitch - a.pitch) for a, b in pairwise(lead)]
    lengths = [b.onset - a.onset for a, b in pairwise(lead)]
    if steps:
        found["leaping"] = min(1.0, sum(steps) / len(steps) / table["leaping"])
        pairs = list(pairwise(lengths))
        dotted = sum(a >= table["long_short"] * b > 0 for a, b in pairs)
        found["dotted"] = min(1.0, 2 * dotted / max(1, len(pairs)))
    found["melody"] = min(1.0, len(lead) / max(1.0, beats))
    ids = {tone.id for tone in lead}
    slurred = sum(1 for slur in sketch.slurs if slur.first in ids)
    marked = sum(bool(_DETACHED & set(sketch.by_id[tone.id].marks)) for tone in tones)
    found["detached"] = min(1.0, 2 * marked / len(tones))
    short = sum(2 * tone.length <= step for tone, step in zip(lead, lengths, strict=False))
    found["detached"] = max(found["detached"], short / max(1, len(lengths)))
    found["legato"] = 1.0 if slurred else max(0.0, 1.0 - 2 * found["detached"]) / 2
    found["low"] = 1.0 - _between(sum(t.pitch for t in tones) / len(tones), table["deep"], table["low"])
    count, unit = bar.metre
    found["compound"] = float(beat > sketch.ticks * 4 // unit)
    found["triple"] = float(count in (3, 9))
    found["duple"] = float(count % 2 == 0 and not found["compound"])
    inside = [c for c in chords if c.start < phrase.end and c.end > phrase.start]
    time = sum(min(c.end, phrase.end) - max(c.start, phrase.start) for c in inside if c.key[1] == "minor")
    found["minor"] = time / (phrase.end - phrase.start)
    own = {tone.id for tone in tones}
    off = sum(len(own & set(line.notes)) for s in strands if s.texture in _OFF_BEATS for line in s.lines)
    found["offbeat"] = min(1.0, 2 * off / len(tones))
    if not phrase.dynamic_proposed:
        level = DYNAMICS.index(phrase.dynamic)
        found["loud"], found["soft"] = float(level >= DYNAMICS.index("f")), float(level <= DYNAMICS.index("p"))
    return found


def _between(value: float, low: float, high: float) -> float:
    """0 at `low`, 1 at `high`."""
    return min(1.0, max(0.0, (value - low) / (high - low)))
