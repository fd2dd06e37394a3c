"""Each threshold of constraints/limits.toml a little beyond and just met; what looks like a fault and is none.

A quarter lasts a second, so that lengths are seconds.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.check.tiny import Part, found

FINE = ""
BASS_CLEF, TREBLE_CLEF = "<clef><sign>F</sign><line>4</line></clef>", "<clef><sign>G</sign><line>2</line></clef>"
STRINGS: tuple[Part, ...] = (("Violas", "[p] E4:4"), ("Double basses", "[p] C3:4"))
TROMBONES: tuple[Part, ...] = tuple(
    (f"Trombone {k}", f"[f] {pitch}:4") for k, pitch in enumerate(("C4", "A3", "F3"), 1)
)
EIGHTHS = "C5:0.5*8"


def alone(name: str, music: str, *more: str) -> tuple[Part, ...]:
    return ((name, music, "".join(more)),)


def bars(music: str, count: int) -> str:
    return "|".join([music] * count)


def brass(length: str, count: int) -> tuple[Part, ...]:
    """Trumpets on root and fifth, the third in the violas."""
    own = tuple((f"Trumpet {k}", f"[f] {p}:{length}") for k, p in enumerate(("C5", "G4", "C4", "G3")[:count], 1))
    return (*own, ("Violas", f"[f] E4:{length}"))


def winds(count: int, bars_: int) -> tuple[Part, ...]:
    names = ("Flute", "Oboe", "Bassoon", "Horn", "Trumpet", "Trombone", "Clarinet", "Tuba")
    return tuple((name, "[pp] " + bars("C4:4", bars_)) for name in names[:count])


# rule -> (severity, parts): what lies a little beyond a threshold, and what just meets it.
EDGES: dict[str, list[tuple[str, tuple[Part, ...]]]] = {
    "range": [
        ("risky", alone("Flute", "[f] D#7:4")),
        ("unplayable", alone("Flute", "[f] E7:4")),
        ("risky", alone("Violin", "[f] C#8:4")),
        ("unplayable", alone("Violin", "[f] D8:4")),
        (FINE, alone("Violin", "[f] D8:4o")),
        ("risky", alone("Trombone", "[f] G1:4")),
        ("unplayable", alone("Trombone", "[f] F#1:4")),
        ("unplayable", alone("Horn", "[f] F1:4", TREBLE_CLEF)),
        ("risky", alone("Horn", "[f] F1:4", BASS_CLEF)),
        ("unplayable", alone("Cello", "[f] G6:4", BASS_CLEF)),
        ("risky", alone("Cello", "[f] G6:4", TREBLE_CLEF)),
        ("unplayable", alone("Cello", "[f] E7:4", TREBLE_CLEF)),
    ],
    "register": [
        ("style", alone("Flute", "[fff] D4:2 D6:2")),
        (FINE, alone("Flute", "[fff] D4:1 D6:3")),
        (FINE, alone("Flute", "[f] D4:4")),
        (FINE, (("Flute", "[fff] D4:4"), ("Violin", "[fff] D5:4"))),
        ("style", alone("Oboe", "[pp] D4:4")),
        ("style", (("Oboe", "[pp] D4:4"), ("Violin", "[pp] D5:4"))),
        (FINE, alone("Oboe", "[mp] D4:4")),
    ],
    "extension": [
        (FINE, alone("Contrabass", "[mf] E1:4")),
        ("risky", alone("Contrabass", "[mf] C1:4")),
        (FINE, alone("Contrabass", "[mf] B0:4")),
    ],
    "one note at a time": [
        ("unplayable", alone("2 Oboes", "[p] {1.} C5+E5:4")),
        (FINE, alone("2 Oboes", "[p] {1.} C5:4|{a2} C5+E5:4")),
        (FINE, alone("Piano", "[p] C4+E4+G4:4")),
    ],
    "double stops": [
        ("risky", alone("Solo Violin", "[mf] A3+Bb4:4")),
        ("risky", alone("Solo Violin", "[mf] A3+C#5:4")),
        ("unplayable", alone("Solo Violin", "[mf] A3+D5:4")),
        (FINE, alone("Solo Violin", "[mf] G4+A5:4")),
        (FINE, alone("Solo Violin", "[mf] A3+D5:4o")),
        (FINE, alone("Solo Violin", "[mf] G3+D4+B4:1 r:3")),
        ("risky", alone("Solo Violin", "[mf] G3+D4+B4:1.1 r:2.9")),
        (FINE, alone("Solo Violin", "[mf] {pizz.} G3+D4+B4:4")),
        ("unplayable", alone("Solo Violin", "[mf] G3+D4+A4+E5+B5:4")),
        (FINE, alone("Solo Cello", "[mf] C3+C#4:4")),
    ],
    "divisi": [
        (FINE, (("Violins I", "[p] C5+E5+G5+C6:4"), *STRINGS)),
        ("style", (("Violins I", "[p] C5+E5+G5+B5+C6:4"), *STRINGS)),
    ],
    "speed": [
        (FINE, alone("Tuba", "[f] C3:0.12 D3:0.12 E3:0.12 F3:0.12")),
        ("risky", alone("Tuba", "[f] C3:0.11 D3:0.11 E3:0.11 F3:0.11")),
        ("risky", alone("Tuba", "[f] " + "C3:0.08 D3:0.08 E3:0.08 F3:0.08 " * 2)),
        ("unplayable", alone("Tuba", "[f] " + "C3:0.07 D3:0.07 E3:0.07 F3:0.07 " * 2)),
        ("risky", alone("Tuba", "[f] C3:0.07 D3:0.07 E3:0.07 F3:0.07 r:3")),
        (FINE, alone("Tuba", "[f] " + "C3:0.07 D3:0.07 " * 4)),
        (FINE, alone("Tuba", "[f] C3:0.07 D3:0.07 r:0.2 E3:0.07 F3:0.07")),
    ],
    "repeated notes": [
        (FINE, alone("Horn", "[f] C4:0.11*8")),
        ("risky", alone("Horn", "[f] C4:0.1*8")),
        ("unplayable", alone("Horn", "[f] C4:0.065*8")),
        ("risky", alone("Violin", "[f] A4:0.04*16 r:3")),
    ],
    "pizz": [
        (FINE, alone("Double bass", "[f] {pizz.} " + "E2:0.21 F2:0.21 G2:0.21 A2:0.21 " * 2)),
        ("risky", alone("Double bass", "[f] {pizz.} " + "E2:0.14 F2:0.14 G2:0.14 A2:0.14 " * 2)),
        ("unplayable", alone("Double bass", "[f] {pizz.} " + "E2:0.12 F2:0.12 G2:0.12 A2:0.12 " * 2)),
        (FINE, alone("Violin", "[f] A4:0.5 {pizz.} A4:0.5 r:3")),
        ("risky", alone("Violin", "[f] A4:0.4 {pizz.} A4:0.5 r:3")),
        ("unplayable", alone("Violin", "[f] A4:0.1 {pizz.} A4:0.5 r:3")),
        ("risky", alone("Violin", "[f] {pizz.} A4:0.4 {arco} A4:0.5 r:3")),
        (FINE, (("Violins I", "[p] {div.} A4:0.1 {pizz.} A4:0.5 r:3"), *STRINGS)),
        ("unplayable", (("Violins I", "[p] {div.} A4:1 {unis.} A4:0.1 {pizz.} A4:0.5 r:2"), *STRINGS)),
    ],
    "leap": [
        (FINE, alone("Trumpet", "[f] G3:2 B4:2")),
        ("risky", alone("Trumpet", "[f] G3:2 C5:2")),
        ("risky", alone("Trumpet", "[f] G3:0.25 B4:0.25 r:3")),
        (FINE, alone("Trumpet", "[f] G3:0.25 A4:0.25 r:3")),
        ("risky", alone("Trumpet", "[f] G3:2 C#6:2")),
        ("unplayable", alone("Trumpet", "[f] G3:2 D6:2")),
        (FINE, alone("Trumpet", "[f] G3:1 r:1 D6:2")),
    ],
    "breath": [
        (FINE, alone("Oboe", "[mf] " + bars(EIGHTHS, 7))),
        ("risky", alone("Oboe", "[mf] " + bars(EIGHTHS, 8))),
        (FINE, alone("Oboe", "[mf] " + bars(EIGHTHS, 4) + "|C5:0.5*6 r:1|" + bars(EIGHTHS, 6))),
        ("risky", alone("Oboe", "[mf] " + bars(EIGHTHS, 4) + "|C5:0.5*6 C5:0.1 r:0.9|" + bars(EIGHTHS, 6))),
        (FINE, alone("Oboe", "[mf] " + bars(EIGHTHS, 4) + "|C5:0.5*6 C5:0.1 r:0.9|" + bars(EIGHTHS, 4))),
        (FINE, alone("Flute", "[mf] " + bars(EIGHTHS, 4) + "|r:4")),
        ("risky", alone("Flute", "[mf] " + bars(EIGHTHS, 5) + "|r:4")),
        (FINE, alone("Flute", "[mf] " + bars(EIGHTHS, 3) + "|C5:0.5*7 C5:0.5'|" + bars(EIGHTHS, 3))),
        (FINE, alone("Flute", "[mf] " + bars(EIGHTHS, 3) + "|C5:0.5*7 C5:0.5@|" + bars(EIGHTHS, 3))),
        (FINE, alone("Flute", "[mf] " + bars(EIGHTHS, 3) + "|C5:0.5*6 C5:1|" + bars(EIGHTHS, 3))),
        ("risky", alone("Flute", "[mf] " + bars(EIGHTHS, 3) + "|C5:0.5*6 C5:1(|C5:0.5) C5:0.5*7|" + bars(EIGHTHS, 2))),
        ("risky", alone("Flute", "[ff] " + bars(EIGHTHS, 3) + "|r:4")),
        ("risky", alone("Flute", "[mf] " + bars(EIGHTHS, 12) + "|r:4")),
        ("unplayable", alone("Flute", "[mf] " + bars(EIGHTHS, 13) + "|r:4")),
        (FINE, alone("2 Flutes", "[mf] " + bars(EIGHTHS, 13) + "|r:4")),
    ],
    "held note": [
        (FINE, alone("Flute", "[mf] C5:4~|C5:4^~|C5:4^")),
        ("risky", alone("Flute", "[mf] C5:4~|C5:4^~|C5:4^~|C5:1^ r:3")),
        ("risky", alone("Flute", "[mf] C5:4~|" + bars("C5:4^~", 6) + "|C5:2^ r:2")),
        ("unplayable", alone("Flute", "[mf] C5:4~|" + bars("C5:4^~", 6) + "|C5:3^ r:1")),
    ],
    "endurance": [
        (FINE, alone("Trumpet", "[mf] " + bars("C5:1*3 C5:0.6 r:0.4", 16))),
        ("risky", alone("Trumpet", "[mf] " + bars("C5:1*3 C5:0.8 r:0.2", 16))),
        (FINE, alone("Trumpet", "[mf] " + bars("C5:1*3 C5:0.8 r:0.2", 13))),
        (FINE, alone("Trumpet", "[f] " + bars("A5:1*4", 3))),
        ("risky", alone("Trumpet", "[f] " + bars("A5:1*4", 3) + "|A5:1 r:3")),
        (FINE, alone("Trumpet", "[mf] " + bars("A5:1*4", 3) + "|A5:1 r:3")),
        ("risky", alone("Trumpet", "[f] " + bars("A5:1*4", 2) + "|A5:2 r:2|" + bars("A5:1*4", 1))),
        (FINE, alone("Trumpet", "[f] " + bars("A5:1*4", 2) + "|[mf] A5:4|[f] " + bars("A5:1*4", 2))),
        (FINE, alone("Trumpet", "[f] " + bars("A5:1*4", 2) + "|A5:1 r:3|" + bars("A5:1*4", 2))),
    ],
    "harp hands": [
        (FINE, alone("Harp", "[mf] E2+G#3+C5:4")),
        ("risky", alone("Harp", "[mf] E2+A3+D5:4")),
        (FINE, alone("Harp", "[mf] E2+A3+D5:4%")),
        ("unplayable", alone("Harp", "[mf] E2+C4+A5:4")),
        ("risky", alone("Harp", "[mf] E2+C4+A5:4%")),
        ("unplayable", alone("Harp", "[mf] C3+D3+E3+F3+G3+C5:4")),
        (FINE, alone("Harp", "[mf] _C3+_D3+_E3+_F3+C4:4")),
        ("risky", alone("Harp", "[mf] _C3+_D3+_E3+_F3+_G3+C4:4")),
    ],
    "hands": [
        (FINE, alone("Piano", "[mf] C3+D3+E3+F3+G3+C4+D4+E4+F4+G4:4")),
        ("unplayable", alone("Piano", "[mf] C3+D3+E3+F3+G3+A3+C4+D4+E4+F4+G4:4")),
        (FINE, alone("Organ", "[mf] C2+C4+C6:4")),
    ],
    "harp pedals": [
        (FINE, alone("Harp", "[mf] A3+Bb3:4")),
        # C sharp against D natural can only go on the C string; B natural keeps the C from being a B sharp.
        (FINE, alone("Harp", "[mf] B3+C4+D4:0.6 B3+C#4+D4:1")),
        ("risky", alone("Harp", "[mf] B3+C4+D4:0.5 B3+C#4+D4:1")),
        ("unplayable", alone("Harp", "[mf] B3+C4+D4:0.1 B3+C#4+D4:1")),
        # two pedals of one foot after one another, of two feet at once
        (FINE, alone("Harp", "[mf] B3+C4+D4+E4+F4:1.1 B3+C#4+D#4+E4+F4:1")),
        ("risky", alone("Harp", "[mf] B3+C4+D4+E4+F4:0.8 B3+C#4+D#4+E4+F4:1")),
        (FINE, alone("Harp", "[mf] B3+C4+D4+E4+F4+G4:0.7 B3+C#4+D4+E4+F#4+G4:1")),
    ],
    "timpani": [
        (FINE, alone("Timpani", "[f] D2:2 E2:2")),
        ("risky", alone("Timpani", "[f] D2:1.9 E2:2")),
        ("unplayable", alone("Timpani", "[f] D2:0.5 E2:2")),
        (FINE, alone("Timpani", "[f] D2:0.5 Bb2:2")),
        ("unplayable", alone("Timpani", "[f] D2+E2:4")),
        ("unplayable", alone("Timpani", "[f] D2+Bb2+G3:4")),
    ],
    "mallets": [
        (FINE, alone("Xylophone", "[f] C5+G6:4")),
        ("risky", alone("Xylophone", "[f] C5+F6+A6:4")),
        ("risky", alone("Xylophone", "[f] C5+E6+G6+A6:4")),
        ("unplayable", alone("Xylophone", "[f] C5+F6+G6+A6:4")),
        ("unplayable", alone("Xylophone", "[f] C5+D5+E5+A6:4")),
    ],
    "percussion": [
        (FINE, alone("Percussion 1", "[f] !triangle:1 r:2 !tam-tam:1")),
        ("risky", alone("Percussion 1", "[f] !triangle:1 r:1.9 !tam-tam:1")),
        ("risky", alone("Percussion 1", "[f] !triangle:1 r:0.4 !tam-tam:1 r:2 !snare:1")),
        ("unplayable", alone("Percussion 1", "[f] !triangle:1 r:0.3 !tam-tam:1 r:2 !snare:1")),
        (FINE, alone("Percussion 1", "[f] !triangle:1 !triangle+!snare:1 r:2")),
        (FINE, alone("Drum set", "[f] !triangle:1 !tam-tam:1 !snare:1 r:1")),
    ],
    "low interval": [
        (FINE, (("Bassoon 1", "[mf] C3:4"), ("Bassoon 2", "[mf] G#2:4"))),
        ("style", (("Bassoon 1", "[mf] B2:4"), ("Bassoon 2", "[mf] G2:4"))),
        ("style", (("Bassoon 1", "[f] C3:4"), ("Bassoon 2", "[f] G#2:4"))),
        (FINE, (("Bassoon 1", "[mf] B2:1 r:3"), ("Bassoon 2", "[mf] G2:4"))),
        ("style", (("Bassoon 1", "[mf] B2:1.5 r:2.5"), ("Bassoon 2", "[mf] G2:4"))),
        (FINE, (("Bassoon 1", "[mf] B2:4"), ("Timpani", "[mf] G2:4"))),
        # a fifth a degree too low: fine as root and fifth, not as third and seventh of a root that would lie far below
        (FINE, (("Tuba", "[mf] G#1:4"), ("Trombone", "[mf] D#2:4"), ("Bassoon", "[mf] B2:4"))),
        ("style", (("Tuba", "[mf] G#1:4"), ("Trombone", "[mf] D#2:4"), ("Bassoon", "[mf] B2:4"), ("Horn", "[mf] E3:4"))),
    ],
    "balance": [
        (FINE, (("Horn", "[f] C4:2 D4:2"), *TROMBONES)),
        ("style", (("Horn", "[f] C4:1 D4:1 E4:2"), *TROMBONES)),
        (FINE, (("Horn", "[f] C4:0.5 D4:0.5 E4:0.5 r:2.5"), *TROMBONES)),
        (FINE, (("Flute", "[f] C6:1 D6:1 E6:1 F6:1"), *TROMBONES)),
        (FINE, (("Horn", "C4:1 D4:1 E4:1 F4:1"), *TROMBONES)),
    ],
    "family chord": [
        ("style", brass("1", 4)),
        (FINE, brass("0.9", 4)),
        (FINE, brass("1", 3)),
        ("style", (*brass("1.2", 4), ("Flute", "[f] C6:0.6 G5:0.6"))),
        (FINE, (*brass("1.2", 4), ("Flute", "[f] C6:0.6 A5:0.6"))),
    ],
    "doubling": [
        (FINE, (("Oboe", "[mf] C4:1 D4:1 E4:1 r:1"), ("Bassoon", "[mf] C5:1 D5:1 E5:1 r:1"))),
        (FINE, (("Oboe", "[mf] C4:1*4"), ("Bassoon", "[mf] C5:1*4"))),
    ],
    "parallels": [
        ("style", (("Oboe", "[mf] G5:0.2 A5:0.2 r:3"), ("Clarinet", "[mf] C5:0.2 D5:0.2 r:3"))),
        ("style", (("Oboe", "[mf] C6:1 D6:1 r:2"), ("Clarinet", "[mf] F5:1 G5:1 r:2"))),
        (FINE, (("Oboe", "[mf] G5:0.1 A5:0.1 r:3"), ("Clarinet", "[mf] C5:0.1 D5:0.1 r:3"))),
        (FINE, (("Oboe", "[mf] G5:1 r:1 A5:1 r:1"), ("Clarinet", "[mf] C5:1 r:1 D5:1 r:1"))),
        (FINE, (("Oboe", "[mf] G5:2 D5:2"), ("Clarinet", "[mf] C4:2 G4:2"))),
        (FINE, (("Oboe", "[mf] C5:2 D5:2"), ("Clarinet", "[mf] G4:2 A4:2"))),
        (FINE, (("Oboe", "[mf] G5:2 G5:2"), ("Clarinet", "[mf] C5:2 C5:2"))),
    ],
    "mute": [
        (FINE, alone("Trumpet", "[p] C5:1 r:3|{con sord.} C5:4")),
        ("risky", alone("Trumpet", "[p] C5:1.1 r:2.9|{con sord.} C5:4")),
        ("risky", alone("Trumpet", "[p] C5:3.1 r:0.9|{con sord.} C5:4")),
        ("unplayable", alone("Trumpet", "[p] C5:3.3 r:0.7|{con sord.} C5:4")),
        (FINE, alone("Trumpet", "[p] {con sord.} C5:2 r:2|{senza sord.} C5:4")),
        ("risky", alone("Trumpet", "[p] {con sord.} C5:2.1 r:1.9|{senza sord.} C5:4")),
        (FINE, alone("Trumpet", "[p] C5:3.5 {mute on} r:0.5|C5:4")),
        (FINE, alone("2 Trumpets", "[p] C5:4|{con sord.} C5:4")),
        (FINE, alone("Trumpet", "{con sord.} [f] C5:4")),
        ("style", alone("Trumpet", "{con sord.} [ff] C5:4")),
    ],
    "instrument change": [
        (FINE, alone("Flute 3", "[p] C5:1 r:3|r:4|r:1 {muta in Piccolo} D6:3")),
        ("risky", alone("Flute 3", "[p] C5:1.1 r:2.9|r:4|r:1 {muta in Piccolo} D6:3")),
        ("risky", alone("Flute 3", "[p] C5:2.5 r:1.5|{muta in Piccolo} D6:4")),
        ("unplayable", alone("Flute 3", "[p] C5:2.6 r:1.4|{muta in Piccolo} D6:4")),
    ],
    "texture": [
        ("style", winds(8, 8)),
        (FINE, winds(8, 7)),
        (FINE, winds(7, 8)),
        (FINE, tuple((part[0], "[pp] " + bars("C4:4|r:4", 6)) for part in winds(8, 1))),
    ],
    "missing dynamic": [
        ("style", (("Oboe", "[p] C5:4|r:4|r:4|C5:4"),)),
        (FINE, (("Oboe", "[p] C5:4|C5:4|C5:4|r:4|C5:4"),)),
        (FINE, (("Oboe", "[p] C5:4|r:4|r:4|C5:1 [mf] C5:2.5 r:0.5"),)),
        ("style", (("Oboe", "[p] C5:4|r:4|r:4|C5:1.5 [mf] C5:2.5"),)),
        (FINE, (("Oboe", "[p] C5:4|r:4|r:4|< C5:4 ="),)),
    ],
}  # fmt: skip


@pytest.mark.parametrize(
    ("rule", "severity", "parts"),
    [
        pytest.param(rule, severity, parts, id=f"{rule}-{number}")
        for rule, rows in EDGES.items()
        for number, (severity, parts) in enumerate(rows)
    ],
)
def test_a_threshold_divides(rule: str, severity: str, parts: tuple[Part, ...], tmp_path: Path) -> None:
    report = found(tmp_path, *parts, tempo=60)
    worst = next((finding.severity for finding in report.findings if finding.rule == rule), FINE)
    assert worst == severity, [str(finding) for finding in report.findings]


@pytest.mark.parametrize(
    ("rule", "parts"),
    [
        ("speed", alone("Tuba", "[f] C3:0.14 D3:0.14 E3:0.14 F3:0.14")),
        ("repeated notes", alone("Horn", "[f] C4:0.14*8")),
        ("held note", alone("Flute", "[mf] C5:4~|C5:4^")),
        ("breath", alone("Oboe", "[mf] " + bars(EIGHTHS, 5))),
        ("endurance", alone("Trumpet", "[f] " + bars("A5:1*4", 2))),
    ],
)
def test_a_student_is_told_sooner(rule: str, parts: tuple[Part, ...], tmp_path: Path) -> None:
    said = {level: found(tmp_path, *parts, tempo=60, level=level).findings for level in ("professional", "student")}
    told = {
        level: {finding.severity for finding in findings if finding.rule == rule} for level, findings in said.items()
    }
    assert told == {"professional": set(), "student": {"risky"}}


SAID = [
    (alone("Horn", "[f] F1:4", BASS_CLEF), "F1 sounding is out of range: old notation, meant an octave higher?", "B1"),
    (alone("Cello", "[f] G6:4", TREBLE_CLEF), "G6 sounding is out of range: old notation, meant an octave lower?", "C6"),
    (alone("Flute", "[f] B2:4"), "B2 sounding is below the lowest note of the flute, B3", "B3"),
    (alone("Flute", "[f] G7:4"), "G7 sounding is above the highest note of the flute, D7", "D7"),
    (alone("Oboe", "[mf] F6:4"), "F6 sounding is above the safe range of the oboe, which ends at E6", "E6"),
    (alone("Trombone", "[mf] D2:4"), "D2 sounding is below the safe range of the trombone, which ends at E2", "E2"),
    (alone("Flute", "[fff] D4:4"), "D4 at fff: the low register of the flute plays no louder than mf", "mf"),
    (alone("Oboe", "[pp] D4:4"), "D4 at pp: the low register of the oboe plays no softer than mf", "mf"),
    (alone("Oboe", "[p] C5+E5:4"), "C5 E5 at once for one player", "1"),
    (alone("2 Oboes", "[p] C5+E5+G5:4"), "C5 E5 G5 at once for 2 players", "2"),
    (alone("Violin", "[p] A4:0.2 {pizz.} A4:0.5 r:3"), "0.2 s to change to pizzicato", "0.5 s"),
    (alone("Violin", "[p] {pizz.} A4:0.2 {arco} A4:0.5 r:3"), "0.2 s to change to the bow", "0.5 s"),
    (alone("Trumpet", "[p] C5:1.5 r:2.5|{con sord.} C5:4"), "2.5 s to put the mute on", "3 s"),
    (alone("Flute 3", "[p] C5:2 r:2|{muta in Piccolo} D6:4"), "2.0 s to change from Flute to Piccolo", "8 s"),
]  # fmt: skip


@pytest.mark.parametrize(("parts", "message", "limit"), SAID, ids=[message for _, message, _ in SAID])
def test_a_finding_says_what_and_against_which_limit(
    parts: tuple[Part, ...], message: str, limit: str, tmp_path: Path
) -> None:
    assert [(finding.message, finding.limit) for finding in found(tmp_path, *parts, tempo=60).findings] == [
        (message, limit)
    ]
