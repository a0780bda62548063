"""ISO/IEC 15434 envelopes, and the ANSI MH10.8.2 data identifiers in them.

`[)>` RS, then formats, each: two figures, GS, fields parted by GS, RS; EOT ends it. Format 05 holds GS1 application
identifiers, 06 data identifiers (one much-copied page says 01, which is the transport format), 12 text elements (three
signs, a space, the value; MIL-STD-130 uses those of the air transport industry; from memory).
A data identifier is figures, then one letter, greedy on the figures: 13Q is not 3Q. It is looked for only where the
envelope, or whoever asks, says that the label is so coded: a bare part number may begin with P or S.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from assistant.core.labels.faults import LabelFault
from assistant.core.labels.gs1 import GS, read_elements

HEADER = "[)>\x1e"
RS = "\x1e"
EOT = "\x04"

DATA_IDENTIFIERS = {
    "P": "part number given by the customer",
    "1P": "part number given by the supplier",
    "2P": "part revision",
    "33P": "supplier's part or bin code",
    "K": "customer order",
    "4K": "order line",
    "S": "serial number",
    "1T": "batch or lot",
    "3S": "package number",
    "4S": "package number",
    "5S": "package number",
    "6D": "shipping date",
    "9D": "date code, year and week",
    "10D": "date code",
    "14D": "expiry",
    "16D": "production date",
    "Q": "quantity",
    "7Q": "quantity with its unit",
    "13Q": "package count",
    "4L": "country of origin",
    "11K": "packing list",
    "1V": "maker",
    "12V": "supplier number",
    "17V": "supplier code (CAGE)",
    "18S": "unique item identifier",
    "25S": "unique item identifier",
}
"""Those that parts are met with, and what they say (ANSI MH10.8.2, after public readers of component labels).
Others are kept under their own figures and letter."""

TEXT_ELEMENTS = {
    "PNR": "part number",
    "PNO": "part number as first made",
    "SER": "serial number",
    "SEQ": "serial number within the part number",
    "LOT": "batch or lot",
    "MFR": "maker's code (CAGE)",
    "SPL": "supplier's code (CAGE)",
    "CAG": "maker's code (CAGE)",
    "EXP": "expiry",
    "DMF": "date of manufacture",
}
"""Those that parts are met with (from memory). Others are kept under their own three signs."""

_TEXT_ELEMENT = re.compile(r"([A-Z0-9]{3}) (.+)", re.DOTALL)
_DATA_IDENTIFIER = re.compile(r"(\d{0,3}[A-Z])(.+)", re.DOTALL)


@dataclass(frozen=True)
class Envelope:
    """Fields in order, each (format, identifier, value); `fault` is the first thing wrong."""

    fields: tuple[tuple[str, str, str], ...]
    fault: LabelFault | None = None

    def of(self, form: str) -> dict[str, str]:
        """Value by identifier, of one format."""
        return {name: value for f, name, value in self.fields if f == form}


def is_envelope(text: str) -> bool:
    """Whether it begins as an envelope does."""
    return text.startswith("[)>")


def read_data_identifier(text: str) -> tuple[str, str] | LabelFault:
    """Identifier and value of one field that is known to be coded so.

    >>> read_data_identifier("13Q2")
    ('13Q', '2')
    """
    match = _DATA_IDENTIFIER.fullmatch(text)
    return (match[1], match[2]) if match else LabelFault(f"{text!r} does not begin with a data identifier")


def read_text_element(text: str) -> tuple[str, str] | LabelFault:
    """Identifier and value of one field of format 12.

    >>> read_text_element("PNR 998-7")
    ('PNR', '998-7')
    """
    match = _TEXT_ELEMENT.fullmatch(text)
    return (match[1], match[2]) if match else LabelFault(f"{text!r} does not begin with a text element's name")


def read_envelope(text: str, today: date) -> Envelope:
    """All fields of formats 05, 06 and 12. The closing RS and EOT may lack: some printers leave them out."""
    if not text.startswith(HEADER):
        return Envelope((), LabelFault("it does not begin as an ISO 15434 envelope does"))
    fields: list[tuple[str, str, str]] = []
    bodies = text[len(HEADER) :].removesuffix(EOT).removesuffix(RS).split(RS)
    for body in bodies:
        found, fault = _one_format(body, today)
        fields += found
        if fault:
            return Envelope(tuple(fields), fault)
    return Envelope(tuple(fields))


def _one_format(body: str, today: date) -> tuple[list[tuple[str, str, str]], LabelFault | None]:
    form, _, inside = body.partition(GS)
    if not inside:
        return [], LabelFault(f"format {form!r} of the envelope is empty")
    if form == "05":
        read = read_elements(inside, today)
        return [(form, e.ai, e.value) for e in read.elements], read.fault
    if form in ("06", "12"):
        return _named_fields(form, inside)
    return [], LabelFault(f"format {form!r} of the envelope is none of 05, 06 and 12, and is not read here")


def _named_fields(form: str, inside: str) -> tuple[list[tuple[str, str, str]], LabelFault | None]:
    read = read_data_identifier if form == "06" else read_text_element
    fields: list[tuple[str, str, str]] = []
    for field in inside.split(GS):
        found = read(field)
        if isinstance(found, LabelFault):
            return fields, found
        if any(name == found[0] and value != found[1] for _, name, value in fields):
            return fields, LabelFault(f"it gives {found[0]} twice, and not the same")
        fields.append((form, *found))
    return fields, None
