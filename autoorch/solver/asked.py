"""What one solve is asked besides the brief, each a rule made for it: keep bars, lock places, stay near, differ, force.

They speak of another draft's choices, so they can be written down with a draft and made again. Like any rule they state
limits and costs once; the solver encodes them and the draft's report evaluates them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from autoorch.layers.kept import Passage
from autoorch.layers.model import PhrasePlan
from autoorch.problem.data import Option, ProblemData, Span
from autoorch.problem.draft import Choice
from autoorch.problem.kept import covers
from autoorch.problem.terms import Cost, Form, Limit
from autoorch.rules import Rule
from autoorch.rules.balance import strength
from autoorch.rules.unary import alone

PRINCIPAL = ("melody", "bass", "figure")


def options_of(data: ProblemData, choices: Iterable[Choice]) -> frozenset[int]:
    """The options that are these choices, or parts of them where spans are cut more finely; others are left out."""
    found = set()
    for c in choices:
        for option in data.by_way.get((c.player, c.strand, c.octave, c.share, c.instrument, c.techniques), ()):
            span = data.spans[option.span]
            if option.lines == covers(c, data.strands[span.strand], span):
                found.add(option.index)
    return frozenset(found)


def touched(data: ProblemData, start: int, end: int) -> list[Span]:
    """Spans of which something sounds in [start, end)."""
    return [
        span
        for span in data.spans
        if span.start < end and max(span.end, *(profile.end for profile in span.lines.values())) > start
    ]


def _exactly(data: ProblemData, name: str, span: Span, taken: Collection[int]) -> Limit:
    """The span is played by these options and no others."""
    terms = tuple((o.index, 1 if o.index in taken else -1) for o in data.by_span[span.index])
    return Limit(name, span.phrase, terms, low=sum(o.index in taken for o in data.by_span[span.index]))


@dataclass(frozen=True)
class Keep:
    """Bars that stay as another draft has them, with all that sounds on from before them.

    Attributes:
        name: "bars 1-16 as in first-draft".
        passage: which bars, and what of that draft's material comes with them.
        choices: those of that draft that sound there; strands that come with the passage go by their new names.
    """

    name: str
    passage: Passage
    choices: tuple[Choice, ...]
    NAME = "keep"

    def limits(self, data: ProblemData) -> Iterator[Limit]:
        """Each span that is touched is taken as it was."""
        taken = options_of(data, self.choices)
        for span in touched(data, self.passage.start, self.passage.end):
            if data.by_span[span.index]:
                yield _exactly(data, self.name, span, taken)

    def costs(self, data: ProblemData) -> Iterator[Cost]:
        """None."""
        return iter(())


@dataclass(frozen=True)
class Lock:
    """One span of one strand, taken by exactly these choices: what an edited score shows.

    Attributes:
        name: "bar 9, melody: as edited".
        start: ticks at which the span starts.
    """

    name: str
    strand: str
    start: int
    choices: tuple[Choice, ...]
    NAME = "keep"

    def limits(self, data: ProblemData) -> Iterator[Limit]:
        """As the attributes say."""
        taken = options_of(data, self.choices)
        for span in data.spans:
            if span.start == self.start and data.strands[span.strand].id == self.strand:
                yield _exactly(data, self.name, span, taken)

    def costs(self, data: ProblemData) -> Iterator[Cost]:
        """None."""
        return iter(())


@dataclass(frozen=True)
class Near:
    """Stay near an accepted draft: each choice that changes costs."""

    choices: tuple[Choice, ...]
    NAME = "near"

    def limits(self, data: ProblemData) -> Iterator[Limit]:
        """None."""
        return iter(())

    def costs(self, data: ProblemData) -> Iterator[Cost]:
        """A price on each choice that is left and on each that is new."""
        weight = data.tables.rule("drafts")["near"]["change"]
        before = options_of(data, self.choices)
        for option in data.options:
            if option.index in before:
                form = Form(((option.index, -1),), 1)
                yield Cost(self.NAME, data.phrase(option), weight, (form,), "a choice of the accepted draft left")
            else:
                yield alone(self.NAME, data, option, weight, "a choice that the accepted draft has not")


@dataclass(frozen=True)
class Apart:
    """Differ from other drafts: a share of the spans is taken by a sort of player that they do not have there, and for a share of
    the tune who carries it there does not have it here.

    Attributes:
        drafts: choices of each of them.
        spans: share of the spans of the sketch's own strands.
        principal: share of them that are melody, bass or figure and taken by another family or octave.
        tune: share of the melody, in quarter-bars, that its carriers have left, for others or another octave.
        ends: ticks up to each of which the shares must be reached; () until the windows of the solving are known.
        kept: (start, end) in ticks of what stays as it is; spans that sound there do not count.
    """

    drafts: tuple[tuple[Choice, ...], ...]
    spans: float
    principal: float
    ends: tuple[int, ...] = ()
    kept: tuple[tuple[int, int], ...] = ()
    tune: float = 0.0
    NAME = "apart"

    def limits(self, data: ProblemData) -> Iterator[Limit]:
        """For each draft and each end, the shares."""
        stays = {span.index for start, end in self.kept for span in touched(data, start, end)}
        own = [span for span in data.spans if data.is_assigned(span.strand) and span.index not in stays]
        for number, draft in enumerate(self.drafts, 1):
            taken = options_of(data, draft)
            sorts = [_newly(data, span, taken, sort_of) for span in own]
            families = [
                _newly(data, span, taken, family_of) if data.strands[span.strand].role in PRINCIPAL else None
                for span in own
            ]
            for what, literals, share in (("players", sorts, self.spans), ("families", families, self.principal)):
                for end in self.ends:
                    inside = [k for k, span in enumerate(own) if span.start < end]
                    terms = tuple((one, 1) for k in inside if (one := literals[k]) is not None)
                    if terms:
                        low = min(len(terms), -int(-share * len(inside) // 1))
                        yield Limit(f"{what} unlike draft {number}", own[inside[-1]].phrase, terms, low=low)
            yield from self._moved(data, number, own, taken)

    def _moved(self, data: ProblemData, number: int, own: Sequence[Span], taken: Collection[int]) -> Iterator[Limit]:
        """Of the tune no more stays with who carries it in that draft; where nobody else could have it, it does not count."""
        held = [(span, had) for span in own if (had := _carried(data, span, taken))]
        for end in self.ends:
            inside = [(span, had) for span, had in held if span.start < end]
            if inside and self.tune:
                most = int((1 - self.tune) * sum(span.length for span, _ in inside))
                terms = tuple((data.groups.any(had), span.length) for span, had in inside)
                yield Limit(f"tune unlike draft {number}", inside[-1][0].phrase, terms, high=most)

    def costs(self, data: ProblemData) -> Iterator[Cost]:
        """None."""
        return iter(())


def sort_of(data: ProblemData, option: Option) -> tuple[str, int]:
    """What sort of player in which octave: Horn 1 and Horn 2 are alike."""
    return data.instrument(option).id, option.octave


def family_of(data: ProblemData, option: Option) -> tuple[str, int]:
    """Family and octave."""
    return data.instrument(option).family, option.octave


def carrier(data: ProblemData, span: Span, taken: Collection[int]) -> Option | None:
    """Of those of the options that have the tune's principal line in a span the strongest, nearest to where it is written: whom
    one hears with it."""
    if not data.is_assigned(span.strand) or data.strands[span.strand].role != "melody":
        return None
    own = [o for o in data.by_line.get((span.index, min(span.lines)), ()) if o.index in taken]
    return max(own, key=lambda o: (strength(data, o), -abs(o.octave), -o.index), default=None)


def _carried(data: ProblemData, span: Span, taken: Collection[int]) -> list[int]:
    """The options in which the sort that carries the tune has it; none where nobody else could."""
    one = carrier(data, span, taken)
    could = data.by_line.get((span.index, min(span.lines)), ()) if one else ()
    own = [o.index for o in could if one and sort_of(data, o) == sort_of(data, one)]
    return own if len(own) < len(could) else []


def _newly(data: ProblemData, span: Span, taken: Collection[int], key: object) -> int | None:
    """The literal "somebody of a sort that did not play here does"; None where nobody could."""
    assert callable(key)
    own = data.by_span[span.index]
    before = {key(data, o) for o in own if o.index in taken}
    fresh = [o.index for o in own if key(data, o) not in before]
    return data.groups.any(fresh) if fresh else None


@dataclass(frozen=True)
class Instead:
    """A player takes over from another: in these spans he plays and the other does not.

    Attributes:
        player, other: names; `other` may be "".
        spans: (strand id, start in ticks) of each.
    """

    player: str
    other: str
    spans: tuple[tuple[str, int], ...]
    NAME = "instead"

    def limits(self, data: ProblemData) -> Iterator[Limit]:
        """As the attributes say."""
        name = f"{self.player} instead of {self.other}" if self.other else f"{self.player} here"
        for span in data.spans:
            if (data.strands[span.strand].id, span.start) not in self.spans:
                continue
            own = data.by_span[span.index]
            terms = tuple((o.index, 1) for o in own if data.players[o.player].name == self.player)
            yield Limit(name, span.phrase, terms, low=1)
            others = tuple((o.index, 1) for o in own if data.players[o.player].name == self.other)
            if others:
                yield Limit(name, span.phrase, others, high=0)

    def costs(self, data: ProblemData) -> Iterator[Cost]:
        """None."""
        return iter(())


@dataclass(frozen=True)
class Asked:
    """All that one solve is asked besides the brief; `plan` is what of an accepted draft's plan still holds."""

    keep: tuple[Keep, ...] = ()
    locks: tuple[Lock, ...] = ()
    near: Near | None = None
    apart: Apart | None = None
    instead: Instead | None = None
    plan: tuple[PhrasePlan, ...] = ()

    @property
    def kept(self) -> tuple[Choice, ...]:
        """Choices that must be possible."""
        asked = [one.choices for one in self.keep] + [one.choices for one in self.locks]
        return tuple(choice for choices in asked for choice in choices)

    @property
    def rules(self) -> tuple[Rule, ...]:
        """Each as a rule."""
        return (*self.keep, *self.locks, *(one for one in (self.near, self.apart, self.instead) if one is not None))

    @property
    def start(self) -> Sequence[Choice]:
        """A draft to start the search from."""
        if self.near is not None:
            return self.near.choices
        return self.apart.drafts[0] if self.apart is not None else ()
