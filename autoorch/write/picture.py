"""The reading as a picture (SVG): notes by pitch and time, each role with its own colour and shape, each strand with its name.

The colours are those of Okabe and Ito, Color Universal Design (2008), which readers with any kind of colour blindness tell
apart; shape and label say the same without colour.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from xml.sax.saxutils import escape, quoteattr

from autoorch.roles.form import form_of
from autoorch.roles.material import full_length
from autoorch.roles.model import ROLES, Chord, Moment, Phrase, Reading
from autoorch.roles.names import key_name, short_name
from autoorch.sketch.model import Bar, Sketch

COLOURS = {
    "melody": "#D55E00",
    "counterline": "#CC79A7",
    "bass": "#0072B2",
    "pedal": "#000000",
    "inner": "#009E73",
    "figure": "#E69F00",
    "rhythm": "#56B4E9",
}
SIGNS = {
    "climax": "▲", "last": "■", "arrival": "▶", "key": "♯", "cadence": "‖", "borrowed": "◆", "leap": "↕",
    "run": "↗", "landing": "↘", "fermata": "⌢", "sudden": "!", "hit": ">",
}  # fmt: skip
WIDTH, LEFT, RIGHT = 1400, 60, 20
ACROSS = 8
"""Bars in a row."""
STEP = 4.0
"""Height of a semitone."""
HEAD, FOOT, GAP, LEGEND = 64, 24, 26, 74
FONT = "font-family='DejaVu Sans, Noto Sans, Arial, sans-serif'"


def picture(sketch: Sketch, reading: Reading) -> bytes:
    """The whole picture as UTF-8 text; the same reading gives the same bytes."""
    pickup = len(sketch.bars) > 1 and sketch.bars[0].length < full_length(sketch, sketch.bars[0])
    edges = [0, *range(ACROSS + pickup, len(sketch.bars), ACROSS), len(sketch.bars)]
    rows = [sketch.bars[a:b] for a, b in pairwise(edges)]
    body: list[str] = []
    y = LEGEND + 20.0
    for bars in rows:
        drawn, height = _system(sketch, reading, bars, y)
        body += drawn
        y += height + GAP
    title = f"{sketch.title or 'Untitled'}: {key_name(reading.key, sketch.bars[0].fifths)}, {form_of(reading.phrases)}"
    head = [
        f"<svg xmlns='http://www.w3.org/2000/svg' width='{WIDTH}' height='{y:.0f}' viewBox='0 0 {WIDTH} {y:.0f}' {FONT}>",
        f"<title>{escape(title)}</title>",
        f"<rect width='{WIDTH}' height='{y:.0f}' fill='#FFFFFF'/>",
        _text(LEFT, 24, title, 18, weight="bold"),
        *_legend(reading),
    ]
    return ("\n".join([*head, *body, "</svg>"]) + "\n").encode()


def _legend(reading: Reading) -> Iterator[str]:
    x = float(LEFT)
    there = {strand.role for strand in reading.strands}
    for role in (role for role in ROLES if role in there):
        yield from _note(role, x, 44, 26, STEP)
        names = " ".join(strand.id for strand in reading.strands if strand.role == role)
        label = f"{role} ({names})" if len(names) <= 20 else role
        yield _text(x + 34, 48, label, 12)
        x += 48 + 7.4 * len(label)
    signs = ", ".join(f"{SIGNS[kind]} {kind}" for kind in SIGNS if any(m.kind == kind for m in reading.moments))
    yield _text(LEFT, 70, f"moments: {signs}. Dynamics and characters with * are proposed.", 12)


def _system(sketch: Sketch, reading: Reading, bars: Sequence[Bar], top: float) -> tuple[list[str], float]:
    """One row of bars, and its height."""
    start, end = bars[0].onset, bars[-1].end
    full = max(end - start, 1) * ACROSS / max(1, len(bars)) if len(bars) < ACROSS else end - start
    scale = (WIDTH - LEFT - RIGHT) / full
    placed = [
        (strand, note)
        for strand in reading.strands
        for line in strand.lines
        for note in (sketch.by_id[name] for name in line.notes)
        if note.onset < end and max(note.end, note.onset + 1) > start
    ]
    pitches = [note.pitch.midi for _, note in placed] or [60]
    high, low = max(pitches) + 2, min(pitches) - 2
    base = top + HEAD
    height = (high - low) * STEP

    def across(tick: int) -> float:
        return LEFT + (min(max(tick, start), end) - start) * scale

    found = list(_staves(high, low, base, across(end)))
    for bar in bars:
        x = across(bar.onset)
        found.append(f"<path d='M{x:.1f} {base:.1f}V{base + height:.1f}' stroke='#999999' stroke-width='1'/>")
        found.append(_text(x + 3, base - 4, bar.number, 11, fill="#555555"))
    found.append(f"<path d='M{across(end):.1f} {base:.1f}V{base + height:.1f}' stroke='#999999' stroke-width='1'/>")
    for phrase in reading.phrases:
        if phrase.start < end and phrase.end > start:
            found += _phrase(
                phrase, across(phrase.start), across(phrase.end), top, base + height, phrase.start >= start
            )
    found += _chords(sketch, reading.chords, start, end, scale, top + 42)
    seen: set[str] = set()
    for strand, note in sorted(placed, key=lambda row: (row[1].onset, row[1].pitch.midi)):
        x = across(note.onset)
        y = base + (high - note.pitch.midi) * STEP
        length = max(3.0, across(note.end) - x - 1) if note.duration else 3.0
        what = f"{strand.id} {strand.role} ({strand.texture}): {note.pitch}"
        found.append(f"<g><title>{escape(what)}</title>{''.join(_note(strand.role, x, y, length, STEP))}</g>")
        if strand.id not in seen and note.onset >= start:
            seen.add(strand.id)
            found.append(_text(x, y - STEP - 1, strand.id, 10, fill=COLOURS[strand.role], weight="bold"))
    found += _leaders(reading, start, end, scale, base - 4)
    found += _entries(sketch, reading, start, end, scale, high, base)
    found += _moments(reading.moments, start, end, scale, base + height + 15)
    return found, HEAD + height + FOOT


def _staves(high: int, low: int, base: float, right: float) -> Iterator[str]:
    """A line at each C, named."""
    for midi in range(-(-low // 12) * 12, high + 1, 12):
        y = base + (high - midi) * STEP + STEP / 2
        yield f"<path d='M{LEFT} {y:.1f}H{right:.1f}' stroke='#DDDDDD' stroke-width='1'/>"
        yield _text(LEFT - 26, y + 4, f"C{midi // 12 - 1}", 10, fill="#777777")


def _phrase(phrase: Phrase, left: float, right: float, top: float, bottom: float, begins: bool) -> Iterator[str]:
    """A bracket over the phrase with what is said of it; its beginning goes through the whole row."""
    open_ = f"M{left:.1f} {bottom:.1f}V{top + 8:.1f}" if begins else f"M{left:.1f} {top + 8:.1f}"
    yield f"<path d='{open_}H{right - 3:.1f}v5' fill='none' stroke='#333333' stroke-width='1.5'/>"
    if not begins:
        yield _text(left + 4, top + 22, f"({phrase.section} {phrase.label})", 12)
        return
    star = "*" if phrase.dynamic_proposed else ""
    more = f" · {phrase.character}{'*' if phrase.character_proposed else ''}" if phrase.character else ""
    close = f" · {phrase.cadence} close" if phrase.cadence else ""
    room = max(4, int((right - left) / 6.6))
    said = f"{phrase.section} {phrase.label} · {phrase.dynamic}{star}{more}{close}"
    yield _text(left + 4, top + 22, said if len(said) <= room else said[: room - 1] + "…", 12, weight="bold")


def _chords(sketch: Sketch, chords: Sequence[Chord], start: int, end: int, scale: float, y: float) -> Iterator[str]:
    """Numerals, the key before the first one and where it changes; what has no room is left to the file."""
    key = None
    free = 0.0
    for chord in chords:
        if chord.end <= start or chord.start >= end:
            continue
        x = LEFT + (max(chord.start, start) - start) * scale
        name = chord.numeral
        if chord.key != key:
            key = chord.key
            name = f"{short_name(key, sketch.bar_at(chord.start).fifths)}: {name}"
        if name and x >= free:
            yield _text(x + 1, y, name, 11, fill="#000000")
            free = x + 6.6 * len(name) + 3


def _moments(moments: Sequence[Moment], start: int, end: int, scale: float, y: float) -> Iterator[str]:
    at: dict[int, list[Moment]] = {}
    for moment in moments:
        if start <= moment.onset < end:
            at.setdefault(moment.onset, []).append(moment)
    for onset, here in at.items():
        x = LEFT + (onset - start) * scale
        told = "; ".join(f"{m.kind} {m.strength:g} {m.what}".strip() for m in here)
        signs = "".join(SIGNS[m.kind] for m in here)
        yield f"<g><title>{escape(told)}</title>{_text(x, y, signs, 11)}</g>"


def _leaders(reading: Reading, start: int, end: int, scale: float, y: float) -> Iterator[str]:
    """Who leads, where that changes, beside the bar's number."""
    roles = {strand.id: strand.role for strand in reading.strands}
    for leader in reading.leaders if len({leader.strand for leader in reading.leaders}) > 1 else ():
        if start <= leader.start < end:
            x = LEFT + (leader.start - start) * scale
            yield _text(x + 24, y, f"{leader.strand} leads", 10, fill=COLOURS[roles[leader.strand]])


def _entries(
    sketch: Sketch, reading: Reading, start: int, end: int, scale: float, high: int, base: float
) -> Iterator[str]:
    """Over each entry of a subject a line with its number and interval."""
    for entry in reading.entries:
        notes = [note for note in map(sketch.by_id.__getitem__, entry.notes) if start <= note.onset < end]
        if not notes:
            continue
        left, right = (LEFT + (tick - start) * scale for tick in (notes[0].onset, min(end, notes[-1].end)))
        y = base + (high - max(note.pitch.midi for note in notes)) * STEP - STEP - 2
        yield f"<path d='M{left:.1f} {y + 4:.1f}v-4H{right:.1f}' fill='none' stroke='#000000' stroke-width='1'/>"
        told = f"subject {entry.subject}" + (f" {entry.interval:+}" if entry.interval else "")
        yield _text(left + 14, y - 2, told, 10)


def _note(role: str, x: float, y: float, length: float, height: float) -> Iterator[str]:
    """One note in its role's colour and shape."""
    colour = COLOURS[role]
    middle = y + height / 2
    end = x + length
    match role:
        case "melody":  # a full bar
            yield f"<rect x='{x:.1f}' y='{y - 1:.1f}' width='{length:.1f}' height='{height + 2:.1f}' rx='2' fill='{colour}'/>"
        case "bass":  # an open bar
            yield (
                f"<rect x='{x + 0.7:.1f}' y='{y - 0.3:.1f}' width='{max(1.0, length - 1.4):.1f}' height='{height + 0.6:.1f}' "
                f"fill='#FFFFFF' stroke='{colour}' stroke-width='1.8'/>"
            )
        case "counterline":  # a thin bar behind a diamond
            yield f"<rect x='{x:.1f}' y='{y + 1:.1f}' width='{length:.1f}' height='{height - 2:.1f}' fill='{colour}'/>"
            yield f"<path d='M{x:.1f} {middle:.1f}l4 -4l4 4l-4 4z' fill='{colour}'/>"
        case "pedal":  # a dashed line
            yield f"<path d='M{x:.1f} {middle:.1f}H{end:.1f}' stroke='{colour}' stroke-width='3' stroke-dasharray='6 3'/>"
        case "inner":  # a thin line with a stroke at its start
            yield f"<path d='M{x + 0.7:.1f} {y - 1:.1f}v{height + 2:.1f}M{x:.1f} {middle:.1f}H{end:.1f}' "
            yield f"stroke='{colour}' stroke-width='2' fill='none'/>"
        case "figure":  # a dot with a hairline
            yield f"<path d='M{x:.1f} {middle:.1f}H{end:.1f}' stroke='{colour}' stroke-width='1'/>"
            yield f"<circle cx='{x + 2.5:.1f}' cy='{middle:.1f}' r='2.7' fill='{colour}'/>"
        case _:  # rhythm: a triangle with a hairline
            yield f"<path d='M{x:.1f} {middle:.1f}H{end:.1f}' stroke='{colour}' stroke-width='1'/>"
            yield f"<path d='M{x:.1f} {middle + 3:.1f}l3 -6l3 6z' fill='{colour}'/>"


def _text(x: float, y: float, text: str, size: int, fill: str = "#000000", weight: str = "normal") -> str:
    return f"<text x='{x:.1f}' y='{y:.1f}' font-size='{size}' fill={quoteattr(fill)} font-weight='{weight}'>{escape(text)}</text>"
