"""Whole jobs for the tests of the sheets, step by step from a shipped procedure without an engine; and pages read back.

PDFs are read by PDFium (pypdfium2), which knows nothing of what made them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import numpy as np
import pypdfium2

from assistant.core import entries as e
from assistant.core.binding import bind
from assistant.core.procedure import Procedure, Reading, Step, place_of
from assistant.core.speech.limit_wording import limit_written
from assistant.core.units import Amount, plain
from assistant.files.answering import sign_job
from assistant.files.job_file import JobFile
from assistant.files.keys import SigningKey
from assistant.files.procedure_file import read_procedure
from assistant.files.sheet_file import read_sheet
from assistant.files.site_file import read_site

SHIPPED = Path(__file__).parents[1] / "procedures"
FOREMAN = SigningKey(bytes(32))
MM = 72 / 25.4
"""Points of a millimetre."""
HOSTILE = (
    "<script>alert(1)</script>",
    "</style><img src=x onerror=alert(1)>",
    "\u202egnorw si siht\u202c",
    "{{ 7 * 7 }}{% raw %}",
    "x" * 300,
    "\u5b57" * 40,
    "a\x1db\x00c",
    "'\"&<>; url(http://example.invalid/)",
)
"""What a label, an ear or a hand may put into a job file."""


@dataclass(frozen=True)
class Told:
    """What differs from a job that goes well: values by (step, name, place) with their verdicts, steps not done, findings."""

    values: Mapping[tuple[str, str, str], tuple[str, str]]
    unable: Mapping[str, str]
    findings: Mapping[str, str]
    parts: tuple[e.PartScanned, ...] = ()


ONE_OF_EACH = Told(
    values={
        ("battery_store", "battery_voltage", ""): ("12.2", "low"),
        ("plug.2", "plug", ""): ("black", "outside"),
        ("compression", "compression", "cylinder 2"): ("180", "within"),
    },
    unable={"anode": "no anode in stock"},
    findings={"wear_ring": "the wear ring is scored", "impeller": "the impeller has a small nick"},
    parts=(
        e.PartScanned(
            "filter_in", "oil_filter", "right", True, "EAN-13", "2990001000117", "02990001000117", "", "F2604", "000731",
            "2030-06-30", "",
        ),
    ),
)  # fmt: skip
"""A value too low, an answer that is not good, a step not done, two findings."""
ALL_WELL = Told({}, {}, {})


def kept_job(
    path: Path,
    told: Told = ONE_OF_EACH,
    *,
    name: str = "pwc-off-season",
    sheet: str = "tern-3",
    customer: str = "Nils Aspen",
    until: str = "",
) -> Path:
    """A job file of a shipped procedure, every step in order; `until`: the step that it stands at, "" done to the end."""
    texts = [
        (SHIPPED / f"{file}.yaml").read_text(encoding="utf-8") for file in (name, f"{sheet}.sheet", "our-shop.site")
    ]
    bound = bind(read_procedure(texts[0], "p"), read_sheet(texts[1], "m"), read_site(texts[2], "s"))
    assert not bound.problems
    opened = e.JobOpened(
        name,
        *texts,
        path.stem,
        tuple(bound.procedure.start.items()),
        "layup 0.1.0",
        "text",
        "Mara Holm",
        (),
        True,
        customer,
    )
    with JobFile.create(path) as job:
        for n, entry in enumerate((opened, *_work(bound.procedure, told, until))):
            job.append(entry, time_at(n))
    return path


def time_at(n: int) -> str:
    """The time of the nth entry: four seconds each."""
    return f"2026-10-14T{9 + n * 4 // 3600:02d}:{n * 4 // 60 % 60:02d}:{n * 4 % 60:02d}.250Z"


def _work(procedure: Procedure, told: Told, until: str) -> Iterator[e.Entry]:
    for step in procedure.steps:
        yield e.StepOpened(step.id)
        if step.id == until:
            return
        yield from (e.CautionAnswered(step.id, caution) for caution in step.cautions)
        if step.id in told.unable:
            yield e.StepUnable(step.id, told.unable[step.id])
            continue
        yield from _readings(step, told)
        yield from (part for part in told.parts if part.step == step.id)
        if step.id in told.findings:
            yield e.RemarkKept(step.id, "finding", told.findings[step.id])
        yield e.StepDone(step.id, tuple(step.ways[0].makes.items()))
    yield e.JobFinished(len(procedure.steps) - len(told.unable), len(told.unable))


def _readings(step: Step, told: Told) -> Iterator[e.ReadingKept]:
    for reading in step.readings:
        limit = "; ".join(limit_written(one) for one in reading.limits)
        for at in reading.positions or (None,):
            place = place_of(reading.each, at)
            usual = reading.choices[0].name if reading.choices else _usual(reading)
            verdict = "within" if limit or reading.choices else ""
            value, verdict = told.values.get((step.id, reading.name, place), (usual, verdict))
            yield e.ReadingKept(
                step.id, reading.name, place, "words", value, reading.unit, reading.unit, value, verdict, limit, (), "", 0, "",
                sureness="0.99", rule="sure enough",
            )  # fmt: skip


def _usual(reading: Reading) -> str:
    """A value that its first limit of its own lets pass."""
    bounds = (one for one in reading.limits if not (one.by or one.other))
    amounts = next(([b.value for b in (one.low, one.high) if isinstance(b, Amount)] for one in bounds), [])
    return plain(sum(amounts, Decimal(0)) / len(amounts)) if amounts else plain(min(reading.plausible[1], Decimal(24)))


def settled(path: Path, decisions: Iterable[str] = ("approved", "declined")) -> Path:
    """Every finding decided by the customer, everything else let stand: what the foreman does before he signs."""
    from assistant.reports.job_report import report_of
    from assistant.reports.open_items import open_items

    with JobFile.open(path) as job:
        answers = iter(decisions)
        for item in open_items(report_of(job.entries())):
            n = len(job.entries())
            why = "" if item.kind == "not done" else "seen"
            entry: e.Entry = e.EntryUpheld(item.sequence, why, "Ada Lind")
            if item.kind == "finding":
                entry = e.FindingDecided(
                    item.sequence, next(answers), "go ahead", "Nils Aspen", "2026-10-15", "Ada Lind"
                )
            job.append(entry, time_at(n))
    return path


def signed(path: Path) -> Path:
    """The same with the foreman's signature."""
    with JobFile.open(path, read_only=True) as job:
        n = len(job.entries())
    sign_job(path, time_at(n), "Ada Lind", FOREMAN)
    return path


@dataclass(frozen=True)
class PdfPage:
    """A page read back: size in points, text, the boxes of its signs (left, bottom, right, top), and a grey picture."""

    width: float
    height: float
    text: str
    boxes: tuple[tuple[float, float, float, float], ...]
    picture: np.ndarray


def pages_in(pdf: bytes, dots_per_mm: float = 3.0) -> tuple[PdfPage, ...]:
    """Every page."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return tuple(_page(document[n], dots_per_mm) for n in range(len(document)))
    finally:
        document.close()


def _page(page: pypdfium2.PdfPage, dots_per_mm: float) -> PdfPage:
    text = page.get_textpage()
    boxes = [text.get_charbox(n) for n in range(text.count_chars())]
    seen = tuple(box for box in boxes if box[2] > box[0] and box[3] > box[1])
    picture = page.render(scale=dots_per_mm / MM, grayscale=True).to_numpy().reshape(-1)
    wide, tall = page.get_size()
    across = round(wide / MM * dots_per_mm)
    rows = len(picture) // across if len(picture) % across == 0 else 0
    grey = (
        picture.reshape(rows, across)
        if rows
        else page.render(scale=dots_per_mm / MM, grayscale=True).to_numpy()[..., 0]
    )
    return PdfPage(wide, tall, text.get_text_range(), seen, grey)


def check_nothing_cut_off(pages: Iterable[PdfPage], margin_mm: float = 5.0) -> None:
    """Every sign lies within the page and no nearer to its edge; and no ink of anything else does."""
    for page in pages:
        edge = margin_mm * MM
        for left, bottom, right, top in page.boxes:
            assert left >= edge
            assert bottom >= edge
            assert right <= page.width - edge, (right, page.width)
            assert top <= page.height - edge
        dots = int(margin_mm * page.picture.shape[1] / (page.width / MM))
        rim = page.picture.copy()
        rim[dots:-dots, dots:-dots] = 255
        assert rim.min() > 250, "there is ink at the edge"
