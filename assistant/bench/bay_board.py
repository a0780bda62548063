"""The bay board kept up while a job goes on: what is said, heard, kept and waited for, after every event and effect.

A screen is a bonus. Whatever goes wrong here ends the board and never the job, and the loop never waits for the board's disk.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Protocol

from assistant.bench.clock import WallClock
from assistant.core.effects import Effect, Hush, Say
from assistant.core.engine import hear
from assistant.core.entries import ReadingKept
from assistant.core.events import Event, Heard, HeardEarly, Recorded, SpeechDone, Started
from assistant.core.expected import expectation_of
from assistant.core.procedure import Position, Reading, place_of
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.state import State
from assistant.core.turns.opening import next_part, next_photograph, next_reading, wants_count
from assistant.core.units import WRITTEN
from assistant.files import bay_board as board

ANSWERS = {
    "condition": ("affirm", "negative"),
    "caution": ("roger",),
    "question": ("affirm", "negative"),
    "standing by": ("go ahead",),
}
"""The commands that answer what is asked in a phase."""
ENDS_WITHIN_S = 2.0
"""How long the end of a session waits for the board's disk; a disk that hangs then keeps a board that nobody writes."""


class Shows(Protocol):
    """Where boards go."""

    def show(self, board: board.Board) -> None:
        """This is how things stand now."""

    def close(self) -> None:
        """There are no more."""


class BayBoard:
    """A Watcher that writes the board. `close` when the session is over, however it ended."""

    def __init__(self, writer: Shows) -> None:
        self._writer = writer
        self._clock = WallClock()
        self._shown = board.Board(0, "", os.getpid(), ENGLISH.code, "starting")
        self._unsaid: list[Say] = []

    def event(self, state: State, event: Event) -> None:
        """What was heard, what is on disk, what has been said to its end."""
        self._safely(lambda: self._event(state, event))

    def effect(self, state: State, effect: Effect) -> None:
        """What is said; and where the talk is now."""
        self._safely(lambda: self._effect(state, effect))

    def close(self) -> None:
        """The board is taken away."""
        self._writer.close()

    def __enter__(self) -> BayBoard:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _safely(self, follow: Callable[[], None]) -> None:
        try:
            follow()
        except Exception:  # whatever it is, the job goes on
            self._writer.close()

    def _event(self, state: State, event: Event) -> None:
        match event:
            case Started():
                last = state.job.last_reading
                self._show(self._with_value(self._shown, state, last.entry if last else None))
            case Heard():
                self._show(replace(self._shown, heard=heard_in(state, event) or self._shown.heard))
            case HeardEarly(words=words):
                self._show(replace(self._shown, heard=board.Heard(" ".join(words), clear=True)))
            case Recorded(kept=kept):
                self._show(self._with_value(self._shown, state, kept.entry))
            case SpeechDone(number=number):
                self._unsaid = [say for say in self._unsaid if say.number > number]
                self._show(self._shown)
            case _:
                pass

    def _effect(self, state: State, effect: Effect) -> None:
        if isinstance(effect, Say):
            self._unsaid.append(effect)
        elif isinstance(effect, Hush):
            self._unsaid.clear()
        self._show(
            replace(
                self._shown,
                language=state.site.language.code,
                phase=state.talk.phase,
                step=step_in(state),
                awaited=awaited_in(state),
            )
        )

    def _show(self, now: board.Board) -> None:
        """Write it where it says something new. What is said is the first that was not yet said to its end."""
        text = self._unsaid[0].text if self._unsaid else now.saying.text
        now = replace(now, saying=board.Saying(text, speaking=bool(self._unsaid)))
        if now != self._shown:
            self._shown = replace(now, sequence=now.sequence + 1, at=self._clock.utc())
            self._writer.show(self._shown)

    @staticmethod
    def _with_value(now: board.Board, state: State, entry: object) -> board.Board:
        if not isinstance(entry, ReadingKept):
            return now
        asked = next((s for s in state.procedure.steps if s.id == entry.step), None)
        reading = next((r for r in asked.readings if r.name == entry.name), None) if asked else None
        name = reading.ask.rstrip("?. ") if reading else entry.name.replace("_", " ")
        return replace(now, kept=board.Value(name, entry.at, entry.value, entry.unit, entry.verdict))


class BoardThread:
    """Writes the newest board from a thread of its own; those that it has no time for are passed over."""

    def __init__(self, writer: Shows) -> None:
        self._writer = writer
        self._changed = threading.Condition()
        self._next: board.Board | None = None
        self._ended = False
        self._thread = threading.Thread(target=self._run, name="bay board", daemon=True)

    def show(self, board: board.Board) -> None:
        """Returns at once."""
        with self._changed:
            self._next = board
            self._changed.notify()
        if not self._ended and self._thread.ident is None:
            self._thread.start()

    def close(self) -> None:
        """Returns when the board is gone, or after `ENDS_WITHIN_S`."""
        with self._changed:
            self._ended = True
            self._changed.notify()
        if self._thread.ident is not None:
            self._thread.join(ENDS_WITHIN_S)

    def _run(self) -> None:
        try:
            while (now := self._wait()) is not None:
                self._writer.show(now)
        except Exception:  # as in BayBoard: the job goes on
            self._ended = True
        self._writer.close()

    def _wait(self) -> board.Board | None:
        with self._changed:
            self._changed.wait_for(lambda: self._ended or self._next is not None)
            now, self._next = self._next, None
            return None if self._ended else now


def board_beside(job: Path) -> BayBoard:
    """The watcher that keeps the board of that job file."""
    return BayBoard(BoardThread(board.BoardWriter(job)))


def step_in(state: State) -> board.Step:
    """The open step, with its number as the assistant says it."""
    steps = state.procedure.steps
    if state.step is None:
        return board.Step(0, len(steps), "")
    return board.Step(state.procedure.index(state.job.step) + 1, len(steps), state.step.title)


def heard_in(state: State, event: Heard) -> board.Heard | None:
    """What was understood of it; None where it is nobody's business (before the start, after the end, while standing by)."""
    phase = state.talk.phase
    if phase in ("starting", "finished"):
        return None
    decision = hear(state, event).decision
    free = phase in ("remark", "asked back")
    if decision.kind == "understood" and (decision.best.meaning.command or not free):
        return board.Heard(decision.best.words, clear=True)
    if free:
        return board.Heard(event.dictated, clear=True)
    return None if phase == "standing by" else board.Heard("", clear=False)


def awaited_in(state: State) -> str:
    """What is waited for, short: the words that answer, or the name of what is wanted, in the technician's language."""
    phase, question = state.talk.phase, state.talk.question
    wanted = next_reading(state)
    if phase == "question" and question is not None and question.kind in ("choose", "digits"):
        asked = expectation_of(state).correctable
        return _of_reading(state, asked.reading, asked.next_at) if asked else ""
    if phase in ANSWERS:
        return " / ".join(_command(state, name) for name in ANSWERS[phase])
    if phase not in ("step", "scanning"):
        return ""
    if role := next_part(state):
        return state.parts[role].say
    if wanted is not None:
        return _of_reading(state, *wanted)
    if wants_count(state):
        return _command(state, "go ahead")
    photograph = next_photograph(state)
    return photograph.of if photograph else _command(state, "done")


def _command(state: State, name: str) -> str:
    """How that command is said in this shop."""
    said = expectation_of(state).command_words.get(name, ())
    return said[0] if said else name


def _of_reading(state: State, reading: Reading, at: Position | None) -> str:
    """ "Compression, cylinder 2 (psi)"."""
    unit = WRITTEN.get(reading.unit, reading.unit)
    place = _place(reading, at, state.site.language)
    return ", ".join(filter(None, (reading.ask.rstrip("?. "), place))) + (f" ({unit})" if unit else "")


def _place(reading: Reading, at: Position | None, language: Language) -> str:
    if at is None or not reading.each:
        return ""
    return f"{language.named(reading.each)} {at}" if isinstance(at, int) else place_of(reading.each, at)
