"""A browser's part towards the pages, without a socket: one request after another to the app itself, and what came back."""

from __future__ import annotations

import asyncio
import re
import time
from collections.abc import Mapping
from dataclasses import dataclass
from http.cookies import SimpleCookie
from pathlib import Path
from urllib.parse import unquote_to_bytes, urlencode

from starlette.types import Message

from assistant.review.app import build_app
from assistant.review.entrance import GateSettings

CSRF = re.compile(r'data-csrf="([0-9a-f]{64})"')


@dataclass(frozen=True)
class Answer:
    """What came back, and what it cost: seconds of this process on all its threads, and on the clock."""

    status: int
    headers: tuple[tuple[str, str], ...]
    body: bytes
    cpu_s: float
    wall_s: float

    def header(self, name: str) -> str:
        """The value of a header, "" for none."""
        return next((value for key, value in self.headers if key == name), "")

    @property
    def text(self) -> str:
        """The body; raises UnicodeDecodeError for what is no UTF-8."""
        return self.body.decode("utf-8")


class Client:
    """The pages of a folder, as one foreman on this machine sees them. `told`: what the pages said to their log."""

    def __init__(self, folder: Path, who: str = "Ines Voss", cache: Path | None = None) -> None:
        self.told: list[str] = []
        self.app = build_app(folder, GateSettings(who=who, told=self.told.append), cache or folder / "summaries.json")
        self._runner = asyncio.Runner()
        self._cookie = ""
        self.csrf = ""

    def get(self, target: str, headers: Mapping[str, str] | None = None) -> Answer:
        """GET; `target` is a path with its query, percent-encoded."""
        return self._asked("GET", target, headers or {}, b"")

    def post(self, target: str, fields: Mapping[str, str], headers: Mapping[str, str] | None = None) -> Answer:
        """POST of a form, with the session's token."""
        if not self.csrf:
            found = CSRF.search(self.get("/").text)
            self.csrf = found[1] if found else ""
        body = urlencode({"csrf": self.csrf, **fields}, errors="surrogatepass").encode()
        return self.send(target, body, {"content-type": "application/x-www-form-urlencoded", **(headers or {})})

    def send(self, target: str, body: bytes, headers: Mapping[str, str]) -> Answer:
        """POST of these bytes, from our own page."""
        ours = {"content-length": str(len(body)), "origin": "http://127.0.0.1:8710"}
        return self._asked("POST", target, {**ours, **headers}, body)

    def close(self) -> None:
        """End its event loop."""
        self._runner.close()

    def __enter__(self) -> Client:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _asked(self, method: str, target: str, headers: Mapping[str, str], body: bytes) -> Answer:
        cpu_s, wall_s = time.process_time(), time.perf_counter()
        sent = self._runner.run(self._run(method, target, headers, body))
        cpu_s, wall_s = time.process_time() - cpu_s, time.perf_counter() - wall_s
        start = next(message for message in sent if message["type"] == "http.response.start")
        answered = tuple((key.decode("latin-1"), value.decode("latin-1")) for key, value in start["headers"])
        answer = Answer(
            start["status"], answered, b"".join(one.get("body", b"") for one in sent if one is not start), cpu_s, wall_s
        )
        if cookie := answer.header("set-cookie"):
            self._cookie = "; ".join(f"{one.key}={one.value}" for one in SimpleCookie(cookie).values())
        return answer

    async def _run(self, method: str, target: str, headers: Mapping[str, str], body: bytes) -> list[Message]:
        path, _, query = target.partition("?")
        sent: list[Message] = []
        given = {"host": "127.0.0.1:8710", "cookie": self._cookie, **headers}
        asked = [{"type": "http.request", "body": body}]

        async def receive() -> Message:
            return asked.pop() if asked else {"type": "http.disconnect"}

        async def send(message: Message) -> None:
            sent.append(message)

        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": "http",
            "path": unquote_to_bytes(path).decode("utf-8", "replace"),
             "raw_path": path.encode(), "query_string": query.encode(),
            "root_path": "", "headers": [(key.encode(), value.encode("latin-1")) for key, value in given.items() if value],
            "server": ("127.0.0.1", 8710), "client": ("127.0.0.1", 50000), "state": {},
        }  # fmt: skip
        await self.app(scope, receive, send)
        return sent
