"""How cold the coolant must stand, and what ethylene glycol stands. Tables are interpolated, never extrapolated."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

from assistant.core.trade.figure import Figure
from assistant.core.trade.inputs import Gravity, Share, Temperature, TemperatureDifference
from assistant.core.units import Amount, convert, kind_of

Row = tuple[Decimal, Decimal, Decimal]

ETHYLENE_GLYCOL: tuple[Row, ...] = tuple(
    (Decimal(pints) * 100 / 8, Decimal(gravity), Decimal(degrees_f))
    for pints, gravity, degrees_f in (
        ("1.5", "1.022", "20"),
        ("2", "1.036", "10"),
        ("2.75", "1.047", "0"),
        ("3.25", "1.055", "-10"),
        ("3.5", "1.062", "-20"),
        ("4", "1.067", "-30"),
        ("4.25", "1.073", "-40"),
    )
)
"""(volume percent, specific gravity at 68 degF, lowest ambient in degF); pints of glycol in the 8 of a US gallon.

Source: TM 5-6115-400-12 table 2-1 (rows above -10 degF from memory of the same table). The Army's figures lie on the
warm, safe side of library values (reference.md section 5.3).
"""


def colder_by(*, temperature: Temperature, margin: TemperatureDifference) -> Figure:
    """The temperature that lies `margin` below another, in that one's unit: what the coolant must stand.

    Source: protect at least 10 degF below the coldest expected (reference.md section 5.2, Navy 14329).
    Raises ValueError where `temperature` is no temperature or `margin` no temperature difference, or it is negative.
    """
    if kind_of(temperature.unit) != "temperature" or margin.value < 0:
        raise ValueError(f"{margin} below {temperature} makes no sense")
    difference = convert(margin, "delta_F" if temperature.unit == "degF" else "delta_K")
    answer = Amount(temperature.value - difference.value, temperature.unit)
    return Figure(answer, (f"{temperature} less {difference} is {answer}",), ("reference.md section 5.2, Navy 14329",))


def ethylene_glycol_stands(*, share: Share) -> Figure:
    """The lowest ambient temperature, degF, for a volume share of ethylene glycol; source: `ETHYLENE_GLYCOL`.

    Raises ValueError outside of 18.75 to 53.125 percent by volume.
    """
    if share.unit != "percent":
        raise ValueError(f"'share' is {share}, and must be in percent")
    answer = Amount(_between(share.value, [(row[0], row[2]) for row in ETHYLENE_GLYCOL]), "degF")
    return Figure(answer, (f"{share} by volume stands {answer}",), ("TM 5-6115-400-12 table 2-1",))


def ethylene_glycol_by_gravity(*, gravity: Gravity) -> Figure:
    """The same by specific gravity at 68 degF; source: `ETHYLENE_GLYCOL`.

    Raises ValueError outside of 1.022 to 1.073.
    """
    if gravity.unit != "sg":
        raise ValueError(f"'gravity' is {gravity}, and must be a specific gravity")
    answer = Amount(_between(gravity.value, [(row[1], row[2]) for row in ETHYLENE_GLYCOL]), "degF")
    return Figure(answer, (f"{gravity} at 68 degF stands {answer}",), ("TM 5-6115-400-12 table 2-1",))


def _between(at: Decimal, rows: Sequence[tuple[Decimal, Decimal]]) -> Decimal:
    """Linear between the two rows around `at`."""
    for (x0, y0), (x1, y1) in pairwise(rows):
        if x0 <= at <= x1:
            return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    raise ValueError(f"{at} lies outside of the table, which goes from {rows[0][0]} to {rows[-1][0]}")


COMPUTATIONS = (colder_by, ethylene_glycol_stands, ethylene_glycol_by_gravity)
