"""What was measured and what it means, in the words of a workshop to its customer."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from assistant.reports.job_report import JobReport
from assistant.reports.sections import StepReport, Upheld
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

    `verdict` is the word of the entries, `means` what it is called here; `unsettled`: the foreman has not let it stand yet;
    `why`: why he let one that needs somebody stand, in his words, and `who` he is ("" where he wrote nothing).
    """

    what: str
    values: tuple[tuple[str, str], ...]
    limit: str
    verdict: str
    means: str
    unsettled: bool
    why: str = ""
    who: str = ""

    @property
    def bad(self) -> bool:
        """It needs somebody."""
        return _is_bad(self.verdict)


def measured(report: JobReport, unsettled: Collection[int]) -> tuple[Measured, ...]:
    """Every current value, those that belong together in one row, in the order of the work."""
    return tuple(row for _, steps in alike(report.steps) for row in _rows(steps, unsettled, report.upheld))


def _rows(steps: list[StepReport], unsettled: Collection[int], upheld: Mapping[int, Upheld]) -> Iterable[Measured]:
    sets: dict[tuple[str, str, str, bool, tuple[str, str]], list[tuple[StepReport, Value]]] = {}
    for step in steps:
        for value in step.values:
            reason = _reason(value, upheld)
            key = (value.name, value.limit, value.verdict, value.sequence in unsettled, reason)
            sets.setdefault(key, []).append((step, value))
    several = len({value.name for step in steps for value in step.values}) > 1
    for (name, limit, verdict, open_, (why, who)), found in sets.items():
        yield Measured(
            what=_what([step.title for step, _ in found], name, several=several),
            values=_values(found),
            limit=without_sources(spaced(limit)),
            verdict=verdict,
            means=UNSETTLED if open_ else MEANS.get(verdict, verdict),
            unsettled=open_,
            why=why,
            who=who,
        )


def _is_bad(verdict: str) -> bool:
    return verdict not in ("within", "")


def _reason(value: Value, upheld: Mapping[int, Upheld]) -> tuple[str, str]:
    """Why a value that needs somebody was let stand, and who says so. Of others it is not told: doubts are the shop's own."""
    one = upheld.get(value.sequence) if _is_bad(value.verdict) else None
    return (one.why, one.who) if one and one.why else ("", "")


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


def _what(titles: list[str], name: str, *, several: bool) -> str:
    """The step's title where it says what was read; else with the reading's name behind it, and so where there are several."""
    title, read = together(list(dict.fromkeys(titles))), spaced(name)
    told = read.casefold() == title.casefold() if several else read.casefold() in title.casefold()
    return title if told else f"{title}: {read}"


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
