"""The shipped lay-up: it loads, binds, proves; it holds what the job asks for; taking a safeguard out is noticed."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from assistant.core.binding import bind
from assistant.core.procedure import Procedure, Reading, Step
from assistant.core.proof import prove
from assistant.core.speech import commands
from assistant.core.units import Amount
from assistant.files.procedure_file import load_procedure
from assistant.files.sheet_file import load_sheet
from assistant.files.site_file import load_site

ROOT = Path(__file__).parent.parent
RAW = load_procedure(ROOT / "procedures/pwc-off-season.yaml")
BOUND = bind(RAW, load_sheet(ROOT / "procedures/tern-3.sheet.yaml"), load_site(ROOT / "procedures/our-shop.site.yaml"))
STEPS = BOUND.procedure.steps
VOCABULARY = {line.split()[0] for line in (ROOT / "models/bench-en/graph/words.txt").read_text().splitlines()}


def reading(step_id: str, name: str = "") -> Reading:
    step = BOUND.procedure.step(step_id)
    return next(r for r in step.readings if r.name == (name or step_id))


def before(*ids: str) -> bool:
    places = [BOUND.procedure.index(name) for name in ids]
    return places == sorted(places)


def test_it_binds_without_a_problem_and_has_forty_steps() -> None:
    """Every name is given by the sheet, the site or a trade computation."""
    assert BOUND.problems == ()
    assert len(RAW.steps) >= 40


def test_it_is_proved_safe() -> None:
    """No order of answers reaches a never, and when all goes well nothing has to be affirmed."""
    proof = prove(BOUND.procedure)
    assert proof.ok, str(proof.counterexample)
    assert proof.asked == ()
    assert prove(RAW).ok


def without(step_id: str, condition: str) -> Procedure:
    def thinner(step: Step) -> Step:
        if step.id != step_id:
            return step
        return replace(step, needs={name: value for name, value in step.needs.items() if name != condition})

    return replace(RAW, steps=tuple(thinner(step) for step in RAW.steps))


WATCHED = [
    ("stop_after_flush", "water"), ("stop_after_antifreeze", "antifreeze"), ("water_on", "engine"),
    ("antifreeze_on", "engine"), ("start_for_flush", "ventilation"), ("start_for_antifreeze", "oil"),
    ("start_for_flush", "battery"), ("start_for_flush", "support"), ("start_for_antifreeze", "plugs"),
    ("start_for_antifreeze", "drive"), ("plugs_out", "ignition"), ("ignition_on", "plugs"), ("oil_out", "engine"),
    ("oil_out", "water"), ("drive_out", "lanyard"), ("drive_out", "support"), ("compression", "drive"),
    ("battery_off", "engine"), ("display_on", "drive"),
]  # fmt: skip


@pytest.mark.parametrize(("step_id", "condition"), WATCHED)
def test_taking_one_need_out_is_found(step_id: str, condition: str) -> None:
    """Each safeguard carries weight: without it there is a conversation that ends in harm."""
    proof = prove(without(step_id, condition))
    assert not proof.ok
    assert proof.counterexample is not None
    assert proof.counterexample.answers


def test_water_before_the_engine_is_found() -> None:
    """The flush turned round."""
    steps = list(RAW.steps)
    a, b = RAW.index("start_for_flush"), RAW.index("water_on")
    steps[a], steps[b] = steps[b], steps[a]
    needless = tuple(replace(step, needs={}) if step.id == "water_on" else step for step in steps)
    assert not prove(replace(RAW, steps=needless)).ok


def test_the_order_is_the_safe_one() -> None:
    """Fuel, flush with the engine first on and last off, warm before the oil, drive after the battery."""
    assert before("ventilation", "fuel_dose", "start_for_flush", "water_on", "warm", "water_off", "stop_after_flush")
    assert before("stop_after_flush", "oil_out", "oil_first", "oil_last", "start_for_antifreeze", "antifreeze_on")
    assert before("antifreeze_on", "antifreeze_off", "stop_after_antifreeze", "compression", "plug.1", "fog.1", "crank")
    assert before("crank", "coolant", "battery_off", "drive_out", "impeller_gap", "drive_in", "protect", "hand_over")


def test_the_values_asked_for_are_there() -> None:
    """Issue 3, point 9, value by value."""
    assert "7.5 U S fluid ounces" in BOUND.procedure.step("fuel_dose").say
    assert reading("warm", "warm_temperature").limits[0].low == Amount(Decimal(150), "degF")
    assert "2 U S quarts" in BOUND.procedure.step("oil_first").say
    assert reading("antifreeze_used").limits[0].low == Amount(Decimal(3), "us_gal")
    assert reading("antifreeze_used").limits[0].high == Amount(Decimal(4), "us_gal")
    assert reading("compression").positions == (1, 2, 3)
    assert reading("compression").limits[1].share == 10
    assert "195 P S I" in BOUND.procedure.step("compression").say
    assert "89 pound force inches" in BOUND.procedure.step("filter_cover").say
    assert "66 pound force inches" in BOUND.procedure.step("ride_plate").say
    assert reading("coolant", "coolant_stands").limits[0].high == Amount(Decimal(-35), "degF")
    for n in (1, 2, 3):
        fog = BOUND.procedure.step(f"fog.{n}").countdown
        assert fog is not None
        assert 3 <= fog.seconds <= 4
    crank = BOUND.procedure.step("crank").countdown
    assert crank is not None
    assert crank.seconds == 5
    assert BOUND.procedure.step("battery_off").say.startswith("Take the negative lead off first")


def test_what_is_counted_off_is_counted_back_on() -> None:
    """Screws, O-rings, washers, bushings, tools."""
    pairs = {lim.other for step in STEPS for r in step.readings for lim in r.limits if lim.rule == "same_as"}
    assert pairs == {
        "cover_screws_off", "cover_orings_off", "washers_off", "pump_orings_off", "bushings_off", "tools_out",
    }  # fmt: skip


def test_every_answer_can_be_heard() -> None:
    """Names and choices of readings are words of the bench model, and no choice is a command."""
    said = {form for name in commands.BY_NAME for form in commands.BY_NAME[name].said}
    for step in STEPS:
        for r in step.readings:
            phrases = [r.ask.lower(), r.each, *(phrase for choice in r.choices for phrase in choice.words)]
            assert not {word for phrase in phrases for word in phrase.split()} - VOCABULARY, (step.id, r.name)
            assert not said.intersection(phrases), (step.id, r.name)


def test_prompts_can_be_held_in_the_head() -> None:
    """About twenty words, at most two sentences; cautions likewise."""
    for step in STEPS:
        assert len(step.say.split()) <= 20, step.id
        assert len(re.findall(r"[.?!](?= |$)", step.say)) <= 2, step.id
        assert all(len(caution.split()) <= 22 for caution in step.cautions), step.id


def test_every_limit_says_where_it_comes_from() -> None:
    """A page, a label, or that it is practice."""
    assert [r.name for step in STEPS for r in step.readings for limit in r.limits if not limit.source] == []
