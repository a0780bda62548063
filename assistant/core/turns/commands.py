"""What each command does in each phase: one table, and the short answers."""

from __future__ import annotations

from collections.abc import Callable

from assistant.core import entries as e
from assistant.core.effects import Hush
from assistant.core.procedure import Reading
from assistant.core.speech.limit_wording import limit_with_source
from assistant.core.speech.repeating import part_of
from assistant.core.speech.sources import source_aloud
from assistant.core.state import Turn
from assistant.core.turns import counting, opening, parts, readings, remarks

Act = Callable[[Turn], None]


def say_again(turn: Turn) -> None:
    """Repeat what was said last."""
    texts = turn.state.talk.last_texts
    for text in texts:
        turn.say(text, "again")


def say_part_again(turn: Turn, side: str, word: str) -> None:
    """*Say again all after* a word, or *all before*: that part; *say again* alone still repeats the whole."""
    texts = turn.state.talk.last_texts
    turn.say(part_of(texts, side, word) or turn.words(f"nothing stands {side}", word=word), "again")
    turn.talk(last_texts=texts)


def stop(turn: Turn) -> None:
    """Stop talking; break off a count."""
    if turn.state.talk.phase == "counting":
        counting.break_off(turn)
    else:
        turn.do(Hush())


def stand_by(turn: Turn) -> None:
    """Stop listening until *go ahead*."""
    turn.record(e.CommandHeard(turn.state.job.step, "stand by", "stand by"))


def go_ahead(turn: Turn) -> None:
    """Start the count that the step wants."""
    counting.start_count(turn)


def where_are_we(turn: Turn) -> None:
    """Which step is open and what it still wants."""
    steps = turn.state.procedure.steps
    number = turn.state.procedure.index(turn.step.id) + 1
    wanting = opening.missing(turn.state)
    named = {"number": str(number), "steps": str(len(steps)), "title": turn.step.title}
    if wanting:
        said = [turn.words("where", things=turn.language.listed(wanting), **named)]
    else:
        said = [turn.words("where done", **named)]
    if turn.step.manual:
        said.append(turn.words("manual page", place=source_aloud(turn.step.manual, turn.language)))
    turn.say(" ".join(said), "answer")


def limits(turn: Turn) -> None:
    """What is allowed here, and where that comes from: a sentence for each reading."""
    lines = [f"{r.spoken_name}, {_limits_of(turn, r)}" for r in turn.step.readings if r.limits]
    turn.say(". ".join(lines) + "." if lines else turn.words("no limits"), "answer")


def _limits_of(turn: Turn, reading: Reading) -> str:
    regime, also = turn.state.site.read_back, f"; {turn.words('limit and')} "
    return also.join(limit_with_source(limit, regime, turn.language) for limit in reading.limits)


def words_twice(turn: Turn) -> None:
    """Every reading twice from now on, or no longer."""
    on = not turn.state.talk.twice
    turn.talk(twice=on, first_of_two=None)
    turn.say(turn.words("words twice" if on else "words once"), "answer")


def roger(turn: Turn) -> None:
    """Heard and understood: the answer to a caution."""
    caution = next(c for c in turn.step.cautions if c not in turn.state.job.cautions)
    turn.record(e.CautionAnswered(turn.step.id, caution))


def roger_is_not_yes(turn: Turn) -> None:
    """*Roger* where a yes or a value is wanted."""
    question = turn.state.talk.question
    if question is not None and question.kind in ("choose", "digits"):
        turn.say(turn.words("roger is no value"), "answer")
        readings.put_question(turn, question)
    else:
        turn.say(turn.words("roger is not yes"), "answer")


def correction_alone(turn: Turn) -> None:
    """*Correction* with nothing after it."""
    last = turn.state.job.last_reading
    turn.say(turn.words("say correction" if last else "nothing to correct"), "answer")


def disregard(turn: Turn) -> None:
    """Drop what is being asked."""
    question = turn.state.talk.question
    if turn.state.talk.phase == "question" and question is not None:
        if question.kind == "part":
            parts.deny_part(turn)
            return
        readings.settle(turn)
    turn.talk(first_of_two=None)
    turn.say(turn.words("disregarded"), "answer")
    opening.put_again(turn)


def not_so(turn: Turn) -> None:
    """*Negative* to a condition: wait until it is so."""
    turn.say(turn.words("wait"), "condition")


def affirm_question(turn: Turn) -> None:
    """*Affirm* to the open question."""
    question = turn.state.talk.question
    if question is not None and question.kind == "part":
        parts.affirm_part(turn)
    else:
        readings.affirm_value(turn)


def deny_question(turn: Turn) -> None:
    """*Negative* to the open question."""
    question = turn.state.talk.question
    if question is not None and question.kind == "part":
        parts.deny_part(turn)
    else:
        readings.deny_value(turn)


def nothing_asked(turn: Turn) -> None:
    """*Affirm* or *negative* where nothing was asked."""
    turn.say(turn.words("nothing asked"), "answer")


ALWAYS: dict[str, Act] = {
    "say again": say_again,
    "stop": stop,
    "stand by": stand_by,
    "where are we": where_are_we,
    "read back": readings.read_back_step,
    "limits": limits,
    "words twice": words_twice,
    "go back": opening.open_previous,
    "note": lambda turn: remarks.want_remark(turn, "note"),
    "finding": lambda turn: remarks.want_remark(turn, "finding"),
    "unable": lambda turn: remarks.want_remark(turn, "unable"),
    "disregard": disregard,
    "correction": correction_alone,
}
IN_PHASE: dict[str, dict[str, Act]] = {
    "caution": {"roger": roger},
    "condition": {"affirm": opening.affirm_condition, "negative": not_so, "roger": roger_is_not_yes},
    "question": {"affirm": affirm_question, "negative": deny_question, "roger": roger_is_not_yes},
    "step": {
        "done": opening.finish_step,
        "part": parts.look,
        "go ahead": go_ahead,
        "affirm": nothing_asked,
        "negative": nothing_asked,
        "roger": lambda _turn: None,
    },
    "counting": {},
    "scanning": {},
}
"""What a command does in a phase; ALWAYS holds where the phase says nothing."""


def act_on(turn: Turn, command: str) -> None:
    """Do what the command says, in the phase it was said in."""
    act = IN_PHASE.get(turn.state.talk.phase, {}).get(command) or ALWAYS.get(command)
    if act is not None:
        act(turn)
