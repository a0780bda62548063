"""The bay screen: `/bay` shows, in letters for three metres, what a running job says, hears, keeps and waits for.

Read only. What is shown is the board that the job writes beside its file (`assistant.files.bay_board`); the job knows nothing
of who looks. The page follows by server-sent events (WHATWG HTML, 9.2): each look that finds a new board is one `board` event;
`away` tells in words that the job is not running; a comment line and a `beat` go out when nothing else did, since a browser
tells a page nothing of comments, and the page must know when it has lost touch.
"""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import Receive, Scope, Send

from assistant.files.bay_board import END, Board, BoardReader, Heard, board_path
from assistant.reports.figures.drawing import SHAPES
from assistant.reports.looks import told
from assistant.reports.values import written
from assistant.review.refusals import environment

LOOK_EVERY_S = 0.1
"""How often the board's file is looked at; half of it, on the average, is the delay of the screen."""
LIST_EVERY_S = 1.0
"""How often the folder is listed for a screen that waits for a job."""
BEAT_EVERY_S = 10.0
"""A stream that has nothing to tell says so as often. The page (bay.js) gives it up after two and a half of these."""
MOST_STREAMS = 16
"""Screens that may follow at once: one a bay of a small shop, and some to spare (common practice, no source)."""
LONG_LETTERS = 75
"""A longer text is set in the smaller of the two sizes: it would take more than three lines of the larger."""
JOB = ".job"
Told = dict[str, str | bool]


def routes(folder: Path, *, beat_every_s: float = BEAT_EVERY_S, most_streams: int = MOST_STREAMS) -> list[Route]:
    """The bay screen of the jobs in a folder: the page and its events. Its assets are on /assets (gate.py)."""
    bay = _Bay(folder, beat_every_s, most_streams)
    return [Route("/bay", bay.page), Route("/bay/events", bay.events)]


def running_jobs(folder: Path) -> tuple[str, ...]:
    """The names (without `.job`) of the jobs that are being done in the folder, in order."""
    return tuple(name for name in _names(folder, JOB + END) if board_now(folder, name) is not None)


def board_now(folder: Path, name: str) -> Board | None:
    """The board of a job as it is now; None where it is not running."""
    with BoardReader(folder / f"{name}{JOB}") as reader:
        return reader.look()


def shown(board: Board | None) -> Told:
    """What the screen shows, ready to be set: texts by the place they stand in, and what the page is styled by."""
    if board is None:
        return {
            "running": False,
            "speaking": False,
            "lang": "",
            "shape": "",
            "broken": False,
            "long": False,
            **_NOTHING,
        }
    heard, kept = board.heard, board.kept
    return {
        "running": True,
        "speaking": board.saying.speaking,
        "long": len(board.saying.text) > LONG_LETTERS,
        "lang": board.language,
        "step": f"Step {board.step.number} of {board.step.of}" if board.step.number else "",
        "title": board.step.title,
        "saying": board.saying.text,
        "heard": _heard(heard) if heard else "",
        "name": "" if kept is None else ", ".join(filter(None, (kept.name, kept.at))),
        "value": "" if kept is None else written(kept.value, kept.unit),
        "word": "" if kept is None else told(kept.verdict),
        "shape": "" if kept is None else SHAPES.get(kept.verdict, "square"),
        "broken": kept is not None and kept.verdict not in ("within", ""),
        "awaited": _awaited(board),
    }


_NOTHING: dict[str, str] = dict.fromkeys(("step", "title", "saying", "heard", "name", "value", "word", "awaited"), "")


def _heard(heard: Heard) -> str:
    if not heard.clear:
        return "not clear"
    return f"\u201c{heard.words}\u201d" if heard.words else "(not in words)"


def _awaited(board: Board) -> str:
    return "your own words" if board.phase in ("remark", "asked back") else board.awaited


class _Bay:
    """The pages and streams of one folder."""

    def __init__(self, folder: Path, beat_every_s: float, most_streams: int) -> None:
        self._folder = folder
        self._beat_every_s = beat_every_s
        self._free = most_streams

    async def page(self, request: Request) -> Response:
        """One job: shown at once, whether asked for or the only one. None or several: which there are."""
        asked = self._asked(request)
        running = () if asked else running_jobs(self._folder)
        if asked or len(running) == 1:
            name = asked or running[0]
            now = shown(board_now(self._folder, name))
            return _page(name=name, now=now, chosen=bool(asked), running=(), shapes=sorted(set(SHAPES.values())))
        return _page(name="", now=shown(None), chosen=False, running=running, shapes=())

    async def events(self, request: Request) -> Response:
        """Follows one job, or (none named) which jobs there are."""
        asked = self._asked(request)
        if self._free <= 0:
            headers = {"Retry-After": "5"}
            raise HTTPException(503, "as many screens as may follow do so already; close one", headers=headers)
        reader = BoardReader(self._folder / f"{asked}{JOB}")
        if asked:
            changes = self._changes(lambda: self._board_event(asked, reader.look()), LOOK_EVERY_S)
        else:
            changes = self._changes(lambda: _event("jobs", list(running_jobs(self._folder))), LIST_EVERY_S)
        return _Stream(changes, self._followed(reader))

    @contextmanager
    def _followed(self, reader: BoardReader) -> Iterator[None]:
        """One screen more, until its stream ends."""
        self._free -= 1
        try:
            with reader:
                yield
        finally:
            self._free += 1

    def _asked(self, request: Request) -> str:
        """The job that was asked for, "" none. Only a name that the folder's own listing has is ever looked for."""
        asked = request.query_params.get("job", "")
        if asked and asked not in (*_names(self._folder, JOB), *_names(self._folder, JOB + END)):
            raise HTTPException(404, "there is no job of that name in the folder; see /bay for those that are running")
        return asked

    async def _changes(self, look: Callable[[], str], every_s: float) -> AsyncIterator[str]:
        """What `look` gives, each time that it is another; and a beat when nothing was sent for long."""
        yield f"retry: {int(LIST_EVERY_S * 1000)}\n\n"
        before, sent_s = "", time.monotonic()
        while True:
            now = look()
            if now != before:
                before, sent_s = now, time.monotonic()
                yield now
            elif time.monotonic() - sent_s >= self._beat_every_s:
                sent_s = time.monotonic()
                yield f": nothing new\n{_event('beat', {})}"
            await asyncio.sleep(every_s)

    def _board_event(self, name: str, board: Board | None) -> str:
        if board is not None:
            return _event("board", shown(board), f"id: {board.pid}-{board.sequence}\n")
        job = self._folder / f"{name}{JOB}"
        # a killed session leaves its board, an ended one neither board nor lock: where the lock stands alone, the disk
        # refused the board
        silent = job.with_name(job.name + "-lock").exists() and not board_path(job).exists()
        return _event("away", "This job shows nothing: full disk?" if silent else "This job is not running.")


class _Stream(StreamingResponse):
    """A stream of events; `followed` lasts for as long as it is sent, however it ends."""

    def __init__(self, events: AsyncIterator[str], followed: AbstractContextManager[None]) -> None:
        headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
        super().__init__(events, media_type="text/event-stream", headers=headers)
        self._followed = followed

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        with self._followed:
            await super().__call__(scope, receive, send)


def _event(name: str, data: object, more: str = "") -> str:
    """One event as it goes out; JSON has no line breaks of its own."""
    return f"{more}event: {name}\ndata: {json.dumps(data)}\n\n"


def _names(folder: Path, end: str) -> tuple[str, ...]:
    """The names in the folder that end so, without the end. A name that is no text (UTF-8) cannot be asked for."""
    try:
        found = [path.name.removesuffix(end) for path in folder.iterdir() if path.name.endswith(end)]
    except OSError:
        return ()  # the folder is away, and with it every job in it
    return tuple(sorted(name for name in found if name and name.isprintable()))


def _page(**what: object) -> Response:
    return HTMLResponse(environment().get_template("bay.html").render(**what), headers={"Cache-Control": "no-store"})
