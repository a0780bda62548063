"""Check digits, dates, element strings and envelopes against published vectors; the sources stand in the tables."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from label_tables import rows

from assistant.core.events import Label
from assistant.core.labels.ai_table import IDENTIFIERS, PREDEFINED_TOTAL
from assistant.core.labels.check_digit import ends_in_mod43, gtin14, mod10_digit, mod10_fault, mod43_character
from assistant.core.labels.dates import full_year, read_hhmm, read_yymmdd, read_yyww, read_yyyymmdd
from assistant.core.labels.envelope import read_data_identifier, read_envelope
from assistant.core.labels.faults import LabelFault
from assistant.core.labels.gs1 import GS, read_bracketed, read_elements
from assistant.core.labels.meaning import read_label

TODAY = date(2026, 1, 1)


@pytest.mark.parametrize("row", rows("mod10.tsv"), ids=lambda r: repr(r["number"]))
def test_a_mod_10_number_is_right_or_wrong_as_published(row: dict[str, str]) -> None:
    """The check digit rule agrees with the standards body's linter and published examples."""
    assert (mod10_fault(row["number"]) is None) == (row["answer"] == "right")


@given(st.text("0123456789", min_size=1, max_size=17), st.data())
def test_one_wrong_figure_never_passes_mod_10(data: str, drawn: st.DataObject) -> None:
    """Changing any one figure of a right number makes it wrong (weights 3 and 1 both have inverses mod 10)."""
    number = data + mod10_digit(data)
    at = drawn.draw(st.integers(0, len(number) - 1))
    other = drawn.draw(st.sampled_from([c for c in "0123456789" if c != number[at]]))
    assert mod10_fault(number) is None
    assert mod10_fault(number[:at] + other + number[at + 1 :]) is not None


@pytest.mark.parametrize(
    ("number", "filled"),
    [("02345673", "00000002345673"), ("416000336108", "00416000336108"), ("9501101020917", "09501101020917")],
)
def test_a_short_product_number_is_filled_with_zeros(number: str, filled: str) -> None:
    """GTIN-8, -12 and -13 stand to the right of 14 figures."""
    assert gtin14(number) == filled


@pytest.mark.parametrize("number", ["", "1", "123456789", "4160003361081", "41600033610x", "٠٢٣٤٥٦٧٣"])
def test_what_is_no_product_number_is_refused(number: str) -> None:
    """Wrong length, wrong check digit, letters and other scripts' figures are faults, never exceptions."""
    assert isinstance(gtin14(number), LabelFault)


@pytest.mark.parametrize("row", rows("mod43.tsv"), ids=lambda r: r["data"])
def test_a_mod_43_character_is_as_published(row: dict[str, str]) -> None:
    """Code 39's check character, and no other, ends the data rightly."""
    assert mod43_character(row["data"]) == row["character"]
    assert ends_in_mod43(row["data"] + row["character"])
    assert not ends_in_mod43(row["data"] + ("0" if row["character"] != "0" else "1"))


@pytest.mark.parametrize("text", ["A1207-DS", "12345ABCDET", "TEST8052/", "CODE 39W", "0123456789", "T", ""])
def test_a_wrong_mod_43_character_shows(text: str) -> None:
    """S for A1207-D is what one teaching page prints; 12345ABCDE alone has no T, nor TEST8052 a slash: recomputed."""
    assert not ends_in_mod43(text)


@pytest.mark.parametrize("data", ["", "a1207", "A_1"])
def test_characters_that_code_39_lacks_are_refused(data: str) -> None:
    """Nothing and characters outside the 43 have no check character."""
    assert isinstance(mod43_character(data), LabelFault)


@pytest.mark.parametrize("row", rows("yymmdd.tsv"), ids=lambda r: f"{r['year']}-{r['text']}")
def test_a_date_is_read_or_refused_as_published(row: dict[str, str]) -> None:
    """Day 00, leap years, the century window and every refusal of the standards body's linter."""
    found = read_yymmdd(row["text"], date(int(row["year"]), 1, 1))
    if isinstance(found, date):
        assert found.isoformat() == row["answer"]
    else:
        assert row["answer"] in found.sentence


@given(st.integers(1900, 2200), st.integers(0, 99))
def test_a_year_lies_from_49_back_to_50_ahead(today_year: int, two_figures: int) -> None:
    """The window of General Specifications 7.12, for every year and every two figures."""
    year = full_year(two_figures, date(today_year, 6, 1))
    assert year % 100 == two_figures
    assert -49 <= year - today_year <= 50


@pytest.mark.parametrize(
    ("text", "answer"),
    [("2419", (2024, 19)), ("2653", (2026, 53)), ("2553", None), ("2400", None), ("24", None), ("24x9", None)],
)
def test_a_date_code_is_year_and_iso_week(text: str, answer: tuple[int, int] | None) -> None:
    """2026 has an ISO week 53, 2025 has not (ISO 8601)."""
    found = read_yyww(text, TODAY)
    assert (None if isinstance(found, LabelFault) else found) == answer


@pytest.mark.parametrize("text", ["2400", "1260", "12", "1a00"])
def test_what_is_no_time_of_day_is_refused(text: str) -> None:
    """Hours to 23, minutes to 59."""
    assert isinstance(read_hhmm(text), LabelFault)


@pytest.mark.parametrize("text", ["20261301", "00000101", "2026013", "2026-1-1"])
def test_what_is_no_long_date_is_refused(text: str) -> None:
    """Eight figures of a real day, or a fault."""
    assert isinstance(read_yyyymmdd(text), LabelFault)


@pytest.mark.parametrize("row", rows("element_strings.tsv"), ids=lambda r: repr(r["scan"]))
def test_an_element_string_is_read_or_refused_as_published(row: dict[str, str]) -> None:
    """Fields where the table gives fields, the plain sentence of the refusal where it gives words."""
    scan = row["scan"].replace("<GS>", GS)
    read = read_bracketed(scan, TODAY) if scan.startswith("(") else read_elements(scan, TODAY)
    fields = ";".join(f"{e.ai}={e.value}" for e in read.elements)
    if read.fault is None:
        assert fields == row["answer"]
    else:
        assert row["answer"] in read.fault.sentence


def test_the_example_with_one_separator_dates_and_ships_as_printed() -> None:
    """(17)120508 is 8 May 2012, as the page prints it (morovia.com KB10644)."""
    assert read_yymmdd("120508", TODAY) == date(2012, 5, 8)


@given(st.sampled_from(sorted(IDENTIFIERS)), st.text(st.characters(codec="ascii"), max_size=40))
def test_printed_and_scanned_form_mean_the_same(ai: str, value: str) -> None:
    """Whatever is read without a fault can be printed in brackets and read back."""
    read = read_elements(ai + value, TODAY)
    if read.fault is None:
        printed = "".join(f"({e.ai})" + e.value.replace("(", "\\(") for e in read.elements)
        assert read_bracketed(printed, TODAY) == read


@pytest.mark.parametrize("first_two", sorted(PREDEFINED_TOTAL))
def test_predefined_lengths_agree_with_the_identifiers(first_two: str) -> None:
    """The table of predefined lengths (morovia.com KB10644) and the table of identifiers say the same twice."""
    found = [i for ai, i in IDENTIFIERS.items() if ai.startswith(first_two)]
    assert found or first_two in ("04", "14", "18", "19")
    assert all(i.predefined and len(i.ai) + i.most == PREDEFINED_TOTAL[first_two] for i in found)


def test_only_the_predefined_need_no_separator() -> None:
    """No identifier outside the table of predefined lengths is marked as predefined: 7003 and 8005 are not."""
    assert {ai[:2] for ai, i in IDENTIFIERS.items() if i.predefined} <= set(PREDEFINED_TOTAL)


def test_no_identifier_begins_another() -> None:
    """So the first that fits is the one meant."""
    assert not [(a, b) for a in IDENTIFIERS for b in IDENTIFIERS if a != b and b.startswith(a)]


@pytest.mark.parametrize("row", rows("data_identifiers.tsv"), ids=lambda r: repr(r["text"]))
def test_a_data_identifier_is_greedy_on_figures(row: dict[str, str]) -> None:
    """13Q is not 3Q, P1P is customer part 1P..., and what begins with none is refused."""
    found = read_data_identifier(row["text"])
    assert (("", "refused") if isinstance(found, LabelFault) else found) == (row["identifier"], row["value"])


MIL_STD_130N_FIGURE_8 = "[)>\x1e05\x1d800406141419999960MH80312\x1d21MH80312\x1d950614141\x1d24099999\x1e\x04"
FORMAT_06 = "[)>\x1e06\x1d17V12345\x1d1P998-7\x1dS0042\x1e\x04"


@pytest.mark.parametrize(
    ("text", "form", "fields"),
    [
        (
            MIL_STD_130N_FIGURE_8,
            "05",
            {"8004": "06141419999960MH80312", "21": "MH80312", "95": "0614141", "240": "99999"},
        ),
        (FORMAT_06, "06", {"17V": "12345", "1P": "998-7", "S": "0042"}),
        (
            "[)>\x1e12\x1dMFR 12345\x1dPNR 998-7\x1dSER 0042\x1e\x04",
            "12",
            {"MFR": "12345", "PNR": "998-7", "SER": "0042"},
        ),
        (FORMAT_06.removesuffix("\x1e\x04"), "06", {"17V": "12345", "1P": "998-7", "S": "0042"}),
    ],
)
def test_an_envelope_is_read(text: str, form: str, fields: dict[str, str]) -> None:
    """Format 05 as MIL-STD-130N figure 8 prints it, format 06 by the rule, and one whose end the printer left out."""
    read = read_envelope(text, TODAY)
    assert read.fault is None
    assert read.of(form) == fields


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[)>06\x1d1PX\x1e\x04", "does not begin"),
        ("[)>\x1e01\x1d961Z\x1e\x04", "none of 05, 06 and 12"),
        ("[)>\x1e12\x1dMFR\x1e\x04", "text element"),
        ("[)>\x1e06\x1e\x04", "is empty"),
        ("[)>\x1e", "is empty"),
        ("[)>\x1e06\x1d998-7\x1e\x04", "data identifier"),
        ("[)>\x1e06\x1dS1\x1dS2\x1e\x04", "not the same"),
        ("[)>\x1e05\x1d0112312312312334\x1e\x04", "check digit"),
    ],
)
def test_a_faulty_envelope_says_what_is_wrong(text: str, words: str) -> None:
    """Format 01 is the transport format, not the one of data identifiers, whatever one page says."""
    fault = read_envelope(text, TODAY).fault
    assert fault is not None
    assert words in fault.sentence


ANY_SYMBOLOGY = st.sampled_from(
    ["EAN-13", "EAN-8", "ITF-14", "GS1-128", "CODE-128", "CODE-39", "DATA-MATRIX", "QR", ""]
)
PIECES = st.sampled_from(
    ["01", "17", "10", "21", "]C1", "[)>\x1e", "06\x1d", "05\x1d", GS, "(01)", "(", "1P", "12312312312333"]
)


@given(ANY_SYMBOLOGY, st.one_of(st.text(max_size=60), st.lists(PIECES).map("".join)), st.dates(date(1900, 1, 1)))
def test_no_label_whatever_raises(symbology: str, text: str, today: date) -> None:
    """Any text of any symbology on any day gives a meaning."""
    meaning = read_label(Label(symbology, text), today)
    assert meaning.problem is None or meaning.problem
