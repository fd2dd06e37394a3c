"""One player does one thing at a time, and what is hard costs."""

from __future__ import annotations

from autoorch.pitch import from_midi
from autoorch.problem.divided import HALF
from autoorch.rules import playability, report
from autoorch.tables import load_tables
from tests.support.tiny import line, players, problem, strand, taken


def test_one_thing_at_a_time() -> None:
    data = problem(
        players("flute", "oboe"),
        strand("s1", "melody", line("s1.1", "E5 F5 G5 E5")),
        strand("s2", "counterline", line("s2.1", "C5 C5 C5 C5")),
    )
    shared = taken(data, ("flute", "s1.1", 0), ("flute", "s2.1", 0))
    apart = taken(data, ("flute", "s1.1", 0), ("oboe", "s2.1", 0))
    assert report(playability, data, shared).broken
    assert not report(playability, data, apart).broken


def test_a_keyboard_has_a_hand_for_each_of_two_things_that_lie_in_one() -> None:
    chords = strand("s2", "rhythm", line("s2.1", "G4 G4 G4 G4"), line("s2.2", "E4 E4 E4 E4"))
    low = strand("s3", "bass", line("s3.1", "C3 G2 C3 G2"))
    wide = strand("s4", "inner", line("s4.1", "E5 E5 E5 E5"), line("s4.2", "C3 C3 C3 C3"))
    data = problem(
        players("flute", "piano", "harp"), strand("s1", "melody", line("s1.1", "E5 F5 G5 E5")), chords, low, wide
    )

    def broken(player: str, *strands: str) -> bool:
        whole = {
            (o.span, len(o.lines)): o.index
            for o in data.options
            if data.players[o.player].name == player and o.octave == 0
        }
        taken_ = {
            max((n, k) for (span, n), k in whole.items() if data.strands[data.spans[span].strand].id == name)
            for name in strands
        }
        assert {n for n, _ in taken_} == {len(data.material.strand[name].lines) for name in strands}
        return bool(report(playability, data, frozenset(k for _, k in taken_)).broken)

    assert not broken("piano", "s2", "s3")
    assert broken("piano", "s1", "s2", "s3"), "no third hand"
    assert broken("piano", "s3", "s4"), "two hands wide"
    assert not broken("piano", "s4")
    assert broken("harp", "s2", "s3")


def test_a_pianist_alone_has_all_that_the_sketch_has_in_two_hands() -> None:
    def broken(bass: str, *moved: int) -> bool:
        strands = (
            strand("s1", "melody", line("s1.1", "E5 F5 G5 E5")),
            strand("s2", "rhythm", line("s2.1", "G4 G4 G4 G4"), line("s2.2", "E4 E4 E4 E4")),
            strand("s3", "bass", line("s3.1", bass)),
        )
        data = problem(players("piano"), *strands)
        wanted = {(k, tuple(range(len(s.lines))), o) for k, (s, o) in enumerate(zip(strands, (0, *moved), strict=True))}
        chosen = {o.index for o in data.options if (data.spans[o.span].strand, o.lines, o.octave) in wanted}
        assert len(chosen) == len(strands)
        return bool(report(playability, data, frozenset(chosen)).broken)

    assert not broken("C3 C4 C3 C4", 0, 0)
    assert broken("C3 C4 C3 C4", 0, -1), "moved it is another piece"
    assert broken("C1 C2 C1 C2", 0, 0) is False, "a hand for the bass, one for the rest"
    assert broken("C2 C2 C2 C2", 1, 0), "chords over the tune"


def test_what_sounds_into_the_next_phrase_is_counted_in_its_own() -> None:
    held = [strand(f"s{k}", "inner", line(f"s{k}.1", "- - C5", 1.5)) for k in (2, 3)]
    data = problem(players("flute"), strand("s1", "melody", line("s1.1", "- E5", 4)), *held, bars=2, phrases=2)
    both = {o.index for o in data.options if o.octave == 0 and data.strands[data.spans[o.span].strand].role == "inner"}
    assert {data.phrase(data.options[k]) for k in both} == {0}
    first = [limit for limit in playability.limits(data) if limit.phrase == 0]
    assert any(both <= {literal for literal, _ in limit.terms} for limit in first)


def test_half_sections_may_divide() -> None:
    pair = strand("s2", "inner", line("s2.1", "E4 E4 E4 E4"), line("s2.2", "C4 C4 C4 C4"))
    data = problem(players("violin"), strand("s1", "melody", line("s1.1", "- - - -  G5")), pair, bars=2)
    halves = frozenset(o.index for o in data.options if o.share == 6 and o.octave == 0)
    assert {data.options[k].lines for k in halves} == {(0,), (1,)}
    assert not report(playability, data, halves).broken


def test_half_a_section_costs_for_as_long_as_it_plays() -> None:
    def cost(text: str) -> int:
        data = problem(players("violin"), strand("s1", "inner", line("s1.1", text)))
        half = next(o.index for o in data.options if o.share == HALF and not o.octave)
        return report(playability, data, frozenset({half})).cost

    assert 0 < 4 * cost("C5 - - -") == cost("C5 D5 C5 D5")


def test_wide_leaps_cost_more_than_steps() -> None:
    def cost(text: str) -> int:
        data = problem(players("clarinet_bb"), strand("s1", "melody", line("s1.1", text)))
        return report(playability, data, taken(data, ("clarinet_bb", "s1.1", 0))).cost

    assert cost("E3 D5 E3 D5") > cost("E4 F4 G4 F4") == 0


def test_double_stops_of_a_solo_string_cost_and_a_bowed_line_alone_does_not() -> None:
    data = problem(players("violin", size=1), strand("s1", "inner", line("s1.1", "D5 D5"), line("s1.2", "A4 A4")))

    def cost(lines: int) -> int:
        one = next(o.index for o in data.options if len(o.lines) == lines and not o.octave)
        return report(playability, data, frozenset({one})).cost

    assert cost(2) > cost(1) == 0


def test_winds_want_a_rest_between_long_phrases() -> None:
    def cost(text: str) -> int:
        data = problem(players("oboe"), strand("s1", "melody", line("s1.1", text)), bars=8, phrases=2)
        return report(playability, data, taken(data, ("oboe", "s1.1", 0))).cost

    assert cost("E4 F4 G4 F4 " * 8) > cost("E4 F4 - - " * 8)


def test_who_hands_on_in_the_middle_of_a_long_phrase_has_a_rest() -> None:
    pair = players("clarinet_bb", "clarinet_bb")
    inner = strand("s2", "inner", line("s2.1", "E4 F4 G4 F4 " * 4), cuts=(32,))
    data = problem(pair, strand("s1", "melody", line("s1.1", "E5 F5 G5 E5 " * 4)), inner, bars=4)
    takes = [(data.players[o.player].name, data.spans[o.span].start, o.index) for o in data.options if o.octave == 0]
    strands = [data.strands[data.spans[o.span].strand].id for o in data.options if o.octave == 0]
    halves = [take for take, name in zip(takes, strands, strict=True) if name == "s2"]

    def cost(*wanted: tuple[str, int]) -> int:
        chosen = frozenset(index for name, start, index in halves if (name, start) in wanted)
        assert len(chosen) == len(wanted)
        return report(playability, data, chosen).cost

    alone = cost(("clarinet_bb 1", 0), ("clarinet_bb 1", 32))
    shared = cost(("clarinet_bb 1", 0), ("clarinet_bb 2", 32))
    assert alone > shared


def test_a_run_of_phrases_little_longer_than_comfortable_costs_little() -> None:
    def cost(tempo: float) -> int:
        tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5 " * 8))
        data = problem(players("oboe"), tune, bars=8, phrases=2, tempo=tempo)
        found = report(playability, data, taken(data, ("oboe", "s1.1", 0))).findings
        return sum(finding.cost for finding in found if finding.what.startswith("no rest"))

    stretch = load_tables().instruments["oboe"].fluency.stretch_s
    assert stretch is not None
    comfortable, little, long = (60 * 32 / (factor * stretch[0]) for factor in (0.95, 1.05, 1.5))
    assert cost(comfortable) == 0 < cost(little) < cost(long)


def test_a_leap_that_nobody_makes_at_a_stroke_costs_from_take_to_take() -> None:
    what, horn = "a leap nobody makes at a stroke", load_tables().instruments["horn"]
    widest = int(load_tables().rule("playability")["stroke"]["widest"] * horn.fluency.leap)

    def paid(leap: int, who: tuple[str, str], rest: str = "") -> int:
        low, high = "C3", str(from_midi(48 + leap, 0))
        tune = strand("s1", "melody", line("s1.1", f"{low} {low} {low} {rest or low} {high} {high} {high} {high}"))
        data = problem(players("horn", "horn"), tune, bars=2, phrases=2)
        takes = [o for o in data.options if not o.octave and data.players[o.player].name == who[o.span]]
        assert len(takes) == 2
        chosen = frozenset(option.index for option in takes)
        return sum(f.cost for f in report(playability, data, chosen).findings if f.what == what)

    one, two = ("horn 1", "horn 1"), ("horn 1", "horn 2")
    assert paid(widest, one) == 0 < paid(widest + 1, one)
    assert paid(widest + 1, one) == load_tables().rule("playability")["weights"]["stroke"]
    assert paid(widest + 1, two) == 0
    assert paid(widest + 1, one, rest="-") == 0


def test_a_harp_has_time_to_move_its_pedals_between_takes() -> None:
    what = "no time to move the pedals"

    def paid(text: str) -> bool:
        chord = strand("s2", "figure", line("s2.1", text))
        data = problem(
            players("flute", "harp"), strand("s1", "melody", line("s1.1", "G5 " * 8)), chord, bars=2, phrases=2
        )
        harp = frozenset(o.index for o in data.options if data.players[o.player].name == "harp" and not o.octave)
        assert {data.phrase(data.options[k]) for k in harp} == {0, 1}
        takes = frozenset(k for k in harp if data.strands[data.spans[data.options[k].span].strand].id == "s2")
        return what in {f.what for f in report(playability, data, takes).findings}

    assert paid("C4 E4 G4 C4 C#4 E4 G4 C#4")
    assert not paid("C4 E4 G4 C4 C4 E4 G4 C4"), "the same setting"
    assert not paid("C4 E4 G4 - C#4 E4 G4 C#4"), "a crotchet between"
    assert not paid("C4 E4 G4 C4 D#4 F4 G4 D#4"), "other letters"


def test_notes_held_and_repeated_beyond_what_is_comfortable_cost_by_how_far_they_go_beyond() -> None:
    table = load_tables().rule("playability")
    trumpet = load_tables().instruments["trumpet_bb"]

    def cost(text: str, crotchets: float, tempo: float) -> int:
        data = problem(
            players("trumpet_bb"), strand("s1", "melody", line("s1.1", text, crotchets)), tempo=tempo, bars=4
        )
        return playability.effort(table, trumpet, data.spans[0].lines[0])

    held = trumpet.fluency.held_s
    assert held is not None
    at, beyond = (cost("C5", 16, 60 * 16 / (factor * held[0])) for factor in (1.0, 1.5))
    assert at == 0 < beyond
    rate = trumpet.fluency.repeat_per_s[0]
    slow, fast, faster = (cost("C5 " * 32, 0.5, 30 * factor * rate) for factor in (1.0, 1.1, 1.2))
    assert slow == 0 < fast < faster
    assert abs(1.2 * faster - 2 * 1.1 * fast) <= 2, "twice as much a second"


def test_what_is_quick_for_longer_costs_more() -> None:
    table = load_tables().rule("playability")
    horn = load_tables().instruments["horn"]

    def cost(text: str) -> int:
        tune = strand("s1", "melody", line("s1.1", text, 0.25))
        data = problem(players("horn"), tune, tempo=1.4 * 60 * horn.fluency.moving_per_s[0] / 4, bars=4)
        return sum(playability.effort(table, horn, span.lines[0]) for span in data.spans)

    run, held = "C4 D4 E4 F4 G4 F4 E4 D4 ", "- " * 8
    once, twice, apart = cost(run + "C4"), cost(2 * run + "C4"), cost("C4 - D4 - E4 - F4 - G4 - F4 - E4 - D4 - C4")
    assert apart == 0 < once
    assert abs(twice - 2 * once) <= 1
    assert abs(cost(run + "C4 " + held + run + "C4") - 2 * once) <= 1


def test_a_left_hand_has_bass_and_off_beats_and_a_third_hand_is_missed() -> None:
    tune, bass = strand("s1", "melody", line("s1.1", "E5 F5 G5 E5")), strand("s2", "bass", line("s2.1", "C3 - G2 -"))
    between = strand("s3", "rhythm", line("s3.1", "- E4 - E4"), line("s3.2", "- G4 - G4"))
    along = strand("s3", "rhythm", line("s3.1", "E4 E4 E4 E4"), line("s3.2", "G4 G4 G4 G4"))
    for chords, plays in ((between, True), (along, False)):
        data = problem(players("piano", "flute"), tune, bass, chords)
        own = [o for o in data.options if o.player == 0]
        hands = {frozenset(o.lines): o.index for o in own if not o.octave and data.role(o) == "rhythm"}
        lead = taken(data, ("piano", "s1.1", 0), ("piano", "s2.1", 0))
        assert (not report(playability, data, lead | {hands[frozenset({0, 1})]}).broken) == plays


def test_bass_and_off_beats_of_a_bar_are_for_two_players() -> None:
    """A cello that has both in turn pays once a bar, two players nothing, nor a piano's hands, nor a section, which can divide; a
    large line-up is not asked."""

    def cost(bass: str, off_beats: str, *more: str, size: int = 1) -> int:
        low = strand("s1", "bass", line("s1.1", "C3 - - - G3 - - -"))
        high = strand("s2", "rhythm", line("s2.1", "- E3 - E3 - D3 - D3"))
        data = problem(players("cello", "viola", "piano", *more, size=size), low, high, bars=2)
        wanted = {("s1", bass), ("s2", off_beats)}
        chosen = frozenset(
            option.index
            for option in data.options
            if option.octave == 0
            and (data.strands[data.spans[option.span].strand].id, data.players[option.player].name) in wanted
        )
        assert {data.strands[data.spans[data.options[k].span].strand].id for k in chosen} == {"s1", "s2"}
        return report(playability, data, chosen).cost

    price = load_tables().rule("playability")["weights"]["stride"]
    assert cost("cello", "cello") - cost("cello", "viola") == 2 * price
    assert cost("cello", "viola") == cost("piano", "piano") == cost("cello", "cello", size=12) == 0
    crowd = ("flute", "oboe", "clarinet_bb", "bassoon", "horn", "trumpet_bb", "trombone", "violin", "violin")
    assert cost("cello", "cello", *crowd) == 0
