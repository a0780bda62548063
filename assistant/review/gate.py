"""The gate before every page: pure ASGI around any Starlette app. What it does not let through, no route ever sees.

In this order: the name we are called by; the method; the size; whose session it is; for a POST, that it is from our own page;
that somebody is logged in. Then the app runs, with `request.state.who` (a `Who`) and `request.state.csrf` (what its forms must
carry), and each route asks the table of `roles` by `guarded(act)`. Every answer, whatever it is, gets the headers of `HEADERS`.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from urllib.parse import quote

from starlette.applications import Starlette
from starlette.requests import ClientDisconnect, Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Mount
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Receive, Scope, Send

from assistant.review.answer import ASSETS, Answer
from assistant.review.crossing import METHODS, refuse_foreign, refuse_host, refuse_huge_headers, replayed, whole_body
from assistant.review.entrance import Entrance, GateSettings
from assistant.review.guarding import guarded, guarded_routes, refuse_unguarded
from assistant.review.log_in import log_in_routes
from assistant.review.refusals import Refused, answer_to, exception_handlers, refusal, wants_json
from assistant.review.roles import Who
from assistant.review.sessions import new_token

__all__ = ["Gate", "GateSettings", "gated", "guarded", "guarded_routes"]

ENTRY = ("/login", "/who")
WATCHED = "/bay"
"""A screen at three metres that nobody touches: it may go on after the session's idle end."""


def gated(routes: Sequence[BaseRoute], settings: GateSettings) -> ASGIApp:
    """These pages behind the gate, with the pages to come in by, this room's assets on /assets, and every refusal as a page.

    Every route must say its act (`guarded`): else ValueError.
    """
    refuse_unguarded(routes)
    entrance = Entrance(settings)
    assets = Mount(ASSETS.rstrip("/"), StaticFiles(directory=Path(__file__).parent / "assets"), name="assets")
    inside = Starlette(
        routes=[assets, *log_in_routes(entrance), *routes], exception_handlers=exception_handlers(settings.told)
    )
    return Gate(inside, entrance)


class Gate:
    """ASGI middleware. `Gate(app, Entrance(settings))`; most want `gated`."""

    def __init__(self, app: ASGIApp, entrance: Entrance) -> None:
        self.app, self.entrance = app, entrance

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request, or the server's own start and end."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        request, answer = Request(scope), Answer(scope["path"], send)
        try:
            await self._let_in(request, receive, answer)
        except Exception as fault:
            if answer.cut or isinstance(fault, ClientDisconnect):
                return
            response = answer_to(request, fault, self.entrance.settings.told)
            if not answer.begun:
                await response(scope, receive, answer.send)

    async def _let_in(self, request: Request, receive: Receive, answer: Answer) -> None:
        refuse_host(request, self.entrance.settings)
        refuse_huge_headers(request)
        if request.method not in METHODS:
            raise Refused(405, headers={"allow": ", ".join(METHODS)})
        body = await whole_body(request, receive)
        path = request.scope["path"]
        token = self.entrance.token_of(request)
        who = self.entrance.who_has(token, watching=path == WATCHED or path.startswith(f"{WATCHED}/"))
        if request.method == "POST":
            await refuse_foreign(Request(request.scope, replayed(body, receive)), body, token, self.entrance)
        elif who is None and self._is_known(request):
            who = Who(self.entrance.settings.who, "foreman")
            token = self.entrance.sessions.begin(who)
            answer.cookie = self._cookie(token)
        elif not token and path in ENTRY:
            token = new_token()
            answer.cookie = self._cookie(token)
        if who is None and path not in ENTRY and not path.startswith(ASSETS):
            await self._outside(request)(request.scope, receive, answer.send)
            return
        if who is not None:
            answer.goes_on = lambda: self.entrance.who_has(token, watching=True) is not None
        state = {
            **request.scope.get("state", {}),
            "who": who,
            "csrf": self.entrance.sessions.csrf(token),
            "token": token,
        }
        await self.app({**request.scope, "state": state}, replayed(body, receive), answer.send)

    def _is_known(self, request: Request) -> bool:
        """On loopback with --who: a page that a person opens, not a picture in another site's page."""
        settings = self.entrance.settings
        from_here = request.headers.get("sec-fetch-site", "none") in ("none", "same-origin")
        return bool(settings.who) and from_here and not request.scope["path"].startswith(ASSETS)

    def _outside(self, request: Request) -> Response:
        """For one who is not logged in: the way to log in, and from there back to here."""
        page = self.entrance.settings.entry_page
        if request.method != "POST" and not wants_json(request) and "hx-request" not in request.headers:
            goal = request.scope["path"] + (f"?{request.url.query}" if request.url.query else "")
            return RedirectResponse(f"{page}?next={quote(goal, safe='/')}", 303)
        return refusal(request, 401, headers={"www-authenticate": 'Cookie realm="layup"', "hx-redirect": page})

    def _cookie(self, token: str) -> str:
        response = Response()
        self.entrance.give(response, token)
        return response.headers["set-cookie"]
