"""What was measured and what it means, in the words of a workshop to its customer."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from assistant.reports.job_report import JobReport
from assistant.reports.sections import StepReport
from assistant.reports.values import Value, spaced
from assistant.reports.work_done import alike, together

MEANS = {
    "within": "as it should be",
    "low": "too low",
    "high": "too high",
    "outside": "not as it should be",
    "unsure": "could not be told",
    "": "for the record",
}
"""What a verdict is called to a customer."""
UNSETTLED = "not settled yet: the shop looks at it again"


@dataclass(frozen=True)
class Measured:
    """Values of one reading that mean the same: `values` are (place or "", value in print); `limit` as in the entries.

    `verdict` is the word of the entries, `means` what it is called here; `unsettled`: the foreman has not let it stand yet.
    """

    what: str
    values: tuple[tuple[str, str], ...]
    limit: str
    verdict: str
    means: str
    unsettled: bool

    @property
    def bad(self) -> bool:
        """It needs somebody."""
        return self.verdict not in ("within", "")


def measured(report: JobReport, unsettled: Collection[int]) -> tuple[Measured, ...]:
    """Every current value, those that belong together in one row, in the order of the work."""
    return tuple(row for _, steps in alike(report.steps) for row in _rows(steps, unsettled))


def _rows(steps: list[StepReport], unsettled: Collection[int]) -> Iterable[Measured]:
    sets: dict[tuple[str, str, str, bool], list[tuple[StepReport, Value]]] = {}
    for step in steps:
        for value in step.values:
            key = (value.name, value.limit, value.verdict, value.sequence in unsettled)
            sets.setdefault(key, []).append((step, value))
    for (name, limit, verdict, open_), found in sets.items():
        yield Measured(
            what=_what([step.title for step, _ in found], name),
            values=_values(found),
            limit=without_sources(spaced(limit)),
            verdict=verdict,
            means=UNSETTLED if open_ else MEANS.get(verdict, verdict),
            unsettled=open_,
        )


def without_sources(limit: str) -> str:
    """A limit in print without what stands in brackets: where it comes from is told on the foreman's sheet. Whole where a
    bracket is left open.

    >>> without_sources("at least 175 psi (Tern 3 manual page 6-8 (b)); lowest within 10 % of highest (trade practice)")
    'at least 175 psi; lowest within 10 % of highest'
    """
    deep, kept = 0, []
    for sign in limit:
        deep += sign == "("
        if not deep:
            kept.append(sign)
        deep -= sign == ")" and deep > 0
    return limit if deep else "".join(kept).replace(" ;", ";").strip()


def _what(titles: list[str], name: str) -> str:
    """The step's title where it says what was read, else with the reading's name behind it."""
    title, read = together(list(dict.fromkeys(titles))), spaced(name)
    return title if read.casefold() in title.casefold() else f"{title}: {read}"


def _values(found: list[tuple[StepReport, Value]]) -> tuple[tuple[str, str], ...]:
    """Place and value of each; where all are alike, once."""
    written = {value.written for _, value in found}
    if len(found) > 1 and len(written) == 1:
        return (("each", written.pop()),)
    return tuple((_place(step, value, len(found) > 1), value.written) for step, value in found)


def _place(step: StepReport, value: Value, several: bool) -> str:
    """Where it was read; of steps that are told together the number at the end of the title."""
    if value.place or not several:
        return value.place
    return step.id.partition(".")[2]
