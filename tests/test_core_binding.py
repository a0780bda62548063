"""Binding: names become amounts, placeholders become words, one step a cylinder; what nothing gives is told."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from assistant.core.binding import bind, say_amount
from assistant.core.machine import MachineSheet, NamedValue, Site, WantedPart
from assistant.core.procedure import Countdown, Limit, Procedure, Reading, Step, WorkedOut
from assistant.core.units import Amount


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


def reading(*limits: Limit, unit: str = "psi", each: str = "cylinder") -> Reading:
    return Reading("compression", "Compression", "measured", unit, (Decimal(0), Decimal(400)), each=each, limits=limits)


STEP = Step("test", "Test", "Wait for {least}.", readings=(reading(Limit("at_least", low="least")),), line=7)
SHEET = MachineSheet(
    "Tern", "boat", {"cylinder": 3}, {"least": NamedValue("least", amount("190", "psi"), "page 6-8")},
    {"filter": WantedPart("filter", "filter")}, "s.yaml",
)  # fmt: skip
SITE = Site("S", {"coldest": NamedValue("coldest", amount("-20", "degF"), "log")})


def procedure(*steps: Step, work: tuple[WorkedOut, ...] = (), machine_class: str = "boat") -> Procedure:
    return Procedure("p", "P", 1, machine_class, {}, {}, (), work, steps, "p.yaml")


def problems(p: Procedure) -> str:
    return "\n".join(str(problem) for problem in bind(p, SHEET, SITE).problems)


def test_a_name_becomes_the_amount_with_its_source() -> None:
    """The limit holds the sheet's number and page, the prompt says it, the reading has its positions."""
    bound = bind(procedure(STEP), SHEET, SITE)
    step = bound.procedure.step("test")
    assert bound.problems == ()
    assert step.say == "Wait for 190 P S I."
    assert step.readings[0].limits[0].low == amount("190", "psi")
    assert step.readings[0].limits[0].source == "page 6-8"
    assert step.readings[0].positions == (1, 2, 3)


def test_a_step_for_each_cylinder_becomes_one_a_cylinder() -> None:
    """Three ids, the number filled in everywhere."""
    fog = Step(
        "fog", "Fog {cylinder}", "Cylinder {cylinder}.", ("Hot {cylinder}.",), countdown=Countdown(4), each="cylinder"
    )
    steps = bind(procedure(fog), SHEET, SITE).procedure.steps
    assert [(s.id, s.at, s.title, s.say, s.cautions[0]) for s in steps] == [
        (f"fog.{n}", n, f"Fog {n}", f"Cylinder {n}.", f"Hot {n}.") for n in (1, 2, 3)
    ]


def test_a_worked_out_value_may_use_site_sheet_and_earlier_ones() -> None:
    """Ten degrees below the coldest (reference.md 5.2), and ten below that."""
    work = (
        WorkedOut("target", "colder_by", {"temperature": "coldest", "margin": amount("10", "delta_F")}),
        WorkedOut("lower", "colder_by", {"temperature": "target", "margin": amount("10", "delta_F")}),
    )
    bound = bind(procedure(Step("s", "S", "{target}, {lower}"), work=work), SHEET, SITE)
    assert bound.problems == ()
    assert bound.procedure.steps[0].say == "minus 30 degrees Fahrenheit, minus 40 degrees Fahrenheit"


BAD = [
    (Step("s", "S", "{leest}", line=9), "p.yaml:9: step 's': nothing gives the value 'leest'\n  did you mean 'least'?"),
    (Step("s", "S", "{least", line=9), "p.yaml:9: step 's': a bracket too many"),
    (
        Step("s", "S", "x", parts=("filtr",), line=9),
        "p.yaml:9: step 's': the sheet has no part 'filtr'\n  did you mean",
    ),
    (Step("s", "S", "x", each="cell", line=9), "p.yaml:9: step 's': the sheet does not count 'cell'"),
    (
        replace(STEP, readings=(reading(Limit("at_least", low="coldest")),)),
        "-20 °F is a temperature, the reading a pressure",
    ),
    (
        replace(STEP, readings=(reading(Limit("at_most", high=amount("900", "psi"))),)),
        "lies outside of what is plausible",
    ),
    (
        replace(STEP, readings=(reading(Limit("between", low=amount("9", "psi"), high=amount("1", "psi"))),)),
        "nothing lies between 9 psi and 1 psi",
    ),
    (replace(STEP, readings=(reading(Limit("spread", share=Decimal(10)), each=""),)), "a spread is of a set"),
    (replace(STEP, readings=(reading(Limit("same_as", other="gone")),)), "'gone' is measured in 'None', not in 'psi'"),
]


@pytest.mark.parametrize(("step", "message"), BAD)
def test_what_does_not_fit_is_told_with_the_line_of_its_step(step: Step, message: str) -> None:
    """Unknown names, parts and counts, limits of another kind or outside of what can be read."""
    assert message in problems(procedure(step))


@pytest.mark.parametrize(
    ("work", "message"),
    [
        (WorkedOut("d", "dose", {}, 5), "p.yaml:5: work_out 'd': there is no computation 'dose'"),
        (WorkedOut("d", "colder_by", {"temperature": "coldest"}, 5), "colder_by needs 'margin'"),
        (
            WorkedOut("d", "colder_by", {"temperature": "coldest", "margin": "coldest", "by": "least"}, 5),
            "does not take 'by'",
        ),
        (
            WorkedOut("d", "colder_by", {"temperature": "least", "margin": amount("1", "delta_F")}, 5),
            "must be a temperature",
        ),
        (
            WorkedOut("least", "hold_back", {"capacity": amount("3", "us_qt"), "held": amount("1", "us_qt")}, 5),
            "given twice",
        ),
    ],
)
def test_a_computation_that_cannot_be_made_is_told_once(work: WorkedOut, message: str) -> None:
    """By name, by arguments, by kind of quantity; what depends on it is not complained of again."""
    said = problems(procedure(Step("s", "S", "{d}" if work.name == "d" else "x"), work=(work,)))
    assert message in said
    assert said.count("p.yaml") == 1


def test_another_class_of_machine_is_refused() -> None:
    """A sheet of a mower does not fit a boat."""
    assert "this procedure is for 'mower', the sheet for 'boat'" in problems(procedure(STEP, machine_class="mower"))


@pytest.mark.parametrize(
    ("number", "unit", "said"),
    [
        ("195", "psi", "195 P S I"),
        ("3.50", "us_qt", "3.5 U S quarts"),
        ("1", "us_gal", "1 U S gallon"),
        ("1", "inch", "1 inch"),
        ("1", "lbf_ft", "1 pound force foot"),
        ("1", "degC", "1 degree Celsius"),
        ("1", "psi", "1 P S I"),
        ("-34", "degF", "minus 34 degrees Fahrenheit"),
        ("2", "count", "2"),
        ("5.6492414513", "Nm", "5.649 newton metres"),
    ],
)
def test_amounts_are_said_with_their_unit(number: str, unit: str, said: str) -> None:
    """A US gallon says that it is one; one of a thing is not plural."""
    assert say_amount(amount(number, unit)) == said
