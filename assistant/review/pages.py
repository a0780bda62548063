"""The templates of the pages, and what every page is given: who looks, the token of its forms, words and shapes of verdicts."""

from __future__ import annotations

from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from assistant.core.entries import DECISIONS, REASONS
from assistant.reports.figures.drawing import HOLLOW, PATHS, SHAPES
from assistant.reports.looks import named, told
from assistant.reports.page_templates import likely, percent
from assistant.reports.standing import counted
from assistant.reports.values import spaced, visible
from assistant.review.refusals import environment

if TYPE_CHECKING:
    from jinja2 import Environment


def page(request: Request, template: str, status: int = 200, **given: Any) -> Response:
    """The page; everything that was heard, scanned or typed is escaped."""
    return HTMLResponse(rendered(request, template, **given), status)


def rendered(request: Request, template: str, **given: Any) -> str:
    """Its text, or that of a piece of one."""
    return templates().get_template(template).render(who=request.state.who, csrf=request.state.csrf, **given)


def by_htmx(request: Request) -> bool:
    """Was a piece of a page asked for, by the script on it."""
    return request.headers.get("hx-request") == "true"


def whole_number(text: str) -> int | None:
    """A number of an address or a form: of at most nine digits, none of another script; else None.

    >>> whole_number("12"), whole_number("\u00b2"), whole_number("-1"), whole_number("")
    (12, None, None, None)
    """
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


def job_address(name: str) -> str:
    """Where a job's page is: its name may have any sign but a slash.

    >>> job_address("spring #2?")
    '/jobs/spring%20%232%3F'
    """
    return f"/jobs/{quote(name, safe='')}"


@cache
def templates() -> Environment:
    """Those of the entrance, with the words and shapes of a job. Made once."""
    made = environment().overlay()
    made.filters.update(named=named, told=told, spaced=spaced, visible=visible, percent=percent, likely=likely)
    made.filters.update(counted=counted, day=day, hour=hour, share=share)
    made.globals.update(shapes=SHAPES, paths=PATHS, hollow=HOLLOW, reasons=REASONS, decisions=DECISIONS)
    return made


def day(time: str) -> str:
    """The day of a kept time: 2026-10-14; "" stays ""."""
    return time[:10]


def hour(time: str) -> str:
    """The time of day of a kept time, UTC: 09:12:03."""
    return f"{datetime.fromisoformat(time):%H:%M:%S}" if time else ""


def share(sureness: str) -> str:
    """A probability in print, never rounded up to certainty.

    >>> share("0.9996"), share("0.871"), share("1.000")
    ('over 99.9\xa0%', '87.1\xa0%', '100\xa0%')
    """
    try:
        percent_sure = float(sureness) * 100
    except ValueError:
        return sureness
    if percent_sure >= 100:
        return "100\N{NO-BREAK SPACE}%"
    return "over 99.9\N{NO-BREAK SPACE}%" if percent_sure > 99.9 else f"{percent_sure:.1f}\N{NO-BREAK SPACE}%"
