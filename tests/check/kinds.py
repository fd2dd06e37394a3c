"""The kinds of faults that are planted, each with the rule that must find it."""

from __future__ import annotations

import random

from tests.check.plant import REST, Event, Host, Kind, Planted

# lowest and highest note of any player (published ranges, see constraints/instruments.toml)
EDGES = {"Flute": (59, 98), "Oboe": (58, 93), "Bassoon": (34, 76), "Viola": (48, 88), "Violoncello": (36, 84)}
BRASS = ("Horn", "Trumpet", "Trombone", "Tuba")
LOW = ("Contra", "Bass", "Violon", "Double", "Tuba", "Trombone", "Horn", "Harp", "Piano", "Viola", "Cello")
WINDS = ("Flute", "Oboe", "Clarinet", "Bassoon")


def _pick(host: Host, rng: random.Random, *names: str, bars: int = 1) -> tuple[str, int] | None:
    """A part and a bar with so many bars after it (itself included), away from the ends."""
    parts = host.find(*names)
    if not parts or host.bars < bars + 2:
        return None
    return rng.choice(parts), rng.randrange(1, host.bars - bars)


def _one(
    host: Host,
    rng: random.Random,
    names: tuple[str, ...],
    events: list[Event],
    rule: str,
    severity: str,
    seconds: bool = False,
) -> Planted | None:
    """A single bar of a part with these events, their lengths in quarters or seconds."""
    if (where := _pick(host, rng, *names)) is None:
        return None
    part, bar = where
    pace = host.quarters_a_second(bar) if seconds else 1.0
    host.fill(part, bar, [(pitches, float(length) * pace, signs) for pitches, length, signs in events])
    return Planted(rule, severity, host.names[part], bar, bar)


def below_range(host: Host, rng: random.Random) -> Planted | None:
    name = rng.choice(sorted(EDGES))
    return _one(host, rng, (name,), [((EDGES[name][0] - rng.randint(1, 6),), 2, "dyn:mf")], "range", "unplayable")


def above_range(host: Host, rng: random.Random) -> Planted | None:
    name = rng.choice(sorted(EDGES))
    return _one(host, rng, (name,), [((EDGES[name][1] + rng.randint(5, 10),), 2, "dyn:f")], "range", "unplayable")


def edge_of_range(host: Host, rng: random.Random) -> Planted | None:
    name = rng.choice(["Flute", "Oboe", "Bassoon"])
    return _one(host, rng, (name,), [((EDGES[name][1] - rng.randint(0, 3),), 2, "dyn:f")], "range", "risky")


def chord_on_a_wind(host: Host, rng: random.Random) -> Planted | None:
    low = rng.randint(62, 66)
    names = ("Flute", "Oboe", "Clarinet", "Horn", "Trumpet")
    return _one(
        host, rng, names, [((low, low + rng.choice([3, 4, 7])), 2, "dyn:mf")], "one note at a time", "unplayable"
    )


def too_many_lines(host: Host, rng: random.Random) -> Planted | None:
    chord = (67, 70, 74, 77, 81, 84)
    return _one(host, rng, ("Violins", "Violin "), [(chord, 2, "dyn:mf")], "divisi", "style")


def nine_notes_on_the_harp(host: Host, rng: random.Random) -> Planted | None:
    low = rng.choice([48, 50, 52])
    chord = tuple(low + step for step in (0, 4, 7, 11, 14, 17, 19, 23, 26))
    return _one(host, rng, ("Harp",), [(chord, 2, "dyn:mf")], "harp hands", "unplayable")


def harp_span(host: Host, rng: random.Random) -> Planted | None:
    low = rng.randint(36, 43)
    return _one(host, rng, ("Harp",), [((low, low + 24, low + 48), 2, "dyn:mf")], "harp hands", "unplayable")


def two_pedals_too_many(host: Host, rng: random.Random) -> Planted | None:
    low = 12 * rng.choice([4, 5])
    naturals, sharps = (0, 2, 4, 5, 7, 9, 11), (1, 3, 6, 8, 10)
    events: list[Event] = [
        (tuple(low + step for step in naturals), 0.25, "dyn:mf"),
        (tuple(low + step for step in sharps), 0.25, ""),
        (tuple(low + step for step in naturals), 0.25, ""),
    ]
    return _one(host, rng, ("Harp",), events, "harp pedals", "unplayable")


def no_time_for_the_mute(host: Host, rng: random.Random) -> Planted | None:
    pitch = rng.randint(60, 67)
    events: list[Event] = [((pitch,), 1, "dyn:p"), ((pitch + 2,), 1, "words:con_sord.")]
    return _one(host, rng, ("Trumpet", "Trombone", "Horn"), events, "mute", "unplayable")


def mute_left_on(host: Host, rng: random.Random) -> Planted | None:
    if (where := _pick(host, rng, "Trumpet", "Horn", bars=6)) is None:
        return None
    part, bar = where
    host.rest(part, bar, bar + 5)
    host.fill(part, bar + 3, [((62,), 2, "dyn:p words:con_sord.")])
    host.fill(part, bar + 5, [((62,), 2, "dyn:ff")])
    return Planted("mute", "style", host.names[part], bar + 5, bar + 5)


def no_time_for_pizzicato(host: Host, rng: random.Random) -> Planted | None:
    pitch = rng.randint(60, 67)
    events: list[Event] = [
        ((pitch,), 0.15, "words:unis. words:arco dyn:mf"),
        ((pitch + 2,), 0.15, "words:pizz."),
        ((pitch,), 0.15, "words:arco"),
    ]
    return _one(host, rng, ("Viola",), events, "pizz", "risky", seconds=True)


def plucked_too_fast(host: Host, rng: random.Random) -> Planted | None:
    low = rng.randint(29, 34)
    run: list[Event] = [
        ((low + step % 3 + step % 4,), 1 / 8, "words:pizz. dyn:mf" if not step else "") for step in range(9)
    ]
    run.append(((low,), 0.5, "words:arco"))
    return _one(host, rng, ("Double bass", "Contrabass"), run, "pizz", "risky")


def four_close_timpani_notes(host: Host, rng: random.Random) -> Planted | None:
    low = rng.choice([38, 39])
    run: list[Event] = [((low + step,), 0.25, "dyn:f" if not at else "") for at, step in enumerate((1, 2, 3, 5) * 2)]
    return _one(host, rng, ("Timpani",), run, "timpani", "unplayable")


def three_timpani_at_once(host: Host, rng: random.Random) -> Planted | None:
    return _one(host, rng, ("Timpani",), [((38, 45, 50), 1, "dyn:f")], "timpani", "unplayable")


def no_breath(host: Host, rng: random.Random) -> Planted | None:
    bars = 40
    if (where := _pick(host, rng, *WINDS, bars=bars)) is None:
        return None
    part, first = where
    high = 55 if "Bassoon" in host.names[part] else 72
    for bar in range(first, first + bars):
        run: list[Event] = [((high,), 0.5, ""), ((high - 2,), 0.5, "")]
        host.fill(part, bar, run * 6)
    return Planted("breath", "risky", host.names[part], max(0, first - 4), first + bars)  # played into from before


def held_for_ever(host: Host, rng: random.Random) -> Planted | None:
    if (where := _pick(host, rng, "Flute", "Trumpet", "Trombone", bars=30)) is None:
        return None
    part, first = where
    for bar in range(first, first + 30):
        host.fill(part, bar, [((62,), host.length(bar), "tie")])
    return Planted("held note", "unplayable", host.names[part], first, first)


def thirds_in_the_mud(host: Host, rng: random.Random) -> Planted | None:
    bassoons, basses = host.find("Bassoon 2", "Bassoon", "Violoncello"), host.find("Double bass", "Contrabass", "Tuba")
    if not bassoons or not basses:
        return None
    bar, low = rng.randrange(1, host.bars - 1), rng.randint(36, 39)
    for name in host.find("Timpani"):
        host.rest(name, bar, bar)
    for part in host.find(*LOW):
        host.rest(part, bar, bar)
    host.fill(bassoons[0], bar, [((low + 4,), host.length(bar), "dyn:f")])
    host.fill(basses[0], bar, [((low,), host.length(bar), "dyn:f")])
    return Planted("low interval", "style", "", bar, bar)


def horn_against_trombones(host: Host, rng: random.Random) -> Planted | None:
    horns, trombones = host.find("Horn"), host.find("Trombone", "Bass Trombone")
    if not horns or len(trombones) < 3:
        return None
    bar = rng.randrange(1, host.bars - 1)
    horn = rng.choice(horns)
    for part in host.parts:
        host.rest(part, bar, bar)
    beat = host.length(bar) / 4
    tune = [60, 62, 64, 65] if rng.random() < 0.5 else [64, 62, 60, 62]
    host.fill(horn, bar, [((pitch,), beat, "dyn:f" if not place else "") for place, pitch in enumerate(tune)])
    for part, pitch in zip(trombones, (60, 57, 53), strict=False):
        host.fill(part, bar, [((pitch,), host.length(bar), "dyn:f")])
    return Planted("balance", "style", host.names[horn], bar, bar)


def bassoon_above_oboe(host: Host, rng: random.Random) -> Planted | None:
    oboes, bassoons = host.find("Oboe"), host.find("Bassoon")
    if not oboes or not bassoons:
        return None
    bar, low = rng.randrange(1, host.bars - 1), rng.randint(58, 60)
    beat = host.length(bar) / 6
    tune = [0, 2, 4, 2, 0, 2]
    host.fill(oboes[0], bar, [((low + step,), beat, "dyn:mf" if not k else "") for k, step in enumerate(tune)])
    host.fill(bassoons[0], bar, [((low + 12 + step,), beat, "dyn:mf" if not k else "") for k, step in enumerate(tune)])
    return Planted("doubling", "style", host.names[bassoons[0]], bar, bar)


def parallel_fifths(host: Host, rng: random.Random) -> Planted | None:
    oboes, clarinets = host.find("Oboe"), host.find("Clarinet")
    if not oboes or not clarinets:
        return None
    bar, low = rng.randrange(1, host.bars - 1), rng.randint(62, 67)
    beat = host.length(bar) / 4
    steps = rng.choice([(0, 2, 4, 2), (4, 2, 0, 2), (0, 4, 2, 0)])
    host.fill(oboes[0], bar, [((low + 7 + step,), beat, "dyn:mf" if not k else "") for k, step in enumerate(steps)])
    host.fill(clarinets[0], bar, [((low + step,), beat, "dyn:mf" if not k else "") for k, step in enumerate(steps)])
    return Planted("parallels", "style", host.names[oboes[0]], bar, bar)


def no_dynamic(host: Host, rng: random.Random) -> Planted | None:
    if (where := _pick(host, rng, *WINDS, "Horn", bars=5)) is None:
        return None
    part, bar = where
    host.rest(part, bar, bar + 4)
    host.fill(part, bar + 3, [((65 if "Bassoon" not in host.names[part] else 53,), 2, "")])
    return Planted("missing dynamic", "style", host.names[part], bar + 3, bar + 3)


def too_fast(host: Host, rng: random.Random) -> Planted | None:
    names = rng.choice([("Tuba",), ("Trombone",), ("Horn",)])
    low = 45 if names != ("Horn",) else 57
    run: list[Event] = [
        ((low + (0, 2, 4, 5, 7, 5, 4, 2)[k % 8],), 1 / 20, "dyn:mf" if not k else "") for k in range(16)
    ]
    return _one(host, rng, names, run, "speed", "unplayable", seconds=True)


def repeated_too_fast(host: Host, rng: random.Random) -> Planted | None:
    run: list[Event] = [((60,), 1 / 20, "dyn:mf" if not k else "") for k in range(16)]
    return _one(host, rng, ("Horn", "Trombone", "Clarinet"), run, "repeated notes", "unplayable", seconds=True)


def wide_leap(host: Host, rng: random.Random) -> Planted | None:
    low = rng.randint(55, 57)
    return _one(host, rng, ("Trumpet",), [((low,), 1, "dyn:mf"), ((low + 24,), 1, "")], "leap", "risky")


def weak_register_marked_loud(host: Host, rng: random.Random) -> Planted | None:
    low, half = rng.randint(60, 65), host.length(1) / 2
    return _one(host, rng, ("Flute",), [((low,), half, "dyn:fff"), ((low + 1,), half, "")], "register", "style")


def loud_register_marked_soft(host: Host, rng: random.Random) -> Planted | None:
    high = rng.randint(80, 81)
    return _one(host, rng, ("Trumpet",), [((high,), host.length(1), "dyn:pp")], "register", "style")


def no_time_for_the_piccolo(host: Host, rng: random.Random) -> Planted | None:
    if (where := _pick(host, rng, "Flute", bars=2)) is None:
        return None
    part, bar = where
    host.fill(part, bar, [((76,), 1, "dyn:mf"), ((86,), 1, "words:muta_in_Piccolo")])
    return Planted("instrument change", "unplayable", host.names[part], bar, bar)


def high_and_loud(host: Host, rng: random.Random) -> Planted | None:
    if (where := _pick(host, rng, "Trumpet", bars=12)) is None:
        return None
    part, first = where
    for bar in range(first, first + 12):
        host.fill(part, bar, [((81,), 1, "dyn:ff" if bar == first and not k else "") for k in range(8)])
    return Planted("endurance", "risky", host.names[part], first, first + 12)


def five_sticks(host: Host, rng: random.Random) -> Planted | None:
    low = rng.randint(72, 76)
    chord = tuple(low + step for step in (0, 3, 5, 8, 10))
    return _one(
        host,
        rng,
        ("Xylophone", "Vibraphone", "Marimba", "Glockenspiel"),
        [(chord, 1, "dyn:f")],
        "mallets",
        "unplayable",
    )


def hollow_brass(host: Host, rng: random.Random) -> Planted | None:
    brass, violas = host.find(*BRASS), host.find("Viola")
    if len(brass) < 4 or not violas or (where := _pick(host, rng, "Viola")) is None:
        return None
    bar, length = where[1], host.length(where[1])
    for part in host.names:
        host.rest(part, bar, bar)
    for part, pitch in zip(brass, (67, 60, 67, 60), strict=False):
        host.fill(part, bar, [((pitch,), length, "dyn:f")])
    host.fill(violas[0], bar, [((64,), length, "dyn:f")])
    return Planted("family chord", "style", "", bar, bar)


def silence_the_fault(host: Host, rng: random.Random) -> Planted | None:
    """No fault at all: a bar of rest. Must not be found; keeps the measure honest."""
    return _one(host, rng, WINDS, [(REST, 1, "")], "range", "unplayable")


KINDS: dict[str, Kind] = {
    "note below the range": below_range,
    "note above the range": above_range,
    "note at the edge of the range": edge_of_range,
    "chord on a wind": chord_on_a_wind,
    "section in six lines": too_many_lines,
    "nine notes on the harp": nine_notes_on_the_harp,
    "harp hands too far apart": harp_span,
    "too many pedals": two_pedals_too_many,
    "no time for the mute": no_time_for_the_mute,
    "mute left on at ff": mute_left_on,
    "no time for pizzicato": no_time_for_pizzicato,
    "plucked too fast": plucked_too_fast,
    "four close timpani notes": four_close_timpani_notes,
    "three timpani at once": three_timpani_at_once,
    "no breath for 40 bars": no_breath,
    "note held for 30 bars": held_for_ever,
    "thirds in the mud": thirds_in_the_mud,
    "horn alone against trombones": horn_against_trombones,
    "bassoon an octave above the oboe": bassoon_above_oboe,
    "parallel fifths": parallel_fifths,
    "entry without a dynamic": no_dynamic,
    "run too fast": too_fast,
    "repeated notes too fast": repeated_too_fast,
    "leap of two octaves on the trumpet": wide_leap,
    "weak register marked fff": weak_register_marked_loud,
    "loud register marked pp": loud_register_marked_soft,
    "no time for the piccolo": no_time_for_the_piccolo,
    "trumpet high and loud on end": high_and_loud,
    "five sticks": five_sticks,
    "brass without the third": hollow_brass,
}
