"""What a request must be before anything of it is looked at: called by our name, small, and, if it changes something, ours.

Host: a page of another site whose name was made to mean this machine (DNS rebinding) still sends its own name. Origin and
Sec-Fetch-Site: browsers say where a request comes from (Fetch standard; W3C Fetch Metadata). The token of the session is the
main lock of a POST (OWASP CSRF Prevention, from memory); these stand before it.
"""

from __future__ import annotations

import ipaddress

import anyio
from python_multipart.exceptions import FormParserError
from starlette.formparsers import MultiPartException
from starlette.requests import Request
from starlette.types import Message, Receive

from assistant.review.entrance import LOOPBACK_NAMES, Entrance, GateSettings
from assistant.review.refusals import Refused

METHODS = ("GET", "HEAD", "POST")
MOST_HEADERS = 16 * 1024
"""Bytes of all headers of a request; browsers send one or two thousand."""
MOST_BODY = 64 * 1024
"""Bytes; the longest thing that is typed on a page is a remark."""
BODY_TIME_S = 20.0
MOST_FIELDS = 200
FOREIGN = "This was sent by another site, or by a page that nobody here made."


def refuse_host(request: Request, settings: GateSettings) -> None:
    """Refused (421) for a Host that is none of ours. Its port is not looked at: a tunnel has another."""
    name = host_name(request.headers.get("host", ""))
    if name in settings.hosts or (settings.any_address and _is_address(name)):
        return
    raise Refused(421)


def host_name(host: str) -> str:
    """The name or address of a Host header, small, without port, brackets and a root's dot; "" for none that can be.

    >>> host_name("LOCALHOST.:8710"), host_name("[::1]:80"), host_name("a b"), host_name("127.0.0.1:x")
    ('localhost', '::1', '', '')
    """
    name, _, port = host.rpartition(":") if ":" in host and not host.endswith("]") else (host, "", "")
    plain = not port or (port.isascii() and port.isdigit())
    if name.startswith("[") and name.endswith("]") and plain:
        return name[1:-1].lower() if _is_address(name[1:-1]) else ""
    if not plain or not name.isascii() or not set(name.lower()) <= set("abcdefghijklmnopqrstuvwxyz0123456789.-_"):
        return ""
    return name.lower().removesuffix(".")


def refuse_huge_headers(request: Request) -> None:
    """Refused (431) over 16 KiB: uvicorn's own limit counts only what arrives in pieces."""
    if sum(len(name) + len(value) for name, value in request.headers.raw) > MOST_HEADERS:
        raise Refused(431, headers={"connection": "close"})


async def whole_body(request: Request, receive: Receive, within_s: float = BODY_TIME_S) -> bytes:
    """All that was sent, at most 64 KiB within that time; Refused (413, 408) otherwise, and the connection is given up."""
    gone = {"connection": "close"}
    declared = request.headers.get("content-length", "0")
    if not declared.isdigit() or int(declared) > MOST_BODY:
        raise Refused(413, headers=gone)
    body = bytearray()
    with anyio.move_on_after(within_s) as time:
        while True:
            message = await receive()
            if message["type"] == "http.disconnect":
                raise Refused(408, headers=gone)
            body += message.get("body", b"")
            if len(body) > MOST_BODY:
                raise Refused(413, headers=gone)
            if not message.get("more_body", False):
                break
    if time.cancelled_caught:
        raise Refused(408, headers=gone)
    return bytes(body)


def replayed(body: bytes, receive: Receive) -> Receive:
    """The same body once more, then what else comes (that the browser went)."""
    given = False

    async def again() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again


async def refuse_foreign(request: Request, body: bytes, token: str, entrance: Entrance) -> None:
    """Refused (403) for a POST that is not from a page of ours under this session: by its origin, then by the token."""
    refuse_origin(request, entrance.settings)
    given = request.headers.get("x-csrf", "")
    if not given and body:
        given = await _field(request, "csrf")
    if not entrance.sessions.csrf_fits(token, given):
        do = "Open the page again, and send it from there; if that does not help, allow cookies for this site."
        raise Refused(403, "This page is too old, or was not made for you.", do)


def refuse_origin(request: Request, settings: GateSettings) -> None:
    """Refused (403) where the browser says that another site sent it.

    A form under `Referrer-Policy: no-referrer` has the Origin "null" (Fetch, 3.2 "append a request Origin header"), as one from
    a closed frame of another site has; Sec-Fetch-Site tells them apart, but is sent only to TLS and to loopback. Elsewhere
    "null" is left to the token and to the cookie's SameSite.
    """
    site, origin = request.headers.get("sec-fetch-site"), request.headers.get("origin")
    if site is not None and site != "same-origin":
        raise Refused(403, FOREIGN)
    ours = f"{'https' if settings.secure else 'http'}://{request.headers.get('host', '').lower()}"
    told_apart = settings.secure or host_name(request.headers.get("host", "")) in LOOPBACK_NAMES
    if origin is None or origin.lower() == ours or (origin == "null" and (site is not None or not told_apart)):
        return
    raise Refused(403, FOREIGN)


async def _field(request: Request, name: str) -> str:
    """A field of the form; "" where it is none, or a file. Refused (400) for a form that cannot be read."""
    try:
        async with request.form(max_files=10, max_fields=MOST_FIELDS, max_part_size=MOST_BODY) as form:
            field = form.get(name, "")
            return field if isinstance(field, str) else ""
    except (MultiPartException, FormParserError, UnicodeError) as fault:
        raise Refused(400, "The form cannot be read.") from fault


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True
