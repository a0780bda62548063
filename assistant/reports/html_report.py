"""The report as one HTML file: no script, nothing fetched, readable in print and in grey."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from decimal import Decimal
from functools import cache, partial
from typing import TYPE_CHECKING

from assistant.core.entries import Rival
from assistant.reports.embedded import ClipBytes, embedded
from assistant.reports.figures import figures_of
from assistant.reports.job_report import JobReport
from assistant.reports.looks import ORDER, named, told
from assistant.reports.values import share_of, spaced, visible

if TYPE_CHECKING:
    from jinja2 import Template

SHAPES = {"within": "circle", "low": "down", "high": "up", "outside": "diamond", "unsure": "square", "": "dash"}
"""The shape drawn beside each verdict's word."""
SHARE_SHOWN = Decimal("0.01")
"""What an ear thought less likely than that is in the job file and the JSON, not on the page."""


def html_of(report: JobReport, clip: ClipBytes | None = None) -> str:
    """The whole page. Everything that was heard or scanned is escaped.

    With `clip`, what needs a look and what was heard with doubt can be listened to, and its label pictures seen.
    """
    return _template().render(
        report=report,
        shapes=SHAPES,
        order=ORDER,
        figures_of=figures_of,
        hour=hour_from(report.began),
        embedded=partial(embedded, clip=clip),
    )


@cache
def _template() -> Template:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("assistant.reports"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(clock=clock, named=named, told=told, spaced=spaced, visible=visible)
    environment.filters.update(percent=percent, likely=likely)
    return environment.get_template("report.html")


def clock(time: str) -> str:
    """A kept time as the page shows it, to the second: 2026-10-14 09:12:03 UTC. "" stays ""."""
    return f"{datetime.fromisoformat(time):%Y-%m-%d %H:%M:%S} UTC" if time else ""


def hour_from(began: str) -> Callable[[str], str]:
    """How to show a time beside those of a job that began then: the hour alone on the day it began."""

    def hour(time: str) -> str:
        return clock(time).split()[1] if time and time[:10] == began[:10] else clock(time)

    return hour


def likely(others: Iterable[Rival]) -> tuple[Rival, ...]:
    """Those that are worth their line on paper."""
    return tuple(other for other in others if share_of(other) >= SHARE_SHOWN)


def percent(other: Rival) -> str:
    """The share of another thing that may have been said.

    >>> percent(Rival("fifty", "50 psi", "0.222"))
    '22\xa0%'
    """
    return f"{100 * share_of(other):.0f}\N{NO-BREAK SPACE}%"
