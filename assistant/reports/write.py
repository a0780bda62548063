"""Writing a report to a file: for whom, and in the form that the file's name asks for."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Literal

from assistant.core.entries import Kept, opened_in
from assistant.core.problems import CallProblem
from assistant.files.verdict import Verdict
from assistant.reports.customer_sheet import customer_html
from assistant.reports.embedded import ClipBytes
from assistant.reports.html_report import html_of
from assistant.reports.job_report import report_of
from assistant.reports.pdf import pdf_of
from assistant.reports.standing import standing_of
from assistant.reports.storage_tag import Tag, tag_html
from assistant.reports.table_report import csv_of, json_of

Audience = Literal["foreman", "customer", "tag"]
FORMS: Mapping[Audience, tuple[str, ...]] = {
    "foreman": (".html", ".csv", ".json", ".pdf"),
    "customer": (".html", ".pdf"),
    "tag": (".html", ".pdf"),
}
"""The forms that each is written in, by the end of the file's name."""
NAMED: Mapping[Audience, str] = {"foreman": "reports", "customer": "customer's sheets", "tag": "storage tags"}


def write_report(
    kept: tuple[Kept, ...],
    path: Path,
    clip: ClipBytes | None = None,
    verdict: Verdict | None = None,
    audience: Audience = "foreman",
    tag: Tag | None = None,
) -> None:
    """Write the report of these entries; a page gets the sound and pictures that `clip` gives for what needs a look.

    `verdict` is what `verify` found of the file that they are from. Raises CallProblem for another ending, for a sheet or a tag
    of what was not verified, or where the file cannot be written; DeviceTrouble where no PDF can be made.
    """
    form = check_form(path, audience)
    text = _form(kept, form, clip, verdict, audience, tag or Tag())
    content = pdf_of(text) if form == ".pdf" else text.encode("utf-8")
    try:
        path.write_bytes(content)
    except OSError as fault:
        raise CallProblem(f"cannot be written: {fault.strerror}", where=str(path), do="check the folder") from fault


def check_form(path: Path, audience: Audience = "foreman") -> str:
    """The file's ending, in small letters. Raises CallProblem where nothing is made in that form."""
    form = path.suffix.lower()
    if form not in FORMS[audience]:
        what = NAMED[audience]
        which = f"{path.suffix} {what}" if path.suffix else f"{what} without an ending"
        do = f"name a file that ends in {', '.join(FORMS[audience])}"
        raise CallProblem(f"{which} are not made", where=str(path), do=do)
    return form


def _form(
    kept: tuple[Kept, ...],
    form: str,
    clip: ClipBytes | None,
    verdict: Verdict | None,
    audience: Audience,
    tag: Tag,
) -> str:
    if audience == "foreman":
        return _foreman(kept, form, clip, verdict)
    if verdict is None:
        raise CallProblem("nobody verified this job", where="report", do="give the job file to `layup report`")
    return customer_html(kept, clip, verdict) if audience == "customer" else tag_html(kept, clip, verdict, tag)


def _foreman(kept: tuple[Kept, ...], form: str, clip: ClipBytes | None, verdict: Verdict | None) -> str:
    report = report_of(kept)
    if form in (".csv", ".json"):
        return csv_of(report) if form == ".csv" else json_of(report)
    standing = standing_of(report, kept, verdict) if verdict else None
    return html_of(report, clip, opened_in(kept), standing, sound=form == ".html")
