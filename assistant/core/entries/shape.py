"""What a body of JSON must hold to be an entry: each field of its type, and nothing else.

A job file may have been made by anybody, with hashes that fit. What has passed here is text that has a form in UTF-8, whole
numbers that JSON carries exactly, truths, and lists of these; whoever works on entries need not ask again.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from operator import itemgetter
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from assistant.core.entries.parent import Entry, Json

GREATEST = 2**53
"""Whole numbers are below (RFC 8785, 3.2.2.3, by way of RFC 7493, 2.2: what every reader of JSON holds exactly)."""
Make = Callable[[Json], Any]
K = TypeVar("K")


def entry_of(cls: type[Entry], version: int, body: Json) -> Entry:
    """The entry of that kind. Raises ValueError naming the field that does not fit."""
    shape = _shape(cls, version)
    if not shape.fits(body):
        odd = sorted(set(body) ^ set(shape.makes)) if isinstance(body, dict) else ["no table"]
        raise ValueError(f"an entry of kind {cls.kind!r} has other fields than version {version}: {', '.join(odd)}")
    made, name = dict(body), ""
    try:
        for name, make in shape.asked_of(body):
            made[name] = make(body[name])
    except ValueError as fault:
        raise ValueError(f"an entry of kind {cls.kind!r} whose {name!r} is {fault}") from None
    if shape.whole:
        return _filled(cls, made)
    try:
        return cls(**made)
    except TypeError as fault:
        raise ValueError(f"an entry of kind {cls.kind!r} lacks fields in version {version}") from fault


def _filled(cls: type[K], fields: Mapping[str, Any]) -> K:
    """As `cls(**fields)` of all its fields, which in a frozen class sets each by a call of its own: seven times as long.

    Classes of entries work nothing out when they are made (`tests/test_files_versions.py`).
    """
    made = cls.__new__(cls)
    vars(made).update(fields)
    return made


class _Shape:
    """The fields of a table, and what makes each one's value. `whole`: they are all that its class has."""

    def __init__(self, cls: type[Any], version: int | None = None) -> None:
        hints, added = get_type_hints(cls), getattr(cls, "added", {})
        names = [field.name for field in dataclasses.fields(cls)]
        self.makes = {name: _make(hints[name]) for name in names if version is None or added.get(name, 1) <= version}
        self.whole = len(self.makes) == len(names)
        self._all = tuple(self.makes.items())
        texts = [name for name, make in self._all if make is _text]
        self._texts = itemgetter(*texts) if len(texts) > 1 else lambda table: [table[name] for name in texts]
        self._others = tuple((name, make) for name, make in self._all if make is not _text)

    def fits(self, table: Json) -> bool:
        """Whether it is a table of these fields."""
        return type(table) is dict and table.keys() == self.makes.keys()

    def asked_of(self, table: Json) -> tuple[tuple[str, Make], ...]:
        """The fields that must be looked at one by one: all but the texts, where these are plain ASCII, as most are."""
        try:
            return self._others if "".join(self._texts(table)).isascii() else self._all
        except TypeError:
            return self._all


def _shape(cls: type[Entry], version: int) -> _Shape:
    """That of bodies of that version. Worked out once."""
    known = _KNOWN.get((cls.kind, version))
    if known is None:
        known = _Shape(cls, version)
        if 0 < version <= cls.version:
            _KNOWN[cls.kind, version] = known
    return known


_KNOWN: dict[tuple[str, int], _Shape] = {}


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
        return tuple([make(one) for one in value])

    return made


def _several(makes: list[Make]) -> Make:
    def made(value: Json) -> tuple[Any, ...]:
        if type(value) is not list or len(value) != len(makes):
            raise ValueError(f"no list of {len(makes)}")
        return tuple(make(one) for make, one in zip(makes, value, strict=True))

    return made


def _nested(kind: type[Any]) -> Make:
    shape = _Shape(kind)

    def made(value: Json) -> Any:
        if not shape.fits(value):
            raise ValueError(f"not of the fields {', '.join(shape.makes)}")
        asked = shape.asked_of(value)
        return _filled(kind, value | {name: make(value[name]) for name, make in asked} if asked else value)

    return made
