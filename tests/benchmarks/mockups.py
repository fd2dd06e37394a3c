"""Mock-ups of real pieces read back by mido and symusic: same notes, tracks and tempo map, total time against the score's own,
and how many notes sound as they are written (ornaments, short notes, grace notes and repeats change some on purpose).
"""

from __future__ import annotations

import argparse
import tempfile
from bisect import bisect_right
from collections import Counter
from fractions import Fraction
from pathlib import Path

import mido
import symusic

from autoorch import pipeline
from autoorch.solver.solve import Limits
from autoorch.write.midi import midi_file
from autoorch.write.performance import Performance, perform
from tests.benchmarks.pieces import PIECES, sketch_file
from tests.support.readback import notes_of

Note = tuple[int, int, int, int]


def by_mido(path: Path) -> tuple[dict[str, list[Note]], list[tuple[int, int]], float]:
    """Notes a track, tempo map (tick, microseconds), seconds."""
    file = mido.MidiFile(path, charset="utf-8")
    found: dict[str, list[Note]] = {}
    tempos: list[tuple[int, int]] = []
    for track in file.tracks:
        now, sounding = 0, {}
        for message in track:
            now += message.time
            if message.type == "set_tempo":
                tempos.append((now, message.tempo))
            elif message.type == "note_on":
                sounding[message.note] = (now, message.velocity)
            elif message.type == "note_off":
                start, velocity = sounding.pop(message.note)
                found.setdefault(track.name, []).append((start, now, message.note, velocity))
    return {name: sorted(notes) for name, notes in found.items()}, tempos, file.length


def by_symusic(path: Path) -> tuple[dict[str, list[Note]], list[tuple[int, int]], dict[int, float]]:
    """Notes and tempo map likewise (a track whose program changes comes as several, so tracks go by name), and the second
    of each tick at which a note begins."""
    file = symusic.Score(str(path))
    found: dict[str, list[Note]] = {}
    seconds: dict[int, float] = {}
    for track, timed in zip(file.tracks, file.to("second").tracks, strict=True):
        own = found.setdefault(track.name, []) if track.notes else []
        own += [(n.time, n.time + n.duration, n.pitch, n.velocity) for n in track.notes]
        seconds |= {a.time: b.time for a, b in zip(track.notes, timed.notes, strict=True)}
    return {name: sorted(notes) for name, notes in found.items()}, [(t.time, t.mspq) for t in file.tempos], seconds


def written(played: Performance) -> dict[str, Counter[tuple[int, int]]]:
    """Track -> (MIDI tick, pitch) of the written notes, along the bars as they are played; unpitched ones by their key."""
    score, found = played.score, dict[str, Counter[tuple[int, int]]]()
    onsets = [bar.onset for bar in score.bars]
    for part, notes in zip(score.parts, notes_of(score), strict=True):
        inside: dict[int, list[tuple[Fraction, int]]] = {}
        for (onset, _, pitch), count in notes.items():
            tick = onset * score.ticks
            bar = bisect_right(onsets, tick) - 1
            sounds = pitch if part.player.instrument.gm else part.player.instrument.gm_key
            inside.setdefault(bar, []).extend([(tick - onsets[bar], sounds)] * count)
        found[part.player.name] = Counter(
            (played.clock.midi(start + tick), pitch)
            for index, start in zip(played.order, played.clock.starts, strict=True)
            for tick, pitch in inside.get(index, ())
        )
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, epilog="Data: music21's corpus.")
    parser.add_argument("--piece", action="append", help=f"repeatable ({', '.join(PIECES)})")
    parser.add_argument("--for", dest="lineup", default="romantic", help="line-up (romantic)")
    parser.add_argument("--seconds", type=float, default=5.0, help="effort of the solver (5)")
    options = parser.parse_args()
    print(
        f"{'piece':<16}{'notes':>7}{'tracks':>7}{'tempos':>7}{'readers':>9}{'seconds':>10}{'off by ms':>10}{'as written':>11}"
    )
    for name in options.piece or PIECES:
        with tempfile.TemporaryDirectory() as folder:
            result = pipeline.draft(
                sketch_file(name, Path(folder)), options.lineup, limits=Limits(seconds=options.seconds)
            )
            played = perform(result.score, result.problem.tables)
            path = Path(folder) / "mockup.mid"
            midi_file(played).save(path)
            first, second = by_mido(path), by_symusic(path)
        same = first[0] == second[0] and first[1] == second[1]
        off = max(abs(played.tempo.seconds(tick) - second[2][tick]) for tick in second[2])
        off = 1000 * max(off, abs(played.seconds - first[2]))
        notes = sum(map(len, first[0].values()))
        page = written(played)
        kept = sum((Counter(n[::2] for n in first[0].get(part, ())) & own).total() for part, own in page.items())
        share = kept / max(1, sum(own.total() for own in page.values()))
        print(
            f"{name:<16}{notes:>7}{len(first[0]):>7}{len(first[1]):>7}{'same' if same else 'DIFFER':>9}"
            f"{first[2]:>10.2f}{off:>10.4f}{share:>11.1%}",
            flush=True,
        )  # fmt: skip


if __name__ == "__main__":
    main()
