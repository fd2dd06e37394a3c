"""Timpani on one tuning for the cue: strokes on the bass notes that their drums have, where the music is loud, a full phrase
closes or the plan gives them the bass, and rolls into the moments that call for them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from autoorch.instruments import Instrument
from autoorch.layers.closes import closing_basses
from autoorch.layers.cue import ASKED, Cue
from autoorch.layers.model import MaterialLine, MaterialNote, MaterialStrand
from autoorch.layers.touches import TREMOLO
from autoorch.pitch import Pitch
from autoorch.roles.model import Chord, Moment
from autoorch.sketch.model import SketchNote


def timpani(cue: Cue, rolls: Sequence[Moment]) -> tuple[MaterialStrand, ...]:
    """A strand of strokes, and one a roll; () without a player or anything to play."""
    player = next((p for p in cue.lineup.players if p.instrument.kind == "timpani"), None)
    if player is None:
        return ()
    table = cue.tables.rule("finish")["timpani"]
    loud = [n for n in cue.bass if cue.strong(n.onset) and cue.dynamic_at(n.onset) in table["dynamics"]]
    closing = [note for notes in closing_basses(cue) for note in notes if note not in loud]
    given = [n for n in cue.bass if n not in (*loud, *closing) and cue.on_beat(n.onset) and _planned(cue, n)]
    attacks = sorted((*loud, *closing, *given), key=lambda n: (n.onset, n.id))
    wanted = Counter(n.pitch.midi % 12 for n in attacks)
    for moment in rolls:
        chord = cue.chord_at(moment.onset if _on(cue, moment) else max(0, moment.onset - 1))
        wanted.update({chord.bass: table["roll_worth"]} if chord else {})
    tuning = tune(wanted, player.instrument)
    rolled = _rolls(cue, rolls, tuning, table)
    busy = [(notes[0].onset, notes[-1].end) for notes, _ in rolled]
    notes: list[MaterialNote] = []
    for phrase in cue.plan:
        hits = [n for n in attacks if phrase.start <= n.onset < phrase.end and n.pitch.midi % 12 in tuning]
        hits = [n for n in hits if not any(a <= n.onset < b for a, b in busy)]
        if len(hits) >= table["least_strokes"]:
            edges = sorted(a for a, _ in busy)
            notes += _strokes(cue, hits, tuning, table, len(notes), edges)
    found = []
    if notes:
        reason = "strokes on the bass notes of loud phrases and of full closes"
        reason += ", and where they have the bass" if given else ""
        found.append(_strand("timp1", notes, "strokes", reason))
    for number, (roll, moment) in enumerate(rolled, 1):
        reason = f"timpani roll: {moment.kind} in {cue.place(moment.onset)}"
        found.append(_strand(f"roll{number}", roll, "roll", reason))
    return _named(found)


def _planned(cue: Cue, note: SketchNote) -> bool:
    """The plan gives the timpani the bass there."""
    return "timpani" in cue.plan_at(note.onset).at(note.onset).bass


def _strand(name: str, notes: Sequence[MaterialNote], texture: str, reason: str) -> MaterialStrand:
    line = MaterialLine(f"{name}.1", tuple(notes))
    return MaterialStrand(name, "rhythm", "finish", (line,), texture, families=("timpani",), reason=reason)


def tune(wanted: Mapping[int, int], instrument: Instrument) -> dict[int, int]:
    """Pitch class -> sounding MIDI note of the drum that takes it: the commonest classes first, one drum each, lower notes on
    larger drums, all as near as can be to the middle of their drums, where the skins sound best."""
    tuning: dict[int, int] = {}
    for degree in sorted(wanted, key=lambda d: (-wanted[d], d)):
        ways = list(_settings({*tuning, degree}, instrument, instrument.drums))
        if ways:
            pitches = min(ways)[1]
            tuning = {pitch % 12: pitch for pitch in pitches}
    return tuning


def _settings(
    degrees: Collection[int], instrument: Instrument, drums: Sequence[tuple[int, int]], above: int = 0
) -> Iterator[tuple[int, tuple[int, ...]]]:
    """(how far from the middle of the drums, rising pitches) of each way to set drums to all the pitch classes."""
    if not degrees:
        yield 0, ()
        return
    for k, (low, high) in enumerate(drums):
        for pitch in range(max(low, above + 1), high + 1):
            if pitch % 12 in degrees and _safe(instrument, pitch):
                left = set(degrees) - {pitch % 12}
                for cost, others in _settings(left, instrument, drums[k + 1 :], pitch):
                    yield cost + abs(2 * pitch - low - high), (pitch, *others)


def _named(strands: Sequence[MaterialStrand]) -> tuple[MaterialStrand, ...]:
    """The strands with one name a drum through the cue: that of its first stroke."""
    notes = sorted((note for strand in strands for note in strand.lines[0].notes), key=lambda n: n.onset)
    names: dict[int, Pitch] = {}
    for note in notes:
        names.setdefault(note.pitch.midi, note.pitch)
    return tuple(
        replace(one, lines=(replace(line, notes=tuple(replace(n, pitch=names[n.pitch.midi]) for n in line.notes)),))
        for one in strands
        for line in one.lines
    )


def _safe(instrument: Instrument, pitch: int) -> bool:
    return instrument.normal[0] <= pitch <= instrument.normal[1]


def _rolls(
    cue: Cue, moments: Sequence[Moment], tuning: Mapping[int, int], table: Mapping[str, Any]
) -> list[tuple[list[MaterialNote], Moment]]:
    """Rolls up to a moment, and on a last or held chord as long as it lasts; on its bass or another member in the tuning."""
    found: list[tuple[list[MaterialNote], Moment]] = []
    free = 0
    for moment in moments:
        chord = cue.chord_at(moment.onset)
        if chord is None or cue.dynamic_at(moment.onset) not in table["roll"]:
            continue
        on = _on(cue, moment)
        character = cue.reading.phrases[cue.phrase_at(moment.onset)].character
        if not on and (cue.chorale or character in table["roll_never"]) and moment.strength < ASKED:
            continue
        if on:
            note = cue.tune_at(moment.onset)
            start, end = moment.onset, note.end if note else moment.onset
            if cue.seconds(start, end) < table["roll_least_s"]:
                continue
        else:
            start, end = moment.onset - cue.quarters(table["roll_quarters"]), moment.onset
            chord = cue.chord_at(max(0, start)) or chord
        degree = next((d for d in (chord.bass, *chord.members) if d in tuning), None)
        if degree is None or start < free:
            continue
        name = f"roll{len(found) + 1}.1.1"
        pitch = cue.spelled(tuning[degree], start)
        grows = () if on else cue.swell(moment.onset, table["roll_steps"])
        notes = [MaterialNote(name, start, end - start, pitch, marks=(TREMOLO,), swell=grows)]
        landing = cue.chord_at(moment.onset)
        if not on and landing is not None:
            notes += _landing(cue, moment.onset, landing, tuning, table, f"roll{len(found) + 1}.1.2")
        found.append((notes, moment))
        free = notes[-1].end
    return found


def _on(cue: Cue, moment: Moment) -> bool:
    """The roll lasts as long as the moment's chord, instead of leading to it."""
    return moment.kind in cue.tables.rule("finish")["held"]


def _landing(
    cue: Cue, tick: int, chord: Chord, tuning: Mapping[int, int], table: Mapping[str, Any], name: str
) -> list[MaterialNote]:
    """The stroke that a roll lands on: the bass of the chord, or another member that a drum has; [] where none has."""
    degree = next((d for d in (chord.bass, *chord.members) if d in tuning), None)
    if degree is None:
        return []
    return [MaterialNote(name, tick, cue.quarters(table["stroke"]), cue.spelled(tuning[degree], tick))]


def _strokes(
    cue: Cue,
    hits: Sequence[SketchNote],
    tuning: Mapping[int, int],
    table: Mapping[str, Any],
    count: int,
    edges: Sequence[int],
) -> list[MaterialNote]:
    longest = cue.quarters(table["stroke"])
    found = []
    for number, note in enumerate(hits, count + 1):
        follows = [n.onset for n in hits[number - count :]] + [edge for edge in edges if edge > note.onset]
        room = min(follows, default=note.end + longest) - note.onset
        length = max(1, min(longest, room))
        pitch = cue.spelled(tuning[note.pitch.midi % 12], note.onset)
        found.append(MaterialNote(f"timp1.1.{number}", note.onset, length, pitch, (note.id,)))
    return found
