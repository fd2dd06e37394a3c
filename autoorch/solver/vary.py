"""Several drafts of one cue that truly differ: how far two are apart, what to try for another, and what sets one apart.

Two drafts differ in a span of the sketch's own strands where not the same sorts of players have it in the same octaves:
Horn 1 for Horn 2 is no difference.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from autoorch.brief import LEADING, Brief
from autoorch.problem.data import ProblemData
from autoorch.problem.draft import Choice, Draft
from autoorch.rules import RULES
from autoorch.solver.asked import PRINCIPAL, Apart, Asked, carrier, options_of, sort_of
from autoorch.solver.solve import Limits, windows
from autoorch.tables import Tables

_Sort = tuple[str, int]
Solved = tuple[ProblemData, Draft]
"""A draft with the problem that it solves; drafts of other line-ups have problems of their own."""


def apart(one: Solved, two: Solved) -> tuple[float, float, float]:
    """(share of the spans in which two drafts differ, share of them that are melody, bass or figure and differ by family or
    octave, share of the melody, in quarter-bars, that who carries it in the first does not have so in the second)."""
    (data, first), (others, second) = one, two
    spans = [span for span in data.spans if data.is_assigned(span.strand)]
    mine, other = _by_span(first.choices), _by_span(second.choices)
    taken = options_of(data, first.choices)
    differing = principal = tune = sung = 0
    for span in spans:
        key = data.strands[span.strand].id, span.start
        differing += _sorts(data, mine[key]) != _sorts(others, other[key])
        role = data.strands[span.strand].role
        if role in PRINCIPAL:
            principal += _families(data, mine[key]) != _families(others, other[key])
            if (leader := carrier(data, span, taken)) is not None:
                sung += span.length
                tune += span.length * (sort_of(data, leader) not in _sorts(others, other[key]))
    return differing / max(1, len(spans)), principal / max(1, len(spans)), tune / max(1, sung)


def _by_span(choices: Collection[Choice]) -> dict[tuple[str, int], list[Choice]]:
    found: dict[tuple[str, int], list[Choice]] = defaultdict(list)
    for choice in choices:
        found[choice.strand, choice.start].append(choice)
    return found


def _sorts(data: ProblemData, choices: Collection[Choice]) -> frozenset[_Sort]:
    return frozenset((instrument_of(data, choice), choice.octave) for choice in choices)


def _families(data: ProblemData, choices: Collection[Choice]) -> frozenset[_Sort]:
    return frozenset((data.tables.instruments[instrument_of(data, c)].family, c.octave) for c in choices)


def instrument_of(data: ProblemData, choice: Choice) -> str:
    """Id of the instrument that a choice is played on."""
    return choice.instrument or data.lineup.by_name[choice.player].instrument.id


def seen(data: ProblemData, limits: Limits) -> Limits:
    """The limits for a draft that shall differ: one chain, since shares are counted from the beginning on."""
    whole: float = data.tables.rule("drafts")["differ"]["whole"]
    short = len(data.options) <= whole * limits.options
    return replace(limits, chains=1, options=len(data.options) if short else limits.options)


def unlike(
    tables: Tables, drafts: Sequence[tuple[Choice, ...]], kept: Sequence[tuple[int, int]] = (), tune: float = 1.0
) -> Apart:
    """Differ from the choices of all of these drafts, but for what is kept (start, end in ticks), and by `tune` times the usual
    share of the tune."""
    table = tables.rule("drafts")["differ"]
    share = table["passage" if kept else "tune"]
    principal = table["spans"] * table["principal"]
    return Apart(tuple(drafts), table["spans"], principal, kept=tuple(kept), tune=share * tune)


def in_windows(data: ProblemData, limits: Limits, asked: Asked) -> Asked:
    """What is asked, with the shares of what differs reached in each window, so that none asks what another could not give."""
    if asked.apart is None or asked.apart.ends:
        return asked
    ends = tuple(data.plan[keep - 1].end for _, keep, _ in windows(data, seen(data, limits)))
    return replace(asked, apart=replace(asked.apart, ends=ends))


def tries(
    data: ProblemData, brief: Brief, limits: Limits, used: Collection[str], tune: float = 1.0
) -> Iterator[tuple[Brief, Limits, float]]:
    """What to try for another draft, and how much of its tune is to differ, beside the usual share and at most `tune`: another
    family in the lead where the brief leaves that open, then the brief itself, then the brief in wider windows; last both with
    less of the tune asked for, and with none."""
    table = data.tables.rule("drafts")["differ"]
    shares: Sequence[float] = table["in_turn"]
    if not brief.leading and tune == shares[0]:
        there = {player.instrument.family for player in data.players}
        for leading, families in LEADING.items():
            if leading not in used and there.intersection(families):
                yield replace(brief, leading=leading), limits, tune
    for moved in (share for share in shares if share <= tune):
        yield brief, limits, moved
        if len(data.options) > table["whole"] * limits.options:
            yield brief, replace(limits, options=table["wider"] * limits.options), moved


def own_cost(draft: Draft) -> int:
    """What a draft costs by the rules of the craft alone: to have left an accepted draft is no fault of the music."""
    names = {rule.NAME for rule in RULES}
    return sum(cost for name, cost in draft.costs.items() if name in names)


def dearer(best: Draft, other: Draft) -> float:
    """How much more a draft costs than the best, as a share of it."""
    return (own_cost(other) - own_cost(best)) / max(1, own_cost(best))


def dearest(data: ProblemData, best: Draft) -> float:
    """What another draft may cost."""
    return (1 + float(data.tables.rule("drafts")["differ"]["dearer"])) * own_cost(best)


def label(one: Solved, others: Sequence[Solved]) -> str:
    """One line on what sets a draft apart: which sorts of players have a role longer here than in any other, or else than in the
    others on the mean, from which bar on, and how full it is beside those of the same line-up."""
    table = one[0].tables.rule("drafts")["label"]
    mine, theirs = _lengths(one), [_lengths(other) for other in others]
    gains: dict[tuple[str, _Sort], tuple[int, int]] = {}
    for key, length in mine.items():
        usual = [other.get(key, 0) for other in theirs] or [0]
        more = max(0, length - max(usual)), round(length - sum(usual) / len(usual))
        gains[key] = more[0] * table["worth"][key[0]], more[1] * table["worth"][key[0]]
    said: list[str] = []
    roles: set[str] = set()
    for role, sort in sorted(gains, key=lambda key: (-gains[key][0], -gains[key][1], key)):
        only, mean = gains[role, sort]
        if (only or not said) and mean > 0 and role not in roles and len(said) < table["most"]:
            roles.add(role)
            said.append(f"{role} in {_named(one[0], sort)} {_from_bar(one, others, role, sort)}")
    weight, rest = _fullness(one[1]), [_fullness(other) for data, other in others if data.players == one[0].players]
    if rest and abs(weight / max(1, sum(rest) / len(rest)) - 1) >= table["noticed"]:
        usually = sum(rest) / len(rest)
        said.append(f"{abs(weight / usually - 1):.0%} {'fuller' if weight > usually else 'leaner'}")
    return "; ".join(said) or "as the others"


def _lengths(solved: Solved) -> dict[tuple[str, _Sort], int]:
    """(role, sort of player) -> ticks in which it has the role."""
    data, draft = solved
    telling = data.tables.rule("drafts")["label"]["worth"]
    found: dict[tuple[str, _Sort], int] = defaultdict(int)
    for (strand, _), choices in _by_span(draft.choices).items():
        if (role := data.material.strand[strand].role) in telling:
            for sort in _sorts(data, choices):
                found[role, sort] += choices[0].end - choices[0].start
    return found


def _named(data: ProblemData, sort: _Sort) -> str:
    name, octave = sort
    own = [player for player in data.players if player.instrument.id == name]
    instrument = data.tables.instruments[name]
    called = instrument.player if len(own) == 1 and own[0].size == 1 else instrument.plural
    return called + (f" ({octave:+d} oct.)" if octave else "")


def _from_bar(one: Solved, others: Sequence[Solved], role: str, sort: _Sort) -> str:
    """ "from bar 9": the first of the spans in which the sort has the role here and in fewest other drafts."""
    data, draft = one
    own = _by_span(draft.choices)
    rest = [(problem, _by_span(other.choices)) for problem, other in others]
    has = [
        key
        for key in sorted(own, key=lambda key: (key[1], key[0]))
        if data.material.strand[key[0]].role == role and sort in _sorts(data, own[key])
    ]
    elsewhere = [sum(sort in _sorts(problem, other.get(key, [])) for problem, other in rest) for key in has]
    strand, start = has[elsewhere.index(min(elsewhere))]
    sounds = [
        note.onset
        for choice in own[strand, start]
        for line in choice.lines
        for note in data.material.line[line].notes
        if choice.start <= note.onset < choice.end
    ]
    bar = data.bars[max(0, bisect_right(data.bars, min(sounds, default=start)) - 1)]
    return f"from bar {data.bar_name[bar]}"


def _fullness(draft: Draft) -> int:
    """Ticks of all choices added up."""
    return sum(choice.end - choice.start for choice in draft.choices)
