"""What is answered where something is refused or goes wrong: a page in plain words with what to do, or JSON if asked for."""

from __future__ import annotations

import secrets
import traceback
from collections.abc import Callable, Mapping
from functools import cache
from http import HTTPStatus
from typing import TYPE_CHECKING, Any, cast

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.types import ExceptionHandler

from assistant.core.problems import CallProblem, LayupProblem
from assistant.review.roster import RosterUnusable
from assistant.review.seen import seen

if TYPE_CHECKING:
    from jinja2 import Environment

WORDS: Mapping[int, tuple[str, str]] = {
    400: ("That cannot be used as it is.", "Go back, mend what is named, and send it again."),
    401: ("You are not logged in, or your time is over.", "Log in; what you had typed is still there if you go back."),
    403: ("You may not do that.", "Ask the foreman, or log in as someone who may."),
    404: ("There is no such page here.", "Look in the list of jobs; the file may have another name now."),
    405: ("That cannot be done with this page.", "Go back, and use its own buttons."),
    408: ("It took too long to arrive.", "Send it again."),
    409: ("Something was changed meanwhile.", "Open the page again, and look before you repeat it."),
    413: ("That is too much at once.", "Send less than 64 KiB: shorter words."),
    416: ("There is no such part of this sound.", "Play it from its beginning."),
    421: ("This name is not known here.", "Call the pages by the address that layup review says when it starts."),
    422: ("A file is at fault.", "Mend what is named, then open the page again."),
    429: ("Too many tries.", "Wait, then try again."),
    431: ("Your browser sent more than a page needs.", "Remove the cookies of this site, then open it again."),
    500: ("Something went wrong in here. What was told as kept is kept.", "Open the page again."),
    503: ("Nobody can be let in just now.", "Tell who looks after this machine."),
}
"""What is wrong, and what to do, where nothing nearer to it says so."""


class Refused(HTTPException):
    """An answer other than the one asked for: status, what is wrong, what to do. "" stands for the words of the table."""

    def __init__(self, status: int, what: str = "", do: str = "", headers: Mapping[str, str] | None = None) -> None:
        super().__init__(status, what or None, dict(headers or {}))
        self.what, self.do = what, do


def refusal(
    request: Request, status: int, what: str = "", do: str = "", headers: Mapping[str, str] | None = None
) -> Response:
    """The page, or the JSON {"problem", "do", "status"}."""
    usual, usually = WORDS.get(status, (f"{_phrase(status)}.", "Go back, and try again."))
    what, do = what or usual, do or usually
    if wants_json(request):
        return JSONResponse({"problem": what, "do": do, "status": status}, status, dict(headers or {}))
    page = environment().get_template("refused.html").render(status=status, what=what, do=do)
    return HTMLResponse(page, status, dict(headers or {}))


def answer_to(request: Request, fault: Exception, told: Callable[[str], None]) -> Response:
    """What a fault is answered with; one that nobody foresaw is told in the log, by a number that stands on the page."""
    if isinstance(fault, Refused):
        return refusal(request, fault.status_code, fault.what, fault.do, fault.headers)
    if isinstance(fault, HTTPException):
        own = "" if fault.detail == _phrase(fault.status_code) else fault.detail
        return refusal(request, fault.status_code, own, "", fault.headers)
    if isinstance(fault, RosterUnusable):  # where the file lies is nothing for who stands outside
        told(seen(str(fault)))
        return refusal(request, 503)
    if isinstance(fault, LayupProblem):
        where = str(fault.where or "")
        where = where.rpartition("/")[2] if where.startswith("/") else where  # where the folder lies is not told
        where = f"{where}: " if where else ""
        return refusal(request, 400 if isinstance(fault, CallProblem) else 422, f"{where}{fault.what}", fault.do)
    number = secrets.token_hex(3)
    told(f"fault {number}: {seen(request.method)} {seen(request.scope['path'])}: {place_of(fault)}")
    do = f"Open the page again; if it happens again, tell who looks after this program: fault {number}."
    return refusal(request, 500, do=do)


def place_of(fault: BaseException) -> str:
    """What a fault is, and where in our own files it came up, in one line for the log."""
    frames = traceback.extract_tb(fault.__traceback__)
    ours = [frame for frame in frames if "/site-packages/" not in frame.filename]
    at = "".join(f" at {frame.filename}:{frame.lineno}" for frame in (ours or frames)[-1:])
    return seen(f"{type(fault).__name__}: {fault}{at}")


def exception_handlers(told: Callable[[str], None]) -> dict[Any, ExceptionHandler]:
    """For Starlette: every refusal and problem as such an answer; other faults go up to the gate."""

    async def handle(request: Request, fault: Exception) -> Response:
        return answer_to(request, fault, told)

    async def pass_up(_: Request, fault: Exception) -> Response:
        raise fault  # else Starlette answers it in words of its own first

    known = dict.fromkeys((HTTPException, LayupProblem), cast(ExceptionHandler, handle))
    return {**known, Exception: cast(ExceptionHandler, pass_up)}


def wants_json(request: Request) -> bool:
    """Does the request take JSON and not a page."""
    accepted = request.headers.get("accept", "")
    return "application/json" in accepted and "text/html" not in accepted


@cache
def environment() -> Environment:
    """The templates of the entrance; everything in them is escaped."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("assistant.review"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _phrase(status: int) -> str:
    try:
        return HTTPStatus(status).phrase
    except ValueError:
        return f"status {status}"
