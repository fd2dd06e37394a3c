"""A draft made into a score that can be put on the stands: one part a player or section, every bar and mark in place."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from autoorch.layers.model import Material
from autoorch.lineup import Lineup, Player, roman
from autoorch.problem.draft import Choice, Draft
from autoorch.roles.model import Reading
from autoorch.score.bows import Bows
from autoorch.score.breath import breaths
from autoorch.score.changes import change_words, held
from autoorch.score.desks import desks
from autoorch.score.divisi import divisi_words
from autoorch.score.idiom import left_out
from autoorch.score.landmarks import letters
from autoorch.score.lifts import lifted
from autoorch.score.marks import Placed, Voiced, dynamics_of, top_marks, wedges_of, words_of
from autoorch.score.model import Part, Score
from autoorch.score.notation import Notation, notation
from autoorch.score.page import Page
from autoorch.score.pedal import Pedal
from autoorch.score.releases import released
from autoorch.score.sisters import in_key
from autoorch.score.slurs import Slurs
from autoorch.score.streams import Grid, Played, played_by
from autoorch.score.swells import with_swells
from autoorch.score.techniques import rung, signed, technique_words
from autoorch.score.text import syllables
from autoorch.score.transpose import transposed
from autoorch.score.tuning import by_pedals, is_harp, tuning_words
from autoorch.score.voices import lay_out
from autoorch.score.yielding import chords_of, over_the_tune, yields
from autoorch.sketch.model import Sketch
from autoorch.sketch.tempo import TempoMap
from autoorch.tables import Tables, load_tables


def realise(
    sketch: Sketch,
    reading: Reading,
    material: Material,
    lineup: Lineup,
    draft: Draft,
    tables: Tables | None = None,
) -> Score:
    """The transposed full score of a draft.

    A note belongs to the choice inside whose span it starts, at that choice's octave. Every part has all bars of the
    sketch with their repeats; who has nothing to play rests. How it is written stands in the tables' notation.

    Raises:
        SketchError: for a rhythm too fine to be written (shorter than a 1024th).
        TableError: for a table of notation that is wrong.
    """
    house, grid = notation(tables), Grid.of(sketch)
    lineup = in_key(lineup, sketch.bars, draft.choices, material, house.sisters, tables or load_tables())
    marked = replace(sketch, marks=(*sketch.marks, *material.marks, *material.swells))
    voiced, slurs = Voiced.of(marked, reading, grid, house, material.swells), Slurs.of(sketch, reading)
    joints = tuple(phrase.start * grid.factor for phrase in reading.phrases)
    context = _Context(
        sketch, grid, house, voiced, slurs, Pedal.of(sketch, material, grid), TempoMap(sketch, reading.tempo), joints,
        _fermatas(sketch, grid),
    )  # fmt: skip
    choices: dict[str, list[Choice]] = defaultdict(list)
    for choice in draft.choices:
        choices[choice.player].append(choice)
    seats = {seated.name: seated for seated in lineup.players}
    winds = chords_of("woodwind", ((seats[choice.player], choice) for choice in draft.choices), material, house)
    top = top_marks(marked, reading, grid, house, letters(sketch, reading, grid, house))
    staves = [(seated.name, desk) for seated in lineup.players for desk in desks(seated, choices[seated.name])]
    hands = [desk for _, desk in staves]
    over = over_the_tune(hands, material, sketch.bars, tables or load_tables(), house) if voiced.hands else {}
    parts: list[Part] = []
    played = context.in_hands(hands, material)
    for number, ((seat, (player, own)), notes) in enumerate(zip(staves, played, strict=True)):
        softer = replace(voiced, softer=yields(player, own, winds, over, material, sketch.bars, house))
        page = _part(f"P{number + 1}", player, own, notes, replace(context, voiced=softer), () if number else top)
        parts.append(replace(page, seat=seat))
    notices = left_out(sketch, house, parts)
    score = Score(
        grid.ticks, sketch.title, sketch.composer, grid.bars, tuple(parts), reading.tempo, notices=notices, house=house
    )
    return transposed(score)


@dataclass(frozen=True)
class _Context:
    """What all parts share."""

    sketch: Sketch
    grid: Grid
    house: Notation
    voiced: Voiced
    slurs: Slurs
    pedal: Pedal
    tempo: TempoMap
    joints: tuple[int, ...]
    fermatas: tuple[int, ...]

    def seconds(self, tick: int) -> float:
        """From the beginning to a tick of the score."""
        return self.tempo.seconds(tick / self.grid.factor)

    def in_hands(
        self, hands: Sequence[tuple[Player, Sequence[Choice]]], material: Material
    ) -> list[tuple[Played, ...]]:
        """The notes of each player, with room to breathe."""
        joints = [(*self.joints, *(choice.start * self.grid.factor for choice in own)) for _, own in hands]
        notes = [self._in_hand(player, own, material) for player, own in hands]
        players = [player for player, _ in hands]
        rested = lifted(list(zip(players, notes, joints, strict=True)), self.seconds, self.grid, self.house)
        return [
            breaths(player, own, places, self.seconds, self.house)
            for player, own, places in zip(players, rested, joints, strict=True)
        ]

    def _in_hand(self, player: Player, choices: Sequence[Choice], material: Material) -> tuple[Played, ...]:
        """A player's notes with all that he must be told on them."""
        notes = signed(played_by(player, choices, material, self.grid), self.house.techniques)
        notes = rung(notes, self.house.techniques, self.seconds, self.grid.beat_at)
        if is_harp(player):
            notes = by_pedals(notes, self.seconds, self.house.foot)
        return released(self.pedal.applied(player, notes), self.grid)


def _fermatas(sketch: Sketch, grid: Grid) -> tuple[int, ...]:
    """Last ticks of the notes that are held."""
    return tuple(sorted({n.end * grid.factor - 1 for n in sketch.notes if "fermata" in n.marks and n.duration}))


def _part(
    name: str,
    player: Player,
    choices: Sequence[Choice],
    notes: Sequence[Played],
    context: _Context,
    top: Iterable[Placed],
) -> Part:
    staff_of = [_staff(note, context.sketch) for note in notes]
    staves = dict(zip((note.key for note in notes), staff_of, strict=True))

    def force(note: Played) -> str:
        return context.voiced.force(note.onset, staves[note.key])

    layout = lay_out(player, notes, context.grid.bars, context.house.hand)
    lyrics = syllables(player, notes, context.sketch, force, context.house)
    page = Page(player, context.grid, context.house, lyrics)
    for bar, voices in zip(context.grid.bars, layout, strict=True):
        page.write(bar, voices)
    bows = Bows(player, context.grid, context.house, force, context.seconds)
    page.slur(bows.of(context.slurs.in_hand(notes, context.pedal)))
    page.hold(context.fermatas)
    placed = [
        *top,
        *divisi_words(player, choices, notes, context.grid, context.house),
        *change_words(player, notes, context.house),
        *tuning_words(player, notes, context.grid),
        *dict.fromkeys(
            (
                *words_of(notes, staff_of, context.voiced),
                *technique_words(notes, context.house.techniques, player.instrument.kind == "bowed"),
            )
        ),
        *with_swells(
            notes,
            (
                *dynamics_of(notes, staff_of, context.voiced, context.grid),
                *wedges_of(notes, staff_of, context.voiced, context.grid, player),
            ),
            force,
            context.grid.ticks,
        ),
    ]
    in_hand = held(player, notes, context.grid)
    measures = tuple(replace(m, held=other) for m, other in zip(page.measures(placed), in_hand, strict=True))
    return Part(name, part_name(player), _short(player), player, player.instrument.transposition, measures)


def _staff(note: Played, sketch: Sketch) -> int:
    source = next((sketch.by_id[s] for s in note.note.sources if s in sketch.by_id), None)
    return source.staff if source else -1


def part_name(player: Player) -> str:
    """The full name in front of the first system: "Horn in F 1", "Violin I"; a name of the line-up's own stays."""
    instrument = player.instrument
    if player.doubles and not player.name.startswith(instrument.player):
        return player.name
    return f"{instrument.name}{_seat(player)}"


def _short(player: Player) -> str:
    if player.doubles and not player.name.startswith(player.instrument.player):
        return f"{player.name[:4]}.{_seat(player)}"
    return f"{player.instrument.short}{_seat(player)}"


def _seat(player: Player) -> str:
    if not player.number:
        return ""
    return f" {roman(player.number) if player.instrument.family == 'strings' else player.number}"
