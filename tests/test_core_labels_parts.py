"""What labels mean, and whether the packet is the part that is wanted. All parts are invented."""

from __future__ import annotations

from datetime import date

import pytest

from assistant.core.events import Label
from assistant.core.labels.meaning import LabelMeaning, carries_check, read_label
from assistant.core.labels.part_check import Taken, check_part, spelled, use_key
from assistant.core.machine import WantedPart

TODAY = date(2026, 11, 25)
GS = "\x1d"

MEANINGS = [
    (Label("EAN-13", "2990001000421"), {"gtin": "02990001000421"}),
    (Label("UPC-A", "416000336108"), {"gtin": "00416000336108"}),
    (Label("EAN-8", "02345673"), {"gtin": "00000002345673"}),
    (Label("ITF-14", "12345678901231"), {"gtin": "12345678901231"}),
    (Label("GS1-128", f"010299000100011710F2604{GS}21000731"),
     {"gtin": "02990001000117", "lot": "F2604", "serial": "000731"}),
    (Label("GS1-DATA-MATRIX", "01029900010005131734060010R118"),
     {"gtin": "02990001000513", "expiry": "2034-06-30", "lot": "R118"}),
    (Label("CODE-128", "]C10102990001000117"), {"gtin": "02990001000117"}),
    (Label("GS1-QR", f"01029900010005137003261130{'0930'}"), {"expiry": "2026-11-30T09:30"}),
    (Label("GS1-128", f"02029900010001173712{GS}10B1"), {"gtin": "02990001000117", "quantity": 12, "lot": "B1"}),
    (Label("GS1-128", f"0102990001000117240T3-2040{GS}305"), {"number": "T3-2040", "quantity": 5}),
    (Label("DATABAR", "0102990001000117"), {"gtin": "02990001000117"}),
    (Label("QR", "(01)02990001000117(10)F2604"), {"gtin": "02990001000117", "lot": "F2604"}),
    (Label("DATA-MATRIX", "[)>\x1e06\x1d1PT3-3301\x1d1TA77\x1dQ4\x1d14D20301231\x1e\x04"),
     {"number": "T3-3301", "lot": "A77", "quantity": 4, "expiry": "2030-12-31"}),
    (Label("CODE-39", "S12345"), {"number": "S12345", "serial": ""}),
    (Label("CODE-39", "P1234"), {"number": "P1234"}),
    (Label("CODE-128", "1P3412"), {"number": "1P3412"}),
    (Label("CODE-39", "A1207-DQ"), {"number": "A1207-DQ", "number_checked": "A1207-D"}),
    (Label("CODE-128", "A1207-DQ"), {"number": "A1207-DQ", "number_checked": ""}),
    (Label("CODE-128", "0102990001000117"), {"number": "0102990001000117", "gtin": ""}),
]  # fmt: skip


@pytest.mark.parametrize(("label", "said"), MEANINGS, ids=lambda x: repr(getattr(x, "text", "")))
def test_a_label_means_what_its_symbol_says(label: Label, said: dict[str, object]) -> None:
    """Each symbology by its own rule; plain Code 39 and 128 are kept whole, never taken for identifiers."""
    meaning = read_label(label, TODAY)
    assert meaning.problem is None
    assert {name: getattr(meaning, name) for name in said} == said


@pytest.mark.parametrize(
    ("label", "words"),
    [
        (Label("EAN-13", "2990001000422"), "check digit"),
        (Label("EAN-13", "299000100042"), "check digit"),
        (Label("GS1-128", "10F2604"), "no product number"),
        (Label("GS1-128", "21000731"), "no product number"),
        (Label("GS1-128", "0102990001000117171340"), "too short"),
        (Label("GS1-128", "010299000100011717134001"), "month 40"),
        (Label("CODE-128", "AB\x1dCD"), "can't be printed"),
        (Label("CODE-39", "  "), "nothing in it"),
        (Label("DATA-MATRIX", "[)>\x1e06\x1d1PA\x1d14D20301301\x1e\x04"), "month 13"),
    ],
)
def test_a_label_that_cannot_be_trusted_says_why(label: Label, words: str) -> None:
    """The problem is one plain sentence."""
    assert words in (read_label(label, TODAY).problem or "")


@pytest.mark.parametrize(
    ("symbology", "checked"),
    [("EAN-13", True), ("GS1-128", True), ("DATA-MATRIX", True), ("CODE-39", False), ("ITF-14", False)],
)
def test_which_symbols_are_believed_at_once(symbology: str, checked: bool) -> None:
    """Code 39 and interleaved 2 of 5 have no check that the decoder applies."""
    assert carries_check(Label(symbology, "1234")) is checked


OIL = WantedPart("oil_filter", "oil filter", gtins=("2990001000117",), numbers=("T3-2040",))
FUEL = WantedPart("fuel_filter", "fuel filter", gtins=("2990001000285",))
ORING = WantedPart("cover_oring_large", "large cover O-ring", gtins=("02990001000513",))
WASHER = WantedPart("drain_washer", "drain plug washer", numbers=("T3-1142", "A1207-D"))
ALL = (OIL, FUEL, ORING, WASHER)


def answer(
    symbology: str, text: str, wanted: WantedPart, used: frozenset[str] = frozenset(), today: date = TODAY
) -> tuple[str, str]:
    found = check_part(read_label(Label(symbology, text), today), wanted, ALL, today, Taken(used))
    assert found.sentence.endswith(".")
    assert not any(c.isdigit() for c in found.sentence.replace("2024", ""))
    return found.answer, found.role


@pytest.mark.parametrize(
    ("symbology", "text", "wanted", "expected"),
    [
        ("GS1-128", f"010299000100011710F2604{GS}21000731", OIL, ("right", "oil_filter")),
        ("EAN-13", "2990001000117", OIL, ("right", "oil_filter")),
        ("CODE-128", "t3-2040", OIL, ("right", "oil_filter")),
        ("CODE-128", "T32040", OIL, ("not known", "")),
        ("EAN-13", "2990001000285", OIL, ("wrong", "fuel_filter")),
        ("CODE-39", "T3-1142", OIL, ("wrong", "drain_washer")),
        ("CODE-39", "A1207-DQ", WASHER, ("not known", "drain_washer")),
        ("CODE-39", "A1207-DQ", OIL, ("wrong", "drain_washer")),
        ("CODE-39", "A1207-D", WASHER, ("right", "drain_washer")),
        ("CODE-128", "A1207-DQ", WASHER, ("not known", "")),
        ("EAN-13", "2990001000421", OIL, ("not known", "")),
        ("GS1-DATA-MATRIX", "01029900010005131734060010R118", ORING, ("right", "cover_oring_large")),
        ("GS1-DATA-MATRIX", "01029900010005131724053110R087", ORING, ("past its date", "cover_oring_large")),
        ("GS1-DATA-MATRIX", "01029900010005131724053110R087", OIL, ("wrong", "cover_oring_large")),
        ("GS1-DATA-MATRIX", "0102990001000514", ORING, ("not known", "")),
        ("GS1-128", f"0102990001000285240T3-2040{GS}", OIL, ("wrong", "fuel_filter")),
    ],
)
def test_the_answer_for_each_packet(symbology: str, text: str, wanted: WantedPart, expected: tuple[str, str]) -> None:
    """Right only for what the sheet lists; the product number outweighs a part number beside it."""
    assert answer(symbology, text, wanted) == expected


@pytest.mark.parametrize("how", ["numbers", "superseded"])
def test_a_number_that_is_another_part_whole_is_that_part(how: str) -> None:
    """T3-1142X ends in the mod 43 character of T3-1142 by chance (ISO/IEC 16388 annex A: 29 + 3 + 36 + 1 + 1 + 4 + 2 = 76, less
    43 is 33, X): it is the
    shim that the sheet lists, accepted or superseded, and never the washer; the washer's own number is no shim."""
    shim = WantedPart("shim", "shim", **{how: ("t3-1142x",)})
    meaning = read_label(Label("CODE-39", "T3-1142X"), TODAY)
    assert meaning.number_checked == "T3-1142"
    for parts in ((WASHER, shim), (shim, WASHER)):
        assert check_part(meaning, WASHER, parts, TODAY).answer == "wrong"
        assert check_part(meaning, WASHER, parts, TODAY).role == "shim"
        assert check_part(meaning, shim, parts, TODAY).answer == ("right" if how == "numbers" else "superseded")
        washer = read_label(Label("CODE-39", "T3-1142"), TODAY)
        assert check_part(washer, WASHER, parts, TODAY).answer == "right"
        assert check_part(washer, shim, parts, TODAY).answer == "wrong"


def test_a_number_that_was_affirmed_whole_is_that_part() -> None:
    """As one that the sheet lists is: for its own role learnt, for the role of the shorter number wrong."""
    meaning = read_label(Label("CODE-39", "T3-1142X"), TODAY)
    shim = WantedPart("shim", "shim", numbers=("T3-77",))
    taken = Taken(learnt={"shim": frozenset({"T3-1142X"})})
    assert check_part(meaning, shim, (WASHER, shim), TODAY, taken).answer == "learnt"
    assert check_part(meaning, WASHER, (WASHER, shim), TODAY, taken).answer == "wrong"


def test_a_serial_taken_before_is_already_used() -> None:
    """The same product and serial again is the same packet; another serial is not."""
    text = f"010299000100011710F2604{GS}21"
    first = read_label(Label("GS1-128", text + "000731"), TODAY)
    used = frozenset({use_key(first)})
    assert answer("GS1-128", text + "000731", OIL, used)[0] == "already used"
    assert answer("GS1-128", text + "000732", OIL, used)[0] == "right"
    assert answer("EAN-13", "2990001000117", OIL, used)[0] == "right"


def test_the_day_of_expiry_itself_is_still_good() -> None:
    """Past its date begins the day after."""
    text = "010299000100051317240531"
    assert answer("GS1-DATA-MATRIX", text, ORING, today=date(2024, 5, 31))[0] == "right"
    assert answer("GS1-DATA-MATRIX", text, ORING, today=date(2024, 6, 1))[0] == "past its date"


def test_what_has_no_serial_has_no_key() -> None:
    """Two packets of the same product without serials are never taken for one."""
    assert use_key(LabelMeaning(gtin="02990001000117")) == ""


def test_numbers_are_said_figure_by_figure() -> None:
    """ICAO figures and letters; a wrong part is named by what it is."""
    assert spelled("T3-09.a") == "Tango three dash zero niner decimal Alfa"
    meaning = read_label(Label("EAN-13", "2990001000285"), TODAY)
    assert check_part(meaning, OIL, ALL, TODAY).sentence == (
        "Wrong part: that is the fuel filter. I want the oil filter."
    )
    unknown = read_label(Label("CODE-128", "X9"), TODAY)
    assert check_part(unknown, OIL, ALL, TODAY).sentence == (
        "I don't know part number X-ray niner. I want the oil filter."
    )
