"""Dynamics by phrase: those of the sketch where it gives any, else a proposal from density, register, velocity and form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import log2
from statistics import fmean, median, pstdev
from typing import Any

from autoorch.instruments import DYNAMICS
from autoorch.roles.groups import by_phrase
from autoorch.roles.model import Phrase
from autoorch.roles.texture import Texture, Tone


def with_given(texture: Texture, phrases: Sequence[Phrase]) -> list[Phrase]:
    """The phrases with the sketch's dynamic in force at their start; `dynamic_proposed` stays True where there is none."""
    marks = [(m.onset, m.value) for m in texture.sketch.marks if m.kind == "dynamic" and m.value in DYNAMICS]
    found = []
    for phrase in phrases:
        reach = phrase.start + texture.beat_at(phrase.start)
        given = [value for onset, value in marks if onset < reach]
        found.append(replace(phrase, dynamic=given[-1], dynamic_proposed=False) if given else phrase)
    return found


def with_proposed(
    texture: Texture, phrases: Sequence[Phrase], tune: Sequence[Tone], table: Mapping[str, Any]
) -> list[Phrase]:
    """The phrases whose dynamic the sketch does not give, with one. `table` is constraints/proposals.toml.

    MIDI velocities speak where they differ; else the dynamic of the phrase's character, louder or softer by how much sounds,
    how high the tune lies, how fast it goes, and its place in the form.
    """
    if not any(phrase.dynamic_proposed for phrase in phrases):
        return list(phrases)
    tones, lead = dict(by_phrase(texture.tones, phrases)), dict(by_phrase(tune, phrases))
    velocities = [tone.velocity for tone in texture.tones if tone.velocity is not None]
    if len(velocities) > 1 and pstdev(velocities) >= table["dynamic"]["velocity"]:
        return [
            replace(phrase, dynamic=_by_velocity(tones.get(k, []), table["dynamic"]["velocities"]))
            if phrase.dynamic_proposed
            else phrase
            for k, phrase in enumerate(phrases)
        ]
    forces = _forces(texture, phrases, tones, lead, table["dynamic"])
    long = len(texture.sketch.bars) >= table["dynamic"]["long"]
    loudest = DYNAMICS.index("ff" if long else "f")
    found = []
    for phrase, force in zip(phrases, forces, strict=True):
        if phrase.dynamic_proposed:
            most = table["dynamic"]["most"]
            step = max(-most, min(most, round(force / table["dynamic"]["step"])))
            own = table["character"][phrase.character]["dynamic"] if phrase.character else "mf"
            place = max(1, min(loudest, DYNAMICS.index(own) + step))
            phrase = replace(phrase, dynamic=DYNAMICS[place])
        found.append(phrase)
    return found


def _by_velocity(tones: Sequence[Tone], velocities: Mapping[str, float]) -> str:
    """The dynamic nearest to the mean velocity."""
    mean = fmean([tone.velocity for tone in tones if tone.velocity is not None] or [velocities["mf"]])
    return min(DYNAMICS, key=lambda name: (abs(velocities[name] - mean), name))


def _forces(
    texture: Texture,
    phrases: Sequence[Phrase],
    tones: Mapping[int, Sequence[Tone]],
    lead: Mapping[int, Sequence[Tone]],
    table: Mapping[str, float],
) -> list[float]:
    """How much louder than usual each phrase wants to be, in no unit."""
    rows = []
    for k, phrase in enumerate(phrases):
        length = phrase.end - phrase.start
        all_, tune = tones.get(k, ()), lead.get(k, ())
        density = sum(tone.length for tone in all_) / length
        rate = len({tone.onset for tone in all_}) * texture.beat_at(phrase.start) / length
        rows.append((density, rate, fmean([tone.pitch for tone in tune]) if tune else None))
    density = fmean([row[0] for row in rows])
    rate = fmean([row[1] for row in rows])
    heights = [row[2] for row in rows if row[2] is not None]
    height = fmean(heights) if heights else 0.0
    usual = median(phrase.end - phrase.start for phrase in phrases)
    late = [
        k
        for k, phrase in enumerate(phrases)
        if phrase.end > table["late"] * phrases[-1].end and phrase.end - phrase.start > table["tail"] * usual
    ]
    top = max(late or range(len(rows)), key=lambda k: (max([t.pitch for t in lead.get(k, ())], default=0), k))
    found = []
    for k, (dense, fast, high) in enumerate(rows):
        force = table["density"] * _doublings(dense, density) + table["rate"] * _doublings(fast, rate)
        force += table["height"] * ((high if high is not None else height) - height) / table["octave"]
        force += table["climax"] if k == top and len(rows) > 1 else 0.0
        force += table["last"] if k == len(rows) - 1 and len(rows) > 1 else 0.0
        found.append(force)
    return found


def _doublings(value: float, mean: float) -> float:
    return max(-2.0, min(2.0, log2(value / mean))) if value > 0 and mean > 0 else 0.0
