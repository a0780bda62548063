"""Seconds counted aloud: fogging, cranking. The first is said at once, one a second after it, and the end in words."""

from __future__ import annotations

from assistant.core import entries as e
from assistant.core.effects import Hush, Wake
from assistant.core.speech.saying import in_full
from assistant.core.state import Turn
from assistant.core.turns.opening import ask_next, wants_count


def start_count(turn: Turn) -> None:
    """*Go ahead*: the hand begins now."""
    if not wants_count(turn.state):
        turn.say(turn.words("not counting"), "answer")
        return
    turn.talk(phase="counting", counted=0)
    turn.say(turn.words("now"), "count")
    turn.do(Wake(turn.at_s + 1.0))


def second_passed(turn: Turn) -> None:
    """One more second: say it, or say the end and have it recorded."""
    countdown = turn.step.countdown
    assert countdown is not None
    counted = turn.state.talk.counted + 1
    turn.talk(counted=counted)
    if counted < countdown.seconds:
        turn.say(" ".join(in_full(counted, turn.language)), "count")
        turn.do(Wake(turn.at_s + 1.0))
        return
    turn.talk(phase="step")
    turn.say(f"{countdown.end.capitalize()}.", "count")
    turn.record(e.Counted(turn.step.id, countdown.seconds))


def break_off(turn: Turn) -> None:
    """*Stop* while counting: it does not count, and starts anew."""
    counted = turn.state.talk.counted
    turn.do(Hush())
    turn.talk(phase="step", counted=0)
    turn.say(turn.words("stopped at", counted=" ".join(in_full(counted, turn.language))), "answer")
    ask_next(turn)
