"""Values as JSON and back: the same value, or one line that says where the text is wrong."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from autoorch.pitch import Pitch, parse
from autoorch.plain import built, plain


@dataclass(frozen=True)
class Leaf:
    name: str
    count: int
    share: float = 1.0
    pitch: Pitch | None = None


@dataclass(frozen=True)
class Tree:
    leaves: tuple[Leaf, ...]
    pair: tuple[int, str]
    table: dict[str, float] = field(default_factory=dict)
    open: bool = False
    anything: Any = None


leaves = st.builds(
    Leaf,
    st.text(),
    st.integers(),
    st.floats(allow_nan=False, allow_infinity=False),
    st.none() | st.sampled_from([parse(name) for name in ("C4", "F#3", "Bbb5")]),
)
trees = st.builds(
    Tree,
    st.lists(leaves, max_size=3).map(tuple),
    st.tuples(st.integers(), st.text()),
    st.dictionaries(st.text(), st.floats(allow_nan=False, allow_infinity=False), max_size=2),
    st.booleans(),
    st.none() | st.integers() | st.lists(st.text(), max_size=2),
)


@given(trees)
def test_what_is_written_reads_back(tree: Tree) -> None:
    assert built(Tree, json.loads(json.dumps(plain(tree))), "tree") == tree


def test_how_it_looks() -> None:
    tree = Tree((Leaf("a", 1, pitch=parse("F#3")),), (2, "b"), {"c": 0.5})
    assert plain(tree) == {
        "leaves": [{"name": "a", "count": 1, "share": 1.0, "pitch": "F#3"}],
        "pair": [2, "b"],
        "table": {"c": 0.5},
        "open": False,
        "anything": None,
    }


def test_fields_with_a_default_may_be_missing() -> None:
    assert built(Tree, {"leaves": [{"name": "a", "count": 1}], "pair": [2, "b"]}, "tree") == Tree(
        (Leaf("a", 1),), (2, "b")
    )


LEAF: dict[str, Any] = {"name": "a", "count": 1}
WRONG: dict[str, tuple[dict[str, Any], str]] = {
    "unknown": ({"leaves": [], "pair": [2, "b"], "colour": 1}, "tree: unknown field colour"),
    "missing": ({"leaves": []}, "tree: pair is missing"),
    "no list": ({"leaves": "abc", "pair": [2, "b"]}, "tree.leaves: 'abc' is no list"),
    "no object": ({"leaves": [7], "pair": [2, "b"]}, "tree.leaves[0]: '7' is no object"),
    "deep": ({"leaves": [LEAF, LEAF | {"count": "x"}], "pair": [2, "b"]}, "tree.leaves[1].count: 'x' is no whole number"),
    "truth for a number": (
        {"leaves": [LEAF | {"count": True}], "pair": [2, "b"]}, "tree.leaves[0].count: 'True' is no whole number",
    ),
    "fraction": ({"leaves": [LEAF | {"count": 1.5}], "pair": [2, "b"]}, "tree.leaves[0].count: '1.5' is no whole number"),
    "text for a share": ({"leaves": [LEAF | {"share": "1"}], "pair": [2, "b"]}, "tree.leaves[0].share: '1' is no number"),
    "number for a text": ({"leaves": [LEAF | {"name": 1}], "pair": [2, "b"]}, "tree.leaves[0].name: '1' is no text"),
    "no pitch": ({"leaves": [LEAF | {"pitch": 60}], "pair": [2, "b"]}, "tree.leaves[0].pitch: '60' is no text"),
    "too long": ({"leaves": [], "pair": [2, "b", 3]}, "tree.pair: 3 values instead of 2"),
    "table": ({"leaves": [], "pair": [2, "b"], "table": {"c": []}}, "tree.table.c: '[]' is no number"),
    "number for truth": ({"leaves": [], "pair": [2, "b"], "open": 1}, "tree.open: '1' is no true or false"),
}  # fmt: skip


@pytest.mark.parametrize("what", WRONG)
def test_what_is_wrong_is_told_with_its_place(what: str) -> None:
    value, said = WRONG[what]
    with pytest.raises(ValueError) as caught:
        built(Tree, value, "tree")
    assert str(caught.value) == said


def test_long_values_are_shortened() -> None:
    with pytest.raises(ValueError) as caught:
        built(int, "x" * 1000, "here")
    assert len(str(caught.value)) < 80


def test_a_whole_number_will_do_for_a_number() -> None:
    assert built(Leaf, LEAF | {"share": 2}, "leaf").share == 2
