"""The storage tag: one page, what must be done before use, and a code that our own reader and another read off the page."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest
import segno
import zxingcpp
from job_samples import reading
from sheet_jobs import ALL_WELL, HOSTILE, MM, SHIPPED, PdfPage, check_nothing_cut_off, kept_job, pages_in

from assistant.cli import main
from assistant.core import entries as e
from assistant.core.conditions import UNSURE
from assistant.core.entries import Kept
from assistant.core.events import Label
from assistant.core.problems import CallProblem
from assistant.devices.label_reader import ZbarReader
from assistant.files.job_file import JobFile
from assistant.files.procedure_file import read_procedure
from assistant.files.verdict import Fault, Signed, Verdict
from assistant.files.verify import verify
from assistant.reports.job_report import report_of
from assistant.reports.pdf import pdf_of
from assistant.reports.standing import standing_of
from assistant.reports.storage_code import MOST_SIGNS, QUIET, code_path, read_code
from assistant.reports.storage_state import before_use
from assistant.reports.storage_tag import SIZES_PT, Fitted, Paper, Tag, fitted, initials, link_of, tag_html
from tests.test_reports import Page, numbered

HEAD = "0123456789abcdef" * 4
FITS = Verdict("/shop/jobs/1187.job", 9, 0, HEAD, None)
PAPERS: tuple[Paper, ...] = ("a4", "a6")


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An inboard laid up: water off, impeller out, battery disconnected."""
    folder = tmp_path_factory.mktemp("jobs")
    return kept_job(folder / "1190.job", ALL_WELL, name="inboard-off-season", sheet="turnstone-v6")


@pytest.fixture(scope="module")
def kept(job: Path) -> tuple[Kept, ...]:
    with JobFile.open(job, read_only=True) as opened:
        return opened.entries()


@cache
def read_back(html: str) -> tuple[PdfPage, ...]:
    return pages_in(pdf_of(html), dots_per_mm=8)


def words(html: str) -> str:
    return " ".join(Page(html).text.split())


# --- what it says


def test_the_tag_says_what_whose_when_and_by_whom(kept: tuple[Kept, ...], job: Path) -> None:
    """Machine, the customer's initials and not his name, job, day, who, shop, and that the manual comes first."""
    text = words(tag_html(kept, None, verify(job)))
    for said in ("Turnstone V6", "N. A.", "Job: 1190", "Laid up 14 October 2026 by Mara Holm, Alder Basin Small Craft"):
        assert said in text
    assert "Nils" not in text
    assert "The machine's own service manual comes first." in text
    assert "Nils Aspen" in words(tag_html(kept, None, verify(job), Tag(full_name=True)))
    assert "Next look: March 2027" in words(tag_html(kept, None, verify(job), Tag(next_look="March 2027")))


def test_what_must_be_done_before_use_and_how_it_was_left_stand_apart(kept: tuple[Kept, ...], job: Path) -> None:
    """What the conditions ask for is to be done before use; what the procedure's own sentences told was done already."""
    html = tag_html(kept, None, verify(job))
    before, _, left = words(html).partition("How it was left:")
    assert re.findall(r"<li>(.*?)</li>", html) == [
        "Water: off; must be not off.", "Impeller: out; must be in.", "Battery: disconnected; must be connected.",
        "Key: out; must be in.",
    ]  # fmt: skip
    for said in (
        "Take the hull plug out, for the wheel.",
        "Close exhaust outlets and the air intake against mice. Hang a tag on the wheel for each.",
    ):
        assert said in left
        assert said not in before


def test_a_tag_of_what_is_not_signed_is_a_draft(kept: tuple[Kept, ...]) -> None:
    """By the same rule as the sheets, in the same words; the whole job's name is cut and never the mark."""
    opened = replace(kept[0].entry, job="a name that is far too long for one line " * 9)
    named = (replace(kept[0], entry=opened), *kept[1:])
    signed = replace(FITS, signed=(Signed(len(kept), "Ada Lind", "cd" * 32),))
    for verdict, mark in ((FITS, ["DRAFT, not to be relied on"]), (signed, [])):
        pages = read_back(tag_html(named, None, verdict, Tag(paper="a6")))
        check_nothing_cut_off(pages)
        assert [re.findall("DRAFT, not to be relied on", " ".join(page.text.split())) for page in pages] == [mark]
        assert [standing_of(report_of(named), named, verdict).mark] == (mark or [""])


RIGHT_TO_LEFT = "\u05d3\u05d5\u05d3 \u05db\u05d4\u05df"
INITIALS = [
    ("Nils Aspen", "N. A."),
    ("ada m. lind", "A. M. L."),
    ("", ""),
    ("12 34", ""),
    (RIGHT_TO_LEFT, "\u05d3. \u05db."),
    ("a b c d e f", "A. B. C. D."),
    ("<b>Nils", "B."),
    ("\u202eNils", "N."),
]


@pytest.mark.parametrize(("name", "short"), INITIALS)
def test_initials(name: str, short: str) -> None:
    """The first letter of each of the first four words, in capitals; never more of the name."""
    assert initials(name) == short


def test_a_job_that_is_not_finished_says_so(kept: tuple[Kept, ...]) -> None:
    """Nobody takes a machine for laid up whose work is not over, or whose record is not whole."""
    text = words(tag_html(kept[:-1], None, replace(FITS, fault=Fault(3, "changed", "x"))))
    assert "The work is not finished: ask the shop." in text
    assert "The record of this job is not whole: ask the shop." in text
    assert "Last worked on" in text


# --- before use, by the conditions

READY = {
    "pwc-off-season": {
        "support": "stand", "ventilation": "open", "engine": "stopped", "water": "off", "antifreeze": "off", "lanyard": "on",
        "battery": "connected", "oil": "in", "ignition": "live", "plugs": "in", "drive": "closed",
    },
    "mower-off-season": {
        "place": "outdoors", "engine": "stopped", "heat": "cool", "lead": "on", "tank": "fuelled", "cap": "closed", "oil": "in",
        "deck": "level", "blade": "tight", "bolt": "in", "plug": "in", "wheel_drive": "none",
    },
    "quad-off-season": {
        "parked": "chocked", "ventilation": "open", "engine": "stopped", "heat": "cool", "key": "in", "battery": "connected",
        "fuel": "closed", "fuel_system": "pump", "oil": "in", "belt_case": "closed", "ignition": "live", "plugs": "in",
        "coolant_cap": "closed", "lift": "ground", "wheel": "fitted", "openings": "clear",
    },
}  # fmt: skip
"""Machines that may be started: read off the procedures' *never* rules and the needs of their starting steps by hand."""
NO_BATTERY = "Running without the battery burns out the charging circuit."
LEFT = [
    ("pwc-off-season", {}, {}),
    ("pwc-off-season", {"battery": "disconnected", "lanyard": "off"},
     {"battery": ("connected", NO_BATTERY), "lanyard": ("on", "")}),
    ("pwc-off-season", {"drive": "open"}, {"drive": ("closed", "The impeller turns with the engine.")}),
    ("pwc-off-season", {"oil": UNSURE}, {"oil": ("in", "Running without oil ruins the bearings.")}),
    ("mower-off-season", {"blade": "unseen", "place": "indoors"},
     {"blade": ("tight", "Nobody has looked whether the blade is tight."),
      "place": ("outdoors", "A running engine indoors fills the bay with carbon monoxide.")}),
    ("quad-off-season", {"openings": "plugged", "battery": "disconnected"},
     {"openings": ("clear", "A plugged exhaust drives its gas where people are."), "battery": ("connected", NO_BATTERY)}),
]  # fmt: skip


@pytest.mark.parametrize(("name", "left", "must"), LEFT)
def test_before_use_follows_from_the_conditions(
    name: str, left: dict[str, str], must: dict[str, tuple[str, str]]
) -> None:
    """What a rule forbids of a running engine, or its start needs, and is not so now: that, with the rule's own reason, and
    nothing else; a state that nobody knows too."""
    procedure = read_procedure((SHIPPED / f"{name}.yaml").read_text(encoding="utf-8"), name)
    found = before_use(procedure, READY[name] | left)
    assert {item.condition: (item.must_be, item.because) for item in found} == must
    assert all(item.is_now == left[item.condition] for item in found)


def test_a_running_machine_is_no_stored_one() -> None:
    """While it runs there is nothing to be said of its next start."""
    procedure = read_procedure((SHIPPED / "pwc-off-season.yaml").read_text(encoding="utf-8"), "p")
    assert before_use(procedure, {"engine": "running", "battery": "disconnected"}) == ()


def test_a_text_that_cannot_be_read_asks_for_nothing() -> None:
    """A procedure of another form costs the list and not the tag."""
    opened = e.JobOpened("p", "steps: [", "model: Heron 3", "", "j", (), "p", "e")
    text = words(tag_html(numbered(opened, e.JobFinished(0, 0)), None, FITS))
    assert "Nothing was left open: see the customer's sheet." in text


# --- the code


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("address", ["", "https://bench.example:8710/"])
def test_the_code_is_read_off_the_printed_page(kept: tuple[Kept, ...], paper: Paper, address: str) -> None:
    """Our own label reader and zxing-cpp read the code of the rendered page, and it leads back to the job."""
    link = "https://bench.example:8710/jobs/1187" if address else "layup:1187#0123456789abcdef"
    [page] = read_back(tag_html(kept, None, FITS, Tag(address=address, paper=paper)))
    reader = ZbarReader(still=True)
    try:
        assert Label("QR", link) in reader.read(np.ascontiguousarray(page.picture))
    finally:
        reader.close()
    [found] = zxingcpp.read_barcodes(page.picture)
    assert found.text == link
    assert found.ec_level in ("M", "Q", "H")


def test_a_worn_code_is_still_read(kept: tuple[Kept, ...]) -> None:
    """Level M mends about 15 % (ISO/IEC 18004): a blot over a twelfth of the code is no matter."""
    [page] = read_back(tag_html(kept, None, FITS, Tag(paper="a6")))
    position = zxingcpp.read_barcodes(page.picture)[0].position
    left, right = position.top_left.x, position.bottom_right.x
    top, bottom = position.top_left.y, position.bottom_right.y
    worn = page.picture.copy()
    wide, tall = (right - left) // 5, (bottom - top) // 5
    middle, centre = (top + bottom) // 2, (left + right) // 2
    cv2.rectangle(worn, (centre, middle), (centre + wide, middle + tall), 255, -1)
    assert [found.text for found in zxingcpp.read_barcodes(worn)] == ["layup:1187#0123456789abcdef"]


@pytest.mark.parametrize("text", ["layup:1187#0123456789abcdef", "https://b.example/jobs/" + "a" * 300])
def test_the_path_is_the_symbol(text: str) -> None:
    """Drawn module by module the path is the symbol of the library, with the four light modules around it of ISO/IEC 18004."""
    path, across = code_path(text)
    drawn = np.zeros((across, across), dtype=bool)
    for piece in path.split("z"):
        if piece:
            x, rest = piece.removeprefix("M").split(" ")
            y, wide = rest.partition("v")[0].split("h")
            drawn[int(y), int(x) : int(x) + int(wide)] = True
    matrix = np.array([[bool(module) for module in row] for row in segno.make(text, error="m", micro=False).matrix])
    assert QUIET == 4
    assert (drawn[QUIET:-QUIET, QUIET:-QUIET] == matrix).all()
    assert drawn.sum() == matrix.sum()


LINKS = [
    ("/shop/1187.job", "", "layup:1187#0123456789abcdef"),
    ("a job #2/x y&z.job", "", "layup:x%20y%26z#0123456789abcdef"),
    ("\u00e9t\u00e9.job", "http://10.0.0.5", "http://10.0.0.5/jobs/%C3%A9t%C3%A9"),
    ("1187.job", "https://bench.example/pages/", "https://bench.example/pages/jobs/1187"),
    ("1187.job", "https://bench.example/jobs/1187", "https://bench.example/jobs/1187"),
]


@pytest.mark.parametrize("name", ["1187", "a job #2?", "x y&z", "\u00e9t\u00e9 50%", "layup:x", "%41", "a+b"])
def test_a_code_that_is_no_address_is_read_again(name: str) -> None:
    """What the code says gives the file's name back, whatever signs it has, and the beginning of the hash."""
    assert read_code(f" {link_of(replace(FITS, file=f'/shop/{name}.job'))} ") == (name, HEAD[:16])


@pytest.mark.parametrize(
    "text", ["", "1187", "layup:", "layup:#ab", "layup:a b#ab", "layup:a#xyz", "https://x/jobs/1187"]
)
def test_what_is_no_code_is_searched_for_as_it_stands(text: str) -> None:
    """No name, no hash, or an address: that is none."""
    assert read_code(text) is None


@pytest.mark.parametrize(("file", "address", "link"), LINKS)
def test_what_the_code_says(file: str, address: str, link: str) -> None:
    """The file's name and the beginning of the last hash; or the job's page. Signs that an address cannot have are quoted."""
    assert link_of(replace(FITS, file=file), address) == link


ODD_ADDRESSES = [
    "bench",
    "ftp://x",
    "https://",
    "javascript:alert(1)",
    "https://x/?a=1",
    "https://x/#a",
    "https://x y",
    "https://[",
    "http://\u00e9",
]


@pytest.mark.parametrize("address", ODD_ADDRESSES)
def test_no_address_is_refused(address: str) -> None:
    """What leads nowhere is refused, with an example of what does."""
    with pytest.raises(CallProblem, match="is no address that a tag can lead to") as refused:
        link_of(FITS, address)
    assert "https://bench.example:8710" in str(refused.value)


def test_a_code_that_nobody_could_read_is_refused() -> None:
    """A text too long for modules that can be told apart is refused, with what to do."""
    code_path("a" * MOST_SIGNS)
    with pytest.raises(CallProblem, match=r"has 601 signs, and 600 are the most\n.*a shorter name"):
        code_path("a" * (MOST_SIGNS + 1))


# --- one page, big, nothing cut off


@pytest.mark.parametrize("paper", PAPERS)
def test_it_is_one_page_of_its_size(kept: tuple[Kept, ...], paper: Paper) -> None:
    """A6 is 105 by 148 mm, A4 210 by 297 (ISO 216); nothing is cut off or near the edge."""
    pages = read_back(tag_html(kept, None, FITS, Tag(paper=paper)))
    check_nothing_cut_off(pages)
    [page] = pages
    wide, tall = (105, 148) if paper == "a6" else (210, 297)
    assert (page.width / MM, page.height / MM) == (pytest.approx(wide, abs=0.2), pytest.approx(tall, abs=0.2))


def test_the_cut_line_is_of_a6(kept: tuple[Kept, ...]) -> None:
    """On A4 the dashed line stands around 105 by 147.5 mm, so that what is cut out goes into a pouch of A6."""
    [page] = read_back(tag_html(kept, None, FITS, Tag(paper="a4")))
    rows, columns = np.nonzero(page.picture < 128)
    line = columns[rows < page.picture.shape[0] * 0.6]
    across_mm = (line.max() - line.min()) / 8
    assert across_mm == pytest.approx(105.4, abs=0.6)


@pytest.mark.parametrize("text", HOSTILE)
def test_odd_texts_stay_on_the_one_page(text: str) -> None:
    """Names of 300 signs, markup, marks that turn the line round: one page, all inside it, no markup made of them."""
    texts = [f'{key}: "{text.encode("unicode_escape").decode()}"' for key in ("model", "shop")]
    opened = e.JobOpened("p", "", *texts, text, (), "p", "e", text, (), True, text)
    hull = reading("hull_number", "", text, "count", limit="", verdict="")
    tag = Tag(full_name=True, paper="a6", next_look=text)
    made = tag_html(numbered(opened, e.StepOpened("c"), hull), None, FITS, tag)
    pages = read_back(made)
    assert len(pages) == 1
    check_nothing_cut_off(pages)
    assert not {"script", "img", "a"} & set(Page(made).tags)


def test_letters_are_as_large_as_they_fit() -> None:
    """Few words are large; many are small, without their reasons; too many are counted and never cut."""
    few, long = (
        ("Battery: disconnected; must be connected.",),
        tuple(f"Condition {n}: open; must be shut." for n in range(60)),
    )
    assert fitted(few, few) == Fitted(13, few, 0)
    reasoned = tuple(f"{text} {'Because. ' * 20}" for text in few * 3)
    assert fitted(reasoned, few * 3) == Fitted(13, few * 3, 0)
    crowded = fitted(long, long)
    assert crowded.size_pt == SIZES_PT[-1]
    assert crowded.left_out == len(long) - len(crowded.texts) > 0
    assert crowded.texts == long[: len(crowded.texts)]
    assert fitted(few, few, "battery out") == Fitted(13, few, 0, "battery out")
    assert fitted(long, long, "battery out") == replace(crowded, left_out=crowded.left_out + 1)


@pytest.mark.parametrize("count", [1, 3, 6, 9, 14, 40])
def test_the_box_holds_what_it_shows(kept: tuple[Kept, ...], count: int) -> None:
    """However much must be done before use, all that the box shows is on the page, last line and count of the rest too."""
    rules = "".join(
        f'  - {{when: {{engine: running, part_{n}: open}}, because: "Part number {n} is open to the bilge."}}\n'
        for n in range(count)
    )
    names = ", ".join(f"part_{n}: [shut, open]" for n in range(count))
    start = ", ".join(f"part_{n}: open" for n in range(count))
    text = (
        f"procedure: p\ntitle: P\nversion: 1\nfor: p\nconditions: {{engine: [stopped, running], {names}}}\n"
        f"start: {{engine: stopped, {start}}}\nnever:\n{rules}steps:\n  - {{id: a, title: A, say: Do it.}}\n"
    )
    conditions = (("engine", "stopped"), *((f"part_{n}", "open") for n in range(count)))
    opened = e.JobOpened("p", text, "model: Heron 3", "", "j", conditions, "p", "e")
    pages = read_back(tag_html(numbered(opened, e.JobFinished(1, 0)), None, FITS, Tag(paper="a6")))
    check_nothing_cut_off(pages)
    [page] = pages
    printed = " ".join(page.text.split())
    shown = [n for n in range(count) if f"Part {n}: open; must be shut." in printed]
    assert shown == list(range(len(shown)))
    left = count - len(shown)
    assert (f"And {left} more: see the customer's sheet." in printed) == (left > 0)
    assert "Next look:" in printed


# --- from the command line


def test_written_from_the_command_line(job: Path, tmp_path: Path) -> None:
    """`--for tag` with all that it may be given."""
    out = tmp_path / "tag.html"
    more = ["--full-name", "--address", "https://bench.example", "--paper", "a6", "--next-look", "in March"]
    assert main(["report", str(job), "-o", str(out), "--for", "tag", *more]) == 0
    text = out.read_text(encoding="utf-8")
    assert "Nils Aspen" in text
    assert "https://bench.example/jobs/1190" in text
    assert '<body class="a6">' in text


def test_a_wrong_address_is_told(job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The call is refused before anything is written."""
    out = tmp_path / "tag.html"
    assert main(["report", str(job), "-o", str(out), "--for", "tag", "--address", "bench"]) == 2
    assert "--address: 'bench' is no address" in capsys.readouterr().err
    assert not out.exists()
