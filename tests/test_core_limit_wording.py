"""Limits and sources in words and in print."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.procedure import Limit
from assistant.core.speech.limit_wording import (
    limit_aloud,
    limit_with_source,
    limit_written,
    short_aloud,
    short_written,
)
from assistant.core.speech.sources import LONGEST, source_aloud, unsayable
from assistant.core.units import Amount
from assistant.reports.figures import band_of


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


PSI = amount("175", "psi")
WORDED = [
    (Limit("at_least", low=PSI), "at least one seven five P S I", "at least 175 psi"),
    (Limit("above", low=PSI), "above one seven five P S I", "above 175 psi"),
    (Limit("below", high=PSI), "below one seven five P S I", "below 175 psi"),
    (Limit("between", low=amount("9", "psi"), high=PSI), "from niner to one seven five P S I", "9 psi to 175 psi"),
    (
        Limit("between", low=amount("0.2", "V"), high=amount("900", "mV")),
        "from zero decimal two volts to niner zero zero millivolts",
        "0.2 V to 900 mV",
    ),
    (
        Limit(
            "target", target=amount("20", "Nm"), tolerance=amount("4", "percent"),
            low=amount("19.2", "Nm"), high=amount("20.8", "Nm"),
        ),
        "two zero newton metres, within four percent either way",
        "20 N·m within 4 %, 19.2 N·m to 20.8 N·m",
    ),
    (
        Limit("between", low=amount("5", "psi"), high=PSI, compared="more_than", other="dry_test"),
        "more than dry test by five to one seven five P S I",
        "against dry_test: more by 5 psi to 175 psi",
    ),
    (
        Limit("at_most", high=amount("10", "percent"), compared="differs_from", other="last_season"),
        "different from last season by at most one zero percent",
        "against last_season: apart by at most 10 %",
    ),
    (
        Limit("at_least", low=PSI, uncertainty=amount("2", "percent")),
        "at least one seven five P S I, the gauge good to two percent",
        "at least 175 psi, gauge good to 2 %",
    ),
    (Limit("by", by="oil_balance"), "as oil balance has it", "by oil_balance"),
    (
        Limit("at_most", high=PSI, by="oil_balance", source="page 4"),
        "oil balance, at most one seven five P S I",
        "by oil_balance: at most 175 psi (page 4)",
    ),
    (Limit("spread", share=Decimal(10)), "lowest within one zero percent of the highest", "lowest within 10 % of highest"),
    (Limit("same_as", other="washers_off"), "the same as washers off", "same as washers_off"),
]  # fmt: skip


@pytest.mark.parametrize(("limit", "aloud", "written"), WORDED)
def test_each_rule_has_its_two_wordings(limit: Limit, aloud: str, written: str) -> None:
    """For the ear and for the entry."""
    assert limit_aloud(limit) == aloud
    assert limit_written(limit) == written


def test_what_a_computation_gave_is_written_before_its_bound() -> None:
    """Answer, bound, source."""
    limit = Limit("at_least", low=PSI, by="compression_to_sea_level", source="page 4")
    assert limit_written(limit, "194.39 psi") == "by compression_to_sea_level: 194.39 psi, at least 175 psi (page 4)"
    assert limit_written(Limit("by", by="oil_balance"), "0.3 US qt") == "by oil_balance: 0.3 US qt"


def test_computed_amounts_are_short_for_the_ear() -> None:
    """Three significant figures, six in print; whole numbers whole, small ones not to nothing."""
    said = ("194.39123456", "0.0041234", "12345.678", "-20", "3.000")
    assert [short_aloud(amount(n, "V")) for n in said] == [
        "one niner four volts", "zero decimal zero zero four one two volts", "one two three four six volts",
        "minus two zero volts", "three volts",
    ]  # fmt: skip
    assert short_written(amount("194.39123456", "psi")) == "194.391 psi"


# TM, AC and the like: how the sources of reference.md are said
SOURCES = [
    ("Tern 3 manual page 6-8", "Tern 3 manual page 6 dash 8"),
    ("AC 43.13-1B para 8-14", "AC 43 decimal 13 dash 1B paragraph 8 dash 14"),
    ("TM 9-6140-200-14 s.4-7", "TM 9 dash 6140 dash 200 dash 14 section 4 dash 7"),
    ("common practice, no source", "common practice, no source"),
    ("trade practice: lowest within 10 % of the highest.", "trade practice, lowest within 10 percent of the highest"),
    ("p. 4; label (back, in red)", "page 4, and label"),
    ("page 6-8; certificate no. 12", "page 6 dash 8, and certificate number 12"),
    ("good to 5\u00b0C + 2 %", "good to 5 degrees C plus 2 percent"),
    ("80/60 psi, one and/or two", "80 over 60 psi, one or two"),
    ("TM 1-1500 \u00a7 3 (reference.md 7.4)", "TM 1 dash 1500 3"),
    ("a.; .,b", "a, and b"),
    ("", ""),
]


@pytest.mark.parametrize(("source", "aloud"), SOURCES)
def test_a_source_is_said_without_its_signs(source: str, aloud: str) -> None:
    """What is short for the eye is said in full, and nothing ends the sentence."""
    assert source_aloud(source) == aloud


@given(st.text(alphabet="abcAC 0123456789,;:.()/'\"%+&-", max_size=LONGEST))
def test_no_source_ends_the_sentence_it_stands_in(source: str) -> None:
    """Whatever is sayable: one sentence, no sign that a voice would stumble over."""
    assert unsayable(source) == ""
    said = limit_with_source(Limit("at_least", low=PSI, source=source))
    assert said.startswith("at least one seven five P S I")
    assert not re.search(r"[.:?!;](\s|$)", said)


def test_what_cannot_be_said_is_told() -> None:
    """Strange signs, too many signs."""
    assert unsayable("manual \u00a7 4 \u2192 5") == "'\u00a7', '\u2192' cannot be said"
    assert unsayable("x" * LONGEST) == ""
    assert "too long" in unsayable("x" * (LONGEST + 1))


BANDS = [
    ("above 10 psi; below 20 psi", Decimal(10), Decimal(20)),
    ("20 psi within 10 %, 18 psi to 22 psi", Decimal(18), Decimal(22)),
    ("at least 175 psi, gauge good to 3 psi (page 6)", Decimal(175), None),
    ("against dry: more by 5 psi to 10 psi; at most 300 psi", None, Decimal(300)),
    ("by compression_to_sea_level: 194 psi, at least 190 psi", None, None),
]


@pytest.mark.parametrize(("limit", "low", "high"), BANDS)
def test_only_bounds_of_the_reading_itself_make_the_band(limit: str, low: Decimal | None, high: Decimal | None) -> None:
    """A difference or a computed value is no place on the reading's own scale."""
    assert band_of(limit, "psi", [Decimal(200)]) == (low, high)
