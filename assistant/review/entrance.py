"""What the entrance to the pages knows: how it is set (loopback without a passphrase, or users), and who is inside now."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from assistant.core.problems import CallProblem
from assistant.files.keys import Locking
from assistant.review.attempts import Attempts
from assistant.review.roles import Who
from assistant.review.roster import Roster
from assistant.review.sessions import TOKEN, Sessions
from assistant.review.users import LOCKING

PORT = 8710
LOOPBACK_NAMES = frozenset(("127.0.0.1", "::1", "localhost"))


def since_boot_s() -> float:
    """Seconds that also pass while the machine sleeps, and that nobody can set: a session does not outlive the night in a
    closed laptop."""
    return time.clock_gettime(time.CLOCK_BOOTTIME)


def _to_nobody(_: str) -> None:
    return


@dataclass(frozen=True)
class GateSettings:
    """How the pages are entered. The defaults are those of loopback: no passphrase, the browser is asked who sits there.

    `users`: the users file; with it everybody must log in. `who`: on loopback, who it is without being asked.
    `hosts`: the names and addresses, without port, that a browser may have called us by; `any_address`: any address beside
    them (a server on 0.0.0.0 has several), but no other name. `secure`: served under TLS. `port`: that of the server, so that
    two on one machine have cookies of their own. `clock` in seconds; `told` gets a line for the log.
    """

    who: str = ""
    users: Path | None = None
    hosts: frozenset[str] = LOOPBACK_NAMES
    any_address: bool = False
    secure: bool = False
    port: int = PORT
    clock: Callable[[], float] = since_boot_s
    told: Callable[[str], None] = field(default=_to_nobody)
    locking: Locking = LOCKING

    @property
    def entry_page(self) -> str:
        """Where one who is not inside is sent."""
        return "/login" if self.users else "/who"

    @property
    def cookie(self) -> str:
        """The cookie's name; `__Host-` under TLS: browsers take that from this host alone (RFC 6265bis)."""
        return f"{'__Host-' if self.secure else ''}layup-{self.port}"


class Entrance:
    """Sessions, users and log-in attempts of one server."""

    def __init__(self, settings: GateSettings) -> None:
        if settings.users and settings.who:
            raise CallProblem("with users, everybody says themselves who they are", where="--who", do="leave it out")
        self.settings = settings
        self.sessions = Sessions(settings.clock)
        self.attempts = Attempts(settings.clock)
        self.roster = Roster(settings.users, settings.locking) if settings.users else None

    def token_of(self, request: Request) -> str:
        """The token in the cookie; "" where there is none of its form."""
        token = request.cookies.get(self.settings.cookie, "")
        return token if TOKEN.fullmatch(token) else ""

    def who_has(self, token: str, *, watching: bool = False) -> Who | None:
        """Whose session it is, in the role that they have now; it ends if they are a user no more, or have another passphrase.

        Raises RosterUnusable while the users file is damaged.
        """
        session = self.sessions.find(token, watching=watching) if token else None
        if session is None or self.roster is None:
            return session.who if session else None
        user = self.roster.of(session.who.name)
        if user is None or user.passphrase != session.came_by:
            self.sessions.end(token)
            return None
        return Who(user.name, user.role)

    def give(self, response: Response, token: str) -> None:
        """Put the token into the browser's cookie: no script reads it, no other site sends it, it ends with the browser."""
        response.set_cookie(
            self.settings.cookie, token, path="/", secure=self.settings.secure, httponly=True, samesite="strict"
        )

    def take_back(self, response: Response) -> None:
        """Have the browser drop it."""
        response.delete_cookie(
            self.settings.cookie, path="/", secure=self.settings.secure, httponly=True, samesite="strict"
        )
