"""Cautions that come after the act: found by the machine's conditions, beside the order that is right."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from assistant.core.ear_lint.cautions import too_late
from assistant.core.ear_lint.findings import Finding
from assistant.core.procedure import Procedure, Step
from assistant.files.procedure_file import load_procedure

SHIPPED = load_procedure(Path(__file__).parent.parent / "procedures/pwc-off-season.yaml")
CONDITIONS = {
    "engine": ("stopped", "running"), "support": ("stand", "hoist"), "lid": ("shut", "open"), "water": ("off", "on"),
    "head": ("cold", "hot"),
}  # fmt: skip
START = {"engine": "stopped", "support": "stand", "lid": "shut", "water": "off", "head": "cold"}
FUMES = "Stay out of the exhaust."
BELTS = "Belts turn: hair and sleeves away."
OTHER = "Goggles on."


def procedure(*steps: Step) -> Procedure:
    """These steps, numbered by line, in a procedure of the conditions above."""
    numbered = tuple(replace(step, line=10 * n) for n, step in enumerate(steps, 1))
    return Procedure("p", "P", 1, "m", START, CONDITIONS, (), (), numbered)


def step(name: str, *cautions: str, makes: dict[str, str] | None = None, needs: dict[str, str] | None = None) -> Step:
    """One step that says nothing much."""
    return Step(name, name, "Go on.", cautions=cautions, makes=makes or {}, needs=needs or {})


RUN, LIFT, HEAT = {"engine": "running"}, {"support": "hoist"}, {"head": "hot"}
OPEN, SHUT = {"lid": "open"}, {"lid": "shut"}
CASES = {
    "the exhaust after the start": (["must"], (step("start", makes=RUN), step("warm", FUMES, needs=RUN))),
    "the exhaust at the start": ([], (step("start", FUMES, makes=RUN), step("warm", FUMES, needs=RUN))),
    "the exhaust before the start": ([], (step("door", FUMES), step("start", makes=RUN), step("warm", FUMES))),
    "another caution at the start": (["must"], (step("start", OTHER, makes=RUN), step("warm", FUMES, needs=RUN))),
    "told though it need not run": (["must"], (step("start", makes=RUN), step("look", BELTS))),
    "belts told as fumes": (["must"], (step("start", FUMES, makes=RUN), step("look", BELTS))),
    "stopped again before": ([], (step("start", makes=RUN), step("stop", makes={"engine": "stopped"}), step("x", FUMES))),
    "never started": ([], (step("look", FUMES), step("look_again", BELTS))),
    "hanging": (["must"], (step("lift", makes=LIFT), step("under", "Nobody under a lifted machine."))),
    "hanging, told when lifted": ([], (step("lift", "Nobody under a lifted machine.", makes=LIFT), step("under"))),
    "hot": (["must"], (step("warm", makes=HEAT), step("cap", "The coolant is hot."))),
    "hot, told when warmed": ([], (step("warm", "It gets hot.", makes=HEAT), step("cap", "The coolant is hot."))),
    "made already": (["must"], (step("open", makes=OPEN), step("again", OTHER, makes=OPEN))),
    "made already, with a caution": ([], (step("open", OTHER, makes=OPEN), step("again", OTHER, makes=OPEN))),
    "made only in part already": (
        [], (step("open", makes=OPEN), step("more", OTHER, makes={"lid": "open", "water": "on"})),
    ),
    "so at the start": ([], (step("first", OTHER, makes={"lid": "shut"}),)),
    "by name": (["should"], (step("open", makes=OPEN), step("in", "The open lid cuts fingers.", needs=OPEN))),
    "by name, not needed": ([], (step("open", makes=OPEN), step("in", "The open lid cuts fingers."))),
    "by name, another value": ([], (step("open", makes=OPEN), step("in", "Fingers off the lid.", needs=OPEN))),
    "by name, a word that is everywhere": (
        [], (step("tap", makes={"water": "on"}), step("in", "No water on the coil.", needs={"water": "on"})),
    ),
    "by name, put back": (
        [],
        (step("open", OTHER, makes=OPEN), step("shut", makes=SHUT), step("in", "A shut lid.", needs=SHUT)),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("expected", "steps"), CASES.values(), ids=CASES)
def test_order_of_caution_and_act(expected: list[str], steps: tuple[Step, ...]) -> None:
    """Each case finds what it names, and its neighbour nothing."""
    assert [one.grade for one in too_late(procedure(*steps))] == expected


def test_it_says_which_step_was_too_early_and_where_the_caution_belongs() -> None:
    """The finding stands at the caution; it names the maker, its line, and the condition."""
    [found] = too_late(procedure(step("start", makes=RUN), step("warm", OTHER, FUMES, needs=RUN)))
    assert (found.step, found.line, found.path) == ("warm", 20, ("cautions", 1))
    assert "'start' has made engine running" in found.what
    assert "line 10" in found.do


def found_without(step_id: str, moved_to: str) -> list[Finding]:
    """The shipped procedure with the cautions of one step moved to a later one."""
    moved = SHIPPED.step(step_id).cautions
    steps = [replace(s, cautions=()) if s.id == step_id else s for s in SHIPPED.steps]
    steps = [replace(s, cautions=(*moved, *s.cautions)) if s.id == moved_to else s for s in steps]
    return list(too_late(replace(SHIPPED, steps=tuple(steps))))


def test_the_shipped_procedure_has_every_caution_in_time() -> None:
    """Nothing is found in it as it stands."""
    assert list(too_late(SHIPPED)) == []


@pytest.mark.parametrize(
    ("step_id", "later"),
    [
        ("start_for_flush", "water_on"),
        ("start_for_flush", "running_display"),
        ("start_for_flush", "exhaust_temperature"),
        ("ventilation", "running_display"),
    ],
)
def test_a_caution_of_it_that_is_moved_behind_the_act_is_found(step_id: str, later: str) -> None:
    """The turning parts after the start; carbon monoxide when the engine already runs."""
    assert "must" in [one.grade for one in found_without(step_id, later) if one.step == later]
