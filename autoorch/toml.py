"""Strict TOML: a file is read whole, checked against a schema, handed on read-only; a wrong key is a TableError.

A schema says what a value must be:

    str, int, float, bool        a value of that type (a whole number will do for float; no infinities)
    (int, 0, 127)                a number within bounds, both included; also for float
    frozenset({"p", "f"})        one of these words
    [schema]                     a list, each element as the schema says
    object                       anything
    {"key": schema, ...}         a table with exactly these keys; "key?" may be left out; "*" stands for any other key
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from autoorch.errors import TableError

Schema = Mapping[str, Any]
_TYPES = {str: "text", int: "a whole number", float: "a number", bool: "true or false"}


def read(path: Path, schema: Schema | None = None) -> Mapping[str, Any]:
    """A TOML file as nested read-only mappings and tuples, in the order of the file.

    Raises:
        TableError: where the file can't be read, is no TOML or breaks the schema.
    """
    return parse(text_of(path), path.name, schema)


def text_of(path: Path) -> str:
    """The file's text.

    Raises:
        TableError: where it can't be read or is none.
    """
    try:
        return path.read_text("utf-8")
    except UnicodeDecodeError:
        raise TableError("is no UTF-8 text", path.name) from None
    except OSError as error:
        raise TableError(f"can't be read: {error.strerror}", path.name) from None


def parse(text: str, file: str, schema: Schema | None = None) -> Mapping[str, Any]:
    """The same for text that is already at hand; `file` is only for messages.

    Raises:
        TableError: as `read`.
    """
    try:
        data = frozen(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise TableError(f"is no TOML: {error}", file) from None
    if schema is not None:
        check(data, schema, file)
    return data  # type: ignore[no-any-return]


def frozen(value: Any) -> Any:
    """The value with read-only mappings for dicts and tuples for lists, all the way down."""
    if isinstance(value, Mapping):
        return MappingProxyType({key: frozen(inner) for key, inner in value.items()})
    return tuple(frozen(inner) for inner in value) if isinstance(value, list) else value


def check(value: Any, schema: Any, file: str, key: str = "") -> None:
    """Nothing, where `value` (as `frozen` makes it) fits the schema.

    Raises:
        TableError: file, dotted key and what is wrong.
    """
    if isinstance(schema, Mapping):
        _check_table(value, schema, file, key)
    elif isinstance(schema, list):
        if not isinstance(value, tuple):
            raise TableError(f"must be a list, not {_told(value)}", file, key)
        for number, inner in enumerate(value, 1):
            check(inner, schema[0], file, f"{key}[{number}]")
    elif schema is object:
        return
    elif isinstance(schema, frozenset):
        if not isinstance(value, str) or value not in schema:
            raise TableError(f"must be one of {', '.join(sorted(schema))}, not {_told(value)}", file, key)
    else:
        kind, low, high = schema if isinstance(schema, tuple) else (schema, -math.inf, math.inf)
        fits = isinstance(value, (int, float) if kind is float else kind) and (
            kind is bool or not isinstance(value, bool)
        )
        if not fits:
            raise TableError(f"must be {_TYPES[kind]}, not {_told(value)}", file, key)
        if kind in (int, float) and not (math.isfinite(value) and low <= value <= high):
            bounds = f"from {low} to {high}" if isinstance(schema, tuple) else "finite"
            raise TableError(f"must be {bounds}, not {_told(value)}", file, key)


def _check_table(value: Any, schema: Schema, file: str, key: str) -> None:
    if not isinstance(value, Mapping):
        raise TableError(f"must be a table, not {_told(value)}", file, key)
    known = {name.removesuffix("?"): (inner, not name.endswith("?")) for name, inner in schema.items() if name != "*"}
    dot = f"{key}." if key else ""
    for name, inner in value.items():
        if name in known:
            check(inner, known[name][0], file, dot + name)
        elif "*" in schema:
            check(inner, schema["*"], file, dot + name)
        else:
            raise TableError(f"unknown key; known: {', '.join(sorted(known))}", file, dot + name)
    for name, (_, needed) in known.items():
        if needed and name not in value:
            raise TableError("is missing", file, dot + name)


def _told(value: Any) -> str:
    """The value as a message shows it: short, on one line."""
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, tuple):
        return "a list"
    text = str(value).lower() if isinstance(value, bool) else repr(value)
    return text if len(text) <= 40 else f"{text[:37]}..."
