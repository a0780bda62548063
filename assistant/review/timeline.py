"""One job as rows: each entry with all that the foreman needs to judge it, and three orders to see them in.

*Doubtful first* goes by the figures of the asking rule itself: what holds up a signature, worst kind first (`looks.ORDER`), the
most doubtful value first within its kind; then what was looked at already; then every other value, the least sure first; then
the rest. *Open only* is the first part of it. *As it happened* is every entry in its place.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from typing import Literal, TypeVar

from assistant.core import entries as e
from assistant.core.entries import Kept, opened_in
from assistant.core.labels.spoken import SPOKEN
from assistant.reports.figures.told import number_of
from assistant.reports.job_report import JobReport, report_of
from assistant.reports.looks import Look, named
from assistant.reports.open_items import OpenItem, open_items
from assistant.reports.own_texts import OwnTexts
from assistant.reports.sections import AskedBack, Decision, Part, Remark, Upheld
from assistant.reports.standing import added_since_signed
from assistant.reports.values import Earlier, Value
from assistant.review.gauge import Gauge, gauge_of
from assistant.review.row_words import told_plainly
from assistant.review.summary import state_of
from assistant.review.untrusted import Record

Order = Literal["doubtful", "open", "time"]
ORDERS: Mapping[Order, str] = {"doubtful": "doubtful first", "open": "open only", "time": "as it happened"}
ROWS_A_PAGE = 60
K = TypeVar("K")
T = TypeVar("T")


@dataclass(frozen=True)
class Row:
    """One entry. What it is not about is None or empty; `plain` tells it where nothing nearer does.

    `asked` is what the assistant had asked for, `told` what the step told to do, `choices` what the reading may be where it is
    one of several words; `replaced` the value's later fate, `heading` its reading then; `media` says what its clip is, and
    `there` which clips the file has still.
    """

    sequence: int
    time: str
    step: str
    plain: str
    heading: str
    value: Value | None
    asked: str
    told: str
    choices: tuple[str, ...]
    gauge: Gauge | None
    replaced: Earlier | None
    part: Part | None
    remark: Remark | None
    findings: tuple[Remark, ...]
    decision: Decision | None
    looks: tuple[Look, ...]
    open: tuple[OpenItem, ...]
    upheld: Upheld | None
    questions: tuple[AskedBack, ...]
    clip: str
    media: str
    there: frozenset[str]

    @property
    def may_uphold(self) -> bool:
        """Something of it is open that the foreman can settle by letting it stand."""
        return any(item.kind not in ("finding", "asked back") for item in self.open)


class JobView:
    """A job's entries as rows. Made once for each state of the file; rows are made for a page at a time."""

    def __init__(self, record: Record) -> None:
        self.kept = kept = record.kept
        self.signed, self.misfit, self._clips = record.signed, record.misfit, record.clips
        self.report: JobReport = report_of(kept)
        self.open_items = open_items(self.report)
        self.state = state_of(self.report, kept, record.misfit)
        self.added_since_signed = added_since_signed(kept)
        self._texts = OwnTexts(opened_in(kept), kept)

    @property
    def tally(self) -> Mapping[str, int]:
        """How many are open of each kind, worst first."""
        return Counter(item.kind for item in self.open_items)

    def order(self, order: Order) -> tuple[int, ...]:
        """The sequences of the rows, in that order."""
        if order == "time":
            return tuple(k.sequence for k in self.kept)
        opened = [item.sequence for item in self.open_items if item.sequence]
        if order == "open":
            return tuple(dict.fromkeys(opened))
        looked = [look.sequence for look in self.report.looks if look.sequence]
        values = [v.sequence for v in sorted(self.report.values, key=lambda v: -v.doubt)]
        rest = [
            *(r.sequence for r in self.report.remarks),
            *(p.sequence for p in self.report.parts),
            *(p.sequence for p in self.report.photographs),
        ]
        asked = [question.sequence for question in self.report.questions]
        return tuple(dict.fromkeys((*opened, *looked, *asked, *values, *rest)))

    def rows(self, sequences: Iterable[int]) -> tuple[Row, ...]:
        """These entries as rows. KeyError for one that the job has not."""
        return tuple(self.row(sequence) for sequence in sequences)

    def row(self, sequence: int) -> Row:
        """One entry as a row."""
        if not 1 <= sequence <= len(self.kept):
            raise KeyError(sequence)
        k = self.kept[sequence - 1]
        value = self._values.get(sequence)
        step = getattr(k.entry, "step", "")
        return Row(
            sequence=sequence,
            time=k.at,
            step=self._titles.get(step, step),
            plain=told_plainly(k.entry, self.misfit),
            heading=self._named_before.get(sequence, ""),
            value=value,
            asked=self._texts.asked(value.step, value.name) if value else "",
            told=self._texts.told(value.step) if value else "",
            choices=self._texts.choices(value.step, value.name) if value else (),
            gauge=gauge_of(value, self._numbers.get(_set_of(value), ())) if value else None,
            replaced=self._replaced.get(sequence),
            part=self._parts.get(sequence),
            remark=self._remarks.get(sequence),
            findings=self._findings.get(sequence, ()),
            decision=self.report.decisions.get(sequence),
            looks=self._looks.get(sequence, ()),
            open=self._open.get(sequence, ()),
            upheld=self.report.upheld.get(sequence),
            questions=self._questions.get(sequence, ()),
            clip=k.clip,
            media=_media(k),
            there=self._clips,
        )

    @cached_property
    def _titles(self) -> Mapping[str, str]:
        return {step.id: step.title for step in self.report.steps}

    @cached_property
    def _values(self) -> Mapping[int, Value]:
        return {v.sequence: v for v in self.report.values}

    @cached_property
    def _replaced(self) -> Mapping[int, Earlier]:
        return {old.sequence: old for v in self.report.values for old in v.earlier}

    @cached_property
    def _named_before(self) -> Mapping[int, str]:
        """The reading of a value that was replaced, at the place where it was kept."""
        return {old.sequence: named(replace(v, place=old.place)) for v in self.report.values for old in v.earlier}

    @cached_property
    def _parts(self) -> Mapping[int, Part]:
        return {p.sequence: p for p in self.report.parts}

    @cached_property
    def _remarks(self) -> Mapping[int, Remark]:
        return {r.sequence: r for r in self.report.remarks if not r.written}

    @cached_property
    def _findings(self) -> Mapping[int, tuple[Remark, ...]]:
        return _grouped((r.sequence, r) for r in self.report.findings)

    @cached_property
    def _looks(self) -> Mapping[int, tuple[Look, ...]]:
        return _grouped((look.sequence, look) for look in self.report.looks)

    @cached_property
    def _open(self) -> Mapping[int, tuple[OpenItem, ...]]:
        return _grouped((item.sequence, item) for item in self.open_items)

    @cached_property
    def _questions(self) -> Mapping[int, tuple[AskedBack, ...]]:
        """A question stands with the entry that it is about, and with its own."""
        about = [(q.about, q) for q in self.report.questions if q.about]
        return _grouped([*about, *((q.sequence, q) for q in self.report.questions)])

    @cached_property
    def _numbers(self) -> Mapping[tuple[str, str, str], tuple[Decimal, ...]]:
        """The numbers of each reading in one unit: a spread is of all of them."""
        numbers = ((_set_of(value), number_of(value.value)) for value in self.report.values)
        return _grouped((key, number) for key, number in numbers if number is not None)


def _set_of(value: Value) -> tuple[str, str, str]:
    return value.step, value.name, value.unit


def _grouped(pairs: Iterable[tuple[K, T]]) -> dict[K, tuple[T, ...]]:
    found: dict[K, list[T]] = {}
    for key, one in pairs:
        found.setdefault(key, []).append(one)
    return {key: tuple(several) for key, several in found.items()}


def _media(k: Kept) -> str:
    """A label's or a photograph's clip is a picture, unless the number was said."""
    if not k.clip:
        return ""
    picture = isinstance(k.entry, e.PhotographKept) or (
        isinstance(k.entry, e.PartScanned) and k.entry.symbology != SPOKEN
    )
    return "picture" if picture else "sound"
