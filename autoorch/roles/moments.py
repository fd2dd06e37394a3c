"""Moments: the places that ask for something, from the tune, the chords, the form and the sketch's marks.

Kinds, strengths and the figures by which they are found stand in constraints/moments.toml.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby, pairwise
from typing import Any

from autoorch.instruments import DYNAMICS
from autoorch.roles.cadences import Closes
from autoorch.roles.model import CADENCES, MOMENTS, Chord, Moment, Phrase
from autoorch.roles.names import key_name
from autoorch.roles.texture import Texture, Tone
from autoorch.tables import Tables
from autoorch.toml import Schema

_SHARE = (float, 0, 1)
_NUMBER = (float, 0, 1000)
_FIND = (
    "leap leap_full leap_rest leap_near leap_ratio late return_more run_notes "
    "run_step run_unit sudden sudden_full sudden_beats key_beats hit_notes borrowed_beats borrowed_full"
)
SCHEMA: Schema = {
    "kind": {kind: {"strength": _SHARE, "finish?": [str]} for kind in MOMENTS},
    "find": dict.fromkeys(_FIND.split(), _NUMBER),
    "cadence": dict.fromkeys(CADENCES, _SHARE),
}
_ACCENTS = {"sforzato", "sf", "sfz", "ffz", "fz", "rfz", "rf", "sfp", "sffz", "fp"}


def moments_table(tables: Tables) -> Mapping[str, Any]:
    """constraints/moments.toml.

    Raises:
        TableError: for an unknown, missing or absurd key.
    """
    return tables.rule("moments", SCHEMA)


def find_moments(
    texture: Texture,
    tune: Sequence[Tone],
    phrases: Sequence[Phrase],
    chords: Sequence[Chord],
    closes: Closes,
    table: Mapping[str, Any],
) -> tuple[Moment, ...]:
    """All moments in order of time and kind; of one kind at one place only the strongest."""
    find = table["find"]
    found: list[tuple[int, str, float, str]] = [
        *_of_tune(texture, tune, phrases, find),
        *_of_runs(texture, tune, find),
        *_of_chords(texture, chords, find),
        *_of_form(phrases, closes, find, table["cadence"]),
        *_of_marks(texture, find),
    ]
    if texture.onsets:
        found.append((texture.onsets[-1], "last", 1.0, ""))
    best: dict[tuple[int, str], Moment] = {}
    for onset, kind, share, what in found:
        moment = Moment(onset, kind, round(min(1.0, share * table["kind"][kind]["strength"]), 3), what)
        if (onset, kind) not in best or best[onset, kind].strength < moment.strength:
            best[onset, kind] = moment
    return tuple(best[key] for key in sorted(best, key=lambda key: (key[0], MOMENTS.index(key[1]))))


_Found = Iterator[tuple[int, str, float, str]]


def _of_tune(texture: Texture, tune: Sequence[Tone], phrases: Sequence[Phrase], find: Mapping[str, float]) -> _Found:
    """The climax and the wide leaps."""
    if tune:
        late = find["late"] * texture.sketch.end
        level = {}
        for phrase in phrases:
            level.update(dict.fromkeys((t for t in tune if phrase.start <= t.onset < phrase.end), phrase.dynamic))
        top = max(tune, key=lambda t: (t.pitch, DYNAMICS.index(level[t]), t.onset >= late, t.length, -t.onset))
        yield top.onset, "climax", 1.0, ""
    steps = [abs(b.pitch - a.pitch) for a, b in pairwise(tune)]
    near = int(find["leap_near"])
    for k, (a, b) in enumerate(pairwise(tune)):
        around = steps[max(0, k - near) : k] + steps[k + 1 : k + 1 + near]
        usual = sum(around) / max(1, len(around))
        wide = steps[k] >= max(find["leap"], find["leap_ratio"] * usual)
        if wide and b.onset - a.end <= find["leap_rest"] * texture.beat_at(b.onset):
            yield b.onset, "leap", min(1.0, steps[k] / find["leap_full"]), f"{steps[k]} semitones"


def _of_runs(texture: Texture, tune: Sequence[Tone], find: Mapping[str, float]) -> _Found:
    """Run-ups: short notes one way by step, and the longer or stressed note they lead to."""
    run: list[Tone] = []
    for a, b in pairwise(tune):
        step = b.pitch - a.pitch
        quick = b.onset - a.onset <= find["run_unit"] * texture.beat_at(a.onset) and a.onset < b.onset
        goes_on = not run or (step > 0) == (run[-1].pitch > run[0].pitch) or len(run) == 1
        if quick and 0 < abs(step) <= find["run_step"] and goes_on and b.onset - a.end <= 0:
            run = run or [a]
            run.append(b)
            continue
        yield from _run(run, find)
        run = [a, b] if quick and 0 < abs(step) <= find["run_step"] and a.end >= b.onset else []
    yield from _run(run, find)


def _run(run: Sequence[Tone], find: Mapping[str, float]) -> _Found:
    if len(run) > find["run_notes"]:
        way = "up" if run[-1].pitch > run[0].pitch else "down"
        yield run[0].onset, "run", 1.0, way
        yield run[-1].onset, "landing", 1.0, way


def _of_chords(texture: Texture, chords: Sequence[Chord], find: Mapping[str, float]) -> _Found:
    """New keys that hold, and chords from outside the key."""
    runs = [list(run) for _, run in groupby(chords, key=lambda chord: chord.key)]
    now = runs[0][0].key if runs else None
    for run in runs[1:]:
        beats = (run[-1].end - run[0].start) / texture.beat_at(run[0].start)
        if beats >= find["key_beats"] and run[0].key != now:
            now = run[0].key
            yield run[0].start, "key", 1.0, key_name(now, texture.sketch.bar_at(run[0].start).fifths)
    for _, group in groupby(chords, key=lambda chord: (chord.root, chord.third, chord.key)):
        same = list(group)
        start = same[0].start
        beats = (same[-1].end - start) / texture.beat_at(start)
        if same[0].borrowed and same[0].numeral and beats >= find["borrowed_beats"]:
            yield start, "borrowed", min(1.0, 0.5 + beats / find["borrowed_full"]), same[0].numeral


def _of_form(
    phrases: Sequence[Phrase], closes: Closes, find: Mapping[str, float], shares: Mapping[str, float]
) -> _Found:
    """Closes of phrases, and sections that begin."""
    for phrase in phrases:
        close = closes.before(phrase.end)
        if close and phrase.cadence and phrase.start <= close.onset:
            yield close.onset, "cadence", shares[phrase.cadence], phrase.cadence
    first = phrases[0].section.rstrip("'") if phrases else ""
    for before, phrase in pairwise(phrases):
        if phrase.section != before.section:
            back = phrase.section.rstrip("'") == first
            yield phrase.start, "arrival", 1.0 + (find["return_more"] if back else 0.0), phrase.section


def _of_marks(texture: Texture, find: Mapping[str, float]) -> _Found:
    """Fermatas, sudden dynamics and accents of everybody."""
    sketch = texture.sketch
    for note in sketch.notes:
        if "fermata" in note.marks:
            yield note.onset, "fermata", 1.0, ""
    levels = [m for m in sketch.marks if m.kind == "dynamic" and m.value in DYNAMICS]
    wedges = [m for m in sketch.marks if m.kind == "wedge"]
    for a, b in pairwise(levels):
        jump = abs(DYNAMICS.index(b.value) - DYNAMICS.index(a.value))
        led = any(a.onset <= w.onset < b.onset for w in wedges)
        near = b.onset - a.onset <= find["sudden_beats"] * texture.beat_at(b.onset)
        if a.onset < b.onset and jump >= find["sudden"] and (near or not led):
            yield b.onset, "sudden", min(1.0, jump / find["sudden_full"]), f"{a.value} to {b.value}"
    for mark in sketch.marks:
        if mark.kind == "dynamic" and mark.value in _ACCENTS:
            yield mark.onset, "hit", 1.0, mark.value
    for onset, tones in texture.attacks.items():
        marked = [t for t in tones if {"accent", "strong-accent"} & set(sketch.by_id[t.id].marks)]
        if len(tones) >= find["hit_notes"] and len(marked) == len(tones):
            yield onset, "hit", 1.0, "accents"
