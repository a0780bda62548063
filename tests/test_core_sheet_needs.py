"""What a procedure wants of a sheet: every name that binding would miss, with its kind and its steps."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

import pytest

from assistant.core.binding import bind
from assistant.core.machine import MachineSheet, Site
from assistant.core.procedure import Procedure
from assistant.core.sheet_needs import needs_of
from assistant.core.units import kind_of
from assistant.files.procedure_file import load_procedure, read_procedure
from assistant.files.sheet_file import load_sheet
from assistant.files.site_file import load_site
from tests.conversation import TABLES

ROOT = Path(__file__).parent.parent
SHIPPED = load_procedure(ROOT / "procedures/pwc-off-season.yaml")
SHORT = load_procedure(TABLES / "short.yaml")


def missed(procedure: Procedure, site: Site, counts: Mapping[str, int]) -> str:
    """What the binding complains of with a sheet that has nothing but these counts."""
    empty = MachineSheet("M", procedure.machine_class, counts, {}, {})
    return "\n".join(problem.what for problem in bind(procedure, empty, site).problems)


@pytest.mark.parametrize("procedure", [SHIPPED, SHORT], ids=["shipped", "short"])
def test_what_binding_misses_is_wanted(procedure: Procedure) -> None:
    """Each name that an empty sheet does not give, and no other, is on the list."""
    needs = needs_of(procedure)
    told = missed(procedure, Site(), dict.fromkeys(needs.counts, 4))
    assert set(re.findall(r"nothing gives the value '(\w+)'", told)) == set(needs.values)
    uncounted = missed(procedure, Site(), {})
    assert set(re.findall(r"does not count '(\w+)'", uncounted)) == set(needs.counts)
    assert set(re.findall(r"has no part '(\w+)'", told)) == set(needs.parts)


def test_what_the_site_gives_is_not_wanted() -> None:
    """The shipped procedure wants three numbers of the shop."""
    site = load_site(ROOT / "procedures/our-shop.site.yaml")
    gone = set(needs_of(SHIPPED).values) - set(needs_of(SHIPPED, site.values).values)
    assert gone == {"lowest_expected", "coolant_margin"}


def test_the_shipped_sheet_gives_each_number_in_the_kind_that_is_wanted() -> None:
    """The kind is found from readings, computations and joints, and for what is only said from its least or most."""
    sheet, site = load_sheet(ROOT / "procedures/tern-3.sheet.yaml"), load_site(ROOT / "procedures/our-shop.site.yaml")
    needs = needs_of(SHIPPED, site.values).values
    assert needs.keys() <= sheet.values.keys()
    for name, need in needs.items():
        assert need.kind == kind_of(sheet.values[name].amount.unit)
        assert sheet.values[name].amount.unit in need.units
        assert need.steps


def test_the_steps_and_the_customary_unit_of_a_number() -> None:
    """In the order of the procedure, through what is worked out of it."""
    needs = needs_of(SHIPPED).values
    assert needs["fuel_tank"].steps == ("Fuel stabiliser",)
    assert needs["plug_torque"].steps == ("Plug torque, cylinder N",)
    assert needs["plug_torque"].units[0] == "lbf_ft"
    assert [r.name for r in needs["plug_torque"].readings] == ["plug_torque"]
    assert needs["fuel_tank"].readings == ()
    assert needs["compression_usual"].units[0] == "psi"
    assert needs["oil_held_back"].steps == ("First oil in, the last ... held back",)
    places = [
        [step.title.split(",")[0].split(" {")[0] for step in SHIPPED.steps].index(n.steps[0].split(",")[0])
        for n in needs.values()
    ]
    assert places == sorted(places)


LIMITS = [
    ("{target: wanted, within: tolerance}", "tolerance", ("percent", "m"), "share"),
    ("{at_least: wanted, uncertainty: gauge}", "gauge", ("percent", "m"), "share"),
    ("{less_than: last_season, at_most: wear}", "wear", ("mm", "percent"), "length"),
    ("{between: [low, wanted]}", "low", ("mm", "inch"), "length"),
]


@pytest.mark.parametrize(("limit", "name", "fit", "kind"), LIMITS)
def test_a_tolerance_may_be_a_share_or_an_amount(limit: str, name: str, fit: tuple[str, ...], kind: str) -> None:
    """The customary first; what is of neither kind does not fit."""
    text = (TABLES / "short.yaml").read_text("utf-8")
    text = text.replace(
        "unit: V, plausible: [0, 20], places: 1, limits: [{at_least: battery_least}]",
        f"unit: mm, plausible: [0, 20], limits: [{limit}]",
    )
    need = needs_of(read_procedure(text, "p.yaml")).values[name]
    assert need.units[0] == fit[0]
    assert set(fit) <= set(need.units)
    assert need.kind == kind
    assert "psi" not in need.units
