"""The engine: `advance(state, event) -> (state, effects)`. No clock, no files, no devices.

Rules for maintainers
---------------------
1. Nothing is kept by changing the state here: a thing is kept by a `Record` effect alone. The loop commits it and feeds
   back `Recorded`; only then is it folded into the job and spoken as kept.
2. An event that cannot be in this phase changes nothing.
3. What may be said now is `expectation_of(state)` (`expected.py`), and nothing else is ever understood.

How it works: an event is looked up by its type; what was heard is weighed into a command or readings; a command is looked
up by phase (`turns.commands`); an entry that comes back from disk is looked up by its kind (`AFTER`), and that is what moves
the job on: StepOpened asks the step, ReadingKept is read back, StepDone opens the next.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from assistant.core import entries as e
from assistant.core import events as ev
from assistant.core.effects import Effect, Finish, Listen
from assistant.core.expected import expectation_of
from assistant.core.job import apply
from assistant.core.judging import earlier_values, judge_meaning
from assistant.core.speech.english import told
from assistant.core.speech.language import capital
from assistant.core.speech.understanding import Understood, understand
from assistant.core.speech.weighing import Decision, Stakes
from assistant.core.state import State, Turn
from assistant.core.turns import asked_back, counting, opening, parts, readings, remarks
from assistant.core.turns.commands import act_on, say_part_again

SAY_AGAIN_AT_MOST = 2
"""Utterances in a row that are answered "say again"; after that the assistant waits quietly (talk in the bay, noise)."""


def advance(state: State, event: ev.Event) -> tuple[State, tuple[Effect, ...]]:
    """The next state and what is to be done. Never raises for what a person may say or a device may do."""
    turn = Turn(state, event.at_s, event.clip if isinstance(event, ev.Heard) else "")
    ON[type(event)](turn, event)
    before, after = expectation_of(state), expectation_of(turn.state)
    if after != before or isinstance(event, ev.Started):
        turn.do(Listen(after))
    return turn.state, tuple(turn.effects)


# What was heard


def _heard(turn: Turn, event: ev.Heard) -> None:
    phase = turn.state.talk.phase
    if phase in ("starting", "finished"):
        return
    if not turn.state.job.step and phase == "step":  # not even the first step is on disk: try again
        opening.begin(turn)
        return
    understood = hear(turn.state, event)
    decision = understood.decision
    if phase == "remark":
        _heard_remark(turn, decision, event)
    elif phase == "asked back":
        asked_back.answered(turn, decision, event.dictated, event.clip)
    elif phase == "standing by":
        if decision.kind == "understood":
            turn.record(e.CommandHeard(turn.state.job.step, "go ahead", decision.best.words), event.clip)
    elif decision.kind == "unclear":
        turn.record(e.HeardUnclear(turn.state.job.step, decision.reason, decision.weighed), event.clip)
    else:
        turn.talk(unclear=0)
        _act(turn, decision, event.clip)


def hear(state: State, event: ev.Heard) -> Understood:
    """What an utterance means in this state."""
    question = state.talk.question
    stakes = Stakes(
        lambda meaning: judge_meaning(state, meaning),
        lambda meaning: earlier_values(state, meaning),
        denied=question.denied if question else frozenset(),
    )
    before = question.evidence if question else state.talk.first_of_two
    return understand(expectation_of(state), event.takes, stakes, before)


def _heard_remark(turn: Turn, decision: Decision, event: ev.Heard) -> None:
    if decision.kind == "understood" and decision.best.meaning.command == "disregard":
        remarks.drop_remark(turn)
    else:
        remarks.take_remark(turn, event.dictated, event.clip)


def _act(turn: Turn, decision: Decision, clip: str) -> None:
    meaning = decision.best.meaning
    early = turn.state.talk.stopped_early
    turn.talk(stopped_early=False)
    if early and meaning.command == "stop":
        return  # the end of the utterance that was obeyed already
    question = turn.state.talk.question
    if meaning.readings and turn.state.talk.phase == "question" and question is not None and question.kind == "part":
        parts.deny_part(turn)  # a value instead of an answer: the packet was not taken, and that is kept
    if meaning.label:
        parts.spelled_out(turn, meaning.label)
    elif meaning.part:
        say_part_again(turn, *meaning.part)
    elif not meaning.readings:
        act_on(turn, meaning.command)
    elif _about_value(turn):
        readings.answer_with_value(turn, decision, clip)
    else:
        if turn.state.talk.phase == "question":
            readings.settle(turn)
        readings.take_readings(turn, decision, clip)


def _about_value(turn: Turn) -> bool:
    question = turn.state.talk.question
    return turn.state.talk.phase == "question" and question is not None and question.kind != "part"


def _heard_early(turn: Turn, event: ev.HeardEarly) -> None:
    if event.words == ("stop",) and turn.state.talk.phase not in ("starting", "finished", "standing by"):
        turn.talk(stopped_early=True)
        act_on(turn, "stop")


# What came back from disk


def _recorded(turn: Turn, event: ev.Recorded) -> None:
    turn.state = replace(turn.state, job=apply(turn.state.job, event.kept))
    entry = event.kept.entry
    after = AFTER.get(type(entry))
    if after is not None and turn.state.talk.phase != "starting":
        after(turn, entry)


def _not_recorded(turn: Turn, event: ev.NotRecorded) -> None:
    turn.talk(keeping=0)
    if turn.state.talk.phase == "question":
        readings.settle(turn)
    why, do = told(event.why, turn.language), capital(told(event.do, turn.language))
    turn.say(turn.words("not recorded", why=why, do=do), "trouble")


def _after_unclear(turn: Turn, entry: e.HeardUnclear) -> None:
    count = turn.state.talk.unclear + 1
    turn.talk(unclear=count)
    if entry.reason == readings.ASKED_TOO_OFTEN:
        turn.say(turn.words("measure again"), "question")
    elif entry.reason == readings.DENIED:
        turn.say(turn.words("denied"), "question")
    elif count <= SAY_AGAIN_AT_MOST:
        again = turn.words("say again")
        asked = turn.state.talk.last_texts[-1].removeprefix(again) if turn.state.talk.phase == "question" else ""
        turn.say(f"{again} {asked.strip()}".strip(), "unclear")


def _after_command(turn: Turn, entry: e.CommandHeard) -> None:
    if entry.command == "affirm":
        opening.ask_step(turn)
    elif entry.command == "stand by":
        turn.talk(phase="standing by", back_to=turn.state.talk.phase)
        turn.say(turn.words("standing by"), "answer")
    elif entry.command == "go ahead":
        _listen_again(turn)


def _listen_again(turn: Turn) -> None:
    """After a stand-by: an open question is put again; a count or a look that it cut off must be started anew."""
    question = turn.state.talk.question
    turn.say(turn.words("listening"), "answer")
    if turn.state.talk.back_to == "asked back":
        asked_back.begin(turn)
    elif turn.state.talk.back_to == "question" and question is not None:
        turn.talk(phase="question")
        (parts if question.kind == "part" else readings).put_question(turn, question)
    elif turn.state.talk.back_to == "condition" and turn.state.talk.condition is None:
        opening.look_first(turn)
    else:
        opening.ask_step(turn)


def _after_finish(turn: Turn, entry: e.JobFinished) -> None:
    turn.talk(phase="finished", question=None)
    key = f"finished{' one' if entry.done == 1 else ''}{' unable' if entry.unable else ''}"
    turn.say(turn.words(key, done=str(entry.done), unable=str(entry.unable)), "finished")


def _after_counted(turn: Turn, _entry: e.Counted) -> None:
    turn.say(turn.words("counted"), "count")
    opening.go_on(turn)


AFTER: dict[type[e.Entry], Callable[[Turn, Any], None]] = {
    e.StepOpened: lambda turn, _: opening.ask_step(turn),
    e.CautionAnswered: lambda turn, _: opening.ask_step(turn),
    e.ConditionAffirmed: lambda turn, _: opening.ask_step(turn),
    e.ReadingKept: readings.reading_recorded,
    e.Amended: readings.reading_recorded,
    e.PartScanned: parts.part_recorded,
    e.PhotographKept: parts.photograph_recorded,
    e.RemarkKept: remarks.remark_recorded,
    e.QuestionAnswered: asked_back.answer_recorded,
    e.Counted: _after_counted,
    e.StepDone: lambda turn, _: opening.open_next(turn),
    e.StepUnable: lambda turn, _: opening.open_next(turn),
    e.StepPassed: lambda turn, _: opening.open_next(turn),
    e.HeardUnclear: _after_unclear,
    e.CommandHeard: _after_command,
    e.JobFinished: _after_finish,
}
"""What an entry on disk leads to."""


# Everything else


def _started(turn: Turn, _event: ev.Started) -> None:
    asked_back.begin(turn)


def _scanned(turn: Turn, event: ev.Scanned) -> None:
    if turn.state.talk.phase == "scanning":
        parts.seen(turn, event)


def _tick(turn: Turn, _event: ev.Tick) -> None:
    if turn.state.talk.phase == "counting":
        counting.second_passed(turn)


def _speech_done(turn: Turn, event: ev.SpeechDone) -> None:
    if turn.state.talk.phase == "finished" and event.number >= turn.state.talk.said:
        turn.do(Finish("the job is finished"))


def _device_lost(turn: Turn, event: ev.DeviceLost) -> None:
    turn.record(e.DeviceChanged(event.device, "lost", event.why))
    turn.say(turn.words("device lost", device=turn.language.named(event.device)), "trouble")


def _device_back(turn: Turn, event: ev.DeviceBack) -> None:
    turn.record(e.DeviceChanged(event.device, "back", ""))
    turn.say(turn.words("device back", device=turn.language.named(event.device)), "trouble")


def _ears_closed(turn: Turn, _event: ev.EarsClosed) -> None:
    turn.do(Finish("no more sound will come; layup resume carries on at this step"))


ON: dict[type[Any], Callable[[Turn, Any], None]] = {
    ev.Started: _started,
    ev.Heard: _heard,
    ev.HeardEarly: _heard_early,
    ev.Scanned: _scanned,
    ev.SpeechDone: _speech_done,
    ev.Recorded: _recorded,
    ev.NotRecorded: _not_recorded,
    ev.Tick: _tick,
    ev.DeviceLost: _device_lost,
    ev.DeviceBack: _device_back,
    ev.EarsClosed: _ears_closed,
}
