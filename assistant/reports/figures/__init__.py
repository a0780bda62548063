"""Figures of a job as SVG text, drawn on the server: `figures_of`.

Verdicts are told by word and shape, so that a figure reads in grey and in print. No number is worked out here: they are
those of the entries and of `core.trade`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from assistant.core.entries import JobOpened
from assistant.reports.figures.battery import cells, rest_voltage
from assistant.reports.figures.compression import compression
from assistant.reports.figures.drawing import Drawn
from assistant.reports.figures.drops import drops
from assistant.reports.figures.over_time import over_time
from assistant.reports.figures.places import by_place
from assistant.reports.figures.scale import band_of
from assistant.reports.figures.seasons import seasons
from assistant.reports.figures.told import ReadingSet, Told, sets_of, told_of
from assistant.reports.job_report import JobReport
from assistant.reports.values import Value

__all__ = ["Drawn", "Figures", "band_of", "figures_of", "told_of"]
Kind = Callable[[ReadingSet, Told, Sequence[Value]], Drawn | None]
KINDS: tuple[Kind, ...] = (compression, drops, rest_voltage, cells, lambda found, _texts, _values: by_place(found))
"""What a reading may be drawn as: the first that it is."""
MOST_OF_STEPS = 60
"""So many readings are drawn; a job that is worth looking at has twenty."""


@dataclass(frozen=True)
class Figures:
    """Those of a job's steps first, then those of the whole job (step ""). `more`: it has readings beyond MOST_OF_STEPS that
    could be drawn, and are not."""

    drawn: tuple[Drawn, ...]
    more: bool


def figures_of(report: JobReport, opened: JobOpened | None) -> Figures:
    """Every figure of the job, as many as are drawn."""
    texts = told_of(opened)
    sets = sets_of(report.values, texts)
    of_steps = tuple(islice(_of_steps(sets, texts, report.values), MOST_OF_STEPS + 1))
    drawn = (*of_steps[:MOST_OF_STEPS], *_of_job(sets, texts, report, opened))
    return Figures(drawn, more=len(of_steps) > MOST_OF_STEPS)


def _of_steps(sets: Sequence[ReadingSet], texts: Told, values: Sequence[Value]) -> Iterator[Drawn]:
    for found in sets:
        drawn = next((one for one in (kind(found, texts, values) for kind in KINDS) if one), None)
        if drawn is not None:
            yield drawn


def _of_job(sets: Sequence[ReadingSet], texts: Told, report: JobReport, opened: JobOpened | None) -> Iterator[Drawn]:
    warm = over_time(sets, texts, [step.id for step in report.steps])
    if warm is not None:
        yield warm
    yield from seasons(sets, opened)
