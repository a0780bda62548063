"""`layup prove --ear`: a procedure file looked at for the ear, with the sounds of its steps where a machine is named."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

from assistant.bench.listening import state_at
from assistant.core.ear_lint.findings import Finding
from assistant.core.ear_lint.linting import as_said, lint
from assistant.core.ear_lint.sayable import Pronouncing
from assistant.core.ear_lint.sounds import judged
from assistant.core.expected import expectation_of
from assistant.core.procedure import Step
from assistant.core.speech.risks import risks
from assistant.devices.voice.guessing import guessed_sound
from assistant.files.dictionary import syllables
from assistant.files.procedure_file import read_procedure
from assistant.files.shipped import PROCEDURE, find_file
from assistant.files.text_places import TextPlaces
from assistant.files.work import Work, read_work
from assistant.files.yaml_source import read_text
from assistant.reports.ear_lint import EarReport

Progress = Callable[[str], None]
"""Told what is being looked at; what sounds alike takes a tenth of a second a step."""


def ear_lint(path: Path, sheet: Path | None, site: Path | None, today: date, progress: Progress) -> EarReport:
    """Everything that is found for the ear in a file without problems. Raises FileProblems where it has some."""
    path = find_file(path, PROCEDURE)
    text = read_text(path)
    procedure = read_procedure(text, str(path))
    sounds: tuple[Finding, ...] = ()
    if sheet is not None:
        work = read_work(path, sheet, site)
        procedure = as_said(procedure, work.procedure)
        sounds = tuple(_sounds(work, today, progress))
    places = TextPlaces(text, str(path))
    found = lint(procedure, Pronouncing(syllables, guessed_sound), sounds)
    return EarReport(str(path), found, lambda one: places.of(one.line, one.path), sheet is not None)


def _sounds(work: Work, today: date, progress: Progress) -> Iterator[Finding]:
    """Of each step as it is written, once however many cylinders there are, what its answers sound like."""
    steps: dict[int, Step] = {}
    for step in work.procedure.steps:
        if step.readings:
            steps.setdefault(step.line, step)
    for n, step in enumerate(steps.values(), 1):
        progress(f"{work.procedure.file}: listening to step {n} of {len(steps)}, {step.id}")
        yield from judged(step, risks(expectation_of(state_at(work, step.id, today))))
