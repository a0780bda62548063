"""Remarks: the next thing said is kept as sound whatever it is, with words where an ear can write them down.

*note* is for the record, *finding* for the customer to decide on, *unable* skips the step and wants its reason.
"""

from __future__ import annotations

from assistant.core import entries as e
from assistant.core.state import Turn
from assistant.core.turns.opening import REASON_UNHEARD, left_unsure


def want_remark(turn: Turn, about: str) -> None:
    """The next utterance is the remark."""
    turn.talk(phase="remark", back_to=turn.state.talk.phase, remark=about)
    turn.say(turn.words(f"ask {about}"), "remark")


def take_remark(turn: Turn, dictated: str, clip: str) -> None:
    """It was said: have it recorded with its sound."""
    about = turn.state.talk.remark
    turn.talk(phase=turn.state.talk.back_to, remark="")
    if about == "unable":
        turn.record(e.StepUnable(turn.step.id, dictated or REASON_UNHEARD, left_unsure(turn)), clip)
    else:
        turn.record(e.RemarkKept(turn.step.id, about, dictated), clip)


def drop_remark(turn: Turn) -> None:
    """*Disregard*: no remark after all."""
    turn.talk(phase=turn.state.talk.back_to, remark="")
    turn.say(turn.words("disregarded"), "answer")


def remark_recorded(turn: Turn, entry: e.RemarkKept) -> None:
    """It is on disk."""
    turn.say(turn.words(f"{entry.about} kept"), "remark")
