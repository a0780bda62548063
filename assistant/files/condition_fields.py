"""Conditions of the machine as a table in a procedure file: `needs: {water: off, engine: stopped}`."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import did_you_mean

Known = Mapping[str, tuple[str, ...]]
"""Condition -> the values that it may have."""


def held(fields: Fields, key: str, known: Known, also: tuple[str, ...] = ()) -> dict[str, str]:
    """Condition -> value under the key, each checked against the values that it may have."""
    inner = fields.under(key)
    held = {}
    for name in inner.names:
        value = inner.text(name)
        if name not in known:
            what = f"'{name}' is not among the conditions"
            fields.complaints.add(inner.key_place(name), what, did_you_mean(name, list(known)))
        elif value and value not in (*known[name], *also):
            inner.complain(name, f"'{name}' is never '{value}'", did_you_mean(value, [*known[name], *also]))
        held[name] = value
    return held
