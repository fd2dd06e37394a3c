"""Imitation: what one voice begins and another takes up within a few bars, at any pitch (fugal entries, canons); and who leads.

A subject is looked for as in Giraud, Groult and Levé, "Subject and Counter-subject Detection for Analysis of the Well-Tempered
Clavier Fugues" (2012): the same rhythm, and intervals that agree up to the scale; one may differ more, as in a tonal answer.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby, pairwise

from autoorch.roles.model import BACKGROUND, SCORE_ORDER, Entry, Leader, Strand
from autoorch.roles.parameters import Section
from autoorch.roles.patterns import CHORDAL
from autoorch.roles.texture import Texture, Tone

Run = tuple[Tone, ...]
"""Tones one after the other."""


Voices = Sequence[Sequence[Tone]]
"""Each one note at a time."""


def find_entries(
    texture: Texture,
    proposals: Sequence[Voices],
    strands: Sequence[Strand],
    table: Section,
) -> tuple[Entry, ...]:
    """Entries of all subjects, in order of time.

    Args:
        texture: all notes.
        proposals: ways in which the notes may be voices: what is imitated shows in one of them. After the first, which takes
            no account of staves, only what goes from staff to staff counts, where there are several.
        strands: figures, rhythms, pedals and chords are no subjects.
        table: [imitation] of constraints/reading.toml.
    """
    chordal = (strand for strand in strands if strand.role in BACKGROUND or strand.texture in CHORDAL)
    behind = {note for strand in chordal for line in strand.lines for note in line.notes}
    strand_of = {note: strand.id for strand in strands for line in strand.lines for note in line.notes}
    subjects: list[list[Run]] = []
    found = [
        match
        for number, voices in enumerate(proposals)
        for match in _matches(texture, voices, behind, table)
        if not number or len(texture.sketch.staves) == 1 or _staff(match[0]) != _staff(match[1])
    ]
    for one, other in sorted(found, key=lambda pair: (pair[0][0].index, -len(pair[0]), pair[1][0].index)):
        again = _same_strand(one, other, strand_of) or _restated(texture, one, other, table)
        if again or any(_shares(run, other) for runs in subjects for run in runs):
            continue
        known = next((runs for runs in subjects if any(_shares(run, one) for run in runs)), None)
        if known is None:
            subjects.append([one, other])
        elif len(other) >= table["whole"] * len(known[0]) and all(run[0].onset != other[0].onset for run in known):
            known.append(other)  # another at the same time is a doubling
    entries = [
        (run[0].index, Entry(number, run[0].pitch - runs[0][0].pitch, tuple(tone.id for tone in run)))
        for number, runs in enumerate(subjects, 1)
        for run in runs
    ]
    return tuple(entry for _, entry in sorted(entries, key=lambda row: row[0]))


def _staff(run: Run) -> int:
    """Where most of it stands."""
    return Counter(tone.staff for tone in run).most_common(1)[0][0]


def _shares(one: Run, other: Run) -> bool:
    """They have most of the shorter one in common."""
    if one[-1].onset < other[0].onset or other[-1].onset < one[0].onset:
        return False
    return 2 * len({t.index for t in one} & {t.index for t in other}) > min(len(one), len(other))


def _matches(texture: Texture, voices: Voices, behind: set[str], table: Section) -> Iterator[tuple[Run, Run]]:
    """What a voice begins and what another makes of it."""
    size = int(table["notes"]) - 1
    places: dict[tuple[tuple[int, int], ...], list[tuple[float, int, int]]] = defaultdict(list)
    shapes = [[(b.onset - a.onset, b.pitch - a.pitch) for a, b in pairwise(voice)] for voice in voices]
    for v, shape in enumerate(shapes):
        for k in range(len(shape) - size + 1):
            key = tuple((step, (leap > 0) - (leap < 0)) for step, leap in shape[k : k + size])
            places[key].append((texture.in_bars(voices[v][k].onset), v, k))
    diagonals: dict[tuple[int, int, int], list[int]] = defaultdict(list)
    for rows in places.values():
        rows.sort()
        for n, (late, w, j) in enumerate(rows):
            for early, v, i in reversed(rows[:n]):
                if late - early > table["near"]:
                    break
                if v == w and len(texture.sounding[voices[v][i].onset]) > 1:
                    continue
                if late - early >= table["apart"] and _agree(shapes[v], i, shapes[w], j, size, table):
                    diagonals[v, w, j - i].append(i)
    near = _Neighbours(texture, voices, table["off"])
    for (v, w, shift), firsts in diagonals.items():
        for first, last in _stretches(sorted(firsts)):
            end = last + size + 1
            one, other = near.grown(tuple(voices[v][first:end]), tuple(voices[w][first + shift : end + shift]))
            if (
                texture.in_bars(one[-1].end) - texture.in_bars(one[0].onset) >= table["bars"]
                and len({leap for _, leap in shapes[v][first : end - 1]}) >= table["distinct"]
                and len({step for step, _ in shapes[v][first : end - 1]}) >= table["rhythms"]
                and all(2 * sum(tone.id in behind for tone in run) < len(run) for run in (one, other))
                and (v != w or _answered(texture, one, other))
            ):
                yield one, other


def _answered(texture: Texture, one: Run, other: Run) -> bool:
    """One is alone, the other begins after it at another degree, with company: an answer, though both seem to be one voice."""
    if other[0].onset < one[-1].end or (other[0].pitch - one[0].pitch) % 12 == 0:
        return False
    alone = len(texture.between(one[0].onset, one[-1].end)) == len(one)
    return alone and len(texture.between(other[0].onset, other[-1].end)) > len(other)


def _agree(
    one: Sequence[tuple[int, int]], i: int, other: Sequence[tuple[int, int]], j: int, size: int, table: Section
) -> bool:
    off = sorted(abs(a[1] - b[1]) for a, b in zip(one[i : i + size], other[j : j + size], strict=True))
    return off[-1] <= table["tonal"] and off[-3] <= table["off"]


class _Neighbours:
    """What stands before and after each tone in its voice, so that matches can grow beyond a voice that was cut wrongly."""

    def __init__(self, texture: Texture, voices: Voices, off: float) -> None:
        self.texture, self.off = texture, off
        self.after = {a.index: b for voice in voices for a, b in pairwise(voice)}
        self.before = {b.index: a for voice in voices for a, b in pairwise(voice)}

    def grown(self, one: Run, other: Run) -> tuple[Run, Run]:
        """Both with what agrees before and after them; where one voice begins or ends, any tone may be what the other has."""
        lag, shift = other[0].onset - one[0].onset, other[0].pitch - one[0].pitch
        while pair := self._pair(self.before.get(one[0].index), self.before.get(other[0].index), lag, shift):
            if pair[0].end > one[0].onset or pair[1].end > other[0].onset:
                break
            one, other = (pair[0], *one), (pair[1], *other)
        while pair := self._pair(self.after.get(one[-1].index), self.after.get(other[-1].index), lag, shift):
            if pair[0].onset < one[-1].end or pair[1].onset < other[-1].end:
                break
            one, other = (*one, pair[0]), (*other, pair[1])
        return one, other

    def _pair(self, one: Tone | None, other: Tone | None, lag: int, shift: int) -> tuple[Tone, Tone] | None:
        if one and (mate := self._mate(one, lag, shift)) and (other is None or mate is other):
            return one, mate
        if other and one is None and (mate := self._mate(other, -lag, -shift)):
            return mate, other
        return None

    def _mate(self, tone: Tone, lag: int, shift: int) -> Tone | None:
        """The tone as long as this one, so much later and higher."""
        there = self.texture.attacks.get(tone.onset + lag, ())
        like = [t for t in there if t.length == tone.length and abs(t.pitch - tone.pitch - shift) <= self.off]
        return min(like, key=lambda t: (abs(t.pitch - tone.pitch - shift), t.index), default=None)


def _same_strand(one: Run, other: Run, strand_of: Mapping[str, str]) -> bool:
    """A strand takes up at the same pitch what it had before and ended: it says it again, nobody imitates it."""
    if other[0].pitch != one[0].pitch or other[0].onset < one[-1].end:
        return False
    most = [Counter(strand_of[tone.id] for tone in run).most_common(1)[0][0] for run in (one, other)]
    return most[0] == most[1]


def _restated(texture: Texture, one: Run, other: Run, table: Section) -> bool:
    """What else begins with `one`, before `other` enters, comes back with `other` too: the whole texture does, not a voice."""
    own = {tone.index for tone in one}
    lag, shift = other[0].onset - one[0].onset, other[0].pitch - one[0].pitch
    rest = [t for t in texture.between(one[0].onset, min(one[-1].end, other[0].onset)) if t.index not in own]
    again = sum(
        any(abs(t.pitch - tone.pitch - shift) <= table["off"] for t in texture.attacks.get(tone.onset + lag, ()))
        for tone in rest
    )
    return again > table["restated"] * len(rest)


def _stretches(numbers: Sequence[int]) -> Iterator[tuple[int, int]]:
    """First and last of each stretch of numbers without a gap."""
    for _, row in groupby(enumerate(numbers), key=lambda pair: pair[1] - pair[0]):
        values = [value for _, value in row]
        yield values[0], values[-1]


def find_leaders(texture: Texture, strands: Sequence[Strand], entries: Sequence[Entry]) -> tuple[Leader, ...]:
    """The strand that leads, bar by bar: what enters last, else the tune, else what moves most before the background does."""
    strand_of = {note: strand.id for strand in strands for line in strand.lines for note in line.notes}
    front = [role for role in SCORE_ORDER if role not in BACKGROUND]
    order = {strand.id: (front.index(strand.role) if strand.role in front else len(front)) for strand in strands}
    tones = {tone.id: tone for tone in texture.tones}
    entering: dict[int, Counter[str]] = {}
    for entry in entries:  # in order of time: a later one takes over
        for number, inside in groupby(entry.notes, key=lambda note: texture.sketch.bar_at(tones[note].onset).index):
            entering[number] = Counter(strand_of[note] for note in inside)
    found: list[Leader] = []
    there: dict[int, list[Tone]] = {}
    for tone in texture.tones:
        there.setdefault(texture.sketch.bar_at(tone.onset).index, []).append(tone)
    for bar in texture.sketch.bars:
        counts: Mapping[str, int] = entering.get(bar.index) or Counter(
            strand_of[tone.id] for tone in there.get(bar.index, ())
        )
        if not counts:
            continue
        imitated = bar.index in entering
        best = min(counts, key=lambda name: (0 if imitated else order[name], -counts[name], order[name], name))
        if found and found[-1].strand == best:
            found[-1] = Leader(found[-1].start, bar.end, best)
        else:
            found.append(Leader(bar.onset, bar.end, best))
    return tuple(found)
