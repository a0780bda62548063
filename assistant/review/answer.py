"""What goes out: the headers that every answer gets, and the end of what streams on when its session is over."""

from __future__ import annotations

from collections.abc import Callable

from starlette.datastructures import MutableHeaders
from starlette.types import Message, Send

CONTENT_SECURITY_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; media-src 'self'; connect-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
NOTHING_ELSE = "default-src 'none';"
"""How the policy begins that a route may put in the place of ours: a paper has its own, with the hash of its style."""
HEADERS = {
    "content-security-policy": CONTENT_SECURITY_POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), display-capture=(), payment=(), usb=(), serial=()",
}
ASSETS = "/assets/"
"""Files of the package; the log-in page needs them too."""


def _always() -> bool:
    return True


class Answer:
    """What goes out: every answer gets the headers, and an endless one ends when its session does."""

    def __init__(self, path: str, send: Send) -> None:
        self._path, self._send = path, send
        self.cookie = ""
        self.goes_on: Callable[[], bool] = _always
        self.begun = self.cut = False
        self._endless = False

    async def send(self, message: Message) -> None:
        """Pass a message on. Raises OSError in what streams on after its session is over."""
        if message["type"] == "http.response.start":
            self.begun = True
            message = {**message, "headers": list(message.get("headers", ()))}
            self._dress(MutableHeaders(scope=message))
        elif self._endless and message.get("more_body", False) and not self.goes_on():
            self.cut = True
            await self._send({"type": "http.response.body", "body": b"", "more_body": False})
            raise OSError("the session is over")
        await self._send(message)

    def _dress(self, headers: MutableHeaders) -> None:
        own = headers.get("content-security-policy", "")
        for name, value in HEADERS.items():
            headers[name] = value
        if own.startswith(NOTHING_ELSE):
            headers["content-security-policy"] = own
        if headers.get("content-type", "").startswith("text/html") or "cache-control" not in headers:
            headers["cache-control"] = "no-cache" if self._path.startswith(ASSETS) else "no-store"
        if self.cookie:
            headers.append("set-cookie", self.cookie)
        self._endless = "content-length" not in headers
