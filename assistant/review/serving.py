"""The server: uvicorn, one process, on sockets that are open already; ends cleanly when told to."""

from __future__ import annotations

import asyncio
import socket
import ssl
from collections.abc import Callable
from contextlib import suppress
from typing import cast

import h11
import uvicorn
from starlette.types import ASGIApp
from uvicorn.protocols.http.h11_impl import H11Protocol

from assistant.review.crossing import MOST_HEADERS
from assistant.review.entrance import GateSettings
from assistant.review.listening import sockets_at
from assistant.review.wanted import Wanted

HEADERS_S = 20.0
"""How long a connection may take over the headers of a request, or say nothing."""
CONNECTIONS = 200
"""At once; more are answered 503."""
KEPT_ALIVE_S = 15
ENDING_S = 2
"""What still streams (the bay screen) when the server ends is cut after so long."""


class ImpatientProtocol(H11Protocol):
    """HTTP/1.1 that hangs up on who does not finish the headers: uvicorn alone would wait for ever."""

    headers_s = HEADERS_S
    _patience: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """From now on the time runs."""
        super().connection_made(cast(asyncio.Transport, transport))  # what a stream of TCP or TLS has
        self._patience = self.loop.call_later(self.headers_s, self._hang_up)

    def data_received(self, data: bytes) -> None:
        """The time stops while a request is worked on, and runs from the first byte of the next one."""
        super().data_received(data)
        working = self.cycle is not None and not self.cycle.response_complete
        if working and self._patience:
            self._patience.cancel()
            self._patience = None
        elif not working and self._patience is None and self.conn.their_state is h11.IDLE:
            self._patience = self.loop.call_later(self.headers_s, self._hang_up)

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing is waited for any more."""
        if self._patience:
            self._patience.cancel()
        super().connection_lost(exc)

    def _hang_up(self) -> None:
        self._patience = None
        if (self.cycle is None or self.cycle.response_complete) and not self.transport.is_closing():
            self.transport.close()


def serve_pages(
    wanted: Wanted,
    build: Callable[[GateSettings], ASGIApp],
    line: Callable[[str], None],
    told: Callable[[str], None],
    *,
    show: bool = False,
) -> None:
    """Open the sockets, build the app for them, say the address (with `show`, open it in a browser), serve until told to end.

    `line` gets what is said, `told` the log. CallProblem where there is no listening as wanted.
    """
    sockets, place = sockets_at(wanted.places)
    address = place.url(secure=wanted.tls is not None)
    app = build(wanted.settings_at(place.port, told))
    if wanted.warning:
        told(f"warning: {wanted.warning}")
    line(f"the foreman's pages: {address} (Ctrl-C ends them)")
    if show:
        import webbrowser

        webbrowser.open(address)
    serve(app, sockets, wanted.tls)
    line("the pages are closed")


def serve(app: ASGIApp, sockets: list[socket.socket], tls: ssl.SSLContext | None = None) -> None:
    """Serve until Ctrl-C or SIGTERM. What a client says of its own address in headers is not believed."""
    config = uvicorn.Config(
        app,
        http=ImpatientProtocol,
        ws="none",
        log_config=None,
        log_level="critical",  # the gate tells faults itself; what is left are streams cut at the end
        access_log=False,
        proxy_headers=False,
        server_header=False,
        limit_concurrency=CONNECTIONS,
        timeout_keep_alive=KEPT_ALIVE_S,
        timeout_graceful_shutdown=ENDING_S,
        h11_max_incomplete_event_size=MOST_HEADERS,
        ssl_context_factory=(lambda _config, _usual: tls) if tls else None,
    )
    try:
        with suppress(KeyboardInterrupt):  # uvicorn ends, then hands the signal on
            uvicorn.Server(config).run(sockets)
    finally:
        for one in sockets:
            one.close()
