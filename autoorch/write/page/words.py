"""What a choice is and why it stands, in plain words for the page."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.layers.model import MaterialStrand
from autoorch.problem.data import WHOLE
from autoorch.problem.draft import Choice
from autoorch.solver.explain import fact
from autoorch.solver.why import Reason, Share

SHARES = 4
"""So many costs are told of each choice."""
_NAMES = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B")


def octave_words(octave: int) -> str:
    """ "an octave up", "2 octaves down", "at pitch"."""
    if not octave:
        return "at pitch"
    count = "an octave" if abs(octave) == 1 else f"{abs(octave)} octaves"
    return f"{count} {'up' if octave > 0 else 'down'}"


def choice_words(choice: Choice, strand: MaterialStrand, notes: int, pitches: Sequence[int]) -> list[str]:
    """Lines about one choice: what it is, how it is played, from which layer."""
    lines = [f"{strand.role}, {strand.texture}" if strand.texture else strand.role]
    lines.append(f"{octave_words(choice.octave)}{_range(notes, pitches)}")
    how = [text for text in (*choice.techniques, f"on {choice.instrument}" if choice.instrument else "") if text]
    if choice.share != WHOLE:
        how.append(f"{choice.share} of {WHOLE} of the section")
    if how:
        lines.append(", ".join(how).replace("_", " "))
    if strand.layer == "assigned":
        lines.append(f"strand {strand.id} of the sketch")
    else:
        lines.append(f"added by {strand.layer}" + (f": {strand.reason}" if strand.reason else ""))
    return lines


def _range(notes: int, pitches: Sequence[int]) -> str:
    if not pitches:
        return ""
    low, high = min(pitches), max(pitches)
    compass = _name(low) if low == high else f"{_name(low)} to {_name(high)}"
    return f", {notes} {'note' if notes == 1 else 'notes'} from {compass}" if low != high else f", {compass}"


def _name(midi: int) -> str:
    octave, step = divmod(midi, 12)
    return f"{_NAMES[step]}{octave - 1}"


def needed_words(needed: Sequence[str]) -> str:
    """ "the melody must be heard and the third must be heard" of the names of limits, without their places."""
    return " and ".join(dict.fromkeys(fact(name.split("/")[0]) for name in needed))


def reason_words(reason: Reason) -> list[str]:
    """Lines about why a choice stands: what would break, what it spares and costs, the next best."""
    lines = []
    if reason.asked:
        lines.append(f"asked for: {'; '.join(reason.asked)}")
    if reason.needed:
        lines.append(needed_words(reason.needed))
    elif reason.without is not None:
        lines.append(f"without it the draft costs {reason.without:+d}")
    brings = [share for share in reason.shares if share.cost > 0][:SHARES]
    spares = [share for share in reason.shares if share.cost < 0][:SHARES]
    if spares:
        lines.append("spares " + _shares(spares))
    if brings:
        lines.append("costs " + _shares(brings))
    if reason.other:
        other = reason.other.choice
        against = f', against "{"; ".join(reason.other.against)}"' if reason.other.against else ""
        lines.append(f"next best: {other.player} {octave_words(other.octave)}, {reason.other.cost:+d}{against}")
    return lines


def _shares(shares: Sequence[Share]) -> str:
    return "; ".join(f"{abs(share.cost)} {share.rule} ({share.what})" if share.what else f"{abs(share.cost)} {share.rule}"
                     for share in shares)  # fmt: skip
