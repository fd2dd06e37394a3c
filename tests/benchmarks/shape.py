"""Whether drafts have shape, and whether the melody is heard: figures of each draft beside those of the repertoire.

    python -m tests.benchmarks.shape [DATA] [--bars 64] [--for LINEUP]

For every piece and line-up, from the draft's own choices, breaths from its parts: how much of the time the texture lies
within the repertoire's 10 to 90 % at the dynamic planned there (constraints/texture.toml), spread from the thinnest to the
fullest phrase and from the thinnest to the fullest four bars, rank correlation of sounding parts with the planned weight, how
long a set of sounding parts lasts, restatements that differ, solos and families alone, long stretches without a breath,
colours of the melody, rhythms, doublings, bars on end of the tune with one wind player, and bars in which the melody is at
least as strong as any one other strand. At the end, for classical and romantic together and for other line-ups to report, how
many drafts reach each figure.

DATA: a folder of two-track reductions of symphonic movements (*.mid), drafted besides the examples and the piano pieces; of
each only the first `--bars` bars, since a movement is as long as ten cues. The reductions have no dynamics: they are proposed.
"""

from __future__ import annotations

import argparse
import json
import statistics
import tempfile
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from itertools import groupby, pairwise
from pathlib import Path
from typing import Any

from autoorch import pipeline
from autoorch.layers.colours import GROUPS, group_of
from autoorch.pipeline import Result
from autoorch.sketch.model import Bar
from autoorch.sketch.tempo import TempoMap
from autoorch.solver.solve import Limits
from autoorch.tables import load_tables
from autoorch.write.page.texture import Sounding, figures, moments
from tests.benchmarks.pieces import PIANO, opening, sketch_file
from tests.benchmarks.shape_heard import Sound, heard, sounds

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PIECES = ("bwv846", "mazurka", "h186", "rag", "k545", "polonaise1", "polonaise2", "polonaise3", "polonaise4", "donna")
LINEUPS = ("classical", "romantic", "studio")
REPORTED = ("studio",)
"""Line-ups whose texture no repertoire measures: their figures are told, and ask nothing."""
BREATH = 0.35
"""Seconds of rest that let a wind player breathe (common practice: a quaver to a crotchet rest)."""
TINY = 1e-6
"""Seconds within which sums of floats are equal."""
LONG = {"woodwind": 12.0, "horns": 12.0, "brass": 10.0}
"""Seconds of playing without a breath that few stretches should exceed."""
RELIEF = 16
"""Bars of a tune on end that one wind player should not have."""
FOUR, MANY = 4, 32
"""Bars over which the repertoire's spread, and its colours and doublings, were counted."""


def plain(found: Sequence[Sound]) -> list[Sounding]:
    """The same notes as the page counts them."""
    return [Sounding(s.player.name, s.onset, s.end, s.midi) for s in found]


def in_bands(result: Result, found: Sequence[Sound], parts: int) -> dict[str, float]:
    """Figure -> share of the time within the repertoire's 10 to 90 % at the phrase's dynamic."""
    table = load_tables().rule("texture")
    counted = plain(found)
    inside: dict[str, int] = defaultdict(int)
    total = 0
    for start, end, plan in (part for phrase in result.material.plan for part in phrase.parts):
        own = table["band"][table["beyond"]["band"][plan.dynamic]]
        for ticks, now in moments(counted, start, end):
            total += ticks
            for name, value in figures(now, parts).items():
                inside[name] += ticks * (own[name][0] <= value <= own[name][-1])
    return {name: count / max(1, total) for name, count in inside.items()}


def ranks(values: Sequence[float]) -> list[float]:
    """Mean rank of each value."""
    order = sorted(values)
    return [order.index(value) + (order.count(value) - 1) / 2 for value in values]


def correlation(sounding: Sequence[float], planned: Sequence[float]) -> float | None:
    """Spearman's of what sounds and what was planned; None where the plan does not vary, 0 where it alone does."""
    a, b = ranks(sounding), ranks(planned)
    if len(set(b)) == 1:
        return None
    return statistics.correlation(a, b) if len(set(a)) > 1 else 0.0


def sets_last(found: Sequence[Sound], bars: Sequence[Bar]) -> float:
    """Median of the bars for which one set of sounding players lasts."""
    sets = [frozenset(s.player.name for s in found if s.onset < bar.end and s.end > bar.onset) for bar in bars]
    return statistics.median(len(list(run)) for _, run in groupby(sets))


def scoring(found: Sequence[Sound], start: int, end: int) -> tuple[object, object, object]:
    """(families of the tune, octaves that it is moved by, families of the accompaniment) of a phrase."""
    inside = [s for s in found if start <= s.onset < end]
    tune = [s for s in inside if s.role == "melody"]
    others = frozenset(group_of(s.player.instrument) for s in inside if s.role not in ("melody", "bass", "pedal"))
    return frozenset(group_of(s.player.instrument) for s in tune), frozenset(s.octave for s in tune), others


def stretches(result: Result) -> tuple[int, int, float, float]:
    """(stretches that are long, all stretches, seconds in those that are long, seconds in all) of the winds, as written in their
    parts."""
    tempo, score = TempoMap(result.sketch, result.reading.tempo), result.score
    factor = score.ticks // result.sketch.ticks
    lasting: list[tuple[float, bool]] = []
    for part in score.parts:
        limit = LONG.get(group_of(part.player.instrument))
        notes = sorted(
            (tempo.seconds((bar.onset + event.onset) / factor), event.duration, bar.onset + event.onset)
            for bar, measure in zip(score.bars, part.measures, strict=True)
            for event in (each for voice in measure.voices for each in voice)
            if event.heads and event.duration and not event.cue
        )
        if limit is None or not notes:
            continue
        begun = last = notes[0][0]
        for start, duration, onset in notes:
            if start - last >= BREATH - TINY:
                lasting.append((last - begun, last - begun > limit))
                begun = start
            last = max(last, tempo.seconds((onset + duration) / factor))
        lasting.append((last - begun, last - begun > limit))
    long = [seconds for seconds, over in lasting if over]
    return len(long), len(lasting), sum(long), sum(seconds for seconds, _ in lasting)


def colours(found: Sequence[Sound], bars: Sequence[Bar]) -> float:
    """Different sets of instruments on the melody in 32 bars, on average."""
    sets = []
    for bar in bars:
        now = frozenset(s.player.instrument.id for s in found if s.role == "melody" and bar.onset <= s.onset < bar.end)
        if now:
            sets.append(now)
    windows = [sets[k : k + 32] for k in range(0, max(1, len(sets)), 32)]
    return statistics.mean(len(set(window)) * 32 / max(8, len(window)) for window in windows)


def rhythms(found: Sequence[Sound], bars: Sequence[Bar]) -> float:
    """Different rhythms at once in a bar, on average."""
    counts = []
    for bar in bars:
        own: dict[str, set[int]] = defaultdict(set)
        for sound in found:
            if bar.onset <= sound.onset < bar.end:
                own[sound.player.name].add(sound.onset)
        if own:
            counts.append(len({frozenset(onsets) for onsets in own.values()}))
    return statistics.mean(counts) if counts else 0.0


def doubling_run(found: Sequence[Sound], bars: Sequence[Bar]) -> float:
    """Bars on end in which the same two players share the melody: the longest run in each 32 bars, the middle one of them."""
    longest = []
    for first in range(0, max(1, len(bars) - MANY + 1), MANY // 2):
        running: dict[tuple[str, str], int] = {}
        longest.append(0)
        for bar in bars[first : first + MANY]:
            now = sorted({s.player.name for s in found if s.role == "melody" and bar.onset <= s.onset < bar.end})
            running = {(a, b): running.get((a, b), 0) + 1 for a in now for b in now if a < b}
            longest[-1] = max([longest[-1], *running.values()])
    return statistics.median(longest)


def longest_tune(found: Sequence[Sound], bars: Sequence[Bar]) -> int:
    """Bars on end in each of which one wind player has the tune."""
    longest = 0
    running: dict[str, int] = {}
    for bar in bars:
        tune = (s for s in found if s.role == "melody" and s.onset < bar.end and s.end > bar.onset)
        now = {s.player.name for s in tune if group_of(s.player.instrument) in LONG}
        running = {name: running.get(name, 0) + 1 for name in now}
        longest = max([longest, *running.values()])
    return longest


def loads(found: Sequence[Sound], pieces: Sequence[tuple[int, int]], parts: int) -> list[float]:
    """Share of the parts that sound in each stretch of time, on its average."""
    counted, shares = plain(found), []
    for start, end in pieces:
        ticks = sum(t * len({s.player for s in now}) for t, now in moments(counted, start, end))
        shares.append(ticks / (end - start) / parts)
    return shares


def spread(found: Sequence[Sound], bars: Sequence[Bar], parts: int) -> float:
    """By how much the fullest four bars exceed the thinnest, as the repertoire's figure is counted."""
    own = loads(found, [(bar.onset, bar.end) for bar in bars], parts)
    fours = [statistics.mean(own[k : k + FOUR]) for k in range(max(1, len(own) - FOUR + 1))]
    return max(fours) - min(fours)


def usual_spread(bars: int) -> float:
    """The repertoire's lower quartile over as many bars, between the lengths that were counted in proportion."""
    table = load_tables().rule("texture")["shape"]
    lengths, shares = table["bars"], table["spreads"]
    for (a, low), (b, high) in pairwise(zip(lengths, shares, strict=True)):
        if bars < b:
            return float(low + (high - low) * max(0.0, (bars - a) / (b - a)))
    return float(shares[-1])


def measure(path: Path, lineup: str, seconds: float) -> dict[str, Any]:
    """All figures of one draft."""
    result = pipeline.draft(path, lineup, limits=Limits(seconds=seconds))
    found = sounds(result)
    parts = sum(1 for player in result.lineup.players if group_of(player.instrument) in GROUPS)
    plan, bars = result.material.plan, result.sketch.bars
    inside = in_bands(result, found, parts)
    planned = [part for phrase in plan for part in phrase.parts]
    active = loads(found, [(start, end) for start, end, _ in planned], parts)
    phrases = loads(found, [(phrase.start, phrase.end) for phrase in plan], parts)
    back = [(p, plan[p.restates]) for p in plan if p.restates is not None]
    ways = [
        [a != b for a, b in zip(scoring(found, p.start, p.end), scoring(found, q.start, q.end), strict=True)]
        for p, q in back
    ]
    solos = alone = 0
    for phrase in plan:
        inside_phrase = [s for s in found if phrase.start <= s.onset < phrase.end]
        tune = {s.player.name: group_of(s.player.instrument) for s in inside_phrase if s.role == "melody"}
        solos += len(tune) == 1 and set(tune.values()) != {"strings"}
        groups = {group_of(s.player.instrument) for s in inside_phrase}
        alone += len(groups) == 1
    strands, single, all_bars = heard(result, found)
    return {
        "gap": result.draft.gap,
        "inside": statistics.mean(inside.values()) if inside else 1.0,
        "worst": min(inside, key=lambda name: inside[name]) if inside else "",
        "spread": max(phrases) - min(phrases),
        "fours": spread(found, bars, parts),
        "usual": usual_spread(len(bars)),
        "follows": correlation(active, [part.weight for _, _, part in planned]),
        "lasts": sets_last(found, bars),
        "back": (sum(any(way) for way in ways), len(back), *(sum(way[k] for way in ways) for k in range(3))),
        "solos": solos,
        "alone": alone,
        "long": stretches(result),
        "colours": colours(found, bars),
        "rhythms": rhythms(found, bars),
        "run": doubling_run(found, bars),
        "tune": longest_tune(found, bars),
        "heard": (strands, single, all_bars),
        "figures": inside,
    }


HEAD = (
    f"{'':<22} {'gap':>6} {'inside':>6} {'spread':>6} {'fours':>5} {'usual':>5} {'follows':>7} {'lasts':>5} {'back':>6}"
)
HEAD += f" {'solos':>5} {'alone':>5}"
HEAD += f" {'long':>6} {'colours':>7} {'rhythms':>7} {'run':>4} {'tune':>4} {'heard':>6}  worst figure"


def line(name: str, row: dict[str, Any]) -> str:
    """One draft on one line."""
    back = f"{row['back'][0]}/{row['back'][1]}"
    text = f"{name:<22} {row['gap']:>6.2%} {row['inside']:>6.0%} {row['spread']:>6.2f} {row['fours']:>5.2f}"
    follows = "-" if row["follows"] is None else f"{row['follows']:.2f}"
    text += f" {row['usual']:>5.2f} {follows:>7}"
    text += f" {row['lasts']:>5.1f}"
    text += (
        f" {back:>6} {row['solos']:>5} {row['alone']:>5} {row['long'][0]:>2}/{row['long'][1]:<3} {row['colours']:>7.1f}"
    )
    text += (
        f" {row['rhythms']:>7.1f} {row['run']:>4.1f} {row['tune']:>4} {row['heard'][0] / max(1, row['heard'][2]):>6.0%}"
    )
    return f"{text}  {row['worst']} {row['figures'].get(row['worst'], 1):.0%}"


def met(rows: Sequence[dict[str, Any]]) -> Iterator[str]:
    """One line a figure: how many drafts reach what is asked of it, of those that it can be asked of."""
    usual = load_tables().rule("texture")["shape"]["spread"]
    asked: dict[str, Callable[[dict[str, Any]], bool | None]] = {
        "texture within the bands 80 % of the time": lambda row: bool(row["inside"] >= 0.8),
        "every figure of it 80 % of the time": lambda row: bool(min(row["figures"].values(), default=1) >= 0.8),
        f"phrases spread by {usual}": lambda row: bool(row["spread"] >= usual),
        "phrases spread as far as the repertoire's lower quartile over as many bars": lambda row: bool(
            row["spread"] >= row["usual"]
        ),
        "four bars spread as far as the repertoire's lower quartile over as many bars": lambda row: bool(
            row["fours"] >= row["usual"]
        ),
        "sounding parts follow the weight, 0.7": lambda row: None if row["follows"] is None else row["follows"] >= 0.7,
        "a set of sounding parts lasts 1 to 8 bars": lambda row: bool(1 <= row["lasts"] <= 8),
        "90 % of restatements differ": lambda row: row["back"][0] >= 0.9 * row["back"][1] if row["back"][1] else None,
        "a solo": lambda row: bool(row["solos"]),
        "strings or winds alone": lambda row: bool(row["alone"]),
        "at most 5 % of stretches long": lambda row: bool(row["long"][0] <= 0.05 * row["long"][1]),
        "the melody heard in 90 % of bars": lambda row: bool(row["heard"][0] >= 0.9 * row["heard"][2]),
        f"no wind has the tune for {RELIEF} bars on end": lambda row: bool(row["tune"] < RELIEF),
    }
    for said, test in asked.items():
        found = [(row["name"], test(row)) for row in rows]
        own = [good for _, good in found if good is not None]
        missed = [name for name, good in found if good is False]
        yield f"  {said}: {sum(own)} of {len(own)}" + (f"; not {', '.join(missed)}" if missed else "")


def summary(rows: Sequence[dict[str, Any]]) -> Iterator[str]:
    """The figures over all drafts."""
    table = load_tables().rule("texture")["shape"]
    names = sorted({name for row in rows for name in row["figures"]})
    back = [sum(row["back"][k] for row in rows) for k in range(5)]
    long = [sum(row["long"][k] for row in rows) for k in range(4)]
    good = [sum(row["heard"][k] for row in rows) for k in (0, 1, 2)]
    by_figure = ", ".join(
        f"{name} {statistics.mean(row['figures'].get(name, 1) for row in rows):.0%}" for name in names
    )
    yield f"within the bands: {statistics.mean(row['inside'] for row in rows):.0%} of the time; by figure {by_figure}"
    yield (
        f"restatements that differ: {back[0]} of {back[1]} ({back[0] / max(1, back[1]):.0%}), in the tune's families {back[2]}, "
        f"in its octaves {back[3]}, in the families of the accompaniment {back[4]}"
    )
    yield (
        f"long stretches: {long[0]} of {long[1]} ({long[0] / max(1, long[1]):.1%}), "
        f"{long[2] / max(1.0, long[3]):.1%} of the winds' playing time"
    )
    yield f"longest tune of one wind player: {max(row['tune'] for row in rows)} bars"
    yield "beside the repertoire: " + "; ".join(
        f"{said} {statistics.median(row[name] for row in rows):.1f} ({low} to {high})"
        for name, said, (low, high) in (
            ("colours", "colours of the melody in 32 bars", table["colours"]),
            ("rhythms", "rhythms at once", table["rhythms"]),
            ("run", "longest run of one doubling in 32 bars", table["run"]),
        )
    )
    yield (
        f"bars in which the melody is heard: {good[0] / max(1, good[2]):.1%} against any one other strand near it, "
        f"{good[1] / max(1, good[2]):.1%} against any one other player (the repertoire: 90 to 92 % of bars)"
    )
    yield "drafts that reach what is asked:"
    yield from met(rows)


def source(name: str, data: Path | None, bars: int, folder: Path) -> Path:
    """The sketch's file: an example, a piano piece, or the opening of a reduction in `data`."""
    if name in PIANO:
        return sketch_file(name, folder)
    if data is not None and (path := data / f"{name}.mid").exists():
        return opening(path, folder, bars)
    return EXAMPLES / name / "sketch.musicxml"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("data", nargs="?", type=Path, help="folder of reductions (*.mid)")
    parser.add_argument("--bars", type=int, default=64, help="bars of each reduction (64)")
    parser.add_argument("--piece", action="append", help="only these (repeatable)")
    parser.add_argument(
        "--for", dest="lineup", action="append", metavar="LINEUP", help="repeatable (classical, romantic, studio)"
    )
    parser.add_argument("--seconds", type=float, default=Limits().seconds, help="effort of the solver, as for a draft")
    parser.add_argument("--json", type=Path, help="add one JSON object a draft to this file")
    options = parser.parse_args()
    known = [*sorted(folder.name for folder in EXAMPLES.iterdir()), *PIECES]
    known += sorted(path.stem for path in options.data.glob("*.mid")) if options.data else []
    if unknown := sorted({*(options.piece or ())} - {*known}):
        parser.error(f"no piece is called {unknown[0]}; there are {', '.join(known)}")
    print(HEAD)
    rows: dict[str, list[dict[str, Any]]] = {}
    for lineup in options.lineup or LINEUPS:
        for name in options.piece or known:
            with tempfile.TemporaryDirectory() as folder:
                row = measure(source(name, options.data, options.bars, Path(folder)), lineup, options.seconds)
            row["name"] = f"{name[:12]} {lineup}"
            rows.setdefault("to report" if lineup in REPORTED else "asked", []).append(row)
            print(line(row["name"], row), flush=True)
            if options.json:
                with options.json.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(row) + "\n")
    for said, own in rows.items():
        print(f"\n{said}: {len(own)} drafts")
        print("\n".join(summary(own)))


if __name__ == "__main__":
    main()
