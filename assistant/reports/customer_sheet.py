"""The customer's sheet: what was done to his machine and what that means to him, from one template for HTML and PDF.

What the ears thought is not his business: no doubts are shown. A value that the foreman has not settled, and a job that is not
signed, make the sheet a draft, and it says so on every page.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.core.entries import Kept, opened_in
from assistant.files.verdict import Verdict
from assistant.reports.embedded import ClipBytes
from assistant.reports.figures import Drawn, figures_of
from assistant.reports.figures.drawing import SHAPES
from assistant.reports.job_report import JobReport, report_of
from assistant.reports.measured import Measured, measured
from assistant.reports.page_templates import template
from assistant.reports.season_jobs import HOURS_NAMES, NAMES_ONE_MACHINE
from assistant.reports.sections import Decision
from assistant.reports.spring_needs import Need, finding_words, spring_needs
from assistant.reports.standing import Standing, standing_of
from assistant.reports.storage_state import StorageState, storage_state
from assistant.reports.values import spaced
from assistant.reports.work_done import Group, NotDone, groups_of, not_done

MOST_FIGURES = 3
"""More is for the foreman's sheet."""
DEFERS = (
    "The machine's own service manual comes first: where this sheet and the manual differ, follow the manual. Local rules "
    "hold, and work that the law gives to licensed people is theirs."
)
USUAL = (
    ("engine", "An engine kills by carbon monoxide: start it in the open only, never in a closed room or tent."),
    ("fuel", "Fuel vapour burns: no flame and no spark where the machine stands, and let air through."),
    (
        "battery",
        "A battery gives gas that explodes, and its acid burns: store and charge it away from flame and from frost.",
    ),
    ("fog", "The engine was fogged with oil: it smokes when it first starts. That is as it should be."),
)
"""Cautions for storage where the work was on that (a word of a title of the steps done, or of what is to be put right):
common practice, no source."""


@dataclass(frozen=True)
class FoundOut:
    """A finding with what the customer said of it; `heard`: the words are as the ears made them out."""

    title: str
    words: str
    heard: bool
    decision: Decision | None


@dataclass(frozen=True)
class PartFitted:
    """Pieces of one packet that went in."""

    what: str
    pieces: int
    number: str
    lot: str
    serial: str
    expiry: str
    not_listed: bool


@dataclass(frozen=True)
class CustomerSheet:
    """All that is on the sheet."""

    report: JobReport
    standing: Standing
    numbers: tuple[tuple[str, str], ...]
    groups: tuple[Group, ...]
    not_done: tuple[NotDone, ...]
    measured: tuple[Measured, ...]
    figures: tuple[Drawn, ...]
    parts: tuple[PartFitted, ...]
    found: tuple[FoundOut, ...]
    needs: tuple[Need, ...]
    storage: StorageState
    cautions: tuple[str, ...]
    in_spring: bool


def customer_html(kept: tuple[Kept, ...], clip: ClipBytes | None, verdict: Verdict) -> str:
    """The whole page of a job: `verdict` is on the file that the entries are from. Nothing is fetched, nothing runs.

    `clip` is taken as all sheets take it; of sound and pictures none is the customer's.
    """
    del clip
    sheet = sheet_of(kept, verdict)
    return template("customer.html").render(sheet=sheet, report=sheet.report, shapes=SHAPES, defers=DEFERS)


def sheet_of(kept: tuple[Kept, ...], verdict: Verdict) -> CustomerSheet:
    """What the sheet says."""
    report = report_of(kept)
    opened = opened_in(kept)
    standing, storage = standing_of(report, kept, verdict), storage_state(report, kept)
    text = opened.procedure_text if opened else ""
    return CustomerSheet(
        report=report,
        standing=standing,
        numbers=tuple(machine_numbers(report)),
        groups=groups_of(report, text),
        not_done=not_done(report),
        measured=measured(report, standing.unsettled),
        figures=_chosen(figures_of(report, opened).drawn, report),
        parts=_parts(report),
        found=tuple(_found(report)),
        needs=spring_needs(report, storage.spring_says),
        storage=storage,
        cautions=(*storage.cautions, *_usual(report, storage)),
        in_spring="spring" in f"{opened.procedure} {report.procedure}".casefold() if opened else False,
    )


def machine_numbers(report: JobReport) -> list[tuple[str, str]]:
    """What tells this machine from others, by the job or by a reading, and its engine hours: (name, value in print)."""
    wanted = (*NAMES_ONE_MACHINE, *HOURS_NAMES)
    found = {value.name: value.written for value in report.values if value.name in wanted and not value.place}
    hours = dict.fromkeys(HOURS_NAMES, "engine hours")
    read = [(hours.get(name, spaced(name)).capitalize(), found[name]) for name in wanted if name in found]
    told = report.number and all(report.number != value for _, value in read)
    return [("Number", report.number), *read] if told else read


def _chosen(figures: tuple[Drawn, ...], report: JobReport) -> tuple[Drawn, ...]:
    """Readings at several places (compression by cylinder), then this season against earlier ones."""
    placed = {(value.step, value.name) for value in report.values if value.place}
    by_place = [figure for figure in figures if (figure.step, figure.name) in placed]
    against_earlier = [figure for figure in figures if not figure.step and figure.name.startswith("seasons")]
    return (*by_place[: MOST_FIGURES - len(against_earlier[:1])], *against_earlier[:1])


def _parts(report: JobReport) -> tuple[PartFitted, ...]:
    counts: dict[PartFitted, int] = {}
    for part in report.parts:
        if part.kept:
            one = PartFitted(
                spaced(part.role), 0, part.gtin or part.number or part.text, part.lot, part.serial, part.expiry,
                part.answer not in ("right", "learnt"),
            )  # fmt: skip
            counts[one] = counts.get(one, 0) + part.count
    return tuple(
        PartFitted(p.what, pieces, p.number, p.lot, p.serial, p.expiry, p.not_listed) for p, pieces in counts.items()
    )


def _found(report: JobReport) -> list[FoundOut]:
    found = []
    for finding in report.findings:
        words, heard = finding_words(report, finding)
        decision = report.decisions.get(finding.sequence)
        found.append(FoundOut(report.title(finding.step), words, heard, decision))
    return found


def _usual(report: JobReport, storage: StorageState) -> list[str]:
    done = " ".join(f"{step.id} {step.title}" for step in report.steps if step.status == "done")
    words = f"{done} {' '.join(item.condition for item in storage.before_use)}".casefold()
    return [caution for word, caution in USUAL if word in words]
