"""The conversation as lines of text while it goes on: what was said, what was heard, what was kept."""

from __future__ import annotations

from collections.abc import Callable

from assistant.core import entries as e
from assistant.core.effects import Effect, Hush, Say, Scan
from assistant.core.engine import hear
from assistant.core.events import Event, Heard, Recorded
from assistant.core.state import State
from assistant.reports.values import visible

WIDTH = 12


class Transcript:
    """A Watcher that prints. `line` takes one line of text."""

    def __init__(self, line: Callable[[str], None]) -> None:
        self._line = line
        self._step = ""

    def event(self, state: State, event: Event) -> None:
        """What was heard, and what is on disk."""
        if isinstance(event, Heard):
            self._line(f"{'technician':>{WIDTH}}  {_heard(state, event)}")
        elif isinstance(event, Recorded) and (kept := kept_text(event.kept.entry)):
            self._line(f"{'kept':>{WIDTH}}  {kept}")

    def effect(self, state: State, effect: Effect) -> None:
        """What is said and looked at."""
        match effect:
            case Say(text=text, step=step):
                self._heading(state, step)
                self._line(f"{'assistant':>{WIDTH}}  {text}")
            case Scan():
                self._line(f"{'camera':>{WIDTH}}  (looking)")
            case Hush():
                self._line(f"{'assistant':>{WIDTH}}  (stops)")
            case _:
                pass

    def _heading(self, state: State, step: str) -> None:
        if step and step != self._step:
            self._step = step
            number = state.procedure.index(step) + 1
            self._line(f"-- step {number} of {len(state.procedure.steps)}: {state.procedure.step(step).title}")


def _heard(state: State, event: Heard) -> str:
    """The words as they were understood, with what each ear made of them where the two differ."""
    if state.talk.phase in ("remark", "asked back"):
        return event.dictated or "(kept as sound)"
    understood = hear(state, event)
    decision = understood.decision
    tops = {t.ear: " ".join(t.candidates[0].words) for t in event.takes if t.candidates}
    differ = len(set(tops.values())) > 1
    beside = "  [" + "; ".join(f"{ear}: {words}" for ear, words in tops.items()) + "]" if differ else ""
    if decision.kind == "unclear":
        return f"(unclear: {decision.reason}){beside}"
    return f"{decision.best.words}{beside}"


def kept_text(entry: e.Entry) -> str:
    """What was kept, for a person; "" for kinds that the conversation itself tells of."""
    match entry:
        case e.ReadingKept():
            verdict = f" [{entry.verdict}]" if entry.verdict else ""
            where = f" {entry.at}" if entry.at else ""
            again = f", replaces entry {entry.replaces}" if entry.replaces else ""
            return f"{entry.name}{where} = {entry.value} {entry.unit}".rstrip() + verdict + again
        case e.PartScanned():
            taken = "taken" if entry.kept else "not taken"
            return f"part {entry.role}: {entry.answer}, {taken} ({entry.symbology} {visible(entry.text)})"
        case e.RemarkKept():
            return f"{entry.about}: {entry.words or '(sound only)'}"
        case e.QuestionAnswered():
            return f"answer to entry {entry.question}: {entry.words or '(sound only)'}"
        case e.PhotographKept():
            return f"photograph: {entry.name}"
        case e.StepPassed():
            return f"step {entry.step} passed over: {entry.condition} is {entry.is_now}"
        case e.StepUnable():
            return f"step {entry.step} not done: {entry.reason}"
        case e.DeviceChanged():
            return f"{entry.device} {entry.state} {entry.why}".rstrip()
        case _:
            return ""
