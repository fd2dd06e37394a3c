"""Each rule on a tiny score that is fine and one that is not."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.check.tiny import Part, found, of, rules

HORN_IN_F = "<transpose><diatonic>-4</diatonic><chromatic>-7</chromatic></transpose>"
TWO_UP = "<transpose><chromatic>0</chromatic><octave-change>2</octave-change></transpose>"
STRINGS: tuple[Part, ...] = (("Violins I", "[p] C5:4"), ("Violas", "[p] E4:4"), ("Double basses", "[p] C3:4"))
WINDS = ("Flute", "Oboe", "Bassoon", "Horn", "Trumpet", "Trombone")

# rule, severity, faulty part(s), fine part(s)
CASES: list[tuple[str, str, tuple[Part, ...], tuple[Part, ...]]] = [
    ("range", "unplayable", (("Flute", "[mf] A3:4"),), (("Flute", "[mf] C4:4"),)),
    ("range", "unplayable", (("Violin", "[mf] F3:4"),), (("Violin", "[mf] G3:4"),)),
    ("range", "unplayable", (("Glockenspiel", "[mf] D3:4", TWO_UP),), (("Glockenspiel", "[mf] G3:4", TWO_UP),)),
    ("range", "risky", (("Oboe", "[mf] F6:4"),), (("Oboe", "[mf] E6:4"),)),
    ("range", "risky", (("Horn in F", "[f] C6:4", HORN_IN_F),), (("Horn in F", "[f] A5:4", HORN_IN_F),)),
    ("extension", "risky", (("Contrabass", "[mf] D1:4"),), (("Contrabass", "[mf] E1:4"),)),
    ("register", "style", (("Flute", "[fff] D4:1*4"),), (("Flute", "[f] D6:1*4"),)),
    ("one note at a time", "unplayable", (("Flute", "[mf] C5+E5:4"),), (("2 Flutes", "[mf] C5+E5:4"),)),
    ("one note at a time", "unplayable", (("Horns 1.2", "[p] C4+E4+G4:4"),), (("4 Horns", "[p] C4+E4+G4:4"),)),
    ("double stops", "unplayable", (("Solo Violin", "[mf] G3+A3:4"),), (("Solo Violin", "[mf] G3+D4:4"),)),
    ("double stops", "unplayable", (("Solo Violin", "[mf] B3+B5:4"),), (("Solo Violin", "[mf] B3+G4:4"),)),
    ("double stops", "risky", (("Solo Violin", "[mf] G3+D4+B4:4"),), (("Solo Violin", "[mf] G3+D4+B4:0.5 r:3.5"),)),
    (
        "divisi",
        "style",
        (("Violins I", "[p] C5+D5+E5+G5+B5+D6:4"), *STRINGS[1:]),
        (("Violins I", "[p] C5+E5+G5:4"), *STRINGS[1:]),
    ),
    (
        "speed",
        "unplayable",
        (("Tuba", "[mf] C3:0.125 D3:0.125 E3:0.125 F3:0.125 G3:0.125 F3:0.125 E3:0.125 D3:0.125 C3:3"),),
        (("Tuba", "[mf] C3:1 D3:1 E3:1 F3:1"),),
    ),
    ("repeated notes", "risky", (("Horn", "[mf] C4:0.16*12"),), (("Horn", "[mf] C4:0.5*8"),)),
    ("repeated notes", "unplayable", (("Horn", "[mf] C4:0.0625*32 r:2"),), (("Horn", "[mf] C4:0.5*8"),)),
    (
        "pizz",
        "unplayable",
        (("Double basses", "[mf] {pizz.} E2:0.2 F2:0.2 G2:0.2 A2:0.2 G2:0.2 F2:0.2 E2:0.2 D2:0.2 r:2"),),
        (("Double basses", "[mf] {pizz.} E2:1 F2:1 G2:1 A2:1"),),
    ),
    (
        "pizz",
        "unplayable",
        (("Violin", "[mf] A4:0.2 {pizz.} A4:0.2 r:3.5"),),
        (("Violin", "[mf] A4:1 r:1 {pizz.} A4:2"),),
    ),
    ("leap", "unplayable", (("Trumpet", "[mf] G3:2 D6:2"),), (("Trumpet", "[mf] G4:2 D5:2"),)),
    ("leap", "risky", (("Oboe", "[mf] C4:0.25 B5:0.25 r:3.5"),), (("Oboe", "[mf] C4:0.25 B4:0.25 r:3.5"),)),
    (
        "breath",
        "risky",
        (("Trumpet", "|".join(["[mf] C5:0.5*8"] * 20)),),
        (("Trumpet", "|".join(["[mf] C5:0.5*6 r:1"] * 20)),),
    ),
    (
        "breath",
        "unplayable",
        (("Oboe", "[p] C5:0.5( D5:0.5*7|" + "|".join(["C5:0.5 D5:0.5"] * 240)),),
        (("Oboe", "[p] C5:0.5( D5:0.5*6 E5:0.5)'|" * 8 + "C5:4"),),
    ),
    ("held note", "unplayable", (("Flute", "[p] C5:4~" + "|C5:4^~" * 18 + "|C5:4^"),), (("Flute", "[p] C5:4"),)),
    (
        "endurance",
        "risky",
        (("Trumpet", "[mf] " + "|".join(["C5:1*4"] * 40)),),
        (("Trumpet", "[mf] C5:1*4|r:4|C5:1*4"),),
    ),
    (
        "endurance",
        "risky",
        (("Trumpet", "[ff] " + "|".join(["A5:1*4"] * 8)),),
        (("Trumpet", "[ff] A5:1*4|r:4|r:4|A5:1*4"),),
    ),
    (
        "harp hands",
        "unplayable",
        (("Harp", "[mf] C3+D3+E3+F3+G3+A3+B3+C4+D4:4"),),
        (("Harp", "[mf] C3+E3+G3+C4+E4+G4+C5+E5:4"),),
    ),
    ("harp hands", "unplayable", (("Harp", "[mf] C2+C4+C6:4"),), (("Harp", "[mf] C3+C4:4"),)),
    ("harp pedals", "unplayable", (("Harp", "[mf] G4+G#4+A4:4"),), (("Harp", "[mf] G4+B4+D5:4"),)),
    (
        "harp pedals",
        "unplayable",
        (("Harp", "[mf] C4+D4+E4+F4+G4+A4+B4:0.25 C#4+D#4+F#4+G#4+A#4:0.25 r:3.5"),),
        (("Harp", "[mf] C4+D4+E4+F4+G4+A4+B4:1 r:3|r:4|r:4|C#4+D#4+F#4+G#4+A#4:4"),),
    ),
    ("hands", "unplayable", (("Piano", "[mf] C2+C4+C6:4"),), (("Piano", "[mf] C4+E4+G4+C5+E5:4"),)),
    ("timpani", "unplayable", (("Timpani", "[mf] Eb2+F2+Gb2:4"),), (("Timpani", "[mf] C3+G2:4"),)),
    (
        "timpani",
        "unplayable",
        (("Timpani", "[mf] Eb2:0.25 F2:0.25 Gb2:0.25 Ab2:0.25 Eb2:0.25 F2:0.25 Gb2:0.25 Ab2:0.25 r:2"),),
        (("Timpani", "[mf] D2:0.25 A2:0.25 D3:0.25 F3:0.25 r:3"),),
    ),
    ("mallets", "unplayable", (("Xylophone", "[f] C5+D5+E5+F5+G5:4"),), (("Xylophone", "[f] C5+E5:4"),)),
    (
        "percussion",
        "unplayable",
        (("Percussion 1", "[f] !triangle+!tam-tam+!snare:1 r:3"),),
        (("Percussion 1", "[f] !triangle+!snare:1 r:3"),),
    ),
    (
        "percussion",
        "risky",
        (("Percussion 1", "[f] !triangle:1 !tam-tam:1 r:2"),),
        (("Percussion 1", "[f] !triangle:1 r:3|r:4|!tam-tam:1 r:3"),),
    ),
    (
        "low interval",
        "style",
        (("Bassoon 1", "[f] E2:4"), ("Bassoon 2", "[f] C2:4")),
        (("Bassoon 1", "[f] E3:4"), ("Bassoon 2", "[f] C3:4")),
    ),
    (
        "balance",
        "style",
        (
            ("Horn", "[f] C4:1 D4:1 E4:1 F4:1"),
            *((f"Trombone {k}", f"[f] {pitch}:4") for k, pitch in enumerate(("C4", "A3", "F3"), 1)),
        ),
        (
            ("Horn", "[f] C4:1 D4:1 E4:1 F4:1"),
            *((f"Trombone {k}", f"[p] {pitch}:4") for k, pitch in enumerate(("C4", "A3", "F3"), 1)),
        ),
    ),
    (
        "family chord",
        "style",
        (
            *((f"Trumpet {k}", f"[f] {pitch}:4") for k, pitch in enumerate(("C5", "G4", "C4", "G3"), 1)),
            ("Violas", "[f] E4:4"),
        ),
        (
            *((f"Trumpet {k}", f"[f] {pitch}:4") for k, pitch in enumerate(("C5", "G4", "E4", "C4"), 1)),
            ("Violas", "[f] E4:4"),
        ),
    ),
    (
        "doubling",
        "style",
        (("Oboe", "[mf] C4:1 D4:1 E4:1 F4:1"), ("Bassoon", "[mf] C5:1 D5:1 E5:1 F5:1")),
        (("Oboe", "[mf] C5:1 D5:1 E5:1 F5:1"), ("Bassoon", "[mf] C4:1 D4:1 E4:1 F4:1")),
    ),
    (
        "parallels",
        "style",
        (("Oboe", "[mf] G5:1 A5:1 G5:1 E5:1"), ("Clarinet", "[mf] C5:1 D5:1 E5:1 C5:1")),
        (("Oboe", "[mf] E5:1 F5:1 G5:1 E5:1"), ("Clarinet", "[mf] C5:1 D5:1 E5:1 C5:1")),
    ),
    (
        "parallels",
        "style",
        (("Oboe", "[mf] E5:1 C5:1 D5:1 F5:1"), ("Clarinet", "[mf] C4:1 C4:1 D4:1 A4:1")),
        (("Oboe", "[mf] C5:1 D5:1 E5:1 F5:1"), ("Clarinet", "[mf] C4:1 D4:1 E4:1 F4:1")),
    ),
    (
        "mute",
        "unplayable",
        (("Trumpet", "[p] C5:2 {con sord.} C5:2"),),
        (("Trumpet", "[p] C5:2 r:2|r:4|r:4|{con sord.} C5:4"),),
    ),
    (
        "mute",
        "style",
        (("Violins I", "{con sord.} [p] C5:4|[ff] C5:4"),),
        (("Violins I", "{con sord.} [p] C5:4|r:4|r:4|{senza sord.} [ff] C5:4"),),
    ),
    (
        "instrument change",
        "unplayable",
        (("Flute 3", "[p] C5:2 {muta in Piccolo} D6:2"),),
        (("Flute 3", "[p] C5:2 r:2|{muta in Piccolo} " + "r:4|" * 8 + "D6:4"),),
    ),
    (
        "texture",
        "style",
        tuple((f"{name} {k}", "[pp] " + "|".join(["C4:4"] * 10)) for name in WINDS for k in (1, 2)),
        tuple((f"{name} {k}", "[ff] " + "|".join(["C4:4"] * 10)) for name in WINDS for k in (1, 2)),
    ),
]


@pytest.mark.parametrize(
    ("rule", "severity", "faulty", "fine"), CASES, ids=[f"{c[0]}-{i}" for i, c in enumerate(CASES)]
)
def test_a_rule_finds_its_fault_and_passes_what_is_fine(
    rule: str, severity: str, faulty: tuple[Part, ...], fine: tuple[Part, ...], tmp_path: Path
) -> None:
    assert rules(found(tmp_path, *faulty)).get(rule) == severity
    assert rule not in rules(found(tmp_path, *fine))


def test_an_entry_after_two_bars_rest_wants_a_dynamic(tmp_path: Path) -> None:
    faulty = found(tmp_path, ("Oboe", "[p] C5:4|r:4|r:4|C5:4"))
    assert [(f.bar, f.severity) for f in of(faulty, "missing dynamic")] == [("4", "style")]
    assert of(found(tmp_path, ("Oboe", "[p] C5:4|r:4|r:4|[mf] C5:4")), "missing dynamic") == []


def test_a_score_without_dynamics_has_one_finding_for_it(tmp_path: Path) -> None:
    report = found(tmp_path, ("Oboe", "C5:4|r:4|r:4|C5:4"), ("Bassoon", "C3:4|r:4|r:4|C3:4"))
    assert [(f.part, f.message) for f in of(report, "missing dynamic")] == [("", "no dynamics in the whole score")]


def test_enharmonic_spelling_is_the_harps_escape(tmp_path: Path) -> None:
    """G and G sharp at once: the G sharp goes on the A string as A flat (E. Volpé Bligh, Writing for the Pedal Harp)."""
    assert of(found(tmp_path, ("Harp", "[mf] G4+G#4:4")), "harp pedals") == []


def test_four_close_timpani_notes_want_four_drums(tmp_path: Path) -> None:
    """E flat, F, G flat, A flat in quick turn: two drums reach them (datimp.com, Timpani Writing 101)."""
    music = "[f] " + "Eb2:0.25 F2:0.25 Gb2:0.25 Ab2:0.25 " * 4
    assert [f.severity for f in of(found(tmp_path, ("Timpani", music)), "timpani")] == ["unplayable"]


def test_a_student_has_less(tmp_path: Path) -> None:
    score = (("Flute", "[mf] G6:4"),)
    assert rules(found(tmp_path, *score)) == {}
    assert rules(found(tmp_path, *score, level="student")) == {"range": "risky"}


def test_a_chord_throughout_is_said_once(tmp_path: Path) -> None:
    report = found(tmp_path, ("Oboe", "[p] " + "|".join(["C5+E5:4"] * 8)))
    assert len(of(report, "one note at a time")) == 1


def test_without_a_tempo_speed_alone_makes_nothing_unplayable(tmp_path: Path) -> None:
    run = ("Tuba", "[mf] C3:0.125 D3:0.125 E3:0.125 F3:0.125 G3:0.125 F3:0.125 E3:0.125 D3:0.125 C3:3")
    assert rules(found(tmp_path, run, tempo=0))["speed"] == "risky"
