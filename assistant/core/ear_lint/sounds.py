"""What sounds alike at a step, judged: which answers of one step are too near each other, and how risky a reading's range is.

The pairs, their distances and the values that they part come from the sound-alike model (`core.speech.risks`); here is said
what a writer has to mend. `TOO_NEAR` is a little more than what lies between fifteen and fifty, the pair for whose sake
radiotelephony says figures digit by digit (ICAO Annex 10 volume II, 5.2.1.4): as near as that nothing else may be that the
writer is free to choose.

A reading's range is no free choice: where a limit parts eighteen and eighty the program asks, whoever wrote it (`asking`).
Such a reading is listed with how often, so that the writer narrows `plausible` where the machine allows it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from assistant.core.ear_lint.findings import Finding, Grade
from assistant.core.procedure import Step
from assistant.core.speech.risks import WORTH_TELLING, Risk
from assistant.core.speech.sound_alikes import unknown_words

TOO_NEAR = 3.5
"""Distance in nats up to which two answers are too near: one is heard for the other more than once in 33."""


def judged(step: Step, found: Iterable[Risk]) -> Iterator[Finding]:
    """What is to be mended, and what is to be known, of the risks of one step."""
    risks = list(found)
    answers = {f"{r.name} {c.name}": (n, r.name) for n, r in enumerate(step.readings) for c in r.choices}
    for risk in risks:
        ours = [lead for lead in risk.leads if lead in answers]
        if ours:
            yield from _answer(step, risk, ours, answers)
    for n, reading in enumerate(step.readings):
        unknown = unknown_words(
            word for choice in reading.choices for phrase in choice.words for word in phrase.split()
        )
        if unknown:
            what = f"what sounds like {', '.join(repr(word) for word in unknown)} is not known, so nothing was compared with it"
            do = "the streaming ear may not know it either: `layup models` tells; a commoner word would be surer"
            yield Finding("look", "unknown answer", what, do, step.id, step.line, ("readings", n))
        if not reading.choices:
            yield from _range(step, n, [r for r in risks if _is_of(r, reading.name)])


def _answer(step: Step, risk: Risk, ours: list[str], answers: dict[str, tuple[int, str]]) -> Iterator[Finding]:
    at = answers[ours[0]][0]
    pair = f"'{risk.said}' and '{risk.other}'"
    near = f"sound alike: one is heard for the other about once in {once_in(risk.distance)}"
    other = next((lead for lead in risk.leads if lead not in answers), "")
    if not other and risk.turns and risk.distance <= WORTH_TELLING:
        what = f"the answers {pair} {near}, and one of them is as it should be, the other not"
        grade: Grade = "must" if risk.distance <= TOO_NEAR else "should"
        yield _found(grade, "answers sound alike", step, at, what, "take another word for one of them", risk)
    elif not other and risk.distance <= TOO_NEAR:
        yield _found("should", "answers sound alike", step, at, f"the answers {pair} {near}", "take another word", risk)
    elif other.startswith("command") and risk.distance <= TOO_NEAR:
        what = f"the answer and the {other}, {pair}, {near}"
        yield _found("should", "answer like a command", step, at, what, "take another word for the answer", risk)
    elif other and risk.distance <= TOO_NEAR:
        what = f"an answer and an everyday word, {pair}, {near}"
        yield _found("look", "answer like a word", step, at, what, "another word would be surer", risk)


def _range(step: Step, at: int, risks: list[Risk]) -> Iterator[Finding]:
    turning = [r for r in risks if r.turns and r.distance <= TOO_NEAR]
    if not turning:
        return
    first = turning[0]
    more = f", and {len(turning) - 1} more" if len(turning) > 1 else ""
    shown = " / ".join(first.examples)
    what = (
        f"a limit of '{step.readings[at].name}' parts '{first.said}' and '{first.other}' ({shown}{more}): "
        f"each heard for the other about once in {once_in(first.distance)}"
    )
    do = "the program will ask; narrow 'plausible' to what a machine can show, where that takes them out"
    yield _found("look", "risky range", step, at, what, do, first, len(turning))


def _is_of(risk: Risk, name: str) -> bool:
    """Is it of two values of that reading."""
    return all(lead.startswith(f"{name} ") for lead in risk.leads) and bool(risk.examples)


def once_in(distance: float) -> int:
    """A distance as people say it: of how many one is heard for the other.

    >>> once_in(3.0), once_in(5.0)
    (20, 148)
    """
    return round(math.exp(distance))


def _found(grade: Grade, rule: str, step: Step, at: int, what: str, do: str, risk: Risk, pairs: int = 1) -> Finding:
    weight = pairs * math.exp(-risk.distance)
    return Finding(grade, rule, what, do, step.id, step.line, ("readings", at), weight)
