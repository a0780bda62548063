"""Lead-acid batteries of 12 V: state of charge on each named scale, temperature corrections, freezing, self-loss.

A specific gravity means nothing without its scale: 1.265 is full on the industry council's and seven eighths on the Army's.
Freezing comes from the Army's rows alone: a much copied voltage table has a freezing column that is some 20 degF too cold for
a flat battery (reference.md section 0, T1).
"""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from assistant.core.trade.given import given
from assistant.core.trade.table import Table, table
from assistant.core.units import Amount

Scale = Literal["industry_1265", "army_1280"]
Kind = Literal["flooded", "agm"]

INDUSTRY = "industry-council scale, 1.265 and 12.65 V full, about 27 °C, as restated"
ARMY_SCALE = "TM 5-1185 table II, 1.280 full at 80 °F"
OTHER_ARMY_SCALE = "TM 10-6140-200-14 table 1-1, 1.280 full"
FREEZING = "Army OD1002 and TM 5-1185 table III"
OTHER_FREEZING = OTHER_ARMY_SCALE
NAVY_RULE = "Navy 14113: 0.001 for each 3 °F from 80 °F"
TRADE_RULE = "trade rule, from memory: 0.004 for each 10 °F from 80 °F"
PER_CELL = "open-circuit voltage of a cell about its gravity plus 0.84, as restated; within 0.06 V for 12 V"
RECHARGE = "TM 5-3820-256-24-4 p. 375: check every 30 days, charge at 1.225, store at 0 to 26 °C"
RECHARGE_VOLTS = "12.40 V is derived, 6 x (1.225 + 0.84) = 12.39 V; no official text that says 12.4 V was found"
SELF_LOSS = "TM 9-6140-200-14 s. 4-8: gravity lost a day by a full, sound battery in the first 10 days"
MONTH_LOSS = "TM 5-1185: below 80 °F about 0.001 a day over a month"
SPREAD = "TM 9-6140-200-14 s. 4-7: more than 0.025 between two cells of a fully charged battery is unserviceable"
REST = "rest at least 8 h, better 24 h: industry council, as restated"
AGM_WEAK = "AGM 12.9 / 12.6 / 12.3 / 12.0 / 11.8 V for 100 / 75 / 50 / 25 / 0 %, one weak page; others start at 13.0 V"
AGM_OTHER = "AGM 12.7 V full, 12.1 V half, another weak page"
CHARGING_GAS = (
    "Battery gas explodes: good air, no flame, no spark; charger off before its clips move, negative lead off first."
)
ACID = "Battery acid burns skin and eyes: goggles, gloves, water at hand. Acid goes into water, never water into acid."
FROZEN = "Never charge a frozen battery: look for bulging and ice, and let it thaw first."
CAUTIONS = (CHARGING_GAS, ACID, FROZEN)

BY_GRAVITY: dict[str, Table] = {
    "industry_1265": table(
        "state of charge by gravity, industry scale", INDUSTRY, "gravity at 80 °F", "sg", "percent",
        ("1.120", "0"), ("1.155", "25"), ("1.190", "50"), ("1.225", "75"), ("1.265", "100"),
    ),
    "army_1280": table(
        "state of charge by gravity, Army scale", ARMY_SCALE, "gravity at 80 °F", "sg", "percent",
        ("1.190", "25"), ("1.220", "50"), ("1.250", "75"), ("1.280", "100"),
    ),
}  # fmt: skip
OTHER_ARMY = table(
    "state of charge by gravity, the other Army manual", OTHER_ARMY_SCALE, "gravity at 80 °F", "sg", "percent",
    ("1.160", "25"), ("1.220", "50"), ("1.250", "75"), ("1.280", "100"),
)  # fmt: skip
"""Agrees with the Army scale from 1.220 up; below, 1.190 is 25 percent on one and 37.5 on the other."""
FLOODED_BY_VOLTAGE = table(
    "state of charge by voltage, flooded, industry scale", INDUSTRY, "voltage", "V", "percent",
    ("11.89", "0"), ("12.06", "25"), ("12.24", "50"), ("12.45", "75"), ("12.65", "100"),
)  # fmt: skip
AGM_BY_VOLTAGE = table(
    "state of charge by voltage, AGM", AGM_WEAK, "voltage", "V", "percent",
    ("11.8", "0"), ("12.0", "25"), ("12.3", "50"), ("12.6", "75"), ("12.9", "100"),
)  # fmt: skip
OTHER_AGM = table(
    "state of charge by voltage, AGM, another page", AGM_OTHER, "voltage", "V", "percent",
    ("11.7", "20"), ("11.8", "30"), ("12.0", "40"), ("12.1", "50"), ("12.2", "60"), ("12.3", "70"), ("12.5", "80"),
    ("12.6", "90"), ("12.7", "100"),
)  # fmt: skip
FREEZES = table(
    "electrolyte freezing", FREEZING, "gravity at 80 °F", "sg", "degF",
    ("1.000", "32"), ("1.100", "19"), ("1.150", "5"), ("1.200", "-16"), ("1.250", "-62"), ("1.280", "-90"),
)  # fmt: skip
OTHER_FREEZES = table(
    "electrolyte freezing, the other Army manual", OTHER_FREEZING, "gravity at 80 °F", "sg", "degF",
    ("1.160", "1"), ("1.220", "-31"), ("1.250", "-62"), ("1.280", "-95"),
)  # fmt: skip
LOSS_A_DAY = table(
    "gravity lost a day in storage", SELF_LOSS, "stored_at", "degF", "sg",
    ("50", "0.0003"), ("80", "0.001"), ("100", "0.0025"),
)  # fmt: skip

REFERENCE_DEGF = Decimal(80)


def at_80(gravity: Amount, temperature: Amount) -> tuple[Decimal, Decimal]:
    """A hydrometer reading brought to 80 degF, by the Navy's rule and by the trade's; to 0.0001.

    Warm acid reads too light: above 80 degF is added, below taken off. Raises ValueError outside of 1.000 to 1.350, or of
    0 to 130 degF (common practice, no source: correction cards end about there).
    """
    read = given("gravity", gravity, "sg", least="1.000", most="1.350", source="common practice, no source")
    degf = given("temperature", temperature, "degF", least="0", most="130", source="common practice, no source")
    over = degf - REFERENCE_DEGF
    return round(read + over * Decimal("0.001") / 3, 4), round(read + over * Decimal("0.004") / 10, 4)


def freezing_points(gravity: Decimal) -> tuple[Decimal, Decimal | None]:
    """Where electrolyte of a gravity at 80 degF freezes, in degF to 0.1, by both Army tables; None where one has no row.

    Raises ValueError outside of 1.000 to 1.280.
    """
    first = round(FREEZES.at(gravity), 1)
    return first, round(OTHER_FREEZES.at(gravity), 1) if gravity >= OTHER_FREEZES.rows[0][0] else None


def freezes_at(gravity: Decimal) -> Decimal:
    """The warmer of both, in degF: the safe side where the tables differ, by up to 5 degF."""
    return max(found for found in freezing_points(gravity) if found is not None)
