"""A bare number is of the unit that the assistant said: that of the sheet's value. Factors: reference.md section 3 (NIST)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from assistant.core.binding import bind
from assistant.core.machine import MachineSheet, NamedValue, Site
from assistant.core.procedure import Limit, Procedure, Reading, Step
from assistant.core.sheet_unit import in_sheet_unit
from assistant.core.units import Amount
from tests.conversation import Conversation


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


def torque(*limits: Limit, places: int = 1) -> Reading:
    return Reading("torque", "Torque", unit="lbf_ft", plausible=(Decimal(1), Decimal(60)), places=places, limits=limits)


NAMED = (Limit("at_most", high="of_the_sheet"),)
"""As the limit was written: by a name."""


def bay(torque_of_sheet: Amount) -> Conversation:
    limit = Limit("target", target="plug_torque", tolerance=amount("4", "percent"))
    step = Step("plug", "Plug", "Tighten it to {plug_torque}. Say the torque that you set.", readings=(torque(limit),))
    values = {"plug_torque": NamedValue("plug_torque", torque_of_sheet, "page 6-4")}
    found = bind(
        Procedure("p", "P", 1, "boat", {}, {}, (), (), (step,)), MachineSheet("T", "boat", {}, values, {}), Site()
    )
    assert found.problems == ()
    return Conversation(found.procedure).start()


@pytest.mark.parametrize(
    ("sheet", "said", "read_back"),
    [
        (amount("20", "Nm"), "twenty", "two zero newton metres, within limits."),
        (
            amount("20", "Nm"),
            "fifteen",
            "one five newton metres, low; two zero newton metres, within four percent either way.",
        ),
        (amount("15", "lbf_ft"), "fifteen", "one five pound force feet, within limits."),
        (amount("180", "lbf_in"), "one eighty", "one eight zero pound force inches, within limits."),
        # said with its unit it is that unit, and kept in the sheet's: 15 lbf.ft = 20.337 N.m
        (
            amount("20", "Nm"),
            "fifteen foot pounds",
            "one five pound force feet, that is two zero decimal three newton metres, within limits.",
        ),
    ],
)
def test_a_bare_number_is_of_the_unit_that_was_said(sheet: Amount, said: str, read_back: str) -> None:
    assert bay(sheet).hear(said)[0] == read_back


def test_what_is_plausible_is_widened_to_the_other_unit() -> None:
    """1 to 60 lbf.ft are 1.3558 to 81.349 N.m (1 lbf.ft = 1.3558179 N.m, NIST SP 811)."""
    found = in_sheet_unit(torque(Limit("at_most", high=amount("20", "Nm"))), NAMED)
    assert (found.unit, found.plausible, found.places) == ("Nm", (Decimal("1.3"), Decimal("81.4")), 1)


def test_a_larger_unit_gets_more_places() -> None:
    """A whole psi is a fifteenth of a bar (14.5038 psi): one place more."""
    pressure = Reading(
        "p", "P", unit="psi", plausible=(Decimal(0), Decimal(400)), limits=(Limit("at_least", low=amount("12", "bar")),)
    )
    found = in_sheet_unit(pressure, NAMED)
    assert (found.unit, found.places, found.plausible) == ("bar", 1, (Decimal("0.0"), Decimal("27.6")))


@pytest.mark.parametrize(
    "limits",
    [
        (),
        (Limit("between", low=amount("14", "lbf_ft"), high=amount("20", "Nm")),),
        (Limit("at_least", low=amount("14", "lbf_ft")), Limit("at_most", high=amount("20", "Nm"))),
        (Limit("at_most", high=amount("5", "percent"), compared="differs_from", other="other"),),
        (Limit("at_least", low=amount("20", "Nm"), by="torque_in"),),
    ],
)
def test_without_one_unit_of_its_bounds_it_stays_as_it_was_written(limits: tuple[Limit, ...]) -> None:
    assert in_sheet_unit(torque(*limits), NAMED) == torque(*limits)


def test_a_bound_that_the_procedure_wrote_itself_changes_nothing() -> None:
    """Nobody said it: the procedure's unit is the one that the technician knows."""
    literal = (Limit("at_most", high=amount("20", "Nm")),)
    assert in_sheet_unit(torque(*literal), literal) == torque(*literal)
