"""The proof: what it finds, that it finds the shortest, and that it agrees with a plain search of everything."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.conditions import UNSURE
from assistant.core.procedure import Choice, Never, Procedure, Reading, Step
from assistant.core.proof import Proof, prove

WATER = Never({"engine": "stopped", "water": "on"}, "water fills the cylinders")
VALUES = {"engine": ("stopped", "running"), "water": ("off", "on"), "lid": ("shut", "ajar"), "lead": ("on", "off")}


Held = dict[str, str]


def step(name: str, needs: Held | None = None, makes: Held | None = None, only: Held | None = None) -> Step:
    return Step(name, name, name, needs=needs or {}, makes=makes or {}, only=only or {})


def asking(name: str, *answers: Held, needs: Held | None = None, only: Held | None = None) -> Step:
    """A step whose answer decides: the first is said "a0", the second "a1"."""
    choices = tuple(Choice(f"a{n}", (f"a{n}",), makes=tuple(held.items())) for n, held in enumerate(answers))
    question = Reading(name, name, "choice", choices=choices)
    return Step(name, name, name, readings=(question,), needs=needs or {}, only=only or {})


def procedure(
    *steps: Step,
    never: tuple[Never, ...] = (WATER,),
    start: Held | None = None,
    conditions: Mapping[str, tuple[str, ...]] | None = None,
) -> Procedure:
    start = start or {"engine": "stopped", "water": "off"}
    return Procedure("p", "P", 1, "c", start, conditions or {}, never, (), steps)


def answers(proof: Proof) -> list[tuple[str, str]]:
    assert proof.counterexample is not None
    return [(answer.step, answer.said) for answer in proof.counterexample.answers]


START = step("start", {"water": "off"}, {"engine": "running"})
WATER_ON = step("water_on", {"engine": "running"}, {"water": "on"})
WATER_OFF = step("water_off", {}, {"water": "off"})
STOP = step("stop", {"water": "off"}, {"engine": "stopped"})


def test_the_flush_in_the_safe_order_with_needs_is_proved() -> None:
    """Water after the engine, off before it, each step needing what makes it safe: no order of answers breaks it."""
    proof = prove(procedure(START, WATER_ON, WATER_OFF, STOP))
    assert proof.ok
    assert proof.counterexample is None
    assert proof.unreachable == ()
    assert proof.asked == ()


def test_without_a_need_the_shortest_conversation_to_the_harm_is_told() -> None:
    """Stopping without asking about the water: a single unable, and the engine stops with the water on."""
    proof = prove(procedure(START, WATER_ON, WATER_OFF, step("stop", {}, {"engine": "stopped"})))
    assert not proof.ok
    assert len(answers(proof)) == 4
    assert answers(proof)[:2] == [("start", "done"), ("water_on", "done")]
    assert answers(proof)[2:] in ([("water_off", "unable"), ("stop", end)] for end in ("done", "unable"))
    assert "water fills" in str(proof.counterexample)


def test_the_way_is_told_as_a_conversation() -> None:
    """What the assistant says at each step and what the technician answers, with the line of the file, and what it came to."""
    start = replace(START, say="Start the engine.", line=12)
    tap = replace(WATER_ON, say="Open the tap.", needs={"engine": "running"}, line=16)
    oil = replace(step("oil", {"engine": "stopped"}), title="Oil", line=20)
    assert str(prove(procedure(start, tap, oil)).counterexample) == (
        "-- start, line 12\n   assistant  Start the engine.\n  technician  done\n"
        "-- water_on, line 16\n   assistant  Open the tap.\n  technician  done\n"
        "-- oil, line 20\n   assistant  Before Oil: engine must be stopped. Affirm when it is so.\n  technician  affirm\n"
        "== now engine stopped, water on: water fills the cylinders"
    )


def test_water_before_engine_is_found() -> None:
    """The classic mistake: the tap first."""
    proof = prove(procedure(step("water_on", {}, {"water": "on"}), START))
    assert answers(proof) in ([("water_on", end)] for end in ("done", "unable"))


def test_needs_asked_in_a_dangerous_order_are_found() -> None:
    """Affirming that the engine stopped while the water runs is itself the harm: the water must be asked for first."""
    bad = step("oil", {"engine": "stopped", "water": "off"})
    good = step("oil", {"water": "off", "engine": "stopped"})
    proof = prove(procedure(START, WATER_ON, bad))
    assert answers(proof)[-1] == ("oil", "affirm engine stopped")
    assert prove(procedure(START, WATER_ON, good)).ok


def test_a_step_that_does_two_things_may_be_left_halfway() -> None:
    """Unable in the middle of 'start the engine and open the tap' may leave the tap open and the engine still."""
    both = step("both", {}, {"engine": "running", "water": "on"})
    assert answers(prove(procedure(both))) == [("both", "unable")]


def test_a_step_left_before_it_is_read_changes_nothing() -> None:
    """Unable to a needed condition leaves the machine as it was: the step was never read."""
    proof = prove(procedure(START, WATER_ON, STOP))
    assert proof.ok
    assert [(a.step, a.condition, a.value) for a in proof.asked] == [("stop", "water", "off")]


def test_a_start_that_is_already_forbidden_has_no_answers() -> None:
    """A procedure that begins in harm, or cannot rule it out, is at fault before anything is said."""
    assert answers(prove(procedure(START, start={"engine": "stopped", "water": "on"}))) == []
    assert answers(prove(procedure(START, start={"engine": UNSURE, "water": UNSURE}))) == []


def test_steps_behind_a_refused_one_are_named() -> None:
    """What the engine would have to refuse keeps the steps after it from being done."""
    proof = prove(procedure(START, step("tap", {}, {"engine": "stopped", "water": "on"}), WATER_OFF))
    assert proof.unreachable == ("tap", "water_off")


KIND = {"cooling": "closed"}, {"cooling": "raw"}
DRAIN_RAW = step("drain", {}, {"water": "on"}, only={"cooling": "raw"})


def test_a_step_for_other_machines_is_passed_over_and_its_harm_with_it() -> None:
    """The engine stands still when the raw-water side is opened: a harm only where the answer was raw, or was not sure."""
    asked = procedure(asking("which", *KIND), DRAIN_RAW, start={"engine": "stopped", "water": "off", "cooling": UNSURE})
    assert answers(prove(asked))[:1] in ([("which", "a1, done")], [("which", "unable")])
    closed = procedure(DRAIN_RAW, step("rest"), start={"engine": "stopped", "water": "off", "cooling": "closed"})
    assert prove(closed).counterexample is None


def test_a_step_that_is_for_no_machine_is_named() -> None:
    """Whatever is answered, nothing leads there."""
    start = {"engine": "stopped", "water": "off", "cooling": UNSURE}
    odd = step("odd", only={"cooling": "air"})
    assert prove(procedure(asking("which", *KIND), odd, start=start)).unreachable == ("odd",)


def test_what_is_asked_when_all_goes_well_is_told_of_every_answer() -> None:
    """On the closed machine nobody makes the coolant drained: its later step must ask."""
    start = {"engine": "stopped", "water": "off", "cooling": UNSURE, "coolant": "in"}
    drain = step("drain", {}, {"coolant": "out"}, only={"cooling": "raw"})
    proof = prove(procedure(asking("which", *KIND), drain, step("plug", {"coolant": "out"}), start=start))
    assert [(a.step, a.condition, a.value) for a in proof.asked] == [("plug", "coolant", "out")]


def test_leaving_a_question_after_it_was_read_lets_neither_kind_be_passed_over_in_silence() -> None:
    """A machine that is surely closed never drains the raw side; once the question was left, it may."""
    start = {"engine": "stopped", "water": "off", "cooling": "closed"}
    sure = asking("which", {"cooling": "closed"}, {"cooling": "closed"})
    assert prove(procedure(sure, DRAIN_RAW, step("rest"), start=start)).counterexample is None
    left = asking("which", {"cooling": "closed"}, {"cooling": "air"})
    assert answers(prove(procedure(left, DRAIN_RAW, start=start))) == [
        ("which", "unable"), ("drain", "affirm cooling raw"), ("drain", "done"),
    ]  # fmt: skip


def plain_search(p: Procedure) -> int | None:
    """Fewest answers to any broken rule by breadth-first search of everything, written without the code under test."""
    at = 0
    while at < len(p.steps) and any(p.start[c] not in (v, UNSURE) for c, v in p.steps[at].only.items()):
        at += 1
    first = (at, tuple(sorted(p.start.items())))
    todo = deque([(first, 0)])
    seen = {first}
    while todo:
        (index, flat), depth = todo.popleft()
        now = dict(flat)
        if any(all(now[c] in (v, UNSURE) for c, v in rule.conditions.items()) for rule in p.never):
            return depth
        if index == len(p.steps):
            continue
        s = p.steps[index]
        unmet = [(c, v) for held in (s.only, s.needs) for c, v in held.items() if now[c] != v]
        ends = [{**s.makes}]
        for r in s.readings:
            ends = [{**end, **dict(c.makes)} for end in ends for c in r.choices]
        left = now if unmet else {c: UNSURE if any(end.get(c, v) != v for end in ends) else v for c, v in now.items()}
        nexts = [(1, {**now, **end}) for end in ends] if not unmet else [(0, {**now, unmet[0][0]: unmet[0][1]})]
        nexts += [(1, left), (-1, left)]
        for way, after in nexts:
            to = index + way
            while (
                way and 0 <= to < len(p.steps) and any(after[c] not in (v, UNSURE) for c, v in p.steps[to].only.items())
            ):
                to += way
            if to < 0:
                continue
            state = (to, tuple(sorted(after.items())))
            if state not in seen:
                seen.add(state)
                todo.append((state, depth + 1))
    return None


conditions = st.dictionaries(st.sampled_from(sorted(VALUES)), st.integers(0, 1), max_size=3).map(
    lambda chosen: {name: VALUES[name][pick] for name, pick in chosen.items()}
)
starts = st.tuples(*(st.sampled_from((*VALUES[name], UNSURE)) for name in sorted(VALUES))).map(
    lambda values: dict(zip(sorted(VALUES), values, strict=True))
)


@st.composite
def steps_named(draw: st.DrawFn, name: str) -> Step:
    only = draw(st.one_of(st.just({}), conditions))
    if draw(st.integers(0, 3)):
        return step(name, draw(conditions), draw(conditions), only)
    return asking(name, draw(conditions), draw(conditions), needs=draw(conditions), only=only)


@st.composite
def procedures(draw: st.DrawFn) -> Procedure:
    steps = [draw(steps_named(f"s{n}")) for n in range(draw(st.integers(1, 6)))]
    rules = draw(st.lists(conditions.filter(bool), min_size=1, max_size=3))
    return procedure(*steps, never=tuple(Never(rule, "") for rule in rules), start=draw(starts))


@settings(max_examples=100, deadline=None)
@given(procedures())
def test_the_proof_agrees_with_a_plain_search_of_everything(p: Procedure) -> None:
    """Same verdict, and a counterexample as short as any, on procedures that nobody thought of."""
    shortest = plain_search(p)
    proof = prove(p)
    found = None if proof.counterexample is None else len(proof.counterexample.answers)
    assert found == shortest


def long_procedure(*, safe: bool) -> Procedure:
    """200 steps over twelve conditions: ten flushes, a lid opened and shut between them."""
    lids = [f"lid{n}" for n in range(10)]
    engine = step("start", {"water": "off", **dict.fromkeys(lids, "shut")}, {"engine": "running"})
    tap = step("water_on", {**dict.fromkeys(lids, "shut"), "engine": "running"}, {"water": "on"})
    steps: list[Step] = []
    for lid in lids:
        ajar = step("open", {"water": "off", "engine": "stopped"}, {lid: "ajar"})
        looks = [step(f"look{n}") for n in range(14)]
        steps += [engine, tap, WATER_OFF, STOP, ajar, *looks, step("shut", {}, {lid: "shut"})]
    if not safe:
        steps[183] = step("stop", {}, {"engine": "stopped"})
    never = tuple(Never({"engine": "running", lid: "ajar"}, "open lid") for lid in lids)
    start = {"engine": "stopped", "water": "off", **dict.fromkeys(lids, "shut")}
    return procedure(*steps, never=(WATER, *never), start=start)


@pytest.mark.parametrize("safe", [True, False])
def test_two_hundred_steps_take_under_two_seconds(safe: bool) -> None:
    """Twelve conditions would be millions of states in one search; a rule at a time it is a few thousand."""
    long = long_procedure(safe=safe)
    began = time.process_time()
    proof = prove(long)
    assert time.process_time() - began < 2
    assert len(long.steps) == 200
    assert proof.ok == safe
