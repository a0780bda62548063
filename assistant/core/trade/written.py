"""Inputs of a computation as they are typed: `sg=1.065`, `t=-5degC`, `pressures=120,115,118,92psi`, `glycol=ethylene`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

from assistant.core.trade.inputs import UNIT_LEFT_OUT, Computation, Input
from assistant.core.units import BARE_GALLONS, KINDS, Amount

NUMBER = re.compile(r"([+-]?\d+(?:\.\d+)?)\s*(.*)", re.ASCII)
GALLONS = (*BARE_GALLONS, "qt", "quart", "quarts", "pt", "pint", "pints")
SAME_UNIT = {
    "%": "percent",
    "N.m": "Nm",
    "lbf.in": "lbf_in",
    "lbf.ft": "lbf_ft",
    "in": "inch",
    "C": "degC",
    "F": "degF",
}
"""Other ways to type a unit of the list."""


def inputs_from(computation: Computation, pairs: Sequence[str]) -> dict[str, Any]:
    """The inputs of `name=value` pairs. Raises ValueError, naming the pair, for text that is none."""
    known = {i.name: i for i in computation.inputs}
    found: dict[str, Any] = {}
    for pair in pairs:
        name, equals, text = pair.partition("=")
        if not equals:
            raise ValueError(f"'{pair}' has no '=': write name=value, for example {computation.inputs[0].name}=...")
        if name not in known:
            raise ValueError(f"{computation.name} does not take '{name}': it takes {', '.join(known)}")
        if name in found:
            raise ValueError(f"'{name}' is given twice")
        found[name] = _value(known[name], text.strip())
    return found


def _value(wanted: Input, text: str) -> Any:
    if not wanted.several:
        return _one(wanted, text)
    parts = [part.strip() for part in text.split(",")]
    if wanted.form != "amount":
        return tuple(_one(wanted, part) for part in parts)
    unit = _unit_in(parts[-1])
    return tuple(_one(wanted, part if _unit_in(part) else part + unit) for part in parts)


def _unit_in(text: str) -> str:
    match = NUMBER.fullmatch(text)
    return match[2] if match else ""


def _one(wanted: Input, text: str) -> Any:
    if wanted.form == "amount":
        return amount_typed(wanted, text)
    if wanted.form != "date":
        return text
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"'{wanted.name}' is '{text}', and must be a date as 2026-11-30") from None


def amount_typed(wanted: Input, text: str) -> Amount:
    """`-5degC` as an amount; a bare number is of the input's own unit only where that one has no sign.

    Raises ValueError for what is no number, has no unit, or one that is not on the list.
    """
    match = NUMBER.fullmatch(text)
    if match is None:
        raise ValueError(f"'{wanted.name}' is '{text}', and must be a plain decimal number with a unit")
    unit = SAME_UNIT.get(match[2], match[2])
    if not unit and wanted.unit in UNIT_LEFT_OUT:
        unit = wanted.unit
    if unit.lower() in GALLONS:
        raise ValueError(f"'{unit}' may mean two things: write us_gal or imp_gal, us_qt, us_pt")
    if unit not in KINDS:
        near = get_close_matches(unit, KINDS, 1)
        what = f"has the unit '{unit}', which is not on the list" if unit else "has no unit"
        raise ValueError(f"'{wanted.name}' {what}: {wanted.told()}" + (f"; did you mean {near[0]}?" if near else ""))
    return Amount(Decimal(match[1]), unit)
