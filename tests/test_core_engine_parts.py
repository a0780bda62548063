"""Parts in the conversation: labels of one picture, boxes of several, the same label again, old numbers, learnt ones, and
labels that are said. Parts and numbers are invented."""

from __future__ import annotations

from dataclasses import replace

import pytest
from conversation import SHORT, Conversation, take

from assistant.core import entries as e
from assistant.core.events import Label, Scanned
from assistant.core.machine import SealLife, WantedPart

GS = "\x1d"
FILTER, LOT = Label("EAN-13", "2990001000117"), Label("GS1-128", f"10F2604{GS}21000731")
WASHER = Label("CODE-128", "T3-1142")
STRANGE = Label("CODE-128", "T3-9999")
PARTS = {
    "oil_filter": WantedPart("oil_filter", "oil filter", ("2990001000117",), ("T3-2040",), superseded=("T3-2039",)),
    "washer": WantedPart("washer", "drain plug washer", (), ("T3-1142",), quantity=3),
}


def bay_at_filter(parts: dict[str, WantedPart] = PARTS) -> Conversation:
    """At the step that wants a filter and three washers."""
    only = replace(SHORT.procedure, steps=(SHORT.procedure.step("filter"), SHORT.procedure.step("tools_back")))
    return Conversation(only, dict(parts), SHORT.site).start()


def at_washers() -> Conversation:
    bay = bay_at_filter()
    bay.scan(FILTER)
    return bay


def scanned(bay: Conversation) -> list[e.PartScanned]:
    return [x for x in bay.entries(e.PartScanned) if isinstance(x, e.PartScanned)]


def test_the_lot_of_another_symbol_is_kept_with_the_part() -> None:
    """A product number in one symbol, lot and serial in another: one packet, and all of it is on record."""
    bay = bay_at_filter()
    assert bay.scan(LOT, FILTER)[0] == "Oil filter, that fits. Lot F2604."
    [entry] = scanned(bay)
    assert (entry.gtin, entry.lot, entry.serial) == ("02990001000117", "F2604", "000731")
    assert (entry.text, entry.beside) == (FILTER.text, ((LOT.symbology, LOT.text),))


def test_the_same_label_thrice_is_not_three_parts() -> None:
    """Each further one must be affirmed to be another; denied, it does not count."""
    bay = at_washers()
    assert bay.scan(WASHER)[0] == "Drain plug washer, that fits. One of three."
    assert bay.scan(WASHER)[-1].endswith("Affirm that it is another one, or negative.")
    assert bay.hear("negative")[0].endswith("Not kept. Say part for another.")
    assert bay.job.pieces("filter", "washer") == 1
    bay.scan(WASHER)
    assert bay.hear("affirm")[0] == "Drain plug washer, another one. Two of three."
    assert [(x.answer, x.kept) for x in scanned(bay)[1:]] == [("right", True), ("shown before", False), ("right", True)]


def test_it_is_asked_after_a_power_cut_too() -> None:
    """What was shown before is known from the job file."""
    bay = at_washers()
    bay.scan(WASHER)
    again = bay.resumed()
    assert again.scan(WASHER)[-1].endswith("Affirm that it is another one, or negative.")


def test_packets_with_serials_need_no_question() -> None:
    """Different serials are different packets; the same one is already used."""
    bay = at_washers()
    packets = [Label("DATA-MATRIX", f"[)>\x1e06\x1d1PT3-1142\x1dS{serial}\x1e\x04") for serial in ("1", "2", "2")]
    said = [bay.scan(packet)[0] for packet in packets]
    assert said[0] == "Drain plug washer, that fits. One of three."
    assert said[1] == "Drain plug washer, that fits. Two of three."
    assert said[2] == "Drain plug washer, but serial two was already used. Not kept. Say part for another."


@pytest.mark.parametrize(
    ("quantity", "first", "then"), [("12", "Three of three.", ""), ("2", "Two of three.", "shown")]
)
def test_a_box_counts_for_as_many_as_it_holds(quantity: str, first: str, then: str) -> None:
    """No more than are wanted; an emptied box shown again must be another one."""
    bay = at_washers()
    box = Label("DATA-MATRIX", f"[)>\x1e06\x1d1PT3-1142\x1d1TA1\x1dQ{quantity}\x1e\x04")
    assert bay.scan(box)[0].endswith(first)
    assert scanned(bay)[-1].count == min(int(quantity), 3)
    if then:
        assert bay.scan(box)[-1].endswith("Affirm that it is another one, or negative.")
        bay.hear("affirm")
        assert scanned(bay)[-1].count == 1
    assert bay.job.pieces("filter", "washer") == 3
    assert bay.job.status == {"filter": "done"}


def test_an_old_number_is_taken_only_when_affirmed() -> None:
    """And the record says that it was one."""
    bay = bay_at_filter()
    said = bay.scan(Label("CODE-39", "T3-2039"))[-1]
    assert said == (
        "Oil filter, but by an old number that was superseded, now Tango three dash two zero four zero. "
        "Affirm to take it all the same, or negative."
    )
    assert bay.hear("affirm")[0] == "Kept as superseded."
    assert [(x.answer, x.kept) for x in scanned(bay)] == [("superseded", True)]


def test_a_number_that_fits_less_its_last_character_is_asked() -> None:
    """It may be a Code 39 check character, or another part's number: taken only when affirmed, and from then on known whole."""
    bay = at_washers()
    longer = Label("CODE-39", "T3-1142X")
    assert bay.scan(longer)[-1] == (
        "Drain plug washer, but its number ends in one more character, X-ray. Affirm to take it all the same, or negative."
    )
    assert bay.hear("negative")[0].endswith("Not kept. Say part for another.")
    bay.scan(longer)
    assert bay.hear("affirm")[0] == "Kept as not known. One of three."
    assert [(x.answer, x.kept, x.number) for x in scanned(bay)[1:]] == [
        ("not known", False, "T3-1142X"),
        ("not known", True, "T3-1142X"),
    ]
    assert bay.scan(longer)[-1].endswith("Affirm that it is another one, or negative.")


def test_what_was_affirmed_is_learnt_for_the_job() -> None:
    """An unknown number is asked about once; the second packet of it is known, though not as right; the picture is kept."""
    bay = at_washers()
    bay.hear("part")
    bay.send(Scanned(0.0, (STRANGE,), picture="the packet"))
    assert bay.hear("affirm")[0] == "Kept as not known. One of three."
    assert [effect.picture for effect in bay.effects if hasattr(effect, "picture")][-1] == "the packet"
    other = Label("DATA-MATRIX", "[)>\x1e06\x1d1PT3-9999\x1d1TB2\x1e\x04")
    assert bay.scan(other)[0] == "Drain plug washer, the one that you affirmed. Lot B2. Two of three."
    assert [(x.answer, x.kept) for x in scanned(bay)[1:]] == [("not known", True), ("learnt", True)]
    assert (
        bay.resumed()
        .scan(replace(other, text=other.text.replace("B2", "B3")))[0]
        .startswith("Drain plug washer, the one")
    )


def test_a_label_that_cannot_be_trusted_teaches_nothing() -> None:
    """It may be taken, but no number of it is believed."""
    bay = at_washers()
    bay.scan(Label("EAN-13", "2990001000118"))
    bay.hear("affirm")
    assert scanned(bay)[-1].gtin == ""
    assert bay.job.parts_taken.learnt == {}


def test_rubber_past_its_life_is_refused() -> None:
    """By the sheet's rule and the packet's date of making, 16D."""
    ring = replace(PARTS["oil_filter"], say="cover O-ring", numbers=("R1",), gtins=(), seal=SealLife("arp5316", "NBR"))
    bay = bay_at_filter({**PARTS, "oil_filter": ring})
    said = bay.scan(Label("DATA-MATRIX", "[)>\x1e06\x1d1PR1\x1d16D20050601\x1e\x04"))
    assert said[0].startswith("Cover O-ring, but its rubber is past its shelf life, cured June 2005. Not kept.")
    assert scanned(bay)[-1].made == "2005-06-01"


# Labels that are said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("part number two niner niner zero zero zero one zero zero zero one one seven", "Oil filter, that fits."),
        ("part number two nine nine triple zero one triple zero double one seven", "Oil filter, that fits."),
    ],
)
def test_a_product_number_that_is_said_is_taken_by_its_check_digit(words: str, said: str) -> None:
    """No question: a slip would have shown."""
    bay = bay_at_filter()
    assert bay.hear(words)[0] == said
    [entry] = scanned(bay)
    assert (entry.symbology, entry.text, entry.gtin, entry.kept) == ("SPOKEN", "2990001000117", "02990001000117", True)


def test_a_slip_is_caught_and_told_where() -> None:
    """Nothing is taken, the sound is on record, and it may be said again at once."""
    bay = bay_at_filter()
    said = bay.hear("part number two niner niner zero zero zero one zero zero zero one one eight")
    assert said == [
        "I can't trust that label: the check digit is wrong. Look at the thirteenth figure: eight, or seven. "
        "Not kept. Say part number, and spell it."
    ]
    assert [(x.answer, x.kept) for x in scanned(bay)] == [("not known", False)]
    assert (
        bay.hear("part number two niner niner zero zero zero one zero zero zero one one seven")[0]
        == "Oil filter, that fits."
    )


@pytest.mark.parametrize("dash", ["dash ", ""])
@pytest.mark.parametrize(("answer", "kept"), [("affirm", True), ("negative", False)])
def test_a_part_number_that_is_said_is_read_back(answer: str, kept: bool, dash: str) -> None:
    """It has no check digit, so a yes is needed even where it fits; it is read back as the sheet writes it."""
    bay = bay_at_filter()
    assert bay.hear(f"part number tango three {dash}two zero four zero") == [
        "Tango three dash two zero four zero. Oil filter, that fits. Affirm, or negative."
    ]
    said = bay.hear(answer)
    assert [(x.answer, x.kept) for x in scanned(bay)] == [("right", kept)]
    assert said[0].startswith("Oil filter, that fits." if kept else "Oil filter, that fits. Not kept.")


def test_an_unknown_number_that_is_said_is_asked_about() -> None:
    """Read back with the doubt, once."""
    bay = bay_at_filter()
    assert bay.hear("part number x-ray niner") == [
        "I don't know part number X-ray niner. I want the oil filter. Affirm to take it all the same, or negative."
    ]
    bay.hear("negative")
    assert bay.hear("part number tango three dash one one four two")[0].startswith(
        "Wrong part: that is the drain plug washer."
    )


def test_part_alone_still_opens_the_eyes() -> None:
    """The longer phrase takes nothing from the command."""
    bay = bay_at_filter()
    assert bay.hear("part") == ["Looking."]


def test_where_no_part_is_wanted_a_number_means_nothing() -> None:
    """It is not listened for."""
    bay = Conversation(SHORT.procedure, dict(PARTS), SHORT.site).start()
    assert bay.hear("part number tango three") == ["Say again."]
    assert not scanned(bay)


@pytest.mark.parametrize(("gap", "asked"), [(None, True), (-8.0, False)])
def test_a_spelled_label_need_not_be_as_sure_as_a_command(gap: float | None, asked: bool) -> None:
    """It carries a check digit or is read back; but talk is not taken for one. *Done* heard no better is not obeyed."""
    bay = bay_at_filter()
    assert bay.hear_takes(take("whisper", ("done", 0.99), fits=-2.9, gap=gap)) == ["Say again."]
    bay.hear_takes(take("whisper", ("part number tango three", 0.99), fits=-2.9, gap=gap))
    assert (bay.state.talk.phase == "question") == asked


NINE_FIGURES = "two niner niner zero zero zero one zero zero zero one one"


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        # one figure too many or not: only 13 figures with seven at their end have a right check digit
        (f"{NINE_FIGURES} one seven", f"{NINE_FIGURES} seven", "Oil filter, that fits."),
        (f"{NINE_FIGURES} seven", f"{NINE_FIGURES} niner", "Oil filter, that fits."),
        # neither has, or both: said again
        (f"{NINE_FIGURES} eight", f"{NINE_FIGURES} niner", "Say again."),
        ("tango three", "tango three three", "Say again."),
    ],
)
def test_of_two_that_were_heard_the_check_digit_picks_one(first: str, second: str, said: str) -> None:
    """One number in ten has a right check digit by chance, so of two about as likely the one that has it was said."""
    bay = bay_at_filter()
    heard = [(f"part number {words}", share) for words, share in ((first, 0.52), (second, 0.48))]
    assert bay.hear_takes(take("whisper", *heard))[0].startswith(said)


def test_oh_beside_letters_is_said_again() -> None:
    """It may be the letter; among figures alone it is a zero."""
    bay = bay_at_filter()
    assert bay.hear("part number tango oh")[0].startswith("Say again.")
    assert bay.hear("part number two niner niner oh oh oh one oh oh oh one one seven")[0] == "Oil filter, that fits."
