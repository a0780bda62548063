"""`layup measure review --fuzz N`: N hostile job files through all pages, and everything that should never be seen there.

Of each: the list with it on it, the job in its three orders, its rows, figures, clips, papers, the page to sign, and an act. A
fault is a status that is none of the pages' own refusals, more than two seconds of processor time, anything in a page that no
template put there, another type than the address has, or a header with something of the file in it.
"""

from __future__ import annotations

import json
import random
import re
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import NamedTuple
from urllib.parse import quote

from assistant.measure.review_client import Answer, Client
from assistant.measure.review_hostile import hostile_file
from assistant.measure.review_html import strange, strange_whole

FILES_A_FOLDER = 20
MOST_CPU_S = 2.0
"""Of this process, for one page of one file."""
ANSWERED = {200, 206, 304, 400, 404, 416, 422}
"""What a page may answer about a file: shown, or refused in words."""
HTML = "text/html; charset=utf-8"
TYPES = {
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
}
CLIP_TYPES = ("audio/flac", "image/png", "image/jpeg")
HEADERS = {
    "content-length", "content-type", "content-security-policy", "x-content-type-options", "referrer-policy",
    "cross-origin-opener-policy", "cross-origin-resource-policy", "permissions-policy", "cache-control",
    "set-cookie", "location",
    "accept-ranges", "etag", "content-disposition", "content-range", "retry-after", "allow", "connection", "vary",
}  # fmt: skip
HEADER_VALUE = re.compile(r"[\x20-\x7e]*")
CLIP_LINK = re.compile(r'/clips/([^"\s]+)"')
NAMES = (
    "plain", "a b", "q?x=1", "hash#tag", "per%cent %2f", "quo\"te'", "<b>bold<b>", "new\nline", "\u202ertl",
    "caf\u00e9 \U0001d54f",
    "x..", "x.job", "semi;colon&amp;", "tab\tname", "back\\slash", "a" * 251, "\u0661\u0662", "-rf", "~", "{{7*7}}",
)  # fmt: skip


class Fault(NamedTuple):
    """What was seen that should not be: with which file (its number), how that was made, at which address."""

    number: int
    way: str
    address: str
    what: str


@dataclass
class Fuzzed:
    """A campaign: files, answers by status, files by the way they were made, the slowest answer, and all faults."""

    files: int = 0
    answers: Counter[int] = field(default_factory=Counter)
    ways: Counter[str] = field(default_factory=Counter)
    shown: int = 0
    slowest_s: float = 0.0
    slowest: str = ""
    faults: list[Fault] = field(default_factory=list)

    def add(self, other: Fuzzed) -> None:
        """One more part of the same campaign."""
        self.files += other.files
        self.shown += other.shown
        self.answers += other.answers
        self.ways += other.ways
        self.faults += other.faults
        if other.slowest_s > self.slowest_s:
            self.slowest_s, self.slowest = other.slowest_s, other.slowest


def fuzz(files: int, first: int = 0, workers: int = 1) -> Iterator[Fuzzed]:
    """So many files from that number on, folder by folder; what each folder came to."""
    starts = range(first, first + files, FILES_A_FOLDER)
    folder = partial(fuzz_folder, end=first + files)
    if workers == 1:
        yield from map(folder, starts)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(folder, starts)


def fuzz_folder(start: int, end: int) -> Fuzzed:
    """The files of one folder, each looked at whole."""
    done = Fuzzed()
    numbers = range(start, min(start + FILES_A_FOLDER, end))
    with tempfile.TemporaryDirectory() as name:
        folder, made = Path(name), {}
        for number in numbers:
            chance = random.Random(f"hostile {number}")
            called = NAMES[number % len(NAMES)]
            made[number] = (called, hostile_file(folder / "made", chance))
            (folder / "made").rename(folder / f"{called}.job")
        with Client(folder) as client:
            look = _Look(client, done)
            for number, (called, way) in made.items():
                done.files += 1
                done.ways[way] += 1
                look.at_job(number, way, called, random.Random(number))
            look.at_list(start, sorted(called for called, _ in made.values()))
            done.faults += [Fault(start, "", "", f"told: {line}") for line in client.told]
    return done


class _Look:
    """One folder's pages, looked at; what is found goes into `done`."""

    def __init__(self, client: Client, done: Fuzzed) -> None:
        self._client, self._done = client, done
        self._number, self._way = 0, ""

    def at_list(self, number: int, names: Sequence[str]) -> None:
        """Every file of the folder is on the list, by a link that leads to it."""
        self._number, self._way = number, "list"
        for _ in range(500):
            answer = self._page("/")
            if "still being read" not in answer.text:
                break
        for name in names:
            if (
                f'href="/jobs/{quote(name, safe="/")}"' not in answer.text
                and f'href="/jobs/{quote(name, safe="")}"' not in answer.text
            ):
                self._fault("/", f"no link to {name!r}")
        self._page("/?q=%3Cscript%3E&state=open")

    def at_job(self, number: int, way: str, name: str, chance: random.Random) -> None:
        """All pages of one job."""
        self._number, self._way = number, way
        base = f"/jobs/{quote(name, safe='')}"
        pages = [self._page(f"{base}?order={order}") for order in ("time", "doubtful", "open")]
        if pages[0].status == 200:
            self._done.shown += 1
        for sequence in (1, 2, *(chance.randrange(1, 30) for _ in range(2)), 0, 10**8):
            self._page(f"{base}/entries/{sequence}")
        self._page(f"{base}?order=time&page=2&entry=\u00b2".replace("\u00b2", "%C2%B2"))
        for end in ("figures", "sign", "papers/customer", "papers/foreman", "papers/tag", "papers/nothing"):
            self._page(f"{base}/{end}")
        for end, media_type in TYPES.items():
            self._got(f"{base}/papers/{end}", media_type)
        for clip in dict.fromkeys(CLIP_LINK.findall(pages[0].text)):
            self._clip(f"{base}/clips/{clip}")
        self._clip(f"{base}/clips/{'0' * 64}")
        self._act(base, chance)

    def _act(self, base: str, chance: random.Random) -> None:
        entry = str(chance.randrange(1, 12))
        act, fields = chance.choice((
            ("uphold", {"why": "<script>"}), ("amend", {"value": "188", "reason": "misheard"}), ("ask",
            {"question": "\u202e<b>"}),
            ("answer", {"question": entry, "words": "\x00"}),
            ("decide", {"decision": "approved", "by": "<i>", "on": "2026-11-25", "words": "\ud800"}),
        ))  # fmt: skip
        answer = self._client.post(f"{base}/{act}", {"entry": entry, **fields})
        self._checked(f"POST {base}/{act}", answer, HTML, {303, *ANSWERED})
        self._page(f"{base}?order=time")

    def _page(self, address: str) -> Answer:
        return self._got(address, HTML)

    def _got(self, address: str, media_type: str) -> Answer:
        answer = self._client.get(address)
        self._checked(address, answer, media_type if answer.status == 200 else HTML, ANSWERED)
        return answer

    def _clip(self, address: str) -> None:
        answer = self._client.get(address, {"range": "bytes=1-20"})
        kind = answer.header("content-type")
        if answer.status in (200, 206) and kind not in CLIP_TYPES:
            self._fault(address, f"a clip of type {kind!r}")
        self._checked(address, answer, kind if answer.status in (200, 206) else HTML, ANSWERED)

    def _checked(self, address: str, answer: Answer, media_type: str, may: set[int]) -> None:
        self._done.answers[answer.status] += 1
        if answer.cpu_s > self._done.slowest_s:
            self._done.slowest_s, self._done.slowest = (
                answer.cpu_s,
                f"file {self._number} ({self._way}), {address[:80]}",
            )
        if answer.status not in may:
            self._fault(address, f"status {answer.status}: {' '.join(self._client.told[-1:])}")
        if answer.cpu_s > MOST_CPU_S:
            self._fault(address, f"took {answer.cpu_s:.1f} s of the processor")
        if answer.status != 303 and answer.header("content-type") != media_type:
            self._fault(address, f"of type {answer.header('content-type')!r}")
        for name, value in answer.headers:
            if name not in HEADERS or not HEADER_VALUE.fullmatch(value) or "script>" in value:
                self._fault(address, f"header {name}: {value[:80]!r}")
        if answer.header("x-content-type-options") != "nosniff":
            self._fault(address, "without nosniff")
        if media_type == HTML and answer.status != 303:
            try:
                odd = (strange_whole if "order=time" in address else strange)(answer.text)
            except UnicodeDecodeError as fault:
                odd = str(fault)
            if odd:
                self._fault(address, odd)
        if media_type == TYPES["json"]:
            json.loads(answer.text)

    def _fault(self, address: str, what: str) -> None:
        self._done.faults.append(Fault(self._number, self._way, address, what))
