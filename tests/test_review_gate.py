"""The gate before the pages: who is let in, who may what, and what a page of another site cannot do."""

from __future__ import annotations

import json
import re
from collections.abc import AsyncIterator, Iterator
from functools import partial
from pathlib import Path

import anyio
import pytest
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Mount, Route
from starlette.testclient import TestClient

from assistant.core.problems import CallProblem, JobFileBroken
from assistant.files.keys import Locking
from assistant.review.answer import HEADERS
from assistant.review.crossing import host_name, whole_body
from assistant.review.entrance import LOOPBACK_NAMES
from assistant.review.gate import GateSettings, gated, guarded, guarded_routes
from assistant.review.log_in import own_path
from assistant.review.refusals import Refused
from assistant.review.roles import ACTS, MAY, ROLES, Act, Role
from assistant.review.sessions import ABSOLUTE_S, IDLE_S
from assistant.review.users import add_user, remove_user

LIGHT = Locking(1, 8192)
PASSPHRASES: dict[str, str] = {"foreman": "wet bilge pump", "technician": "dry bilge pump"}
NAMES: dict[str, str] = {"foreman": "Ines Voss", "technician": "Timo Hahl"}


class Clock:
    now = 1000.0

    def __call__(self) -> float:
        return self.now


class Bay:
    """A server with three users, its log, and browsers that look at it."""

    def __init__(self, folder: Path, **settings: object) -> None:
        self.clock, self.log = Clock(), list[str]()
        self.path = folder / "users.json"
        for role in ROLES:
            add_user(self.path, NAMES[role], role, PASSPHRASES[role], LIGHT)
        wanted = {"users": self.path, "clock": self.clock, "told": self.log.append, "locking": LIGHT, **settings}
        self.settings = GateSettings(**wanted)  # type: ignore[arg-type]
        self.app = gated(pages(), self.settings)

    def browser(self, url: str = "http://127.0.0.1:8710", **more: object) -> Browser:
        return Browser(self.app, self.settings, url, **more)

    def inside(self, role: Role = "foreman") -> Browser:
        browser = self.browser()
        answer = browser.log_in(NAMES[role], PASSPHRASES[role])
        assert answer.status_code == 303, answer.text
        return browser


class Browser(TestClient):
    """Keeps its cookie and finds the form token in pages, as a browser does; follows no redirect by itself."""

    def __init__(self, app: object, settings: GateSettings, url: str, **more: object) -> None:
        super().__init__(app, base_url=url, follow_redirects=False, raise_server_exceptions=True, **more)  # type: ignore[arg-type]
        self.settings = settings

    @property
    def token(self) -> str:
        return str(self.cookies.get(self.settings.cookie) or "")

    def csrf(self) -> str:
        page = self.get(self.settings.entry_page).text
        found = re.search(r'name="csrf" value="([0-9a-f]{64})"', page)
        assert found, page
        return found[1]

    def log_in(self, name: str, passphrase: str, goal: str = "", **headers: str) -> Response:
        fields = {"csrf": self.csrf(), "name": name, "passphrase": passphrase, "next": goal}
        return self.post("/login", data=fields, headers=headers)  # type: ignore[return-value]

    def say_who(self, name: str, goal: str = "") -> Response:
        return self.post("/who", data={"csrf": self.csrf(), "name": name, "next": goal})  # type: ignore[return-value]


def pages() -> list[Route | Mount]:
    """A bare app: a page and a form for each act, and what goes wrong."""

    async def page(request: Request) -> Response:
        return HTMLResponse(f"{request.state.who.name}, {request.state.who.role}")

    def plain(request: Request) -> Response:
        return JSONResponse({"who": request.state.who.name})

    async def form(request: Request) -> Response:
        async with request.form() as sent:
            return PlainTextResponse(str(sent.get("words", "")) or (await request.body()).decode())

    async def wrong(request: Request) -> Response:
        raise {
            "fault": RuntimeError("secret\n words"),
            "call": CallProblem("no such entry", where="entry 9", do="look at the list"),
            "broken": JobFileBroken("cut off", where="<b>1.job</b>", do="take a copy"),
            "http": HTTPException(409, "someone was quicker"),
            "missing": HTTPException(404),
        }[request.path_params["kind"]]

    async def stream(request: Request) -> Response:
        async def ticks() -> AsyncIterator[bytes]:
            while True:
                yield b"data: tick\n\n"
                await anyio.sleep(0)

        return StreamingResponse(ticks(), media_type="text/event-stream")

    return [
        Route("/", guarded("look")(page)),
        Route("/plain", guarded("look")(plain)),
        Route("/wrong/{kind}", guarded("look")(wrong)),
        *(Route(f"/act/{act}", guarded(act)(page), methods=["GET"]) for act in ACTS),
        *(Route(f"/act/{act}", guarded(act)(form), methods=["POST"]) for act in ACTS),
        Mount("/under", routes=[Route("/it", guarded("look")(page))]),
        *guarded_routes([Route("/bay", page), Route("/bay/events", stream)], "watch"),
    ]


@pytest.fixture
def bay(tmp_path: Path) -> Bay:
    return Bay(tmp_path)


@pytest.fixture
def alone() -> Iterator[Browser]:
    """Loopback, nobody logged in yet."""
    settings = GateSettings(clock=Clock())
    with Browser(gated(pages(), settings), settings, "http://127.0.0.1:8710") as browser:
        yield browser


# --- roles


@pytest.mark.parametrize("act", ACTS)
@pytest.mark.parametrize("role", ROLES)
def test_a_role_may_what_the_table_says_and_nothing_else(bay: Bay, role: Role, act: Act) -> None:
    browser = bay.inside(role)
    csrf = browser.csrf()
    expected = 200 if act in MAY[role] else 403
    assert browser.get(f"/act/{act}").status_code == expected
    answer = browser.post(f"/act/{act}", data={"csrf": csrf, "words": "done"})
    assert answer.status_code == expected
    if expected == 403:
        assert f"You are here as {NAMES[role]}, {role}; that is for a foreman." in answer.text
        assert "done" not in answer.text


@pytest.mark.parametrize("act", ACTS)
def test_nobody_may_anything_without_logging_in(bay: Bay, act: Act) -> None:
    browser = bay.browser()
    answer = browser.get(f"/act/{act}?page=2")
    assert (answer.status_code, answer.headers["location"]) == (303, f"/login?next=/act/{act}%3Fpage%3D2")
    answer = browser.post(f"/act/{act}", data={"csrf": browser.csrf(), "words": "done"})
    assert answer.status_code == 401 and "not logged in" in answer.text
    assert browser.get(f"/act/{act}", headers={"accept": "application/json"}).status_code == 401
    answer = browser.get(f"/act/{act}", headers={"hx-request": "true"})
    assert (answer.status_code, answer.headers["hx-redirect"]) == (401, "/login")


def test_nobody_learns_which_pages_there_are_without_logging_in(bay: Bay) -> None:
    for path in (
        "/",
        "/nothing",
        "/under/it",
        "/bay",
        "/bay/events",
        "/assets",
        "/login/x",
        "/who",
        "//x",
        "/assets/../act/sign",
    ):
        answer = bay.browser().get(path)
        assert answer.status_code in (303, 404), path
        assert "foreman" not in answer.text


def test_a_route_that_says_no_act_does_not_start() -> None:
    def page(request: Request) -> Response:
        return PlainTextResponse("open")

    for routes, path in (([Route("/open", page)], "/open"), ([Mount("/a", routes=[Route("/b", page)])], "/a/b")):
        with pytest.raises(ValueError, match=f"the route {path} says no act"):
            gated(routes, GateSettings())
    with pytest.raises(ValueError, match="says no act"):
        gated([Mount("/files", PlainTextResponse("open"))], GateSettings())


def test_a_user_who_is_taken_away_or_changed_is_so_at_once(bay: Bay) -> None:
    browser = bay.inside("foreman")
    remove_user(bay.path, NAMES["foreman"])
    assert browser.get("/").status_code == 303
    technician = bay.inside("technician")
    text = bay.path.read_text()
    bay.path.write_text(text.replace('"technician"', '"foreman"'))
    assert technician.get("/act/sign").status_code == 200
    remove_user(bay.path, NAMES["technician"])
    add_user(bay.path, NAMES["technician"], "foreman", "another bilge pump", LIGHT)
    assert technician.get("/").status_code == 303, "a new passphrase ends the sessions of the old one"


def test_a_damaged_users_file_lets_nobody_in_and_says_nothing_of_itself_outside(bay: Bay) -> None:
    browser, outside = bay.inside(), bay.browser()
    csrf = outside.csrf()
    bay.path.chmod(0o644)
    for answer in (
        browser.get("/"),
        outside.post("/login", data={"csrf": csrf, "name": NAMES["foreman"], "passphrase": "wet bilge pump"}),
    ):
        assert answer.status_code == 503 and "users.json" not in answer.text
    assert all("chmod 600" in line and "\n" not in line for line in bay.log[-2:])


# --- loopback: who are you


def test_on_loopback_the_browser_is_asked_once_who_sits_there(alone: Browser) -> None:
    assert alone.get("/").headers["location"] == "/who?next=/"
    answer = alone.say_who("  Ines   Voss ", "/act/sign")
    assert (answer.status_code, answer.headers["location"]) == (303, "/act/sign")
    assert alone.get("/act/sign").text == "Ines Voss, foreman"
    assert alone.get("/login").status_code == 303 or alone.get("/login").status_code == 404


@pytest.mark.parametrize("name", ["", "   ", "x" * 61, "a\x1b[2J", "a\u202eb"])
def test_a_name_that_cannot_be_is_asked_again(alone: Browser, name: str) -> None:
    answer = alone.say_who(name)
    assert answer.status_code == 400 and "cannot be a name" in answer.text and 'role="alert"' in answer.text
    assert alone.get("/").status_code == 303


def test_with_who_nobody_is_asked_but_another_sites_picture_opens_nothing() -> None:
    settings = GateSettings(who="Ines Voss")
    browser = Browser(gated(pages(), settings), settings, "http://localhost:8710")
    assert browser.get("/", headers={"sec-fetch-site": "cross-site"}).status_code == 303
    assert browser.token == ""
    assert browser.get("/").text == "Ines Voss, foreman"
    token = browser.token
    assert browser.get("/act/sign").status_code == 200 and browser.token == token
    assert browser.post("/act/sign", data={"words": "done"}).status_code == 403


# --- log-in


def test_log_in_leads_to_the_page_that_was_wanted_and_log_out_ends_it(bay: Bay) -> None:
    browser = bay.browser()
    answer = browser.log_in("ines VOSS", "wet bilge pump", "/act/amend?entry=7")
    assert (answer.status_code, answer.headers["location"]) == (303, "/act/amend?entry=7")
    assert browser.get("/").text == "Ines Voss, foreman"
    token, csrf = browser.token, browser.csrf()
    answer = browser.post("/logout", data={"csrf": csrf})
    assert (answer.status_code, answer.headers["location"]) == (303, "/login")
    assert "Max-Age=0" in answer.headers["set-cookie"]
    browser.cookies.set(bay.settings.cookie, token)
    assert browser.get("/").status_code == 303
    assert bay.log == ["logged in: Ines Voss, foreman, from testclient", "logged out: Ines Voss"]


def test_log_out_wants_a_post_with_the_token(bay: Bay) -> None:
    browser = bay.inside()
    assert browser.get("/logout").status_code in (404, 405)
    assert browser.post("/logout").status_code == 403
    assert browser.get("/").status_code == 200


def test_unknown_name_and_wrong_passphrase_are_told_alike(bay: Bay) -> None:
    answers = [
        re.sub(r"[0-9a-f]{64}", "", bay.browser().log_in(name, "not the one").text)  # the form's token
        for name in (NAMES["foreman"], "Nobody", "", "x" * 5000, "a\x00b")
    ]
    assert len(set(answers)) == 1 and "Name and passphrase do not belong together." in answers[0]


def test_no_passphrase_reaches_the_log_not_even_one_typed_as_a_name(bay: Bay) -> None:
    browser = bay.browser()
    browser.log_in("my secret words", "x")
    browser.log_in(NAMES["foreman"], "my secret words")
    browser.log_in(NAMES["foreman"], "wet bilge pump")
    assert bay.log[:2] == [
        "log-in refused: an unknown name, from testclient",
        "log-in refused: Ines Voss, from testclient",
    ]
    assert not re.search("secret|bilge", "".join(bay.log))


def test_guessing_is_slowed_whatever_the_name_and_time_frees_it(bay: Bay) -> None:
    browser = bay.browser()
    for name in (NAMES["foreman"], "Nobody"):
        statuses = [browser.log_in(name, f"guess {n}").status_code for n in range(7)]
        assert statuses == [403] * 5 + [429] * 2
    answer = browser.log_in(NAMES["foreman"], "wet bilge pump")
    assert answer.status_code == 429 and answer.headers["retry-after"] == "2"
    assert "Too many tries." in answer.text and "Wait 2 seconds, then try again." in answer.text
    bay.clock.now += int(answer.headers["retry-after"])
    assert browser.log_in(NAMES["foreman"], "wet bilge pump").status_code == 303
    told = [line for line in bay.log if "put off" in line]
    assert told[0] == "log-in put off for 2 s: Ines Voss, from testclient"


def test_who_gets_it_right_may_err_again(bay: Bay) -> None:
    browser = bay.browser()
    for _ in range(3):
        assert [browser.log_in(NAMES["foreman"], f"guess {n}").status_code for n in range(4)] == [403] * 4
        assert browser.log_in(NAMES["foreman"], "wet bilge pump").status_code == 303


def test_logged_in_sessions_go_on_while_their_name_is_being_guessed(bay: Bay) -> None:
    browser = bay.inside()
    for n in range(8):
        bay.browser().log_in(NAMES["foreman"], f"guess {n}")
    assert browser.get("/").status_code == 200


@pytest.mark.parametrize(
    "goal",
    ["", "//elsewhere.example/", "https://elsewhere.example/", "/\\elsewhere.example", "\\\\x", "/a\r\nset-cookie: a=b",
     "/\t/x", "/" + "x" * 3000, "javascript:alert(1)", "/login", "/who"],
)  # fmt: skip
def test_log_in_leads_nowhere_else(bay: Bay, goal: str) -> None:
    assert own_path(goal) == "/"
    assert bay.browser().log_in(NAMES["foreman"], "wet bilge pump", goal).headers["location"] == "/"


# --- sessions and their cookie


def test_a_token_from_before_the_log_in_is_worth_nothing_after_it(bay: Bay) -> None:
    """Session fixation: one who planted the cookie does not get in with it."""
    browser, thief = bay.browser(), bay.browser()
    planted = "A" * 43
    browser.cookies.set(bay.settings.cookie, planted, domain="127.0.0.1")
    csrf = browser.csrf()
    assert browser.token == planted
    fields = {"csrf": csrf, "name": NAMES["foreman"], "passphrase": "wet bilge pump"}
    answer = browser.post("/login", data=fields)
    assert answer.status_code == 303 and planted not in answer.headers["set-cookie"]
    thief.cookies.set(bay.settings.cookie, planted)
    assert thief.get("/").status_code == 303
    again = bay.inside()
    first = again.token
    assert again.log_in(NAMES["foreman"], "wet bilge pump").status_code == 303
    thief.cookies.set(bay.settings.cookie, first)
    assert again.token != first and thief.get("/").status_code == 303


@pytest.mark.parametrize("secure", [False, True])
def test_the_cookie_is_for_this_server_alone(tmp_path: Path, secure: bool) -> None:
    """RFC 6265bis: HttpOnly, SameSite=Strict, Path=/, no Domain, no Max-Age; Secure and the prefix __Host- under TLS."""
    bay = Bay(tmp_path, secure=secure)
    browser = bay.browser(f"http{'s' if secure else ''}://127.0.0.1:8710")
    answer = browser.log_in(NAMES["foreman"], "wet bilge pump")
    first, *attributes = (part.strip().lower() for part in answer.headers["set-cookie"].split(";"))
    assert first.startswith("__host-layup-8710=" if secure else "layup-8710=")
    assert sorted(attributes) == sorted(["httponly", "path=/", "samesite=strict", *(["secure"] if secure else [])])
    assert browser.get("/").status_code == 200


def test_a_session_ends_after_an_hour_without_use_and_after_twelve(bay: Bay) -> None:
    browser = bay.inside()
    bay.clock.now += IDLE_S - 1
    assert browser.get("/").status_code == 200
    bay.clock.now += IDLE_S
    assert browser.get("/").status_code == 303
    browser = bay.inside()
    for _ in range(int(ABSOLUTE_S / 1800) - 1):
        bay.clock.now += 1800
        assert browser.get("/").status_code == 200
    bay.clock.now += 1800
    assert browser.get("/").status_code == 303


def test_the_bay_screen_stays_when_nobody_touches_it_and_opens_nothing_else(bay: Bay) -> None:
    browser = bay.inside("technician")
    bay.clock.now += 5 * IDLE_S
    assert browser.get("/bay").status_code == 200
    assert browser.get("/").status_code == 303
    assert browser.get("/bay").status_code == 303


@pytest.mark.parametrize("cookie", ["", "x", "A" * 42, "A" * 44, "A" * 42 + "!", '"' + "A" * 43 + '"', "\\073" * 9])
def test_a_cookie_that_is_none_of_ours_is_nothing(bay: Bay, cookie: str) -> None:
    browser = bay.browser()
    answer = browser.get("/", headers={"cookie": f"{bay.settings.cookie}={cookie}"})
    assert answer.status_code == 303


def test_what_streams_ends_with_its_session(bay: Bay) -> None:
    """A stream under `layup review` is cut at log-out, when the user is taken away, and at the session's absolute end."""

    def out(browser: Browser, csrf: str) -> None:
        assert browser.post("/logout", data={"csrf": csrf}).status_code == 303

    def away(_browser: Browser, _csrf: str) -> None:
        remove_user(bay.path, NAMES["technician"])

    def later(_browser: Browser, _csrf: str) -> None:
        bay.clock.now += ABSOLUTE_S

    for end in (later, out, away):
        browser = bay.inside("technician")
        assert anyio.run(streamed, bay, browser, partial(end, browser, browser.csrf())) is True
    browser = bay.inside("foreman")
    bay.clock.now += 2 * IDLE_S  # idle, not over
    assert anyio.run(streamed, bay, browser, lambda: None) is False


async def streamed(bay: Bay, browser: Browser, end: object) -> bool:
    """Did the stream of /bay/events end by itself after `end()`, which comes with its third piece (given 50 more)."""
    pieces, ended = 0, False
    scope = {
        "type": "http", "method": "GET", "path": "/bay/events", "raw_path": b"/bay/events", "query_string": b"",
        "root_path": "",
        "scheme": "http", "http_version": "1.1", "asgi": {"version": "3.0", "spec_version": "2.3"}, "client": ("127.0.0.1", 5),
        "headers": [(b"host", b"127.0.0.1"), (b"cookie", f"{bay.settings.cookie}={browser.token}".encode())],
        "server": ("127.0.0.1", 8710),
    }  # fmt: skip
    first = True

    async def receive() -> dict[str, object]:
        nonlocal first
        if first:
            first = False
            return {"type": "http.request", "body": b"", "more_body": False}
        await anyio.sleep_forever()
        raise AssertionError

    with anyio.CancelScope() as scope_of_it:

        async def send(message: dict[str, object]) -> None:
            nonlocal pieces, ended
            if message["type"] == "http.response.start":
                assert message["status"] == 200
                return
            pieces += 1
            ended = not message.get("more_body", False)
            if pieces == 3:
                await anyio.to_thread.run_sync(end)  # type: ignore[arg-type]
            if pieces > 50:
                scope_of_it.cancel()
                await anyio.sleep(0)

        await bay.app(scope, receive, send)  # type: ignore[arg-type]
    return ended


# --- from another site


def test_a_post_wants_the_token_of_its_own_session(bay: Bay) -> None:
    browser, other = bay.inside(), bay.inside("technician")
    own, foreign = browser.csrf(), other.csrf()
    for given in ("", foreign, own[:-1], own.upper(), "0" * 64, "é"):
        answer = browser.post("/act/sign", data={"csrf": given, "words": "done"})
        assert answer.status_code == 403 and "too old, or was not made for you" in answer.text
        answer = browser.post("/act/sign", headers={"x-csrf": given.encode("utf-8")}, data={"words": "done"})
        assert answer.status_code == 403
    assert browser.post("/act/sign", data={"words": "done"}).status_code == 403
    assert browser.post("/act/sign").status_code == 403
    assert browser.post("/act/sign", files={"csrf": ("a.txt", own)}).status_code == 403
    assert browser.post(f"/act/sign?csrf={own}", data={"words": "done"}).status_code == 403
    for answer in (
        browser.post("/act/sign", data={"csrf": own, "words": "done"}),
        browser.post("/act/sign", headers={"x-csrf": own}, data={"words": "done"}),
        browser.post("/act/sign", headers={"x-csrf": own, "content-type": "application/json"}, content=b"done"),
        browser.post("/act/sign", data={"csrf": own, "words": "done"}, files={"more": ("a.txt", b"x")}),
    ):
        assert (answer.status_code, answer.text) == (200, "done")


def test_nobody_can_be_logged_in_from_another_site(bay: Bay) -> None:
    """Log-in CSRF: the form of /login carries a token too, before there is any session."""
    browser = bay.browser()
    fields = {"name": NAMES["technician"], "passphrase": PASSPHRASES["technician"]}
    assert browser.post("/login", data=fields).status_code == 403
    browser.csrf()
    assert browser.post("/login", data=fields).status_code == 403
    assert browser.post("/login", data={**fields, "csrf": bay.browser().csrf()}).status_code == 403


@pytest.mark.parametrize(
    ("headers", "let"),
    [
        ({}, True),  # no browser: the token alone decides
        ({"origin": "http://127.0.0.1:8710"}, True),
        ({"origin": "http://127.0.0.1:8710", "sec-fetch-site": "same-origin"}, True),
        ({"origin": "null", "sec-fetch-site": "same-origin"}, True),  # a form of ours, under no-referrer (Fetch, 3.2)
        ({"origin": "null"}, False),
        ({"origin": "null", "sec-fetch-site": "cross-site"}, False),
        ({"origin": "http://127.0.0.1:8711"}, False),
        ({"origin": "http://localhost:8710"}, False),
        ({"origin": "https://127.0.0.1:8710"}, False),
        ({"origin": "http://127.0.0.1:8710.elsewhere.example"}, False),
        ({"origin": "http://elsewhere.example"}, False),
        ({"sec-fetch-site": "same-site"}, False),
        ({"sec-fetch-site": "cross-site"}, False),
        ({"sec-fetch-site": "none"}, False),
        ({"origin": "http://127.0.0.1:8710", "sec-fetch-site": "cross-site"}, False),
    ],
)
def test_a_post_of_another_site_is_refused_even_with_the_token(bay: Bay, headers: dict[str, str], let: bool) -> None:
    browser = bay.inside()
    answer = browser.post("/act/sign", data={"csrf": browser.csrf(), "words": "done"}, headers=headers)
    assert answer.status_code == (200 if let else 403)
    assert let or "sent by another site" in answer.text


def test_without_tls_on_a_network_browsers_tell_less_and_the_token_decides(tmp_path: Path) -> None:
    """Sec-Fetch-Site is sent to trustworthy origins alone, and a form's Origin is "null" there too (Fetch, 3.2)."""
    bay = Bay(tmp_path, hosts=frozenset(("192.0.2.7",)))
    browser = bay.browser("http://192.0.2.7:8710")
    assert browser.log_in(NAMES["foreman"], "wet bilge pump", origin="null").status_code == 303
    csrf = browser.csrf()
    assert (
        browser.post("/act/sign", data={"csrf": csrf}, headers={"origin": "http://elsewhere.example"}).status_code
        == 403
    )
    assert browser.post("/act/sign", data={"csrf": "0" * 64}, headers={"origin": "null"}).status_code == 403


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_no_other_method_comes_through(bay: Bay, method: str) -> None:
    answer = bay.inside().request(method, "/act/sign")
    assert (answer.status_code, answer.headers["allow"]) == (405, "GET, HEAD, POST")


@pytest.mark.parametrize(
    ("host", "let"),
    [
        ("127.0.0.1", True), ("127.0.0.1:8710", True), ("LocalHost:9000", True), ("[::1]:8710", True), ("localhost.", True),
        ("elsewhere.example", False), ("127.0.0.1.elsewhere.example", False), ("localhost.elsewhere.example:8710", False),
        ("127.0.0.1@elsewhere.example", False), ("", False), ("192.0.2.7", False), ("127.1", False), ("[::1", False),
        ("::1", False),
        ("127.0.0.1:8710:80", False), ("127.0.0.1:8710, elsewhere.example", False), ("localhost/../x", False),
        ("0.0.0.0", False),
    ],
)  # fmt: skip
def test_only_our_own_names_are_answered(alone: Browser, host: str, let: bool) -> None:
    """DNS rebinding: a page of another site may reach this machine by a name of its own, and says that name."""
    answer = alone.get("/who", headers={"host": host})
    assert answer.status_code == (200 if let else 421), answer.text


def test_on_all_addresses_any_address_is_ours_but_no_name(tmp_path: Path) -> None:
    bay = Bay(tmp_path, any_address=True, hosts=LOOPBACK_NAMES | {"bench.example"})
    for host, status in (
        ("192.0.2.7:8710", 200),
        ("[2001:db8::7]", 200),
        ("bench.example", 200),
        ("elsewhere.example", 421),
    ):
        assert bay.browser().get("/login", headers={"host": host}).status_code == status
    assert host_name("[2001:DB8::7]:8710") == "2001:db8::7"


# --- headers, bodies, errors


def test_every_answer_has_the_headers(bay: Bay) -> None:
    browser = bay.inside()
    csrf = browser.csrf()
    answers = {
        "page": browser.get("/"),
        "head": browser.head("/"),
        "json": browser.get("/plain"),
        "file": browser.get("/assets/entrance.css"),
        "unchanged file": browser.get(
            "/assets/entrance.css", headers={"if-none-match": browser.get("/assets/entrance.css").headers["etag"]}
        ),
        "missing file": browser.get("/assets/nothing.css"),
        "log-in": browser.get("/login"),
        "redirect": bay.browser().get("/"),
        "401": browser.get("/", headers={"accept": "application/json", "cookie": "x"}),
        "403": browser.post("/act/sign"),
        "404": browser.get("/nothing"),
        "405": browser.put("/"),
        "431": browser.get("/", headers={"x-more": "x" * 17_000}),
        "413": browser.post("/act/sign", content=b"x" * 70_000),
        "421": browser.get("/", headers={"host": "elsewhere.example"}),
        "422": browser.get("/wrong/broken"),
        "500": browser.get("/wrong/fault"),
        "post": browser.post("/act/sign", data={"csrf": csrf, "words": "done"}),
        "429": [bay.browser().log_in("Nobody", "x") for _ in range(6)][-1],
    }
    assert answers["unchanged file"].status_code == 304
    numbered = {kind: answer.status_code for kind, answer in answers.items() if kind.isdigit()}
    assert numbered == {kind: int(kind) for kind in numbered}
    for kind, answer in answers.items():
        for name, value in HEADERS.items():
            assert answer.headers[name] == value, (kind, name)
        assert answer.headers["cache-control"] == ("no-cache" if "file" in kind else "no-store"), kind
    assert HEADERS["content-security-policy"] == (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; media-src 'self'; connect-src 'self'; "
        "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
    )


def test_a_route_may_narrow_the_policy_in_its_own_way_but_not_drop_it() -> None:
    own, ours = "default-src 'none'; style-src 'sha256-x'", HEADERS["content-security-policy"]

    def page(request: Request) -> Response:
        return HTMLResponse("x", headers={"content-security-policy": request.query_params["policy"]})

    settings = GateSettings(who="Ines Voss")
    browser = Browser(gated([Route("/", guarded("look")(page))], settings), settings, "http://localhost:8710")
    for policy, sent in ((own, own), ("default-src *", ours), ("", ours)):
        assert browser.get("/", params={"policy": policy}).headers["content-security-policy"] == sent


def test_our_own_pages_keep_the_policy(bay: Bay, alone: Browser) -> None:
    """No inline script or style, no style or event attribute: the policy would stop them."""
    texts = [
        bay.browser().get("/login").text,
        bay.browser().log_in("x", "y").text,
        alone.get("/who").text,
        bay.inside().get("/nothing").text,
    ]
    for text in texts:
        assert not re.search(r"<script|<style|\sstyle=|\son\w+=", text)
        assert '<html lang="en">' in text and "<title>" in text


@pytest.mark.parametrize(
    ("path", "status", "words"),
    [
        ("/wrong/call", 400, ["entry 9: no such entry", "look at the list"]),
        ("/wrong/broken", 422, ["&lt;b&gt;1.job&lt;/b&gt;: cut off", "take a copy"]),
        ("/wrong/http", 409, ["someone was quicker"]),
        ("/wrong/missing", 404, ["There is no such page here."]),
        ("/nothing", 404, ["There is no such page here.", "Look in the list of jobs"]),
        ("/<script>", 404, ["There is no such page here."]),
        ("/wrong/fault", 500, ["Something went wrong in here.", "Open the page again"]),
    ],
)
def test_what_goes_wrong_is_a_page_with_what_to_do(bay: Bay, path: str, status: int, words: list[str]) -> None:
    browser = bay.inside()
    answer = browser.get(path)
    assert answer.status_code == status and answer.headers["content-type"].startswith("text/html")
    assert all(word in answer.text for word in words), answer.text
    answer = browser.get(path, headers={"accept": "application/json"})
    assert answer.status_code == status and set(json.loads(answer.text)) == {"problem", "do", "status"}


def test_a_fault_of_ours_shows_a_number_and_the_log_its_place_in_one_line(bay: Bay) -> None:
    answer = bay.inside().get("/wrong/fault")
    assert "secret" not in answer.text and "Traceback" not in answer.text and ".py" not in answer.text
    found = re.search(r"fault ([0-9a-f]{6})", answer.text)
    assert found
    assert re.search(
        rf"fault {found[1]}: GET /wrong/fault: RuntimeError: secret\\n words at .*test_review_gate.py:\d+$", bay.log[-1]
    )
    assert "\n" not in bay.log[-1]


def test_no_body_over_64_kib_is_taken_however_it_is_sent(bay: Bay) -> None:
    browser = bay.inside()
    csrf = browser.csrf()
    room = 64 * 1024 - len(f"csrf={csrf}&words=")

    def pieces(count: int) -> Iterator[bytes]:
        yield from (b"x" * 1024 for _ in range(count))

    assert browser.post("/act/sign", data={"csrf": csrf, "words": "w" * room}).status_code == 200
    assert browser.post("/act/sign", data={"csrf": csrf, "words": "w" * (room + 1)}).status_code == 413
    assert browser.post("/act/sign", headers={"x-csrf": csrf}, content=pieces(64)).status_code == 200
    assert browser.post("/act/sign", headers={"x-csrf": csrf}, content=pieces(65)).status_code == 413
    assert browser.request("GET", "/", content=b"x" * 70_000).status_code == 413
    for length in ("-1", "x", "1" * 30):
        assert (
            browser.post("/act/sign", headers={"content-length": length, "x-csrf": csrf}, content=b"x").status_code
            == 413
        )


@pytest.mark.parametrize("stops_with", ["silence", "drops", "leaving"])
def test_a_body_that_does_not_arrive_is_given_up(stops_with: str) -> None:
    """Also where a byte comes now and then: it is the whole that must be there in time."""

    async def receive() -> dict[str, object]:
        if stops_with == "leaving":
            return {"type": "http.disconnect"}
        await anyio.sleep(10 if stops_with == "silence" else 0.01)
        return {"type": "http.request", "body": b"x", "more_body": True}

    request = Request({"type": "http", "method": "POST", "path": "/", "headers": []})
    with pytest.raises(Refused) as refused:
        anyio.run(whole_body, request, receive, 0.1)
    assert refused.value.status_code == 408


def test_hostile_forms_are_refused_and_break_nothing(bay: Bay) -> None:
    browser = bay.inside()
    for content, kind in (
        (b"&".join(b"a=%d" % n for n in range(5000)), "application/x-www-form-urlencoded"),
        (b"\xff\xfe%ff%00=%zz&csrf", "application/x-www-form-urlencoded"),
        (b"--x\r\nno header", "multipart/form-data; boundary=x"),
        (b"rubbish", "multipart/form-data"),
        (b"--x" * 9000, "multipart/form-data; boundary=x"),
        (b"csrf=1", "text/plain"),
    ):
        answer = browser.post("/act/sign", content=content, headers={"content-type": kind})
        assert answer.status_code in (400, 403), (kind, answer.status_code)
    assert browser.get("/").status_code == 200
    assert not any("fault" in line for line in bay.log)


def test_a_web_socket_is_closed(bay: Bay) -> None:
    sent: list[object] = []

    async def ask() -> None:
        async def send(message: object) -> None:
            sent.append(message)

        await bay.app({"type": "websocket", "path": "/", "headers": []}, anyio.sleep_forever, send)  # type: ignore[arg-type]

    anyio.run(ask)
    assert sent == [{"type": "websocket.close", "code": 1008}]
