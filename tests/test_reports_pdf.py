"""Sheets on paper: as many pages as it takes, each with its number, the job and the record's hash; nothing cut off.

The PDFs are read back by PDFium (pypdfium2), which knows nothing of what made them.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from job_samples import reading
from sheet_jobs import HOSTILE, ONE_OF_EACH, PdfPage, check_nothing_cut_off, kept_job, pages_in, settled, signed

from assistant.cli import main
from assistant.core import entries as e
from assistant.core.entries import Kept, Rival, opened_in
from assistant.files.job_file import JobFile
from assistant.files.verdict import Signed, Verdict
from assistant.files.verify import verify
from assistant.reports.customer_sheet import customer_html
from assistant.reports.html_report import html_of
from assistant.reports.job_report import report_of
from assistant.reports.page_templates import in_groups
from assistant.reports.pdf import pdf_of
from assistant.reports.standing import standing_of
from tests.test_reports import numbered

HEAD = "0123456789abcdef" * 4
CHECKED = Verdict("/shop/1187.job", 255, 0, HEAD, None, (), (Signed(255, "Ada Lind", "cd" * 32),))


def foreman_html(kept: tuple[Kept, ...], verdict: Verdict) -> str:
    report = report_of(kept)
    opened = opened_in(kept)
    return html_of(report, None, opened, standing_of(report, kept, verdict), sound=False)


@cache
def read_back(html: str) -> tuple[PdfPage, ...]:
    return pages_in(pdf_of(html))


def words(page: PdfPage) -> str:
    return " ".join(page.text.split())


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One of each: settled and signed."""
    return signed(settled(kept_job(tmp_path_factory.mktemp("jobs") / "1187.job")))


@pytest.fixture(scope="module")
def kept(done: Path) -> tuple[Kept, ...]:
    with JobFile.open(done, read_only=True) as job:
        return job.entries()


# --- the foreman's


def test_every_page_of_the_foremans_sheet_says_of_what_it_is(kept: tuple[Kept, ...]) -> None:
    """Page number of how many, the job's name, and the last hash in groups of eight, at the foot of each."""
    pages = read_back(foreman_html(kept, CHECKED))
    assert 5 <= len(pages) <= 16
    for number, page in enumerate(pages, start=1):
        foot = words(page)
        assert f"Page {number} of {len(pages)}" in foot
        assert f"1187 255 entries, last hash {in_groups(HEAD)}" in foot


@pytest.mark.parametrize("signed_by", [(), CHECKED.signed])
def test_a_draft_of_the_foremans_sheet_says_so_on_every_page(signed_by: tuple[Signed, ...]) -> None:
    """By the customer's sheet's own rule and in its words, with the reasons on the first page; signed, on none."""
    entries = many(120)
    finished = (*entries, Kept(len(entries) + 1, entries[-1].at, e.JobFinished(5, 0)))
    pages = read_back(foreman_html(finished, replace(CHECKED, signed=signed_by)))
    assert len(pages) > 2
    check_nothing_cut_off(pages)
    assert {"DRAFT, not to be relied on" in words(page) for page in pages} == {not signed_by}
    assert ("Nobody has signed for it yet." in words(pages[0])) == (not signed_by)


def test_nothing_of_the_foremans_sheet_is_cut_off(kept: tuple[Kept, ...]) -> None:
    """Every sign of every page lies on it, five millimetres from its edge, and no ink nearer."""
    check_nothing_cut_off(read_back(foreman_html(kept, CHECKED)))


def test_the_foremans_sheet_has_everything(kept: tuple[Kept, ...]) -> None:
    """Customer, every step, every value, decisions, what was let stand, signature and verify line are in the PDF."""
    report = report_of(kept)
    text = " ".join(words(page) for page in read_back(foreman_html(kept, CHECKED)))
    assert "Customer Nils Aspen" in text
    for n, step in enumerate(report.steps, start=1):
        assert f"{n}. {step.title}" in text
    for heading in (
        "Needs a look",
        "The customer's decisions",
        "Looked at and let stand",
        "Signatures, and how to check",
    ):
        assert heading in text
    assert "approved" in text
    assert "Ada Lind" in text
    assert "layup verify 1187.job" in text


def test_what_the_foreman_asked_and_decided_stands_on_his_sheet() -> None:
    """Decisions with who gave them, when and who wrote them; questions with their answers; what was let stand and why."""
    entries = numbered(
        e.JobOpened("p", "", "", "", "j", (), "p", "e", "Kim", (), True, "Nils Aspen"),
        e.StepOpened("hull"),
        e.RemarkKept("hull", "finding", "a crack"),  # 3
        e.FindingDecided(3, "later", "ask me in March", "Nils Aspen", "2026-10-15", "Ada Lind"),
        e.QuestionAsked(3, "which side?", "Ada Lind"),  # 5
        e.QuestionAnswered(5, "port side", ""),
        e.QuestionAsked(0, "is the key there?", "Ada Lind"),  # 7
        e.EntryUpheld(3, "seen it myself", "Ada Lind"),
    )
    [page, *_] = read_back(foreman_html(entries, CHECKED))
    text = words(page)
    assert (
        "hull: “a crack” (entry 3) In Ada Lind's words: seen it myself later “ask me in March” Nils Aspen, 2026-10-15"
        in text
    )
    assert "which side? (entry 5, about entry 3) Ada Lind" in text
    assert "“port side” words as made out, unchecked voice, in the bay" in text
    assert "is the key there? (entry 7, about the job) Ada Lind" in text
    assert "no answer yet" in text
    assert "seen it myself Ada Lind" in text


# --- the customer's


def test_a_signed_sheet_is_no_draft(kept: tuple[Kept, ...], done: Path) -> None:
    """Four pages for a whole lay-up; no DRAFT on any; what spring needs is on the first, the signature on the last."""
    pages = read_back(customer_html(kept, None, verify(done)))
    assert len(pages) == 4
    check_nothing_cut_off(pages)
    assert not any("DRAFT" in page.text for page in pages)
    assert "What spring needs" in words(pages[0])
    assert "What was done" in words(pages[0])
    assert "Signed by Ada Lind" in words(pages[-1])
    for number, page in enumerate(pages, start=1):
        assert f"Nils Aspen · 1187 Page {number} of {len(pages)}" in words(page)


def test_a_draft_says_so_on_every_page() -> None:
    """Without a signature every page says DRAFT, in its head and across it, and the first says why."""
    pages = read_back(customer_html(many(60), None, replace(CHECKED, signed=())))
    assert len(pages) > 1
    check_nothing_cut_off(pages)
    for page in pages:
        assert "DRAFT, not to be relied on" in words(page)
        assert page.text.count("DRAFT") >= 2
    assert "Nobody has signed for it yet." in words(pages[0])


# --- much, long and hostile


@cache
def many(count: int) -> tuple[Kept, ...]:
    """So many values, each of its own reading."""
    limit = "0.05 mm to 0.9 mm (page 7-3)"
    values = (
        reading(f"clearance_of_valve_{n}", "", f"0.{n:03d}", "mm", step=f"valve_{n // 25}", limit=limit)
        for n in range(1, count + 1)
    )
    return numbered(e.JobOpened("p", "title: Valves", "model: Heron 3", "", "1188", (), "p", "e"), *values)


@pytest.mark.parametrize("make", [foreman_html, lambda kept, verdict: customer_html(kept, None, verdict)])
def test_two_hundred_values_are_all_there(make: object) -> None:
    """Each of 200 values stands once in its table, whole in one row on one page, and every page of a table has its head."""
    assert callable(make)
    pages = read_back(make(many(200), CHECKED))
    check_nothing_cut_off(pages)
    text = " ".join(words(page) for page in pages)
    for n in range(1, 201):
        row = rf"clearance of valve {n} 0\.{n:03d} mm"
        assert len(re.findall(row, text)) == 1, n
        assert any(re.search(row, words(page)) for page in pages)


def test_tables_break_between_rows() -> None:
    """A page that goes on with a table begins with the table's head again."""
    pages = read_back(customer_html(many(200), None, CHECKED))
    going_on = [words(page) for page in pages if "0.05 mm to 0.9 mm" in words(page)]
    assert len(going_on) > 2
    for text in going_on:
        first = text.index("0.05 mm to 0.9 mm")
        assert "What Value It should be That is" in text[:first]


LONGEST = max(HOSTILE, key=len)
ODD = (LONGEST, " ".join(text for text in HOSTILE if text != LONGEST))


def hostile() -> tuple[Kept, ...]:
    """Odd texts in every field that a job file has for texts."""
    title, sheet, shop = (f"{key}: {json.dumps(LONGEST)}" for key in ("title", "model", "shop"))
    first = e.JobOpened("p", title, sheet, shop, LONGEST, (), LONGEST, LONGEST, LONGEST, (), True, LONGEST)
    entries: list[e.Entry] = [first]
    for n, text in enumerate(ODD):
        step, begin = f"step_{n}", len(entries)
        part = replace(
            ONE_OF_EACH.parts[0], step=step, role=text, gtin="", number=text, lot=text, serial=text, expiry=text
        )
        entries += [
            e.StepOpened(step),
            reading(text, "cylinder 1", text, text, step=step, limit=text, verdict="low", why=text,
                    asked=text, rivals=(Rival(text, text, "0.4"),), rule=text, words=text),
            part,
            e.RemarkKept(step, "finding", text),
            e.FindingDecided(begin + 4, text, text, text, text, text),
            e.QuestionAsked(begin + 2, text, text),
            e.QuestionAnswered(begin + 6, text, text),
            e.EntryUpheld(begin + 2, text, text),
            e.StepUnable(step, text, (text,)),
            e.DeviceChanged(text, text, text),
        ]  # fmt: skip
    return numbered(*entries, e.JobSigned(LONGEST, LONGEST))


@pytest.mark.parametrize("audience", ["foreman", "customer"])
def test_no_text_however_odd_runs_off_the_page(audience: str) -> None:
    """Markup, marks that turn the line round, words of 300 signs: printed as they stand, and inside the page."""
    kept = hostile()
    verdict = Verdict(
        f"/x/{LONGEST}.job", len(kept), 0, HEAD, None, (), (Signed(len(kept), LONGEST, LONGEST, LONGEST),)
    )
    html = customer_html(kept, None, verdict) if audience == "customer" else foreman_html(kept, verdict)
    pages = read_back(html)
    check_nothing_cut_off(pages)
    text = "".join(words(page) for page in pages)
    assert "<script>alert(1)</script>" in text
    assert all(f"Page {n} of {len(pages)}" in words(page) for n, page in enumerate(pages, start=1))


def test_a_pdf_fetches_nothing(tmp_path: Path) -> None:
    """A page that asks for a file or an address gets neither."""
    secret = tmp_path / "secret.txt"
    secret.write_text("nobody reads this", encoding="utf-8")
    html = f"<p>seen</p><link rel=attachment href='{secret.as_uri()}'><img src='{secret.as_uri()}'><img src='http://127.0.0.1:9/x'>"
    made = pdf_of(html)
    assert b"EmbeddedFile" not in made
    [page] = pages_in(made)
    assert words(page) == "seen"


# --- from the command line


@pytest.mark.parametrize("audience", ["foreman", "customer", "tag"])
def test_pdfs_from_the_command_line(tmp_path: Path, audience: str) -> None:
    """`layup report JOB -o FILE.pdf` for each reader writes a PDF of the job."""
    job, out = kept_job(tmp_path / "1189.job", until="tools_out"), tmp_path / "out.pdf"
    assert main(["report", str(job), "-o", str(out), "--for", audience]) == 0
    pages = pages_in(out.read_bytes())
    assert any("Tern 3" in page.text for page in pages)
    check_nothing_cut_off(pages)


def test_a_pdf_has_the_pictures_and_not_the_sound(tmp_path: Path, kept: tuple[Kept, ...]) -> None:
    """On paper nothing can be played: the page for it holds no sound, and still the pictures."""
    png = b"\x89PNG\r\n\x1a\n and the rest"
    clips = {"sound": b"fLaC" + bytes(90), "label": png}
    low = Kept(1, kept[0].at, reading("c", "", "1", verdict="low"), "sound")
    part = Kept(2, kept[0].at, replace(ONE_OF_EACH.parts[0], answer="not known"), "label")
    report = report_of((low, part))
    assert "<audio" in html_of(report, clips.__getitem__)
    on_paper = html_of(report, clips.__getitem__, sound=False)
    assert "<audio" not in on_paper
    assert "audio/flac" not in on_paper
    assert "data:image/png" in on_paper
