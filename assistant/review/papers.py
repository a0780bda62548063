"""A job on paper, as `layup report` makes it: the customer's sheet, the foreman's, the storage tag, the tables."""

from __future__ import annotations

import re
import threading
from base64 import b64encode
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from assistant.core.entries import JobOpened, Kept, opened_in
from assistant.files.keys import keys_root, known_keys
from assistant.files.verdict import Verdict
from assistant.files.verify import verify
from assistant.reports.customer_sheet import customer_html
from assistant.reports.html_report import html_of
from assistant.reports.job_report import report_of
from assistant.reports.pdf import pdf_of
from assistant.reports.standing import standing_of
from assistant.reports.storage_tag import Tag, tag_html
from assistant.reports.table_report import csv_of, json_of
from assistant.review.answer import CONTENT_SECURITY_POLICY
from assistant.review.entrance import LOOPBACK_NAMES
from assistant.review.guarding import guarded
from assistant.review.job_page import Views
from assistant.review.refusals import Refused
from assistant.review.untrusted import clip_in, entries_in

STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)
ONE_PDF = threading.Lock()
"""A PDF takes seconds of a core: one at a time, the pages go on beside it."""


@dataclass(frozen=True)
class Subject:
    """What a paper is made of. `address`: where other machines find these pages, "" where none do; `sound`: to be heard."""

    path: Path
    kept: tuple[Kept, ...]
    verdict: Verdict
    address: str
    sound: bool

    def clip(self, name: str) -> bytes:
        """A clip's bytes, for sounds and pictures inside the page."""
        return clip_in(self.path, name).data

    @property
    def opened(self) -> JobOpened | None:
        """The job's first entry."""
        return opened_in(self.kept)


def _customer(s: Subject) -> str:
    return customer_html(s.kept, s.clip, s.verdict)


def _foreman(s: Subject) -> str:
    report = report_of(s.kept)
    return html_of(report, s.clip, s.opened, standing_of(report, s.kept, s.verdict), sound=s.sound)


def _tag(s: Subject) -> str:
    return tag_html(s.kept, s.clip, s.verdict, Tag(address=s.address))


PAPERS: dict[str, tuple[Callable[[Subject], str], str]] = {
    "customer": (_customer, "text/html"),
    "foreman": (_foreman, "text/html"),
    "tag": (_tag, "text/html"),
    "csv": (lambda s: csv_of(report_of(s.kept)), "text/csv"),
    "json": (lambda s: json_of(report_of(s.kept)), "application/json"),
}
"""Name of a paper -> what makes it, and its type. `.pdf` after one of the first three makes that of it."""


class Papers:
    """`/jobs/NAME/papers/customer`, `customer.pdf`, `foreman`, `tag.pdf`, `csv` ..."""

    def __init__(self, views: Views) -> None:
        self._views = views
        self.show = guarded("look")(self._show)

    def _show(self, request: Request) -> Response:
        path, wanted = self._views.path(request), request.path_params["paper"]
        name, dot, end = wanted.partition(".")
        make, media_type = PAPERS.get(name, (None, ""))
        if make is None or (dot and (end != "pdf" or media_type != "text/html")):
            raise Refused(
                404, "There is no such paper.", f"There are {', '.join(PAPERS)}; and .pdf after the first three."
            )
        kept = entries_in(path)
        verdict = verify(path, known_keys(keys_root()))
        text = make(Subject(path, kept, verdict, address_of(request), sound=not dot))
        if dot:
            with ONE_PDF:
                return _download(pdf_of(text), "application/pdf", f"{path.stem}-{name}.pdf", inline=True)
        if media_type != "text/html":
            return _download(text.encode("utf-8"), media_type, f"{path.stem}.{name}")
        return Response(text, media_type=media_type, headers={"content-security-policy": _allowing_its_styles(text)})


def address_of(request: Request) -> str:
    """What a code on paper leads back to; "" on loopback, which no other machine can reach."""
    return "" if request.url.hostname in LOOPBACK_NAMES else str(request.base_url).rstrip("/")


def _allowing_its_styles(html: str) -> str:
    """The pages' policy, which lets nothing in that stands in a page itself, with the hash of this paper's own style sheet (CSP
    level 3, 2.3.1): a paper must look the same when it is sent as a file. Its sounds and pictures stand in it as data."""
    hashes = (b64encode(sha256(style.encode()).digest()).decode() for style in STYLE.findall(html))
    allowed = " ".join(f"'sha256-{one}'" for one in hashes)
    policy = CONTENT_SECURITY_POLICY.replace("style-src 'self'", f"style-src {allowed}")
    return policy.replace("media-src 'self'", "media-src data:").replace("script-src 'self'; ", "")


def _download(data: bytes, media_type: str, name: str, *, inline: bool = False) -> Response:
    """As a file of that name; quotes and what is not ASCII leave it."""
    plain = re.sub(r"[^\w. -]", "_", name, flags=re.ASCII)
    how = "inline" if inline else "attachment"
    return Response(data, media_type=media_type, headers={"content-disposition": f'{how}; filename="{plain}"'})
