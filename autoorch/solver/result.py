"""From chosen options to a draft: choices, costs recomputed by the rules, and the fate of every sketch note."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from autoorch.layers.model import Manner
from autoorch.problem.data import Option, ProblemData
from autoorch.problem.draft import Added, Choice, Draft, Fate, Verdict
from autoorch.problem.manners import Ways
from autoorch.rules import check, price
from autoorch.rules.directions import kept
from autoorch.sketch.model import Sketch
from autoorch.solver.solve import Solution
from autoorch.solver.statements import GIVE_WAY, Statements

DEARER = "somebody could play it, but the cheapest draft found leaves it out"
OUT_OF_REACH = "no player of the line-up can take the line it stands in"


def make_draft(sketch: Sketch, data: ProblemData, solution: Solution, said: Statements) -> Draft:
    """The draft of a solution to what the rules have said. Its costs come from their own check, not from the solver.

    Raises:
        AssertionError: where the rules' sum and the solver's differ, or a limit does not hold; that is a fault of ours.
    """
    reports = [check(one, data.groups, solution.chosen) for one in said.said]
    costs = {r.rule: r.cost for r in reports}
    total = sum(costs.values())
    given_up = [name for r in reports for name in r.broken if name.startswith(GIVE_WAY)]
    broken = [name for r in reports for name in r.broken if not name.startswith(GIVE_WAY)]
    if broken:
        raise AssertionError(f"limits broken: {broken[:3]}")
    if total != solution.solver_cost:
        raise AssertionError(f"the rules count {total}, the solver {solution.solver_cost}")
    fates = note_fates(sketch, data, solution.chosen)
    proven = solution.slack == 0 and solution.windows == 1
    status = "stopped" if solution.stopped else "optimal" if proven else "feasible"
    return Draft(
        choices=choices(data, solution.chosen),
        fates=fates,
        costs=costs,
        directed=sum(price(cost, data.groups, solution.chosen) for phrase in said.shortfalls for cost in phrase),
        objective=total,
        bound=total - solution.slack,
        status=status,
        losses=data.losses + tuple(_given_up(name) for name in given_up) + _losses(sketch, fates),
        verdicts=verdicts(data, solution.chosen),
        plan=data.plan,
        added=added(data, solution.chosen),
    )


def added(data: ProblemData, chosen: frozenset[int]) -> tuple[Added, ...]:
    """The strands of ours that are played, in the order of the layers."""
    played = {data.spans[data.options[index].span].strand for index in chosen}
    return tuple(
        Added(strand.id, strand.layer, strand.reason)
        for number, strand in enumerate(data.strands)
        if number in played and strand.layer != "assigned"
    )


def verdicts(data: ProblemData, chosen: frozenset[int]) -> tuple[Verdict, ...]:
    """Each direction of the brief: what keeps players out holds in a draft; what wants them in, by the quarter-bars that have
    them."""
    found = []
    for wish in data.wishes:
        share = kept(data, wish, chosen) if wish.kind in ("must", "prefer") else 1.0
        if share == 1:
            found.append(Verdict(wish.name, "kept"))
        elif share:
            why = "; elsewhere it can't be played" if wish.kind == "must" else ""
            found.append(Verdict(wish.name, "bent", f"kept in {share:.0%} of it{why}"))
        else:
            found.append(
                Verdict(
                    wish.name, "refused", "it holds nowhere together with what must hold and what else is preferred"
                )
            )
    return (*found, *_ways(data, chosen))


def _ways(data: ProblemData, chosen: frozenset[int]) -> Iterator[Verdict]:
    """Each way of playing that the brief asks for, by the quarter-bars in which those whom it is for, and who can, play so."""
    ways = Ways(data.material, data.tables)
    asked: dict[str, list[Manner]] = defaultdict(list)
    for manner in data.material.manners:
        if manner.asked and manner.technique:
            asked[manner.reason].append(manner)
    for name, manners in asked.items():
        technique = manners[0].technique
        here = [o for o in map(data.options.__getitem__, sorted(chosen)) if any(_is_for(data, m, o) for m in manners)]
        can = [o for o in here if ways.could(data.players[o.player], data.instrument(o), technique)]
        total, done = sum(map(data.busy, can)), sum(data.busy(o) for o in can if ways.is_so(o, technique))
        if not can:
            why = "nobody who plays there can" if here else "nobody whom it is for plays there"
            yield Verdict(f"{name}: way of playing", "refused", why)
        elif done == total:
            yield Verdict(f"{name}: way of playing", "kept")
        else:
            ranged = {"range", "partials"} & data.tables.rule("techniques")["technique"][technique].keys()
            why = "notes beyond what can be played so" if ranged else "a section that is divided there"
            state, share = ("bent", f"kept in {done / total:.0%} of it; elsewhere ") if done else ("refused", "")
            yield Verdict(f"{name}: way of playing", state, share + why)


def _is_for(data: ProblemData, manner: Manner, option: Option) -> bool:
    span = data.spans[option.span]
    inside = manner.strand == data.strands[span.strand].id and manner.start <= span.start < manner.end
    return inside and (not manner.players or data.players[option.player].name in manner.players)


def _given_up(name: str) -> str:
    """ "third heard/bar 5" as a loss."""
    what, place = name.split("/", 1)
    return f"{place}: no player left for a {what.removesuffix(' heard')}"


def choices(data: ProblemData, chosen: frozenset[int]) -> tuple[Choice, ...]:
    """Chosen options as choices, by time, player and strand."""
    options = sorted(
        (data.options[i] for i in sorted(chosen)),
        key=lambda o: (data.spans[o.span].start, o.player, data.spans[o.span].strand, o.lines),
    )
    return tuple(choice_of(data, option) for option in options)


def choice_of(data: ProblemData, option: Option) -> Choice:
    """One option as a choice."""
    span = data.spans[option.span]
    strand = data.strands[span.strand]
    return Choice(
        data.players[option.player].name,
        strand.id,
        tuple(strand.lines[k].id for k in option.lines),
        option.octave,
        span.start,
        span.end,
        option.share,
        option.instrument,
        option.techniques,
    )


def note_fates(sketch: Sketch, data: ProblemData, chosen: frozenset[int]) -> tuple[Fate, ...]:
    """Exactly one fate for each sketch note, in note order."""
    home: dict[str, set[str]] = defaultdict(set)
    moved: dict[str, set[str]] = defaultdict(set)
    made: dict[str, set[str]] = defaultdict(set)
    for index in sorted(chosen):
        option = data.options[index]
        if not data.is_assigned(data.spans[option.span].strand):
            continue
        name = data.players[option.player].name
        for profile in data.profiles(option):
            for carried in profile.notes:
                for source in carried.sources:
                    (made if carried.id != source else moved if option.octave else home)[source].add(name)
    order = {player.name: number for number, player in enumerate(data.players)}
    heard = _heard(sketch, home.keys() | moved.keys() | made.keys())
    offered = {
        source
        for option in data.options
        if data.is_assigned(data.spans[option.span].strand)
        for profile in data.profiles(option)
        for carried in profile.notes
        for source in carried.sources
    }
    found = []
    for note in sketch.notes:
        if note.id in home:
            found.append(Fate(note.id, "copied", tuple(sorted(home[note.id], key=order.__getitem__))))
        elif note.id in moved:
            found.append(Fate(note.id, "octave moved", tuple(sorted(moved[note.id], key=order.__getitem__))))
        elif note.id in made:
            found.append(Fate(note.id, "re-figured", tuple(sorted(made[note.id], key=order.__getitem__))))
        elif any(pitch == note.pitch.midi % 12 for pitch in heard[note.onset]):
            found.append(
                Fate(note.id, "thinned", (), "its pitch class is heard at the same time in another octave or part")
            )
        else:
            found.append(Fate(note.id, "dropped", (), DEARER if note.id in offered else OUT_OF_REACH))
    return tuple(found)


def _heard(sketch: Sketch, kept: set[str]) -> dict[int, set[int]]:
    """onset -> pitch classes of kept notes that sound then"""
    onsets = sorted({note.onset for note in sketch.notes})
    found: dict[int, set[int]] = {onset: set() for onset in onsets}
    active: list[tuple[int, int]] = []
    notes = [note for note in sketch.notes if note.id in kept]
    position = 0
    for onset in onsets:
        while position < len(notes) and notes[position].onset <= onset:
            active.append((max(notes[position].end, notes[position].onset + 1), notes[position].pitch.midi % 12))
            position += 1
        active = [(end, degree) for end, degree in active if end > onset]
        found[onset] = {degree for _, degree in active}
    return found


def _losses(sketch: Sketch, fates: tuple[Fate, ...]) -> tuple[str, ...]:
    """One line a bar for what was thinned or dropped."""
    by_bar: dict[str, dict[str, int]] = {}
    for note, fate in zip(sketch.notes, fates, strict=True):
        if fate.fate in ("thinned", "dropped"):
            bar = by_bar.setdefault(sketch.bar_at(note.onset).number, {})
            bar[fate.fate] = bar.get(fate.fate, 0) + 1
    return tuple(
        f"bar {bar}: "
        + ", ".join(f"{count} {'note' if count == 1 else 'notes'} {fate}" for fate, count in sorted(kinds.items()))
        for bar, kinds in by_bar.items()
    )
