"""What a command says when it is done, as text: the result of a draft on one screen, reasons, a table of drafts."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from autoorch.layers.model import MaterialLine
from autoorch.level import LEVELS
from autoorch.lineup import level_of
from autoorch.lost import ESSENTIAL
from autoorch.pipeline import Result
from autoorch.plain import plain
from autoorch.problem.data import SOME, WHOLE, ProblemData
from autoorch.problem.draft import FATES, Choice, Draft
from autoorch.roles.model import Reading
from autoorch.rules import RULES, check
from autoorch.sketch.bars import runs, spelled
from autoorch.sketch.model import Sketch
from autoorch.solver.asked import Near, options_of
from autoorch.solver.result import choices
from autoorch.solver.vary import own_cost
from autoorch.solver.why import Reason, Share
from autoorch.write.page.words import needed_words, octave_words
from autoorch.write.queries import IDLE, idle

STATES = ("kept", "bent", "refused")
"""What can become of a direction."""
WIDE = 6
"""Places told of a change."""
MOST = 4
"""Lines told of each kind; the rest stands in queries.txt."""


def of_reading(sketch: Sketch, reading: Reading) -> list[str]:
    """Strands, cues, what was taken for granted and what is asked, a line each."""
    lines = []
    for strand in reading.strands:
        notes = sum(len(line.notes) for line in strand.lines)
        many = "one line" if len(strand.lines) == 1 else f"{len(strand.lines)} lines"
        lines.append(
            f"  {strand.id} {strand.role} ({strand.texture}): {notes} {'note' if notes == 1 else 'notes'} in {many}"
        )
    for cue in reading.cues:
        weight = "kept as text" if cue.weight is None else f"weight {cue.weight:g}"
        asked = "; ".join(str(direction) for direction in cue.directions) or weight
        lines.append(f'  cue: "{cue.text}" in bar {sketch.bar_at(cue.start).number}: {asked}')
    lines += [f"  note: {line}" for line in sketch.notices + reading.notices]
    return [*lines, *(f"  query: {line}" for line in reading.queries)]


def of_midi(played: bool | None, tempo: float | None, metre: str | None) -> str:
    """The options that say so again."""
    said = "" if played is None else " --played" if played else " --notated"
    return said + (f" --tempo {tempo:g}" if tempo else "") + (f" --metre {metre}" if metre else "")


def summary(result: Result, folder: Path, label: str = "", changed: Sequence[str] = ()) -> str:
    """What happened, on one screen; `changed` is what `against` says of the drafts before."""
    draft, sketch, reading = result.draft, result.sketch, result.reading
    fates = Counter(fate.fate for fate in draft.fates)
    told = ", ".join(f"{fates[name]} {name}" for name in FATES if fates[name])
    players, level = len(result.lineup.players), level_of(result.lineup)
    of = "" if level == LEVELS[0] else f", {level}s"
    lines = [
        f"{folder}: {len(sketch.bars)} bars for {result.lineup.name}, {players} players and sections{of}",
        f"  {draft.status}, cost {own_cost(draft)}, gap {draft.gap:.1%}; {len(sketch.notes)} sketch notes: {told}",
    ]
    if label:
        lines.append(f"  apart by: {label}")
    lines += [f"  {line}" for line in changed]
    if draft.verdicts:
        states = [verdict.state for verdict in draft.verdicts]
        counts = ", ".join(f"{states.count(state)} {state}" for state in STATES if state in states)
        lines.append(f"  directions: {counts}")
    if resting := idle(result.score):
        lines.append(f"  {IDLE.lower()}: {', '.join(resting)}")
    for title, said in (
        ("not kept", sketch.lost),
        ("note", sketch.notices + reading.notices + result.material.notices + result.score.notices + draft.notices),
        ("direction", tuple(str(verdict) for verdict in draft.verdicts if verdict.state != STATES[0])),
        ("query", reading.queries),
        ("reduced", draft.losses),
    ):
        lines += [f"  {title}: {line}" for line in said[:MOST]]
        if len(said) > MOST:
            lines.append(f"  {title}: {len(said) - MOST} more in queries.txt")
    lines.append(f"  open {folder / 'score.musicxml'} in a notation program, {folder / 'mockup.mid'} in a sequencer")
    return "\n".join(lines)


def against(name: str, before: Draft, lines: Mapping[str, MaterialLine], result: Result) -> str:
    """What the next draft changes: cost by rule, and in which bars who plays what; `lines` are those of the one before, by name.

    What is asked besides the brief (to stay near, to keep bars) is no cost of the music and does not count.
    """
    after, rules = result.draft, {rule.NAME for rule in RULES}
    had, has = _by_bar(result, before.choices, lines), _by_bar(result, after.choices, result.material.line)
    bars = [bar for bar, (old, new) in enumerate(zip(had, has, strict=True)) if old != new]
    former = _valued(result, before, had)
    one, two = ({name: cost for name, cost in costs.items() if name in rules} for costs in (former, after.costs))
    changes, more = by_rule(one, two), sum(two.values()) - sum(one.values())
    dearer = "as dear" if not more else f"{abs(more)} {'dearer' if more > 0 else 'cheaper'}"
    told = [f"{_rule(rule)} {cost:+d}" for rule, cost in changes.items()]
    rest = f", {len(told) - MOST} more" if len(told) > MOST else ""
    because = f" ({', '.join(told[:MOST])}{rest})" if told else ""
    who = f"other players in {runs(result.sketch, bars)}" if bars else "the same players everywhere"
    planned = "" if before.plan == after.plan else " by another plan"
    return f"against {name}: {who}" + (f"; {dearer}{planned}{because}" if bars or more or told else "")


def _valued(result: Result, before: Draft, had: Sequence[set[tuple[object, ...]]]) -> Mapping[str, int]:
    """What the draft before costs by what the rules say now, since where bars are kept spans are cut otherwise; its own costs
    where its players can't have now all that they had."""
    chosen = options_of(result.problem, before.choices)
    if _by_bar(result, choices(result.problem, chosen), result.material.line) != list(had):
        return before.costs
    return {said.rule: check(said, result.problem.groups, chosen).cost for said in result.said.said}


def _by_bar(
    result: Result, choices: Sequence[Choice], lines: Mapping[str, MaterialLine]
) -> list[set[tuple[object, ...]]]:
    """For each bar who attacks which notes, and how; where spans are cut does not matter. A line that other versions made and
    these don't is known by its name alone."""
    found: list[set[tuple[object, ...]]] = [set() for _ in result.sketch.bars]
    for c in choices:
        how = c.player, c.octave, c.share, c.instrument, c.techniques
        for name in c.lines:
            notes = [(n.onset, n.pitch.midi) for n in lines[name].notes] if name in lines else [(c.start, name)]
            for onset, what in notes:
                if c.start <= onset < c.end:
                    found[result.sketch.bar_at(onset).index].add((*how, onset, what))
    return found


def place(sketch: Sketch, choice: Choice) -> str:
    """ "bars 9-16" of a choice."""
    return spelled(sketch, choice.start, choice.end)


def who(choice: Choice) -> str:
    """ "Oboe 1 an octave up" of a choice."""
    octave = f" {octave_words(choice.octave)}" if choice.octave else ""
    how = (
        "half of them" if choice.share < WHOLE and not set(SOME) & set(choice.techniques) else "",
        *(technique.replace("_", " ") for technique in choice.techniques),
    )
    return ", ".join((choice.player + octave, *filter(None, how)))


def why(sketch: Sketch, bar: str, found: Sequence[Reason]) -> str:
    """The reasons of a bar on one screen: by role a line for each sort of reason, with what decided and the next best."""
    heads: dict[str, list[Reason]] = {}
    for reason in sorted(found, key=lambda one: (one.role != "melody", ESSENTIAL.index(one.role))):
        heads.setdefault(f"{reason.role}, {place(sketch, reason.choice)}", []).append(reason)
    lines = []
    for head, own in heads.items():
        alike: dict[tuple[str, str], dict[str, None]] = {}
        for reason in own:
            key = _added(reason), f"{_because(reason)}; {_next_best(reason, 0)}"
            alike.setdefault(key, {})[who(reason.choice)] = None
        lines += [head, *(f"  {_listed(list(names))}{ours}: {said}" for (ours, said), names in alike.items())]
    return "\n".join([*lines, f"--player NAME tells what it costs and spares in bar {bar}, --json gives every figure"])


def _listed(names: Sequence[str]) -> str:
    """ "Flute 1, Oboe 1 and Horn 2"."""
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def why_one(sketch: Sketch, reason: Reason) -> str:
    """One player's reason in a few lines: what it is, what decided, what it costs and spares by rule, the next best."""
    choice = reason.choice
    lines = [f"{who(choice)}: {reason.role}, {place(sketch, choice)}{_added(reason)}", f"  {_because(reason)}"]
    for word, shares in (
        ("spares", [replace(share, cost=-share.cost) for share in reason.shares if share.cost < 0]),
        ("costs", [share for share in reason.shares if share.cost > 0]),
    ):
        if shares:
            lines.append(f"  {word} {sum(share.cost for share in shares)}: {_by_rule(shares)}")
    return "\n".join([*lines, f"  {_next_best(reason, MOST)}"])


def _added(reason: Reason) -> str:
    return f" (added: {reason.why_added})" if reason.layer != "assigned" else ""


def _because(reason: Reason) -> str:
    """What decided that somebody has it: a direction, a need, else the dearest thing that would go wrong."""
    said = [f'asked for ("{"; ".join(reason.asked)}")'] if reason.asked else []
    if reason.needed:
        said.append(needed_words(reason.needed))
    elif not said:
        worst = min(reason.shares, key=lambda share: share.cost, default=None)
        if worst is not None and worst.cost < 0:
            said.append(f"else {worst.what} ({_rule(worst.rule)} {-worst.cost})")
        else:
            said.append("it costs nothing" if not reason.without else f"leaving it out would spare {-reason.without}")
    return ", ".join(said)


def _next_best(reason: Reason, most: int) -> str:
    """The cheapest other player and what makes it dearer; up to `most` rules of it, or the chief one in words."""
    other = reason.other
    if other is None:
        return "nobody else can take its place alone"
    against = f', against "{"; ".join(other.against)}"' if other.against else ""
    price = f"{abs(other.cost)} {'dearer' if other.cost >= 0 else 'cheaper'}" if other.cost else "as dear"
    shares = [share for share in other.shares if share.cost > 0]
    chief = next((share for share in shares if share.rule != Near.NAME), shares[0]) if shares else None
    because = f": {_by_rule(shares) if most else chief.what}" if chief and other.cost > 0 else ""
    return f"next best {who(other.choice)}, {price}{against}{because}"


def _by_rule(shares: Sequence[Share]) -> str:
    """ "plan 216 (the tune is not with the clarinets), continuity 52": costs by rule, the dearest with its chief words."""
    sums: dict[str, int] = {}
    for share in shares:
        sums[share.rule] = sums.get(share.rule, 0) + share.cost
    rules = sorted(sums, key=lambda rule: (-sums[rule], rule))
    what = next(share.what for share in shares if share.rule == rules[0])
    told = [
        f"{_rule(rule)} {sums[rule]}" + (f" ({what})" if rule == rules[0] and what else "") for rule in rules[:MOST]
    ]
    return ", ".join(told) + (f", {len(rules) - MOST} more" if len(rules) > MOST else "")


def _rule(name: str) -> str:
    return name.replace("_", " ")


def by_rule(before: Mapping[str, int], after: Mapping[str, int]) -> dict[str, int]:
    """Rule -> cost after less cost before, rules that stay the same left out; largest change first."""
    names = {name: after.get(name, 0) - before.get(name, 0) for name in (*before, *after)}
    return dict(sorted(((n, c) for n, c in names.items() if c), key=lambda pair: (-abs(pair[1]), pair[0])))


def instead(data: ProblemData, sketch: Sketch, before: Draft, after: Draft, title: str) -> str:
    """What a forced choice changes: the cost by rule, and whoever else changes with it."""
    changes = by_rule(before.costs, after.costs)
    told = [f"{_rule(name)} {cost:+d}" for name, cost in changes.items()]
    rest = f", {len(told) - MOST} more" if len(told) > MOST else ""
    lines = [f"{title}: cost {before.objective} becomes {after.objective} ({after.objective - before.objective:+d})"]
    lines.append(f"  by rule: {', '.join(told[:MOST]) or 'nothing costs more or less'}{rest}")
    gone, new = (_by_place(data, sketch, one, set(two.choices)) for one, two in ((before, after), (after, before)))
    places = sorted(dict.fromkeys((*gone, *new)), key=lambda place: (place[0], ESSENTIAL.index(place[1])))
    nobody = ["nobody"]
    for place_ in places[:WIDE]:
        _, role, where = place_
        now, had = (_listed(list(names.get(place_, nobody))) for names in (new, gone))
        lines.append(f"  {role}, {where}: {now} for {had}")
    more = f"{len(places) - WIDE} more places change; " if len(places) > WIDE else ""
    return "\n".join([*lines, f"  {more}--json gives every choice that changes"])


def _by_place(
    data: ProblemData, sketch: Sketch, draft: Draft, other: Collection[Choice]
) -> dict[tuple[int, str, str], dict[str, None]]:
    """(start, role, bars) -> who has some of it there in one draft and not so in the other."""
    found: dict[tuple[int, str, str], dict[str, None]] = {}
    for choice in draft.choices:
        if choice not in other:
            role = data.material.strand[choice.strand].role
            found.setdefault((choice.start, role, place(sketch, choice)), {})[who(choice)] = None
    return found


def instead_json(before: Draft, after: Draft, title: str) -> str:
    """The same with every choice that changes, as JSON."""
    gone, new = set(before.choices) - set(after.choices), set(after.choices) - set(before.choices)
    found = {
        "title": title,
        "before": before.objective,
        "after": after.objective,
        "by_rule": by_rule(before.costs, after.costs),
        "no_longer": plain([choice for choice in before.choices if choice in gone]),
        "now": plain([choice for choice in after.choices if choice in new]),
    }
    return json.dumps(found, ensure_ascii=False, indent=1)
