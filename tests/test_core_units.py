"""Units against published factors: reference.md section 3 (definitions exact; NIST SP 811 from memory where it says so)."""

from __future__ import annotations

from decimal import Decimal
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.units import KINDS, SPOKEN, Amount, a_kind, convert, kind_of, plain, registry


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


EXACT = [
    # by definition: inch 25.4 mm, pound 0.45359237 kg, standard gravity 9.80665 m/s2, US gallon 231 cubic inches
    ("1", "inch", "25.4", "mm"), ("1", "thou", "0.0254", "mm"), ("1", "ft", "304.8", "mm"), ("1", "in2", "645.16", "mm2"),
    ("1", "us_gal", "3.785411784", "L"), ("1", "us_qt", "0.946352946", "L"), ("1", "us_pt", "0.473176473", "L"),
    ("1", "us_fl_oz", "29.5735295625", "mL"), ("1", "imp_gal", "4.54609", "L"), ("128", "us_fl_oz", "1", "us_gal"),
    ("4", "us_qt", "1", "us_gal"), ("2", "us_pt", "1", "us_qt"), ("12", "lbf_in", "1", "lbf_ft"),
    ("1", "lbf", "4.4482216152605", "N"), ("1", "lbf_in", "0.1129848290276167", "Nm"),
    ("1", "lbf_ft", "1.3558179483314004", "Nm"), ("1", "MPa", "10", "bar"), ("1", "inHg_abs", "3.386389", "kPa_abs"),
    ("-40", "degF", "-40", "degC"), ("32", "degF", "0", "degC"), ("212", "degF", "100", "degC"),
    ("18", "delta_F", "10", "delta_K"),  # an interval, without the 32
    ("1", "h", "3600", "s"), ("1", "A", "1000", "mA"), ("1", "V", "1000", "mV"), ("1", "kg", "1000", "g"),
]  # fmt: skip

ROUNDED = [
    # reference.md section 3, vectors: relative 1e-6
    ("50", "lbf_in", "5.649241", "Nm"), ("90", "lbf_in", "10.168635", "Nm"), ("180", "lbf_in", "20.337269", "Nm"),
    ("50", "lbf_ft", "67.790897", "Nm"), ("90", "lbf_ft", "122.023615", "Nm"), ("180", "lbf_ft", "244.047231", "Nm"),
    ("8", "us_fl_oz", "236.588237", "mL"), ("1.5", "us_qt", "1.419529", "L"), ("50", "psi", "344.737865", "kPa"),
    ("90", "psi", "620.528156", "kPa"), ("180", "psi", "1241.056312", "kPa"), ("29.92", "inHg_abs", "101.320759", "kPa_abs"),
    ("1", "psi", "6.894757", "kPa"), ("1", "psi_abs", "6.894757", "kPa_abs"), ("0", "degF", "-17.777778", "degC"),
]  # fmt: skip


@pytest.mark.parametrize(("number", "unit", "other", "to"), EXACT)
def test_exact_factors_are_exact(number: str, unit: str, other: str, to: str) -> None:
    """Both ways where the factor has an end in decimals."""
    assert convert(amount(number, unit), to).value == Decimal(other)


@pytest.mark.parametrize(("number", "unit", "other", "to"), ROUNDED)
def test_published_figures_agree(number: str, unit: str, other: str, to: str) -> None:
    found = convert(amount(number, unit), to).value
    assert abs(found - Decimal(other)) <= abs(Decimal(other)) * Decimal("1e-6")


PAIRS = [(a, b) for a, b in permutations(KINDS, 2) if kind_of(a) == kind_of(b)]


@given(st.sampled_from(PAIRS), st.decimals(-10_000, 10_000, places=3))
def test_a_unit_of_the_kind_and_back_is_the_same(pair: tuple[str, str], number: Decimal) -> None:
    """To the last decimal that can be said, whichever two units of a kind."""
    there = convert(Amount(number, pair[0]), pair[1])
    back = convert(there, pair[0]).value
    assert back.quantize(Decimal("1e-9")) == number


KINDS_APART = [
    ("psi", "psi_abs"), ("bar", "bar_abs"), ("kPa", "kPa_abs"), ("degC", "delta_K"), ("degF", "delta_F"), ("Nm", "J"),
    ("lbf_ft", "J"), ("percent", "count"), ("sg", "count"), ("N", "Nm"), ("mm", "mm2"), ("L", "kg"), ("mystery", "psi"),
    ("psi", "mystery"),
]  # fmt: skip


@pytest.mark.parametrize(("unit", "to"), KINDS_APART)
def test_kinds_are_never_mixed(unit: str, to: str) -> None:
    """Gauge and absolute pressure, temperature and difference, torque and energy; a unit not on the list is refused."""
    with pytest.raises(ValueError, match="cannot become"):
        convert(amount("1", unit), to)


def test_a_torque_is_no_length_times_a_force() -> None:
    """The one registry knows `Nm` as a torque; newtons times metres stay an energy's or nobody's."""
    product = registry().Quantity(Decimal(1), "N") * registry().Quantity(Decimal(1), "m")
    assert not product.is_compatible_with("Nm")
    assert not registry().Quantity(Decimal(1), "J").is_compatible_with("Nm")


def test_every_unit_has_a_kind_and_a_spoken_name() -> None:
    """One list, in three tables that agree; nothing but the list is known."""
    assert set(KINDS) == set(SPOKEN)
    for unit in KINDS:
        assert convert(amount("1", unit), unit) == amount("1", unit)
        assert a_kind(unit).split(" ", 1)[1] == kind_of(unit)
    assert kind_of("foot_pound") is None
    assert a_kind("foot_pound") == "a unit that is not on the list"


@pytest.mark.parametrize(
    ("value", "text"), [("190.00", "190"), ("1E+2", "100"), ("-0.50", "-0.5"), ("-0", "0"), ("0.000", "0")]
)
def test_numbers_are_written_plainly(value: str, text: str) -> None:
    assert plain(Decimal(value)) == text
