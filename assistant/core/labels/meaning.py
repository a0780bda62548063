"""What a label means: product number, part number, lot, serial, expiry, quantity, whatever symbol carried it.

Text of a symbol that is not marked as GS1 or as an ISO/IEC 15434 envelope is a bare part number and is kept whole: no
leading P, S or Q is ever taken off, no application identifier looked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from assistant.core.events import Label
from assistant.core.labels import gs1
from assistant.core.labels.check_digit import ends_in_mod43, gtin14
from assistant.core.labels.dates import read_hhmm, read_yymmdd, read_yyyymmdd
from assistant.core.labels.envelope import is_envelope, read_envelope
from assistant.core.labels.faults import LabelFault

PRODUCT_SYMBOLOGIES = ("EAN-13", "EAN-8", "UPC-A", "ITF-14")
GS1_SYMBOLOGIES = ("GS1-128", "GS1-DATA-MATRIX", "GS1-QR", "DATABAR")
UNCHECKED_SYMBOLOGIES = ("CODE-39", "ITF-14")
"""Those whose decoder has no check character or code words to tell a misreading by. ITF-14 has the mod 10 digit of its
number, which a reading out of something else passes one time in ten."""


@dataclass(frozen=True)
class LabelMeaning:
    """What was read, "" or None where the label does not say. `problem` is a plain sentence: then trust nothing of it.

    gtin: 14 figures; number: part number as written; number_checked: `number` less its mod 43 character, where a Code
    39 ends in a right one; expiry: ISO 8601 day, the last good one ("2026-11-30"), or day and time; fields: value by
    application identifier ("01") or data identifier ("1P").
    """

    gtin: str = ""
    number: str = ""
    number_checked: str = ""
    lot: str = ""
    serial: str = ""
    expiry: str = ""
    quantity: int | None = None
    fields: Mapping[str, str] = field(default_factory=dict)
    problem: str | None = None


def carries_check(label: Label) -> bool:
    """Whether one reading of this symbol can be believed: its decoder would have noticed a misreading."""
    return label.symbology not in UNCHECKED_SYMBOLOGIES


def read_label(label: Label, today: date) -> LabelMeaning:
    """What the label means. Never raises: whatever is wrong stands in `problem`.

    >>> read_label(Label("EAN-8", "02345673"), date(2026, 1, 1)).gtin
    '00000002345673'
    """
    text = label.text
    if label.symbology in PRODUCT_SYMBOLOGIES:
        return _product(text)
    if label.symbology in GS1_SYMBOLOGIES or gs1.has_gs1_prefix(text):
        return _element_string(gs1.read_elements(text, today), today)
    if is_envelope(text):
        return _envelope(text, today)
    if text.startswith("(01)"):
        # Some printers put the brackets of the printed line into the symbol.
        return _element_string(gs1.read_bracketed(text, today), today)
    return _bare(label)


def _product(text: str) -> LabelMeaning:
    found = gtin14(text)
    if isinstance(found, LabelFault):
        return LabelMeaning(problem=found.sentence)
    return LabelMeaning(gtin=found, fields={"01": found})


def _bare(label: Label) -> LabelMeaning:
    number = label.text.strip()
    if not number:
        return LabelMeaning(problem="there is nothing in it")
    if not number.isprintable():
        return LabelMeaning(problem="it holds characters that can't be printed, and no envelope says what they mean")
    checked = number[:-1] if label.symbology == "CODE-39" and ends_in_mod43(number) else ""
    return LabelMeaning(number=number, number_checked=checked)


def _element_string(read: gs1.ElementString, today: date) -> LabelMeaning:
    fault = read.fault or gs1.product_fault(read.elements)
    return _from_application_identifiers(read.fields(), fault, today)


def _from_application_identifiers(fields: Mapping[str, str], fault: LabelFault | None, today: date) -> LabelMeaning:
    def first(*identifiers: str) -> str:
        return next((fields[ai] for ai in identifiers if ai in fields), "")

    return LabelMeaning(
        gtin=first("01", "02", "03") or first("8006")[:14],
        number=first("241", "240"),
        lot=first("10"),
        serial=first("21"),
        expiry=_expiry(fields, today),
        quantity=gs1.count(first("30", "37")),
        fields=fields,
        problem=fault.sentence if fault else None,
    )


def _expiry(fields: Mapping[str, str], today: date) -> str:
    """From identifiers 17 and 7003, already checked. Best-before (15) and sell-by (16) are none: they stay fields."""
    text = fields.get("7003") or fields.get("17", "")
    day = read_yymmdd(text[:6], today) if text else None
    if not isinstance(day, date):
        return ""
    hour = read_hhmm(text[6:]) if len(text) == 10 else None
    return day.isoformat() if hour is None or isinstance(hour, LabelFault) else f"{day.isoformat()}T{hour:%H:%M}"


def _envelope(text: str, today: date) -> LabelMeaning:
    read = read_envelope(text, today)
    by_ai, by_di = read.of("05"), read.of("06")
    if by_ai and not by_di:
        return _from_application_identifiers(by_ai, read.fault, today)
    expiry = _data_expiry(by_di, today)
    fault = read.fault or (expiry if isinstance(expiry, LabelFault) else None)
    return LabelMeaning(
        gtin=by_ai.get("01", ""),
        number=by_di.get("1P") or by_di.get("P", ""),
        lot=by_di.get("1T", ""),
        serial=by_di.get("S", ""),
        expiry="" if isinstance(expiry, LabelFault) else expiry,
        quantity=gs1.count(by_di.get("Q", "")),
        fields=by_ai | by_di,
        problem=fault.sentence if fault else None,
    )


def _data_expiry(by_di: Mapping[str, str], today: date) -> str | LabelFault:
    """14D: eight figures with the century, or six (both are met with)."""
    text = by_di.get("14D", "")
    if not text:
        return ""
    day = read_yyyymmdd(text) if len(text) == 8 else read_yymmdd(text, today)
    return day if isinstance(day, LabelFault) else day.isoformat()
