"""Cranking pressures at another altitude, and what an ideal engine would show.

Two ways of correcting are about, and they disagree (at 5000 ft 0.832 against 0.862). The answer here is always the one
on absolute pressure: the charge is compressed by the same ratio wherever the engine stands. The shops' printed factors
are density ratios, applied to the gauge's reading; that result stands beside the answer under its own name, and must
never be mixed with it (reference.md section 7.2).
"""

from __future__ import annotations

from decimal import Decimal
from functools import partial

from assistant.core.trade.atmosphere import (
    SEA_LEVEL_KPA,
    SOURCE,
    WEATHER,
    Air,
    air_at,
    air_under,
    kelvins,
)
from assistant.core.trade.cylinders import cranking_pressure
from assistant.core.trade.figure import Figure
from assistant.core.trade.given import given
from assistant.core.trade.inputs import AbsolutePressure, Altitude, Count, Pressure, Temperature
from assistant.core.trade.rounding import shown, to_figures
from assistant.core.units import Amount, convert

CRANKING = (
    "Compare with the manual's figure only as the manual cranks: warm engine, throttle wide open, all plugs out, about"
    " five strokes on each cylinder, the same for all.",
    "Charge the battery first: slow cranking reads low on every cylinder, and slower from one to the next.",
    "Disable ignition and fuel first, ground the plug leads, keep flame, sparks and faces away from open plug holes,"
    " and everybody clear of propeller, impeller and belts.",
)
"""Common practice, no source; of it the open throttle, a full supply for the starter and grounded leads also stand in TM
1-1500-204-23-1; the five strokes and the warm engine from memory (reference.md section 7.4)."""
ABSOLUTE = "absolute pressures in proportion: (gauge + air) / air stays the same for one engine (ideal gas)"
DENSITY = "shops' printed factors: standard density ratio on the gauge reading, from memory"
APART = "by_the_shops_density_factor"
NEVER_MIXED = (
    "The result by the shops' density factor stands apart: compare only figures that were corrected the same way."
)
ONE_OF_TWO = "give either 'altitude' or 'air_pressure' (a barometer in the bay), and only one of them"
STATION = (
    "'air_pressure' is what a barometer in the bay shows; a weather report's is reduced to sea level and is not it."
)
TEMPERATURE = (
    "No published rule was found for the temperature of the air: in theory it changes nothing where the air is"
    " compressed quickly, and the figure with it is the most that it could change."
)
REFERENCE_TEMPERATURE = Amount(Decimal(15), "degC")
"""That of the standard atmosphere at sea level."""
SEA_LEVEL = Amount(Decimal(0), "m")
CRANKED = Amount(Decimal("1.3"), "count")
ESTIMATE = (
    "An ideal engine, no limit to judge by: late valves or ports, leaks, heat lost and slow cranking all lower it. The"
    " manual's figure counts.",
)


def compression_to_sea_level(
    *,
    reading: Pressure,
    altitude: Altitude | None = None,
    air_pressure: AbsolutePressure | None = None,
    air_temperature: Temperature | None = None,
    reference_temperature: Temperature | None = None,
) -> Figure:
    """What the same engine would show at sea level, (reading + air) x 101.325 kPa / air - 101.325 kPa; reading's unit.

    (That comes to the reading over the pressure ratio.) The air is that of the altitude on a standard day, or what a
    barometer in the bay shows. With `air_temperature` the most that it can change stands beside the answer: (reading +
    air) also times its ratio, in kelvins, to the reference temperature, 15 degC where none is given.
    Rounded to 5 significant figures. Sources: `ABSOLUTE`, `SOURCE`; apart by `DENSITY`.
    Raises ValueError for a reading not from 0 to 1000 psi, air that nobody works in, both or neither of the two, or a
    reference temperature alone.
    """
    gauge = cranking_pressure("reading", reading, "kPa")
    air = _air(altitude, air_pressure)
    kept = partial(_in, unit=reading.unit)
    absolute = (gauge + air.pressure_kpa) * SEA_LEVEL_KPA / air.pressure_kpa
    answer = _gauge_amount(absolute - SEA_LEVEL_KPA, reading.unit)
    apart = _gauge_amount(gauge / air.density_ratio, reading.unit)
    working = [
        *_told(air, altitude, reading.unit),
        f"absolute here: {reading} + the air, {kept(air.pressure_kpa)} is {kept(gauge + air.pressure_kpa)}",
        f"at sea level: x {kept(SEA_LEVEL_KPA)} / {kept(air.pressure_kpa)} = {kept(absolute)} absolute",
        f"on the gauge: less {kept(SEA_LEVEL_KPA)} = {kept(absolute - SEA_LEVEL_KPA)}",
        f"apart: {reading} / density ratio {shown(air.density_ratio, 4)} = {apart}",
    ]
    beside = [(APART, apart)]
    cautions = [NEVER_MIXED, _about(air_pressure)]
    if air_temperature is not None:
        here = kelvins("air_temperature", air_temperature)
        there = kelvins("reference_temperature", reference_temperature or REFERENCE_TEMPERATURE)
        warm = _gauge_amount(absolute * here / there - SEA_LEVEL_KPA, reading.unit)
        beside.append(("if_the_temperature_counts_in_full", warm))
        working.append(
            f"if the temperature counts in full: x {shown(here)} K / {shown(there)} K before the sea-level air is taken off"
            f" = {warm}"
        )
        cautions.append(TEMPERATURE)
    elif reference_temperature is not None:
        raise ValueError("'reference_temperature' needs 'air_temperature', that of the air that the engine drew")
    sources = (ABSOLUTE, SOURCE, DENSITY)
    return Figure(answer, tuple(working), sources, beside=tuple(beside), cautions=(*cautions, *CRANKING))


def compression_at_altitude(
    *, sea_level: Pressure, altitude: Altitude | None = None, air_pressure: AbsolutePressure | None = None
) -> Figure:
    """What a figure of the manual, given for sea level, becomes in this air; in its own unit, to 5 significant figures.

    The other way round than `compression_to_sea_level`, with the same sources and errors.
    """
    gauge = cranking_pressure("sea_level", sea_level, "kPa")
    air = _air(altitude, air_pressure)
    absolute = (gauge + SEA_LEVEL_KPA) * air.pressure_ratio
    unit = sea_level.unit
    apart = _gauge_amount(gauge * air.density_ratio, unit)
    return Figure(
        _gauge_amount(absolute - air.pressure_kpa, unit),
        (
            *_told(air, altitude, unit),
            f"absolute at sea level: {sea_level} + the air, {_in(SEA_LEVEL_KPA, unit)} is {_in(gauge + SEA_LEVEL_KPA, unit)}",
            f"here: x {_in(air.pressure_kpa, unit)} / {_in(SEA_LEVEL_KPA, unit)} = {_in(absolute, unit)} absolute",
            f"on the gauge: less {_in(air.pressure_kpa, unit)} = {_in(absolute - air.pressure_kpa, unit)}",
            f"apart: {sea_level} x density ratio {shown(air.density_ratio, 4)} = {apart}",
        ),
        (ABSOLUTE, SOURCE, DENSITY),
        beside=((APART, apart),),
        cautions=(NEVER_MIXED, _about(air_pressure), *CRANKING),
    )


def compression_estimate(
    *,
    ratio: Count,
    exponent: Count | None = None,
    altitude: Altitude | None = None,
) -> Figure:
    """An estimate of the gauge pressure, psi: air x ratio to the power of n, less the air; to 4 significant figures.

    n is 1.4 for ideal air without loss, and nearer 1.2 to 1.3 when cranked; 1.3 where none is given, as is sea level for
    the altitude. Sources: the NASA page on the ideal Otto
    cycle for p2 / p1 = r to the n (reference.md 7.3); 1.2 to 1.3 from memory.
    Raises ValueError for a ratio not from 1 to 30, an exponent not from 1 to 1.4, or an altitude that `air_at` refuses.
    """
    r = given("ratio", ratio, "count", least="1", most="30", source="no piston engine has more, common practice")
    n = given("exponent", exponent or CRANKED, "count", least="1", most="1.4", source="1 loses all heat, 1.4 none")
    at = altitude or SEA_LEVEL
    air = convert(Amount(air_at(at).pressure_kpa, "kPa_abs"), "psi_abs").value
    gauge = {power: air * r**power - air for power in (n, Decimal("1.2"), Decimal("1.4"))}
    return Figure(
        Amount(to_figures(gauge[n], 4), "psi"),
        (
            f"air at {at}: {shown(air, 3)} psi absolute",
            f"compressed: x {shown(r, 3)} to the power {shown(n, 3)} = {shown(air * r**n, 1)} psi absolute",
            f"on the gauge: less {shown(air, 3)} psi = {shown(gauge[n], 1)} psi",
        ),
        ("p2 / p1 = r^n, ideal Otto cycle, NASA; n = 1.2 to 1.3 when cranked, from memory", SOURCE),
        beside=(
            ("n_1.2_when_cranked", Amount(to_figures(gauge[Decimal("1.2")], 4), "psi")),
            ("n_1.4_without_loss", Amount(to_figures(gauge[Decimal("1.4")], 4), "psi")),
        ),
        cautions=ESTIMATE,
    )


def _air(altitude: Amount | None, air_pressure: Amount | None) -> Air:
    if altitude is not None and air_pressure is None:
        return air_at(altitude)
    if air_pressure is not None and altitude is None:
        return air_under(air_pressure)
    raise ValueError(ONE_OF_TWO)


def _told(air: Air, altitude: Amount | None, unit: str) -> tuple[str, ...]:
    whose = f"air at {altitude} on a standard day" if altitude is not None else "air by the barometer"
    return (f"{whose}: {_in(air.pressure_kpa, unit)} absolute, {shown(air.pressure_ratio, 4)} of sea level",)


def _about(air_pressure: Amount | None) -> str:
    return WEATHER if air_pressure is None else STATION


def _gauge_amount(kpa: Decimal, unit: str) -> Amount:
    return Amount(to_figures(convert(Amount(kpa, "kPa"), unit).value, 5), unit)


def _in(kpa: Decimal, unit: str) -> str:
    """A pressure of either kind in the unit of the gauge, for reading: 5 figures."""
    return str(_gauge_amount(kpa, unit))


COMPUTATIONS = (compression_to_sea_level, compression_at_altitude, compression_estimate)
