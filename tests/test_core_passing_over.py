"""Answers that decide, in the bay: steps for other machines are passed over, which is kept, and going back undoes it."""

from __future__ import annotations

import pytest

from assistant.core import entries as e
from assistant.core.binding import bind
from assistant.core.conditions import UNSURE
from assistant.core.machine import MachineSheet, Site
from assistant.core.problems import FileProblems
from assistant.files.procedure_file import read_procedure
from tests.conversation import Conversation

TEXT = """\
procedure: cooling
title: Cooling
version: 1
for: boat
conditions: {cooling: [raw, closed], hatch: [shut, open]}
start: {cooling: unsure, hatch: shut}
never: []
steps:
  - id: which
    title: Which cooling
    say: Look for a heat exchanger. Say closed or raw.
    readings:
      - name: cooling
        ask: Cooling
        choices:
          - {name: closed, words: [closed], makes: {cooling: closed}}
          - {name: raw, words: [raw], makes: {cooling: raw}}
  - id: drain_block
    title: Block drained
    only: {cooling: raw}
    say: Open the drains of the block.
  - id: coolant
    title: Coolant looked at
    only: {cooling: closed}
    say: Look at the coolant. Say clean or milky.
    readings:
      - name: coolant
        ask: Coolant
        choices: [{name: clean, words: [clean]}, {name: milky, words: [milky], good: no}]
        finding: {say: the coolant is milky and the engine wants opening., price_later: yes}
  - {id: close, title: Closed up, say: Shut the hatch.}
"""


def bay() -> Conversation:
    bound = bind(read_procedure(TEXT, "c.yaml"), MachineSheet("Tern", "boat", {}, {}, {}), Site())
    assert bound.problems == ()
    return Conversation(bound.procedure).start()


def steps(talk: Conversation, kind: type[e.StepOpened | e.StepPassed | e.StepDone]) -> list[str]:
    return [entry.step for entry in talk.entries(kind) if isinstance(entry, e.StepOpened | e.StepPassed | e.StepDone)]


@pytest.mark.parametrize(
    ("said", "passed", "opened"), [("closed", "drain_block", "coolant"), ("raw", "coolant", "drain_block")]
)
def test_the_step_for_the_other_machine_is_passed_over_and_that_is_kept(said: str, passed: str, opened: str) -> None:
    talk = bay()
    talk.hear(said)
    while not talk.finished:
        talk.hear("clean" if talk.job.step == "coolant" and not talk.job.chosen("coolant") else "done")
    assert steps(talk, e.StepPassed) == [passed]
    assert steps(talk, e.StepOpened) == ["which", opened, "close"]
    assert list(talk.entries(e.StepPassed)) == [e.StepPassed(passed, "cooling", said)]
    assert talk.job.status[passed] == "passed"
    assert talk.said[-1] == "Finished. 3 steps done. The foreman has the rest."


def test_the_answer_decides_when_its_step_is_done_not_before() -> None:
    talk = bay()
    talk.hear("closed")
    assert talk.entries(e.StepDone) == [e.StepDone("which", (("cooling", "closed"),))]
    assert talk.job.conditions["cooling"] == "closed"


def test_unable_to_tell_passes_nothing_over_but_asks_at_each_step() -> None:
    talk = bay()
    talk.say_all("unable", "it is dark")
    assert talk.said[-1] == "Before Block drained: cooling must be raw. Affirm when it is so."
    talk.say_all("unable", "it is dark")
    assert talk.said[-1] == "Before Coolant looked at: cooling must be closed. Affirm when it is so."
    assert talk.entries(e.StepPassed) == []


def test_affirming_one_kind_passes_the_steps_of_the_other_over() -> None:
    talk = bay()
    talk.say_all("unable", "it is dark", "affirm", "done")
    assert steps(talk, e.StepPassed) == ["coolant"]
    assert talk.job.step == "close"


def test_go_back_skips_what_was_passed_over_and_a_new_answer_opens_it() -> None:
    talk = bay()
    talk.say_all("closed", "go back")
    assert talk.job.step == "which"
    talk.hear("correction raw")
    assert talk.job.step == "drain_block"
    assert talk.job.conditions["cooling"] == "raw"


def test_leaving_the_question_again_makes_its_answer_unsure() -> None:
    talk = bay()
    talk.say_all("closed", "go back", "unable", "i cannot say")
    assert talk.job.conditions["cooling"] == UNSURE
    assert talk.said[-1] == "Before Block drained: cooling must be raw. Affirm when it is so."


def test_an_answer_that_decided_is_not_corrected_from_afar() -> None:
    """A correction from a later step would leave the steps between as they were: it is sent to the question."""
    talk = bay()
    talk.hear("closed")
    assert talk.hear("correction raw") == ["Not kept. Say go back as far as Which cooling, and answer there."]
    assert talk.job.chosen("which") == {"cooling": "closed"}
    assert talk.job.conditions["cooling"] == "closed"


def test_a_job_cut_off_while_passing_over_goes_on_behind_it() -> None:
    """The last thing on disk is the step passed over."""
    talk = bay()
    talk.hear("raw")
    talk.hear("done")
    talk.kept = talk.kept[:-1]
    assert isinstance(talk.kept[-1].entry, e.StepPassed)
    again = talk.resumed()
    assert again.job.step == "close"
    assert again.said[-1] == "Shut the hatch."


def test_a_bad_answer_says_its_finding_and_a_good_one_does_not() -> None:
    talk = bay()
    talk.hear("closed")
    said = talk.hear("milky")
    assert (
        said[0]
        == "milky, not as it should be. Finding: the coolant is milky and the engine wants opening, price later."
    )
    assert talk.hear("correction clean")[0] == "Correction, clean, as it should be."


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            "makes: {cooling: raw}",
            "makes: {coolng: raw}",
            "'coolng' is not among the conditions\n  did you mean 'cooling'?",
        ),
        ("only: {cooling: raw}", "only: {cooling: rw}", "'cooling' is never 'rw'\n  did you mean 'raw'?"),
        ("price_later: yes", "price_latr: yes", "'finding' has no key 'price_latr'\n  did you mean 'price_later'?"),
        (
            "        ask: Cooling\n",
            "        ask: Cooling\n        each: side\n        positions: [port, starboard]\n",
            "what is read at several places makes no condition\n  ask it once, without 'each'",
        ),
    ],
)
def test_each_mistake_in_them_is_told(old: str, new: str, told: str) -> None:

    with pytest.raises(FileProblems) as caught:
        read_procedure(TEXT.replace(old, new, 1), "c.yaml")
    assert any(told in str(problem) for problem in caught.value.problems), caught.value.problems
