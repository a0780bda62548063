"""Cautions that come too late: after the act that they are about, or inside of the text that orders it.

A caution is read, and answered *roger*, before its step. It comes too late where an earlier step has already done what it is
about; which step that was is told by the machine's conditions, as they are when every step is done in its order. "Always place
the caution before the step to which it applies" is the rule of every guide to writing procedures (so the US Department
of Energy's for technical procedures, DOE-STD-1029, from memory).

Three rules
    1. By hazard: a caution speaks of a hazard (`HAZARDS`: by its words) that a condition brings about (by its value, as
       running, lifted, hot), the condition was made so by an earlier step, and up to that step no caution spoke of that hazard.
    2. Made already: all that the caution's step makes was made by earlier steps that have no caution at all.
    3. By name: the caution names a condition and its value, which its step needs and an earlier step made so with no
       caution at all. To put something back as it was at the start begins no danger. Weaker, since a word may be named for
       another reason: *should*.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from assistant.core.ear_lint.findings import Finding, Grade
from assistant.core.ear_lint.texts import Text
from assistant.core.procedure import Procedure, Step


@dataclass(frozen=True)
class Hazard:
    """A danger, the words that a caution about it uses, and the values of conditions that bring it about."""

    name: str
    words: re.Pattern[str]
    values: frozenset[str]


def _hazard(name: str, words: str, *values: str) -> Hazard:
    return Hazard(name, re.compile(rf"\b(?:{words})\b", re.IGNORECASE), frozenset(values))


HAZARDS = (
    _hazard("exhaust", "exhaust gas(?:es)?|exhaust|fumes?|carbon monoxide|monoxide", "running", "started", "idling"),
    _hazard(
        "turning parts",
        "turn(?:s|ing)?|rotat(?:es?|ing)|spin(?:s|ning)?|belts?|pulleys?|impeller|propeller|blades?|shafts?|nozzle|sleeves?|hair",
        "running", "started", "idling", "turning",
    ),
    _hazard("heat", "hot|scalds?|scalding", "hot", "warm"),
    _hazard("a hanging load", "lifted|lifting|hoist|sling|hook|hooks|hanging", "hoist", "lifted", "raised", "hanging", "slung"),
    _hazard("pressure", "pressure|pressuri[sz]ed|bursts?", "pressurised", "pressurized", "charged"),
    _hazard("a spring under load", "springs?|tension", "tensioned", "cocked", "compressed"),
)  # fmt: skip
"""The lay-up's own, and what begins each: common practice, no source."""
EVERYWHERE = ("on", "off", "in", "out")
"""Values that stand in any sentence, and name nothing."""
WARNING_WORDS = re.compile(
    r"\b(?:be careful|careful|take care|watch out|look out|beware|danger(?:ous)?|caution|warning|(?<!in )mind)\b",
    re.IGNORECASE,
)
"""Words of a caution; "carefully" and "keep in mind" are none."""


@dataclass(frozen=True)
class _Made:
    """What a condition is, and the step that made it so (its index)."""

    value: str
    by: int


def in_the_text(text: Text) -> Iterator[Finding]:
    """A caution inside of what is said: nobody has to answer it, and it is heard with the order itself."""
    if text.kind not in ("say", "ask", "countdown"):
        return
    found = WARNING_WORDS.search(text.text)
    if found:
        what = f"a caution stands in what is said ('{found[0]}'): no roger is asked for it"
        yield text.found("must", "caution in the text", what, "write it under 'cautions' of this step")


def too_late(procedure: Procedure) -> Iterator[Finding]:
    """Cautions that come after the act, by the three rules."""
    made: dict[str, _Made] = {}
    for index, step in enumerate(procedure.steps):
        for n, caution in enumerate(step.cautions):
            yield from _late_by_hazard(procedure, made, step, n)
            yield from _late_by_name(procedure, made, step, n, caution)
        yield from _made_already(procedure, made, step)
        made |= {name: _Made(value, index) for name, value in step.makes.items() if _changes(made, name, value)}


def _changes(made: dict[str, _Made], name: str, value: str) -> bool:
    return name not in made or made[name].value != value


def _late_by_hazard(procedure: Procedure, made: dict[str, _Made], step: Step, n: int) -> Iterator[Finding]:
    for hazard in HAZARDS:
        if not hazard.words.search(step.cautions[n]):
            continue
        for condition, was in made.items():
            if was.value in hazard.values and not _told_by(procedure, was.by, hazard):
                maker = procedure.steps[was.by]
                what = f"this caution about {hazard.name} comes after '{maker.id}' has made {condition} {was.value}"
                yield _late("must", step, n, what, maker)


def _told_by(procedure: Procedure, index: int, hazard: Hazard) -> bool:
    """Has a caution spoken of the hazard by then, that step's own among them."""
    return any(hazard.words.search(caution) for step in procedure.steps[: index + 1] for caution in step.cautions)


def _late_by_name(procedure: Procedure, made: dict[str, _Made], step: Step, n: int, caution: str) -> Iterator[Finding]:
    for condition, value in step.needs.items():
        was = made.get(condition)
        if was is None or value == procedure.start.get(condition) or was.value != value:
            continue
        if procedure.steps[was.by].cautions:
            continue
        if value not in EVERYWHERE and _names(caution, condition) and _names(caution, value):
            maker = procedure.steps[was.by]
            what = f"this caution names {condition} {value}, which '{maker.id}' has made so without any caution"
            yield _late("should", step, n, what, maker)


def _names(caution: str, name: str) -> bool:
    """Does the caution say the name of the condition, or of its value."""
    return re.search(rf"\b{re.escape(name.replace('_', ' '))}\b", caution, re.IGNORECASE) is not None


def _made_already(procedure: Procedure, made: dict[str, _Made], step: Step) -> Iterator[Finding]:
    if not (step.cautions and step.makes):
        return
    before = [made.get(name) for name, value in step.makes.items() if not _changes(made, name, value)]
    makers = [procedure.steps[was.by] for was in before if was is not None]
    if len(makers) == len(step.makes) and not any(maker.cautions for maker in makers):
        done = ", ".join(f"{name} {value}" for name, value in step.makes.items())
        what = f"'{makers[0].id}' has made {done} before this caution is read"
        yield _late("must", step, 0, what, makers[0])


def _late(grade: Grade, step: Step, n: int, what: str, maker: Step) -> Finding:
    do = f"say it before '{maker.id}' (line {maker.line}), under its 'cautions'"
    return Finding(grade, "caution after the act", what, do, step.id, step.line, ("cautions", n))
