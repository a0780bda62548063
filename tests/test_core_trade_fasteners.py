"""Strength tables, preload and torque estimate as published (reference.md sections 8.2 and 8.3); notes on locking."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade.fasteners import (
    PROOF_LOADS,
    STRESS_AREAS,
    Grade,
    PropertyClass,
    Surface,
    Thread,
    preload,
    preload_metric,
    proof_load_metric,
    strength_inch,
    strength_metric,
    torque_estimate,
)
from assistant.core.trade.fasteners_locking import NOTES, Means, joint_notes
from assistant.core.trade.figure import Figure
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import Amount


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


def strengths(figure: Figure) -> tuple[str, ...]:
    """Proof, yield, tensile with their units."""
    (first, yielding), (second, tensile) = figure.beside
    assert (first, second) == ("yield", "tensile")
    return tuple(str(each) for each in (figure.answer, yielding, tensile))


# SAE J429 as restated on a university's course page (reference.md 8.2): grade, sizes, proof, yield, tensile in ksi
INCH_ROWS = [
    ("1", ("0.25", "1.5"), (33, 36, 60)),
    ("2", ("0.25", "0.75"), (55, 57, 74)),
    ("2", ("0.7501", "1.5"), (33, 36, 60)),
    ("5", ("0.25", "1"), (85, 92, 120)),
    ("5", ("1.0001", "1.5"), (74, 81, 105)),
    ("5.2", ("0.25", "1"), (85, 92, 120)),
    ("7", ("0.25", "1.5"), (105, 115, 133)),
    ("8", ("0.25", "1.5"), (120, 130, 150)),
    ("8.2", ("0.25", "1.5"), (120, 130, 150)),
]


@pytest.mark.parametrize(("grade", "sizes", "ksi"), INCH_ROWS)
def test_inch_grades(grade: Grade, sizes: tuple[str, str], ksi: tuple[int, int, int]) -> None:
    """Each row of SAE J429 at both ends of its sizes, and a hair above the first row's end."""
    for size in sizes:
        figure = strength_inch(grade=grade, diameter=amount(size, "inch"))
        assert strengths(figure) == tuple(f"{each}000 psi" for each in ksi)
        assert figure.verdict is None


@pytest.mark.parametrize(
    ("grade", "size", "range_"),
    [
        ("5", "0.2499", "0.25 in to 1.5 in"), ("5", "1.5001", "0.25 in to 1.5 in"), ("5.2", "1.0001", "0.25 in to 1 in"),
        ("8", "-1", "0.25 in to 1.5 in"),
    ],
)  # fmt: skip
def test_a_size_outside_of_the_table_is_refused(grade: Grade, size: str, range_: str) -> None:
    """Value, range and source are named."""
    with pytest.raises(ValueError, match=rf"'diameter' is {size} in, and must be from {range_} \(SAE J429"):
        strength_inch(grade=grade, diameter=amount(size, "inch"))


# ISO 898-1 as restated (reference.md 8.2): class, size, proof, yield, tensile in MPa, verdict
METRIC_ROWS = [
    ("8.8", "1.6", (580, 640, 800), None),
    ("8.8", "15.99", (580, 640, 800), None),
    # the chart has 16 mm with the larger ones, the standard as remembered with the smaller: a conflict
    ("8.8", "16", (600, 660, 830), "unsure"),
    ("8.8", "16.01", (600, 660, 830), None),
    ("8.8", "39", (600, 660, 830), None),
    ("10.9", "16", (830, 940, 1040), None),
    ("12.9", "8", (970, 1100, 1220), None),
]


@pytest.mark.parametrize(("name", "size", "megapascals", "verdict"), METRIC_ROWS)
def test_metric_classes(name: PropertyClass, size: str, megapascals: tuple[int, ...], verdict: str | None) -> None:
    """Each row of ISO 898-1, with the step of class 8.8 at 16 mm."""
    figure = strength_metric(property_class=name, diameter=amount(size, "mm"))
    assert strengths(figure) == tuple(f"{each} MPa" for each in megapascals)
    assert figure.verdict == verdict


def test_where_sources_conflict_both_are_named() -> None:
    """At 16 mm the working gives both strengths and which to take."""
    figure = strength_metric(property_class="8.8", diameter=amount("16", "mm"))
    assert figure.working == (
        "class 8.8, 16 mm: proof 600 MPa",
        "of 16 mm one source says 600 MPa, another 580 MPa: take the lesser",
    )
    assert "as restated" in figure.sources[0] and "from memory" in figure.sources[1]
    assert "tighten to the manual" in figure.cautions[0]


def test_a_strength_says_its_row() -> None:
    """The working names the row that was read."""
    figure = strength_inch(grade="2", diameter=amount("19.05", "mm"))
    assert figure.working == ("grade 2, 19.05 mm, up to 0.75 in: proof 55 ksi",)
    assert "SAE J429" in figure.sources[0]
    assert "tighten to the manual" in figure.cautions[0]


# ISO 898-1 as restated by suppliers (reference.md 8.2), N
PUBLISHED_LOADS = {
    "M6": (11600, 16700, 19500),
    "M8": (21200, 30400, 35500),
    "M10": (33700, 48100, 56300),
    "M12": (48900, 70000, 81800),
}
PITCHES = {"M6": "1", "M8": "1.25", "M10": "1.5", "M12": "1.75"}
"""mm; ISO 262 coarse, from memory."""


@pytest.mark.parametrize("thread", get_args(Thread))
def test_proof_loads(thread: Thread) -> None:
    """The published load, and area times strength beside it, within the one percent of reference.md 8.2."""
    for name, load in zip(get_args(PropertyClass), PUBLISHED_LOADS[thread], strict=True):
        figure = proof_load_metric(property_class=name, thread=thread)
        assert figure.amount == amount(str(load), "N")
        ((label, product),) = figure.beside
        assert label == "area_times_strength" and isinstance(product, Amount) and product.unit == "N"
        assert abs(product.value / load - 1) < Decimal("0.01")
    assert {key: tuple(PROOF_LOADS[key]) for key in PROOF_LOADS} == dict.fromkeys(
        get_args(PropertyClass), get_args(Thread)
    )


@pytest.mark.parametrize("thread", get_args(Thread))
def test_stress_areas_are_those_of_the_thread(thread: Thread) -> None:
    """ISO 898-1 clause on stress area, from memory: pi/4 (d - 0.9382 P)^2, an independent way to the table."""
    d, p = float(thread[1:]), float(PITCHES[thread])
    assert math.isclose(math.pi / 4 * (d - 0.9382 * p) ** 2, float(STRESS_AREAS[thread]), rel_tol=0.002)


def test_a_proof_load_can_be_followed() -> None:
    """Reference.md 8.2's own check: 20.1 x 580 = 11658."""
    figure = proof_load_metric(property_class="8.8", thread="M6")
    assert figure.working == ("M6 class 8.8: 11600 N", "20.1 mm2 x 580 MPa = 11658 N")
    assert "ISO 898-1" in figure.sources[0] and "tighten to the manual" in figure.cautions[0]


def test_the_worked_example_in_inches() -> None:
    """reference.md 8.3: 70 ksi, 70 percent, 0.02 in2: 980 lbf; with K 0.20 and 0.19 in: 37.2 lbf.in."""
    tension = preload(strength=amount("70000", "psi"), stress_area=amount("0.02", "in2"), share=amount("70", "percent"))
    assert tension.amount == amount("980", "lbf")
    assert tension.working == ("70000 psi x 0.02 in² x 70 % = 980 lbf",)
    torque = torque_estimate(surface="dry", diameter=amount("0.19", "inch"), tension=tension.amount)
    assert torque.amount == amount("37.2", "lbf_in")
    assert "75 %" in tension.sources[0] and "manual's torque goes before it" in tension.cautions[0]


def test_the_worked_example_in_millimetres() -> None:
    """reference.md 8.3: M8 8.8 at 75 percent of 21200 N: 25.4 N.m dry, 19.1 N.m oiled; 30 percent of scatter."""
    tension = preload_metric(property_class="8.8", thread="M8", joint="reused")
    assert tension.amount == amount("15900", "N")
    assert tension.working == ("M8 class 8.8: proof load 21200 N", "75 % of 21200 N = 15900 N")
    dry = torque_estimate(surface="dry", diameter=amount("8", "mm"), tension=tension.amount)
    oiled = torque_estimate(surface="oiled", diameter=amount("8", "mm"), tension=tension.amount)
    assert (dry.amount, oiled.amount) == (amount("25.4", "Nm"), amount("19.1", "Nm"))
    assert dry.beside == (("least", amount("17.8", "Nm")), ("most", amount("33.1", "Nm")))
    assert dry.working == (
        "T = K d F = 0.20 x 8 mm x 15900 N = 25.4 N·m",
        "with 30 % either way: 17.8 N·m to 33.1 N·m",
    )
    assert "25 to 30 %" in dry.sources[0]
    assert "friction is not known" in dry.cautions[0] and "manual's torque goes before it" in dry.cautions[0]


def test_a_fastener_that_stays_is_stretched_further() -> None:
    """reference.md 8.3: 90 percent of proof load for a permanent joint."""
    figure = preload_metric(property_class="10.9", thread="M10", joint="permanent")
    assert figure.amount == amount("43290", "N")
    assert "ISO 898-1" in figure.sources[0] and "90 %" in figure.sources[1]
    assert "manual" in figure.cautions[0]


# reference.md 8.3, nut factors as restated on a supplier's page
@pytest.mark.parametrize(
    ("surface", "factor"),
    [("dry", "0.20"), ("oiled", "0.15"), ("waxed", "0.10"), ("galvanised", "0.25"), ("cadmium", "0.12")],
)
def test_nut_factors(surface: Surface, factor: str) -> None:
    """A metre and a newton leave the factor itself."""
    found = torque_estimate(surface=surface, diameter=amount("1", "m"), tension=amount("1", "N")).amount
    assert found == amount(str(Decimal(factor).normalize()), "Nm")


@pytest.mark.parametrize(("unit", "answer"), [("inch", "lbf_in"), ("ft", "lbf_in"), ("thou", "lbf_in"), ("mm", "Nm")])
def test_the_estimate_is_in_the_units_of_the_diameter(unit: str, answer: str) -> None:
    """Inches give pound force inches."""
    assert torque_estimate(surface="dry", diameter=amount("1", unit), tension=amount("9", "N")).amount.unit == answer


def test_a_tension_is_in_the_units_of_the_strength() -> None:
    """Megapascals give newtons, rounded to four figures; the same in psi agrees."""
    asked = {"stress_area": amount("36.6", "mm2"), "share": amount("75", "percent")}
    assert preload(strength=amount("580", "MPa"), **asked).amount == amount("15920", "N")
    assert preload(strength=amount("580000", "kPa"), **asked).amount == amount("15920", "N")
    # 580 MPa is 84122 psi, 15921 N are 3579.2 lbf (conversions of reference.md section 3)
    assert preload(strength=amount("84122", "psi"), **asked).amount == amount("3579", "lbf")


@given(st.decimals("1", "90", places=1), st.decimals("1", "50", places=1))
def test_more_share_or_more_size_never_gives_less(share: Decimal, diameter: Decimal) -> None:
    """Tension rises with the share, torque with the diameter and the tension."""
    area, strength = amount("58", "mm2"), amount("830", "MPa")
    less = preload(strength=strength, stress_area=area, share=Amount(share / 2, "percent")).amount
    more = preload(strength=strength, stress_area=area, share=Amount(share, "percent")).amount
    assert less.value < more.value
    low = torque_estimate(surface="oiled", diameter=Amount(diameter, "mm"), tension=less).amount
    high = torque_estimate(surface="oiled", diameter=Amount(diameter + 1, "mm"), tension=more).amount
    assert low.value < high.value


GOOD: dict[str, dict[str, Any]] = {
    "strength_inch": {"grade": "5", "diameter": amount("0.5", "inch")},
    "strength_metric": {"property_class": "8.8", "diameter": amount("8", "mm")},
    "proof_load_metric": {"property_class": "8.8", "thread": "M8"},
    "preload": {
        "strength": amount("580", "MPa"), "stress_area": amount("36.6", "mm2"), "share": amount("90", "percent"),
    },
    "preload_metric": {"property_class": "8.8", "thread": "M8", "joint": "reused"},
    "torque_estimate": {"surface": "dry", "diameter": amount("8", "mm"), "tension": amount("15900", "N")},
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "wrong", "message"),
    [
        ("strength_inch", {"grade": "3"}, "'grade' is '3', and must be one of 1, 2, 5, 5.2, 7, 8, 8.2"),
        ("strength_inch", {"diameter": amount("1", "Nm")}, "'diameter' is 1 N·m .torque., and must be a length"),
        ("strength_metric", {"property_class": "4.6"}, "'property_class' is '4.6', and must be one of 8.8, 10.9, 12.9"),
        (
            "strength_metric",
            {"diameter": amount("1.59", "mm")},
            "^'diameter' is 1.59 mm, and must be from 1.6 mm to 39 mm .ISO 898-1 is for",
        ),
        ("strength_metric", {"diameter": amount("39.1", "mm")}, "must be from 1.6 mm to 39 mm .ISO 898-1 is for"),
        ("proof_load_metric", {"thread": "M5"}, "'thread' is 'M5', and must be one of M6, M8, M10, M12"),
        ("proof_load_metric", {"property_class": "5.8"}, "'property_class' is '5.8'"),
        ("preload", {"share": amount("90.1", "percent")}, "'share' is 90.1 %, and must be at most 90 % .75 %"),
        ("preload", {"share": amount("0", "percent")}, "'share' is 0 %, and must be above zero"),
        ("preload", {"strength": amount("0", "MPa")}, "'strength' is 0 MPa, and must be above zero"),
        ("preload", {"stress_area": amount("0", "mm2")}, "'stress_area' is 0 mm², and must be above zero"),
        ("preload_metric", {"joint": "glued"}, "'joint' is 'glued', and must be one of reused, permanent"),
        ("torque_estimate", {"surface": "wet"}, "'surface' is 'wet', and must be one of dry, oiled, waxed"),
        ("torque_estimate", {"diameter": amount("0", "mm")}, "'diameter' is 0 mm, and must be above zero"),
        ("torque_estimate", {"tension": amount("-1", "N")}, "'tension' is -1 N, and must be above zero"),
    ],
)
def test_what_is_not_in_a_table_is_refused(name: str, wrong: dict[str, Any], message: str) -> None:
    """The input, its value and what it may be are named; the good call is taken, by name."""
    with pytest.raises(ValueError, match=message):
        BY_NAME[name].function(**{**GOOD[name], **wrong})
    assert BY_NAME[name](**GOOD[name]).working


@pytest.mark.parametrize("means", get_args(Means))
def test_notes_are_marked_as_practice(means: Means) -> None:
    """Each means has notes, each a sentence, marked `common practice, no source`, with the manual before them."""
    figure = joint_notes(means=means)
    assert figure.answer == f"{len(figure.working)} notes, common practice, no source"
    assert figure.sources == ("common practice, no source",)
    assert figure.working == NOTES[means] and all(note.endswith(".") for note in figure.working)
    assert "manual" in figure.cautions[0] and "gloves" in figure.cautions[1]


@pytest.mark.parametrize(
    ("means", "words"),
    [
        (
            "thread_locker",
            ("clean, dry and free of oil", "never under the bolt's head", "cure before the machine runs"),
        ),
        ("thread_sealant", ("first two threads bare", "never where an o-ring")),
        ("locknut", ("by hand no longer locks", "one whole thread shows", "ac 43.13-1b para 7-40")),
        ("split_pin", ("never back",)),
        ("anti_seize", ("stretches the bolt too far",)),
        ("gasket_sealant", ("inside the bolt holes",)),
        ("lock_washer", ("tab",)),
    ],
)
def test_the_notes_say_what_matters(means: Means, words: tuple[str, ...]) -> None:
    """The rules that go wrong most (common practice, no source)."""
    told = " ".join(joint_notes(means=means).working).lower()
    assert [word for word in words if word not in told] == []


def test_a_means_without_notes_is_refused() -> None:
    """The means that have notes are listed."""
    with pytest.raises(ValueError, match="'means' is 'glue', and must be one of thread_locker, thread_sealant"):
        joint_notes(means="glue")
