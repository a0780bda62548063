"""Shelf life of seals against the tables and worked examples of reference.md section 4, each from seal suppliers' pages."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade.inputs import Count
from assistant.core.trade.quarters import Quarter, first_day, last_day, quarter_marked, quarter_of
from assistant.core.trade.registry import BY_NAME
from assistant.core.trade.seals import (
    Arp5316Polymer,
    Iso2230Polymer,
    expiry,
    seal_arp5316,
    seal_iso2230,
    seal_on_label,
)
from assistant.core.units import Amount

TODAY = date(2026, 11, 26)
DAY = timedelta(days=1)
days = st.dates(date(1900, 1, 1), date(2099, 12, 31))


def years(number: str) -> Count:
    return Amount(Decimal(number), "count")


# ---- quarters

MARKS = [
    # reference.md 4.3; "3/94" is July to September 1994 on a label of ISO 2230:2002 section 5.3
    ("4Q20", "2020-12-31"),
    ("2Q24", "2024-06-30"),
    ("1Q24", "2024-03-31"),
    ("4Q24", "2024-12-31"),
    ("3/94", "1994-09-30"),
    # 15 Nov 2020 lies in 4Q20
    ("2020-11-15", "2020-12-31"),
    # the same, written otherwise
    ("2q24", "2024-06-30"),
    ("2 Q 2024", "2024-06-30"),
    (" 2Q24 ", "2024-06-30"),
    ("3/1994", "1994-09-30"),
    ("2024-Q2", "2024-06-30"),
    ("2024-05", "2024-06-30"),
    # two figures of a year, seen from 2026 (GS1 General Specifications 7.12): 76 is ahead by 50, 77 by 51 and so past
    ("1Q76", "2076-03-31"),
    ("1Q77", "1977-03-31"),
]


@pytest.mark.parametrize(("mark", "end"), MARKS)
def test_ageing_counts_from_the_end_of_the_quarter(mark: str, end: str) -> None:
    """A mark, and the last day of its quarter."""
    assert quarter_marked(mark, TODAY).last_day.isoformat() == end


@pytest.mark.parametrize(
    "mark",
    ["5Q24", "0Q24", "Q24", "", "2Q4", "2Q2524", "5/94", "12/94", "2024", "24Q2", "2024-Q5", "2Q24x", "\u0662Q24"],
)
def test_what_is_no_quarter_is_refused(mark: str) -> None:
    """5Q24, 0Q24 and Q24 of reference.md 4.3, and others that look like one."""
    with pytest.raises(ValueError, match=f"^'{mark}' is no quarter: write it as 3Q24, 3/94, 2024-Q3, or the day as"):
        quarter_marked(mark, TODAY)


@pytest.mark.parametrize("text", ["2024-02-30", "2024-13", "0000-Q1"])
def test_an_iso_date_that_does_not_exist_is_refused(text: str) -> None:
    """It looks like a date, and there is none."""
    with pytest.raises(ValueError, match=f"^there is no {text}$"):
        quarter_marked(text, TODAY)


@given(days)
def test_a_day_lies_in_its_quarter(day: date) -> None:
    """Three months, from a first to the day before the next quarter's first; its mark and its ISO text come back."""
    quarter = quarter_of(day)
    assert quarter.first_day <= day <= quarter.last_day
    assert quarter.first_day.day == 1 and quarter_of(quarter.last_day + DAY) != quarter
    assert quarter_of(quarter.first_day - DAY) != quarter
    assert (quarter.last_day - quarter.first_day).days in (89, 90, 91)
    assert quarter_marked(f"{quarter.year}-Q{quarter.number}", TODAY) == quarter
    assert quarter_marked(quarter.mark, day) == quarter
    assert (first_day(f"{quarter.year}-Q{quarter.number}"), last_day(f"{quarter.year}-Q{quarter.number}")) == (
        quarter.first_day, quarter.last_day,
    )  # fmt: skip


@given(days, st.integers(0, 50))
def test_later_is_the_same_quarter_of_a_later_year(day: date, more: int) -> None:
    """Only the year moves."""
    quarter = quarter_of(day)
    assert quarter.later(more) == Quarter(quarter.year + more, quarter.number)
    assert quarter.later(more).last_day.month == quarter.last_day.month


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("2026-11-23", "2026-11-23", "2026-11-23"), ("2028-02", "2028-02-01", "2028-02-29"),
        ("2027-02", "2027-02-01", "2027-02-28"), ("2024-Q1", "2024-01-01", "2024-03-31"),
        ("2024-Q4", "2024-10-01", "2024-12-31"), ("2024-Q2", "2024-04-01", "2024-06-30"),
        ("1994-Q3", "1994-07-01", "1994-09-30"),
    ],
)  # fmt: skip
def test_first_and_last_day_of_what_is_written(text: str, first: str, last: str) -> None:
    """A day is itself; a month ends as in the calendar."""
    assert (first_day(text).isoformat(), last_day(text).isoformat()) == (first, last)


@pytest.mark.parametrize("text", ["", "2026", "tomorrow", "2026-11-23 ", "3Q24", "2026-Q5", "2026-Q0", "\u0662026-11"])
def test_other_text_is_no_date(text: str) -> None:
    """Named in what is raised."""
    with pytest.raises(ValueError, match=f"^'{text}' is no day, month or quarter of a year$"):
        last_day(text)


# ---- ISO 2230

# reference.md 4.1, as restated by seal suppliers
ISO_GROUPS = {
    "A": ("NR IR BR SBR AU EU", 5, 2),
    "B": ("NBR XNBR HNBR CR ACM ECO CO IIR BIIR CIIR", 7, 3),
    "C": ("CM CSM EPM EPDM FKM FFKM VMQ FVMQ", 10, 5),
}
# the other page of reference.md 4.1: 5/7, 7/9, 10/12 extended by 2/3, 3/4, 5/6; the longest of each
ELSEWHERE = {"A": 7 + 3, "B": 9 + 4, "C": 12 + 6}


@pytest.mark.parametrize("group", list(ISO_GROUPS))
def test_the_groups_of_iso_2230(group: str) -> None:
    """Each polymer of each group: its years, its extension, and the longest that another page gives."""
    polymers, life, more = ISO_GROUPS[group]
    for polymer in polymers.split():
        figure = seal_iso2230(polymer=polymer, cured="2Q24", on=TODAY)
        assert figure.answer == f"{2024 + life}-06-30"
        assert figure.beside == (
            ("extended_to", f"{2024 + life + more}-06-30"),
            ("longest_elsewhere", f"{2024 + ELSEWHERE[group]}-06-30"),
            ("edition", "ISO 2230:2002"),
        )
        assert figure.working[1] == f"{polymer} is in group {group}: {life} years, and {more} more after inspection"
        assert figure.verdict == "within"
    assert set(get_args(Iso2230Polymer)) == {p for names, _, _ in ISO_GROUPS.values() for p in names.split()}


ISO_EXAMPLES: list[tuple[Iso2230Polymer, str, str, str]] = [
    # reference.md 4.3, computed
    ("NBR", "2Q24", "2031-06-30", "2034-06-30"),
    ("AU", "1Q24", "2029-03-31", "2031-03-31"),
    ("FKM", "4Q24", "2034-12-31", "2039-12-31"),
]


@pytest.mark.parametrize(("polymer", "cured", "last", "extended"), ISO_EXAMPLES)
def test_worked_examples_of_iso_2230(polymer: Iso2230Polymer, cured: str, last: str, extended: str) -> None:
    """Inspect by, and end."""
    figure = seal_iso2230(polymer=polymer, cured=cured, on=TODAY)
    assert (figure.answer, dict(figure.beside)["extended_to"]) == (last, extended)


@pytest.mark.parametrize(
    ("on", "verdict", "why"),
    [
        (date(2031, 6, 30), "within", None),
        (date(2031, 7, 1), "unsure", "on 2031-07-01: past it, so only after inspection"),
        (date(2034, 6, 30), "unsure", "on 2034-06-30: past it, so only after inspection"),
        (date(2034, 7, 1), "unsure", "on 2034-07-01: past 2034-06-30; another page: to 2037-06-30"),
        (date(2037, 6, 30), "unsure", "on 2037-06-30: past 2034-06-30; another page: to 2037-06-30"),
        (date(2037, 7, 1), "high", None),
    ],
)
def test_iso_2230_on_a_day(on: date, verdict: str, why: str | None) -> None:
    """The last good day is good; then inspection, then sources differ and both are named, then too old."""
    figure = seal_iso2230(polymer="NBR", cured="2Q24", on=on)
    assert figure.verdict == verdict
    assert figure.working == (
        "cured 2Q24: the clock starts at the end of 2024-06-30",
        "NBR is in group B: 7 years, and 3 more after inspection",
        "last good day 2031-06-30; after inspection 2034-06-30",
        *([why] if why else []),
    )


def test_iso_2230_names_its_edition_and_its_conflict() -> None:
    """Edition 2002, the other page's ranges, how it must have been stored; another edition is refused."""
    figure = seal_iso2230(polymer="NBR", cured="2Q24", on=TODAY, edition="2002")
    told = " ".join(figure.sources)
    for words in (
        "ISO 2230:2002",
        "as restated by seal suppliers",
        "5/7, 7/9, 10/12",
        "2/3, 3/4, 5/6",
        "end of the cure",
    ):
        assert words in told
    assert "below 25 °C" in figure.cautions[0] and "no proof" in figure.cautions[1] and len(figure.cautions) == 2
    with pytest.raises(ValueError, match="'edition' is '2026', and only the groups of ISO 2230:2002 are known here"):
        seal_iso2230(polymer="NBR", cured="2Q24", on=TODAY, edition="2026")


def test_a_slash_is_read_as_a_quarter_and_said_so() -> None:
    """ "3/94" might be a month to whoever marked it: cautioned."""
    figure = seal_iso2230(polymer="NBR", cured="3/20", on=TODAY)
    assert figure.answer == "2027-09-30"
    assert figure.cautions[0] == (
        "'3/20' is read as a quarter, as ISO 2230 marks it; a maker who marks months means another day."
    )
    assert len(figure.cautions) == 3


# ---- ARP5316

# reference.md 4.2, as restated by two suppliers
ARP = {"NBR HNBR CR ACM AEM": 15, "AU EU": 5}
UNLIMITED = "IIR EPM EPDM FKM FFKM VMQ FVMQ TFE/P PTFE"


def test_the_lives_of_arp5316() -> None:
    """Each polymer: 2Q24 and 15 years is 30 June 2039 (reference.md 4.3), 5 years is 2029."""
    for polymers, life in ARP.items():
        for polymer in polymers.split():
            figure = seal_arp5316(polymer=polymer, cured="2Q24", on=TODAY)
            assert (figure.answer, figure.verdict) == (f"{2024 + life}-06-30", "within")
            assert figure.beside == (("first_expired_day", f"{2024 + life}-07-01"),)
    for polymer in UNLIMITED.split():
        figure = seal_arp5316(polymer=polymer, cured="1Q1960", on=TODAY)
        assert (figure.answer, figure.verdict, figure.working) == ("unlimited", "within", (f"{polymer}: not limited",))
        dated = seal_arp5316(polymer="NBR", cured="1Q1960", on=TODAY)
        assert (figure.sources, figure.cautions) == (dated.sources, dated.cautions)
    known = {p for names in (*ARP, UNLIMITED, "SBR") for p in names.split()}
    assert set(get_args(Arp5316Polymer)) == known


def test_arp5316_to_the_day() -> None:
    """The last day is good, the next is not; the mark of the first expired quarter is told."""
    assert seal_arp5316(polymer="NBR", cured="2Q24", on=date(2039, 6, 30)).verdict == "within"
    figure = seal_arp5316(polymer="NBR", cured="2Q24", on=date(2039, 7, 1))
    assert figure.verdict == "high"
    assert figure.working == (
        "cured 2Q24: the clock starts at the end of 2024-06-30",
        "NBR: 15 years: last good day 2039-06-30",
        "from 2039-07-01 on it is expired: mark 3Q39",
    )
    assert "ARP5316" in figure.sources[0] and "MIL-HDBK-695E" in figure.sources[0]
    assert "under 75 %" in figure.cautions[0] and "no proof" in figure.cautions[1]
    for polymer in ("AU", "EU"):
        dry = seal_arp5316(polymer=polymer, cured="2Q24", on=TODAY)
        assert "under 65 %" in dry.cautions[0]


@pytest.mark.parametrize("on", [date(2024, 7, 1), date(2027, 6, 30), date(2030, 1, 1), date(2050, 1, 1)])
def test_sbr_stays_unsure(on: date) -> None:
    """T15: 3 years in one list, 15 in another; unresolved whatever the day, both named."""
    figure = seal_arp5316(polymer="SBR", cured="2Q24", on=on)
    assert (figure.answer, figure.verdict) == ("unresolved", "unsure")
    assert figure.beside == (("by_the_list_of_3_years", "2027-06-30"), ("by_the_list_of_15_years", "2039-06-30"))
    assert figure.working == (
        "cured 2Q24: the clock starts at the end of 2024-06-30",
        "a list of 3 years: last good day 2027-06-30",
        "a list of 15 years: last good day 2039-06-30",
    )
    assert figure.sources[0] == "SBR: 3 years in one supplier's list of ARP5316, 15 in another's"
    assert "under 75 %" in figure.cautions[0]


# ---- on the label, and expiry


def test_the_worked_example_of_a_label() -> None:
    """15 Nov 2020 is 4Q20; 3 years from 1 Jan 2021; first expired day 1 Jan 2024, mark 1Q24 (a supplier's page)."""
    figure = seal_on_label(cured="2020-11-15", years=years("3"), on=date(2023, 12, 31))
    assert (figure.answer, figure.verdict) == ("2023-12-31", "within")
    assert figure.beside == (("first_expired_day", "2024-01-01"),)
    assert figure.working == (
        "cured 4Q20: the clock starts at the end of 2020-12-31",
        "the label says 3 years: last good day 2023-12-31",
        "from 2024-01-01 on it is expired: mark 1Q24",
    )
    assert figure.sources[0] == "the life on the supplier's label"
    assert len(figure.cautions) == 1 and "no proof" in figure.cautions[0]
    assert seal_on_label(cured="4Q20", years=years("3"), on=date(2024, 1, 1)).verdict == "high"
    for life in ("1", "50"):
        assert seal_on_label(cured="4Q20", years=years(life), on=TODAY).answer == f"{2020 + int(life)}-12-31"


@given(days, st.integers(1, 50))
def test_a_label_life_ends_where_the_year_after_begins(cured: date, life: int) -> None:
    """At least the whole life from the cure day, less than a quarter more."""
    figure = seal_on_label(cured=cured.isoformat(), years=years(str(life)), on=cured)
    last = date.fromisoformat(str(figure.answer))
    assert timedelta(0) <= (last - cured) - timedelta(days=365.2425 * life) + 2 * DAY <= timedelta(days=95)
    assert (last + DAY).day == 1 and figure.verdict == "within"


EXPIRIES = [
    ("2026-11-26", "2026-11-26", "within", "0", "on 2026-11-26: 0 days left"),
    ("2026-11-25", "2026-11-25", "high", "-1", "on 2026-11-26: 1 days past"),
    ("2026-11", "2026-11-30", "within", "4", "on 2026-11-26: 4 days left"),
    ("2026-Q3", "2026-09-30", "high", "-57", "on 2026-11-26: 57 days past"),
    ("2028-02", "2028-02-29", "within", "460", "on 2026-11-26: 460 days left"),
]


@pytest.mark.parametrize(("expires", "last", "verdict", "left", "line"), EXPIRIES)
def test_expiry_against_a_day(expires: str, last: str, verdict: str, left: str, line: str) -> None:
    """The date itself is good; a month or a quarter is good to its end (GS1 General Specifications, day 00)."""
    figure = expiry(expires=expires, on=TODAY)
    assert (figure.answer, figure.verdict) == (last, verdict)
    assert figure.beside == (("days_left", years(left)),)
    assert figure.working == (f"{expires} is good to {last}", line)
    assert "GS1" in figure.sources[0]


@pytest.mark.parametrize(
    ("name", "given_", "message"),
    [
        ("seal_iso2230", {"polymer": "PTFE", "cured": "2Q24"}, "'polymer' is 'PTFE', and must be one of NR, IR, BR"),
        ("seal_arp5316", {"polymer": "NR", "cured": "2Q24"}, "'polymer' is 'NR', and must be one of NBR, HNBR, CR"),
        ("seal_iso2230", {"polymer": "NBR", "cured": "5Q24"}, "'5Q24' is no quarter"),
        ("seal_arp5316", {"polymer": "NBR", "cured": "1Q27"}, "'cured' is 1Q27, and must lie from 1900 to 2026-11-26"),
        (
            "seal_on_label",
            {"cured": "1899-12-31", "years": years("3")},
            "'cured' is 1899-12-31, and must lie from 1900",
        ),
        (
            "seal_on_label",
            {"cured": "2Q24", "years": years("0")},
            "'years' is 0, and must be from 1 to 50 .the life on",
        ),
        ("seal_on_label", {"cured": "2Q24", "years": years("51")}, "'years' is 51, and must be from 1 to 50"),
        ("seal_on_label", {"cured": "2Q24", "years": years("1.5")}, "'years' is 1.5, and must be a whole number"),
        ("expiry", {"expires": "soon"}, "'soon' is no day, month or quarter"),
    ],
)
def test_what_has_no_life_is_refused(name: str, given_: dict[str, Any], message: str) -> None:
    """A polymer of no list, a cure date that is none or lies ahead, a life that is none."""
    with pytest.raises(ValueError, match=message):
        BY_NAME[name].function(**given_, on=TODAY)


def test_a_cure_in_the_running_quarter_is_taken() -> None:
    """From the quarter's first day on, and from 1900; never after 2099."""
    assert seal_on_label(cured="4Q26", years=years("1"), on=date(2026, 10, 1)).answer == "2027-12-31"
    with pytest.raises(ValueError, match="'cured' is 4Q26"):
        seal_on_label(cured="4Q26", years=years("1"), on=date(2026, 9, 30))
    assert seal_on_label(cured="1900-01-01", years=years("1"), on=TODAY).answer == "1901-03-31"
    assert seal_on_label(cured="2099-12-31", years=years("1"), on=date(2100, 1, 1)).answer == "2100-12-31"
    with pytest.raises(ValueError, match="must lie from 1900"):
        seal_on_label(cured="2100-01-01", years=years("1"), on=date(2100, 1, 1))
