"""Printed pages as they were looked at and found right: the texts in the order of the page, every block in its place.

The customer's first page and the tag are rendered by PDFium and compared with pictures of a quarter of the size, kept in
`tests/samples`. Where a page was changed on purpose, `PYTHONPATH=tests .venv/bin/python -m tests.test_reports_pictures` makes
them anew; then look at the pages. Letters differ from machine to machine, so these are set in DejaVu Sans, and where that is
not installed the pictures are passed over; the texts are compared with any letters.
"""

from __future__ import annotations

import re
import tempfile
import unicodedata
from collections.abc import Iterator, Mapping
from functools import cache
from html import unescape
from pathlib import Path

import cv2
import numpy as np
import pytest
from sheet_jobs import ALL_WELL, PdfPage, kept_job, pages_in, settled, signed

from assistant.files.job_file import JobFile
from assistant.files.verdict import Verdict
from assistant.files.verify import verify
from assistant.reports.customer_sheet import customer_html
from assistant.reports.pdf import pdf_of
from assistant.reports.storage_tag import Tag, tag_html

SAMPLES = Path(__file__).parent / "samples"
QUARTER = 4
NEAR = 5
"""Dots of the small picture (6.7 mm) over which ink is averaged."""
MOST_APART = 15.0
"""Of 255 grey steps. The same pages rendered at 2 to 6 dots a millimetre, or a third of a millimetre aside, are up to 13 apart;
with a block missing, or 5 mm off, at least 18 (measured on both)."""
LETTERS = {'"Liberation Sans"': '"DejaVu Sans"', '"Liberation Mono"': '"DejaVu Sans Mono"'}


@cache
def pages_made() -> Mapping[str, str]:
    """Name -> the page: of a whole lay-up, signed, and of a tag of a job whose last hash is given."""
    with tempfile.TemporaryDirectory() as folder:
        done = signed(settled(kept_job(Path(folder) / "1187.job")))
        stored = kept_job(Path(folder) / "1190.job", ALL_WELL, name="inboard-off-season", sheet="turnstone-v6")
        with JobFile.open(done, read_only=True) as job, JobFile.open(stored, read_only=True) as other:
            sheet = customer_html(job.entries(), None, verify(done))
            tag = tag_html(
                other.entries(), None, Verdict("1190.job", 9, 0, "0123456789abcdef" * 4, None), Tag(paper="a6")
            )
    return {"customer-page-1": sheet, "tag": tag}


def first_page(html: str, dots_per_mm: float = 3.0) -> PdfPage:
    return pages_in(pdf_of(html), dots_per_mm)[0]


def in_known_letters(html: str) -> str:
    for common, known in LETTERS.items():
        html = html.replace(common, known)
    return html


# --- texts


def bare(text: str) -> str:
    """Without spaces and bullets, ligatures as their letters."""
    return re.sub(r"[\s\u2022]", "", unicodedata.normalize("NFKC", text))


@pytest.mark.parametrize(("name", "foot"), [("customer-page-1", r"Nils Aspen · 1187\s+Page 1 of \d"), ("tag", "")])
def test_the_printed_texts_are_those_of_the_page_in_their_order(name: str, foot: str) -> None:
    """What PDFium reads off the page is, sign by sign, what the HTML begins with: nothing twice, nothing left out."""
    html = pages_made()[name]
    body = re.sub(r"<svg.*?</svg>", "", html[html.index("<body") :], flags=re.DOTALL)
    texts = bare(unescape(re.sub(r"<[^>]*>", " ", body)))
    printed = bare(re.sub(foot, "", first_page(html).text))
    assert len(printed) > 300
    assert texts.startswith(printed)
    assert name != "tag" or texts == printed


# --- pictures


def small(picture: np.ndarray) -> np.ndarray:
    """A quarter of the size: each dot the mean of sixteen."""
    tall, wide = (side // QUARTER * QUARTER for side in picture.shape)
    blocks = picture[:tall, :wide].astype(float).reshape(tall // QUARTER, QUARTER, wide // QUARTER, QUARTER)
    return blocks.mean(axis=(1, 3))


def apart(one: np.ndarray, other: np.ndarray) -> float:
    """The greatest difference of ink anywhere, each averaged over its neighbourhood."""
    assert one.shape == other.shape
    return float(np.abs(cv2.blur(one, (NEAR, NEAR)) - cv2.blur(other, (NEAR, NEAR))).max())


def looked_at(name: str) -> np.ndarray:
    found = cv2.imread(str(SAMPLES / f"{name}.png"), cv2.IMREAD_GRAYSCALE)
    assert found is not None, "no picture of that page: see this module's docstring"
    return found.astype(float)


def rendered(name: str) -> np.ndarray:
    return small(first_page(in_known_letters(pages_made()[name])).picture)


NAMES = ("customer-page-1", "tag")


@pytest.fixture(scope="module")
def in_dejavu() -> None:
    """Where the letters are not DejaVu's a picture says nothing."""
    if not dejavu_is_here():
        pytest.skip("DejaVu Sans is not installed: the pages' pictures are of its letters")


@cache
def dejavu_is_here() -> bool:
    """A font that is not there is set in another one: then its name makes no difference."""
    widths = [
        max(box[2] for box in first_page(f'<p style="font-family: {name}, monospace">{"il" * 20}').boxes)
        for name in ("DejaVu Sans", "no such letters")
    ]
    return widths[0] != widths[1]


@pytest.mark.usefixtures("in_dejavu")
@pytest.mark.parametrize("name", NAMES)
def test_the_page_is_as_its_picture_that_was_looked_at(name: str) -> None:
    """No block has moved and none is missing: the ink stands where it stood."""
    assert apart(rendered(name), looked_at(name)) < MOST_APART


def bands(picture: np.ndarray) -> Iterator[tuple[int, int]]:
    """Rows of the picture from the first to the last with ink of each line or block: (top, bottom)."""
    inked = (picture < 250).any(axis=1)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], inked, [False])).astype(int)))
    yield from zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)


@pytest.mark.usefixtures("in_dejavu")
@pytest.mark.parametrize("name", NAMES)
def test_a_picture_tells_every_missing_and_moved_block(name: str) -> None:
    """The comparison can fail: without any one of its blocks, or with any one moved by 5 mm, a page is another."""
    picture = rendered(name)
    by = round(5 * 3 / QUARTER)
    for top, bottom in bands(picture):
        gone, moved = picture.copy(), picture.copy()
        gone[top:bottom] = 255
        assert apart(gone, looked_at(name)) > MOST_APART, (top, bottom)
        moved[top : bottom + by] = np.vstack((np.full((by, picture.shape[1]), 255.0), picture[top:bottom]))[
            : len(picture) - top
        ]
        assert apart(moved, looked_at(name)) > MOST_APART, (top, bottom)


def make_anew() -> None:
    for name in NAMES:
        cv2.imwrite(str(SAMPLES / f"{name}.png"), rendered(name).round().astype(np.uint8))


if __name__ == "__main__":
    make_anew()
