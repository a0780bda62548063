"""The tag that hangs on a machine in store: one page of A6, or of A4 with a line to cut along, for a weatherproof pouch.

Big: what it is, whose, when it was laid up, and what must be done before it is used. Its code leads back to the job. A customer
is named by his initials: the tag hangs where everybody reads it.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal
from urllib.parse import quote, urlsplit

from assistant.core.entries import Kept
from assistant.core.problems import CallProblem
from assistant.files.verdict import Verdict
from assistant.reports.customer_sheet import machine_numbers
from assistant.reports.embedded import ClipBytes
from assistant.reports.figures.drawing import shown_signs
from assistant.reports.job_report import JobReport, report_of
from assistant.reports.page_templates import day, template
from assistant.reports.standing import standing_of
from assistant.reports.storage_code import code_path
from assistant.reports.storage_state import StorageState, storage_state
from assistant.reports.text_width import CONDENSED, wrapped

HASH_SHOWN = 16
"""So many digits of the last hash stand in the code: 64 bits tell two records of one name apart."""
ACROSS_PT = 244.0
"""Across the tag, from the measures in `templates/tag.html`; the box is narrower and so tall inside:"""
BOX_PT, TALL_PT = 228.0, 124.0
LEFT_PT = 136.0
"""Beside the code."""
NAME_SIZES_PT = ((19, 1), (13, 2), (9, 3))
"""Of the machine's name: size and lines, the largest that holds all of it."""
SIZES_PT = (13, 12, 11, 10, 9, 8, 7)
"""Of what must be done before use: the largest that fits. Whatever does not fit in the smallest is counted."""
WHY_SIZES_PT = (13, 12, 11, 10)
LINE = 1.2
LEFT_GAP_PT = 5.0
"""Of the rule over how it was left."""
AS_LEFT = "How it was left:"
DRAFT_PT = 150.0
"""At the right end of the job's line."""
NOTHING_OPEN = "Nothing was left open: see the customer's sheet."
Paper = Literal["a4", "a6"]


@dataclass(frozen=True)
class Tag:
    """What is asked of a tag. `address`: of the shop's own pages, or of the job there, for the code; `full_name`: the
    customer's and not his initials; `next_look`: when somebody looks at the machine next, "" for a line to write on."""

    address: str = ""
    full_name: bool = False
    paper: Paper = "a4"
    next_look: str = ""


@dataclass(frozen=True)
class Fitted:
    """What stands in the box: the size of its letters in points, the texts, how many of these there was no room for; and under
    them how the machine was left ("" nothing is told, or there is no room)."""

    size_pt: int
    texts: tuple[str, ...]
    left_out: int
    as_left: str = ""


@dataclass(frozen=True)
class Face:
    """What stands on the tag, each text cut to its room; `name_pt`: the size of the machine's name."""

    machine: str
    name_pt: int
    numbers: str
    whose: str
    job: str
    draft: str
    when: str
    box: Fitted
    next_look: str
    link: str
    code: str
    modules: int


def tag_html(kept: tuple[Kept, ...], clip: ClipBytes | None, verdict: Verdict, tag: Tag | None = None) -> str:
    """The page with the tag of a job: `verdict` is on the file that the entries are from; `clip` is taken as all sheets take
    it.

    Raises CallProblem for an address that is none, and for a name too long for a code.
    """
    del clip
    asked = tag or Tag()
    report, link = report_of(kept), link_of(verdict, asked.address)
    storage = storage_state(report, kept)
    reasoned, bare = (texts_of(report, verdict, storage, why=why) for why in (True, False))
    box = fitted(reasoned, bare, " ".join(storage.tag_says))
    draft = standing_of(report, kept, verdict).mark
    return template("tag.html").render(face=_face(report, link, box, draft, asked), paper=asked.paper, as_left=AS_LEFT)


def _face(report: JobReport, link: str, box: Fitted, draft: str, tag: Tag) -> Face:
    name_pt, machine = _name(report.machine or "Machine not named")
    code, modules = code_path(link)
    whose = report.customer if tag.full_name else initials(report.customer)
    numbers = ", ".join(f"{name} {value}" for name, value in machine_numbers(report))
    laid = f"{'Laid up' if report.finished else 'Last worked on'} {day(report.ended)}"
    by = ", ".join(filter(None, (" and ".join(report.technicians), report.shop)))
    return Face(
        machine=machine,
        name_pt=name_pt,
        numbers=cut_to(numbers, 9, ACROSS_PT, 1),
        whose=cut_to(whose or "Customer not named", 13, ACROSS_PT, 1, bold=True),
        job=cut_to(f"Job: {report.job or 'without a name'}", 9, ACROSS_PT - (DRAFT_PT if draft else 0), 1),
        draft=draft,
        when=cut_to(f"{laid} by {by}" if by else laid, 9, ACROSS_PT, 2),
        box=box,
        next_look=cut_to(tag.next_look, 9, LEFT_PT, 2, bold=True),
        link=cut_to(link, 7, LEFT_PT, 4),
        code=code,
        modules=modules,
    )


def link_of(verdict: Verdict, address: str = "") -> str:
    """What the code says: `layup:NAME#0123456789abcdef`, or where the shop's own pages have the job. An address that leads to
    the job already stays as it is.

    Raises CallProblem for an address that is no http or https address.
    """
    name = quote(Path(verdict.file).stem, safe="")
    if not address:
        return f"layup:{name}#{verdict.head[:HASH_SHOWN]}"
    try:
        parts = urlsplit(address)
    except ValueError:
        parts = urlsplit("")
    odd = parts.query or parts.fragment or not address.isascii() or not address.isprintable() or " " in address
    if parts.scheme not in ("http", "https") or not parts.hostname or odd:
        do = "give the address of the shop's own pages, like https://bench.example:8710"
        raise CallProblem(f"{address!r} is no address that a tag can lead to", where="--address", do=do)
    of_job = f"/jobs/{name}"
    return address if parts.path.endswith(of_job) else f"{address.rstrip('/')}{of_job}"


def initials(name: str) -> str:
    """
    >>> initials("Ada Maria  Lind"), initials("\\u00e9mile (the boat)"), initials("")
    ('A. M. L.', '\\xc9. T. B.', '')
    """
    firsts = (next((sign for sign in word if sign.isalpha()), "") for word in name.split()[:4])
    return " ".join(f"{first.upper()}." for first in firsts if first)


def texts_of(report: JobReport, verdict: Verdict, storage: StorageState, *, why: bool) -> tuple[str, ...]:
    """What must be put right before use, the weightiest first; with or without the reasons."""
    warned = [] if verdict.fault is None else ["The record of this job is not whole: ask the shop."]
    warned += [] if report.finished else ["The work is not finished: ask the shop."]
    before = [f"{item} {item.because}".strip() if why else str(item) for item in storage.before_use]
    nothing = "See how it was left, and the customer's sheet." if storage.tag_says else NOTHING_OPEN
    return (*warned, *before) or (nothing,)


def fitted(with_why: tuple[str, ...], without: tuple[str, ...], as_left: str = "") -> Fitted:
    """As large as all of it fits, the reasons only in letters that are read at arm's length; in the smallest letters as many
    as fit, and one line for how many are left out: how it was left is the first to go."""
    reasoned, bare = (tuple(shown_signs(text) for text in texts) for texts in (with_why, without))
    as_left = shown_signs(as_left)
    last = (f"{AS_LEFT} {as_left}",) if as_left else ()
    for texts, sizes in ((reasoned, WHY_SIZES_PT), (bare, SIZES_PT)):
        for size in sizes:
            tall = sum(_lines(text, size) for text in (*texts, *last)) * size * LINE
            if tall + (LEFT_GAP_PT if last else 0) <= TALL_PT:
                return Fitted(size, texts, 0, as_left)
    smallest, room = SIZES_PT[-1], int(TALL_PT / (SIZES_PT[-1] * LINE)) - 1
    shown: list[str] = []
    for text in bare:
        room -= _lines(text, smallest)
        if room < 0:
            break
        shown.append(text)
    return Fitted(smallest, tuple(shown), len(bare) - len(shown) + len(last))


def _lines(text: str, size: int) -> int:
    """With a bullet's room on the left. A browser may break a line a little earlier: one in eight is spare."""
    lines = len(wrapped(text, size, (BOX_PT - size) * CONDENSED, bold=True))
    return lines + lines // 8


def _name(machine: str) -> tuple[int, str]:
    for size, lines in NAME_SIZES_PT:
        text = cut_to(machine, size, ACROSS_PT, lines, bold=True)
        if text == shown_signs(machine).strip():
            break
    return size, text


def cut_to(text: str, size_pt: float, room_pt: float, lines: int, *, bold: bool = False) -> str:
    """The text, or so much of its beginning, with three dots behind it, as goes into so many lines.

    >>> cut_to("a name that is far too long for one line", 10, 100, 1)
    'a name that is far\u2026'
    """
    whole = shown_signs(text).strip()
    if len(wrapped(whole, size_pt, room_pt * CONDENSED, bold=bold)) <= lines:
        return whole
    most, least = min(len(whole), 400), 0
    while least < most - 1:  # the longest beginning that fits, by halves
        middle = (least + most) // 2
        fits = len(wrapped(f"{whole[:middle]}\u2026", size_pt, room_pt * CONDENSED, bold=bold)) <= lines
        least, most = (middle, most) if fits else (least, middle)
    return f"{whole[:least]}\N{HORIZONTAL ELLIPSIS}"
