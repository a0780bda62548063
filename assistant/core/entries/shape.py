"""What a body of JSON must hold to be an entry: each field of its type, and nothing else.

A job file may have been made by anybody, with hashes that fit. What has passed here is text that has a form in UTF-8, whole
numbers that JSON carries exactly, truths, and lists of these; whoever works on entries need not ask again.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from typing import Any, get_args, get_origin, get_type_hints

from assistant.core.entries.parent import Entry, Json

GREATEST = 2**53
"""Whole numbers are below (RFC 8785, 3.2.2.3, by way of RFC 7493, 2.2: what every reader of JSON holds exactly)."""
Make = Callable[[Json], Any]


def entry_of(cls: type[Entry], version: int, body: Json) -> Entry:
    """The entry of that kind. Raises ValueError naming the field that does not fit."""
    makes = _makes(cls, version)
    if type(body) is not dict or body.keys() != makes.keys():
        odd = sorted(set(body) ^ set(makes)) if isinstance(body, dict) else ["no table"]
        raise ValueError(f"an entry of kind {cls.kind!r} has other fields than version {version}: {', '.join(odd)}")
    made, name = {}, ""
    try:
        for name, make in makes.items():
            value = body[name]
            plain = type(value) is str and make is _text and value.isascii()  # most are: spared the call
            made[name] = value if plain else make(value)
    except ValueError as fault:
        raise ValueError(f"an entry of kind {cls.kind!r} whose {name!r} is {fault}") from None
    try:
        return cls(**made)
    except TypeError as fault:
        raise ValueError(f"an entry of kind {cls.kind!r} lacks fields in version {version}") from fault


def _makes(cls: type[Entry], version: int) -> Mapping[str, Make]:
    """Each field that bodies of that version have, and what makes its value. Worked out once."""
    known = _KNOWN.get((cls.kind, version))
    if known is None:
        hints = get_type_hints(cls)
        names = [field.name for field in dataclasses.fields(cls)]
        known = {name: _make(hints[name]) for name in names if cls.added.get(name, 1) <= version}
        if 0 < version <= cls.version:
            _KNOWN[cls.kind, version] = known
    return known


_KNOWN: dict[tuple[str, int], Mapping[str, Make]] = {}


def _make(kind: Any) -> Make:
    if kind in PLAIN:
        return PLAIN[kind]
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        return _nested(kind)
    first, *rest = get_args(kind)
    assert get_origin(kind) is tuple, kind
    return _many(_make(first)) if rest == [...] else _several([_make(one) for one in (first, *rest)])


def _text(value: Json) -> str:
    if type(value) is not str:
        raise ValueError("no text")
    if not value.isascii():
        try:
            value.encode()
        except UnicodeEncodeError:
            raise ValueError("text that has no form in UTF-8") from None
    return value


def _whole(value: Json) -> int:
    if type(value) is not int or not -GREATEST < value < GREATEST:
        raise ValueError("no whole number below 2**53")
    return value


def _truth(value: Json) -> bool:
    if type(value) is not bool:
        raise ValueError("neither true nor false")
    return value


PLAIN: Mapping[type, Make] = {str: _text, int: _whole, bool: _truth}


def _many(make: Make) -> Make:
    def made(value: Json) -> tuple[Any, ...]:
        if type(value) is not list:
            raise ValueError("no list")
        return tuple(map(make, value))

    return made


def _several(makes: list[Make]) -> Make:
    def made(value: Json) -> tuple[Any, ...]:
        if type(value) is not list or len(value) != len(makes):
            raise ValueError(f"no list of {len(makes)}")
        return tuple(make(one) for make, one in zip(makes, value, strict=True))

    return made


def _nested(kind: type[Any]) -> Make:
    hints = get_type_hints(kind)
    makes = {field.name: _make(hints[field.name]) for field in dataclasses.fields(kind)}
    all_texts = all(make is _text for make in makes.values())

    def made(value: Json) -> Any:
        if type(value) is not dict or value.keys() != makes.keys():
            raise ValueError(f"not of the fields {', '.join(makes)}")
        given = [value[name] for name in makes]
        if not (all_texts and all(type(one) is str and one.isascii() for one in given)):
            given = [make(one) for make, one in zip(makes.values(), given, strict=True)]
        return kind(*given)

    return made
