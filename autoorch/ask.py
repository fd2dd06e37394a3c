"""Questions about a draft that stands in its folder: why a player has this here, and what it would cost if another had it."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection
from dataclasses import replace
from pathlib import Path

from autoorch import told
from autoorch.brief import named
from autoorch.errors import BriefError, NoDraft
from autoorch.pipeline import Result, again, problem_of
from autoorch.plain import plain
from autoorch.problem.data import ProblemData
from autoorch.problem.draft import Choice
from autoorch.rules import RULES
from autoorch.sketch.bars import find_bar
from autoorch.solver.asked import Instead, Lock, options_of
from autoorch.solver.statements import gather
from autoorch.solver.why import Ledger, reasons
from autoorch.tables import Tables
from autoorch.write.record import Record, otherwise, read_record


def why(folder: Path, bar: str, player: str | None, other: str | None, tables: Tables, as_json: bool = False) -> str:
    """The reasons of the choices in a bar, of one player or of all; with `other`, what it costs if he takes the place.

    Args:
        as_json: every figure, with the strands' ids, instead of a few lines.
    Raises:
        AutoorchError: where the folder holds no draft, or for bars and players that are not there.
    """
    made = read_record(folder, tables)
    data = problem_of(made, tables)
    choices = choices_at(made, bar, player, tables)
    changed = [f"note: {line}; the figures may differ from the draft's own" for line in otherwise(made, tables)]
    if other is not None:
        result, title = forced(made, data, choices, bar, other, tables)
        if as_json:
            return told.instead_json(made.draft, result.draft, title)
        return "\n".join([*changed, told.instead(data, made.sketch, made.draft, result.draft, title)])
    said = gather(data, RULES + made.asked.rules)
    found = reasons(Ledger(data, options_of(data, made.draft.choices), said), choices)
    if as_json:
        return json.dumps(plain(found), ensure_ascii=False, indent=1)
    if player is not None:
        return "\n".join(changed + [told.why_one(made.sketch, reason) for reason in found])
    return "\n".join([*changed, told.why(made.sketch, bar, found)])


def choices_at(made: Record, bar: str, player: str | None, tables: Tables) -> tuple[Choice, ...]:
    """The choices whose span covers some of a bar, of one name's players or of all.

    Raises:
        BriefError: for a bar or player that is not there or has nothing there.
    """
    here = find_bar(made.sketch, bar)
    names = {p.name for p in named([player], made.lineup, tables, "--player")} if player else None
    found = tuple(
        choice
        for choice in made.draft.choices
        if choice.start < here.end and choice.end > here.onset and (names is None or choice.player in names)
    )
    if not found:
        raise BriefError(f"bar {here.number}: {player or 'nobody'} has nothing there")
    return found


def forced(
    made: Record, data: ProblemData, choices: tuple[Choice, ...], bar: str, other: str, tables: Tables
) -> tuple[Result, str]:
    """(the draft made again with another player in the place of these choices' one player, the change in words).

    Phrases that are not near stay as they are, unless nothing holds together so.

    Raises:
        BriefError: where that is not one player's place, or the other can't take it at all.
        NoDraft: where nothing holds together with it.
    """
    owners = list(dict.fromkeys(choice.player for choice in choices))
    if len(owners) > 1:
        raise BriefError(f"bar {bar}: say with --player whose place it is: {', '.join(owners)}")
    players = named([other], made.lineup, tables, "--instead")
    if len(players) != 1:
        raise BriefError(f'--instead wants one player, "{other}" means {len(players)}')
    if players[0].name == owners[0]:
        raise BriefError(f"bar {bar}: {owners[0]} has it already; name another player with --instead")
    spans = tuple((choice.strand, choice.start) for choice in choices)
    possible = {
        (data.strands[data.spans[o.span].strand].id, data.spans[o.span].start)
        for o in data.options
        if data.players[o.player].name == players[0].name
    }
    if missing := [choice for choice in choices if (choice.strand, choice.start) not in possible]:
        role = data.material.strand[missing[0].strand].role
        raise BriefError(f"bar {bar}: {players[0].name} can't take the {role} at any octave; name another player")
    title = f"bar {bar}, {players[0].name} instead of {owners[0]}"
    asked = replace(made.asked, instead=Instead(players[0].name, owners[0], spans))
    try:
        return again(
            replace(made, asked=replace(asked, locks=asked.locks + _elsewhere(data, made, spans))), tables
        ), title
    except NoDraft:
        return again(replace(made, asked=asked), tables), title


def _elsewhere(data: ProblemData, made: Record, places: Collection[tuple[str, int]]) -> tuple[Lock, ...]:
    """Everything as it is but in the phrases of these places (strand, start) and the ones beside them."""
    phrases = {span.phrase for span in data.spans if (data.strands[span.strand].id, span.start) in places}
    free = {near for phrase in phrases for near in (phrase - 1, phrase, phrase + 1)}
    own: dict[tuple[str, int], list[Choice]] = defaultdict(list)
    for choice in made.draft.choices:
        own[choice.strand, choice.start].append(choice)
    locked = {(one.strand, one.start) for one in made.asked.locks}
    return tuple(
        Lock(f"bar {data.bar_name[span.start]} and on: as it is", *key, tuple(own[key]))
        for span in data.spans
        if span.phrase not in free
        and data.by_span[span.index]
        and (key := (data.strands[span.strand].id, span.start)) not in locked
    )
