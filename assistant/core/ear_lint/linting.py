"""A procedure looked at for the ear as a whole: every rule over every text, and one score.

Looked at is the procedure as it is written, its placeholders filled where a sheet is at hand (`as_said`); what sounds alike
at a step is known only bound, and comes in from outside (`sounds`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from assistant.core.ear_lint.bare_numbers import bare_numbers
from assistant.core.ear_lint.cautions import in_the_text, too_late
from assistant.core.ear_lint.findings import Finding, worst_first
from assistant.core.ear_lint.prompts import too_much
from assistant.core.ear_lint.readability import NOTHING, Readability, by_step, hard_to_follow
from assistant.core.ear_lint.sayable import Pronouncing, unsayable
from assistant.core.ear_lint.texts import texts_of
from assistant.core.procedure import Procedure, Step


@dataclass(frozen=True)
class EarLint:
    """All that was found, the worst first, and how hard the procedure and each step of it is."""

    findings: tuple[Finding, ...]
    whole: Readability
    steps: tuple[tuple[str, Readability], ...]

    @property
    def ok(self) -> bool:
        """Nothing that must be mended."""
        return not any(found.grade == "must" for found in self.findings)

    def count(self, grade: str) -> int:
        """How many findings of a grade."""
        return sum(found.grade == grade for found in self.findings)


def lint(procedure: Procedure, pronouncing: Pronouncing, sounds: tuple[Finding, ...] = ()) -> EarLint:
    """Look at every text of a procedure; `sounds` are findings about what sounds alike."""
    texts = list(texts_of(procedure))
    hard = by_step(texts, pronouncing.syllables)
    whole = sum(hard.values(), NOTHING)
    findings = (*_of_texts(procedure, pronouncing), *too_late(procedure), *sounds, *hard_to_follow(whole))
    return EarLint(worst_first(findings), whole, tuple((step, hard[step]) for step in hard if step))


def _of_texts(procedure: Procedure, pronouncing: Pronouncing) -> Iterator[Finding]:
    names = _known_by_number(procedure)
    for text in texts_of(procedure):
        yield from too_much(text)
        yield from bare_numbers(text, names)
        yield from in_the_text(text)
        yield from unsayable(text, pronouncing)


def _known_by_number(procedure: Procedure) -> frozenset[str]:
    """Positions and fasteners: "cylinder", "pump_bolt"."""
    steps = procedure.steps
    names = {step.each for step in steps} | {step.tighten.fastener for step in steps if step.tighten is not None}
    return frozenset((names | {reading.each for step in steps for reading in step.readings}) - {""})


def as_said(written: Procedure, bound: Procedure) -> Procedure:
    """The procedure as written, each step with the texts of the first step that it was bound to.

    What is made of a joint, one step for each turn of the tool, is the program's own wording: of it the first is taken,
    which is the step as written.
    """
    first: dict[int, Step] = {}
    for step in bound.steps:
        first.setdefault(step.line, step)
    return replace(written, steps=tuple(_filled(step, first.get(step.line, step)) for step in written.steps))


def _filled(step: Step, bound: Step) -> Step:
    readings = tuple(replace(r, ask=b.ask) for r, b in zip(step.readings, bound.readings, strict=True))
    return replace(
        step, title=bound.title, say=bound.say, cautions=bound.cautions, readings=readings, countdown=bound.countdown
    )
