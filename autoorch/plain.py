"""Values as plain JSON and back: dataclasses as objects, pitches by name, tuples as lists; reading back is strict.

What a dataclass's annotations say is all that is known of a type: a missing, unknown or wrong field is told with its place.
"""

from __future__ import annotations

import types
import typing
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from functools import lru_cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from autoorch.pitch import Pitch, parse

T = TypeVar("T")


def plain(value: Any) -> Any:
    """Dataclasses as objects, pitches as names, tuples as lists; ready for JSON."""
    if isinstance(value, Pitch):
        return str(value)
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [plain(inner) for inner in value]
    return value


def built(kind: type[T], value: Any, place: str) -> T:
    """The value of type `kind` that `plain` made `value` from. Fields with a default may be missing.

    Raises:
        ValueError: with `place` and what is wrong there.
    """
    return typing.cast(T, _built(kind, value, place))


def _built(kind: Any, value: Any, place: str) -> Any:
    origin, inside = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        if value is None and types.NoneType in inside:
            return None
        (only,) = (one for one in inside if one is not types.NoneType)
        return _built(only, value, place)
    if origin is tuple:
        return _tuple(inside, _checked(list, value, place), place)
    if origin is dict:
        whole = _checked(dict, value, place)
        return {key: _built(inside[1], inner, f"{place}.{key}") for key, inner in whole.items()}
    if kind is Any:
        return value
    if kind is Pitch:
        return parse(_checked(str, value, place))
    if is_dataclass(kind):
        return _object(kind, _checked(dict, value, place), place)
    return _checked(kind, value, place)


def _tuple(inside: tuple[Any, ...], value: list[Any], place: str) -> tuple[Any, ...]:
    if len(inside) == 2 and inside[1] is Ellipsis:
        return tuple(_built(inside[0], inner, f"{place}[{k}]") for k, inner in enumerate(value))
    if len(inside) != len(value):
        raise ValueError(f"{place}: {len(value)} values instead of {len(inside)}")
    return tuple(_built(one, inner, f"{place}[{k}]") for k, (one, inner) in enumerate(zip(inside, value, strict=True)))


def _object(kind: Any, value: dict[str, Any], place: str) -> Any:
    known, needed = _fields(kind)
    if unknown := sorted(value.keys() - known.keys()):
        raise ValueError(f"{place}: unknown field {unknown[0]}")
    if missing := sorted(needed - value.keys()):
        raise ValueError(f"{place}: {missing[0]} is missing")
    return kind(**{name: _built(known[name], inner, f"{place}.{name}") for name, inner in value.items()})


@lru_cache(maxsize=64)
def _fields(kind: Any) -> tuple[dict[str, Any], frozenset[str]]:
    """(name -> type, names without a default)"""
    hints = get_type_hints(kind)
    own = fields(kind)
    needed = frozenset(f.name for f in own if f.default is MISSING and f.default_factory is MISSING)
    return {field.name: hints[field.name] for field in own}, needed


def _checked(kind: Any, value: Any, place: str) -> Any:
    fits = isinstance(value, int | float) if kind is float else isinstance(value, kind)
    if not fits or (isinstance(value, bool) and kind is not bool):
        raise ValueError(f"{place}: {str(value)[:40]!r} is no {_WORDS[kind]}")
    return value


_WORDS = {str: "text", int: "whole number", float: "number", bool: "true or false", list: "list", dict: "object"}
