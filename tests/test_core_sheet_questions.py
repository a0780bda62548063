"""What in a sheet may be a slip: each question says why, and what would explain it; what is right asks nothing."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.sheet_needs import needs_of
from assistant.core.sheet_questions import SheetQuestion, questions_of
from assistant.core.trade.fasteners import METRIC_CLASSES, STRESS_AREAS
from assistant.core.trade.plausible import USUAL, otherwise_read, usual_of
from assistant.core.units import Amount, convert
from assistant.files.procedure_file import load_procedure
from assistant.files.sheet_file import load_sheet, read_sheet

ROOT = Path(__file__).parent.parent
HEAD = "model: Tern\nfor: boat\nmanual: Tern 3 manual\nentered: {by: Ada Lind, on: 2026-10-30}\nvalues:\n"
NEEDS = needs_of(load_procedure(ROOT / "procedures/pwc-off-season.yaml"))


def questions(**values: str) -> tuple[SheetQuestion, ...]:
    """Of a sheet with these values ("66 lbf_ft, thread: M6")."""
    lines = "".join(f"  {name}: {{is: {value}, page: 6-4}}\n" for name, value in values.items())
    return questions_of(read_sheet(HEAD + lines, "s.yaml"), NEEDS)


ASKED = [
    # name, value, what the reason says (computed by hand from the exact factors of NIST Handbook 44 appendix C)
    ("filter_cover_torque", "89 lbf_ft", "89 lbf\u00b7ft is 120.7 N\u00b7m, outside of 3 N\u00b7m to 30 N\u00b7m"),
    ("filter_cover_torque", "89 lbf_ft", "; 89 lbf\u00b7in or 8.9 lbf\u00b7ft, a point slipped, would be usual"),
    ("compression_least", "195 bar", "195 bar is 2828 psi, outside of 60 psi to 300 psi"),
    ("compression_least", "195 bar", "; 195 psi or"),
    ("compression_least", "59.9 psi", "59.9 psi is outside of 60 psi to 300 psi"),
    ("compression_most", "1345 kPa_abs", ""),
    ("plug_gap_most", "28 mm", "; 28 thou would be usual"),
    ("plug_gap_least", "0.2 mm", "0.2 mm is outside of 0.3 mm to 1.5 mm"),
    ("plug_gap_least", "8 mm", "0.8 mm, a point slipped, would be usual"),
    ("warm_enough", "150 degC", "150 \u00b0C is 302 \u00b0F, outside of 100 \u00b0F to 230 \u00b0F"),
    ("warm_enough", "150 degC", "; 150 \u00b0F would be usual"),
    ("charging_least", "12.2 V", "outside of 13 V to 15.5 V"),
    ("battery_rest_least", "24.8 V", "outside of 11.8 V to 13.2 V"),
    ("oil_capacity", "30 us_qt", "30 US qt is 28.39 L, outside of 0.05 L to 15 L"),
    ("cylinder_oil", "1 L", "outside of 0.001 L to 0.1 L"),
    ("fuel_tank", "1850 us_gal", "outside of 0.5 L to 600 L"),
    ("idle_least", "120 rpm", "; 1200 rpm, a point slipped, would be usual"),
    ("torque_tolerance", "0.04 percent", "outside of 0.5 % to 30 %"),
    ("exhaust_at_most", "600 degC", "outside of 32 \u00b0F to 450 \u00b0F"),
    # the reading of the procedure takes 1 to 80 lbf.ft: 100 N.m is 73.8, 110 N.m is 81.1
    ("pump_torque", "110 Nm", "110 N\u00b7m is outside of 1 lbf\u00b7ft to 80 lbf\u00b7ft, all that the reading 'pump_torque'"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value", "why"), ASKED)
def test_a_number_that_is_odd_is_asked_about_with_the_reason(name: str, value: str, why: str) -> None:
    """The range, the figure in the range's unit, and the slip that would explain it."""
    found = questions(**{name: value})
    if not why:  # of another kind: the binding tells that
        assert found == ()
        return
    assert [q.about for q in found] == [(name,)]
    assert why in found[0].what
    assert "look again at Tern 3 manual page 6-4" in found[0].do


NOT_ASKED = [
    ("filter_cover_torque", "89 lbf_in"), ("compression_least", "175 psi"), ("compression_least", "60 psi"),
    ("compression_most", "300 psi"), ("compression_least", "12.1 bar"), ("plug_gap_least", "28 thou"),
    ("plug_gap_least", "0.3 mm"), ("plug_gap_most", "1.5 mm"), ("warm_enough", "65 degC"), ("charging_most", "15 V"),
    ("battery_rest_least", "12.4 V"), ("oil_capacity", "3 us_qt"), ("fuel_tank", "70 L"), ("idle_least", "1200 rpm"),
    ("pump_torque", "100 Nm"), ("some_number", "7 count"), ("cylinder_oil", "10 mL"), ("lowest", "-40 degF"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value"), NOT_ASKED)
def test_a_number_that_is_usual_asks_nothing(name: str, value: str) -> None:
    """On the bound too, and in any unit of the kind."""
    assert questions(**{name: value}) == ()


def test_the_shipped_sheet_asks_nothing() -> None:
    """With the procedure's own ranges."""
    assert questions_of(load_sheet(ROOT / "procedures/tern-3.sheet.yaml"), NEEDS) == ()


def test_66_pound_feet_on_an_m6_are_questioned_with_the_reason_computed() -> None:
    """T = K d F with K 0.20, 75 % of the proof load of 11600 N (ISO 898-1): 10.4 N.m; 66 lbf.ft are 89.5 N.m."""
    [question] = questions(ride_plate_torque="66 lbf_ft, thread: M6, class: 8.8")
    stands = 0.20 * 0.006 * 0.75 * 11600
    assert f"= {stands:.1f} N\u00b7m" in question.what
    pull = 66 * 1.3558179483 / (0.20 * 0.006)
    assert f"would pull {round(pull, -1):.0f} N, {pull / 11600:.4f} times the proof load" in question.what
    assert "66 lbf\u00b7in" in question.what


THREADS = [
    # published charts for class 8.8, coarse, from memory: M6 10, M8 25, M10 49, M12 85 N.m
    ("10 Nm, thread: M6, class: 8.8", False), ("25 Nm, thread: M8, class: 8.8", False),
    ("49 Nm, thread: M10, class: 8.8", False), ("85 Nm, thread: M12, class: 8.8", False),
    ("25 Nm, thread: M6, class: 8.8", True), ("49 Nm, thread: M8, class: 8.8", True),
    ("16 Nm, thread: M6, class: 8.8", True), ("16 Nm, thread: M6, class: 12.9", False),
    ("16 Nm, thread: M6", False), ("25 Nm, thread: M6", True),
    ("1 Nm, thread: M12, class: 8.8", True), ("12 lbf_in, thread: M6, class: 8.8", False),
]  # fmt: skip


@pytest.mark.parametrize(("value", "asked"), THREADS)
def test_a_torque_is_held_against_what_its_bolt_stands(value: str, asked: bool) -> None:
    """By thread and class; without a class only what no class of the table stands; far too little as well."""
    assert bool(questions(ride_plate_torque=value)) == asked


@given(st.sampled_from(sorted(STRESS_AREAS)), st.sampled_from(sorted(METRIC_CLASSES)))
def test_foot_pounds_for_inch_pounds_are_always_noticed(thread: str, strength: str) -> None:
    """A torque that stretches its bolt just so asks nothing; the same figures in pound force feet, twelve times, do."""
    area, proof = float(STRESS_AREAS[thread]), METRIC_CLASSES[strength].proof
    inch_pounds = round(0.20 * float(thread[1:]) / 1000 * 0.75 * area * proof / 0.1129848290276167)
    marked = f"thread: {thread}, class: {strength}"
    assert questions(joint_torque=f"{inch_pounds} lbf_in, {marked}") == ()
    [question] = questions(joint_torque=f"{inch_pounds} lbf_ft, {marked}")
    assert f"{inch_pounds} lbf\u00b7in" in question.what


ORDERS = [
    ({"gap_least": "0.9 mm", "gap_most": "0.7 mm"}, "gap_least is 0.9 mm, more than gap_most, 0.7 mm"),
    ({"compression_least": "175 psi", "compression_usual": "165 psi"}, "more than compression_usual"),
    ({"compression_usual": "220 psi", "compression_most": "215 psi"}, "compression_usual is 220 psi, more than"),
    ({"plug_torque_least": "14 lbf_ft", "plug_torque": "13 lbf_ft"}, "more than plug_torque, 13"),
    ({"oil_least": "0.3 us_qt", "oil_most": "3 us_qt"}, "is 10 times oil_least, 0.3 US qt; 0.3 US qt, a point slipped"),
    ({"bolt_torque_least": "14 lbf_in", "bolt_torque_most": "14 lbf_ft"}, "is 12 times"),
    ({"compression_least": "13 bar", "compression_most": "180 psi"}, "more than compression_most, 180 psi, 12.41 bar"),
]  # fmt: skip


@pytest.mark.parametrize(("values", "why"), ORDERS)
def test_least_usual_and_most_stand_in_that_order_and_not_far_apart(values: dict[str, str], why: str) -> None:
    """Whatever the units; both names are in the question."""
    [question] = [q for q in questions(**values) if len(q.about) == 2]
    assert why in question.what
    assert set(question.about) == set(values)


@pytest.mark.parametrize(
    "values",
    [
        {"compression_least": "175 psi", "compression_usual": "195 psi", "compression_most": "215 psi"},
        {"compression_least": "175 psi", "compression_most": "175 psi"},
        {"warm_least": "100 degF", "warm_most": "212 degF"},
        {"cold_least": "-40 degF", "cold_most": "20 degF"},
    ],
)
def test_what_is_in_order_asks_nothing(values: dict[str, str]) -> None:
    """Equal is in order; temperatures have no times."""
    assert questions(**values) == ()


def test_an_imperial_gallon_beside_us_measures_is_asked_about() -> None:
    """With what it is in the other gallon: 4.54609 L / 3.785411784 L = 1.20095."""
    [question] = questions(antifreeze_least="3 imp_gal", fuel_tank="18.5 us_gal")
    assert "3 imp gal, 3.603 US gal" in question.what
    assert questions(antifreeze_least="3 imp_gal", fuel_tank="70 L") == ()


def test_an_answer_in_the_sheet_settles_a_question() -> None:
    """It stays a question with its answer, so that it can be shown; for two values either may answer."""
    [question] = questions(plug_gap_most="28 mm, checked: a burner read twice")
    assert question.checked == "a burner read twice"
    [order] = questions(compression_least="215 psi", compression_most="175 psi, checked: as printed")
    assert order.checked == "as printed"


def test_questions_come_line_by_line() -> None:
    """As a person goes through the file."""
    found = questions(oil_capacity="30 us_qt", plug_gap_most="28 mm", idle_least="10 rpm")
    assert [q.line for q in found] == [6, 7, 8]


@given(st.sampled_from(USUAL), st.decimals("0.001", "100000", places=3))
def test_another_reading_of_the_same_figures_lies_in_the_range(usual: object, value: Decimal) -> None:
    """Whatever is offered as the explanation would itself not be questioned."""
    row = next(r for r in USUAL if r == usual)
    for other in otherwise_read(Amount(value, row.unit), row):
        assert row.least <= convert(other, row.unit).value <= row.most


def test_the_special_range_goes_before_the_general() -> None:
    """A drain plug is no spark plug, and a filter cover's bolts are no bolts of a joint."""
    torque = Amount(Decimal(20), "Nm")
    rows = [usual_of(name, torque) for name in ("drain_plug_torque", "plug_torque", "cover_torque", "pump_torque")]
    assert [row.words for row in rows if row] == [
        ("drain", "plug", "torque"),
        ("plug", "torque"),
        ("cover", "torque"),
        ("torque",),
    ]
    assert usual_of("plug_torque", Amount(Decimal(4), "percent")) == usual_of("share", Amount(Decimal(4), "percent"))
    assert usual_of("pump_seals", Amount(Decimal(2), "count")) is None
