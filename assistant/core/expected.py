"""What may be said in a state of the engine: the expectation, from which the ears' grammar is made.

Nothing else is ever understood. A phase of the talk has its commands (`COMMANDS_IN`); a step has its readings.
"""

from __future__ import annotations

from assistant.core import entries as e
from assistant.core.judging import to_correct
from assistant.core.procedure import position_in
from assistant.core.speech import commands
from assistant.core.speech.expectation import Asked, Expectation
from assistant.core.speech.repeating import words_in
from assistant.core.state import State
from assistant.core.turns import opening


def expectation_of(state: State) -> Expectation:
    """What may be said in this state."""
    renamed = tuple(sorted((k, tuple(v)) for k, v in state.site.command_words.items()))
    asked: tuple[Asked, ...] = ()
    in_question = _in_question(state)
    last: Asked | None = None
    if state.talk.phase in ("step", "question"):
        asked, last = _asked(state), in_question or _correctable(state)
    elif state.talk.phase in ("condition", "caution") and state.job.last_reading:
        last = _correctable(state)
    return Expectation(
        commands=COMMANDS_IN[state.talk.phase] + _phase_extras(state),
        asked=asked,
        correctable=last,
        free=state.talk.phase in ("remark", "asked back"),
        gallon=state.site.gallon,
        renamed=renamed,
        today=state.today,
        repeatable=_repeatable(state),
        in_question=in_question is not None,
        labels=state.talk.phase == "step" and bool(opening.next_part(state)),
        language=state.site.language,
    )


COMMANDS_IN: dict[str, tuple[str, ...]] = {
    "starting": (),
    "condition": commands.TO_CONDITION,
    "caution": commands.TO_CAUTION,
    "step": (*commands.IN_STEP, "affirm", "negative", "roger"),
    "question": (*commands.TO_QUESTION, "roger"),
    "remark": commands.IN_REMARK,
    "asked back": commands.ASKED_BACK,
    "counting": commands.ANYTIME,
    "scanning": commands.ANYTIME,
    "standing by": commands.STANDING_BY,
    "finished": ("say again", "stop"),
}


def _repeatable(state: State) -> tuple[str, ...]:
    """The words of what the open step says: the same all through the step, and with them its grammars."""
    step = state.step
    if step is None or state.talk.phase not in ("condition", "caution", "step", "question"):
        return ()
    texts = (step.say, *step.cautions, *(reading.ask for reading in step.readings))
    return words_in(texts, state.site.language.everyday)


def _phase_extras(state: State) -> tuple[str, ...]:
    return ("go ahead",) if state.talk.phase == "step" and opening.wants_count(state) else ()


def _asked(state: State) -> tuple[Asked, ...]:
    """The step's readings, the one that is asked for first; the others must be named, and kept ones placed."""
    wanted = opening.next_reading(state)
    step = state.step
    found = [Asked(*wanted, open_at=opening.open_places(state, wanted[0]))] if wanted else []
    for reading in step.readings if step else ():
        if wanted is None or reading.name != wanted[0].name:
            found.append(Asked(reading, None, unnamed=wanted is None and bool(reading.positions)))
    return tuple(found)


def _in_question(state: State) -> Asked | None:
    """The reading that an open question is about, where it is not kept yet: *correction* then means this one, not the last."""
    question = state.talk.question
    meant = question.options[0] if state.talk.phase == "question" and question and question.options else None
    if meant is None or meant.correction or not meant.readings:
        return None
    first = meant.readings[0]
    return Asked(state.reading(state.job.step, first.name), first.at)


def _correctable(state: State) -> Asked | None:
    last = to_correct(state)
    if last is None or not isinstance(last.entry, e.ReadingKept):
        wanted = opening.next_reading(state)
        return Asked(*wanted) if wanted else None
    return Asked(state.reading(last.entry.step, last.entry.name), position_in(last.entry.at))
