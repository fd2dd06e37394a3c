"""Questions about a draft that stands in its folder: why a player has this here, and what it would cost if another had it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from autoorch import told
from autoorch.brief import named
from autoorch.errors import BriefError
from autoorch.pipeline import Result, again, problem_of
from autoorch.problem.data import ProblemData
from autoorch.problem.draft import Choice
from autoorch.sketch.bars import find_bar
from autoorch.solver.asked import Instead
from autoorch.solver.why import reasons
from autoorch.tables import Tables
from autoorch.write.record import Record, otherwise, read_record


def why(folder: Path, bar: str, player: str | None, other: str | None, tables: Tables) -> str:
    """The reasons of the choices in a bar, of one player or of all; with `other`, what it costs if he takes the place.

    Raises:
        AutoorchError: where the folder holds no draft, or for bars and players that are not there.
    """
    made = read_record(folder, tables)
    data = problem_of(made, tables)
    choices = choices_at(made, bar, player, tables)
    changed = [f"note: {line}; the figures may differ from the draft's own" for line in otherwise(made, tables)]
    if other is not None:
        result, title = forced(made, data, choices, bar, other, tables)
        return "\n".join([*changed, told.instead(data, made.sketch, made.draft, result.draft, title)])
    return "\n".join(changed + [told.why(made.sketch, reason) for reason in reasons(data, made.draft, choices)])


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
    spans = tuple((choice.strand, choice.start) for choice in choices)
    possible = {
        (data.strands[data.spans[o.span].strand].id, data.spans[o.span].start)
        for o in data.options
        if data.players[o.player].name == players[0].name
    }
    if missing := [choice for choice in choices if (choice.strand, choice.start) not in possible]:
        role = data.material.strand[missing[0].strand].role
        raise BriefError(f"bar {bar}: {players[0].name} can't take the {role} ({missing[0].strand}) at any octave")
    asked = replace(made.asked, instead=Instead(players[0].name, owners[0], spans))
    title = f"bar {bar}, {players[0].name} instead of {owners[0]}"
    return again(replace(made, asked=asked), tables), title
