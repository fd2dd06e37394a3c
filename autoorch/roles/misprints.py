"""Likely misprints as queries, never mended: clashes without a reason, accidentals that parallel bars lack, bars too long.

A query costs the composer a look, so each kind wants two things that agree before it speaks.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from autoorch.pitch import Pitch
from autoorch.roles.material import full_length
from autoorch.roles.model import Chord
from autoorch.roles.numerals import scale_of
from autoorch.roles.parameters import Section
from autoorch.roles.places import Places
from autoorch.roles.texture import Texture, Tone

SEMITONES = (1, 11)


def misprints(texture: Texture, chords: Sequence[Chord], table: Section, harmony: Mapping[str, Any]) -> tuple[str, ...]:
    """One plain line each with bar and beat, in order of time. `table` is [misprint] of constraints/reading.toml."""
    places = Places(texture.sketch)
    found = [*_clashes(texture, chords, table), *_odd_bars(texture, chords, table, harmony), *_long_bars(texture)]
    return tuple(f"bar {places.told(tick)}: {text}" for tick, text in sorted(set(found)))


def _clashes(texture: Texture, chords: Sequence[Chord], table: Section) -> list[tuple[int, str]]:
    """Two forms of one letter at once ("F and F#"), one of them foreign to the chord and neither reached nor left by step."""
    starts = [chord.start for chord in chords]
    by_id = texture.sketch.by_id
    found = []
    for onset, tones in texture.attacks.items():
        k = bisect_right(starts, onset) - 1
        if k < 0 or not chords[k].members:
            continue
        for tone in tones:
            if tone.pitch % 12 in chords[k].members or tone.length < table["clash_length"] * texture.beat_at(onset):
                continue
            if _explained(texture, tone):
                continue
            for other in texture.sounding[onset]:
                if other.pitch % 12 not in chords[k].members or abs(other.pitch - tone.pitch) % 12 not in SEMITONES:
                    continue
                mine, theirs = by_id[tone.id].pitch, by_id[other.id].pitch
                if mine.step == theirs.step:
                    found.append((onset, f"{mine} sounds against {theirs}; is an accidental missing?"))
                    break
    return found


def _explained(texture: Texture, tone: Tone) -> bool:
    """It comes or goes by step, or was there or stays there: a suspension, an appoggiatura, a pedal, a passing note."""
    earlier = texture.onsets[: bisect_right(texture.onsets, tone.onset - 1)][-3:]
    before = [t for onset in earlier for t in texture.attacks[onset] if t.end >= tone.onset]
    after = texture.attacks.get(tone.end, [])
    near = [t for t in (*before, *after) if abs(t.pitch - tone.pitch) <= 2]
    return bool(near)


def _odd_bars(
    texture: Texture, chords: Sequence[Chord], table: Section, harmony: Mapping[str, Any]
) -> list[tuple[int, str]]:
    """Bars that other bars have letter for letter but for one accidental, where theirs is the key's own."""
    sketch = texture.sketch
    starts = [chord.start for chord in chords]
    groups: dict[tuple[tuple[int, int, str], ...], list[list[Tone]]] = {}
    by_bar: dict[int, list[Tone]] = {}
    for tone in texture.tones:
        by_bar.setdefault(sketch.bar_at(tone.onset).index, []).append(tone)
    for index, tones in by_bar.items():
        bar = sketch.bars[index]
        rows = sorted((t.onset - bar.onset, t.length, _letter(sketch.by_id[t.id].pitch), t.index) for t in tones)
        if len(rows) >= table["odd_notes"]:
            letters = tuple(row[:3] for row in rows)
            groups.setdefault(letters, []).append([texture.tones[row[3]] for row in rows])
    found = []
    for bars in groups.values():
        if len(bars) < table["odd_bars"]:
            continue
        usual = [Counter(tones[k].pitch for tones in bars).most_common(1)[0][0] for k in range(len(bars[0]))]
        for tones in bars:
            odd = [k for k, tone in enumerate(tones) if tone.pitch != usual[k]]
            if len(odd) != 1:
                continue
            tone = tones[odd[0]]
            key = chords[max(0, bisect_right(starts, tone.onset) - 1)].key
            scale = scale_of(key, harmony)
            if tone.pitch % 12 not in scale and usual[odd[0]] % 12 in scale:
                twin = next(other for other in bars if other[odd[0]].pitch == usual[odd[0]])[odd[0]]
                here, there = sketch.by_id[tone.id].pitch, sketch.by_id[twin.id].pitch
                found.append((tone.onset, f"{here}, where bar {sketch.bar_at(twin.onset).number} has {there}"))
    return found


def _letter(pitch: Pitch) -> str:
    return f"{pitch.step}{pitch.octave}"


def _long_bars(texture: Texture) -> list[tuple[int, str]]:
    """Bars that hold more than their metre."""
    sketch = texture.sketch
    found = []
    for bar in sketch.bars:
        full = full_length(sketch, bar)
        if bar.length > full:
            beats, unit = bar.length * bar.metre[1] / (4 * sketch.ticks), bar.metre[1]
            found.append((bar.onset, f"holds {beats:g}/{unit} in {bar.metre[0]}/{unit}"))
    return found
