"""GS1 element strings: what stands in a GS1-128, GS1 DataMatrix, GS1 QR or GS1 DataBar symbol.

A scanner gives application identifiers and values run together; FNC1 comes as GS (0x1D) and ends a value whose length
is not predefined. Rules: GS1 General Specifications 7.8 (reading element strings), 7.2.5 and 5.10 (the symbology
identifiers ]C1 ]e0 ]d2 ]Q3 ]J1). Nothing is guessed: where a separator lacks, what follows belongs to the value before.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, time

from assistant.core.labels.ai_table import PREDEFINED_TOTAL, Identifier, Part, identifier_at
from assistant.core.labels.check_digit import is_figures, mod10_fault
from assistant.core.labels.dates import read_hhmm, read_yymmdd
from assistant.core.labels.faults import LabelFault

GS = "\x1d"
SYMBOLOGY_IDENTIFIERS = ("]C1", "]e0", "]d2", "]Q3", "]J1")

_FIGURES = "0123456789"
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_CHARACTERS = {
    "N": _FIGURES,
    "X": _FIGURES + _LETTERS + _LETTERS.lower() + "!\"%&'()*+,-./:;<=>?_",
    "Y": _FIGURES + _LETTERS + "#-/",
    "Z": _FIGURES + _LETTERS + _LETTERS.lower() + "-_=",
}
"""General Specifications 7.11: the character sets 82 (X), 39 (Y) and file-safe base 64 (Z)."""

NEEDS_BESIDE = {
    "10": ("01", "02", "03", "8006", "8026"),
    "17": ("01", "02", "03", "255", "8006", "8026"),
    "21": ("01", "03", "8006"),
    "240": ("01", "02", "8006", "8026"),
    "241": ("01", "02", "8006", "8026"),
}
"""Identifiers that say something of a product, and those of which one must stand beside them to say of which."""


@dataclass(frozen=True)
class Element:
    """One application identifier and its value, `name` in plain words."""

    ai: str
    value: str
    name: str


@dataclass(frozen=True)
class ElementString:
    """What was read, in order; `fault` is the first thing wrong, and then `elements` are those before it."""

    elements: tuple[Element, ...]
    fault: LabelFault | None = None

    def fields(self) -> dict[str, str]:
        """Value by identifier."""
        return {e.ai: e.value for e in self.elements}


def has_gs1_prefix(text: str) -> bool:
    """Whether it begins with the symbology identifier of a GS1 symbol."""
    return text.startswith(SYMBOLOGY_IDENTIFIERS)


def read_elements(text: str, today: date) -> ElementString:
    """Read scan data, with or without a symbology identifier; FNC1 first or last is dropped.

    >>> read_elements("]d20112312312312333", date(2026, 1, 1)).fields()
    {'01': '12312312312333'}
    """
    if has_gs1_prefix(text):
        text = text[3:]
    elif re.match(r"\][A-Za-z][0-9A-Za-z]", text):
        return ElementString((), LabelFault(f"{text[:3]} is not the mark of a GS1 symbol"))
    return _gathered(_cut(text.removeprefix(GS).removesuffix(GS)), today)


def read_bracketed(text: str, today: date) -> ElementString:
    r"""Read the printed form "(01)...(10)...". A bracket that belongs to a value is written \\( .

    >>> read_bracketed("(11)211313", date(2026, 1, 1)).fault.sentence
    'production date: the date 211313 names month 13, there is none'
    """
    pieces = re.split(r"(?<!\\)\((\d{2,4})\)", text)
    if pieces[0] or len(pieces) < 3:
        return ElementString((), LabelFault("it does not begin with an identifier in brackets"))
    pairs = zip(pieces[1::2], pieces[2::2], strict=True)
    return _gathered(((ai, value.replace("\\(", "(")) for ai, value in pairs), today)


def product_fault(elements: tuple[Element, ...]) -> LabelFault | None:
    """What must stand beside a lot, serial, expiry or part number, and does not. Another symbol may carry it."""
    present = {e.ai for e in elements}
    for element in elements:
        beside = NEEDS_BESIDE.get(element.ai)
        if beside and not present.intersection(beside):
            return LabelFault(f"it gives a {element.name} but no product number")
    return None


_Cut = tuple[str, str] | LabelFault


def _cut(text: str) -> Iterator[_Cut]:
    """Identifier and value, one after the other; a fault ends it."""
    if not text:
        yield LabelFault("there is nothing in it")
    while text:
        found = identifier_at(text)
        if found is None:
            yield LabelFault(f"no application identifier begins with {text[:4]!r}")
            return
        if found.predefined:
            end = PREDEFINED_TOTAL[text[:2]]
            value, rest = text[len(found.ai) : end], text[end:].removeprefix(GS)
        else:
            value, _, rest = text[len(found.ai) :].partition(GS)
        yield found.ai, value
        text = rest


def _gathered(cuts: Iterator[_Cut], today: date) -> ElementString:
    elements: list[Element] = []
    for cut in cuts:
        if isinstance(cut, LabelFault):
            return ElementString(tuple(elements), cut)
        ai, value = cut
        found = identifier_at(ai)
        fault = (
            LabelFault(f"{ai} is no application identifier")
            if found is None or found.ai != ai
            else _value_fault(found, value, today) or _repeat_fault(elements, ai, value)
        )
        if fault or found is None:
            return ElementString(tuple(elements), fault)
        if all(e.ai != ai for e in elements):
            elements.append(Element(ai, value, found.name))
    return ElementString(tuple(elements))


def _repeat_fault(elements: list[Element], ai: str, value: str) -> LabelFault | None:
    for e in elements:
        if e.ai == ai and e.value != value:
            return LabelFault(f"it gives the {e.name} twice, and not the same")
    return None


def _value_fault(identifier: Identifier, value: str, today: date) -> LabelFault | None:
    if len(value) > identifier.most:
        return LabelFault(f"{identifier.name}: at most {identifier.most} characters, there are {len(value)}")
    rest = value
    for part in identifier.parts:
        piece, rest = rest[: part.most], rest[part.most :]
        if fault := _piece_fault(part, piece, today):
            return LabelFault(f"{identifier.name}: {fault.sentence}")
    return None


def _piece_fault(part: Part, piece: str, today: date) -> LabelFault | None:
    if not piece and part.least == 0:
        return None
    exact = part.least == part.most or part.check
    if len(piece) < (part.most if exact else part.least):
        return LabelFault(f"too short, {len(piece)} of {part.most} characters" if piece else "it is empty")
    odd = next((c for c in piece if c not in _CHARACTERS[part.kind]), None)
    if odd is not None:
        return LabelFault(f"{odd!r} is no figure" if part.kind == "N" else f"{odd!r} may not stand in it")
    return _checked(part.check, piece, today)


def _checked(check: str, piece: str, today: date) -> LabelFault | None:
    found: date | time | LabelFault | None = None
    if check == "csum":
        return mod10_fault(piece)
    if check == "hhmm":
        found = read_hhmm(piece)
    elif check:
        found = read_yymmdd(piece, today, day_00=check == "yymmd0")
    return found if isinstance(found, LabelFault) else None


def count(text: str) -> int | None:
    """A count as written in identifiers 30 and 37; None where there is none."""
    return int(text) if is_figures(text) else None
