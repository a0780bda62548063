"""The foreman asks back: each open question is read out when the job is taken up, and the next thing said is its answer.

The answer is kept as sound whatever it is, with words where an ear can write them down, as a remark is. *Say again* repeats the
question, *disregard* leaves it for the next start, *stand by* waits.
"""

from __future__ import annotations

from assistant.core import entries as e
from assistant.core.speech.weighing import Decision
from assistant.core.speech.wording import place_aloud
from assistant.core.state import Turn
from assistant.core.turns import opening


def begin(turn: Turn) -> None:
    """The program has started: the foreman's questions first, then the job itself."""
    asked = _next(turn)
    if asked is None:
        turn.talk(phase="step")
        opening.begin(turn)
        return
    turn.talk(phase="asked back")
    assert isinstance(asked.entry, e.QuestionAsked)
    about = _about(turn, asked.entry)
    key = "asked back about" if about else "asked back"
    text = asked.entry.text if asked.entry.text.endswith((".", "?", "!")) else f"{asked.entry.text}."
    turn.say(turn.words(key, about=about, question=text), "asked back")


def answered(turn: Turn, decision: Decision, heard: str, clip: str) -> None:
    """Something was said: the answer, or a command."""
    asked = _next(turn)
    assert asked is not None
    command = decision.best.meaning.command if decision.kind == "understood" else ""
    if command == "say again":
        for text in turn.state.talk.last_texts:
            turn.say(text, "again")
    elif command == "disregard":
        turn.talk(put_off=turn.state.talk.put_off | {asked.sequence})
        turn.say(turn.words("asked back later"), "answer")
        begin(turn)
    elif command == "stand by":
        turn.record(e.CommandHeard(turn.state.job.step, "stand by", "stand by"))
    else:
        turn.record(e.QuestionAnswered(asked.sequence, heard, ""), clip)


def answer_recorded(turn: Turn, _entry: e.QuestionAnswered) -> None:
    """It is on disk: the next question, or the job."""
    if turn.state.talk.phase == "asked back":
        turn.say(turn.words("answer kept"), "answer")
        begin(turn)


def _next(turn: Turn) -> e.Kept | None:
    put_off = turn.state.talk.put_off
    return next((k for k in turn.state.job.asked_back if k.sequence not in put_off), None)


def _about(turn: Turn, asked: e.QuestionAsked) -> str:
    """What the question is about, for the ear: a reading that counts now, by its name and place; "" for anything else."""
    kept = next((k.entry for k in turn.state.job.readings.values() if k.sequence == asked.about), None)
    if not isinstance(kept, e.ReadingKept):
        return ""
    name = turn.state.reading(kept.step, kept.name).spoken_name
    return ", ".join(filter(None, (name, place_aloud(kept.at, turn.language))))
