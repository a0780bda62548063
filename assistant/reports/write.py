"""Writing a report to a file, in the form that the file's name asks for."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from assistant.core.entries import Kept
from assistant.core.problems import CallProblem
from assistant.reports.embedded import ClipBytes
from assistant.reports.html_report import html_of
from assistant.reports.job_report import JobReport, report_of
from assistant.reports.table_report import csv_of, json_of

FORMS: dict[str, Callable[[JobReport], str]] = {".html": html_of, ".csv": csv_of, ".json": json_of}
"""The forms a report is written in, by the end of the file's name."""


def write_report(kept: tuple[Kept, ...], path: Path, clip: ClipBytes | None = None) -> None:
    """Write the report of these entries; a page gets the sound and pictures that `clip` gives for what needs a look.

    Raises CallProblem for another ending, or where the file cannot be written.
    """
    forms: dict[str, Callable[[JobReport], str]] = {**FORMS, ".html": partial(html_of, clip=clip)}
    form = forms.get(path.suffix.lower())
    if form is None:
        which = f"{path.suffix} reports" if path.suffix else "reports without an ending"
        raise CallProblem(f"{which} are not made", where=str(path), do=f"name a file that ends in {', '.join(FORMS)}")
    text = form(report_of(kept))
    try:
        path.write_text(text, encoding="utf-8", newline="")
    except OSError as fault:
        raise CallProblem(f"cannot be written: {fault.strerror}", where=str(path), do="check the folder") from fault
