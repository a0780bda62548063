"""Sets of readings, one a cylinder, and how figures are rounded for reading."""

from __future__ import annotations

from decimal import Decimal

import pytest

from assistant.core.trade.cylinders import NONE, compared, cranking_pressure, cranking_pressures, named, where
from assistant.core.trade.rounding import in_short, shown, to_figures
from assistant.core.units import Amount


def psi(*numbers: str) -> tuple[Amount, ...]:
    return tuple(Amount(Decimal(number), "psi") for number in numbers)


def test_readings_of_one_set_come_in_the_first_ones_unit() -> None:
    """12 bar and 174.0453 psi are one pressure (reference.md 3: psi = 6.894757 kPa)."""
    numbers, unit = cranking_pressures("pressures", (Amount(Decimal(12), "bar"), *psi("174.0453")))
    assert unit == "bar"
    assert numbers[0] == 12
    assert abs(numbers[1] - 12) < Decimal("0.00001")


@pytest.mark.parametrize("good", ["0", "1000"])
def test_pressures_on_the_bounds_are_taken(good: str) -> None:
    """A dead cylinder shows nothing."""
    assert cranking_pressure("reading", *psi(good), "psi") == Decimal(good)


@pytest.mark.parametrize("bad", ["-0.1", "1000.1", "1241"])
def test_pressures_that_cannot_be_are_refused(bad: str) -> None:
    """Kilopascals taken for psi, for example; value, range and source are named."""
    with pytest.raises(ValueError, match=r"^'reading' .*must be from 0 psi to 1000 psi \(cranking pressures, common"):
        cranking_pressure("reading", *psi(bad), "psi")
    with pytest.raises(ValueError, match=r"^'pressures' is"):
        cranking_pressures("pressures", psi("120", bad))


def test_sets_that_tell_nothing_are_refused() -> None:
    """One reading, none, or nothing on any of them; absolute pressures."""
    with pytest.raises(ValueError, match=r"^'pressures' needs at least two readings, one for each cylinder, and has 1"):
        cranking_pressures("pressures", psi("120"))
    with pytest.raises(ValueError, match="and has 0"):
        cranking_pressures("pressures", ())
    with pytest.raises(ValueError, match=r"^'pressures' is 0 throughout: look at the gauge and its hose first"):
        cranking_pressures("pressures", psi("0", "0"))
    assert cranking_pressures("pressures", psi("0", "1"))[0] == [0, 1]
    with pytest.raises(ValueError, match="must be a pressure"):
        cranking_pressures("pressures", (Amount(Decimal(120), "psi_abs"), *psi("120")))


def test_a_boundary_is_compared_to_twelve_figures() -> None:
    """What a conversion leaves in the twentieth figure decides nothing; what a gauge can show does."""
    assert compared(Decimal("758.42330224851952957")) == compared(Decimal("758.42330224851952958"))
    assert compared(Decimal("100.000000001")) != compared(Decimal(100))
    assert compared(Decimal("100.0000000001")) == 100


def test_cylinders_are_counted_from_one_and_named_as_one_says_them() -> None:
    """One, two, more, none."""
    assert where([Decimal(3), Decimal(1), Decimal(1)], lambda number: number == 1) == [2, 3]
    assert named([2]) == "cylinder 2"
    assert named([2, 3]) == "cylinders 2 and 3"
    assert named([1, 2, 4]) == "cylinders 1, 2 and 4"
    assert named([]) == NONE == "none"


@pytest.mark.parametrize(
    ("number", "figures", "rounded"),
    [("99.8496", 4, "99.85"), ("1234.5", 4, "1235"), ("144.225", 5, "144.23"), ("0.00012345", 4, "0.0001235"),
     ("120", 5, "120"), ("123456", 2, "120000"), ("-2.5", 1, "-3")],
)  # fmt: skip
def test_significant_figures(number: str, figures: int, rounded: str) -> None:
    """Halves away from zero, as one learns it at school, and never an exponent."""
    assert str(to_figures(Decimal(number), figures)) == rounded


def test_lines_of_working_are_short() -> None:
    """Places for percents, figures for readings; zeros at the end are left out, halves go up."""
    assert (shown(Decimal("76.6666")), shown(Decimal("120.00")), shown(Decimal("0.86165"), 4)) == (
        "76.67",
        "120",
        "0.8617",
    )
    assert (shown(Decimal("2.5"), 0), shown(Decimal("0.125"))) == ("3", "0.13")
    assert (in_short(Decimal("111.25")), in_short(Decimal("0.6894757")), in_short(Decimal("111.2345"))) == (
        "111.25",
        "0.68948",
        "111.23",
    )
