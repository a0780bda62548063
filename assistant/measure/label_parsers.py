"""Every parser of labels by name, as the fuzzers call it: any text and any day in, a value out, never an exception.

`layup measure labels --fuzz` and the tests run through them all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from assistant.core.events import Label
from assistant.core.labels import check_digit, dates, envelope, gs1
from assistant.core.labels.hull_number import read_hull_number
from assistant.core.labels.machine_number import read_machine_number
from assistant.core.labels.meaning import GS1_SYMBOLOGIES, PRODUCT_SYMBOLOGIES, read_label
from assistant.core.labels.packet import packets_in
from assistant.core.labels.part_check import Taken, check_part, spelled
from assistant.core.labels.slips import find_slips, told_slips
from assistant.core.labels.spoken import read_spoken
from assistant.core.labels.vehicle_number import read_vehicle_number
from assistant.core.machine import SealLife, WantedPart

SYMBOLOGIES = (*PRODUCT_SYMBOLOGIES, *GS1_SYMBOLOGIES, "CODE-128", "CODE-39", "DATA-MATRIX", "QR", "SPOKEN", "")
PARTS = (
    WantedPart("a", "oil filter", ("2990001000117",), ("T3-2040",), 2, ("T3-2039", "2990001000100")),
    WantedPart("b", "O-ring", ("2990001000513",), ("A1207-D",), seal=SealLife("iso2230", "NBR")),
    WantedPart("c", "O-ring", (), ("998-7",), seal=SealLife("arp5316", "SBR")),
    WantedPart("d", "washer", (), ("0042",), seal=SealLife("label", years=5)),
)
TAKEN = Taken(frozenset({"02990001000117/1"}), {"T3-2040/": 1}, {"d": frozenset({"X"})})


@dataclass(frozen=True)
class Fault:
    """A parser that raised: which, what, and by which text on which day (ISO 8601)."""

    parser: str
    exception: str
    text: str
    day: str


def is_right(text: str) -> bool:
    """The rule that a slip is looked for by."""
    return check_digit.mod10_fault(text) is None


def in_every_symbol(text: str, today: date) -> None:
    """As the text of each symbology, judged for each part."""
    for symbology in SYMBOLOGIES:
        meaning = read_label(Label(symbology, text), today)
        assert meaning.problem is None or meaning.problem
        for part in PARTS:
            found = check_part(meaning, part, PARTS, today, TAKEN)
            assert found.sentence.endswith(".")


def in_one_picture(text: str, today: date) -> None:
    """Its pieces as labels of one packet, beside a product."""
    labels = (*(Label("GS1-128", piece) for piece in text.split("|")), Label("EAN-13", "2990001000117"))
    assert packets_in(labels, today)


Parser = Callable[[str, date], object]
PARSERS: Mapping[str, Parser] = {
    "element string": gs1.read_elements,
    "printed form": gs1.read_bracketed,
    "envelope": envelope.read_envelope,
    "data identifier": lambda text, _: envelope.read_data_identifier(text),
    "text element": lambda text, _: envelope.read_text_element(text),
    "GTIN": lambda text, _: check_digit.gtin14(text),
    "mod 43": lambda text, _: (check_digit.mod43_character(text), check_digit.ends_in_mod43(text)),
    "YYMMDD": dates.read_yymmdd,
    "YYYYMMDD": lambda text, _: dates.read_yyyymmdd(text),
    "HHMM": lambda text, _: dates.read_hhmm(text),
    "YYWW": dates.read_yyww,
    "hull number": read_hull_number,
    "vehicle number": read_vehicle_number,
    "machine number": read_machine_number,
    "said": lambda text, today: (read_spoken(text, PARTS, today), spelled(text)),
    "slips": lambda text, _: (find_slips(text, is_right), told_slips(text, is_right)),
    "any symbol": in_every_symbol,
    "one picture": in_one_picture,
}
SEEDS = (
    "010299000100011710F2604\x1d21000731",
    "]d20102990001000513173406001015\x1d7003251231235911260101",
    "[)>\x1e06\x1d1P998-7\x1d1TA77\x1dQ4\x1d14D20301231\x1d9D2419\x1e\x04",
    "[)>\x1e05\x1d800406141419999960MH80312\x1d21MH80312\x1e12\x1dPNR 998-7\x1dEXP 20301231\x1e\x04",
    "(01)02990001000117(10)A\\(B",
    "US-ABC12345A626",
    "ABC12345M82H",
    "1G4AH59H45G118341",
    "A1207-DQ",
    "2990001000118",
    "10A|21B|0102990001000117",
)
"""Where a fuzzer may begin."""


def faults_by(text: str, today: date, parsers: Mapping[str, Parser] = PARSERS) -> Iterator[Fault]:
    """What the parsers raise when they are given this text on this day."""
    for name, parse in parsers.items():
        try:
            parse(text, today)
        except Exception as e:
            yield Fault(name, f"{type(e).__name__}: {e}", text, today.isoformat())
