"""What a label means: product number, part number, lot, serial, expiry, quantity, whatever symbol carried it.

Text of a symbol that is not marked as GS1 or as an ISO/IEC 15434 envelope is a bare part number and is kept whole: no
leading P, S or Q is ever taken off, no application identifier looked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from assistant.core.events import Label
from assistant.core.labels import gs1
from assistant.core.labels.check_digit import ends_in_mod43, gtin14
from assistant.core.labels.dates import read_hhmm, read_yymmdd, read_yyww, read_yyyymmdd
from assistant.core.labels.envelope import is_envelope, read_envelope
from assistant.core.labels.faults import LabelFault
from assistant.core.labels.machine_number import read_machine_number

PRODUCT_SYMBOLOGIES = ("EAN-13", "EAN-8", "UPC-A", "ITF-14")
GS1_SYMBOLOGIES = ("GS1-128", "GS1-DATA-MATRIX", "GS1-QR", "DATABAR")
UNCHECKED_SYMBOLOGIES = ("CODE-39", "ITF-14")
"""Those whose decoder has no check character or code words to tell a misreading by. ITF-14 has the mod 10 digit of its
number, which a reading out of something else passes one time in ten."""
INDIVIDUAL = frozenset(("8003", "8004"))
"""Identifiers that name one piece of property, and so need no product beside them."""


@dataclass(frozen=True)
class LabelMeaning:
    """What was read, "" or None where the label does not say. `problem` is a plain sentence: then trust nothing of it.

    gtin: 14 figures; number: part number as written; number_checked: `number` less its mod 43 character, where a Code
    39 ends in a right one; expiry, best_before: ISO 8601 day, the last good one ("2026-11-30"), or day and time; made: the
    day it was made or cured, of a week its first; fields: value by application identifier ("01"), data identifier ("1P"),
    or name ("maker"); only_piece: nothing is wrong but that it names no product, which another label of the packet may do
    (of an element string that is a problem, for GS1 asks for it); machine:
    "hull number" or "vehicle number" where the text is one of a machine, and no part's; problem_said: the problem in the
    technician's language, where there are words for it.
    """

    gtin: str = ""
    number: str = ""
    number_checked: str = ""
    lot: str = ""
    serial: str = ""
    expiry: str = ""
    best_before: str = ""
    made: str = ""
    quantity: int | None = None
    fields: Mapping[str, str] = field(default_factory=dict)
    problem: str | None = None
    problem_said: str = ""
    only_piece: bool = False
    machine: str = ""

    @property
    def product(self) -> str:
        """What names the product: its GTIN, else its part number; "" where nothing does."""
        return self.gtin or self.number


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
    return _bare(label, today)


def _product(text: str) -> LabelMeaning:
    found = gtin14(text)
    if isinstance(found, LabelFault):
        return LabelMeaning(problem=found.sentence)
    return LabelMeaning(gtin=found, fields={"01": found})


def _bare(label: Label, today: date) -> LabelMeaning:
    number = label.text.strip()
    if not number:
        return LabelMeaning(problem="there is nothing in it")
    if not number.isprintable():
        return LabelMeaning(problem="it holds characters that can't be printed, and no envelope says what they mean")
    checked = number[:-1] if label.symbology == "CODE-39" and ends_in_mod43(number) else ""
    machine, fields = read_machine_number(number, today)
    return LabelMeaning(number=number, number_checked=checked, fields=fields, machine=machine)


def _element_string(read: gs1.ElementString, today: date) -> LabelMeaning:
    found = _from_application_identifiers(read.fields(), today)
    if read.fault:
        return replace(found, problem=read.fault.sentence)
    alone = gs1.product_fault(read.elements)
    return replace(found, problem=alone.sentence, only_piece=True) if alone else found


def _from_application_identifiers(fields: Mapping[str, str], today: date) -> LabelMeaning:
    def first(*identifiers: str) -> str:
        return next((fields[ai] for ai in identifiers if ai in fields), "")

    return LabelMeaning(
        gtin=first("01", "02", "03") or first("8006")[:14],
        number=first("241", "240"),
        lot=first("10"),
        serial=first("21"),
        expiry=_moment(first("7003", "17"), today),
        best_before=_moment(first("15"), today),
        made=_moment(first("11"), today),
        quantity=gs1.count(first("30", "37")),
        fields=fields,
    )


def _moment(text: str, today: date) -> str:
    """A day, or day and time, of an element string that was found without a fault; "" else. Sell-by (16) is the shop's."""
    day = read_yymmdd(text[:6], today) if text else None
    if not isinstance(day, date):
        return ""
    hour = read_hhmm(text[6:]) if len(text) == 10 else None
    return day.isoformat() if hour is None or isinstance(hour, LabelFault) else f"{day.isoformat()}T{hour:%H:%M}"


def _envelope(text: str, today: date) -> LabelMeaning:
    """All formats of the envelope together: they are one label."""
    read = read_envelope(text, today)
    by_ai, by_di, by_name = read.of("05"), read.of("06"), read.of("12")
    found = _from_application_identifiers(by_ai, today)
    expiry = _long_or_short(by_di.get("14D") or by_name.get("EXP", ""), today)
    made = _made(by_di, by_name, today)
    fault = read.fault or next((x for x in (expiry, made) if isinstance(x, LabelFault)), None)
    meaning = replace(
        found,
        number=by_di.get("1P") or by_di.get("P") or by_name.get("PNR") or by_name.get("PNO") or found.number,
        lot=by_di.get("1T") or by_name.get("LOT") or found.lot,
        serial=by_di.get("S") or by_name.get("SER") or by_name.get("SEQ") or found.serial,
        expiry="" if isinstance(expiry, LabelFault) else expiry or found.expiry,
        made="" if isinstance(made, LabelFault) else made or found.made,
        quantity=found.quantity if (count := gs1.count(by_di.get("Q", ""))) is None else count,
        fields=by_ai | by_di | by_name,
        problem=fault.sentence if fault else None,
    )
    if fault is None and not meaning.product and not INDIVIDUAL.intersection(by_ai):
        return replace(meaning, only_piece=True)
    return meaning


def _long_or_short(text: str, today: date) -> str | LabelFault:
    """Eight figures with the century, or six (both are met with)."""
    if not text:
        return ""
    day = read_yyyymmdd(text) if len(text) == 8 else read_yymmdd(text, today)
    return day if isinstance(day, LabelFault) else day.isoformat()


def _made(by_di: Mapping[str, str], by_name: Mapping[str, str], today: date) -> str | LabelFault:
    """16D or DMF, a day; 9D, a week, of which the first day counts."""
    text = by_di.get("16D") or by_name.get("DMF", "")
    if text or "9D" not in by_di:
        return _long_or_short(text, today)
    week = read_yyww(by_di["9D"], today)
    return week if isinstance(week, LabelFault) else date.fromisocalendar(*week, 1).isoformat()
