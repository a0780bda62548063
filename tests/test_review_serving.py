"""The pages on real sockets: loopback, TLS, who is refused before anything is served, and a clean end."""

from __future__ import annotations

import argparse
import re
import signal
import socket
import ssl
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import anyio
import axe_core_python
import httpx
import pytest
import uvicorn
from playwright.sync_api import Browser as BrowserType
from playwright.sync_api import Page, sync_playwright
from starlette.responses import PlainTextResponse
from starlette.types import Receive, Scope, Send

from assistant import cli
from assistant.arguments.reviewing import add_reviewing
from assistant.calls.reviewing import wanted_by
from assistant.core.problems import CallProblem, FileProblem
from assistant.files.keys import Locking
from assistant.review.entrance import PORT
from assistant.review.listening import Place, read_place, sockets_at
from assistant.review.serving import ImpatientProtocol
from assistant.review.users import add_user, users_path
from assistant.review.wanted import Wanted, on_loopback

CHROMIUM = "/usr/bin/chromium"
LIGHT = Locking(1, 8192)
ROOT = Path(__file__).parents[1]


class Server:
    """`layup review` with these arguments, in a process of its own, over bare pages."""

    def __init__(self, *arguments: str) -> None:
        self.process = subprocess.Popen(
            (sys.executable, "-m", "tests.review_server", *arguments),
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self.said: list[str] = []
        self.address_said = ""

    def address(self) -> str:
        """The address that it says, once it listens."""
        assert self.process.stdout
        for line in self.process.stdout:
            self.said.append(line.rstrip())
            found = re.search(r"the foreman's pages: (\S+) ", line)
            if found:
                self.address_said = found[1].rstrip("/")
                return self.address_said
        raise AssertionError(self.said)

    def __enter__(self) -> Server:
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.communicate()

    def end(self, how: signal.Signals = signal.SIGTERM) -> int:
        """Told to end: its status, and all that it said in `said`."""
        if self.process.poll() is None:
            self.process.send_signal(how)
        rest, _ = self.process.communicate(timeout=20)
        self.said += rest.splitlines()
        return self.process.returncode


@pytest.fixture(scope="module")
def alone() -> Iterator[str]:
    with Server("--port", "0") as server:
        yield server.address()
        assert server.end() == 0, server.said


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Made by OpenSSL, for this machine's loopback names."""
    folder = tmp_path_factory.mktemp("tls")
    made = (folder / "server.pem", folder / "server.key")
    subprocess.run(
        ("openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2",
         "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1", "-out", made[0], "-keyout", made[1]),
        check=True, capture_output=True,
    )  # fmt: skip
    return made


@pytest.fixture
def users(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A users file with a foreman in it, where `layup` looks for it."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    add_user(users_path(), "Ines Voss", "foreman", "wet bilge pump", LIGHT)
    return users_path()


def csrf_in(page: str) -> str:
    found = re.search(r'name="csrf" value="([0-9a-f]{64})"', page)
    assert found, page
    return found[1]


# --- loopback


def test_it_is_served_on_both_loopbacks_and_nowhere_else(alone: str) -> None:
    port = int(alone.rpartition(":")[2])
    assert alone == f"http://127.0.0.1:{port}"
    for host in ("127.0.0.1", "[::1]", "localhost"):
        answer = httpx.get(f"http://{host}:{port}/")
        assert (answer.status_code, answer.headers["location"]) == (303, "/who?next=/")
    for address in own_addresses():
        with pytest.raises(OSError), socket.create_connection((address, port), timeout=2):
            pass


def own_addresses() -> list[str]:
    """This machine's addresses other than loopback's, as far as its name leads to them."""
    try:
        found = {str(one[4][0]) for one in socket.getaddrinfo(socket.gethostname(), None)}
    except OSError:
        return []
    return [address for address in found if not address.startswith("127.") and address != "::1"]


def test_said_who_and_served_by_a_real_server(alone: str) -> None:
    with httpx.Client(base_url=alone) as browser:
        fields = {"csrf": csrf_in(browser.get("/who").text), "name": "Ines Voss", "next": "/act/sign"}
        answer = browser.post("/who", data=fields, follow_redirects=True)
        assert (answer.status_code, answer.text, answer.url.path) == (200, "Ines Voss, foreman", "/act/sign")
        assert "server" not in answer.headers


def test_an_address_that_a_client_claims_for_itself_is_not_believed(users: Path) -> None:
    """Else the limit on log-ins is one header away from none."""
    with Server("--listen", "127.0.0.1:0") as server:
        with httpx.Client(base_url=server.address()) as browser:
            csrf = csrf_in(browser.get("/login").text)
            fields = {"csrf": csrf, "name": "Nobody", "passphrase": "x"}
            browser.post("/login", data=fields, headers={"x-forwarded-for": "192.0.2.7", "x-forwarded-proto": "https"})
        assert server.end() == 0
        assert "log-in refused: an unknown name, from 127.0.0.1" in server.said


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_it_ends_cleanly_when_told_also_while_a_stream_is_open(how: signal.Signals) -> None:
    with Server("--port", "0", "--who", "Ines Voss") as server, httpx.Client(base_url=server.address()) as browser:
        assert browser.get("/").text == "Ines Voss, foreman"
        with browser.stream("GET", "/bay/events") as stream:
            pieces = stream.iter_bytes()
            assert next(pieces).startswith(b"data: tick")
            began = time.monotonic()
            server.process.send_signal(how)
            with suppress(httpx.HTTPError):
                for _ in pieces:
                    pass
        server.process.wait(20)
        assert server.end() == 0, server.said
    assert time.monotonic() - began < 15
    assert server.said[-1] == "the pages are closed" and not any("Traceback" in line for line in server.said)


def test_a_port_that_is_taken_is_told() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(CallProblem, match="cannot listen there: Address already in use") as refused:
            sockets_at(on_loopback(port, "").places)
    assert "--port" in refused.value.do


# --- slow and huge


def test_huge_headers_are_refused(alone: str) -> None:
    """RFC 6585, 5: 431; what is longer than one read is refused by h11 (400)."""
    assert httpx.get(f"{alone}/who", headers={"x-more": "x" * 40_000}).status_code == 431
    with suppress(httpx.TransportError):  # hung up on while it still sends
        assert httpx.get(f"{alone}/who", headers={"x-more": "x" * 400_000}).status_code == 400
    assert httpx.get(f"{alone}/who").status_code == 200


def test_a_body_over_64_kib_is_refused_on_the_wire(alone: str) -> None:
    assert httpx.post(f"{alone}/who", content=b"x" * 70_000).status_code == 413


class Hurried(ImpatientProtocol):
    headers_s = 0.3


@pytest.fixture
def hurried() -> Iterator[tuple[str, int]]:
    """A server that waits 0.3 s for headers, and whose page takes 1 s."""

    async def slow_page(scope: Scope, receive: Receive, send: Send) -> None:
        await receive()
        await anyio.sleep(1.0)
        await PlainTextResponse("slow")(scope, receive, send)

    sockets, place = sockets_at((Place("127.0.0.1", 0),))
    server = uvicorn.Server(
        uvicorn.Config(slow_page, http=Hurried, ws="none", lifespan="off", log_config=None, log_level="error")
    )
    thread = threading.Thread(target=server.run, args=(sockets,))
    thread.start()
    yield place.host, place.port
    server.should_exit = True
    thread.join()
    for one in sockets:
        one.close()


@pytest.mark.parametrize("sent", [b"", b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: "])
def test_who_does_not_finish_the_headers_is_hung_up_on(hurried: tuple[str, int], sent: bytes) -> None:
    """A byte now and then does not buy more time."""
    with socket.create_connection(hurried, timeout=10) as line:
        line.sendall(sent)
        assert hung_up(line, b"x" if sent else b"")


def hung_up(line: socket.socket, byte: bytes) -> bool:
    """Does the other side close within 5 s without a word, while it is sent this byte every 50 ms.

    A byte that crosses the other side's closing is answered by a reset instead of an end (RFC 9293, section 3.10.7.1):
    the line is as dead, and nothing was said on it.
    """
    line.settimeout(0.05)
    for _ in range(100):
        try:
            return line.recv(10) == b""
        except TimeoutError:
            pass
        except ConnectionError:
            return True
        try:
            line.sendall(byte)
        except ConnectionError:
            return True
    return False


def test_who_waits_for_a_slow_page_is_not_hung_up_on_and_may_ask_again(hurried: tuple[str, int]) -> None:
    request = b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n"
    with socket.create_connection(hurried, timeout=10) as line:
        for _ in range(2):
            line.sendall(request + b"\r\n")
            answer = b""
            while not answer.endswith(b"slow"):
                piece = line.recv(4096)
                assert piece, answer
                answer += piece
        line.sendall(request)
        assert hung_up(line, b"")


# --- for other machines


def test_over_tls_one_logs_in_with_a_certificate_that_is_checked(users: Path, certificate: tuple[Path, Path]) -> None:
    with Server(
        "--listen", "127.0.0.1:0", "--certificate", str(certificate[0]), "--key", str(certificate[1])
    ) as server:
        address = server.address()
        trust = ssl.create_default_context(cafile=str(certificate[0]))
        with httpx.Client(base_url=address, verify=trust) as browser:
            assert address.startswith("https://127.0.0.1:")
            fields = {"csrf": csrf_in(browser.get("/login").text), "name": "Ines Voss", "passphrase": "wet bilge pump"}
            answer = browser.post("/login", data=fields, headers={"origin": address, "sec-fetch-site": "same-origin"})
            assert answer.status_code == 303 and "; Secure" in answer.headers["set-cookie"]
            assert answer.headers["set-cookie"].startswith("__Host-layup-")
            assert browser.get("/").text == "Ines Voss, foreman"
        with pytest.raises(httpx.HTTPError):
            httpx.get(address.replace("https", "http"))
        old = ssl.create_default_context(cafile=str(certificate[0]))
        old.maximum_version, old.minimum_version = ssl.TLSVersion.TLSv1_2, ssl.TLSVersion.TLSv1_2
        assert httpx.get(f"{address}/login", verify=old).status_code == 200
        assert server.end() == 0 and not any("warning" in line for line in server.said)


def wanted(*arguments: str) -> Wanted:
    parser = argparse.ArgumentParser()
    add_reviewing(parser.add_subparsers())
    return wanted_by(parser.parse_args(("review", *arguments)))


REFUSED = {
    ("--listen", "192.0.2.7"): "readable by anybody",
    ("--listen", "0.0.0.0:8710"): "readable by anybody",
    ("--listen", "[::]"): "readable by anybody",
    ("--listen", "bench.example:8710"): "readable by anybody",
    ("--listen", "127.0.0.1", "--certificate", "a.pem"): "a certificate needs its key",
    ("--listen", "127.0.0.1", "--key", "a.key"): "a certificate needs its key",
    ("--listen", "192.0.2.7", "--certificate", "a.pem", "--key", "a.key", "--without-tls"): "or without TLS",
    ("--listen", "192.0.2.7", "--certificate", "/nothing.pem", "--key", "/nothing.key"): "/nothing.pem: cannot be read",
    ("--listen", "127.0.0.1", "--who", "Ines"): "must log in",
    ("--listen", "127.0.0.1", "--port", "80"): "the port stands in --listen",
    ("--listen", "a b:x"): "no address to listen at",
    ("--listen", "127.0.0.1:65536"): "no address to listen at",
    ("--listen", "[::1:80"): "no address to listen at",
    ("--without-tls",): "only for other machines",
    ("--name", "bench.example"): "only for other machines",
    ("--certificate", "a.pem", "--key", "a.key"): "only for other machines",
    ("--who", "a\x1b[2J"): "cannot be a name",
}


@pytest.mark.parametrize(
    ("arguments", "words"), REFUSED.items(), ids=[" ".join(one).encode("unicode_escape").decode() for one in REFUSED]
)
def test_what_is_not_safe_or_does_not_go_together_is_refused(
    users: Path, arguments: tuple[str, ...], words: str
) -> None:
    with pytest.raises(CallProblem, match=re.escape(words)) as refused:
        wanted(*arguments)
    assert refused.value.do


def test_without_users_nobody_is_listened_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    with pytest.raises(CallProblem, match="nobody could log in") as refused:
        wanted("--listen", "127.0.0.1")
    assert "layup users add" in refused.value.do


def test_a_users_file_that_others_may_read_stops_the_start(users: Path) -> None:
    users.chmod(0o644)
    with pytest.raises(FileProblem, match="others may read"):
        wanted("--listen", "127.0.0.1")


def test_certificate_and_key_must_belong_together(users: Path, certificate: tuple[Path, Path], tmp_path: Path) -> None:
    other, locked = tmp_path / "other.key", tmp_path / "locked.key"
    subprocess.run(("openssl", "genpkey", "-algorithm", "ed25519", "-out", other), check=True, capture_output=True)
    subprocess.run(
        ("openssl", "pkey", "-in", certificate[1], "-aes256", "-passout", "pass:wet bilge", "-out", locked),
        check=True,
        capture_output=True,
    )
    for first, second in ((certificate[0], other), (certificate[0], locked), (certificate[1], certificate[0])):
        with pytest.raises(CallProblem, match="cannot be used together"):
            wanted("--listen", "127.0.0.1", "--certificate", str(first), "--key", str(second))


def test_without_tls_it_is_said_what_that_means(users: Path) -> None:
    found = wanted("--listen", "0.0.0.0:0", "--without-tls", "--name", "Bench.example")
    assert "anybody on this network can read passphrases" in found.warning
    assert found.any_address and "bench.example" in found.hosts and "localhost" in found.hosts
    named = wanted("--listen", "192.0.2.7:80", "--without-tls")
    assert not named.any_address and "192.0.2.7" in named.hosts
    assert named.settings_at(80, print).users == users
    assert wanted("--listen", "127.0.0.1:0").warning == ""


def test_the_defaults_are_loopback_and_nobody_in_particular() -> None:
    found = wanted()
    assert found.places == (Place("127.0.0.1", PORT), Place("::1", PORT)) and PORT == 8710
    assert (found.users, found.tls, found.who, found.warning) == (None, None, "", "")
    assert wanted("--port", "9000", "--who", " Ines  Voss ").who == "Ines Voss"


@pytest.mark.parametrize(
    ("text", "url"),
    [
        ("127.0.0.1", "http://127.0.0.1:8710/"),
        ("[2001:db8::7]:443", "http://[2001:db8::7]:443/"),
        ("bench.example:80", "http://bench.example:80/"),
        ("0.0.0.0", f"http://{socket.gethostname()}:8710/"),
    ],
)
def test_what_is_said_can_be_typed_into_a_browser(text: str, url: str) -> None:
    assert read_place(text).url(secure=False) == url


def test_a_folder_that_is_not_there_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(("review", str(tmp_path / "nothing"))) == 2
    assert "there is no such folder" in capsys.readouterr().err


# --- a real browser


@pytest.fixture(scope="module")
def chromium() -> Iterator[BrowserType]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="needs Debian's chromium")
@pytest.mark.parametrize("width", [360, 1280])
def test_a_browser_logs_in_by_keyboard_alone_and_axe_finds_no_fault(
    chromium: BrowserType, users: Path, width: int
) -> None:
    """Under our own policy, with the Origin "null" and Sec-Fetch-Site that Chromium sends for a form."""
    with Server("--listen", "127.0.0.1:0") as server:
        page = chromium.new_page(viewport={"width": width, "height": 740})
        told: list[str] = []
        page.on("console", lambda message: told.append(message.text))
        page.on(
            "request",
            lambda request: (
                told.append(f"origin {request.headers.get('origin')}") if request.method == "POST" else None
            ),
        )
        page.goto(f"{server.address()}/act/sign")
        assert page.title() == "Log in" and page.evaluate("document.activeElement.id") == "name"
        assert serious_faults(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        page.keyboard.type("Ines Voss")
        page.keyboard.press("Tab")
        page.keyboard.type("wrong")
        page.keyboard.press("Enter")
        page.wait_for_selector("[role=alert]")
        assert serious_faults(page) == []
        page.keyboard.type("Ines Voss")
        page.keyboard.press("Tab")
        page.keyboard.type("wet bilge pump")
        page.keyboard.press("Enter")
        page.wait_for_url("**/act/sign")
        assert page.inner_text("body") == "Ines Voss, foreman"
        page.goto(f"{server.address_said}/nothing")
        assert "There is no such page here." in page.inner_text("h1") and serious_faults(page) == []
        page.close()
        assert server.end() == 0
        assert [line for line in told if "Refused" in line or "violates" in line] == []


def serious_faults(page: Page) -> list[str]:
    """What axe-core finds that is serious or critical. Put in by the debugger's way, past our policy."""
    page.evaluate(Path(axe_core_python.__file__).with_name("axe.min.js").read_text(encoding="utf-8"))
    found = page.evaluate("axe.run()")
    return [one["id"] for one in found["violations"] if one["impact"] in ("serious", "critical")]
