"""Time to change, one way at a time, an offer that is left costs; what is asked for is the only way."""

from __future__ import annotations

from dataclasses import replace

import pytest

from autoorch.layers.model import Manner, MaterialLine, MaterialStrand
from autoorch.lineup import Lineup, parse_lineup
from autoorch.power import power
from autoorch.problem.data import SOME, WHOLE, Option, ProblemData
from autoorch.rules import playability, report, techniques
from autoorch.tables import load_tables
from tests.support.tiny import BAR, line, players, problem, strand, taken

TABLES = load_tables()

BASS = strand("s1", "bass", line("s1.1", "C3 - G2 - C3 - G2 -"))


def options(data: ProblemData, technique: str) -> list[int]:
    return [o.index for o in data.options if o.techniques == ((technique,) if technique else ()) and o.octave == 0]


def test_an_offer_that_is_left_costs() -> None:
    data = problem(players("cello"), BASS, bars=2, manners=[Manner("s1", 0, 2 * BAR, "pizz")])
    bowed, plucked = options(data, ""), options(data, "pizz")
    assert len(bowed) == len(plucked) > 0
    assert report(techniques, data, frozenset(plucked)).cost == 0
    assert report(techniques, data, frozenset(bowed)).cost > 0


def test_a_way_changes_with_phrases() -> None:
    """Half of a phrase plucked costs more than none; half of a cue whose second phrase begins there does not."""
    low = strand("s1", "bass", line("s1.1", "C3 - G2 - C3 - G2 -"), cuts=(BAR,))
    price = {}
    for phrases in (1, 2):
        data = problem(players("cello"), low, bars=2, phrases=phrases, manners=[Manner("s1", 0, 2 * BAR, "pizz")])
        whole = [o for o in data.options if o.octave == 0]
        assert len({o.span for o in whole}) > 1
        bowed = frozenset(o.index for o in whole if not o.techniques)
        mixed = frozenset(o.index for o in whole if bool(o.techniques) == (data.spans[o.span].start >= BAR))
        price[phrases] = report(techniques, data, mixed).cost - report(techniques, data, bowed).cost
    assert price[2] < 0 < price[1]


def test_what_the_brief_asks_for_is_the_only_way_for_those_who_can() -> None:
    asked = Manner("s1", 0, 2 * BAR, "pizz", asked=True)
    data = problem(players("cello", "bassoon"), BASS, bars=2, manners=[asked])
    ways = {(data.players[o.player].name, o.techniques) for o in data.options}
    assert ways == {("cello", ("pizz",)), ("bassoon", ())}


def test_mutes_and_plucking_go_together() -> None:
    """A mute is a state of its own: who is asked for both has both, who is offered both pays for each that is left, and from
    muted to plain plucking the mute alone takes time."""
    both = [Manner("s1", 0, 2 * BAR, "pizz", asked=True), Manner("s1", 0, 2 * BAR, "con_sord", asked=True)]
    data = problem(players("cello"), BASS, bars=2, manners=both)
    assert {o.techniques for o in data.options} == {("con_sord", "pizz")}
    offers = [replace(manner, asked=False) for manner in both]
    data = problem(players("cello"), BASS, bars=2, manners=offers)
    found = {o.techniques: o.index for o in data.options if not o.octave and o.share == 12}
    assert set(found) == {(), ("pizz",), ("con_sord",), ("con_sord", "pizz")}
    price = {ways: report(techniques, data, frozenset({index})).cost for ways, index in found.items()}
    assert price["con_sord", "pizz"] == 0 < price["pizz",] == price["con_sord",] < price[()]


def test_the_ordinary_way_is_asked_for_in_its_own_group() -> None:
    """ "arco" leaves a mute that is asked for too; "senza sord" takes it off."""
    muted = Manner("s1", 0, 2 * BAR, "con_sord", asked=True)
    for group, ways in (("right hand", ("con_sord",)), ("mute", ())):
        plain = Manner("s1", 0, 2 * BAR, "", asked=True, group=group)
        data = problem(players("cello"), BASS, bars=2, manners=[plain, muted])
        assert {o.techniques for o in data.options} == {ways}


def test_who_is_named_plucks_alone() -> None:
    asked = Manner("s1", 0, 2 * BAR, "pizz", ("cello 1",), asked=True)
    data = problem(players("cello", "cello"), BASS, bars=2, manners=[asked])
    assert {(data.players[o.player].name, o.techniques) for o in data.options} == {
        ("cello 1", ("pizz",)),
        ("cello 2", ()),
    }


def test_mutes_want_a_rest() -> None:
    """Rests of a crotchet at 60 (1 s) before the second phrase: too short for a mute (3 s), enough to pluck (0.5 s)."""
    for technique, fits in (("con_sord", False), ("pizz", True)):
        asked = Manner("s1", BAR, 2 * BAR, technique, asked=True)
        data = problem(players("cello"), BASS, bars=2, phrases=2, manners=[asked])
        first, second = options(data, ""), options(data, technique)
        broken = report(techniques, data, frozenset({*first, *second})).broken
        assert bool(broken) is not fits
        assert all(name.startswith("time to change/cello/") for name in broken)


def test_half_a_section_does_not_pluck_while_the_other_bows() -> None:
    two = strand("s1", "inner", line("s1.1", "E3 F3 E3 F3"), line("s1.2", "C3 D3 C3 D3"))
    other = strand("s2", "figure", line("s2.1", "G3 A3 G3 A3"))
    data = problem(players("viola"), two, other, manners=[Manner("s1", 0, BAR, "pizz", asked=True)])
    plucked = next(o.index for o in data.options if o.techniques and o.share == 6 and not o.octave)
    bowed = next(o.index for o in data.options if not o.techniques and o.share == 6 and not o.octave)
    assert report(techniques, data, frozenset({plucked})).broken == ()
    assert report(techniques, data, frozenset({plucked, bowed})).broken != ()


def test_too_fast_to_pluck_is_no_offer() -> None:
    fast = strand("s1", "bass", line("s1.1", "C3 D3 E3 F3 G3 F3 E3 D3", 0.25))
    offer = [Manner("s1", 0, BAR, "pizz")]
    assert options(problem(players("double_bass"), fast, tempo=60, manners=offer), "pizz")
    assert not options(problem(players("double_bass"), fast, tempo=120, manners=offer), "pizz")


def test_a_group_that_leaves_lines_of_the_off_beats_to_another_pays() -> None:
    beats = strand("s2", "rhythm", line("s2.1", "- E4 - E4"), line("s2.2", "- C4 - C4"), texture="off-beats")
    data = problem(players("horn", "horn", "viola", "clarinet_bb"), beats)
    whole = taken(data, ("horn 1", "s2.1", 0), ("horn 2", "s2.2", 0))
    blended = taken(data, ("clarinet_bb", "s2.1", 0), ("horn 2", "s2.2", 0))
    scattered = taken(data, ("viola", "s2.1", 0), ("horn 2", "s2.2", 0))
    assert report(techniques, data, whole).cost == 0 == report(techniques, data, blended).cost
    assert report(techniques, data, scattered).cost > 0


def test_soft_chords_stay_in_one_family() -> None:
    chords = strand("s2", "inner", line("s2.1", "E4 F4 E4 F4"), line("s2.2", "C4 D4 C4 D4"))

    def cost(dynamic: str, *chosen: str) -> int:
        data = problem(players("violin", "viola", "oboe", "clarinet_bb"), chords, dynamic=dynamic)
        return report(techniques, data, taken(data, *((name, f"s2.{k}", 0) for k, name in enumerate(chosen, 1)))).cost

    assert cost("p", "violin", "viola") == 0 == cost("p", "oboe", "clarinet_bb")
    assert cost("p", "violin", "clarinet_bb") > 0 == cost("ff", "violin", "clarinet_bb")


TUNE = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))


def test_a_solo_is_one_player_with_the_power_of_one_and_the_others_listen() -> None:
    asked = Manner("s1", 0, BAR, "solo", asked=True)
    other = strand("s2", "inner", line("s2.1", "G4 A4 G4 A4"))
    data = problem(players("violin"), TUNE, other, manners=[asked])
    solos = [o for o in data.options if o.techniques == ("solo",)]
    assert {o.share for o in solos} == {1}, "one of twelve"
    rest = next(o.index for o in data.options if data.spans[o.span].strand == 1 and o.share == 6 and not o.octave)
    assert report(playability, data, frozenset({solos[0].index, rest})).broken
    whole = problem(players("violin"), TUNE)
    loud = max(known(whole, o) for o in whole.options if not o.octave)
    assert max(known(data, o) for o in solos if not o.octave) < loud


def known(data: ProblemData, option: Option) -> int:
    player = data.players[option.player]
    return power(data.tables, player.instrument, player.size, "mf", 72, option.share)


def test_nobody_plays_along_with_a_solo() -> None:
    data = problem(players("violin", "flute"), TUNE, manners=[Manner("s1", 0, BAR, "solo", ("violin",))])
    solo, section = (
        next(o.index for o in data.options if "".join(o.techniques) == way and o.player == 0 and not o.octave)
        for way in ("solo", "")
    )
    flute = next(o.index for o in data.options if o.player == 1 and not o.octave)
    assert report(techniques, data, frozenset({solo})).cost == 0
    assert report(techniques, data, frozenset({section})).cost > 0, "an offer left"
    assert report(techniques, data, frozenset({solo, flute})).cost > 0


def test_out_of_reach_is_no_way() -> None:
    """Sul G has D5 but no C7; a stopped horn has nothing low."""
    high = strand("s1", "melody", line("s1.1", "C7 D7 C7 D7"))
    for way, tune, able in (("sul_g", TUNE, True), ("sul_g", high, False)):
        data = problem(players("violin"), tune, manners=[Manner("s1", 0, BAR, way, asked=True)])
        assert {o.techniques for o in data.options if not o.octave} == ({(way,)} if able else {()})
    data = problem(players("horn"), TUNE, manners=[Manner("s1", 0, BAR, "stopped", asked=True)])
    assert {o.techniques for o in data.options if o.octave == -1} == {("stopped",)}


def test_natural_harmonics_are_partials_of_open_strings() -> None:
    """G5 is the fourth partial of the violin's lowest string, G sharp 5 none; a flute has no strings."""
    for name, pitch, able in (("violin", "G5", True), ("violin", "G#5", False), ("flute", "G5", False)):
        held = strand("s1", "inner", line("s1.1", f"{pitch} {pitch} {pitch} {pitch}"))
        data = problem(players(name), held, manners=[Manner("s1", 0, BAR, "harm", asked=True)])
        assert {o.techniques for o in data.options if not o.octave} == ({("harm",)} if able else {()})


def test_unison_takes_no_halves() -> None:
    two = strand("s2", "inner", line("s2.1", "G4 A4 G4 A4"), line("s2.2", "E4 F4 E4 F4"))
    data = problem(players("viola"), two, manners=[Manner("s2", 0, BAR, "unis", asked=True)])
    assert {o.share for o in data.options} == {12}


def test_mutes_are_for_all_or_none() -> None:
    held = strand("s2", "inner", line("s2.1", "G4 A4 G4 A4"))
    offers = [Manner(name, 0, BAR, "con_sord", ("violin", "viola")) for name in ("s1", "s2")]
    data = problem(players("violin", "viola"), TUNE, held, manners=offers)

    def cost(first: str, second: str) -> int:
        chosen = {
            next(
                o.index for o in data.options if (o.player, o.span, "".join(o.techniques), o.octave, o.share) == wanted
            )
            for wanted in ((0, 0, first, 0, 12), (1, 1, second, 0, 12))
        }
        return report(techniques, data, frozenset(chosen)).cost

    assert cost("con_sord", "con_sord") == 0 < cost("", "") < cost("con_sord", "") + cost("", "con_sord")
    assert cost("con_sord", "") > cost("con_sord", "con_sord")


def test_a_percussion_instrument_stays_with_one_player() -> None:
    """Two players for triangle and cymbals, each of which sounds in two phrases while the other does: each has one of them."""
    lineup = parse_lineup("0.0.0.0-0.0.0.0-2perc-strings", TABLES)
    strokes = line("t", "C5 - - - C5 - - -")
    pair = [
        MaterialStrand(f"touch{k}", "rhythm", "finish", (replace(strokes, id=f"touch{k}.1"),), families=(name,))
        for k, name in enumerate(("triangle", "cymbals"), 1)
    ]
    data = problem(lineup, *pair, bars=2, phrases=2)
    own = techniques.stations(data)
    assert set(own) == {"triangle", "cymbals"} and len(set(own.values())) == 2

    def cost(change: bool) -> int:
        """In the second phrase they swap."""
        swapped = {
            o.index
            for o in data.options
            if (own[data.instrument(o).id] == o.player) is not (change and data.phrase(o) == 1)
        }
        return report(techniques, data, frozenset(swapped)).cost

    assert len({data.phrase(o) for o in data.options}) == 2
    assert cost(change=False) == 0 < cost(change=True)


def test_the_ways_in_which_some_of_a_section_play_are_those_of_the_table() -> None:
    table = TABLES.rule("techniques")["technique"]
    assert set(SOME) == {name for name, row in table.items() if row.get("people") or row.get("twelfths", WHOLE) < WHOLE}


def test_a_harp_has_chords_and_no_single_off_beats() -> None:
    beats = strand("s2", "rhythm", *(line(f"s2.{k}", f"- {one}4 {one}4 -") for k, one in enumerate("GEC")))
    data = problem(players("harp"), strand("s1", "melody", line("s1.1", "C5 D5 E5 D5")), beats)
    whole, single = (
        frozenset(o.index for o in data.options if o.lines == lines and data.spans[o.span].strand == 1 and not o.octave)
        for lines in ((0, 1, 2), (0,))
    )
    bare = [
        "single notes for a harp" in {f.what for f in report(techniques, data, taken).findings}
        for taken in (whole, single)
    ]
    assert len(whole) == len(single) == 1
    assert bare == [False, True]


@pytest.mark.parametrize("hands", ["piano", "harp", "guitar"])
def test_who_has_a_line_leaves_off_beats_to_keyboard_harp_and_guitar(hands: str) -> None:
    beats = strand("s2", "rhythm", line("s2.1", "- E4 - E4"), line("s2.2", "- C4 - C4"), texture="off-beats")
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))

    def price(who: str, *others: str, size: int = 1) -> int:
        names = ("violin", "cello", *others)
        data = problem(players(*names, *(("flute",) * (size - 1))), tune, beats)
        one = next(o for o in data.options if data.players[o.player].name == who and o.lines == (0,) and o.span == 1)
        return report(techniques, data, frozenset({one.index})).cost

    assert price("cello", hands) > price("cello", "oboe")
    assert price("cello", hands, size=30) == price("cello", "oboe", size=30)


def test_another_instrument_wants_time_and_a_bar_line() -> None:
    """An oboist strikes one note and has the cor anglais some crotchets later; eight seconds are enough, but not inside a bar."""
    oboe = replace(players("oboe").players[0], doubles=(TABLES.instruments["cor_anglais"],))

    def broken(later: int, tempo: float) -> bool:
        first = strand("s1", "inner", line("s1.1", "C5"))
        second = strand("s2", "inner", line("s2.1", "- " * later + "G4"), families=("cor_anglais",))
        data = problem(Lineup("one", (oboe,)), first, second, bars=4, tempo=tempo)
        chosen = frozenset(o.index for o in data.options if not o.octave)
        assert {data.instrument(data.options[k]).id for k in chosen} == {"oboe", "cor_anglais"}
        return any(name.startswith("time to change/") for name in report(techniques, data, chosen).broken)

    change = TABLES.rule("limits")["technique"]["change"]
    assert change == 8
    assert broken(8, 60) and not broken(9, 60), "seven seconds of rest, and eight"
    assert broken(3, 10) and not broken(4, 10), "twelve seconds inside a bar, and over a bar line"


def test_a_pianos_figure_as_it_stands_is_for_harp_and_keyboards() -> None:
    """A figure that the strand has for other hands too, as the pianist has it and as it is laid out anew."""
    plain = line("s2.1", "C4 E4 G4 E4")
    other = MaterialLine("s2.2", tuple(replace(note, id=f"{note.id}.i") for note in plain.notes), instead=True)
    tune = strand("s1", "melody", line("s1.1", "C5 D5 E5 D5"))
    data = problem(players("violin", "viola", "harp"), tune, strand("s2", "figure", plain, other))

    def paid(name: str, line_id: str) -> bool:
        found = report(techniques, data, taken(data, (name, line_id, 0))).findings
        return "a piano's figure as it stands" in {one.what for one in found if one.cost}

    assert paid("viola", "s2.1")
    assert not paid("viola", "s2.2") and not paid("harp", "s2.1")
