"""Tiny MusicXML scores written by hand in a line of text a part, for one rule each.

A part is (name, music) or (name, music, further XML for its attributes). Music: tokens apart by blanks, bars by "|".
`C5:1` a note of one quarter, `C5+E5:2` a chord, `r:4` a rest, `[p]` a dynamic, `{pizz.}` words; after the length `(` and
`)` begin and end a slur, `~` and `^` a tie, `'` is a breath mark, `@` a fermata, `%` an arpeggio, `o` a harmonic; `_` in front
of a note puts it on the second staff. `!triangle:1` is a stroke on that instrument. `<` and `>` begin a hairpin, `=` ends it.
A token times n: `C5:0.5*8`.
"""

from __future__ import annotations

import re
from pathlib import Path

from autoorch.check import CheckReport, Finding, check

DIVISIONS = 480
_NOTE = re.compile(r"^(?P<what>.+):(?P<length>[\d.]+)(?P<signs>[()~^'@%o]*?)(?:\*(?P<times>\d+))?$")
_PITCH = re.compile(r"^([A-G])(#|b)?(\d)$")
_WEDGES = {"<": "crescendo", ">": "diminuendo", "=": "stop"}
_SIGNS = {
    "'": "<articulations><breath-mark/></articulations>",
    "@": "<fermata/>",
    "%": "<arpeggiate/>",
    "o": "<technical><harmonic/></technical>",
}

Part = tuple[str, str] | tuple[str, str, str]


def found(folder: Path, *parts: Part, tempo: float = 120, beats: int = 4, level: str = "professional") -> CheckReport:
    """The report on a score of these parts."""
    return check(written(folder, *parts, tempo=tempo, beats=beats), level=level)


def of(report: CheckReport, rule: str) -> list[Finding]:
    return [finding for finding in report.findings if finding.rule == rule]


def rules(report: CheckReport) -> dict[str, str]:
    """Rule -> worst severity of its findings, the whole score's want of dynamics left out."""
    result: dict[str, str] = {}
    for finding in report.findings:
        if finding.rule != "missing dynamic":
            result.setdefault(finding.rule, finding.severity)
    return result


def written(folder: Path, *parts: Part, tempo: float = 120, beats: int = 4) -> Path:
    path = folder / "tiny.musicxml"
    path.write_text(document(*parts, tempo=tempo, beats=beats), encoding="utf-8")
    return path


def document(*parts: Part, tempo: float = 120, beats: int = 4) -> str:
    listed, bodies = [], []
    for number, part in enumerate(parts, 1):
        name, music, *more = part
        struck = sorted(set(re.findall(r"!([a-z-]+)", music)))
        instruments = "".join(
            f'<score-instrument id="P{number}-{word}"><instrument-name>{word}</instrument-name></score-instrument>'
            for word in struck
        )
        listed.append(f'<score-part id="P{number}"><part-name>{name}</part-name>{instruments}</score-part>')
        bars = [
            f'<measure number="{index}">{_head(index, number, beats, tempo, more)}{_bar(bar, number)}</measure>'
            for index, bar in enumerate(music.split("|"), 1)
        ]
        bodies.append(f'<part id="P{number}">{"".join(bars)}</part>')
    return (
        f'<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list>{"".join(listed)}</part-list>'
        f"{''.join(bodies)}</score-partwise>"
    )


def _head(index: int, number: int, beats: int, tempo: float, more: list[str]) -> str:
    if index > 1:
        return ""
    time = f"<time><beats>{beats}</beats><beat-type>4</beat-type></time>"
    sound = f'<sound tempo="{tempo:g}"/>' if number == 1 and tempo else ""
    return f"<attributes><divisions>{DIVISIONS}</divisions>{time}{''.join(more)}</attributes>{sound}"


def _bar(bar: str, part: int) -> str:
    marked = re.findall(r"\{[^}]*\}|\[[^\]]*\]|\S+", bar)
    return "".join(_token(token, part) for token in marked)


def _token(token: str, part: int) -> str:
    if token.startswith("["):
        return f"<direction><direction-type><dynamics><{token[1:-1]}/></dynamics></direction-type></direction>"
    if token.startswith("{"):
        return f"<direction><direction-type><words>{token[1:-1]}</words></direction-type></direction>"
    if token in _WEDGES:
        return f'<direction><direction-type><wedge type="{_WEDGES[token]}"/></direction-type></direction>'
    match = _NOTE.match(token)
    assert match, token
    heads = match["what"].split("+")
    notes = [
        _note(head, float(match["length"]), match["signs"], position > 0, part) for position, head in enumerate(heads)
    ]
    return "".join(notes) * int(match["times"] or 1)


def _note(head: str, length: float, signs: str, chord: bool, part: int) -> str:
    instrument = ""
    if head == "r":
        what = "<rest/>"
    elif head.startswith("!"):
        what = "<unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>"
        instrument = f'<instrument id="P{part}-{head[1:]}"/>'
    else:
        match = _PITCH.match(head.removeprefix("_"))
        assert match, head
        alter = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>", None: ""}[match[2]]
        what = f"<pitch><step>{match[1]}</step>{alter}<octave>{match[3]}</octave></pitch>"
    tie = "".join(f'<tie type="{kind}"/>' for sign, kind in (("^", "stop"), ("~", "start")) if sign in signs)
    slur = "".join(f'<slur type="{kind}"/>' for sign, kind in ((")", "stop"), ("(", "start")) if sign in signs)
    others = "".join(text for sign, text in _SIGNS.items() if sign in signs)
    return (
        f"<note>{'<chord/>' if chord else ''}{what}<duration>{round(length * DIVISIONS)}</duration>{tie}{instrument}"
        f"<voice>1</voice>{'<staff>2</staff>' if head[0] == '_' else ''}"
        f"<notations>{slur}{others}</notations></note>"
    )
