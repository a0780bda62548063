"""The report as one HTML file: no script, nothing fetched, readable in print and in grey."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from assistant.core.entries import JobOpened
from assistant.reports.embedded import ClipBytes, Embedded, embedded
from assistant.reports.figures import MOST_OF_STEPS, figures_of
from assistant.reports.figures.drawing import SHAPES
from assistant.reports.job_report import JobReport
from assistant.reports.looks import ORDER
from assistant.reports.page_templates import clock, template
from assistant.reports.standing import Standing


def html_of(
    report: JobReport,
    clip: ClipBytes | None = None,
    opened: JobOpened | None = None,
    standing: Standing | None = None,
    *,
    sound: bool = True,
) -> str:
    """The whole page. Everything that was heard or scanned is escaped.

    `opened`: the job's first entry, from which figures know what their readings are. `standing`: what `verify` found, for the
    signatures and the line by which the record is checked.
    With `clip`, what needs a look and what was heard with doubt can be listened to, and its label pictures seen; without
    `sound` (on paper) only seen.
    """
    return template("report.html").render(
        report=report,
        shapes=SHAPES,
        order=ORDER,
        figures=figures_of(report, opened),
        most=MOST_OF_STEPS,
        hour=hour_from(report.began),
        embedded=partial(embedded if sound else _seen, clip=clip),
        standing=standing,
    )


def _seen(sha256: str, clip: ClipBytes | None) -> Embedded:
    """The clip, where it is a picture."""
    found = embedded(sha256, clip)
    return Embedded() if found.media_type.startswith("audio") else found


def hour_from(began: str) -> Callable[[str], str]:
    """How to show a time beside those of a job that began then: the hour alone on the day it began."""

    def hour(time: str) -> str:
        return clock(time).split()[1] if time and time[:10] == began[:10] else clock(time)

    return hour
