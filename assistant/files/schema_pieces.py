"""The pieces that the schemas of procedure, sheet and site files are made of (JSON Schema, draft 2020-12).

A schema checks the form alone, as far as one table tells: that names exist, and what is proved, is for `layup prove`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from assistant.core.units import KINDS, kind_of

Schema = dict[str, Any]
DRAFT = "https://json-schema.org/draft/2020-12/schema"
NAME = "^[a-z][a-z0-9_]*$"
FIGURE = r"[+-]?[0-9]{1,15}(\.[0-9]{1,15})?"
TEXT: Schema = {"type": ["string", "number"], "minLength": 1}
NUMBER: Schema = {"anyOf": [{"type": "number"}, {"type": "string", "pattern": f"^{FIGURE}$"}]}
YES_OR_NO: Schema = {"enum": [True, False, "yes", "no", "true", "false"]}
DATE: Schema = {"type": "string", "pattern": "^(today|[0-9]{4}-([0-9]{2}(-[0-9]{2})?|Q[1-4]))$"}
ANY_KIND = "any kind"


def name(what: str) -> Schema:
    """A name of small letters, digits and underscores."""
    return {"type": "string", "pattern": NAME, "description": what}


def told(schema: Schema, what: str) -> Schema:
    """The same with what an editor says about it."""
    return {**schema, "description": what}


def one_or_more(schema: Schema, what: str) -> Schema:
    """A list, or one alone."""
    return {"anyOf": [schema, {"type": "array", "items": schema, "minItems": 1}], "description": what}


def list_of(schema: Schema, what: str) -> Schema:
    """A list."""
    return {"type": "array", "items": schema, "description": what}


def whole(least: int, most: int, what: str) -> Schema:
    """A whole number."""
    return {
        "type": ["integer", "string"],
        "minimum": least,
        "maximum": most,
        "pattern": "^[0-9]+$",
        "description": what,
    }


def amount(kind: str = ANY_KIND) -> Schema:
    """A number with a unit, of one kind of quantity or of any."""
    return {"$ref": f"#/$defs/{kind.replace(' ', '_')}"}


def value(kind: str = ANY_KIND) -> Schema:
    """An amount, or the name of one."""
    return {"anyOf": [amount(kind), {"type": "string", "pattern": NAME}]}


def amounts() -> dict[str, Schema]:
    """What `amount` refers to: its form for each kind, to stand among the definitions of a schema."""
    return {kind.replace(" ", "_"): _amount(kind) for kind in sorted({ANY_KIND, *KINDS.values()})}


def _amount(kind: str) -> Schema:
    units = [unit for unit in KINDS if kind in (ANY_KIND, kind_of(unit))]
    pattern = f"^{FIGURE} +({'|'.join(re.escape(unit) for unit in units)})$"
    return {"type": "string", "pattern": pattern, "examples": [f"1 {unit}" for unit in units]}


def table(keys: tuple[str, ...], needed: tuple[str, ...], entries: Mapping[str, Schema], what: str = "") -> Schema:
    """A table with these keys and no others. Raises ValueError where they are not those that the reader knows."""
    if set(keys) != set(entries):
        raise ValueError(f"the schema and the reader differ in {sorted(set(keys) ^ set(entries))}")
    schema: Schema = {"type": "object", "properties": dict(entries), "additionalProperties": False}
    return {**schema, **({"required": list(needed)} if needed else {}), **({"description": what} if what else {})}


def names_to(schema: Schema, what: str) -> Schema:
    """A table whose keys are names."""
    return {"type": "object", "propertyNames": {"pattern": NAME}, "additionalProperties": schema, "description": what}


HELD = names_to({"type": ["string", "boolean"]}, "condition: value")
