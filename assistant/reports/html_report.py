"""The report as one HTML file: no script, nothing fetched, readable in print and in grey."""

from __future__ import annotations

from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING

from assistant.reports.figures import figures_of
from assistant.reports.job_report import JobReport
from assistant.reports.looks import named

if TYPE_CHECKING:
    from jinja2 import Template

SHAPES = {"within": "circle", "low": "down", "high": "up", "outside": "diamond", "unsure": "square", "": "dash"}
"""The shape drawn beside each verdict's word."""


def html_of(report: JobReport) -> str:
    """The whole page. Everything that was heard or scanned is escaped."""
    return _template().render(report=report, shapes=SHAPES, figures_of=figures_of)


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
    environment.filters.update(clock=clock, named=named)
    return environment.get_template("report.html")


def clock(time: str) -> str:
    """A kept time as the page shows it, to the second: 2026-10-14 09:12:03 UTC. "" stays ""."""
    return f"{datetime.fromisoformat(time):%Y-%m-%d %H:%M:%S} UTC" if time else ""
