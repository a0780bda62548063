"""Cranking pressures at another altitude, on absolute pressure and apart by the shops' factors; the ideal engine."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade import compression
from assistant.core.trade.atmosphere import SOURCE, WEATHER
from assistant.core.trade.compression import compression_at_altitude, compression_estimate, compression_to_sea_level
from assistant.core.trade.figure import Figure
from assistant.core.units import Amount, convert

APART = "by_the_shops_density_factor"
pressures = st.decimals(min_value=1, max_value=900, places=1)
heights_m = st.decimals(min_value=-500, max_value=6000, places=0)


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


def apart(figure: Figure, name: str = APART) -> Amount:
    found = dict(figure.beside)[name]
    assert isinstance(found, Amount)
    return found


# reference.md 7.2: (P + p_alt) x 14.696 / p_alt - 14.696
TO_SEA_LEVEL = [("120", "5000", "144.22"), ("150", "7000", "194.39"), ("90", "3000", "100.42"), ("120", "0", "120")]


@pytest.mark.parametrize(("reading", "feet", "expected"), TO_SEA_LEVEL)
def test_to_sea_level_on_absolute_pressure(reading: str, feet: str, expected: str) -> None:
    """reference.md 7.2, within 0.02 psi: its air at altitude is rounded to 0.001 psi."""
    figure = compression_to_sea_level(reading=amount(reading, "psi"), altitude=amount(feet, "ft"))
    assert figure.amount.unit == "psi"
    assert abs(figure.amount.value - Decimal(expected)) <= Decimal("0.02")


def test_a_sea_level_figure_at_altitude() -> None:
    """reference.md 7.2: 120 psi become 99.85 at 5000 ft; a magazine has "about 100", and 1 percent for 250 ft."""
    figure = compression_at_altitude(sea_level=amount("120", "psi"), altitude=amount("5000", "ft"))
    assert figure.answer == amount("99.85", "psi")
    assert abs(figure.amount.value - 100) < 1
    assert abs(figure.amount.value - 120 * (1 - Decimal(5000) / 250 / 100)) < 5


# reference.md 7.2: the shops' printed factors, "multiply the sea-level figure by", from memory
SHOP_FACTORS = [
    ("1000", "0.9711"),
    ("2000", "0.9428"),
    ("3000", "0.9151"),
    ("4000", "0.8881"),
    ("5000", "0.8617"),
    ("6000", "0.8359"),
    ("7000", "0.8106"),
    ("8000", "0.7860"),
]


@pytest.mark.parametrize(("feet", "factor"), SHOP_FACTORS)
def test_the_shops_factors_stand_apart_and_never_in_the_answer(feet: str, factor: str) -> None:
    """Trap T13: the printed factors are density ratios on the gauge; the answer is by pressure ratio, some percent off."""
    figure = compression_at_altitude(sea_level=amount("100", "psi"), altitude=amount(feet, "ft"))
    assert abs(apart(figure).value / 100 - Decimal(factor)) <= Decimal("0.0002")
    assert figure.amount.value < apart(figure).value - Decimal("0.6")
    back = compression_to_sea_level(reading=amount("100", "psi"), altitude=amount(feet, "ft"))
    assert abs(apart(back).value - 100 / Decimal(factor)) <= Decimal("0.05")
    assert back.amount.value > apart(back).value + Decimal("0.6")


def test_trap_13_at_5000_feet() -> None:
    """reference.md trap T13: 0.832 by pressure, 0.862 by density."""
    figure = compression_at_altitude(sea_level=amount("1000", "psi"), altitude=amount("5000", "ft"))
    assert round(figure.amount.value / 1000, 3) == Decimal("0.832")
    assert round(apart(figure).value / 1000, 3) == Decimal("0.862")


@given(pressures, heights_m)
def test_to_sea_level_and_back_is_the_reading(reading: Decimal, height: Decimal) -> None:
    """Round trip, but for the five figures kept."""
    altitude = Amount(height, "m")
    there = compression_at_altitude(sea_level=Amount(reading, "psi"), altitude=altitude)
    back = compression_to_sea_level(reading=there.amount, altitude=altitude)
    assert abs(back.amount.value / reading - 1) < Decimal("0.0002")
    assert abs(apart(compression_to_sea_level(reading=apart(there), altitude=altitude)).value / reading - 1) < Decimal(
        "0.0002"
    )


@given(pressures, heights_m, heights_m)
def test_the_correction_grows_with_the_altitude(reading: Decimal, a: Decimal, b: Decimal) -> None:
    """Monotone both ways, by either rule."""
    low, high = (Amount(height, "m") for height in sorted((a, b)))
    psi = Amount(reading, "psi")
    for name in ("answer", APART):

        def of(figure: Figure, name: str = name) -> Decimal:
            return figure.amount.value if name == "answer" else apart(figure).value

        assert of(compression_to_sea_level(reading=psi, altitude=low)) <= of(
            compression_to_sea_level(reading=psi, altitude=high)
        )
        assert of(compression_at_altitude(sea_level=psi, altitude=low)) >= of(
            compression_at_altitude(sea_level=psi, altitude=high)
        )


@pytest.mark.parametrize("unit", ["psi", "kPa", "bar", "MPa"])
def test_any_unit_of_gauge_pressure_gives_the_same(unit: str) -> None:
    """150 psi read at 7000 ft (reference.md 7.2), in each unit, answered in that unit."""
    figure = compression_to_sea_level(reading=convert(amount("150", "psi"), unit), altitude=amount("7000", "ft"))
    assert figure.amount.unit == apart(figure).unit == unit
    assert abs(convert(figure.amount, "psi").value - Decimal("194.39")) < Decimal("0.03")


def test_a_barometer_in_the_place_of_the_altitude() -> None:
    """24.90 inHg is 5000 ft (reference.md 7.1); 29.92 inHg is the sea's (reference.md 3), and changes nothing."""
    figure = compression_to_sea_level(reading=amount("120", "psi"), air_pressure=amount("24.90", "inHg_abs"))
    assert abs(figure.amount.value - Decimal("144.22")) < Decimal("0.03")
    assert abs(apart(figure).value - 120 / Decimal("0.8617")) < Decimal("0.03")
    assert figure.working[0] == "air by the barometer: 12.23 psi absolute, 0.8322 of sea level"
    sea = compression_at_altitude(sea_level=amount("120", "psi"), air_pressure=amount("101.325", "kPa_abs"))
    assert sea.amount.value == apart(sea).value == 120


def test_the_temperature_stands_beside_and_does_not_change_the_answer() -> None:
    """By hand: (120 + 14.696) x 303.15 / 288.15 - 14.696 = 127.01 psi where the air is 30 degC at sea level."""
    with_it = {"reading": amount("120", "psi"), "altitude": amount("0", "ft"), "air_temperature": amount("30", "degC")}
    figure = compression_to_sea_level(**with_it)
    name = "if_the_temperature_counts_in_full"
    assert figure.amount.value == apart(figure).value == 120
    assert apart(figure, name) == amount("127.01", "psi")
    assert figure.working[-1] == (
        "if the temperature counts in full: x 303.15 K / 288.15 K before the sea-level air is taken off = 127.01 psi"
    )
    assert compression.TEMPERATURE in figure.cautions
    same = compression_to_sea_level(**with_it, reference_temperature=amount("86", "degF"))
    assert apart(same, name) == amount("120", "psi")
    cold = compression_to_sea_level(**with_it, reference_temperature=amount("40", "degC"))
    assert apart(cold, name) == amount("115.7", "psi")
    without = compression_to_sea_level(reading=amount("120", "psi"), altitude=amount("0", "ft"))
    assert [key for key, _ in without.beside] == [APART]
    assert compression.TEMPERATURE not in without.cautions
    with pytest.raises(ValueError, match=r"^'reference_temperature' needs 'air_temperature'"):
        compression_to_sea_level(
            reading=amount("120", "psi"), altitude=amount("0", "ft"), reference_temperature=amount("15", "degC")
        )
    for wrong in ("air_temperature", "reference_temperature"):
        with pytest.raises(ValueError, match=f"^'{wrong}' is 70 °C"):
            compression_to_sea_level(**{**with_it, wrong: amount("70", "degC")})


@pytest.mark.parametrize("wrong", [{}, {"altitude": amount("0", "m"), "air_pressure": amount("100", "kPa_abs")}])
def test_the_air_is_given_once(wrong: dict[str, Amount]) -> None:
    """Neither altitude nor barometer, or both, is refused by either way round."""
    with pytest.raises(ValueError, match=r"^give either 'altitude' or 'air_pressure'"):
        compression_to_sea_level(reading=amount("120", "psi"), **wrong)
    with pytest.raises(ValueError, match=r"^give either 'altitude' or 'air_pressure'"):
        compression_at_altitude(sea_level=amount("120", "psi"), **wrong)


def test_what_cannot_be_is_refused() -> None:
    """Absolute for gauge, too much, too high, a barometer that cannot be; the input is named."""
    sea = {"altitude": amount("0", "m")}
    for bad, why in ((amount("120", "psi_abs"), "must be a pressure"), (amount("1001", "psi"), "to 1000 psi")):
        with pytest.raises(ValueError, match=f"^'reading' .*{why}"):
            compression_to_sea_level(reading=bad, **sea)
        with pytest.raises(ValueError, match=f"^'sea_level' .*{why}"):
            compression_at_altitude(sea_level=bad, **sea)
    with pytest.raises(ValueError, match=r"^'altitude'"):
        compression_at_altitude(sea_level=amount("120", "psi"), altitude=amount("7000", "m"))
    with pytest.raises(ValueError, match=r"^'air_pressure'"):
        compression_to_sea_level(reading=amount("120", "psi"), air_pressure=amount("29.92", "kPa_abs"))


def test_the_working_to_sea_level_can_be_followed() -> None:
    """Each line with its numbers; sources and cautions with it, and no verdict."""
    figure = compression_to_sea_level(reading=amount("120", "psi"), altitude=amount("5000", "ft"))
    assert figure.working == (
        "air at 5000 ft on a standard day: 12.228 psi absolute, 0.8321 of sea level",
        "absolute here: 120 psi + the air, 12.228 psi is 132.23 psi",
        "at sea level: x 14.696 psi / 12.228 psi = 158.91 psi absolute",
        "on the gauge: less 14.696 psi = 144.22 psi",
        "apart: 120 psi / density ratio 0.8617 = 139.26 psi",
    )
    assert figure.beside == ((APART, amount("139.26", "psi")),)
    assert figure.sources == (compression.ABSOLUTE, SOURCE, compression.DENSITY)
    assert figure.cautions == (compression.NEVER_MIXED, WEATHER, *compression.CRANKING)
    assert figure.verdict is None


def test_the_working_at_altitude_can_be_followed() -> None:
    """Each line with its numbers; with a barometer its own caution instead of the weather's."""
    figure = compression_at_altitude(sea_level=amount("120", "psi"), altitude=amount("5000", "ft"))
    assert figure.working == (
        "air at 5000 ft on a standard day: 12.228 psi absolute, 0.8321 of sea level",
        "absolute at sea level: 120 psi + the air, 14.696 psi is 134.7 psi",
        "here: x 12.228 psi / 14.696 psi = 112.08 psi absolute",
        "on the gauge: less 12.228 psi = 99.85 psi",
        "apart: 120 psi x density ratio 0.8617 = 103.4 psi",
    )
    assert figure.beside == ((APART, amount("103.4", "psi")),)
    assert figure.sources == (compression.ABSOLUTE, SOURCE, compression.DENSITY)
    assert figure.cautions == (compression.NEVER_MIXED, WEATHER, *compression.CRANKING)
    high = {"altitude": amount("8000", "ft")}
    assert compression_at_altitude(sea_level=amount("100", "psi"), **high).working[-1] == (
        "apart: 100 psi x density ratio 0.7861 = 78.609 psi"
    )
    assert compression_to_sea_level(reading=amount("100", "psi"), **high).working[-1] == (
        "apart: 100 psi / density ratio 0.7861 = 127.21 psi"
    )
    barometer = {"air_pressure": amount("100", "kPa_abs")}
    for by_it in (
        compression_at_altitude(sea_level=amount("120", "psi"), **barometer),
        compression_to_sea_level(reading=amount("120", "psi"), **barometer),
    ):
        assert by_it.cautions == (compression.NEVER_MIXED, compression.STATION, *compression.CRANKING)


@pytest.mark.parametrize(
    "word",
    ["cranking", "battery", "throttle wide open", "warm engine", "ignition", "plug holes", "propeller", "manual"],
)
def test_what_spoils_the_test_or_hurts_is_said(word: str) -> None:
    """Speed, throttle, warmth, battery and the disabled ignition are all in the cautions (issue's list)."""
    assert word in " ".join(compression.CRANKING)


def test_the_sources_say_what_they_are_worth() -> None:
    """The shops' factors are from memory; the two ways are told never to be mixed; a report's pressure is no barometer's."""
    assert "from memory" in compression.DENSITY and "density" in compression.DENSITY
    assert "absolute" in compression.ABSOLUTE
    assert "corrected the same way" in compression.NEVER_MIXED
    assert "reduced to sea level" in compression.STATION
    texts = (*compression.CRANKING, compression.ABSOLUTE, compression.DENSITY, compression.NEVER_MIXED)
    assert [text.split()[0] for text in texts] == ["Compare", "Charge", "Disable", "absolute", "shops'", "The"]
    others = (compression.STATION, compression.TEMPERATURE, *compression.ESTIMATE)
    assert [text.split()[0] for text in others] == ["'air_pressure'", "No", "An"]
    assert "No published rule" in compression.TEMPERATURE


# reference.md 7.3: gauge psi at sea level, for n = 1.2, 1.3, 1.4
IDEAL = [
    ("6", "111.5", "136.2", "165.9"),
    ("7", "137.1", "169.7", "209.3"),
    ("8", "163.5", "204.7", "255.4"),
    ("9", "190.6", "241.0", "303.8"),
    ("10", "218.2", "278.5", "354.5"),
]


@pytest.mark.parametrize(("ratio", "low", "middle", "ideal"), IDEAL)
def test_the_ideal_engine_after_the_table(ratio: str, low: str, middle: str, ideal: str) -> None:
    """reference.md 7.3, within its last place (it has the air as 14.696 psi); 1.3 is taken where no exponent is given."""
    engine = amount(ratio, "count")
    figure = compression_estimate(ratio=engine)
    for exponent, expected in (("1.2", low), ("1.3", middle), ("1.4", ideal)):
        answer = compression_estimate(ratio=engine, exponent=amount(exponent, "count")).amount
        assert answer.unit == "psi"
        assert abs(answer.value - Decimal(expected)) <= Decimal("0.1")
        if exponent == "1.3":
            assert answer == figure.amount
        else:
            assert answer == apart(figure, {"1.2": "n_1.2_when_cranked", "1.4": "n_1.4_without_loss"}[exponent])


def test_the_estimate_falls_with_the_air() -> None:
    """At 5000 ft it is 0.832 of that at sea level (reference.md 7.1), and is called an estimate."""
    figure = compression_estimate(ratio=amount("8", "count"), altitude=amount("5000", "ft"))
    assert abs(figure.amount.value - Decimal("204.7") * Decimal("0.8321")) < Decimal("0.1")
    assert figure.working == (
        "air at 5000 ft: 12.228 psi absolute",
        "compressed: x 8 to the power 1.3 = 182.6 psi absolute",
        "on the gauge: less 12.228 psi = 170.3 psi",
    )
    assert compression_estimate(ratio=amount("8", "count")).working[0] == "air at 0 m: 14.696 psi absolute"
    fine = compression_estimate(ratio=amount("8.1236", "count"), exponent=amount("1.2346", "count"))
    assert fine.working[1].startswith("compressed: x 8.124 to the power 1.235 = ")
    assert figure.cautions == compression.ESTIMATE
    assert "no limit" in figure.cautions[0] and "manual" in figure.cautions[0]
    assert figure.sources == ("p2 / p1 = r^n, ideal Otto cycle, NASA; n = 1.2 to 1.3 when cranked, from memory", SOURCE)
    assert figure.verdict is None


@pytest.mark.parametrize(
    ("ratio", "exponent", "expected"), [("1", "1.4", "0"), ("30", "1", "426.2"), ("30", "1.4", "1704")]
)
def test_the_bounds_of_the_estimate_are_taken(ratio: str, exponent: str, expected: str) -> None:
    """No compression gives nothing on the gauge; 30 at constant temperature 29 x 14.696."""
    figure = compression_estimate(ratio=amount(ratio, "count"), exponent=amount(exponent, "count"))
    assert figure.answer == amount(expected, "psi")


@pytest.mark.parametrize(
    ("ratio", "exponent", "said"),
    [
        ("0.99", "1.3", "'ratio' is 0.99, and must be from 1 to 30 .no piston engine"),
        ("30.1", "1.3", "'ratio'"),
        ("8", "0.99", "'exponent' is 0.99, and must be from 1 to 1.4 .1 loses all heat, 1.4 none"),
        ("8", "1.41", "'exponent'"),
    ],
)
def test_an_engine_that_cannot_be_is_refused(ratio: str, exponent: str, said: str) -> None:
    """Ratio and exponent out of their ranges."""
    with pytest.raises(ValueError, match=r"^" + said):
        compression_estimate(ratio=amount(ratio, "count"), exponent=amount(exponent, "count"))
