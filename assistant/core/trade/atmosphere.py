"""The air around the engine: the standard atmosphere, from the altitude or from a barometer in the bay.

Source: ISO 2533, the same as US Standard Atmosphere 1976 up to 32 km (reference.md section 7.1; the constants from
memory, checked against its tables and against another implementation). What is computed here is the lowest layer:
sea level 101.325 kPa and 15 degC, 6.5 K colder for each kilometre of geopotential height.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from assistant.core.trade.figure import Figure
from assistant.core.trade.given import given
from assistant.core.trade.inputs import AbsolutePressure, Altitude, Temperature
from assistant.core.trade.rounding import shown, to_figures
from assistant.core.units import Amount, convert

SEA_LEVEL_KPA = Decimal("101.325")
SEA_LEVEL_K = Decimal("288.15")
ZERO_CELSIUS_K = Decimal("273.15")
LAPSE_K_PER_M = Decimal("0.0065")
EARTH_RADIUS_M = Decimal(6356766)
"""The radius with which the standard turns height above the sea into geopotential height."""
AIR_J_PER_KG_K = Decimal("287.05287")
GRAVITY_M_PER_S2 = Decimal("9.80665")
PRESSURE_POWER = GRAVITY_M_PER_S2 / (AIR_J_PER_KG_K * LAPSE_K_PER_M)
"""5.25588: the pressure goes with this power of the temperature."""

LOWEST_M, HIGHEST_M = "-500", "6000"
"""Below the lowest and above the highest place where people work (common practice, no source); the standard's lowest
layer covers more, to 11 km."""
LEAST_KPA, MOST_KPA = "45", "110"
"""What a barometer can show between those places, weather included (common practice, no source)."""
SOURCE = "ISO 2533 / US Standard Atmosphere 1976"
WEATHER = "This is a standard day. Weather moves the pressure by some 3 percent: a barometer in the bay is better."


@dataclass(frozen=True)
class Air:
    """Still air of a standard day: pressure in kPa absolute, temperature in kelvins."""

    pressure_kpa: Decimal
    temperature_k: Decimal

    @property
    def pressure_ratio(self) -> Decimal:
        """Its pressure as a share of that at sea level; 1 there."""
        return self.pressure_kpa / SEA_LEVEL_KPA

    @property
    def density_ratio(self) -> Decimal:
        """Its density as a share of that at sea level; 1 there. Never the same as `pressure_ratio` elsewhere."""
        return self.pressure_ratio * SEA_LEVEL_K / self.temperature_k


def air_at(altitude: Altitude) -> Air:
    """The standard air at a height above sea level. Raises ValueError below -500 m and above 6000 m."""
    height = given("altitude", altitude, "m", least=LOWEST_M, most=HIGHEST_M, source="where people work")
    temperature = SEA_LEVEL_K - LAPSE_K_PER_M * geopotential_m(height)
    return Air(SEA_LEVEL_KPA * (temperature / SEA_LEVEL_K) ** PRESSURE_POWER, temperature)


def air_under(pressure: AbsolutePressure) -> Air:
    """The standard air at the height where it has that pressure. Raises ValueError outside of 45 to 110 kPa absolute."""
    kpa = given("air_pressure", pressure, "kPa_abs", least=LEAST_KPA, most=MOST_KPA, source="where people work")
    return Air(kpa, SEA_LEVEL_K * (kpa / SEA_LEVEL_KPA) ** (1 / PRESSURE_POWER))


def geopotential_m(height_m: Decimal) -> Decimal:
    """Height above sea level as if gravity were the same all the way up; a little less than the tape says."""
    return EARTH_RADIUS_M * height_m / (EARTH_RADIUS_M + height_m)


def kelvins(name: str, temperature: Temperature) -> Decimal:
    """An air temperature in kelvins. Raises ValueError outside of -60 to 60 degC: nobody works there."""
    return given(name, temperature, "degC", least="-60", most="60", source="where people work") + ZERO_CELSIUS_K


def standard_air_pressure(*, altitude: Altitude) -> Figure:
    """The pressure of the air at an altitude on a standard day: kPa absolute, or psi absolute for an altitude in feet.

    Beside it stand inches of mercury, the temperature, and the ratios of pressure and density to sea level, which differ.
    Rounded to 5 significant figures. Source: `SOURCE`. Raises ValueError outside of -500 to 6000 m.
    """
    air = air_at(altitude)
    pressure = Amount(air.pressure_kpa, "kPa_abs")
    metres = convert(altitude, "m").value
    geopotential = geopotential_m(metres)
    return Figure(
        _in_figures(pressure, "psi_abs" if altitude.unit in ("ft", "inch") else "kPa_abs"),
        (
            f"{altitude} is {shown(metres, 1)} m, geopotential {shown(geopotential, 1)} m",
            f"temperature {SEA_LEVEL_K} K less {LAPSE_K_PER_M} K/m x {shown(geopotential, 1)} m"
            f" = {shown(air.temperature_k)} K",
            f"pressure {SEA_LEVEL_KPA} kPa x ({shown(air.temperature_k)} / {SEA_LEVEL_K}) to the power"
            f" {shown(PRESSURE_POWER, 5)} = {shown(air.pressure_kpa, 3)} kPa absolute",
        ),
        (SOURCE,),
        beside=(
            ("inches_of_mercury", _in_figures(pressure, "inHg_abs")),
            ("temperature", Amount(to_figures(air.temperature_k - ZERO_CELSIUS_K, 4), "degC")),
            ("pressure_ratio", Amount(to_figures(air.pressure_ratio * 100, 4), "percent")),
            ("density_ratio", Amount(to_figures(air.density_ratio * 100, 4), "percent")),
        ),
        cautions=(WEATHER,),
    )


def _in_figures(amount: Amount, unit: str) -> Amount:
    return Amount(to_figures(convert(amount, unit).value, 5), unit)


COMPUTATIONS = (standard_air_pressure,)
