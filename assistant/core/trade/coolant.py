"""What the coolant stands, from its share, its specific gravity or a refractometer; and what share stands the cold.

The rows are in `coolant_tables`: interpolated, never extrapolated. Temperatures are
rounded to 0.01 degree, shares up to 0.001 percent.
"""

from __future__ import annotations

from decimal import Decimal

from assistant.core.trade.coolant_tables import Basis, Fluid, Glycol, fluid_of, share_standing, stands_at
from assistant.core.trade.figure import Figure
from assistant.core.trade.given import given
from assistant.core.trade.inputs import Gravity, Share, Temperature, TemperatureDifference
from assistant.core.trade.rounding import shown
from assistant.core.units import Amount, convert, kind_of, plain

SPREAD_K = Decimal("2.5")
"""How far two published sources may lie apart up to 60 percent (reference.md section 5.3): more than that is no answer."""
HYDROMETER = Amount(Decimal("0.002"), "sg")
"""What a shop hydrometer may be off where nothing better is known: common practice, no source."""
REFRACTOMETER_K = Decimal(1)
"""What a field refractometer may be off: about 1 degC (2 degF), an older edition of ASTM D3321."""
D3321 = "ASTM D3321 as restated: wrong scale 18 °F off or more, mixed glycols on neither, zero with water before use"
FLAT = (
    "Propylene glycol by hydrometer: above about 50 % the gravity hardly rises and then falls again, so that neat glycol"
    " reads as half strength does. Use a refractometer with a propylene scale."
)


def colder_by(*, temperature: Temperature, margin: TemperatureDifference) -> Figure:
    """The temperature that lies `margin` below another, in that one's unit: what the coolant must stand.

    Source: protect at least 10 degF below the coldest expected (reference.md section 5.2, Navy 14329).
    Raises ValueError where `temperature` is no temperature or `margin` no temperature difference, or it is negative.
    """
    fit = kind_of(temperature.unit) == "temperature" and kind_of(margin.unit) == "temperature difference"
    if not fit or not temperature.value.is_finite() or not margin.value.is_finite() or margin.value < 0:
        raise ValueError(f"{margin} below {temperature} makes no sense")
    difference = convert(margin, "delta_F" if temperature.unit == "degF" else "delta_K")
    answer = Amount(temperature.value - difference.value, temperature.unit)
    return Figure(
        answer,
        (f"{temperature} less {difference} is {answer}",),
        ("at least 10 °F below the coldest expected: reference.md section 5.2, Navy 14329",),
    )


def coolant_by_share(*, glycol: Glycol, share: Share, basis: Basis) -> Figure:
    """The lowest temperature that a share of glycol stands, by volume or by mass; in the table's unit.

    Sources: `coolant_tables`; the Army's table by volume is the lowest ambient, the others the freezing point.
    Raises ValueError outside of the table of that glycol and basis.
    """
    fluid = fluid_of(glycol)
    percent = given("share", share, "percent")
    answer = stands_at(fluid, percent, basis)
    chosen = fluid.stands[basis]
    return Figure(
        answer,
        (f"{fluid.name}, {plain(percent)} % by {basis}: {answer} ({chosen.title})",),
        (chosen.source,),
        beside=(("basis", basis),),
        cautions=fluid.cautions,
    )


def coolant_share_for(*, glycol: Glycol, temperature: Temperature) -> Figure:
    """The share by volume, in percent, that stands a temperature; sources as `coolant_by_share`.

    Raises ValueError where the glycol's table does not reach so far.
    """
    fluid = fluid_of(glycol)
    given("temperature", temperature, "degC")
    answer = Amount(share_standing(fluid, temperature), "percent")
    chosen = fluid.stands["volume"]
    return Figure(
        answer,
        (f"{temperature} needs {answer} by volume ({chosen.title})",),
        (chosen.source,),
        beside=(("basis", "volume"),),
        cautions=fluid.cautions,
    )


def coolant_by_gravity(
    *, glycol: Glycol, gravity: Gravity, temperature: Temperature, gauge: Gravity | None = None
) -> Figure:
    """The lowest temperature that the coolant stands, from a hydrometer's specific gravity and the coolant's temperature.

    The reading is brought to the temperature of the glycol's table (ethylene 68, propylene 60 degF): warm coolant reads
    too light. `gauge`: what the hydrometer may be off. `unsure` where that alone moves the answer by more than 2.5 degC,
    as it does where the table is flat (strong propylene). Beside it stands how warm it may be, and the volume share.
    Sources: `coolant_tables`. Raises ValueError outside of 40 to 100 degF, or of the table.
    """
    fluid = fluid_of(glycol)
    read = given("gravity", gravity, "sg")
    degf = given("temperature", temperature, "degF", least="40", most="100", source=fluid.correction)
    off = given("gauge", gauge or HYDROMETER, "sg", least="0", most="0.02")
    change = fluid.per_degf * (degf - fluid.read_at)
    at_table = read + change
    share = fluid.by_gravity.at(at_table)
    answer = stands_at(fluid, share, "volume")
    warmest = _warmest(fluid, at_table - off)
    return Figure(
        answer,
        (
            f"{plain(read)} at {shown(degf, 1)} °F is {shown(at_table, 4)} at {fluid.read_at} °F"
            f" ({plain(fluid.per_degf)} x {shown(degf - fluid.read_at, 1)} = {shown(change, 4)})",
            f"{shown(at_table, 4)} is {shown(share)} % by volume ({fluid.by_gravity.title})",
            f"that stands {answer} ({fluid.stands['volume'].title})",
            f"read {plain(off)} too high, it would stand {warmest or 'less than the table has'}",
        ),
        (fluid.by_gravity.source, fluid.correction),
        verdict="unsure" if warmest is None or _apart_k(warmest, answer) > SPREAD_K else None,
        beside=(
            ("may_be_as_warm_as", warmest or "outside of the table"),
            ("share_by_volume", Amount(round(share, 2), "percent")),
        ),
        cautions=(*fluid.cautions, FLAT) if glycol == "propylene" else fluid.cautions,
    )


def coolant_by_refractometer(
    *, glycol: Glycol, scale: Glycol, reading: Temperature, water_reads: Temperature
) -> Figure:
    """What the coolant stands by a refractometer's freezing scale, once water reads zero on it; in the reading's unit.

    Beside it: how warm it may be (about 1 degC off), and the volume share where the glycol's table reaches so far.
    Source: ASTM D3321. Raises ValueError for the other glycol's scale (18 degF off or more), for water more than
    1 degC from freezing, and for a reading that no strength of the glycol gives.
    """
    fluid = fluid_of(glycol)
    if scale != glycol:
        raise ValueError(
            f"'scale' is '{scale}', and the coolant is {glycol}: on the other glycol's scale a reading may be 18 °F off"
            f" or more ({D3321})"
        )
    zero = given("water_reads", water_reads, "degC")
    if abs(zero) > REFRACTOMETER_K:
        raise ValueError(
            f"'water_reads' is {water_reads}, and must be 0 °C within 1: set the refractometer with water, then read"
            f" the coolant again ({D3321})"
        )
    least = plain(convert(fluid.coldest, "degC").value)
    degc = given("reading", reading, "degC", least=least, most="0", source=fluid.coldest_source)
    difference = convert(Amount(REFRACTOMETER_K, "delta_K"), "delta_F" if reading.unit == "degF" else "delta_K")
    return Figure(
        reading,
        (
            f"water reads {water_reads}: zero is right",
            f"the {scale} scale reads {reading}; it may be {difference} off",
        ),
        (D3321, fluid.stands["volume"].source),
        beside=(
            ("may_be_as_warm_as", Amount(reading.value + difference.value, reading.unit)),
            ("share_by_volume", _share_or_none(fluid, Amount(degc, "degC"))),
        ),
        cautions=fluid.cautions,
    )


def _warmest(fluid: Fluid, gravity: Decimal) -> Amount | None:
    if gravity < fluid.by_gravity.rows[0][0]:
        return None
    return stands_at(fluid, fluid.by_gravity.at(gravity), "volume")


def _apart_k(a: Amount, b: Amount) -> Decimal:
    apart = a.value - b.value
    return convert(Amount(apart, "delta_F" if a.unit == "degF" else "delta_K"), "delta_K").value


def _share_or_none(fluid: Fluid, reading: Amount) -> Amount | str:
    chosen = fluid.stands["volume"]
    at = convert(reading, chosen.y_unit).value
    if not chosen.rows[-1][1] <= at <= chosen.rows[0][1]:
        return "outside of the table"
    return Amount(share_standing(fluid, reading), "percent")


COMPUTATIONS = (colder_by, coolant_by_share, coolant_share_for, coolant_by_gravity, coolant_by_refractometer)
