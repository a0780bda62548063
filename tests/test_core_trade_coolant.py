"""What coolant stands, row by row against the printed tables (../shared/reference.md 5.1 to 5.4 gives the page of each)."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade.coolant import (
    D3321,
    FLAT,
    colder_by,
    coolant_by_gravity,
    coolant_by_refractometer,
    coolant_by_share,
    coolant_share_for,
)
from assistant.core.trade.coolant_tables import (
    ARMY,
    CLOSED_ONLY,
    ETHYLENE,
    ETHYLENE_CORRECTION,
    HANDBOOK,
    HOT,
    LIBRARY,
    ONE_GLYCOL,
    PROPYLENE,
    PROPYLENE_CORRECTION,
    RAW_WATER,
    WASTE,
    fluid_of,
    share_standing,
    stands_at,
)
from assistant.core.trade.registry import BY_NAME
from assistant.core.trade.table import Table
from assistant.core.units import Amount, convert


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


# TM 5-6115-400-12 table 2-1 (reference.md 5.2): pints in 8, gravity at 68 degF, lowest ambient in degF
ARMY_ROWS = [
    ("1.5", "1.022", "20"), ("2", "1.036", "10"), ("2.75", "1.047", "0"), ("3.25", "1.055", "-10"),
    ("3.5", "1.062", "-20"), ("4", "1.067", "-30"), ("4.25", "1.073", "-40"),
]  # fmt: skip
# handbook of chemistry, 15th edition, table 5.13 (reference.md 5.1): volume percent, gravity at 15.6 degC, degC, degF
HANDBOOK_ROWS = [
    ("5", "1.004", "-1.1", "30"), ("10", "1.006", "-2.2", "28"), ("15", "1.012", "-3.9", "25"),
    ("20", "1.017", "-6.7", "20"), ("25", "1.020", "-8.9", "16"), ("30", "1.024", "-12.8", "9"),
    ("35", "1.028", "-16.1", "3"), ("40", "1.032", "-20.6", "-5"), ("45", "1.037", "-26.7", "-16"),
    ("50", "1.040", "-33.3", "-28"),
]  # fmt: skip
# library values, CoolProp 8.0.0, mass percent (reference.md 5.3): percent, ethylene degC, propylene degC
LIBRARY_ROWS = [
    ("10", "-3.36", "-2.87"), ("20", "-7.95", "-7.17"), ("30", "-14.58", "-12.79"), ("40", "-23.81", "-20.57"),
    ("50", "-35.99", "-32.19"), ("60", "-51.20", "-50.00"),
]  # fmt: skip


@pytest.mark.parametrize(("pints", "gravity", "stands"), ARMY_ROWS)
def test_ethylene_glycol_after_the_army_table(pints: str, gravity: str, stands: str) -> None:
    """Every row both ways, by volume share, by gravity at 68 degF, and from the temperature to the share."""
    share = Amount(Decimal(pints) * 100 / 8, "percent")
    assert coolant_by_share(glycol="ethylene", share=share, basis="volume").answer == amount(stands, "degF")
    read = coolant_by_gravity(glycol="ethylene", gravity=amount(gravity, "sg"), temperature=amount("68", "degF"))
    assert read.answer == amount(stands, "degF")
    assert dict(read.beside)["share_by_volume"].value == pytest.approx(share.value, abs=Decimal("0.006"))
    assert coolant_share_for(glycol="ethylene", temperature=amount(stands, "degF")).answer == share


@pytest.mark.parametrize(("share", "gravity", "degc", "degf"), HANDBOOK_ROWS)
def test_propylene_glycol_after_the_handbook(share: str, gravity: str, degc: str, degf: str) -> None:
    """Every row both ways; its two temperature columns agree within half a degree Fahrenheit and a tenth Celsius."""
    asked = amount(share, "percent")
    assert coolant_by_share(glycol="propylene", share=asked, basis="volume").answer == amount(degc, "degC")
    read = coolant_by_gravity(glycol="propylene", gravity=amount(gravity, "sg"), temperature=amount("60", "degF"))
    assert read.answer == amount(degc, "degC")
    assert dict(read.beside)["share_by_volume"] == asked
    assert coolant_share_for(glycol="propylene", temperature=amount(degc, "degC")).answer == asked
    assert abs(convert(amount(degc, "degC"), "degF").value - Decimal(degf)) < Decimal("0.6")


@pytest.mark.parametrize(("share", "ethylene", "propylene"), LIBRARY_ROWS)
def test_by_mass_each_glycol_has_its_own_table(share: str, ethylene: str, propylene: str) -> None:
    """reference.md 5.3, pure glycol by mass."""
    asked = amount(share, "percent")
    assert coolant_by_share(glycol="ethylene", share=asked, basis="mass").answer == amount(ethylene, "degC")
    assert coolant_by_share(glycol="propylene", share=asked, basis="mass").answer == amount(propylene, "degC")


@pytest.mark.parametrize(
    ("glycol", "share", "stands"),
    [
        ("propylene", "42.5", amount("-23.65", "degC")),  # reference.md 5.6, linear between 40 and 45
        ("propylene", "41.67", amount("-22.64", "degC")),  # reference.md 5.6: -22.6
        ("ethylene", "37.5", amount("-5", "degF")),  # half way between 34.375 and 40.625
    ],
)
def test_between_rows_it_is_linear(glycol: str, share: str, stands: Amount) -> None:
    """Interpolated, to 0.01 degree."""
    assert coolant_by_share(glycol=glycol, share=amount(share, "percent"), basis="volume").answer == stands


def test_a_third_of_ethylene_glycol_reads_zero_fahrenheit() -> None:
    """Hydrometer self-check of TM 5-6115-400-12: one part in three must read 0 degF; the table gives it within 2 degF."""
    assert abs(stands_at(ETHYLENE, Decimal(100) / 3, "volume").value) < 2


def test_volume_and_mass_are_never_mixed() -> None:
    """Trap T10: 40 percent is not 40 percent; the basis stands beside the number, and must be told."""
    volume = coolant_by_share(glycol="ethylene", share=amount("40", "percent"), basis="volume")
    mass = coolant_by_share(glycol="ethylene", share=amount("40", "percent"), basis="mass")
    assert (volume.beside, mass.beside) == ((("basis", "volume"),), (("basis", "mass"),))
    assert volume.working == ("ethylene glycol, 40 % by volume: -9 °F (lowest ambient for ethylene glycol by volume)",)
    assert "CoolProp 8.0.0: pure glycol" in mass.sources[0]
    assert "TM 5-6115-400-12 table 2-1 (rows above -10 °F from memory)" in volume.sources
    assert coolant_share_for(glycol="ethylene", temperature=amount("0", "degF")).beside == (("basis", "volume"),)
    with pytest.raises(ValueError, match="'basis' is 'weight', and must be volume or mass: a share without its basis"):
        coolant_by_share(glycol="ethylene", share=amount("40", "percent"), basis="weight")


def test_the_glycol_must_be_told() -> None:
    """Trap T11: at the same gravity or share the two stand something else, so neither is taken for granted."""
    with pytest.raises(ValueError, match="'glycol' is 'pink', and must be ethylene or propylene: each has its own"):
        fluid_of("pink")
    at = {"gravity": amount("1.036", "sg"), "temperature": amount("64", "degF")}
    ethylene, propylene = (coolant_by_gravity(glycol=glycol, **at).amount for glycol in ("ethylene", "propylene"))
    assert convert(ethylene, "degC").value - convert(propylene, "degC").value > 10


TURNS = [  # (glycol, gravity as read, at, gravity at the table's temperature) by 0.00025 and 0.0003 per degF
    ("ethylene", "1.055", "68", "1.055"),
    ("ethylene", "1.055", "88", "1.06"),
    ("ethylene", "1.055", "48", "1.05"),
    ("ethylene", "1.055", "100", "1.063"),
    ("ethylene", "1.055", "40", "1.048"),
    ("propylene", "1.020", "80", "1.026"),
    ("propylene", "1.020", "50", "1.017"),
]


@pytest.mark.parametrize(("glycol", "read", "at", "table"), TURNS)
def test_warm_coolant_reads_too_light(glycol: str, read: str, at: str, table: str) -> None:
    """The reading is brought to 68 degF for ethylene, 60 for propylene, and then read in the table."""
    fluid = fluid_of(glycol)
    figure = coolant_by_gravity(glycol=glycol, gravity=amount(read, "sg"), temperature=amount(at, "degF"))
    assert figure.answer == stands_at(fluid, fluid.by_gravity.at(Decimal(table)), "volume")
    assert f"is {table} at {fluid.read_at} °F" in figure.working[0]
    assert figure.sources == (fluid.by_gravity.source, fluid.correction)


# ASHRAE Fundamentals, density of ethylene glycol by volume in lb/ft3 at 60 and 100 degF, as restated by a piping manual
ASHRAE_ETHYLENE = {
    "20": ("64.45", "63.93"),
    "30": ("65.43", "64.86"),
    "40": ("66.34", "65.73"),
    "50": ("67.20", "66.55"),
}
# propylene glycol, kg/m3 at 15 and 40 degC, basis not stated, as printed in a chiller manual
CHILLER_PROPYLENE = {"20": ("1020.9", "1010.2"), "30": ("1030.5", "1018.4"), "40": ("1038.7", "1025.3")}


@pytest.mark.parametrize(
    ("fluid", "cold", "warm", "span_f", "water"),
    [
        *((ETHYLENE, *pair, "40", "62.371") for pair in ASHRAE_ETHYLENE.values()),
        *((PROPYLENE, *pair, "45", "998.2") for pair in CHILLER_PROPYLENE.values()),
    ],
)
def test_the_correction_follows_printed_densities(fluid, cold: str, warm: str, span_f: str, water: str) -> None:
    """Over 40 and 45 degF the change of gravity lies within 0.003 of what density tables of other hands print."""
    printed = (Decimal(cold) - Decimal(warm)) / Decimal(water)
    assert abs(printed - fluid.per_degf * Decimal(span_f)) < Decimal("0.003")


def test_the_working_can_be_followed_with_a_pocket_calculator() -> None:
    """Gravity corrected, share, temperature, and what a hydrometer that reads 0.002 too high would hide."""
    figure = coolant_by_gravity(glycol="ethylene", gravity=amount("1.062", "sg"), temperature=amount("90", "degF"))
    assert figure.working == (
        "1.062 at 90 °F is 1.0675 at 68 °F (0.00025 x 22 = 0.0055)",
        "1.0675 is 50.26 % by volume (specific gravity of ethylene glycol at 68 °F)",
        "that stands -30.83 °F (lowest ambient for ethylene glycol by volume)",
        "read 0.002 too high, it would stand -27 °F",
    )
    assert figure.verdict is None
    assert dict(figure.beside)["may_be_as_warm_as"] == amount("-27", "degF")
    # 23.14 degC are 73.652 degF, 5.652 x 0.00025 = 0.001413, 40.625 + 3.125 x 1.413 / 7 = 41.2558
    figure = coolant_by_gravity(glycol="ethylene", gravity=amount("1.055", "sg"), temperature=amount("23.14", "degC"))
    assert figure.working[:2] == (
        "1.055 at 73.7 °F is 1.0564 at 68 °F (0.00025 x 5.7 = 0.0014)",
        "1.0564 is 41.26 % by volume (specific gravity of ethylene glycol at 68 °F)",
    )
    assert dict(figure.beside)["share_by_volume"] == amount("41.26", "percent")
    with pytest.raises(ValueError, match=r"^'gravity' is 1 V .*must be a specific gravity"):
        coolant_by_gravity(glycol="ethylene", gravity=amount("1", "V"), temperature=amount("68", "degF"))


FLATNESS = [  # reference.md T11; 2.5 degC is the spread of sources of 5.3, 0.002 what a shop hydrometer may be off
    ("propylene", "1.028", None, None),
    ("propylene", "1.037", None, None),  # 45 percent: 2.44 degC for 0.002
    ("propylene", "1.0371", None, "unsure"),
    ("propylene", "1.040", None, "unsure"),
    ("propylene", "1.040", "0.001", None),  # 2.2 degC for 0.001
    ("propylene", "1.040", "0.001136", None),  # 2.50 degC
    ("propylene", "1.040", "0.0012", "unsure"),
    ("propylene", "1.0055", None, "unsure"),  # 0.002 lower, the table has no row
    ("propylene", "1.006", None, None),
    ("ethylene", "1.073", None, None),
    ("ethylene", "1.067", None, None),
    ("ethylene", "1.067", "0.0022", None),
    ("ethylene", "1.067", "0.00225", None),  # 4.5 degF
    ("ethylene", "1.067", "0.0023", "unsure"),  # 4.6 degF, more than 4.5
    ("ethylene", "1.023", None, "unsure"),
    ("ethylene", "1.023", "0.001", None),
    ("ethylene", "1.023", "0", None),
]


@pytest.mark.parametrize(("glycol", "gravity", "gauge", "verdict"), FLATNESS)
def test_where_the_table_is_too_flat_for_the_hydrometer_it_is_unsure(
    glycol: str, gravity: str, gauge: str | None, verdict: str | None
) -> None:
    """Trap T11: strong propylene glycol by hydrometer is no answer; a better hydrometer may make it one."""
    fluid = fluid_of(glycol)
    figure = coolant_by_gravity(
        glycol=glycol,
        gravity=amount(gravity, "sg"),
        temperature=Amount(fluid.read_at, "degF"),
        gauge=amount(gauge, "sg") if gauge else None,
    )
    assert figure.verdict == verdict
    assert (FLAT in figure.cautions) == (glycol == "propylene")


def test_neat_propylene_glycol_is_never_read_as_half_strength() -> None:
    """A glycol maker's density page: neat propylene glycol has a gravity of 1.040 at 77 degF, which 50 percent has at 60."""
    figure = coolant_by_gravity(glycol="propylene", gravity=amount("1.036", "sg"), temperature=amount("73", "degF"))
    assert figure.verdict == "unsure"
    with pytest.raises(ValueError, match="outside of the table 'specific gravity of propylene glycol at 60 °F'"):
        coolant_by_gravity(glycol="propylene", gravity=amount("1.040", "sg"), temperature=amount("77", "degF"))
    assert "neat glycol" in FLAT
    assert "refractometer" in FLAT


def test_below_the_first_row_how_warm_is_not_known() -> None:
    """Nothing is extrapolated for the warm side either."""
    figure = coolant_by_gravity(glycol="ethylene", gravity=amount("1.023", "sg"), temperature=amount("68", "degF"))
    assert dict(figure.beside)["may_be_as_warm_as"] == "outside of the table"
    assert figure.working[-1] == "read 0.002 too high, it would stand less than the table has"


REFUSED = [
    ({"glycol": "ethylene", "share": amount("18.74", "percent"), "basis": "volume"}, "from 18.75 % to 53.125 %"),
    ({"glycol": "ethylene", "share": amount("53.2", "percent"), "basis": "volume"}, "nothing is extrapolated"),
    # OD1001: above 60 percent by volume it freezes sooner again
    ({"glycol": "ethylene", "share": amount("70", "percent"), "basis": "volume"}, r"\(TM 5-6115-400-12"),
    ({"glycol": "ethylene", "share": amount("61", "percent"), "basis": "mass"}, "from 10 % to 60 %"),
    ({"glycol": "propylene", "share": amount("50.1", "percent"), "basis": "volume"}, "from 5 % to 50 %"),
    ({"glycol": "propylene", "share": amount("4.9", "percent"), "basis": "volume"}, "handbook of chemistry"),
    ({"glycol": "propylene", "share": amount("9", "percent"), "basis": "mass"}, "'share' is 9 %, outside"),
    ({"glycol": "propylene", "share": amount("1.02", "sg"), "basis": "mass"}, "'share' is 1.02 .*must be a share"),
]


@pytest.mark.parametrize(("asked", "message"), REFUSED)
def test_a_share_outside_of_its_table_is_refused(asked: dict[str, object], message: str) -> None:
    """Naming value, range and source."""
    with pytest.raises(ValueError, match=message):
        coolant_by_share(**asked)


@pytest.mark.parametrize(
    ("gravity", "at", "gauge", "message"),
    [
        ("1.021", "68", "0.001", "'gravity' is 1.021, outside of the table"),
        ("1.074", "68", "0.001", "'gravity' is 1.074, outside of the table"),
        ("1.05", "39.9", "0.001", "'temperature' is 39.9 °F, and must be from 40 °F to 100 °F"),
        ("1.05", "100.1", "0.001", "ASHRAE"),
        ("1.05", "68", "0.021", "'gauge' is 0.021, and must be from 0 to 0.02"),
        ("1.05", "68", "-0.001", "'gauge' is -0.001"),
    ],
)
def test_a_hydrometer_reading_outside_of_the_sources_is_refused(
    gravity: str, at: str, gauge: str, message: str
) -> None:
    """Gravity outside of the table, a temperature that the correction does not cover, a gauge that is none."""
    with pytest.raises(ValueError, match=message):
        coolant_by_gravity(
            glycol="ethylene",
            gravity=amount(gravity, "sg"),
            temperature=amount(at, "degF"),
            gauge=amount(gauge, "sg"),
        )


def test_both_ends_of_the_range_are_read() -> None:
    """40 and 100 degF, and a hydrometer that may be 0.02 off, are inside."""
    for at, gravity in (("40", "1.065"), ("100", "1.065")):
        coolant_by_gravity(
            glycol="ethylene",
            gravity=amount(gravity, "sg"),
            temperature=amount(at, "degF"),
            gauge=amount("0.02", "sg"),
        )


def refracted(glycol: str, reading: Amount, *, scale: str = "", water: Amount | None = None):
    return coolant_by_refractometer(
        glycol=glycol,
        scale=scale or glycol,
        reading=reading,
        water_reads=water or amount("0", "degC"),
    )


def test_a_refractometer_reads_the_freezing_point_on_its_own_scale() -> None:
    """reference.md 5.4: about 1 degC (2 degF) off; the share from the glycol's own table beside it."""
    figure = refracted("propylene", amount("-5", "degF"))
    assert figure.answer == amount("-5", "degF")
    assert dict(figure.beside) == {
        "may_be_as_warm_as": amount("-3.2", "degF"),
        "share_by_volume": amount("39.951", "percent"),
    }
    assert figure.working == (
        "water reads 0 °C: zero is right",
        "the propylene scale reads -5 °F; it may be 1.8 °F off",
    )
    assert figure.sources[0].startswith("ASTM D3321")
    celsius = refracted("ethylene", amount("-20", "degC"))
    assert dict(celsius.beside) == {
        "may_be_as_warm_as": amount("-19", "degC"),
        "share_by_volume": amount("36.875", "percent"),
    }


@pytest.mark.parametrize(
    ("glycol", "reading", "beside"),
    [
        ("ethylene", amount("-41", "degF"), "outside of the table"),
        ("ethylene", amount("-40", "degF"), amount("53.125", "percent")),
        ("ethylene", amount("20", "degF"), amount("18.75", "percent")),
        ("ethylene", amount("21", "degF"), "outside of the table"),
        ("ethylene", amount("-65", "degF"), "outside of the table"),
        ("propylene", amount("-50", "degC"), "outside of the table"),
        ("propylene", amount("-33.3", "degC"), amount("50", "percent")),
    ],
)
def test_the_share_is_told_only_where_the_table_reaches(glycol: str, reading: Amount, beside: object) -> None:
    """The reading itself stands; the share beside it is not extrapolated."""
    figure = refracted(glycol, reading)
    assert (figure.answer, dict(figure.beside)["share_by_volume"]) == (reading, beside)


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        # ASTM D3321 (reference.md T11): the wrong scale may be 18 degF off or more
        ({"glycol": "propylene", "scale": "ethylene"}, "'scale' is 'ethylene', and the coolant is propylene: .*18 °F"),
        ({"glycol": "ethylene", "scale": "propylene"}, "ASTM D3321"),
        ({"glycol": "ethylene", "water": amount("1.1", "degC")}, "'water_reads' is 1.1 °C, and must be 0 °C within 1"),
        ({"glycol": "ethylene", "water": amount("-1.1", "degC")}, "set the refractometer with water"),
        ({"glycol": "ethylene", "water": amount("30", "degF")}, "water_reads"),
    ],
)
def test_a_refractometer_that_proves_nothing_is_refused(asked: dict[str, object], message: str) -> None:
    """Wrong scale; water that does not read zero."""
    with pytest.raises(ValueError, match=message):
        refracted(**asked, reading=amount("-20", "degC"))


@pytest.mark.parametrize(
    ("glycol", "reading", "message"),
    [
        ("ethylene", amount("-65.1", "degF"), "OD1001"),
        ("propylene", amount("-50.1", "degC"), "CoolProp"),
        ("propylene", amount("0.1", "degC"), "'reading' is 0.1 °C"),
    ],
)
def test_a_reading_that_no_strength_gives_is_refused(glycol: str, reading: Amount, message: str) -> None:
    """OD1001: 60 percent of ethylene glycol stands -65 degF, and nothing stands more; nothing freezes above water."""
    with pytest.raises(ValueError, match=message):
        refracted(glycol, reading)


def test_zero_within_a_degree_is_good_enough() -> None:
    """1 degC either way passes, 33 degF does; a pressure is no temperature."""
    with pytest.raises(ValueError, match=r"^'water_reads' is 1 psi .*must be a temperature"):
        refracted("ethylene", amount("0", "degC"), water=amount("1", "psi"))
    for water in (amount("1", "degC"), amount("-1", "degC"), amount("33", "degF"), amount("0", "degC")):
        assert refracted("ethylene", amount("0", "degC"), water=water).answer == amount("0", "degC")


def test_the_coolant_must_stand_ten_degrees_less_than_the_coldest() -> None:
    """reference.md 5.2 (10 degF below) and section 3 (18 degF apart are 10 degC apart, without the 32)."""
    figure = colder_by(temperature=amount("-25", "degF"), margin=amount("10", "delta_F"))
    assert figure.answer == amount("-35", "degF")
    assert figure.working == ("-25 °F less 10 °F is -35 °F",)
    assert figure.sources == ("at least 10 °F below the coldest expected: reference.md section 5.2, Navy 14329",)
    assert colder_by(temperature=amount("-10", "degC"), margin=amount("18", "delta_F")).amount == amount("-20", "degC")
    assert colder_by(temperature=amount("0", "degF"), margin=amount("0", "delta_K")).amount == amount("0", "degF")


@pytest.mark.parametrize(
    ("temperature", "margin"),
    [
        (amount("-10", "degC"), amount("10", "degC")),
        (amount("-10", "degC"), amount("-10", "delta_K")),
        (amount("-10", "degC"), amount("NaN", "delta_K")),
        (amount("NaN", "degC"), amount("10", "delta_K")),
        (amount("10", "psi"), amount("10", "delta_K")),
    ],
)
def test_a_margin_that_is_none_is_refused(temperature: Amount, margin: Amount) -> None:
    """A temperature is no difference (reference.md section 3), a margin not below zero."""
    with pytest.raises(ValueError, match="makes no sense"):
        colder_by(temperature=temperature, margin=margin)


def test_which_glycol_goes_where_is_said_with_every_figure() -> None:
    """reference.md section 9: propylene only in open systems; catch and label the waste."""
    ethylene = coolant_by_share(glycol="ethylene", share=amount("40", "percent"), basis="volume").cautions
    propylene = coolant_by_share(glycol="propylene", share=amount("40", "percent"), basis="volume").cautions
    assert ethylene == (CLOSED_ONLY, WASTE, ONE_GLYCOL, HOT)
    assert propylene == (RAW_WATER, WASTE, ONE_GLYCOL, HOT)
    assert "closed circuits only" in CLOSED_ONLY
    assert "poisonous" in CLOSED_ONLY
    assert RAW_WATER == "Only non-toxic propylene glycol goes into an open raw-water system."
    assert "label it waste antifreeze" in WASTE
    assert HOT == "Never open a hot cooling system. The machine's manual says which coolant it takes."
    assert ONE_GLYCOL.startswith("The figure holds for one glycol in water.")
    assert refracted("propylene", amount("-5", "degC")).cautions == propylene
    assert coolant_share_for(glycol="ethylene", temperature=amount("0", "degF")).cautions == ethylene


def test_the_share_for_a_temperature_tells_its_table() -> None:
    """-15.5 degC is between 30 and 35 percent of propylene glycol; what the table lacks is refused."""
    figure = coolant_share_for(glycol="propylene", temperature=amount("-15.5", "degC"))
    assert figure.answer == amount("34.091", "percent")
    assert figure.working == ("-15.5 °C needs 34.091 % by volume (freezing point of propylene glycol by volume)",)
    assert figure.sources == (PROPYLENE.stands["volume"].source,)
    with pytest.raises(ValueError, match=r"'temperature' is -34 °C, outside of the table"):
        coolant_share_for(glycol="propylene", temperature=amount("-34", "degC"))
    # -13 degC by hand: 30 + 5 x 0.2 / 3.3 = 30.30303, and up, so that it stands no less
    assert coolant_share_for(glycol="propylene", temperature=amount("-13", "degC")).answer == amount(
        "30.304", "percent"
    )
    with pytest.raises(ValueError, match=r"^'temperature' is 10 K .*must be a temperature"):
        coolant_share_for(glycol="propylene", temperature=amount("10", "delta_K"))


GLYCOLS = st.sampled_from([ETHYLENE, PROPYLENE])


@given(GLYCOLS, st.sampled_from(["volume", "mass"]), st.data())
def test_more_glycol_stands_more_cold_and_never_below_the_table(fluid, basis: str, data) -> None:
    """Monotone throughout each table, and nowhere below its last row, which is above the eutectic."""
    rows = fluid.stands[basis].rows
    shares = st.decimals(rows[0][0], rows[-1][0], places=3)
    less, more = sorted((data.draw(shares), data.draw(shares)))
    warm, cold = (stands_at(fluid, share, basis).value for share in (less, more))
    assert rows[0][1] >= warm >= cold >= rows[-1][1]


@given(GLYCOLS, st.data())
def test_share_to_temperature_and_back_is_never_weaker(fluid, data) -> None:
    """The share told for a temperature stands it, to the 0.01 degree that is told."""
    rows = fluid.stands["volume"].rows
    wanted = data.draw(st.decimals(rows[-1][1], rows[0][1], places=2))
    unit = fluid.stands["volume"].y_unit
    share = share_standing(fluid, Amount(wanted, unit))
    assert stands_at(fluid, share, "volume").value <= wanted


@given(GLYCOLS, st.decimals(40, 100, places=1), st.decimals(40, 100, places=1))
def test_the_warmer_the_coolant_the_more_the_same_reading_stands(fluid, a: Decimal, b: Decimal) -> None:
    """The correction is monotone in the temperature."""
    glycol = "ethylene" if fluid is ETHYLENE else "propylene"
    gravity = fluid.by_gravity.rows[3][0]
    cool, warm = (
        coolant_by_gravity(glycol=glycol, gravity=Amount(gravity, "sg"), temperature=Amount(t, "degF")).amount.value
        for t in sorted((a, b))
    )
    assert warm <= cool


@pytest.mark.parametrize("fluid", [ETHYLENE, PROPYLENE])
def test_every_table_rises_or_falls_throughout(fluid) -> None:
    """So that each can be read backwards, and none holds the rows beyond the turn."""
    for found in (*fluid.stands.values(), fluid.by_gravity):
        assert all(a[0] < b[0] for a, b in pairwise(found.rows))
        found.turned("x")


TOLD = [
    (ARMY, "TM 5-6115-400-12 table 2-1 (rows above -10 °F from memory)"),
    (HANDBOOK, "handbook of chemistry, 15th edition, table 5.13: pure propylene glycol, gravity at 60 °F"),
    (LIBRARY, "library values, CoolProp 8.0.0: pure glycol in water (reference.md section 5.3)"),
    (
        ETHYLENE_CORRECTION,
        "0.00025 per °F, within 0.002: worked from the densities of 30 to 50 % by volume at 60 and 100 °F in ASHRAE"
        " Fundamentals, as restated by a piping manual",
    ),
    (
        PROPYLENE_CORRECTION,
        "0.0003 per °F, within 0.002: worked from the densities of 30 and 40 % at 20 and 40 °C printed in a chiller"
        " manual",
    ),
    (
        D3321,
        "ASTM D3321 as restated: wrong scale 18 °F off or more, mixed glycols on neither, zero with water before use",
    ),
]


@pytest.mark.parametrize(("told", "cited"), TOLD)
def test_a_source_is_cited_with_how_far_it_can_be_trusted(told: str, cited: str) -> None:
    """Restated or from memory is said (reference.md section 5)."""
    assert told == cited


@pytest.mark.parametrize(
    ("found", "title", "x_name", "x_unit", "y_unit"),
    [
        (ETHYLENE.stands["volume"], "lowest ambient for ethylene glycol by volume", "share", "percent", "degF"),
        (ETHYLENE.stands["mass"], "freezing point of ethylene glycol by mass", "share", "percent", "degC"),
        (PROPYLENE.stands["volume"], "freezing point of propylene glycol by volume", "share", "percent", "degC"),
        (PROPYLENE.stands["mass"], "freezing point of propylene glycol by mass", "share", "percent", "degC"),
        (ETHYLENE.by_gravity, "specific gravity of ethylene glycol at 68 °F", "gravity", "sg", "percent"),
        (PROPYLENE.by_gravity, "specific gravity of propylene glycol at 60 °F", "gravity", "sg", "percent"),
    ],
)
def test_a_refusal_names_the_table(found: Table, title: str, x_name: str, x_unit: str, y_unit: str) -> None:
    """What is outside of a table is told with its name, its range in the right unit, and its source."""
    first, last = (Amount(row[0], x_unit) for row in (found.rows[0], found.rows[-1]))
    with pytest.raises(ValueError) as refused:
        found.at(Decimal(99))
    assert str(refused.value) == (
        f"'{x_name}' is {Amount(Decimal(99), x_unit)}, outside of the table '{title}', which goes from {first} to {last}"
        f" ({found.source}); nothing is extrapolated"
    )
    assert found.y_unit == y_unit


def test_the_procedure_calls_them_by_name() -> None:
    """colder_by with temperature and margin, as procedures/pwc-off-season.yaml does."""
    found = BY_NAME["colder_by"](temperature=amount("-20", "degF"), margin=amount("10", "delta_F"))
    assert found.answer == amount("-30", "degF")
    assert {"coolant_by_share", "coolant_share_for", "coolant_by_gravity", "coolant_by_refractometer"} <= set(BY_NAME)
    words = {i.name: i.words for i in BY_NAME["coolant_by_share"].inputs if i.form == "word"}
    assert words == {"glycol": ("ethylene", "propylene"), "basis": ("volume", "mass")}
    with pytest.raises(ValueError, match="must be one of ethylene, propylene"):
        BY_NAME["coolant_by_share"](glycol="pink", share=amount("40", "percent"), basis="volume")
