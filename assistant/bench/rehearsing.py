"""`layup rehearse`: a job walked through as text, by the very engine and the very understanding; nothing is left behind.

Who answers is a `Technician`: the script of a file with all going well beside it, or a person who types.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import fields
from datetime import date
from decimal import Decimal
from typing import Protocol

from assistant.bench.going_well import GoingWell, shown
from assistant.bench.starting import program
from assistant.bench.text_talk import TextTalk, heard
from assistant.bench.transcript import kept_text
from assistant.core import entries as e
from assistant.core.effects import Effect, Say
from assistant.core.engine import hear
from assistant.core.events import Event, Heard, Recorded
from assistant.core.expected_time import Answer, Answered, Pace, expected_time, words_aloud
from assistant.core.procedure import Procedure, Step
from assistant.core.speech.limit_wording import limit_written
from assistant.core.state import State
from assistant.core.turns.opening import next_part, next_photograph, next_reading, wants_count
from assistant.files.answers_file import Answers, repeated
from assistant.files.procedure_file import read_procedure
from assistant.files.work import Work, state_of
from assistant.files.yaml_source import Text
from assistant.reports.rehearsal import Kind, Line, Problem, Rehearsal, Who, parts_of_job, values_of_job

STUCK_AFTER = 8
"""Utterances that nothing is kept of, one after the other: then the rehearsal is given up."""
TOLD_BY_THE_TALK = (
    e.JobOpened, e.StepOpened, e.StepDone, e.CautionAnswered, e.ConditionAffirmed, e.Counted, e.CommandHeard,
    e.HeardUnclear, e.JobFinished,
)  # fmt: skip
"""Entries that the conversation itself tells of. Any other that has no text of its own is shown by its fields."""


class Technician(Protocol):
    """Who answers. `patient`: he may go on for ever although nothing is kept."""

    @property
    def patient(self) -> bool:
        """Is he never given up."""

    def words(self, state: State) -> Text | str | None:
        """What he says now: a line of a file, plain words, or None where he has no more to say."""


class Scripted:
    """Says the lines of a step while that step is open; where there are none, all goes well.

    Lines given for a repeated step are said in each of its repeats, those for a joint once. A caution or a condition is
    answered by itself, unless the next line is a word for it.
    """

    patient = False

    def __init__(self, answers: Answers, going_well: GoingWell, procedure: Procedure) -> None:
        repeats = {step.id: repeated(step.id) for step in procedure.steps if step.each}
        self._left = {step: list(lines) for step, lines in answers.items() if step not in repeats.values()}
        self._left |= {step: list(answers[all_of]) for step, all_of in repeats.items() if all_of in answers}
        self._left |= {step: list(answers[step]) for step in repeats if step in answers}
        self._going_well = going_well

    def words(self, state: State) -> Text | str:
        """The next line of the open step, or what goes well."""
        lines = self._left.get(state.job.step) or self._left.get(repeated(state.job.step)) or []
        if lines and (state.talk.phase not in ("caution", "condition") or _is_command(state, lines[0].value)):
            return lines.pop(0)
        return self._going_well.words(state)

    def never_said(self) -> Iterator[Problem]:
        """The lines that are left."""
        for step, lines in self._left.items():
            for line in lines:
                yield Problem(
                    "never said", step, f"'{line.value}' is never said, the step is over by then", str(line.place)
                )


def _is_command(state: State, words: str) -> bool:
    decision = hear(state, heard(words)).decision
    return decision.kind == "understood" and not decision.best.meaning.readings


class _Lines:
    """A Watcher: the conversation as lines, each given away at once."""

    def __init__(self, tell: Callable[[Line], None]) -> None:
        self.all: list[Line] = []
        self._tell = tell

    def add(self, step: str, who: Who, text: str) -> None:
        line = Line(step, who, text)
        self.all.append(line)
        self._tell(line)

    def event(self, state: State, event: Event) -> None:
        """What was heard, and what is kept; with a step that opens, its limits."""
        if isinstance(event, Heard):
            self.add(state.job.step, "technician", _heard_text(state, event))
        elif isinstance(event, Recorded):
            self._kept(state, event.kept.entry)

    def effect(self, state: State, effect: Effect) -> None:  # noqa: ARG002 - the protocol's
        """What is said and looked at."""
        if isinstance(effect, Say):
            self.add(effect.step, "assistant", effect.text)

    def _kept(self, state: State, entry: e.Entry) -> None:
        corrected = isinstance(entry, e.ReadingKept)  # may belong to a step before: it is told where it is said
        step = state.job.step if corrected else str(entry.body().get("step", ""))
        if isinstance(entry, e.StepOpened):
            for text in limits_at(state, entry.step):
                self.add(entry.step, "limit", text)
        elif text := kept_text(entry) or shown_by_fields(entry):
            self.add(step, "kept", text)


def limits_at(state: State, step_id: str) -> Iterator[str]:
    """Each limit of a step with where it comes from."""
    for reading in state.procedure.step(step_id).readings:
        each = f" of each {reading.each}" if reading.each else ""
        for limit in reading.limits:
            without = "" if limit.source else " (no source given)"
            yield f"{reading.spoken_name}{each}: {limit_written(limit)}{without}"


def shown_by_fields(entry: e.Entry) -> str:
    """An entry of a kind that nobody has words for; "" where the conversation tells of it."""
    if isinstance(entry, TOLD_BY_THE_TALK):
        return ""
    told = (f"{f.name} {getattr(entry, f.name)}" for f in fields(entry) if f.name != "step")
    return f"{entry.kind}: {', '.join(told)}"


def _heard_text(state: State, event: Heard) -> str:
    if state.talk.phase == "remark":
        return event.dictated
    decision = hear(state, event).decision
    return f"{event.dictated}  ({decision.reason})" if decision.kind == "unclear" else event.dictated


class Walk:
    """One rehearsal: `work` talked through with `technician`; `tell` gets each line as it is said."""

    def __init__(self, work: Work, technician: Technician, today: date, tell: Callable[[Line], None]) -> None:
        self._work = work
        self._technician = technician
        self._lines = _Lines(tell)
        self._answers: list[Answer] = []
        self._problems: list[Problem] = []
        opened = e.JobOpened(
            work.procedure.name, "", "", "", "rehearsal", tuple(sorted(work.procedure.start.items())), program(), "text"
        )
        self.talk = TextTalk(state_of(work, today), opened, (self._lines,))

    def run(self, pace: Pace) -> Rehearsal:
        """To the end of the job, or until nobody answers or nothing moves."""
        self.talk.begin()
        in_vain = 0
        while not self.talk.finished and (in_vain < STUCK_AFTER or self._technician.patient):
            before = len(self.talk.kept)
            counting = self.talk.state.talk.phase == "counting"
            if not self._go_on():
                break
            moved = counting or any(not isinstance(k.entry, e.HeardUnclear) for k in self.talk.kept[before:])
            in_vain = 0 if moved else in_vain + 1
        if in_vain >= STUCK_AFTER and not self._technician.patient:
            self._trouble("stuck", f"nothing moves after {STUCK_AFTER} answers")
        return self._rehearsal(pace)

    def _go_on(self) -> bool:
        """Let the technician answer, show, or wait; False where he has no more to say."""
        phase = self.talk.state.talk.phase
        if phase == "scanning":
            self._show()
        elif phase == "counting":
            self.talk.wait(1.0)
        else:
            said = self._technician.words(self.talk.state)
            if said is None:
                return False
            self._say(said)
        return True

    def _show(self) -> None:
        """Hold what is wanted to the camera: the part, or what a photograph is to be of."""
        state = self.talk.state
        labels, photograph = shown(state), next_photograph(state)
        if labels:
            text = f"{labels[0].symbology} {labels[0].text}"
        else:
            text = f"a picture of {photograph.of}" if photograph else "no label"
        self._lines.add(state.job.step, "camera", text)
        self.talk.see(*labels, picture="" if labels or not photograph else text)

    def _say(self, said: Text | str) -> None:
        state = self.talk.state
        words, place = (said.value, str(said.place)) if isinstance(said, Text) else (said, "")
        decision = hear(state, heard(words)).decision
        self._answers.append(Answer(state.job.step, _answers(state), words_aloud(words)))
        self.talk.hear(words)
        if state.talk.phase != "remark" and decision.kind == "unclear":
            self._trouble("not understood", f"'{words}' is not understood here: {decision.reason}", place)

    def _trouble(self, kind: Kind, text: str, place: str = "") -> None:
        problem = Problem(kind, self.talk.state.job.step, text, place)
        self._problems.append(problem)
        self._lines.add(problem.step, "problem", str(problem))

    def _rehearsal(self, pace: Pace) -> Rehearsal:
        work = self._work
        left = tuple(self._technician.never_said()) if isinstance(self._technician, Scripted) else ()
        said = [line.text for line in self._lines.all if line.who == "assistant"]
        counted = sum(k.entry.seconds for k in self.talk.kept if isinstance(k.entry, e.Counted))
        kept = [k.entry for k in self.talk.kept]
        passed = [entry.step for entry in kept if isinstance(entry, e.StepPassed)]
        opened = {entry.step for entry in kept if isinstance(entry, e.StepOpened)}
        minutes = minutes_of([step for step in work.procedure.steps if step.id in opened])
        return Rehearsal(
            procedure=work.procedure,
            sheet=work.sheet,
            shop=work.site.shop,
            lines=tuple(self._lines.all),
            parts=parts_of_job(work.procedure, work.sheet, passed),
            values=values_of_job(read_procedure(work.procedure_text, work.procedure.file), work.sheet),
            time=expected_time(said, self._answers, counted, minutes, pace),
            problems=(*self._problems, *left, *_found_in(self.talk)),
            finished=self.talk.state.job.finished,
        )


def minutes_of(steps: Sequence[Step]) -> dict[str, Decimal]:
    """What the writer gave as minutes, by step: for each repeat of a step, for the turns of a joint all together."""
    given = {step.id: step.minutes for step in steps if step.minutes is not None}
    return {**given, **{step.id: Decimal(0) for step in steps if step.id in given and _is_turn(step) and step.at}}


def _is_turn(step: Step) -> bool:
    """Is it a turn of the tool at a joint: numbered, and not one for each of something."""
    return step.at is not None and not step.each


def _found_in(talk: TextTalk) -> Iterator[Problem]:
    """What the entries tell: what stands out of limits at the end, was refused, not done, asked about."""
    for kept in talk.state.job.readings.values():
        entry = kept.entry
        if isinstance(entry, e.ReadingKept) and entry.verdict not in ("within", ""):
            yield Problem("out of limits", entry.step, kept_text(entry))
    for entry in (k.entry for k in talk.kept):
        if isinstance(entry, e.PartScanned) and not entry.kept:
            yield Problem("part refused", entry.step, entry.why)
        elif isinstance(entry, e.StepUnable):
            yield Problem("step not done", entry.step, entry.reason)
        elif isinstance(entry, e.ReadingKept) and entry.asked:
            yield Problem("asked", entry.step, f"{kept_text(entry)}, asked: {entry.asked}")


def _answers(state: State) -> Answered:
    """What is answered now."""
    phase = state.talk.phase
    if phase == "caution":
        return "caution"
    if phase == "condition":
        return "condition"
    if phase != "step":
        return "word"
    wanted = next_reading(state)
    if next_part(state):
        return "part"
    if wanted is not None:
        return "choice" if wanted[0].kind == "choice" else "reading"
    if next_photograph(state) and not wants_count(state):
        return "part"
    return "turn" if state.step and _is_turn(state.step) and state.step.at else "done"
