"""The pages by which one comes in and goes out: log in, or (on loopback) say who you are; log out."""

from __future__ import annotations

import math
from collections.abc import Mapping

import anyio
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from assistant.core.problems import CallProblem
from assistant.review.entrance import Entrance
from assistant.review.refusals import environment, refusal, wants_json
from assistant.review.roles import Who
from assistant.review.roster import Roster
from assistant.review.seen import seen
from assistant.review.users import person_name

NOT_THESE = "Name and passphrase do not belong together."
TRY_AGAIN = "Try again; who has forgotten the passphrase asks who looks after this machine."
MOST_WAITING = 8
"""Log-ins that wait for their passphrase to be compared, one at a time; more are sent away."""
LONGEST_GOAL = 2000


def log_in_routes(entrance: Entrance) -> list[Route]:
    """`/login` where there are users, else `/who`; `/logout`."""
    pages = LogIn(entrance, entrance.roster) if entrance.roster else SayWho(entrance)
    return [
        Route(entrance.settings.entry_page, pages.show, methods=["GET"]),
        Route(entrance.settings.entry_page, pages.enter, methods=["POST"]),
        Route("/logout", pages.leave, methods=["POST"]),
    ]


class SayWho:
    """Loopback: who sits at this machine is foreman in it; the name is asked for the record."""

    template = "who.html"

    def __init__(self, entrance: Entrance) -> None:
        self.entrance = entrance

    async def show(self, request: Request) -> Response:
        """The form."""
        return self.page(request, request.query_params.get("next", ""))

    async def enter(self, request: Request) -> Response:
        """The name, taken."""
        given, goal = await fields_of(request, "name", "next")
        try:
            name = person_name(given)
        except CallProblem as problem:
            return self.page(request, goal, 400, f"That {problem.what.partition(' ')[2]}.", f"{problem.do}.")
        return self.let_in(request, Who(name, "foreman"), "", goal)

    async def leave(self, request: Request) -> Response:
        """Out: the session is closed here, and the browser drops its cookie."""
        self.entrance.sessions.end(request.state.token)
        if request.state.who:
            self.entrance.settings.told(f"logged out: {seen(request.state.who.name)}")
        response = RedirectResponse(self.entrance.settings.entry_page, 303)
        self.entrance.take_back(response)
        return response

    def let_in(self, request: Request, who: Who, came_by: str, goal: str) -> Response:
        """A session under a new token (the one that the browser came with is worth nothing from now), and on to the page."""
        self.entrance.sessions.end(request.state.token)
        self.entrance.settings.told(f"logged in: {seen(who.name)}, {who.role}, from {address_of(request)}")
        response = RedirectResponse(own_path(goal), 303)
        self.entrance.give(response, self.entrance.sessions.begin(who, came_by))
        return response

    def page(
        self,
        request: Request,
        goal: str,
        status: int = 200,
        what: str = "",
        do: str = "",
        headers: Mapping[str, str] | None = None,
    ) -> Response:
        """The form, with what was wrong above it."""
        if what and wants_json(request):
            return refusal(request, status, what, do, headers)
        text = (
            environment()
            .get_template(self.template)
            .render(csrf=request.state.csrf, goal=own_path(goal), what=what, do=do, name=self.entrance.settings.who)
        )
        return HTMLResponse(text, status, dict(headers or {}))


class LogIn(SayWho):
    """Users: name and passphrase, compared slowly, one at a time, and not too often."""

    template = "login.html"

    def __init__(self, entrance: Entrance, roster: Roster) -> None:
        super().__init__(entrance)
        self.roster = roster
        self.one_at_a_time = anyio.CapacityLimiter(1)

    async def enter(self, request: Request) -> Response:
        """The same words and the same work whether it is the name that is unknown or the passphrase that is wrong."""
        name, passphrase, goal = await fields_of(request, "name", "passphrase", "next")
        address = address_of(request)
        if self.one_at_a_time.statistics().tasks_waiting >= MOST_WAITING:
            return self.page(request, goal, 429, "Too many log in just now.", "Wait a little.", {"retry-after": "5"})
        wait_s = math.ceil(self.entrance.attempts.take(name, address))
        if wait_s:
            self.entrance.settings.told(f"log-in put off for {wait_s} s: {self.known(name)}, from {address}")
            do = f"Wait {spoken_wait(wait_s)}, then try again."
            return self.page(request, goal, 429, "Too many tries.", do, {"retry-after": str(wait_s)})
        user = await anyio.to_thread.run_sync(self.roster.check, name, passphrase, limiter=self.one_at_a_time)
        if user is None:
            self.entrance.settings.told(f"log-in refused: {self.known(name)}, from {address}")
            return self.page(request, goal, 403, NOT_THESE, TRY_AGAIN)
        self.entrance.attempts.went_well(name, address)
        return self.let_in(request, Who(user.name, user.role), user.passphrase, goal)

    def known(self, name: str) -> str:
        """The name for the log, if there is one of it: else it may be a passphrase that was typed into the wrong field."""
        user = self.roster.of(name)
        return seen(user.name) if user else "an unknown name"


async def fields_of(request: Request, *names: str) -> list[str]:
    """These fields of the form; "" for one that is missing, or is a file."""
    async with request.form() as form:
        found = [form.get(name, "") for name in names]
    return [field if isinstance(field, str) else "" for field in found]


def own_path(goal: str) -> str:
    r"""Where to go on: a page of ours, or the first one.

    >>> own_path("/jobs/12?page=2"), own_path("//elsewhere.example"), own_path("/\\elsewhere.example"), own_path("https://x")
    ('/jobs/12?page=2', '/', '/', '/')
    """
    plain = goal.startswith("/") and not goal.startswith(("//", "/login", "/who")) and "\\" not in goal
    return goal if plain and goal.isprintable() and len(goal) <= LONGEST_GOAL else "/"


def address_of(request: Request) -> str:
    """Where it comes from, as the connection has it; what a header says of it is not believed."""
    return seen(request.client.host) if request.client else "unknown"


def spoken_wait(wait_s: int) -> str:
    """ "20 seconds", "3 minutes".

    >>> spoken_wait(1), spoken_wait(20), spoken_wait(90), spoken_wait(900)
    ('1 second', '20 seconds', '2 minutes', '15 minutes')
    """
    if wait_s < 60:
        return f"{wait_s} second{'s' if wait_s != 1 else ''}"
    return f"{math.ceil(wait_s / 60)} minutes"
