"""Thirty slips that a writer may make in the shipped procedures, each of which could hurt: the proof catches every one.

A slip is a condition forgotten (`without`), a step moved with what it needed left behind (`moved`), or needs asked for in
an order that is itself the harm (`asked first`).
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from assistant.core.procedure import Procedure, Step
from assistant.core.proof import prove
from assistant.files.procedure_file import load_procedure

HERE = Path(__file__).parents[1] / "procedures"


@cache
def shipped(name: str) -> Procedure:
    return load_procedure(HERE / f"{name}.yaml")


def without(p: Procedure, step: str, *conditions: str) -> Procedure:
    """The step no longer asks for these."""
    needs = {name: value for name, value in p.step(step).needs.items() if name not in conditions}
    assert len(needs) == len(p.step(step).needs) - len(conditions)
    return _with(p, replace(p.step(step), needs=needs))


def moved(p: Procedure, step: str, before: str, *conditions: str) -> Procedure:
    """The step stands before another, and no longer asks for what came first there."""
    p = without(p, step, *conditions)
    rest = [one for one in p.steps if one.id != step]
    place = [one.id for one in rest].index(before)
    return replace(p, steps=(*rest[:place], p.step(step), *rest[place:]))


def asked_first(p: Procedure, step: str, condition: str) -> Procedure:
    """Of what the step needs this is asked for first."""
    needs = p.step(step).needs
    assert list(needs).index(condition) > 0
    return _with(p, replace(p.step(step), needs={condition: needs[condition], **needs}))


def _with(p: Procedure, changed: Step) -> Procedure:
    return replace(p, steps=tuple(changed if one.id == changed.id else one for one in p.steps))


PWC, PWC2, OUT = "pwc-off-season", "pwc-two-stroke-off-season", "outboard-off-season"
SLIPS = [
    # water and antifreeze before the engine, or after it
    (PWC, moved, ("water_on", "start_for_flush", "engine"), "Flushing water"),
    (PWC, moved, ("antifreeze_on", "start_for_antifreeze", "engine"), "Antifreeze fed to a stopped engine"),
    (PWC, without, ("water_on", "engine"), "Flushing water"),
    (PWC, without, ("compression", "water"), "Flushing water"),
    (PWC, without, ("compression", "antifreeze"), "Antifreeze fed to a stopped engine"),
    (PWC, asked_first, ("battery_off", "engine"), "Flushing water"),
    (PWC2, moved, ("water_on", "start_for_flush", "engine"), "Flushing water"),
    (PWC2, without, ("drive_out", "water"), "Flushing water"),
    (PWC2, without, ("fogging_port", "antifreeze"), "Antifreeze fed to a stopped engine"),
    # engines in closed rooms, without oil, without water, with open holes
    (PWC, without, ("start_for_flush", "ventilation"), "closed bay"),
    (PWC, without, ("start_for_flush", "battery"), "charging"),
    (PWC, without, ("crank", "drive"), "the engine can start while"),
    (PWC2, without, ("antifreeze_on", "oil_supply"), "oil in its fuel"),
    (PWC2, without, ("start_for_flush", "bilge"), "fuel vapour"),
    ("pwc-spring", without, ("start", "oil"), "without oil"),
    ("pwc-spring", without, ("battery_on", "pump_area"), "impeller"),
    ("pwc-two-stroke-spring", without, ("start_afloat", "drains"), "sinks"),
    (OUT, without, ("tilt_up", "engine"), "Without water"),
    (OUT, without, ("start", "propeller"), "the propeller can turn"),
    (OUT, without, ("fuel_filter_off", "key"), "sprays fuel"),
    ("outboard-spring", without, ("start_afloat", "hull_plug"), "sinks"),
    # generators: houses, rooms, fuel
    ("generator-off-season", without, ("load_on", "house"), "Back-feed"),
    ("generator-off-season", without, ("start", "place"), "carbon monoxide"),
    ("generator-off-season", without, ("fuel_fill", "place"), "Fuel vapour indoors"),
    ("generator-spring", without, ("shroud_removed", "lead"), "can fire the engine"),
    # mowers: the blade, the tipped tank
    ("mower-off-season", without, ("scrape", "lead"), "A blade turned by hand"),
    ("mower-off-season", without, ("blade_off", "tank"), "tipped tank"),
    ("mower-spring", without, ("start_for_trial", "guards"), "throws stones"),
    # quads: stands, belts
    ("quad-off-season", without, ("grease", "parked"), "can roll"),
    ("quad-spring", without, ("start", "belt_case"), "hands"),
]


@pytest.mark.parametrize(("name", "slip", "where", "harm"), SLIPS)
def test_each_slip_is_caught_with_the_conversation_that_leads_to_its_harm(
    name: str, slip: object, where: tuple[str, ...], harm: str
) -> None:
    assert callable(slip)
    found = prove(slip(shipped(name), *where)).counterexample
    assert found is not None
    assert harm in found.never.because
    assert found.answers
    assert str(found).endswith(found.never.because)


def test_there_are_thirty_and_without_them_every_procedure_is_proved() -> None:
    assert len(SLIPS) == 30
    assert all(prove(shipped(name)).ok for name in {name for name, *_ in SLIPS})
