"""Dynamics by phrase: those of the sketch where it gives any, else a proposal from how much sounds and how high."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from autoorch.instruments import DYNAMICS
from autoorch.roles.model import Phrase
from autoorch.roles.parameters import Section
from autoorch.roles.strands import by_phrase
from autoorch.roles.texture import Texture, Tone


def with_dynamics(texture: Texture, phrases: Sequence[Phrase], tune: Sequence[Tone], table: Section) -> list[Phrase]:
    """The phrases with the dynamic in force at their start; before the sketch's first mark, and without any, proposed.

    Proposed is mf, one step up or down where a phrase is much denser and higher (or thinner and lower) than the cue.
    """
    marks = [(m.onset, m.value) for m in texture.sketch.marks if m.kind == "dynamic" and m.value in DYNAMICS]
    tones = dict(by_phrase(texture.tones, phrases))
    lead = dict(by_phrase(tune, phrases))
    weights = [_weight(tones.get(k, []), lead.get(k, []), phrase) for k, phrase in enumerate(phrases)]
    density = sum(w[0] for w in weights) / max(1, len(weights))
    height = sum(w[1] for w in weights) / max(1, len(weights))
    found = []
    for phrase, (dense, high) in zip(phrases, weights, strict=True):
        reach = phrase.start + texture.beat_at(phrase.start)
        given = [value for onset, value in marks if onset < reach]
        if given:
            found.append(replace(phrase, dynamic=given[-1], dynamic_proposed=False))
            continue
        force = (dense / density - 1 if density else 0.0) + (high - height) / table["octave"]
        step = (force > table["louder"]) - (force < -table["louder"])
        found.append(replace(phrase, dynamic=DYNAMICS[DYNAMICS.index("mf") + step], dynamic_proposed=True))
    return found


def _weight(tones: Sequence[Tone], lead: Sequence[Tone], phrase: Phrase) -> tuple[float, float]:
    """Tones sounding on average, and the mean pitch of the tune."""
    pitch = sum(t.pitch for t in lead) / len(lead) if lead else 0.0
    return sum(t.length for t in tones) / (phrase.end - phrase.start), pitch
