"""What each glycol stands: one set of tables a glycol, with the basis of every share and the source of every row.

A volume share and a mass share are never mixed: each has its own table. No row lies above 60 percent, where more glycol
freezes sooner again (OD1001: 60 percent by volume stands -65 degF, and more or less of it stands less).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Literal

from assistant.core.trade.table import Table, table
from assistant.core.units import Amount, convert

Glycol = Literal["ethylene", "propylene"]
Basis = Literal["volume", "mass"]

ARMY = "TM 5-6115-400-12 table 2-1 (rows above -10 °F from memory)"
HANDBOOK = "handbook of chemistry, 15th edition, table 5.13: pure propylene glycol, gravity at 60 °F"
LIBRARY = "library values, CoolProp 8.0.0: pure glycol in water (reference.md section 5.3)"
ETHYLENE_CORRECTION = (
    "0.00025 per °F, within 0.002: worked from the densities of 30 to 50 % by volume at 60 and 100 °F in ASHRAE"
    " Fundamentals, as restated by a piping manual"
)
PROPYLENE_CORRECTION = (
    "0.0003 per °F, within 0.002: worked from the densities of 30 and 40 % at 20 and 40 °C printed in a chiller manual"
)
CLOSED_ONLY = (
    "Ethylene glycol is for closed circuits only. It is poisonous and tastes sweet: wipe it up, keep animals away."
)
RAW_WATER = "Only non-toxic propylene glycol goes into an open raw-water system."
WASTE = "Catch what runs out and label it waste antifreeze. None of it goes into a drain, the ground or the water."
ONE_GLYCOL = (
    "The figure holds for one glycol in water. Two glycols mixed, or alcohol in it, cannot be measured this way."
)
HOT = "Never open a hot cooling system. The machine's manual says which coolant it takes."


@dataclass(frozen=True)
class Fluid:
    """One glycol in water.

    `stands`: share by basis -> the lowest temperature it stands. `by_gravity`: specific gravity at `read_at` -> volume
    share. `per_degf`: how much the gravity falls with each degree Fahrenheit. `coldest`: what no strength of it beats.
    """

    name: str
    stands: Mapping[str, Table]
    by_gravity: Table
    read_at: Decimal
    per_degf: Decimal
    correction: str
    coldest: Amount
    coldest_source: str
    cautions: tuple[str, ...]


ETHYLENE = Fluid(
    "ethylene glycol",
    {
        "volume": table(
            "lowest ambient for ethylene glycol by volume", ARMY, "share", "percent", "degF",
            ("18.75", "20"), ("25", "10"), ("34.375", "0"), ("40.625", "-10"), ("43.75", "-20"), ("50", "-30"),
            ("53.125", "-40"),
        ),
        "mass": table(
            "freezing point of ethylene glycol by mass", LIBRARY, "share", "percent", "degC",
            ("10", "-3.36"), ("20", "-7.95"), ("30", "-14.58"), ("40", "-23.81"), ("50", "-35.99"), ("60", "-51.20"),
        ),
    },
    table(
        "specific gravity of ethylene glycol at 68 °F", ARMY, "gravity", "sg", "percent",
        ("1.022", "18.75"), ("1.036", "25"), ("1.047", "34.375"), ("1.055", "40.625"), ("1.062", "43.75"),
        ("1.067", "50"), ("1.073", "53.125"),
    ),
    Decimal(68), Decimal("0.00025"), ETHYLENE_CORRECTION, Amount(Decimal(-65), "degF"), "OD1001: 60 % by volume",
    (CLOSED_ONLY, WASTE, ONE_GLYCOL, HOT),
)  # fmt: skip
"""Volume: pints of glycol in the 8 of a US gallon. The Army's figures are the warm, safe side of library values."""

PROPYLENE = Fluid(
    "propylene glycol",
    {
        "volume": table(
            "freezing point of propylene glycol by volume", HANDBOOK, "share", "percent", "degC",
            ("5", "-1.1"), ("10", "-2.2"), ("15", "-3.9"), ("20", "-6.7"), ("25", "-8.9"), ("30", "-12.8"),
            ("35", "-16.1"), ("40", "-20.6"), ("45", "-26.7"), ("50", "-33.3"),
        ),
        "mass": table(
            "freezing point of propylene glycol by mass", LIBRARY, "share", "percent", "degC",
            ("10", "-2.87"), ("20", "-7.17"), ("30", "-12.79"), ("40", "-20.57"), ("50", "-32.19"), ("60", "-50.00"),
        ),
    },
    table(
        "specific gravity of propylene glycol at 60 °F", HANDBOOK, "gravity", "sg", "percent",
        ("1.004", "5"), ("1.006", "10"), ("1.012", "15"), ("1.017", "20"), ("1.020", "25"), ("1.024", "30"),
        ("1.028", "35"), ("1.032", "40"), ("1.037", "45"), ("1.040", "50"),
    ),
    Decimal(60), Decimal("0.0003"), PROPYLENE_CORRECTION, Amount(Decimal(-50), "degC"), f"{LIBRARY}: 60 % by mass",
    (RAW_WATER, WASTE, ONE_GLYCOL, HOT),
)  # fmt: skip
"""The handbook adds: commercial antifreeze needs a little more than pure glycol, and its own maker's table goes first."""


def fluid_of(glycol: str) -> Fluid:
    """The tables of a glycol. Raises ValueError for a word that is none: the glycol must be known."""
    if glycol not in ("ethylene", "propylene"):
        raise ValueError(f"'glycol' is '{glycol}', and must be ethylene or propylene: each has its own table")
    return ETHYLENE if glycol == "ethylene" else PROPYLENE


def stands_at(fluid: Fluid, share: Decimal, basis: str) -> Amount:
    """The lowest temperature that a share stands, to 0.01 degree, in the table's unit. Raises ValueError outside of it."""
    if basis not in fluid.stands:
        raise ValueError(f"'basis' is '{basis}', and must be volume or mass: a share without its basis says nothing")
    chosen = fluid.stands[basis]
    return Amount(chosen.at(share).quantize(Decimal("0.01")), chosen.y_unit)


def share_standing(fluid: Fluid, temperature: Amount) -> Decimal:
    """The volume share in percent that stands a temperature, up to 0.001. Raises ValueError outside of the table."""
    chosen = fluid.stands["volume"]
    wanted = convert(temperature, chosen.y_unit).value
    return chosen.turned("temperature").at(wanted).quantize(Decimal("0.001"), ROUND_CEILING)
