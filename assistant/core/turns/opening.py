"""Opening, asking, finishing steps: conditions first, then cautions, then the step, then what it wants.

A step is not read before every condition that it needs holds or has been affirmed, and every caution was answered *roger*.
"""

from __future__ import annotations

from collections.abc import Iterator

from assistant.core import entries as e
from assistant.core.conditions import (
    UNSURE,
    affirmed,
    after_done,
    after_leaving,
    broken,
    kept_out,
    made,
    previous_opened,
    to_affirm,
)
from assistant.core.procedure import Photograph, Position, Reading, Step, place_of
from assistant.core.speech.wording import ask_reading, before_step, condition_aloud, place_aloud
from assistant.core.state import State, Turn

REASON_UNHEARD = "(in sound)"


def begin(turn: Turn) -> None:
    """The program has started: open the first step, or take up where the job file ends."""
    job = turn.state.job
    if job.finished:
        turn.say(turn.words("job finished"), "finished")
        turn.talk(phase="finished")
        return
    if not job.step:
        _open(turn, 0)
        return
    if job.status.get(job.step):
        open_next(turn)
        return
    number = turn.state.procedure.index(job.step) + 1
    turn.say(turn.words("resuming", number=str(number), title=turn.step.title), "resumed")
    look_first(turn)


def look_first(turn: Turn) -> None:
    """After a resume: what the step needs and did hold must be looked at, for nobody knows what happened meanwhile."""
    now = turn.state.job.conditions
    held = [condition_aloud(c, v, turn.language) for c, v in turn.step.needs.items() if now.get(c) == v]
    if held:
        turn.talk(phase="condition", condition=None)
        turn.say(turn.words("look first", conditions=turn.language.listed(held)), "condition")
    else:
        ask_step(turn)


def open_next(turn: Turn) -> None:
    """Open the step after this one, or finish the job."""
    _open(turn, turn.state.procedure.index(turn.state.job.step) + 1)


def _open(turn: Turn, at: int) -> None:
    """The step in that place; one for other machines is passed over, which is kept too."""
    steps = turn.state.procedure.steps
    if at == len(steps):
        status = list(turn.state.job.status.values())
        turn.record(e.JobFinished(status.count("done"), status.count("unable")))
    elif other := kept_out(steps[at], turn.state.job.conditions):
        turn.record(e.StepPassed(steps[at].id, *other))
    else:
        turn.record(e.StepOpened(steps[at].id))


def open_previous(turn: Turn) -> None:
    """*Go back*: open the step before this one. What was kept stays kept; the machine is as it is."""
    procedure, now = turn.state.procedure, turn.state.job.conditions
    before = previous_opened(procedure.steps, procedure.index(turn.step.id), after_leaving(turn.step, now))
    if before is None:
        turn.say(turn.words("first step"), "answer")
        return
    turn.record(e.StepOpened(procedure.steps[before].id, left_unsure(turn)))


def left_unsure(turn: Turn) -> tuple[str, ...]:
    """The conditions that are in doubt when the open step is left without *done*: it may have been done in part."""
    now = turn.state.job.conditions
    after = after_leaving(turn.step, now)
    return tuple(sorted(name for name, value in after.items() if value == UNSURE and now.get(name) != UNSURE))


def ask_step(turn: Turn) -> None:
    """Say what stands before the step, or the step itself."""
    step = turn.step
    unmet = to_affirm(step, turn.state.job.conditions)
    if unmet:
        condition, value = unmet[0]
        turn.talk(phase="condition", condition=(condition, value), question=None, first_of_two=None)
        turn.say(before_step(step.title, condition, value, turn.language), "condition")
        return
    caution = next((c for c in step.cautions if c not in turn.state.job.cautions), None)
    if caution is not None:
        turn.talk(phase="caution", condition=None, question=None, first_of_two=None)
        turn.say(turn.words("caution", caution=caution), "caution")
        return
    turn.talk(phase="step", condition=None, question=None, first_of_two=None)
    turn.say(step.say, "step")
    if (step.readings or step.parts) and not missing(turn.state) and not next_photograph(turn.state):
        turn.say(turn.words("all kept"), "ask")
    else:
        ask_next(turn)


def ask_next(turn: Turn) -> None:
    """Ask for the next thing the step wants: a part before what is measured of it, then readings, then the count."""
    reading = next_reading(turn.state)
    if role := next_part(turn.state):
        turn.say(turn.words("show part", part=turn.state.parts[role].say), "ask")
    elif reading is not None:
        turn.say(ask_reading(*reading, turn.language), "ask")
    elif wants_count(turn.state):
        assert turn.step.countdown is not None
        turn.say(f"{turn.step.countdown.start.capitalize()}.", "ask")
    elif photograph := next_photograph(turn.state):
        turn.say(turn.words("photograph", what=photograph.of), "ask")


def put_again(turn: Turn) -> None:
    """Something else came in between: put again what the assistant waits for."""
    talk = turn.state.talk
    if talk.phase == "condition" and talk.condition is None:
        look_first(turn)
    elif talk.phase in ("condition", "caution"):
        ask_step(turn)
    else:
        ask_next(turn)


def go_on(turn: Turn) -> None:
    """Something the step wanted has come: ask for the next, finish the step, or wait for *done*."""
    if missing(turn.state) or next_photograph(turn.state):
        ask_next(turn)
        return
    step = turn.step
    if step.wait_for_done or _doubtful(turn.state, step):
        turn.say(turn.words("done or correction"), "ask")
        return
    finish_step(turn)


def _doubtful(state: State, step: Step) -> bool:
    """Is any kept reading of the step outside its limits."""
    return any(
        isinstance(kept.entry, e.ReadingKept) and kept.entry.verdict not in ("within", "")
        for (step_id, _, _), kept in state.job.readings.items()
        if step_id == step.id
    )


def finish_step(turn: Turn) -> None:
    """*Done*: refused while something is missing, or where it would make what must never be."""
    wanting = missing(turn.state)
    if wanting:
        turn.say(turn.words("missing", things=turn.language.listed(wanting)), "answer")
        return
    makes = made(turn.step, turn.state.job.chosen(turn.step.id))
    rule = broken(turn.state.procedure.never, after_done(turn.state.job.conditions, makes))
    if rule:
        turn.say(turn.words("never", because=rule.because), "refused")
        return
    turn.record(e.StepDone(turn.step.id, tuple(sorted(makes.items()))))


def affirm_condition(turn: Turn) -> None:
    """The technician says that a needed condition holds; after a resume, that all of them still do."""
    if turn.state.talk.condition is None:
        turn.record(e.CommandHeard(turn.step.id, "affirm", "the conditions still hold"))
        return
    condition, value = turn.state.talk.condition
    rule = broken(turn.state.procedure.never, affirmed(turn.state.job.conditions, condition, value))
    if rule:
        turn.say(turn.words("never affirmed", because=rule.because), "refused")
        return
    turn.record(e.ConditionAffirmed(turn.step.id, condition, value))


def next_reading(state: State) -> tuple[Reading, Position | None] | None:
    """The first reading, and place, that the open step still wants."""
    for reading, at in _unread(state):
        return reading, at
    return None


def open_places(state: State, reading: Reading) -> tuple[Position, ...]:
    """The places of a reading of the open step that nothing is kept for, in their order."""
    return tuple(at for r, at in _unread(state) if r.name == reading.name and at is not None)


def _unread(state: State) -> Iterator[tuple[Reading, Position | None]]:
    step = state.step
    for reading in step.readings if step else ():
        for at in reading.positions or (None,):
            if state.job.reading(state.job.step, reading.name, place_of(reading.each, at)) is None:
                yield reading, at


def next_part(state: State) -> str:
    """The first part role that the open step still wants, "" if none."""
    step = state.step
    for role in step.parts if step else ():
        if pieces_wanted(state, role) > 0:
            return role
    return ""


def pieces_wanted(state: State, role: str) -> int:
    """How many pieces of that part the open step still wants."""
    return state.parts[role].quantity - state.job.pieces(state.job.step, role)


def next_photograph(state: State) -> Photograph | None:
    """The first photograph that the open step still wants. It may be done without."""
    wanted = state.step.photographs if state.step else ()
    return next((one for one in wanted if (state.job.step, one.name) not in state.job.photographs), None)


def wants_count(state: State) -> bool:
    """Does the open step still want its seconds counted."""
    return state.step is not None and state.step.countdown is not None and state.job.step not in state.job.counted


def missing(state: State) -> list[str]:
    """What the open step still wants, in words for the ear."""
    out: list[str] = []
    step, language = state.step, state.site.language
    for reading, at in _unread(state):
        place = place_aloud(place_of(reading.each, at), language)
        out.append(" ".join(filter(None, (reading.spoken_name, place))))
    for role in step.parts if step else ():
        if pieces_wanted(state, role) > 0:
            out.append(language.phrase("missing part", part=state.parts[role].say))
    if wants_count(state):
        out.append(language.phrase("missing count"))
    return out
