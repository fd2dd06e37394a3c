"""Roman numerals: what a chord is called in a key, what it does there, and how much it speaks for that key."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from autoorch.roles.names import FIFTH, LEADING, SIXTH_RAISED, Key

FIGURES = {3: ("", "6", "64"), 4: ("7", "65", "43", "42")}
"""Figured bass of each inversion, by the number of members."""
OTHER = {"major": "minor", "minor": "major"}
_GERMAN = 8
_DOMINANTS = ("major", "dominant seventh")
_LEADING = ("diminished", "half-diminished", "diminished seventh")
_GOALS = ("major", "minor")


def scale_of(key: Key, table: Mapping[str, Any]) -> frozenset[int]:
    """Pitch classes of the key; in minor with the raised sixth and seventh."""
    raised = (SIXTH_RAISED, LEADING) if key[1] == "minor" else ()
    return frozenset((key[0] + step) % 12 for step in (*table["scale"][key[1]], *raised))


def members_of(root: int, kind: str, table: Mapping[str, Any]) -> tuple[int, ...]:
    """Pitch classes, root first."""
    return tuple((root + step) % 12 for step in table["kind"][kind]["steps"])


def degree_of(root: int, kind: str, key: Key, table: Mapping[str, Any], inversion: int = 0) -> str:
    """ "V7", "ii6", "viio7" by the degree of the root and the kind of chord."""
    row = table["kind"][kind]
    name: str = table["degree"][key[1]][(root - key[0]) % 12]
    steps = row["steps"]
    figure = FIGURES[len(steps)][inversion]
    if steps[1] == 3:
        name = name.lower()
    major_seventh = "M" if steps[-1] == LEADING else ""
    return f"{name}{row.get('sign', '')}{major_seventh}{figure}"


def goal_of(root: int, kind: str, key: Key, table: Mapping[str, Any]) -> tuple[int, str] | None:
    """(root, kind) of the degree whose dominant or leading-note chord this is; None where there is none but the tonic."""
    for ahead, kinds in ((5, _DOMINANTS), (1, _LEADING)):
        goal = (root + ahead) % 12
        if kind not in kinds or goal == key[0]:
            continue
        for triad in _GOALS:
            name = degree_of(goal, triad, key, table)
            if name in table["use"][key[1]] and set(members_of(goal, triad, table)) <= scale_of(key, table):
                return goal, triad
    return None


def use_of(root: int, kind: str, key: Key, table: Mapping[str, Any]) -> float:
    """How much the chord speaks for the key, 0 to 1."""
    use = table["use"]
    name = degree_of(root, kind, key, table)
    if name in use[key[1]]:
        return float(use[key[1]][name])
    if goal_of(root, kind, key, table):
        return float(use["any"]["secondary"])
    borrowed = set(members_of(root, kind, table)) <= scale_of((key[0], OTHER[key[1]]), table)
    return float(use["any"]["borrowed" if borrowed else "foreign"])


def is_foreign(root: int, kind: str, key: Key, table: Mapping[str, Any]) -> bool:
    """Secondary, borrowed or altered: not all its notes are of the key."""
    return not set(members_of(root, kind, table)) <= scale_of(key, table)


def numeral(root: int, kind: str, key: Key, bass: int, table: Mapping[str, Any]) -> str:
    """ "V65", "V7/V", "viio6", "bII6", "Ger65"; a bass that is no member counts as root position."""
    members = members_of(root, kind, table)
    inversion = members.index(bass) if bass in members else 0
    if kind == "dominant seventh" and (root - key[0]) % 12 == _GERMAN:
        return "Ger65"
    own = degree_of(root, kind, key, table)
    goal = None if own in table["use"][key[1]] else goal_of(root, kind, key, table)
    if goal and is_foreign(root, kind, key, table):
        return f"{_function(kind, inversion, table)}/{degree_of(*goal, key, table)}"
    return degree_of(root, kind, key, table, inversion)


def _function(kind: str, inversion: int, table: Mapping[str, Any]) -> str:
    """The chord in the key of its goal: "V7", "viio65"."""
    root = FIFTH if kind in _DOMINANTS else LEADING
    return degree_of(root, kind, (0, "major"), table, inversion)


def tendency_of(root: int, kind: str, key: Key, table: Mapping[str, Any]) -> tuple[int, ...]:
    """Members that must move on: the seventh (not a major one), and the third of a dominant."""
    members = members_of(root, kind, table)
    found = []
    if len(members) == 4 and kind != "major seventh":
        found.append(members[3])
    leading = (key[0] + LEADING) % 12
    secondary = kind == "major" and is_foreign(root, kind, key, table) and goal_of(root, kind, key, table)
    if kind == "dominant seventh" or secondary:
        found.append(members[1])
    elif leading in members and (root - key[0]) % 12 in (FIFTH, LEADING):
        found.append(leading)
    return tuple(found)
