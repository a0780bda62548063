"""A joint's order is spoken fastener by fastener, and no answer mixes it up.

Reference: 1-5-3-7-2-6-4-8 for eight and 1-3-2-4 for four on a circle (reference.md section 8.5, from memory); steps of about
30 percent and then circular passes (ASME PCC-1 appendix F, as restated by a gasket supplier).
"""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from assistant.core.binding import bind
from assistant.core.machine import MachineSheet, Site
from assistant.core.procedure import Joint, Procedure, Step
from assistant.core.trade.tightening import circle_order, rectangle_order
from assistant.core.units import Amount
from tests.conversation import Conversation

TORQUE = Amount(Decimal(30), "lbf_ft")


HEAD = Joint("head_bolt", "circle", TORQUE)


def joint(**other: object) -> Step:
    return Step("head", "Head bolts", "Oil the threads.", ("Mind your hand.",), tighten=replace(HEAD, **other))


def bound(step: Step, count: int) -> tuple[tuple[Step, ...], list[str]]:
    sheet = MachineSheet("Tern", "boat", {"head_bolt": count}, {}, {})
    found = bind(Procedure("p", "P", 1, "boat", {}, {}, (), (), (step,)), sheet, Site())
    return found.procedure.steps, [str(problem) for problem in found.problems]


def spoken_order(steps: tuple[Step, ...]) -> list[int]:
    return [int(step.say.removesuffix(".").rpartition("Head bolt ")[2]) for step in steps[1:]]


def test_the_four_of_the_handbook_are_spoken_in_its_order_three_times_and_once_round() -> None:
    steps, problems = bound(joint(), 4)
    assert problems == []
    assert spoken_order(steps) == [1, 3, 2, 4] * 3 + [1, 2, 3, 4]
    assert spoken_order(bound(joint(), 8)[0])[:8] == [1, 5, 3, 7, 2, 6, 4, 8]


def test_each_stage_begins_with_its_torque_and_the_rest_is_the_fastener_alone() -> None:
    steps, _ = bound(joint(), 4)
    assert steps[0].say == "Oil the threads."
    assert steps[1].say == "Set the wrench to 10 pound force feet, a third. Head bolt 1."
    assert steps[2].say == "Head bolt 3."
    assert steps[5].say == "Set the wrench to 20 pound force feet, two thirds. Head bolt 1."
    assert steps[9].say == "Set the wrench to 30 pound force feet, full. Head bolt 1."
    assert steps[13].say == "Now once round at 30 pound force feet. Head bolt 1."
    assert [step.title for step in steps[4:6]] == ["Head bolts, a third, number 4", "Head bolts, two thirds, number 1"]
    assert [step.id for step in steps] == [f"head.{n}" for n in range(17)]


def test_a_torque_on_the_way_is_said_to_two_figures_the_full_one_as_it_stands() -> None:
    steps, _ = bound(joint(torque=Amount(Decimal("16.25"), "lbf_ft")), 4)
    assert "5.4 pound" in steps[1].say
    assert "11 pound" in steps[5].say
    assert "16.25 pound" in steps[9].say


def test_a_caution_stands_before_the_first_turn_only() -> None:
    steps, _ = bound(joint(), 4)
    assert [step.cautions for step in steps] == [("Mind your hand.",), *[()] * 16]


@pytest.mark.parametrize("count", range(2, 31))
def test_every_fastener_comes_once_a_stage_whatever_their_number(count: int) -> None:
    order = spoken_order(bound(joint(), count)[0])
    assert order == [*circle_order(count)] * 3 + [*range(1, count + 1)]


def test_a_rectangle_goes_from_its_middle_and_has_as_many_rounds_as_asked() -> None:
    order = spoken_order(bound(joint(layout="rectangle", rounds=2), 6)[0])
    assert order == [*rectangle_order(6, 2)] * 3 + [*range(1, 7)] * 2


@pytest.mark.parametrize(
    ("step", "count", "told"),
    [
        (joint(), 1, "an order is for two fasteners or more, the sheet counts 1"),
        (joint(), 31, "31 fasteners are 124 turns of the tool, at most 120 are read aloud"),
        (joint(layout="rectangle"), 7, "7 fasteners with 2 on each short side make no rectangle"),
        (joint(torque=Amount(Decimal(30), "psi")), 4, "torque"),
        (joint(fastener="head_bolts"), 4, "the sheet does not count 'head_bolts'\n  did you mean 'head_bolt'?"),
        (joint(torque="head_torque"), 4, "nothing gives the value 'head_torque'"),
    ],
)
def test_a_joint_that_cannot_be_laid_out_is_a_problem_with_its_step(step: Step, count: int, told: str) -> None:
    steps, problems = bound(step, count)
    assert steps[0].id == "head"
    assert any(told in problem and "step 'head'" in problem for problem in problems), problems


def in_the_bay(count: int = 4) -> Conversation:
    steps, _ = bound(joint(), count)
    return Conversation(Procedure("p", "P", 1, "boat", {}, {}, (), (), steps)).start()


def test_in_the_bay_done_goes_from_bolt_to_bolt_through_every_stage() -> None:
    bay = in_the_bay()
    said = [*bay.hear("roger")]
    while not bay.finished:
        said += bay.hear("done")
    spoken = [int(n) for line in said for n in re.findall(r"Head bolt (\d+)\.", line)]
    assert spoken == [1, 3, 2, 4] * 3 + [1, 2, 3, 4]


def test_a_job_cut_off_between_two_bolts_is_taken_up_at_the_one_where_it_stood() -> None:
    bay = in_the_bay()
    bay.say_all("roger", "done", "done", "done")
    again = bay.resumed()
    assert again.said[-2:] == ["Resuming at step 4, Head bolts, a third, number 2.", "Head bolt 2."]
    assert again.hear("done") == ["Head bolt 4."]


def test_going_back_a_bolt_says_that_bolt_again() -> None:
    bay = in_the_bay()
    bay.say_all("roger", "done", "done", "done")
    assert bay.hear("go back")[-1] == "Head bolt 3."
