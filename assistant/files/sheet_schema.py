"""The form of a machine sheet and of a site's sheet as JSON Schema: see `procedure_schema`."""

from __future__ import annotations

from typing import get_args

from assistant.core.speech.commands import BY_NAME
from assistant.core.speech.saying import REGIMES
from assistant.core.trade.seals import Arp5316Polymer, Iso2230Polymer
from assistant.files import sheet_file, sheet_values, site_file
from assistant.files.schema_pieces import (
    DRAFT,
    TEXT,
    YES_OR_NO,
    Schema,
    amount,
    amounts,
    list_of,
    names_to,
    one_or_more,
    table,
    told,
    whole,
)

DAY: Schema = {"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}
ORIGIN: dict[str, Schema] = {
    "page": told(TEXT, "of the manual: 6-4"),
    "from": told(TEXT, "where it comes from when it is of no manual: a label"),
    "manual": told(TEXT, "where it is another than the sheet's"),
    "by": told(TEXT, "who entered it, where it was somebody else"),
    "on": told(DAY, "when, where it was another day"),
}


def sheet_schema() -> Schema:
    """Of a machine sheet."""
    number: dict[str, Schema] = {
        "is": told(amount(), "the number with its unit"),
        **ORIGIN,
        "thread": told({"enum": list(sheet_values.THREADS)}, "of the fastener that the torque is for"),
        "class": told({"type": ["string", "number"]}, f"marked on it: {', '.join(sheet_values.CLASSES)}"),
        "checked": told(TEXT, "why it is right although it was questioned"),
    }
    counted = table(sheet_values.COUNT_KEYS, ("is",), {"is": _count("how many"), **ORIGIN})
    entries: dict[str, Schema] = {
        "model": told(TEXT, "which machine"),
        "for": told(TEXT, "its class, as the procedures have it"),
        "manual": told(TEXT, "the manual that the pages are of"),
        "entered": table(
            sheet_values.ENTERED_KEYS, ("by", "on"), {"by": TEXT, "on": DAY}, "who copied the numbers, when"
        ),
        "look_up": told(YES_OR_NO, "yes: what is missing is looked up by the technician before the job begins"),
        "counts": names_to({"anyOf": [_count("how many"), counted]}, "how many there are: {cylinder: 3}"),
        "values": names_to(table(sheet_values.VALUE_KEYS, ("is",), number), "its numbers, each with its page"),
        "pages": names_to(TEXT, "where in the manual the steps' places stand: {oil_change: 4-2}"),
        "parts": names_to(_part(), "what fits, by role"),
    }
    return {
        "$schema": DRAFT,
        "title": "A machine sheet",
        **table(sheet_file.SHEET_KEYS, ("model", "for"), entries),
        "$defs": amounts(),
    }


def _count(what: str) -> Schema:
    return whole(1, sheet_values.MOST_POSITIONS, what)


def _part() -> Schema:
    polymers = sorted({*get_args(Iso2230Polymer), *get_args(Arp5316Polymer), "any"})
    seal: dict[str, Schema] = {
        "polymer": told({"enum": polymers}, "as the rule names it"),
        "by": {"enum": list(sheet_file.SEAL_RULES)},
        "years": whole(1, 50, "as its label says"),
    }
    entries: dict[str, Schema] = {
        "say": told(TEXT, "what it is called aloud"),
        "gtins": list_of({"type": ["string", "integer"]}, "its product numbers (GTIN), in quotes"),
        "numbers": list_of(TEXT, "its maker's numbers"),
        "superseded": list_of(TEXT, "older numbers that still fit; they are asked about"),
        "quantity": whole(1, 99, "how many are wanted"),
        "seal": table(sheet_file.SEAL_KEYS, (), seal, "how its rubber ages on the shelf"),
    }
    return table(sheet_file.PART_KEYS, ("say",), entries)


def site_schema() -> Schema:
    """Of the shop's own sheet."""
    number: dict[str, Schema] = {"is": amount(), "source": told(TEXT, "where it comes from")}
    words = {command: one_or_more(TEXT, f"the shop's words for {command}") for command in BY_NAME}
    entries: dict[str, Schema] = {
        "shop": told(TEXT, "its name"),
        "gallon": told({"enum": ["us_gal", "imp_gal"]}, "which one a bare gallon is"),
        "read_back": told({"enum": list(REGIMES)}, "how whole hundreds and thousands are said"),
        "values": names_to(table(("is", "source"), ("is", "source"), number), "altitude, lowest_expected ..."),
        "words": table(tuple(BY_NAME), (), words, "its own words for commands"),
        "language": told(
            {"type": ["string", "object"]}, "what is spoken: en, es, or a language file of the shop's own"
        ),
    }
    return {
        "$schema": DRAFT,
        "title": "A shop's sheet",
        **table(site_file.SITE_KEYS, ("shop", "gallon"), entries),
        "$defs": amounts(),
    }
