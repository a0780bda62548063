"""The bay screen as it is used: a real server on loopback, a talk of the real engine, Debian's Chromium on a wall screen."""

from __future__ import annotations

import json
import math
import os
import socket
import statistics
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest
import uvicorn
from playwright.sync_api import Browser

from assistant.bench.bay_board import BayBoard, BoardThread
from assistant.core.effects import Effect
from assistant.core.events import Event
from assistant.core.state import State
from assistant.files.bay_board import Board, BoardWriter, Saying, Step, Value, board_path, board_text
from assistant.files.job_file import JobFile
from assistant.review import bay
from assistant.review.gate import GateSettings, gated, guarded_routes
from tests.review_keys import browser
from tests.test_bay_board import Spoken

CHROMIUM = Path("/usr/bin/chromium")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; media-src 'self'; connect-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
"""The Content-Security-Policy of the foreman's pages."""
WALL_PX, WALL_HIGH_PX = 1920, 1080
WALL_INCH = 24.0
AT_MM = 3000.0
MM_PER_PX = WALL_INCH * 25.4 * (16 / math.hypot(16, 9)) / WALL_PX
"""0.2767: how wide and high one pixel of that screen is."""
LEAST_MM = AT_MM / 200
"""15 mm: letter height by viewing distance (a common ergonomic rule, from memory)."""
GOOD_MM = 2 * AT_MM * math.tan(math.radians(22 / 60) / 2)
"""19.2 mm: capitals of 22 minutes of arc (20 to 22: ISO 9241-303, from memory)."""
LONG = (
    "Turn the handle to its stop, hold it there while the pump runs, look at the needle for a minute, and say whether it "
    "stays where it was."
)
"""135 letters: about as long as the longest text of our procedures."""


@contextmanager
def served(folder: Path, port: int = 0, **options: Any) -> Iterator[str]:
    """The bay screen of a folder on loopback, behind the gate of all pages; its address."""
    app = gated(guarded_routes(bay.routes(folder, **options), "watch"), GateSettings(who="Ines"))
    with socket.socket() as listening:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(("127.0.0.1", port))
        listening.listen()
        server = uvicorn.Server(uvicorn.Config(app, log_level="critical", lifespan="off", timeout_graceful_shutdown=1))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        finally:
            server.should_exit = True
            thread.join()


@pytest.fixture
def at(tmp_path: Path) -> Iterator[str]:
    with served(tmp_path) as address:
        yield address


@contextmanager
def following(at: str, job: str = "") -> Iterator[Iterator[tuple[str, Any]]]:
    """The events of a stream as (name, data), comments as ("", text): read as WHATWG HTML 9.2.6 says."""
    url = f"{at}/bay/events" + (f"?job={job}" if job else "")
    with httpx.stream("GET", url, timeout=20) as response:
        assert response.status_code == 200, response.read()
        assert response.headers["content-type"].startswith("text/event-stream")
        yield _events(response.iter_lines())


def _events(lines: Iterator[str]) -> Iterator[tuple[str, Any]]:
    fields: dict[str, str] = {}
    for line in lines:
        name, _, value = line.partition(":")
        if line.startswith(":"):
            yield "", value.strip()
        elif line:
            fields[name] = value.removeprefix(" ")
        elif "data" in fields:
            yield fields.get("event", "message"), json.loads(fields["data"])
            fields = {}


def board(n: int = 1, **what: Any) -> Board:
    return Board(**{"sequence": n, "at": "", "pid": os.getpid(), "language": "en", "phase": "step", **what})


FULL = board(
    step=Step(14, 38, "Compression"),
    saying=Saying("Low; at least one eight zero P S I. Compression, cylinder three?", speaking=True),
    kept=Value("Compression", "cylinder 2", "150", "psi", "low"),
    awaited="Compression, cylinder 3 (psi)",
)


@pytest.fixture
def writer(tmp_path: Path) -> Iterator[BoardWriter]:
    writer = BoardWriter(tmp_path / "tern.job")
    yield writer
    writer.close()


# The stream


def test_a_talk_is_followed(at: str, tmp_path: Path) -> None:
    """A screen that comes late sees at once how things stand, then each change, then the end, and what comes after."""
    job = tmp_path / "tern.job"
    with BayBoard(BoardWriter(job)) as watcher:
        talk = Spoken(watcher)
        with following(at, "tern") as events:
            name, first = next(events)
            assert (name, first["step"], first["title"], first["saying"]) == (
                "board", "Step 1 of 10", "Tools out", "Count the tools.",
            )  # fmt: skip
            talk.hear("twenty four")
            seen = next(now for _, now in events if now["step"] == "Step 2 of 10")
            assert (seen["heard"], seen["value"], seen["awaited"]) == ("“twenty four”", "24", "affirm / negative")
            watcher.close()
            assert next(events) == ("away", "This job is not running.")
            again = BoardWriter(job)
            again.show(FULL)
            name, now = next(events)
            assert (now["name"], now["value"], now["word"], now["shape"], now["broken"]) == (
                "Compression, cylinder 2", "150 psi", "low", "down", True,
            )  # fmt: skip
            again.close()


def test_a_killed_job_is_told(at: str, tmp_path: Path) -> None:
    """A board whose writer is gone is no running job, neither in the list nor in a stream."""
    board_path(tmp_path / "tern.job").write_text(board_text(FULL), encoding="utf-8")
    with following(at, "tern") as events:
        assert next(events) == ("away", "This job is not running.")
    with following(at) as events:
        assert next(events) == ("jobs", [])
    assert "No job is running." in httpx.get(f"{at}/bay").text


def test_a_job_without_a_board_is_told_as_that(at: str, tmp_path: Path) -> None:
    """A job that is being done, whose disk has refused the board, is not told as one that is not running; ended, it is."""
    with JobFile.create(tmp_path / "tern.job"), following(at, "tern") as events:
        assert next(events) == ("away", "This job shows nothing: full disk?")
    with following(at, "tern") as events:
        assert next(events) == ("away", "This job is not running.")


def test_quiet_streams_beat(tmp_path: Path, writer: BoardWriter) -> None:
    """Where there is nothing to tell, a comment keeps the line open and a beat tells the page that it is."""
    writer.show(FULL)
    with served(tmp_path, beat_every_s=0.3) as at, following(at, "tern") as events:
        assert next(events)[0] == "board"
        assert [next(events)[0] for _ in range(4)] == ["", "beat", "", "beat"]


def test_so_many_screens_and_no_more(tmp_path: Path, writer: BoardWriter) -> None:
    """The third of two is refused in words; when one has gone, the next may come."""
    writer.show(FULL)
    with served(tmp_path, most_streams=2) as at:
        with following(at, "tern") as one, following(at) as two:
            next(one), next(two)
            refused = httpx.get(f"{at}/bay/events?job=tern")
            assert (refused.status_code, refused.headers["retry-after"]) == (503, "5")
            assert "screens" in refused.text
        deadline = time.monotonic() + 5
        while time.monotonic() < deadline:
            with httpx.stream("GET", f"{at}/bay/events?job=tern") as response:
                if response.status_code == 200:
                    break
        assert response.status_code == 200


def test_from_the_effect_to_the_wire(at: str, tmp_path: Path, tell: Callable[[str], None]) -> None:
    """Thirty times: from the moment that the engine wants something said until the screen is told, well under 300 ms."""
    effects, arrived, numbered = Effects(), Arrivals(at), Numbered(tmp_path / "tern.job")
    with BayBoard(numbered) as watcher:
        talk = Spoken(watcher, effects)
        arrived.begin()
        delays_ms = []
        for n in range(30):
            talk.finish()
            threading.Event().wait(0.11 + 0.037 * (n % 5))  # so that the looks fall at all moments between two effects
            talk.hear("where are we")
            delays_ms.append((arrived.of(numbered.last) - effects.last_s) * 1000)
    arrived.thread.join(timeout=5)
    median, worst = statistics.median(delays_ms), max(delays_ms)
    tell(f"bay screen, engine's effect to event on the wire: median {median:.0f} ms, worst of 30 {worst:.0f} ms")
    assert median < 300


class Effects:
    """A watcher that goes before the board's: when the engine last wanted something."""

    last_s = 0.0

    def event(self, state: State, event: Event) -> None:
        """Not looked at."""

    def effect(self, state: State, effect: Effect) -> None:
        self.last_s = time.perf_counter()


class Numbered(BoardThread):
    """The program's own thread, and the number of the last board."""

    last = 0

    def __init__(self, job: Path) -> None:
        super().__init__(BoardWriter(job))

    def show(self, board: Board) -> None:
        self.last = board.sequence
        super().show(board)


class Arrivals:
    """Follows a job in a thread of its own and notes when each board's event came, by its number."""

    def __init__(self, at: str) -> None:
        self._at = at
        self._came = threading.Condition()
        self._when_s: dict[int, float] = {}
        self.thread = threading.Thread(target=self._read)

    def begin(self) -> None:
        """Returns when the first has come."""
        self.thread.start()
        with self._came:
            assert self._came.wait_for(lambda: self._when_s, 10)

    def of(self, sequence: int) -> float:
        """When that one came."""
        with self._came:
            assert self._came.wait_for(lambda: sequence in self._when_s, 10)
            return self._when_s[sequence]

    def _read(self) -> None:
        with httpx.stream("GET", f"{self._at}/bay/events?job=tern", timeout=20) as response:
            for line in response.iter_lines():
                if line.startswith("id: "):
                    with self._came:
                        self._when_s[int(line.rpartition("-")[2])] = time.perf_counter()
                        self._came.notify_all()
                elif line == "event: away":
                    return


# The page


def test_the_page_comes_with_the_policy(at: str) -> None:
    """No script and no style but our own; that the browser finds no breach of it is asked in each test below."""
    assert httpx.get(f"{at}/bay").headers["content-security-policy"] == POLICY


def test_which_job_is_shown(at: str, tmp_path: Path) -> None:
    """None is told, one is shown at once, of several one can be chosen, and any job of the folder can be asked for."""
    page = httpx.get(f"{at}/bay").text
    assert "No job is running." in page
    one, two = BoardWriter(tmp_path / "tern.job"), BoardWriter(tmp_path / "a & <b>.job")
    one.show(FULL)
    page = httpx.get(f"{at}/bay").text
    assert ("Step 14 of 38" in page, "150 psi" in page, "#shape-down" in page) == (True, True, True)
    two.show(board())
    page = httpx.get(f"{at}/bay").text
    assert 'href="/bay?job=tern"' in page
    assert 'href="/bay?job=a%20%26%20%3Cb%3E"' in page
    assert "<b>" not in page
    assert "Step 14 of 38" in httpx.get(f"{at}/bay", params={"job": "tern"}).text
    assert httpx.get(f"{at}/bay", params={"job": "a & <b>"}).status_code == 200
    one.close()
    two.close()
    (tmp_path / "old.job").touch()
    assert httpx.get(f"{at}/bay?job=old").status_code == 200


@pytest.mark.parametrize(
    "job", ["../tern", "..%2ftern", "%2e%2e/tern", "/etc/passwd", "inner/tern", "tern.job", "tern%00", "."]
)
@pytest.mark.parametrize("page", ["/bay", "/bay/events"])
def test_no_other_file_is_ever_looked_at(tmp_path: Path, page: str, job: str) -> None:
    """Only a name that the folder's own listing has: anything that would lead out of it, or deeper, is not found."""
    folder = tmp_path / "jobs"
    (folder / "inner").mkdir(parents=True)
    writers = [
        BoardWriter(path) for path in (tmp_path / "tern.job", folder / "inner" / "tern.job", folder / "tern.job")
    ]
    for writer in writers:
        writer.show(board(saying=Saying(str(writer))))
    with served(folder) as at:
        answer = httpx.get(f"{at}{page}?job={job}")
        assert answer.status_code == 404
        assert "no job of that name" in answer.text
    for writer in writers:
        writer.close()


def test_texts_are_never_markup(at: str, writer: BoardWriter) -> None:
    """Whatever a label, a sheet or an ear brought in is text on the page."""
    bad = "<script>alert(1)</script>\"'<img src=x onerror=alert(1)>"
    writer.show(board(step=Step(1, 2, bad), saying=Saying(bad), awaited=bad, kept=Value(bad, bad, bad, bad, bad)))
    page = httpx.get(f"{at}/bay").text
    assert page.count("<script") == 1
    assert "<img" not in page
    assert "style=" not in page


# In the browser


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """One for all tests of this file."""
    with browser() as started:
        yield started


@pytest.fixture
def wall(chromium: Browser) -> Iterator[Any]:
    """The full-HD wall screen; afterwards nothing may have been complained of (a breach of the policy is)."""
    context = chromium.new_context(viewport={"width": WALL_PX, "height": WALL_HIGH_PX})
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda fault: complaints.append(str(fault)))
    yield page
    context.close()
    assert [said for said in complaints if "ERR_CONNECTION" not in said and "ERR_INCOMPLETE" not in said] == []


CAPITAL_PX = """name => {
    const place = document.querySelector(`[data-text="${name}"]`), style = getComputedStyle(place);
    const pen = document.createElement("canvas").getContext("2d");
    pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    return pen.measureText("H").actualBoundingBoxAscent;
}"""


CUT_OFF = """() => [...document.querySelectorAll("p, h1")].filter(text => getComputedStyle(text).overflow === "hidden"
    && text.scrollHeight > text.clientHeight + 1).map(text => text.innerText)"""


def capital_mm(page: Any, name: str) -> float:
    """How high a capital of that text is on the wall."""
    return float(page.evaluate(CAPITAL_PX, name)) * MM_PER_PX


def test_letters_can_be_read_at_three_metres(
    at: str, writer: BoardWriter, wall: Any, tell: Callable[[str], None]
) -> None:
    """Every text is 1/200 of the distance high or more; what is said, the value and the verdict take up 22 minutes of arc."""
    writer.show(FULL)
    wall.goto(f"{at}/bay")
    for name in ("step", "title", "saying", "heard", "name", "value", "word", "awaited"):
        assert capital_mm(wall, name) >= LEAST_MM, name
    for name in ("saying", "value", "word"):
        assert capital_mm(wall, name) >= GOOD_MM, name
    tell(
        f"bay screen, capitals at 24 inch full HD: {capital_mm(wall, 'saying'):.1f} and {capital_mm(wall, 'heard'):.1f} mm"
    )
    name = Value("Pressure of the lower unit after ten minutes", "side port", "12.60", "psi", "unsure")
    writer.show(replace(FULL, sequence=2, saying=Saying(LONG), kept=name))
    wall.get_by_text(LONG).wait_for()
    assert capital_mm(wall, "saying") >= LEAST_MM
    assert wall.evaluate(CUT_OFF) == []
    assert wall.evaluate("() => document.documentElement.scrollHeight") <= WALL_HIGH_PX


def test_a_change_is_seen(at: str, tmp_path: Path, wall: Any) -> None:
    """The real engine talks, and the page follows without being loaded again: words, verdict by shape and word, the end."""
    with BayBoard(BoardWriter(tmp_path / "tern.job")) as watcher:
        talk = Spoken(watcher)
        wall.goto(f"{at}/bay")
        wall.get_by_text("Count the tools.").wait_for()
        for words in ("twenty four", "affirm", "roger", "roger", "done", "done", "done", "done", "one ninety"):
            talk.hear(words)
        wall.get_by_text("190 psi").wait_for()
        verdict = wall.locator(".verdict")
        assert (verdict.inner_text().strip(), verdict.locator("use").get_attribute("href")) == (
            "within",
            "#shape-circle",
        )
        talk.hear("one fifty")
        wall.get_by_text("150 psi").wait_for()
        assert (verdict.inner_text().strip(), verdict.locator("use").get_attribute("href")) == ("low", "#shape-down")
        talk.hear("what about lunch")
        wall.get_by_text("not clear").wait_for()
        assert wall.get_by_text("Compression, cylinder 3 (psi)").is_visible()
    wall.get_by_text("This job is not running").wait_for()


def test_the_screen_finds_the_job_that_begins(at: str, writer: BoardWriter, wall: Any) -> None:
    """Put on in the morning, the screen waits, and shows the job as soon as it begins."""
    wall.goto(f"{at}/bay")
    wall.get_by_text("No job is running.").wait_for()
    writer.show(FULL)
    wall.get_by_text("Step 14 of 38").wait_for()


def test_lost_touch_is_told(tmp_path: Path, writer: BoardWriter, wall: Any) -> None:
    """When the server goes, what is shown is told to be old; when it is back, the screen follows again by itself."""
    writer.show(FULL)
    with served(tmp_path) as at:
        wall.goto(f"{at}/bay")
        wall.get_by_text("Step 14 of 38").wait_for()
        assert wall.locator("#touch").is_hidden()
    wall.get_by_text("Lost touch at").wait_for()
    writer.show(board(2, step=Step(15, 38, "Plugs")))
    with served(tmp_path, port=int(at.rpartition(":")[2])):
        wall.get_by_text("Step 15 of 38").wait_for()
        assert wall.locator("#touch").is_hidden()


@pytest.mark.parametrize("width", [WALL_PX, 360])
@pytest.mark.parametrize("running", [0, 1, 2])
def test_axe_finds_no_fault(at: str, tmp_path: Path, chromium: Browser, width: int, running: int) -> None:
    """WCAG by axe-core, the contrast of 7:1 (1.4.6) with it, on the wall and on a phone; nothing wider than the screen."""
    from axe_core_python.sync_playwright import Axe

    writers = [BoardWriter(tmp_path / f"job {n}.job") for n in range(running)]
    for writer in writers:
        writer.show(FULL)
    context = chromium.new_context(viewport={"width": width, "height": WALL_HIGH_PX if width == WALL_PX else 740})
    page = context.new_page()
    page.goto(f"{at}/bay")
    page.locator("h1").wait_for()
    page.evaluate(Axe().axe_script)
    found = page.evaluate("() => axe.run({rules: {'color-contrast-enhanced': {enabled: true}}})")
    assert "color-contrast-enhanced" in [rule["id"] for rule in found["passes"]]
    assert [(fault["id"], [node["html"] for node in fault["nodes"]]) for fault in found["violations"]] == []
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width
    context.close()
    for writer in writers:
        writer.close()


def test_nothing_moves(at: str, writer: BoardWriter, wall: Any) -> None:
    """No animation and no transition, so that who prefers reduced motion has nothing to turn off."""
    writer.show(FULL)
    wall.goto(f"{at}/bay")
    moving = """() => [...document.querySelectorAll("*")].filter(one => {
        const style = getComputedStyle(one);
        return style.animationName !== "none" || style.transitionDuration.split(", ").some(time => time !== "0s");
    }).length"""
    assert wall.evaluate(moving) == 0
