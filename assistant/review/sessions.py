"""Sessions: a random token in the browser's cookie, and here, in memory, its SHA-256 with who it is. A restart ends them all.

Rules and numbers: OWASP Session Management and CSRF Prevention cheat sheets (from memory): at least 128 random bits, here 256;
a new token at log-in; an idle end and an absolute one. The clock is passed in.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from collections.abc import Callable
from dataclasses import dataclass, replace

from assistant.review.roles import Who

IDLE_S = 60 * 60.0
ABSOLUTE_S = 12 * 60 * 60.0
MOST = 1000
"""Sessions at once; then the one that was used longest ago ends."""
TOKEN_BYTES = 32
TOKEN = re.compile(r"[A-Za-z0-9_-]{43}")
"""32 bytes in base64url without padding."""


@dataclass(frozen=True)
class Session:
    """One log-in: who, the passphrase's hash that they came by ("" without one), begun and last used in the clock's seconds."""

    who: Who
    came_by: str
    began_s: float
    used_s: float


class Sessions:
    """All that are open."""

    def __init__(self, clock: Callable[[], float], idle_s: float = IDLE_S, absolute_s: float = ABSOLUTE_S) -> None:
        self._clock, self._idle_s, self._absolute_s = clock, idle_s, absolute_s
        self._open: dict[bytes, Session] = {}
        self._csrf_key = secrets.token_bytes(32)

    def begin(self, who: Who, came_by: str = "") -> str:
        """Open one; its token, always a new one, which only the browser keeps."""
        now = self._clock()
        self._open = {key: one for key, one in self._open.items() if now - one.began_s < self._absolute_s}
        if len(self._open) >= MOST:
            del self._open[min(self._open, key=lambda key: self._open[key].used_s)]
        token = new_token()
        self._open[_key(token)] = Session(who, came_by, now, now)
        return token

    def find(self, token: str, *, watching: bool = False) -> Session | None:
        """The open session of a token, used by this; None where there is none or its time is over.

        `watching`: a screen that is left running is no use of it, and may go on after the idle end, up to the absolute one.
        """
        session, now = self._open.get(_key(token)), self._clock()
        if session is None:
            return None
        if now - session.began_s >= self._absolute_s or (not watching and now - session.used_s >= self._idle_s):
            self.end(token)
            return None
        if not watching:
            self._open[_key(token)] = replace(session, used_s=now)
        return session

    def end(self, token: str) -> None:
        """Close it, if it is open."""
        self._open.pop(_key(token), None)

    def csrf(self, token: str) -> str:
        """What forms sent under this token must carry: 64 hex digits that cannot be had from another token.

        An HMAC under a key of this process, so that it needs no memory: also who has not logged in yet has one.
        """
        return hmac.new(self._csrf_key, token.encode("ascii"), hashlib.sha256).hexdigest()

    def csrf_fits(self, token: str, given: str) -> bool:
        """Is it that, compared in constant time."""
        return hmac.compare_digest(self.csrf(token).encode("ascii"), given.encode("utf-8", "surrogatepass"))


def new_token() -> str:
    """256 random bits."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def _key(token: str) -> bytes:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).digest()
