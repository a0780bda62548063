"""Labels of one picture put together, and what stands against a packet that fits: age, supersession, shown before."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.events import Label
from assistant.core.labels.meaning import LabelMeaning, read_label
from assistant.core.labels.packet import packets_in
from assistant.core.labels.part_check import NOTHING_TAKEN, Taken, check_part, pieces_left
from assistant.core.machine import SealLife, WantedPart

TODAY = date(2026, 11, 26)
GS = "\x1d"
EAN, OTHER = Label("EAN-13", "2990001000117"), Label("EAN-13", "2990001000285")
LOT, OTHER_LOT = Label("GS1-128", "10F2604"), Label("GS1-128", "10F2605")
SERIAL = Label("GS1-DATA-MATRIX", f"21000731{GS}11260115")
NUMBER, OTHER_NUMBER = Label("CODE-39", "T3-2040"), Label("CODE-39", "T3-1142")
SAME_NUMBER = Label("QR", "t3-2040")
ENVELOPE_LOT = Label("DATA-MATRIX", "[)>\x1e06\x1d1TF2604\x1dQ4\x1e\x04")
BROKEN = Label("EAN-13", "2990001000118")


def said(*labels: Label) -> list[tuple[str, str, str, bool]]:
    found = packets_in(labels, TODAY)
    return [(p.meaning.product, p.meaning.lot, p.meaning.serial, p.meaning.problem is None) for p in found]


@pytest.mark.parametrize(
    ("labels", "packets"),
    [
        ((EAN, LOT), [("02990001000117", "F2604", "", True)]),
        ((LOT, EAN), [("02990001000117", "F2604", "", True)]),
        ((EAN, EAN, LOT, SERIAL), [("02990001000117", "F2604", "000731", True)]),
        ((NUMBER, ENVELOPE_LOT), [("T3-2040", "F2604", "", True)]),
        ((EAN, NUMBER, LOT), [("02990001000117", "F2604", "", True), ("T3-2040", "F2604", "", True)]),
        ((EAN, LOT, BROKEN), [("02990001000117", "F2604", "", True), ("", "", "", False)]),
        # nobody knows what belongs to what
        ((EAN, OTHER, LOT), [("02990001000117", "", "", True), ("02990001000285", "", "", True), ("", "F2604", "", False)]),
        ((EAN, LOT, OTHER_LOT), [("02990001000117", "", "", True), ("", "F2604", "", False), ("", "F2605", "", False)]),
        ((NUMBER, OTHER_NUMBER, LOT), [("T3-2040", "", "", True), ("T3-1142", "", "", True), ("", "F2604", "", False)]),
        ((NUMBER, SAME_NUMBER, LOT), [("T3-2040", "F2604", "", True), ("t3-2040", "F2604", "", True)]),
        ((LOT,), [("", "F2604", "", False)]),
        ((ENVELOPE_LOT,), [("", "F2604", "", True)]),
        ((ENVELOPE_LOT, LOT), [("", "F2604", "", True), ("", "F2604", "", False)]),
        ((BROKEN, LOT), [("", "", "", False), ("", "F2604", "", False)]),
        ((), []),
    ],
)  # fmt: skip
def test_pieces_go_to_the_product_they_must_belong_to(
    labels: tuple[Label, ...], packets: list[tuple[str, str, str, bool]]
) -> None:
    """One product number in the picture, or one part number, and nothing that differs: else each label stands alone."""
    assert said(*labels) == packets


@given(st.permutations([EAN, LOT, SERIAL, NUMBER, BROKEN]))
def test_the_order_in_which_labels_are_seen_does_not_matter(labels: list[Label]) -> None:
    """The same packets, whichever symbol the decoders came upon first."""
    assert sorted(said(*labels)) == sorted(said(EAN, LOT, SERIAL, NUMBER, BROKEN))


def test_a_lot_alone_is_no_part() -> None:
    """It is asked for what it belongs to."""
    assert answered(ENVELOPE_LOT.text, RING) == (
        "not known",
        "That label names no product. I want the large cover O-ring.",
    )


def test_a_packet_remembers_its_other_labels() -> None:
    """All fields, and the labels that they came from."""
    [packet] = packets_in((EAN, LOT, SERIAL), TODAY)
    assert (packet.label, packet.beside) == (EAN, (LOT, SERIAL))
    assert packet.meaning.fields == {"01": "02990001000117", "10": "F2604", "21": "000731", "11": "260115"}
    assert packet.meaning.made == "2026-01-15"


RING = WantedPart(
    "ring", "large cover O-ring", gtins=("2990001000513",), numbers=("T3-900",), superseded=("T3-899", "2990001000506")
)
OIL = WantedPart("oil_filter", "oil filter", gtins=("2990001000117",), numbers=("T3-2040",), superseded=("T3-2039",))
RULED = {
    "iso": WantedPart("ring", "O-ring", numbers=("R1",), seal=SealLife("iso2230", "NBR")),
    "arp": WantedPart("ring", "O-ring", numbers=("R1",), seal=SealLife("arp5316", "NBR")),
    "sbr": WantedPart("ring", "O-ring", numbers=("R1",), seal=SealLife("arp5316", "SBR")),
    "fkm": WantedPart("ring", "O-ring", numbers=("R1",), seal=SealLife("arp5316", "FKM")),
    "label": WantedPart("ring", "O-ring", numbers=("R1",), seal=SealLife("label", years=10)),
}


def answered(text: str, wanted: WantedPart, taken: Taken = NOTHING_TAKEN, today: date = TODAY) -> tuple[str, str]:
    meaning = read_label(Label("GS1-128" if text[:2] in ("01", "02") else "CODE-128", text), today)
    found = check_part(meaning, wanted, (RING, OIL), today, taken)
    return found.answer, found.sentence


def envelope(*fields: str) -> str:
    return "[)>\x1e06\x1d" + GS.join(fields) + "\x1e\x04"


@pytest.mark.parametrize(
    ("text", "wanted", "answer", "piece"),
    [
        ("T3-899", RING, "superseded", "now Tango three dash niner zero zero"),
        ("0102990001000506", RING, "superseded", "superseded"),
        ("T3-2039", OIL, "superseded", "Oil filter, but by an old number"),
        ("T3-2039", RING, "wrong", "that is the oil filter"),
        ("010299000100051315260630", RING, "past its date", "past its best-before date, June 2026"),
        ("010299000100051315261126", RING, "right", "that fits"),  # the day itself is still good
        ("010299000100051315270101" + "17260101", RING, "past its date", "past its date, January 2026"),
        ("010299000100051316200101", RING, "right", "that fits"),  # sell-by is the shop's matter
        ("ABC12345C585", RING, "wrong", "hull number, no part"),
        ("T3-901", RING, "not known", "I don't know part number"),
    ],
)
def test_what_stands_against_a_packet(text: str, wanted: WantedPart, answer: str, piece: str) -> None:
    """GS1 General Specifications: 15 is best before, 16 sell by, 17 expiry. An old number that still fits is asked about."""
    found = answered(text, wanted)
    assert found[0] == answer
    assert piece in found[1]


@pytest.mark.parametrize(
    ("rule", "cured", "answer"),
    [
        (
            "iso",
            "16D20200101",
            "right",
        ),  # NBR 7 years from the end of the first quarter of 2020: to the end of March 2027
        ("iso", "16D20181115", "age in doubt"),  # to the end of 2025; 3 years more only after inspection
        ("iso", "16D20100101", "past its date"),  # past the longest life of any page: 9 and 4 years
        ("arp", "16D20120101", "right"),  # 15 years: to the end of March 2027
        ("arp", "16D20110930", "past its date"),  # to the end of September 2026
        ("arp", "16D20111001", "right"),  # the next quarter: to the end of 2026
        ("arp", "9D1140", "right"),  # week 40 of 2011 begins on 3 October
        ("arp", "9D1138", "past its date"),  # week 38 lies in September
        ("sbr", "16D20260101", "age in doubt"),
        ("fkm", "16D19900101", "right"),  # unlimited
        ("label", "16D20160101", "past its date"),
        ("label", "16D20170101", "right"),
        ("arp", "16D20270101", "age in doubt"),  # cured after today cannot be
        ("arp", "1TL7", "right"),  # no cure date on it
        ("arp", "14D20300101", "right"),  # its maker's own date counts
        ("arp", "14D20200101", "past its date"),
    ],
)
def test_rubber_has_its_shelf_life(rule: str, cured: str, answer: str) -> None:
    """ISO 2230:2002 and ARP5316 as seal suppliers restate them (reference section 4), from the end of the cure quarter."""
    found = answered(envelope("1PR1", cured), RULED[rule])
    assert found[0] == answer
    assert ("look for it" in found[1]) == (cured == "1TL7")


def test_the_same_label_again_is_told_from_another_packet() -> None:
    """Without a serial nothing tells them apart, so it is asked; another lot, or a serial, is another packet."""
    taken = Taken(counts={"02990001000117/": 1, "02990001000117/F1": 1})
    assert answered("0102990001000117", OIL, taken)[0] == "shown before"
    assert answered("010299000100011710F1", OIL, taken)[0] == "shown before"
    assert answered("010299000100011710F2", OIL, taken)[0] == "right"
    assert answered(f"010299000100011710F1{GS}2177", OIL, taken)[0] == "right"
    assert answered("T3-2040", OIL, taken)[0] == "right"


def test_a_box_of_four_gives_four() -> None:
    """AI 30 and the data identifier Q say how many are in it."""
    meaning = LabelMeaning(gtin="02990001000117", quantity=4)
    assert [pieces_left(meaning, Taken(counts={"02990001000117/": n})) for n in range(6)] == [4, 3, 2, 1, 0, 0]
    assert pieces_left(LabelMeaning(gtin="02990001000117"), Taken()) == 1
    assert pieces_left(LabelMeaning(gtin="02990001000117", quantity=0), Taken()) == 1


def test_several_doubts_are_said_together() -> None:
    """An old number, shown before: one question for both."""
    found = answered("T3-2039", OIL, Taken(counts={"T3-2039/": 1}))
    assert found[0] == "superseded"
    assert "superseded" in found[1]
    assert "the same label as one before" in found[1]


def test_what_was_affirmed_in_this_job_is_known_from_there_on() -> None:
    """For the role that it was affirmed for, and no other."""
    taken = Taken(learnt={"ring": frozenset({"T3-901"})})
    assert answered("t3-901", RING, taken)[0] == "learnt"
    assert answered("T3-901", OIL, taken) == (
        "wrong",
        "Wrong part: that is the large cover O-ring. I want the oil filter.",
    )
