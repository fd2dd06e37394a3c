"""Likely misprints as queries, never mended: clashes without a reason, accidentals that parallel bars lack, bars too long.

A query costs the composer a look, so each kind wants two things that agree before it speaks.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby, pairwise
from typing import Any

from autoorch.pitch import Pitch
from autoorch.roles.material import full_length
from autoorch.roles.model import Chord, Strand
from autoorch.roles.names import key_name, signature
from autoorch.roles.numerals import scale_of
from autoorch.roles.parameters import Section
from autoorch.roles.places import Places
from autoorch.roles.texture import Texture, Tone

SEMITONES = (1, 11)


def misprints(
    texture: Texture, strands: Sequence[Strand], chords: Sequence[Chord], table: Section, harmony: Mapping[str, Any]
) -> tuple[str, ...]:
    """One plain line each with bar and beat, in order of time.

    Args:
        strands: whose lines say what a note comes from and goes to.
        table: [misprint] of constraints/reading.toml.
        harmony: constraints/harmony.toml.
    """
    places = Places(texture.sketch)
    found = [*_long_bars(texture)]
    if _outside(texture, chords, harmony) <= table["outside"]:  # beyond it the music is in no key to misprint in
        found += _clashes(texture, strands, chords, table, harmony)
        found += _far_spellings(texture, chords, table)
        found += _odd_bars(texture, chords, table, harmony)
    return tuple(f"bar {places.told(tick)}: {text}" for tick, text in sorted(set(found)))


def _outside(texture: Texture, chords: Sequence[Chord], harmony: Mapping[str, Any]) -> float:
    """Share of the notes that are not of their local key."""
    starts = [chord.start for chord in chords]
    scales = {chord.key: scale_of(chord.key, harmony) for chord in chords}
    keys = (chords[max(0, bisect_right(starts, tone.onset) - 1)].key for tone in texture.tones)
    out = sum(tone.pitch % 12 not in scales[key] for tone, key in zip(texture.tones, keys, strict=True))
    return out / max(1, len(texture.tones))


def _clashes(
    texture: Texture, strands: Sequence[Strand], chords: Sequence[Chord], table: Section, harmony: Mapping[str, Any]
) -> Iterator[tuple[int, str]]:
    """Notes from outside the key that lead nowhere and stand against another form of their letter, or a semitone from a note."""
    starts = [chord.start for chord in chords]
    by_id = {tone.id: tone for tone in texture.tones}
    pitch_of = texture.sketch.by_id
    onsets = texture.onsets
    for strand in strands:
        for line in strand.lines:
            tones = [by_id[note] for note in line.notes if note in by_id]
            runs = [list(run) for _, run in groupby(tones, key=lambda tone: tone.pitch)]
            for (before, run), (_, after) in pairwise(pairwise([[], *runs, []])):
                tone = run[0]
                beat = texture.beat_at(tone.onset)
                chord = chords[max(0, bisect_right(starts, tone.onset) - 1)]
                if tone.pitch % 12 in chord.members or tone.pitch % 12 in scale_of(chord.key, harmony):
                    continue
                if tone.length < table["clash_length"] * beat:
                    continue
                if any(abs(other[0].pitch - tone.pitch) <= 1 for other in (before, after) if other):
                    continue
                name = pitch_of[tone.id].pitch
                first = bisect_left(onsets, tone.onset - round(table["clash_near"] * beat))
                last = bisect_right(onsets, tone.onset + round(table["clash_near"] * beat))
                near = [t for onset in onsets[first:last] for t in texture.attacks[onset] if t is not tone]
                other = next((pitch_of[t.id].pitch for t in near if _another_form(pitch_of[t.id].pitch, name)), None)
                hard = [t for t in texture.sounding[tone.onset] if abs(t.pitch - tone.pitch) % 12 in SEMITONES]
                if other is not None:
                    yield tone.onset, f"{name} beside {other}; is an accidental wrong or missing?"
                elif hard:
                    yield tone.onset, f"{name} against {pitch_of[hard[0].id].pitch}; is an accidental wrong or missing?"


def _far_spellings(texture: Texture, chords: Sequence[Chord], table: Section) -> Iterator[tuple[int, str]]:
    """Notes that no chord near the key is spelled with ("Fb" in F major): far on the line of fifths from key and signature."""
    sketch = texture.sketch
    if sketch.source == "midi":
        return
    starts = [chord.start for chord in chords]
    for tone in texture.tones:
        name = sketch.by_id[tone.id].pitch
        key = chords[max(0, bisect_right(starts, tone.onset) - 1)].key
        near = sketch.bar_at(tone.onset).fifths
        centres = (signature(key, near), near)
        away = [name.fifths - centre for centre in centres]
        if all(not -table["flat_side"] <= each <= table["sharp_side"] for each in away):
            yield tone.onset, f"{name} is spelled far from {key_name(key, near)}; is an accidental wrong?"


def _another_form(one: Pitch, other: Pitch) -> bool:
    """F and F#."""
    return one.step == other.step and one.alter != other.alter


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
