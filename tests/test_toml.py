"""The strict reader: what fits passes and comes back read-only, what doesn't names file and key."""

from __future__ import annotations

from pathlib import Path

import pytest

from autoorch.errors import TableError
from autoorch.toml import parse, read

SCHEMA = {
    "name": str,
    "count": (int, 1, 9),
    "share?": (float, 0, 1),
    "on?": bool,
    "mark?": frozenset({"p", "f"}),
    "rows": [{"low": int}],
    "any?": object,
    "free?": {"*": [int]},
}
GOOD = 'name = "x"\ncount = 3\nrows = [{ low = 1 }]\n'


def test_a_good_table_comes_back_read_only() -> None:
    data = parse(GOOD + 'share = 1\non = true\nmark = "p"\nany = [1, "two"]\n[free]\na = [1, 2]\n', "t.toml", SCHEMA)
    assert data["rows"][0]["low"] == 1
    assert data["free"]["a"] == (1, 2)
    assert data["any"] == (1, "two")
    with pytest.raises(TypeError):
        data["free"]["b"] = ()


@pytest.mark.parametrize(
    ("text", "key", "says"),
    [
        (GOOD + "extra = 1", "extra", "unknown key; known: any, count"),
        ("count = 3\nrows = []\n", "name", "is missing"),
        (GOOD.replace("3", "10"), "count", "must be from 1 to 9, not 10"),
        (GOOD.replace("3", "true"), "count", "must be a whole number, not true"),
        (GOOD.replace("3", "3.5"), "count", "must be a whole number, not 3.5"),
        (GOOD + "share = nan", "share", "must be from 0 to 1, not nan"),
        (GOOD + "on = 1", "on", "must be true or false, not 1"),
        (GOOD + 'mark = "ff"', "mark", "must be one of f, p, not 'ff'"),
        (GOOD + "mark = [1]", "mark", "must be one of f, p, not a list"),
        (GOOD + "mark = { p = 1 }", "mark", "must be one of f, p, not a table"),
        (GOOD.replace("[{ low = 1 }]", "3"), "rows", "must be a list, not 3"),
        (GOOD.replace("{ low = 1 }", '{ low = "1" }'), "rows[1].low", "must be a whole number, not '1'"),
        (GOOD + "free = 2", "free", "must be a table, not 2"),
        (GOOD + "free = { a = [1, {}] }", "free.a[2]", "must be a whole number, not a table"),
        (GOOD.replace('"x"', f'"{"y" * 99}"').replace("name", "count2"), "count2", "unknown key"),
    ],
)
def test_the_first_wrong_key_is_named(text: str, key: str, says: str) -> None:
    with pytest.raises(TableError) as caught:
        parse(text, "t.toml", SCHEMA)
    assert caught.value.file == "t.toml"
    assert caught.value.key == key
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_no_toml_is_said(tmp_path: Path) -> None:
    with pytest.raises(TableError, match=r"t\.toml: is no TOML: .*line 2"):
        parse("a = 1\nb ==", "t.toml", SCHEMA)


def test_an_unreadable_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(TableError, match=r"^none\.toml: can't be read: No such file"):
        read(tmp_path / "none.toml", SCHEMA)
    (tmp_path / "latin.toml").write_bytes('name = "\xe9"'.encode("latin-1"))
    with pytest.raises(TableError, match=r"^latin\.toml: is no UTF-8 text"):
        read(tmp_path / "latin.toml", SCHEMA)


@pytest.mark.parametrize("value", ["inf", "-inf", "nan"])
def test_a_number_without_bounds_is_finite(value: str) -> None:
    assert parse("x = 1e300", "t.toml", {"x": float})["x"] == 1e300
    with pytest.raises(TableError, match=f"must be finite, not {value}"):
        parse(f"x = {value}", "t.toml", {"x": float})


def test_long_values_are_shortened_in_a_message() -> None:
    with pytest.raises(TableError) as caught:
        parse(f'x = "{"y" * 99}"', "t.toml", {"x": int})
    assert str(caught.value).endswith("yyy...") and len(str(caught.value)) < 90
