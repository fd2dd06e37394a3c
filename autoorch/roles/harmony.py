"""The harmony: chords and local keys found in turn, named by roman numerals, with the notes that are foreign to each chord."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Mapping, Sequence
from functools import lru_cache
from itertools import groupby
from types import MappingProxyType
from typing import Any

import numpy as np

from autoorch.errors import TableError
from autoorch.roles.chords import (
    Kinds,
    all_chords,
    bass_pitches,
    fits,
    from_beats,
    governing,
    home_of,
    make_spans,
    row_of,
    weigh,
)
from autoorch.roles.keys import KEYS, Array, local_keys, prevailing, profiles
from autoorch.roles.model import Chord
from autoorch.roles.names import MODES, Key
from autoorch.roles.numerals import FIGURES, is_foreign, members_of, numeral, tendency_of, use_of
from autoorch.roles.proposals import says
from autoorch.roles.symbols import basses as symbol_basses
from autoorch.roles.symbols import symbols
from autoorch.roles.texture import Texture, Tone
from autoorch.tables import Tables

_FILE = "harmony.toml"
_UNIT = (float, 0, 1)
_COST = (float, 0, 100)
_CHORD = (
    "attack bass passing other missing missing_third missing_root seventh root_in_bass rise use symbol stray sheet change_bar "
    "change_beat change least"
)
SCHEMA = {
    "kind": {"*": {"steps": [(int, 0, 11)], "sign?": str}},
    "scale": {mode: [(int, 0, 11)] for mode in MODES},
    "degree": {mode: [str] for mode in MODES},
    "profile": {mode: [(float, 0, 100)] for mode in MODES},
    "use": {
        **{mode: {"*": _UNIT} for mode in MODES},
        "any": dict.fromkeys(("secondary", "borrowed", "foreign"), _UNIT),
    },
    "chord": dict.fromkeys(_CHORD.split(), _COST),
    "again": {"back": [str], "end": [str]},
    "symbol": {"*": str},
    "key": dict.fromkeys("profile resolves strong held change signature".split(), _COST),
}


def harmony_table(tables: Tables) -> Mapping[str, Any]:
    """constraints/harmony.toml.

    Raises:
        TableError: for an unknown, missing or absurd key.
    """
    table = tables.rule("harmony", SCHEMA)
    for suffix, kind in table["symbol"].items():
        if kind not in table["kind"]:
            raise TableError(f"names no kind: {kind}", _FILE, f"symbol.{suffix}")
    for section in ("degree", "profile"):
        for mode in MODES:
            if len(table[section][mode]) != 12:
                raise TableError("must have twelve entries", _FILE, f"{section}.{mode}")
    for kind, row in table["kind"].items():
        if len(row["steps"]) not in FIGURES:
            raise TableError("must have three or four steps", _FILE, f"kind.{kind}.steps")
    return table


def find_chords(
    texture: Texture,
    bass: Sequence[Tone],
    table: Mapping[str, Any],
    rings: Mapping[int, tuple[int, int]] = MappingProxyType({}),
    scales: Collection[int] = (),
) -> list[Chord]:
    """Chords from the start to the end without gaps; neighbours with the same chord, bass and key are one.

    Args:
        texture: all notes.
        bass: the bass line in order of time.
        table: constraints/harmony.toml.
        rings: ticks from and to which tones (by index) hold that are heard longer than they are written.
        scales: indices of tones that only pass.
    """
    spans = make_spans(texture)
    if not spans:
        return []
    kinds, home = all_chords(table), home_of(texture)
    weight = weigh(texture, spans, home, table["chord"], rings, scales)
    basses = bass_pitches(texture, spans, bass)
    lengths = np.array([(end - start) / texture.beat_at(start) for start, end in spans])
    fit = fits(weight, [(low - home) % 12 for low in basses], lengths, kinds, table["chord"])
    share = (weight @ kinds.members.T) / np.maximum(1e-9, weight.sum(axis=1, keepdims=True))
    fits_in = (share >= table["chord"]["least"]) | ((weight > 0).sum(axis=1, keepdims=True) < min(kinds.sizes))
    written, sheet = _written(texture, spans, kinds, home, table["symbol"]) * fits_in, _is_sheet(texture, table)
    fit += table["chord"]["symbol" if sheet else "stray"] * written * lengths[:, None]
    use = _uses(kinds, table)
    far = _far(texture, spans, home)
    costs = {**table["key"], "rows": profiles(table["profile"])}
    path = row_of(texture, spans, fit, table["chord"])
    roots = [root for root, _ in kinds.names]
    for _ in range(2):
        keys = local_keys(weight, use, path, roots, lengths, far, costs)
        row = np.array([KEYS.index(key) for key in keys])
        path = row_of(texture, spans, fit + table["chord"]["use"] * use[row] * lengths[:, None], table["chord"])
    keys = local_keys(weight, use, path, roots, lengths, far, costs)
    path = from_beats(texture, spans, path, kinds, home)
    path = _whole(texture, spans, weight, path, kinds, table["chord"])
    fifths = [(root + table["kind"][kind]["steps"][2] + home) % 12 for root, kind in kinds.names]
    basses = [low % 12 for low in governing(texture, spans, basses, path, fifths, table["chord"]["rise"])]
    if sheet and not bass:
        for start, end, degree in symbol_basses(texture.sketch, table["symbol"]):
            basses = [degree if start <= span[0] < end else low for span, low in zip(spans, basses, strict=True)]
    told = written * sheet
    named = [share[k, path[k]] >= table["chord"]["least"] or bool(told[k, path[k]]) for k in range(len(spans))]
    found = []
    states = [(path[k] if named[k] else None, basses[k], keys[k]) for k in range(len(spans))]
    for state, run in groupby(range(len(spans)), key=states.__getitem__):
        places = list(run)
        start, end = spans[places[0]][0], spans[places[-1]][1]
        chord, low, (tonic, mode) = state
        key = ((tonic + home) % 12, mode)
        if chord is None:
            found.append(Chord(start, end, None, None, low, key=key))
            continue
        root, kind = kinds.names[chord]
        found.append(make_chord(start, end, (root + home) % 12, kind, low, key, table))
    return found


def main_key(texture: Texture, chords: Sequence[Chord], table: Mapping[str, Any]) -> Key:
    """The key of the whole, of what is played: a piece that goes back to its beginning has it twice.

    Args:
        table: constraints/harmony.toml.
    """
    sketch, words = texture.sketch, table["again"]
    said = [(mark.onset, mark.text or mark.value) for mark in sketch.marks if mark.kind == "words"]
    back = [onset for onset, text in said if says(text, words["back"])]
    ends = [onset for onset, text in said if says(text, words["end"]) and not says(text, words["back"])]
    end = ends[0] if back and ends else back[0] if back else 0
    again = [chord for chord in chords if chord.start < end]
    return prevailing([c.key for c in (*chords, *again) for _ in range(max(1, (c.end - c.start) // sketch.ticks))])


def _whole(
    texture: Texture,
    spans: Sequence[tuple[int, int]],
    weight: Array,
    path: Sequence[int],
    kinds: Kinds,
    table: Mapping[str, Any],
) -> list[int]:
    """The path with triads that are chords with a seventh, by all that sounds while they last in a bar; a seventh a semitone
    from the root leans on it."""
    found = list(path)
    bars = [texture.sketch.bar_at(start).index for start, _ in spans]
    for (chord, _), run in groupby(range(len(spans)), key=lambda k: (path[k], bars[k])):
        places = list(run)
        root = int(kinds.roots[chord])
        same = [k for k in np.flatnonzero(kinds.roots == root) if (kinds.members[k] >= kinds.members[chord]).all()]
        ways = [k for k in same if k == chord or not kinds.members[k, root - 1]]
        fit = fits(weight[places].sum(axis=0, keepdims=True), [root], np.ones(1), kinds, table)[0]
        best = int(max(ways, key=lambda k: (fit[k], -k)))
        for place in places:
            found[place] = best
    return found


def make_chord(start: int, end: int, root: int, kind: str, bass: int, key: Key, table: Mapping[str, Any]) -> Chord:
    """The chord with its tendency notes and numeral in a key."""
    members = members_of(root, kind, table)
    return Chord(
        start,
        end,
        root,
        members[1],
        bass,
        members,
        tendency_of(root, kind, key, table),
        key,
        numeral(root, kind, key, bass, table),
        is_foreign(root, kind, key, table),
    )


def _written(
    texture: Texture, spans: Sequence[tuple[int, int]], kinds: Kinds, home: int, suffixes: Mapping[str, str]
) -> Array:
    """(spans, chords): 1 where the sketch's own chord symbol says so."""
    found = np.zeros((len(spans), len(kinds.names)))
    place = {name: k for k, name in enumerate(kinds.names)}
    starts = [start for start, _ in spans]
    for start, end, root, kind in symbols(texture.sketch, suffixes):
        found[bisect_left(starts, start) : bisect_left(starts, end), place[(root - home) % 12, kind]] = 1.0
    return found


def _is_sheet(texture: Texture, table: Mapping[str, Any]) -> bool:
    """The sketch has its harmony in chord symbols, and not one here and there."""
    marks = sum(1 for _ in symbols(texture.sketch, table["symbol"]))
    return bool(marks >= table["chord"]["sheet"] * len(texture.sketch.bars))


def _uses(kinds: Kinds, table: Mapping[str, Any]) -> Array:
    """(24, chords): how much each chord speaks for each key."""
    rows = {mode: [use_of(root, kind, (0, mode), table) for root, kind in kinds.names] for mode in MODES}
    place = {name: k for k, name in enumerate(kinds.names)}
    return np.array(
        [[rows[mode][place[(root - tonic) % 12, kind]] for root, kind in kinds.names] for tonic, mode in KEYS]
    )


def _far(texture: Texture, spans: Sequence[tuple[int, int]], home: int) -> Array:
    """(spans, 24): fifths between each key's signature and the sketch's; zeros where the sketch may have none."""
    found = np.zeros((len(spans), len(KEYS)))
    if texture.sketch.source == "midi" and not any(bar.fifths for bar in texture.sketch.bars):
        return found
    for k, (start, _) in enumerate(spans):
        sharps = texture.sketch.bar_at(start).fifths
        found[k] = _distances(sharps, home)
    return found


@lru_cache(maxsize=256)
def _distances(sharps: int, home: int) -> tuple[float, ...]:
    found = []
    for tonic, mode in KEYS:
        own = 7 * (tonic + home) + (0 if mode == "major" else -3)
        away = (own - sharps) % 12
        found.append(float(min(away, 12 - away)))
    return tuple(found)
