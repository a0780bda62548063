"""Torque against published worked examples and exact definitions; reference.md sections 3, 8.1 and 8.4 give the pages."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade.figure import Figure
from assistant.core.trade.registry import BY_NAME
from assistant.core.trade.torque import (
    TorqueUnit,
    adapter_applied,
    adapter_setting,
    locknut_torque,
    torque_in,
    torque_least,
    torque_most,
    torque_tool,
)
from assistant.core.units import Amount

torques = st.decimals(min_value="0.01", max_value="500", places=2)
lengths = st.decimals(min_value="1", max_value="60", places=2)


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


def inches(number: str) -> Amount:
    return amount(number, "inch")


CONVERSIONS = [
    # reference.md section 3, vectors computed from inch 25.4 mm, pound 0.45359237 kg, 9.80665 m/s2; tolerance 1e-6
    ("50", "lbf_in", "Nm", "5.649241"),
    ("90", "lbf_in", "Nm", "10.168635"),
    ("180", "lbf_in", "Nm", "20.337269"),
    ("50", "lbf_ft", "Nm", "67.790897"),
    ("90", "lbf_ft", "Nm", "122.023615"),
    ("180", "lbf_ft", "Nm", "244.047231"),
    ("12", "lbf_in", "lbf_ft", "1"),
    ("1", "Nm", "Nm", "1"),
]


@pytest.mark.parametrize(("number", "unit", "wanted", "expected"), CONVERSIONS)
def test_torque_in_another_unit(number: str, unit: str, wanted: TorqueUnit, expected: str) -> None:
    """The vectors of reference.md section 3 to one in a million."""
    found = torque_in(torque=amount(number, unit), unit=wanted).amount
    assert found.unit == wanted
    assert abs(found.value / Decimal(expected) - 1) < Decimal("1e-6")


def test_a_conversion_shows_its_factor_and_definitions() -> None:
    """The exact factor, the exact product, and a rounded one to read."""
    figure = torque_in(torque=amount("50", "lbf_in"), unit="Nm")
    assert figure.working == (
        "1 lbf·in is 0.1129848290276167 N·m",
        "50 lbf·in is 5.649241451380835 N·m, about 5.649 N·m",
    )
    assert "25.4 mm" in figure.sources[0]
    # the factor from its definitions, by another way: exact fractions
    exact = Fraction("0.45359237") * Fraction("9.80665") * Fraction("0.0254")
    assert abs(Fraction(figure.amount.value) / 50 / exact - 1) < Fraction(1, 10**15)


@given(torques)
def test_feet_and_inches_come_back_exactly(number: Decimal) -> None:
    """Twelve inches are a foot, there and back, without a remainder."""
    there = torque_in(torque=Amount(number, "lbf_ft"), unit="lbf_in").amount
    assert there.value == 12 * number
    assert torque_in(torque=there, unit="lbf_ft").amount == Amount(number, "lbf_ft")


def test_an_energy_is_no_torque() -> None:
    """A joule is refused by its kind (issue 6 point 1), and so is a unit that is none."""
    with pytest.raises(ValueError, match=r"'torque' is 50 J \(energy\), and must be a torque"):
        torque_in(torque=amount("50", "J"), unit="Nm")
    with pytest.raises(ValueError, match="and must be"):
        torque_in(torque=amount("50", "Nm"), unit="J")


SETTINGS = [
    # Navy 14315 figure 3-43: T 100 lbf.in, L 12, E 6
    ("100", "12", "6", None, "66.67"),
    # reference.md 8.1, restated and computed
    ("30", "12", "6", None, "20.00"),
    ("50", "16", "2", None, "44.44"),
    # the inverse of Army TM 9-254
    ("70", "12", "2", None, "60.00"),
    # computed: angled, square, and folded back
    ("100", "12", "6", "45", "73.88"),
    ("100", "12", "6", "90", "100.00"),
    ("100", "12", "-1", None, "109.09"),
    ("100", "12", "1", "180", "109.09"),
    ("100", "12", "0", None, "100"),
    # no adapter, and one of a hundredth of an inch, have an angle as any other
    ("100", "12", "0", "45", "100"),
    ("100", "12", "0.01", "45", "99.94"),
    ("100", "12", "6", "0", "66.67"),
]


@pytest.mark.parametrize(("target", "tool", "adapter", "angle", "setting"), SETTINGS)
def test_setting_through_an_adapter(target: str, tool: str, adapter: str, angle: str | None, setting: str) -> None:
    """S = T x L / (L + E cos a), as the handbooks have it."""
    figure = adapter_setting(
        target=amount(target, "lbf_in"),
        tool_length=inches(tool),
        adapter=inches(adapter),
        angle_degrees=None if angle is None else amount(angle, "count"),
    )
    assert figure.amount.unit == "lbf_in"
    assert figure.amount.value.quantize(Decimal("0.01")) == Decimal(setting)


def test_what_a_setting_applies() -> None:
    """Army TM 9-254: L 12 in, E 2 in, set to 60 lbf.in, applies 70 lbf.in."""
    figure = adapter_applied(setting=amount("60", "lbf_in"), tool_length=inches("12"), adapter=inches("2"))
    assert figure.amount == amount("70", "lbf_in")
    assert figure.working == (
        "lever with adapter: 12 in + 2 in = 14 in",
        "applied = 60 lbf·in x 14 in / 12 in = 70 lbf·in",
    )
    assert "TM 9-254" in figure.sources[0]
    assert len(figure.cautions) == 2


def test_an_angled_setting_can_be_followed() -> None:
    """The cosine, the lever and the product, each with its unit; the grip and the square adapter are said."""
    figure = adapter_setting(
        target=amount("100", "lbf_in"),
        tool_length=inches("12"),
        adapter=inches("6"),
        angle_degrees=amount("45", "count"),
    )
    assert figure.amount == amount("73.88", "lbf_in")
    assert figure.working == (
        "6 in x cos 45 degrees = 4.243 in along the tool",
        "lever with adapter: 12 in + 4.243 in = 16.24 in",
        "setting = 100 lbf·in x 12 in / 16.24 in = 73.88 lbf·in",
    )
    assert "14315" in figure.sources[0] and "cosine" in figure.sources[1]
    assert "grip" in figure.cautions[0] and "right angle" in figure.cautions[1]


def test_a_setting_has_five_figures() -> None:
    """Two thirds of a hundred: 66.667."""
    set_to = adapter_setting(target=amount("100", "Nm"), tool_length=inches("12"), adapter=inches("6"))
    assert set_to.amount == amount("66.667", "Nm")
    applied = adapter_applied(setting=amount("100", "Nm"), tool_length=inches("12"), adapter=inches("7"))
    assert applied.amount == amount("158.33", "Nm")


def test_lengths_may_be_of_two_units() -> None:
    """An adapter of 50.8 mm on a tool of a foot is one of two inches."""
    figure = adapter_setting(target=amount("70", "Nm"), tool_length=amount("1", "ft"), adapter=amount("50.8", "mm"))
    assert figure.amount == amount("60", "Nm")


@given(torques, lengths, lengths, st.integers(0, 180))
def test_an_applied_setting_is_the_target_again(target: Decimal, tool: Decimal, adapter: Decimal, angle: int) -> None:
    """Setting and applying undo each other to the last figure kept; further out never needs a higher setting."""
    if adapter >= tool and angle > 90:
        return  # no lever may be left
    lever = {
        "tool_length": Amount(tool, "inch"), "adapter": Amount(adapter, "inch"), "angle_degrees": amount(str(angle), "count"),
    }  # fmt: skip
    setting = adapter_setting(target=Amount(target, "Nm"), **lever).amount
    again = adapter_applied(setting=setting, **lever).amount.value
    assert abs(again / target - 1) < Decimal("2e-4")
    square = adapter_setting(target=Amount(target, "Nm"), **{**lever, "angle_degrees": amount("90", "count")}).amount
    assert (setting.value <= square.value) if angle <= 90 else (setting.value >= square.value)
    assert math.isclose(square.value, target, rel_tol=1e-4)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"adapter": inches("-12")}, "'adapter' reaches back -12 in and 'tool_length' is 12 in: no lever is left"),
        ({"adapter": inches("12"), "angle_degrees": amount("180", "count")}, "no lever is left"),
        (
            {"adapter": inches("-1"), "angle_degrees": amount("45", "count")},
            "'adapter' is -1 in, folded back, and has an",
        ),
        ({"angle_degrees": amount("181", "count")}, "'angle_degrees' is 181, and must be from 0 to 180"),
        ({"angle_degrees": amount("-1", "count")}, "'angle_degrees' is -1, and must be from 0 to 180"),
        ({"tool_length": inches("0")}, "'tool_length' is 0 in, and must be above zero"),
        ({"tool_length": amount("12", "Nm")}, "'tool_length' is 12 N·m .torque., and must be a length"),
        ({"adapter": amount("2", "L")}, "'adapter' is 2 L .volume., and must be a length"),
        ({"target": amount("0", "Nm")}, "'target' is 0 N·m, and must be above zero"),
    ],
)
def test_an_impossible_lever_is_refused(changed: dict[str, Amount], message: str) -> None:
    """The input at fault is named with its value."""
    good = {"target": amount("100", "Nm"), "tool_length": inches("12"), "adapter": inches("2")}
    with pytest.raises(ValueError, match=message):
        adapter_setting(**{**good, **changed})
    assert adapter_setting(**{**good, "adapter": inches("-11.99")}).amount.value == 120000
    with pytest.raises(ValueError, match="'setting' is 0 N·m"):
        adapter_applied(setting=amount("0", "Nm"), tool_length=inches("12"), adapter=inches("2"))


LOCKNUTS = [
    # AC 43.13-1B para 7-40 adds the friction drag; computed
    ("20", "Nm", "1.5", "Nm", None, "21.5", None),
    ("20", "Nm", "10", "lbf_in", None, "21.13", None),
    ("20", "Nm", "0.5", "Nm", None, "20.5", None),
    ("90", "lbf_in", "8", "lbf_in", "8", "98", "within"),
    ("90", "lbf_in", "7.99", "lbf_in", "8", "97.99", "low"),
    ("90", "lbf_in", "0", "lbf_in", None, "90", "low"),
]


@pytest.mark.parametrize(("target", "unit", "drag", "drag_unit", "least", "answer", "verdict"), LOCKNUTS)
def test_the_drag_of_a_locknut_is_added(
    target: str, unit: str, drag: str, drag_unit: str, least: str | None, answer: str, verdict: str | None
) -> None:
    """Target and drag in the target's unit; a nut without enough drag is low, on the least it is within."""
    figure = locknut_torque(
        target=amount(target, unit),
        drag=amount(drag, drag_unit),
        least_drag=None if least is None else amount(least, "lbf_in"),
    )
    assert (figure.amount, figure.verdict) == (amount(answer, unit), verdict)
    assert "AC 43.13-1B para 7-40" in figure.sources[0]
    assert figure.cautions == ("Add nothing where the manual says that its torque has the nut's drag in it.",)


def test_a_worn_locknut_is_told_so() -> None:
    """The working says to fit a new one, and nothing of it for a good one."""
    worn = locknut_torque(target=amount("20", "Nm"), drag=amount("0", "Nm"))
    assert worn.working == ("20 N·m and 0 N·m of drag: 20 N·m", "a drag of 0 N·m is too little to lock: fit a new nut")
    good = locknut_torque(target=amount("20", "Nm"), drag=amount("2", "Nm"))
    assert good.working == ("20 N·m and 2 N·m of drag: 22 N·m",)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"drag": amount("-1", "Nm")}, "'drag' is -1 N·m, and must be from 0 N·m up"),
        ({"target": amount("0", "Nm")}, "'target' is 0 N·m, and must be above zero"),
        ({"least_drag": amount("0", "Nm")}, "'least_drag' is 0 N·m, and must be above zero"),
        ({"least_drag": amount("1", "mm")}, "'least_drag' is 1 mm .length., and must be a torque"),
    ],
)
def test_a_drag_that_is_none_is_refused(changed: dict[str, Amount], message: str) -> None:
    """Each input is named."""
    with pytest.raises(ValueError, match=message):
        locknut_torque(**{"target": amount("20", "Nm"), "drag": amount("2", "Nm"), **changed})


def test_torque_tool_tolerance() -> None:
    """reference.md 8.4: 20 N.m, 4 percent either way, is 19.2 to 20.8."""
    asked = {"target": amount("20", "Nm"), "tolerance": amount("4", "percent")}
    least, most = torque_least(**asked), torque_most(**asked)
    assert (least.amount, most.amount) == (amount("19.2", "Nm"), amount("20.8", "Nm"))
    assert least.working == ("20 N·m less 4 % is 19.2 N·m",)
    assert most.working == ("20 N·m plus 4 % is 20.8 N·m",)
    assert least.sources == most.sources == ("tool tolerance, reference.md section 8.4",)
    assert torque_least(target=amount("20", "Nm"), tolerance=amount("0", "percent")).amount.value == 20


@pytest.mark.parametrize(
    ("target", "tolerance", "message"),
    [
        (amount("20", "psi"), amount("4", "percent"), "must be a torque"),
        (amount("0", "Nm"), amount("4", "percent"), "'target' is 0 N·m, and must be above zero"),
        (amount("20", "Nm"), amount("4", "Nm"), "'tolerance' is 4 N·m .torque., and must be a share"),
        (amount("20", "Nm"), amount("-1", "percent"), "'tolerance' is -1 %, and must be from 0 % up"),
        (amount("20", "Nm"), amount("100", "percent"), "'tolerance' is 100 %, and must be below 100 %"),
    ],
)
def test_a_tolerance_that_is_none_is_refused(target: Amount, tolerance: Amount, message: str) -> None:
    """By both functions, naming the input."""
    for function in (torque_least, torque_most):
        with pytest.raises(ValueError, match=message):
            function(target=target, tolerance=tolerance)


TOOLS = [
    # reference.md 8.4: 4 %; 6 % for 10 N.m and under (from memory); ISO 6789-2 calibrates at 20, 60, 100 %
    ("20", "100", "4", "within", "20"),
    ("19.99", "100", "4", "low", "19.99"),
    ("100", "100", "4", "within", "100"),
    ("100.1", "100", "4", "high", "100.1"),
    ("5", "10", "6", "within", "50"),
    ("5", "10.01", "4", "within", "49.95"),
]


@pytest.mark.parametrize(("target", "full", "off", "verdict", "share"), TOOLS)
def test_how_far_a_tool_can_be_trusted(target: str, full: str, off: str, verdict: str, share: str) -> None:
    """Bounds of the range are in it; so is 10 N.m a small tool."""
    figure = torque_tool(target=amount(target, "Nm"), full_scale=amount(full, "Nm"))
    assert (figure.amount, figure.verdict) == (amount(off, "percent"), verdict)
    assert figure.beside == (("share_of_range", amount(share, "percent")),)


def test_a_tool_in_another_unit() -> None:
    """88 lbf.in is under 10 N.m (9.94), 89 is over it (10.06)."""
    for full, off in (("88", "6"), ("89", "4")):
        tool = torque_tool(target=amount("3", "lbf_ft"), full_scale=amount(full, "lbf_in"))
        assert tool.amount.value == Decimal(off)
    assert tool.working == (
        "3 lbf·ft is 40.45 % of 89 lbf·in; calibration reaches from 20 % to 100 %",
        "a tool of 89 lbf·in is good to 4 % either way",
    )
    assert [word in " ".join(tool.sources) for word in ("5000 cycles", "from memory", "ISO 6789-2")] == [True] * 3
    assert tool.cautions == (
        "A tool that was dropped, or whose yearly check has run out, is not to be trusted for either.",
    )
    with pytest.raises(ValueError, match="'full_scale' is 0 N·m"):
        torque_tool(target=amount("1", "Nm"), full_scale=amount("0", "Nm"))
    with pytest.raises(ValueError, match="'target' is 0 N·m"):
        torque_tool(target=amount("0", "Nm"), full_scale=amount("1", "Nm"))


@given(torques, torques)
def test_a_prevailing_torque_only_adds(target: Decimal, drag: Decimal) -> None:
    """The setting is above the target by the drag, to five figures."""
    figure: Figure = locknut_torque(target=Amount(target, "Nm"), drag=Amount(drag, "Nm"))
    assert abs(figure.amount.value / (target + drag) - 1) <= Decimal("5e-5")


def test_all_of_them_are_known_by_name() -> None:
    """Procedures and `layup figure` find them."""
    for name in ("torque_least", "torque_most", "torque_in", "adapter_setting", "adapter_applied", "locknut_torque"):
        assert BY_NAME[name].summary
    assert [i.name for i in BY_NAME["torque_tool"].inputs] == ["target", "full_scale"]
