"""The standard atmosphere against its published tables, and against another implementation of it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade import atmosphere
from assistant.core.trade.atmosphere import air_at, air_under, geopotential_m, kelvins, standard_air_pressure
from assistant.core.units import Amount, convert

heights_m = st.decimals(min_value=-500, max_value=6000, places=1)


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


# reference.md 7.1, first table: US 1976 by geometric height; bar as printed, kPa and density ratio from the model
METRES = [
    ("0", "1.01325", "101.3250", "1.0000"),
    ("300", None, "97.7727", "0.9715"),
    ("500", "0.9546", "95.4613", "0.9529"),
    ("1000", "0.8988", "89.8763", "0.9075"),
    ("1500", "0.8456", "84.5597", "0.8638"),
    ("2000", "0.7950", "79.5014", "0.8217"),
    ("2500", "0.7469", "74.6917", "0.7812"),
    ("3000", "0.7012", "70.1211", "0.7422"),
]


@pytest.mark.parametrize(("metres", "bar", "kpa", "density"), METRES)
def test_metres_after_the_printed_table(metres: str, bar: str | None, kpa: str, density: str) -> None:
    """reference.md 7.1: the printed bars to their last place, and the model's kPa and density ratio to theirs."""
    air = air_at(amount(metres, "m"))
    assert round(air.pressure_kpa, 4) == Decimal(kpa)
    assert round(air.density_ratio, 4) == Decimal(density)
    if bar is not None:
        assert abs(air.pressure_kpa / 100 - Decimal(bar)) <= Decimal("0.00005")


# reference.md 7.1, second table: psia as the page prints it, inHg, ratios of pressure and density
FEET = [
    ("0", "14.696", "29.92", "1.0000", "1.0000"),
    ("1000", "14.175", "28.86", "0.9644", "0.9711"),
    ("2000", "13.664", "27.82", "0.9298", "0.9428"),
    ("3000", "13.173", "26.82", "0.8962", "0.9151"),
    ("4000", "12.682", "25.84", "0.8637", "0.8881"),
    ("5000", "12.230", "24.90", "0.8320", "0.8617"),
    ("6000", "11.778", "23.98", "0.8014", "0.8359"),
    ("7000", "11.341", "23.09", "0.7716", "0.8106"),
    ("8000", "10.914", "22.22", "0.7428", "0.7860"),
    ("10000", "10.108", "20.58", "0.6877", "0.7385"),
]


@pytest.mark.parametrize(("feet", "psia", "inhg", "pressure", "density"), FEET)
def test_feet_after_the_printed_page(feet: str, psia: str, inhg: str, pressure: str, density: str) -> None:
    """reference.md 7.1: psia within 0.011 (the page's own slip at 4000 ft), inHg 0.01, ratios 0.0002."""
    figure = standard_air_pressure(altitude=amount(feet, "ft"))
    beside = {name: answer for name, answer in figure.beside if isinstance(answer, Amount)}
    assert figure.amount.unit == "psi_abs"
    assert abs(figure.amount.value - Decimal(psia)) <= Decimal("0.011")
    assert abs(beside["inches_of_mercury"].value - Decimal(inhg)) <= Decimal("0.01")
    assert abs(beside["pressure_ratio"].value / 100 - Decimal(pressure)) <= Decimal("0.0002")
    assert abs(beside["density_ratio"].value / 100 - Decimal(density)) <= Decimal("0.0002")


# the package ambiance 1.3.1 (the 1993 standard atmosphere of civil aviation, the same model), run once beside this one
OTHER_PROGRAM = [
    ("-500", "107.47797910351606", "291.40025565324044"),
    ("304.8", "97.7167376007687", "286.1688949918255"),
    ("450", "96.03494265257213", "285.2252070481796"),
    ("1234", "87.35530906640935", "280.130556765335"),
    ("1609.344", "83.43175765828214", "277.69191167677377"),
    ("2286", "76.72046671839182", "273.2963416254498"),
    ("3048", "69.69460186793634", "268.3474950852336"),
    ("6000", "47.21761709884289", "249.18677645854018"),
]


@pytest.mark.parametrize(("metres", "kpa", "kelvin"), OTHER_PROGRAM)
def test_another_program_agrees_to_six_figures(metres: str, kpa: str, kelvin: str) -> None:
    """The same model by other hands; below sea level the two differ in the seventh figure, above not in ten."""
    air = air_at(amount(metres, "m"))
    assert abs(air.pressure_kpa / Decimal(kpa) - 1) < Decimal("3e-7" if metres == "-500" else "1e-10")
    assert abs(air.temperature_k - Decimal(kelvin)) < Decimal("1e-6")


@pytest.mark.parametrize(("metres", "kpa"), [("1000", "89.8746"), ("2000", "79.4952"), ("3000", "70.1085")])
def test_geopotential_height_is_told_apart(metres: str, kpa: str) -> None:
    """reference.md 7.1: at that geopotential height, which is a little higher by the tape, the pressure is this."""
    tape = Decimal(metres)
    for _ in range(3):
        tape += Decimal(metres) - geopotential_m(tape)
    assert tape > Decimal(metres)
    assert round(air_at(Amount(tape, "m")).pressure_kpa, 4) == Decimal(kpa)
    assert round(air_at(amount(metres, "m")).pressure_kpa, 4) != Decimal(kpa)


@given(heights_m, heights_m)
def test_higher_air_is_thinner_and_denser_than_its_pressure_says(a: Decimal, b: Decimal) -> None:
    """Pressure and density fall all the way; above sea level the density ratio is the greater of the two (trap T13)."""
    low, high = (air_at(Amount(height, "m")) for height in sorted((a, b)))
    if a != b:
        assert low.pressure_kpa > high.pressure_kpa
        assert low.density_ratio > high.density_ratio
    air = air_at(Amount(a, "m"))
    assert (air.density_ratio > air.pressure_ratio) == (a > 0)


@given(heights_m)
def test_a_barometer_gives_the_same_air_as_the_altitude(height: Decimal) -> None:
    """Round trip: the standard air at a height, and the standard air that has its pressure."""
    there = air_at(Amount(height, "m"))
    back = air_under(Amount(there.pressure_kpa, "kPa_abs"))
    assert abs(back.temperature_k - there.temperature_k) < Decimal("1e-15")
    assert abs(back.density_ratio - there.density_ratio) < Decimal("1e-15")


@pytest.mark.parametrize("good", ["-500", "6000"])
def test_altitudes_from_low_to_high_are_taken(good: str) -> None:
    """The bounds themselves are in."""
    assert air_at(amount(good, "m")).pressure_kpa > 0


@pytest.mark.parametrize(("bad", "unit"), [("-500.1", "m"), ("6000.1", "m"), ("20000", "ft")])
def test_altitudes_where_nobody_works_are_refused(bad: str, unit: str) -> None:
    """Feet taken for metres, for example; value, range and source are named."""
    with pytest.raises(ValueError, match=r"^'altitude' is .*must be from -500 m to 6000 m \(where people work\)"):
        standard_air_pressure(altitude=amount(bad, unit))


@pytest.mark.parametrize(("good", "unit"), [("45", "kPa_abs"), ("110", "kPa_abs"), ("29.92", "inHg_abs")])
def test_barometers_are_taken(good: str, unit: str) -> None:
    """The bounds themselves are in."""
    assert air_under(amount(good, unit)).density_ratio > 0


@pytest.mark.parametrize("bad", ["44.99", "110.01", "29.92", "1013.25"])
def test_barometers_that_cannot_be_are_refused(bad: str) -> None:
    """Inches of mercury or hectopascals taken for kilopascals, for example."""
    with pytest.raises(ValueError, match=r"^'air_pressure' .* 45 kPa abs to 110 kPa abs \(where people work\)"):
        air_under(amount(bad, "kPa_abs"))


def test_a_gauge_pressure_is_no_air_pressure() -> None:
    """Gauge and absolute pressure are different kinds."""
    with pytest.raises(ValueError, match="must be an absolute pressure"):
        air_under(amount("100", "kPa"))
    with pytest.raises(ValueError, match="must be a length"):
        air_at(amount("100", "kPa_abs"))


def test_kelvins_of_air_that_people_work_in() -> None:
    """0 degC is 273.15 K exactly; both bounds are in; beyond is refused."""
    assert kelvins("air_temperature", amount("0", "degC")) == Decimal("273.15")
    assert kelvins("air_temperature", amount("-60", "degC")) == Decimal("213.15")
    assert kelvins("air_temperature", amount("60", "degC")) == Decimal("333.15")
    for bad in ("-60.1", "60.1", "288.15"):
        with pytest.raises(ValueError, match=r"^'air_temperature' .* -60 °C to 60 °C \(where people work\)"):
            kelvins("air_temperature", amount(bad, "degC"))


def test_the_working_can_be_followed() -> None:
    """Every line of a standard day at 1000 m, what stands beside, the source and the caution."""
    figure = standard_air_pressure(altitude=amount("1000", "m"))
    assert figure.answer == amount("89.876", "kPa_abs")
    assert figure.working == (
        "1000 m is 1000 m, geopotential 999.8 m",
        "temperature 288.15 K less 0.0065 K/m x 999.8 m = 281.65 K",
        "pressure 101.325 kPa x (281.65 / 288.15) to the power 5.25588 = 89.876 kPa absolute",
    )
    assert figure.beside == (
        ("inches_of_mercury", amount("26.54", "inHg_abs")),
        ("temperature", amount("8.501", "degC")),
        ("pressure_ratio", amount("88.7", "percent")),
        ("density_ratio", amount("90.75", "percent")),
    )
    assert figure.sources == ("ISO 2533 / US Standard Atmosphere 1976",)
    assert figure.cautions == (atmosphere.WEATHER,)
    assert atmosphere.WEATHER.startswith("This is a standard day.")
    assert "3 percent" in atmosphere.WEATHER and "barometer" in atmosphere.WEATHER
    assert figure.verdict is None
    lines = standard_air_pressure(altitude=amount("5000", "ft")).working
    assert lines[0] == "5000 ft is 1524 m, geopotential 1523.6 m"
    assert lines[2].endswith("= 84.311 kPa absolute")
    # 306.324 m; 15 less 0.0065 x 306.309 are 13.00899 degC
    figure = standard_air_pressure(altitude=amount("1005", "ft"))
    assert figure.working[0] == "1005 ft is 306.3 m, geopotential 306.3 m"
    assert dict(figure.beside)["temperature"] == amount("13.01", "degC")


@pytest.mark.parametrize(("altitude", "unit"), [("100000", "mm"), ("3937", "inch"), ("100", "m"), ("328", "ft")])
def test_the_answer_is_in_the_units_of_the_asker(altitude: str, unit: str) -> None:
    """Feet and inches: psi absolute; metres: kPa absolute; the same air."""
    answer = standard_air_pressure(altitude=amount(altitude, unit)).amount
    assert answer.unit == ("psi_abs" if unit in ("ft", "inch") else "kPa_abs")
    assert abs(convert(answer, "kPa_abs").value - Decimal("100.13")) < Decimal("0.01")
