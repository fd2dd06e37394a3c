"""The balance of a bar: who has the tune against the strongest strand near it, in the units of the rule."""

from __future__ import annotations

from autoorch.problem.draft import Choice
from autoorch.write.page.balance import balance
from tests.support.tiny import BAR, line, players, problem, strand


def choice(player: str, name: str, octave: int = 0) -> Choice:
    return Choice(player, name, (f"{name}.1",), octave, 0, BAR)


def test_tune_and_the_strongest_strand_near_it() -> None:
    data = problem(
        players("oboe", "flute", "clarinet_bb", "trumpet_bb", "trombone", "cello"),
        strand("s1", "melody", line("s1.1", "C5 D5 E5 C5")),
        strand("s2", "inner", line("s2.1", "G4 A4 B4 G4")),
        strand("s3", "bass", line("s3.1", "C3 C3 C3 C3")),
    )
    oboe, clarinet, bass = choice("oboe", "s1"), choice("clarinet_bb", "s2"), choice("cello", "s3")
    (first, *rest) = balance(data, [oboe, clarinet, bass])
    assert first is not None and first["role"] == "inner", "the bass is too far below to cover"
    assert first["tune"] > 0 and first["other"] > 0
    (doubled, *_) = balance(data, [oboe, choice("flute", "s1"), clarinet, bass])
    (brass, *_) = balance(data, [oboe, choice("trumpet_bb", "s2"), choice("trombone", "s2"), bass])
    assert doubled is not None and brass is not None
    assert doubled["tune"] > first["tune"] and doubled["other"] == first["other"]
    assert brass["tune"] == first["tune"] and brass["other"] > first["other"]
    assert brass["other"] > brass["tune"], "covered"
    (low, *_) = balance(data, [oboe, choice("trombone", "s2", -1), bass])
    assert low is not None and (low["other"], low["role"]) == (0.0, "")
    assert rest == [None] * (len(data.bars) - 1)


def test_a_bar_without_a_tune_has_no_balance() -> None:
    data = problem(players("oboe", "cello"), strand("s1", "bass", line("s1.1", "C3 C3 C3 C3")))
    assert balance(data, [choice("cello", "s1")]) == [None] * len(data.bars)
