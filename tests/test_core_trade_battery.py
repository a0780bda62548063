"""A rested 12 V battery against printed rows (../shared/reference.md sections 0 and 6 give the page of each)."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade.battery import (
    cell_spread,
    charge_by_gravity,
    charge_by_voltage,
    gravity_at_80,
    gravity_from_voltage,
)
from assistant.core.trade.battery_tables import (
    ACID,
    AGM_BY_VOLTAGE,
    AGM_OTHER,
    AGM_WEAK,
    ARMY_SCALE,
    BY_GRAVITY,
    CAUTIONS,
    CHARGING_GAS,
    FLOODED_BY_VOLTAGE,
    FROZEN,
    INDUSTRY,
    NAVY_RULE,
    OTHER_AGM,
    OTHER_ARMY,
    OTHER_ARMY_SCALE,
    PER_CELL,
    REST,
    SPREAD,
    TRADE_RULE,
    at_80,
)
from assistant.core.trade.registry import BY_NAME
from assistant.core.trade.table import Table
from assistant.core.units import Amount


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


AT_80 = amount("80", "degF")

CORRECTED = [  # reference.md 6.2: reading, temperature in degF, by 0.004 for 10 degF, by 0.001 for 3 degF
    ("1.250", "20", "1.226", "1.230"),
    ("1.235", "100", "1.243", "1.2417"),
    ("1.250", "90", "1.254", "1.2533"),
    ("1.250", "70", "1.246", "1.2467"),
    ("1.265", "80", "1.265", "1.265"),
    ("1.250", "20.1", "1.226", "1.23"),  # by hand: 1.22604 and 1.2300333, to 0.0001
]


@pytest.mark.parametrize(("read", "degf", "trade", "navy"), CORRECTED)
def test_gravity_at_80_by_both_published_rules(read: str, degf: str, trade: str, navy: str) -> None:
    """The Navy's rule and the trade's (from memory), each beside the other, never mixed."""
    asked = {"gravity": amount(read, "sg"), "temperature": amount(degf, "degF")}
    by_navy, by_trade = (gravity_at_80(**asked, rule=rule) for rule in ("navy", "trade"))
    assert (by_navy.amount.value, by_trade.amount.value) == (Decimal(navy), Decimal(trade))
    assert by_navy.beside == (("by_the_trade_rule", by_trade.answer),)
    assert by_trade.beside == (("by_the_navy_rule", by_navy.answer),)
    assert by_navy.sources == (NAVY_RULE, TRADE_RULE)
    assert by_navy.cautions == CAUTIONS


def test_the_working_names_the_rules() -> None:
    """And which of them is from memory."""
    figure = gravity_at_80(gravity=amount("1.250", "sg"), temperature=amount("20", "degF"), rule="navy")
    assert figure.working == (
        "1.25 at 20 °F, by the Navy's rule: 1.23 at 80 °F",
        "1.25 at 20 °F, by the trade's rule: 1.226 at 80 °F",
    )
    assert "from memory" in TRADE_RULE
    assert "0.001 for each 3 °F" in NAVY_RULE


@pytest.mark.parametrize(
    ("read", "at", "message"),
    [
        ("0.999", "80", "'gravity' is 0.999, and must be from 1 to 1.35"),
        ("1.351", "80", "'gravity' is 1.351"),
        ("1.36", "80", r"to 1.35 \(common practice, no source\)"),
        ("1.25", "-0.1", "'temperature' is -0.1 °F, and must be from 0 °F to 130 °F"),
        ("1.25", "130.1", r"to 130 °F \(common practice, no source\)"),
    ],
)
def test_a_reading_that_is_none_is_refused(read: str, at: str, message: str) -> None:
    """Outside of what a battery hydrometer shows, or of correction cards."""
    with pytest.raises(ValueError, match=message):
        gravity_at_80(gravity=amount(read, "sg"), temperature=amount(at, "degF"), rule="navy")
    for inside in (("1.000", "0"), ("1.350", "130")):
        at_80(amount(inside[0], "sg"), amount(inside[1], "degF"))


def test_a_rule_that_is_none_is_refused() -> None:
    """There are two."""
    with pytest.raises(ValueError, match="'rule' is 'army', and must be navy or trade"):
        gravity_at_80(gravity=amount("1.25", "sg"), temperature=AT_80, rule="army")


SCALES = [
    # industry council, as restated (reference.md 6.1)
    *(("industry_1265", sg, soc) for sg, soc in (
        ("1.265", "100"), ("1.225", "75"), ("1.190", "50"), ("1.155", "25"), ("1.120", "0"), ("1.245", "87.5"))),
    # TM 5-1185 table II (reference.md 6.1)
    *(("army_1280", sg, soc) for sg, soc in (
        ("1.280", "100"), ("1.250", "75"), ("1.220", "50"), ("1.190", "25"), ("1.265", "87.5"))),
]  # fmt: skip


@pytest.mark.parametrize(("scale", "gravity", "charge"), SCALES)
def test_state_of_charge_on_a_named_scale(scale: str, gravity: str, charge: str) -> None:
    """Trap T12: 1.265 is full on one scale and seven eighths on the other; the scale stands beside the number."""
    figure = charge_by_gravity(gravity=amount(gravity, "sg"), temperature=AT_80, scale=scale)
    assert figure.answer == amount(charge, "percent")
    assert figure.beside[0] == ("scale", scale)
    assert figure.cautions == CAUTIONS


def test_the_scale_must_be_one_of_two() -> None:
    """A bare "full" is refused; a reading above full is of the other scale."""
    with pytest.raises(
        ValueError, match=r"'scale' is 'full', and must be one of industry_1265, army_1280: 1\.265 is not"
    ):
        charge_by_gravity(gravity=amount("1.265", "sg"), temperature=AT_80, scale="full")
    with pytest.raises(ValueError, match=r"'gravity at 80 °F' is 1\.28, outside of .*industry scale"):
        charge_by_gravity(gravity=amount("1.280", "sg"), temperature=AT_80, scale="industry_1265")
    with pytest.raises(ValueError, match=r"'gravity at 80 °F' is 1\.281"):
        charge_by_gravity(gravity=amount("1.281", "sg"), temperature=AT_80, scale="army_1280")
    with pytest.raises(ValueError, match=r"1\.119, outside"):
        charge_by_gravity(gravity=amount("1.119", "sg"), temperature=AT_80, scale="industry_1265")


def test_the_charge_is_worked_from_the_lower_correction() -> None:
    """1.250 at 20 degF: 1.226 by the trade's rule, not 1.230; at 100 degF the Navy's rule is the lower."""
    cold = charge_by_gravity(gravity=amount("1.250", "sg"), temperature=amount("20", "degF"), scale="industry_1265")
    assert cold.answer == amount("75.6", "percent")
    assert cold.working == (
        "1.25 at 20 °F is 1.226 at 80 °F, by the rule that gives less",
        "1.226 is 75.6 % (state of charge by gravity, industry scale)",
    )
    assert cold.sources == (INDUSTRY, NAVY_RULE, TRADE_RULE)
    assert cold.verdict is None
    warm = charge_by_gravity(gravity=amount("1.235", "sg"), temperature=amount("100", "degF"), scale="industry_1265")
    assert "1.2417 at 80" in warm.working[0]


TWO_MANUALS = [
    # TM 5-1185: 1.190 is 25 %, 1.160 to 1.130 nearly flat or flat; TM 10-6140-200-14 table 1-1: 1.160 is 25 %
    ("1.220", amount("50", "percent"), None, None),
    ("1.219", amount("49.2", "percent"), amount("49.6", "percent"), "unsure"),
    ("1.205", amount("37.5", "percent"), amount("43.8", "percent"), "unsure"),
    ("1.190", amount("25", "percent"), amount("37.5", "percent"), "unsure"),
    ("1.189", "nearly flat", amount("37.1", "percent"), "unsure"),
    ("1.160", "nearly flat", amount("25", "percent"), "unsure"),
    ("1.159", "nearly flat", "below its table", None),
    ("1.131", "nearly flat", "below its table", None),
    ("1.130", "flat", "below its table", None),
]


@pytest.mark.parametrize(("gravity", "answer", "other", "verdict"), TWO_MANUALS)
def test_where_two_army_manuals_differ_it_is_unsure(
    gravity: str, answer: object, other: object, verdict: str | None
) -> None:
    """Both are named, the emptier one is the answer."""
    figure = charge_by_gravity(gravity=amount(gravity, "sg"), temperature=AT_80, scale="army_1280")
    assert (figure.answer, dict(figure.beside).get("by_the_other_manual"), figure.verdict) == (answer, other, verdict)
    assert dict(figure.beside)["scale"] == "army_1280"
    if other is not None:
        assert figure.sources == (ARMY_SCALE, OTHER_ARMY_SCALE, NAVY_RULE, TRADE_RULE)
        assert figure.cautions == CAUTIONS


def test_what_both_manuals_say_is_in_the_working() -> None:
    """The reading as corrected, then each manual's word; below flat there is no row."""
    figure = charge_by_gravity(gravity=amount("1.2", "sg"), temperature=AT_80, scale="army_1280")
    assert figure.working == (
        "1.2 at 80 °F is 1.2 at 80 °F, by the rule that gives less",
        f"1.2: 33.3 % by {ARMY_SCALE}; 41.7 % by {OTHER_ARMY_SCALE}",
    )
    with pytest.raises(ValueError, match=r"'gravity at 80 °F' is 1.129, and must be from 1.13 up \(TM 5-1185"):
        charge_by_gravity(gravity=amount("1.129", "sg"), temperature=AT_80, scale="army_1280")


FLOODED = [("12.65", "100"), ("12.45", "75"), ("12.24", "50"), ("12.06", "25"), ("11.89", "0"), ("12.55", "87.5")]


@pytest.mark.parametrize(("volts", "charge"), FLOODED)
def test_state_of_charge_by_voltage_flooded(volts: str, charge: str) -> None:
    """Industry council, as restated (reference.md 6.1)."""
    figure = charge_by_voltage(voltage=amount(volts, "V"), rested=amount("24", "h"), kind="flooded")
    assert (figure.answer, figure.verdict) == (amount(charge, "percent"), None)
    assert figure.beside == (("scale", "industry_1265"),)
    assert (figure.sources, figure.cautions) == ((INDUSTRY, REST), CAUTIONS)
    assert figure.working == (
        f"{volts} V after 24 h of rest is {charge} % (state of charge by voltage, flooded, industry scale)",
    )


@pytest.mark.parametrize(
    ("rested", "verdict"),
    [
        (amount("8", "h"), None),
        (amount("7.99", "h"), "unsure"),
        (amount("480", "min"), None),
        (amount("0", "h"), "unsure"),
    ],
)
def test_a_battery_that_has_not_rested_is_unsure(rested: Amount, verdict: str | None) -> None:
    """Industry council: at least 8 h."""
    assert charge_by_voltage(voltage=amount("12.5", "V"), rested=rested, kind="flooded").verdict == verdict


AGM = [
    # reference.md 6.1 (weak): 12.9 / 12.6 / 12.3 / 12.0 / 11.8; another weak page: 12.7 full, 12.1 half; others from 13.0
    ("12.9", amount("100", "percent"), "full"),
    ("12.6", amount("75", "percent"), amount("90", "percent")),
    ("12.3", amount("50", "percent"), amount("70", "percent")),
    ("12.0", amount("25", "percent"), amount("40", "percent")),
    ("11.8", amount("0", "percent"), amount("30", "percent")),
    ("12.7", amount("83.3", "percent"), amount("100", "percent")),
    ("12.71", amount("84.2", "percent"), "full"),
    ("12.91", "full, or short of it", "full"),
    ("13.0", "full, or short of it", "full"),
]


@pytest.mark.parametrize(("volts", "answer", "other"), AGM)
def test_agm_is_always_unsure_and_both_tables_are_told(volts: str, answer: object, other: object) -> None:
    """Sources disagree, so no AGM figure is ever sure."""
    figure = charge_by_voltage(voltage=amount(volts, "V"), rested=amount("24", "h"), kind="agm")
    assert (figure.answer, figure.verdict) == (answer, "unsure")
    assert figure.beside == (("scale", "agm"), ("by_another_page", other))
    assert figure.sources == (AGM_WEAK, AGM_OTHER, REST)
    assert figure.cautions == ("AGM tables disagree: the battery's own data sheet goes first.", *CAUTIONS)
    assert f"after 24 h of rest: {answer} by one page, {other} by another" in figure.working[0]


def test_agm_never_shares_the_flooded_table() -> None:
    """reference.md 6.1: at 12.45 V a flooded battery is three quarters charged, an AGM by its own weak table five eighths."""
    rest = amount("24", "h")
    flooded, agm = (charge_by_voltage(voltage=amount("12.45", "V"), rested=rest, kind=k) for k in ("flooded", "agm"))
    assert (flooded.amount.value, agm.amount.value) == (Decimal(75), Decimal("62.5"))
    with pytest.raises(ValueError, match="'kind' is 'gel', and must be flooded or agm: they do not share a table"):
        charge_by_voltage(voltage=amount("12.4", "V"), rested=rest, kind="gel")


@pytest.mark.parametrize(
    ("volts", "kind", "message"),
    [
        ("12.66", "flooded", "'voltage' is 12.66 V, outside of the table .*from 11.89 V to 12.65 V"),
        ("11.88", "flooded", "nothing is extrapolated"),
        ("13.01", "agm", "'voltage' is 13.01 V, and must be from 11.8 V to 13 V"),
        ("11.79", "agm", "others start at 13.0"),
    ],
)
def test_a_voltage_outside_of_its_table_is_refused(volts: str, kind: str, message: str) -> None:
    """A surface charge, a dead cell or another battery is no row of any table."""
    with pytest.raises(ValueError, match=message):
        charge_by_voltage(voltage=amount(volts, "V"), rested=amount("24", "h"), kind=kind)
    with pytest.raises(ValueError, match="'rested' is -1 h"):
        charge_by_voltage(voltage=amount("12.4", "V"), rested=amount("-1", "h"), kind=kind)
    with pytest.raises(ValueError, match=r"^'voltage' is 12.4 A .*must be a voltage"):
        charge_by_voltage(voltage=amount("12.4", "A"), rested=amount("9", "h"), kind=kind)


def test_millivolts_are_volts() -> None:
    """Any unit of the kind."""
    figure = charge_by_voltage(voltage=amount("12450", "mV"), rested=amount("9", "h"), kind="flooded")
    assert figure.answer == amount("75", "percent")
    assert charge_by_voltage(voltage=amount("12300", "mV"), rested=amount("9", "h"), kind="agm").amount.value == 50


FROM_VOLTS = [  # (volts, by the council's rows, by gravity + 0.84 a cell (reference.md 6.1))
    ("12.65", "1.265", "1.268"),
    ("12.45", "1.225", "1.235"),
    ("12.24", "1.190", "1.200"),
    ("12.06", "1.155", "1.170"),
    ("11.89", "1.120", "1.142"),
    ("12.63", "1.261", "1.265"),  # 1.265 -> 2.105 -> 12.63
    ("12.31", "1.202", "1.212"),  # by hand: 1.19 + 0.035 / 3 = 1.20167, and 12.31 / 6 - 0.84 = 1.21167
]


@pytest.mark.parametrize(("volts", "rows", "rule"), FROM_VOLTS)
def test_gravity_from_voltage_is_the_lower_of_rows_and_rule(volts: str, rows: str, rule: str) -> None:
    """An estimate, both told."""
    figure = gravity_from_voltage(voltage=amount(volts, "V"))
    assert figure.amount == amount(rows, "sg")
    assert figure.beside == (("by_the_rows", amount(rows, "sg")), ("by_the_rule", amount(rule, "sg")))
    assert (figure.sources, figure.cautions) == ((INDUSTRY, PER_CELL), CAUTIONS)
    assert figure.working[1].startswith(f"{volts} V / 6 - 0.84 = 1.")
    with pytest.raises(ValueError, match=r"^'voltage' is 12 A .*must be a voltage"):
        gravity_from_voltage(voltage=amount("12", "A"))


@pytest.mark.parametrize(("gravity", "volts"), [("1.265", "12.65"), ("1.225", "12.45"), ("1.190", "12.24")])
def test_the_rule_of_084_agrees_with_the_rows(gravity: str, volts: str) -> None:
    """reference.md 6.1: within 0.06 V for 12 V."""
    assert abs(6 * (Decimal(gravity) + Decimal("0.84")) - Decimal(volts)) <= Decimal("0.06")


SPREADS = [  # TM 9-6140-200-14 s. 4-7 (reference.md 6.4 vectors)
    (("1.265", "1.260", "1.240"), "0.025", "within", 3),
    (("1.265", "1.239"), "0.026", "low", 2),
    (("1.2399", "1.265", "1.25"), "0.0251", "low", 1),
    (("1.265", "1.265"), "0", "within", 1),
]


@pytest.mark.parametrize(("cells", "apart", "verdict", "weakest"), SPREADS)
def test_cells_more_than_0025_apart_are_unserviceable(
    cells: tuple[str, ...], apart: str, verdict: str, weakest: int
) -> None:
    """0.025 itself passes; the weakest cell is named."""
    figure = cell_spread(gravities=tuple(amount(cell, "sg") for cell in cells))
    assert (figure.amount, figure.verdict) == (amount(apart, "sg"), verdict)
    assert figure.beside == (("weakest_cell", Amount(Decimal(weakest), "count")),)
    assert figure.sources == (SPREAD,)
    assert figure.cautions == ("The rule is for a fully charged battery: charge it, then compare.", *CAUTIONS)


def test_the_spread_working() -> None:
    """Highest, lowest, difference, bound; one cell is no set."""
    figure = cell_spread(gravities=(amount("1.265", "sg"), amount("1.24", "sg")))
    assert figure.working == ("highest 1.265 less lowest 1.24 is 0.025; at most 0.025",)
    with pytest.raises(ValueError, match=r"^'gravities' must be of two cells or more$"):
        cell_spread(gravities=(amount("1.265", "sg"),))
    for bad in ("0.999", "1.351"):
        with pytest.raises(ValueError, match=f"'gravities' is {bad}"):
            cell_spread(gravities=(amount("1.265", "sg"), amount(bad, "sg")))
    cell_spread(gravities=(amount("1.000", "sg"), amount("1.350", "sg")))


def test_the_cautions_of_every_battery_figure() -> None:
    """Gas explodes; acid burns; acid into water, never the reverse (trap T2, 29 CFR 1910.178(g)); frozen is never charged."""
    assert CAUTIONS == (CHARGING_GAS, ACID, FROZEN)
    assert CHARGING_GAS.startswith("Battery gas explodes: good air, no flame, no spark;")
    assert ACID.startswith("Battery acid burns skin and eyes: goggles, gloves, water at hand.")
    assert FROZEN.startswith("Never charge a frozen battery: look for bulging and ice")
    assert "explodes" in CHARGING_GAS
    assert "charger off before its clips" in CHARGING_GAS
    assert "Acid goes into water, never water into acid" in ACID
    assert "burns" in ACID
    assert "Never charge a frozen battery" in FROZEN


@given(st.decimals("1.1", "1.3", places=3), st.decimals(0, 130, places=1), st.decimals(0, 130, places=1))
def test_the_correction_rises_with_the_temperature(read: Decimal, a: Decimal, b: Decimal) -> None:
    """Both rules; above 80 degF both add, below both take off."""
    cold, warm = sorted((a, b))
    gravity = Amount(read, "sg")
    for less, more in zip(at_80(gravity, Amount(cold, "degF")), at_80(gravity, Amount(warm, "degF")), strict=True):
        assert less <= more
    for corrected in at_80(gravity, Amount(a, "degF")):
        assert (corrected >= read) if a >= 80 else (corrected <= read)


@given(st.sampled_from(["industry_1265", "army_1280"]), st.data())
def test_more_gravity_is_more_charge(scale: str, data) -> None:
    """Monotone on each scale, from 0 to 100."""
    rows = BY_GRAVITY[scale].rows
    values = st.decimals(rows[0][0], rows[-1][0], places=3)
    less, more = sorted((data.draw(values), data.draw(values)))
    low, high = (
        charge_by_gravity(gravity=Amount(v, "sg"), temperature=AT_80, scale=scale).amount.value for v in (less, more)
    )
    assert 0 <= low <= high <= 100


@given(st.decimals("11.89", "12.65", places=2), st.decimals("11.89", "12.65", places=2))
def test_more_voltage_is_more_charge_and_more_gravity(a: Decimal, b: Decimal) -> None:
    """Monotone, on the flooded rows and in the estimate."""
    low, high = sorted((a, b))
    rest = amount("24", "h")
    charges = [charge_by_voltage(voltage=Amount(v, "V"), rested=rest, kind="flooded").amount.value for v in (low, high)]
    assert 0 <= charges[0] <= charges[1] <= 100
    gravities = [gravity_from_voltage(voltage=Amount(v, "V")).amount.value for v in (low, high)]
    assert gravities[0] <= gravities[1]


PRINTED = [
    (BY_GRAVITY["industry_1265"], "state of charge by gravity, industry scale", "gravity at 80 °F", "sg", "percent"),
    (BY_GRAVITY["army_1280"], "state of charge by gravity, Army scale", "gravity at 80 °F", "sg", "percent"),
    (OTHER_ARMY, "state of charge by gravity, the other Army manual", "gravity at 80 °F", "sg", "percent"),
    (FLOODED_BY_VOLTAGE, "state of charge by voltage, flooded, industry scale", "voltage", "V", "percent"),
    (AGM_BY_VOLTAGE, "state of charge by voltage, AGM", "voltage", "V", "percent"),
    (OTHER_AGM, "state of charge by voltage, AGM, another page", "voltage", "V", "percent"),
]


@pytest.mark.parametrize(("found", "title", "x_name", "x_unit", "y_unit"), PRINTED)
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


def test_the_other_pages_rows() -> None:
    """AGM by another weak page (seen once), and the Army manual whose 25 percent is 1.160 (reference.md 6.3)."""
    assert [(str(x), str(y)) for x, y in OTHER_AGM.rows] == [
        ("11.7", "20"), ("11.8", "30"), ("12.0", "40"), ("12.1", "50"), ("12.2", "60"), ("12.3", "70"), ("12.5", "80"),
        ("12.6", "90"), ("12.7", "100"),
    ]  # fmt: skip
    assert [(str(x), str(y)) for x, y in OTHER_ARMY.rows] == [
        ("1.160", "25"), ("1.220", "50"), ("1.250", "75"), ("1.280", "100"),
    ]  # fmt: skip


SOURCES = [
    (INDUSTRY, "industry-council scale, 1.265 and 12.65 V full, about 27 °C, as restated"),
    (ARMY_SCALE, "TM 5-1185 table II, 1.280 full at 80 °F"),
    (OTHER_ARMY_SCALE, "TM 10-6140-200-14 table 1-1, 1.280 full"),
    (NAVY_RULE, "Navy 14113: 0.001 for each 3 °F from 80 °F"),
    (TRADE_RULE, "trade rule, from memory: 0.004 for each 10 °F from 80 °F"),
    (PER_CELL, "open-circuit voltage of a cell about its gravity plus 0.84, as restated; within 0.06 V for 12 V"),
    (REST, "rest at least 8 h, better 24 h: industry council, as restated"),
    (SPREAD, "TM 9-6140-200-14 s. 4-7: more than 0.025 between two cells of a fully charged battery is unserviceable"),
    (
        AGM_WEAK,
        "AGM 12.9 / 12.6 / 12.3 / 12.0 / 11.8 V for 100 / 75 / 50 / 25 / 0 %, one weak page; others start at 13.0 V",
    ),
    (AGM_OTHER, "AGM 12.7 V full, 12.1 V half, another weak page"),
]


@pytest.mark.parametrize(("told", "cited"), SOURCES)
def test_a_source_is_cited_with_how_far_it_can_be_trusted(told: str, cited: str) -> None:
    """Restated, from memory or weak is said (reference.md section 6)."""
    assert told == cited


def test_every_table_rises() -> None:
    """In both columns, so that each may be read backwards."""
    for found in (*BY_GRAVITY.values(), OTHER_ARMY, FLOODED_BY_VOLTAGE, AGM_BY_VOLTAGE, OTHER_AGM):
        assert all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(found.rows))


def test_they_are_called_by_name() -> None:
    """As `layup figure` and a procedure's work_out do."""
    names = {"gravity_at_80", "charge_by_gravity", "charge_by_voltage", "gravity_from_voltage", "cell_spread"}
    assert names <= set(BY_NAME)
    words = {i.name: i.words for name in names for i in BY_NAME[name].inputs if i.form == "word"}
    assert words == {"rule": ("navy", "trade"), "scale": ("industry_1265", "army_1280"), "kind": ("flooded", "agm")}
    figure = BY_NAME["cell_spread"](gravities=(amount("1.265", "sg"), amount("1.239", "sg")))
    assert figure.verdict == "low"
