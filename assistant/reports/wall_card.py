"""The wall card: a procedure for one machine on a page to hang up, drawn by us as SVG; as .svg, .html or .pdf.

Steps run down in columns, parted into phases by the condition that the *never* rules name most; beside them the machine's
conditions as bands. Readable without colours. It defers to the machine's service manual, and says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from html import escape
from pathlib import Path

from assistant.core.machine import MachineSheet
from assistant.core.problems import CallProblem
from assistant.core.procedure import Procedure
from assistant.reports.pdf import pdf_of
from assistant.reports.text_width import width, wrapped
from assistant.reports.wall_card_bands import lanes_drawn
from assistant.reports.wall_card_foot import foot_drawn, foot_height
from assistant.reports.wall_card_layout import Body, Card, Column, Placed, lay_out
from assistant.reports.wall_card_marks import FAMILY, INK, LIGHT, TINT, caution_sign, detail_mark, text
from assistant.reports.wall_card_rows import lanes_of, pivot_of, rows_of
from assistant.reports.wall_card_sizes import LEAST_PT, MARGIN, PAGE, Sizes, line_height

FORMS = (".pdf", ".svg", ".html")
HEAD_TITLE_PT, HEAD_LINE_PT = 19.0, 8.0
HEAD = 40.0
"""From the margin to the names over the lanes."""


@dataclass(frozen=True)
class Subject:
    """What the card is of, for whom, drawn when."""

    procedure: Procedure
    sheet: MachineSheet
    shop: str
    drawn: date


def check_name(path: Path) -> None:
    """Raises CallProblem for a file of another form, or a folder that is not there."""
    if path.suffix.lower() not in FORMS:
        raise CallProblem(
            "a wall card is drawn as PDF, SVG or HTML",
            where=str(path),
            do=f"name a file that ends in {', '.join(FORMS)}",
        )
    if not path.parent.is_dir():
        raise CallProblem("there is no such folder", where=str(path.parent), do="make it, or name another")


def write_card(subject: Subject, path: Path) -> int:
    """Draw it into a file; how many pages it took. Raises CallProblem where it cannot be written, DeviceTrouble where no PDF
    can be made."""
    check_name(path)
    pages = pages_of(subject)
    form = path.suffix.lower()
    if form == ".svg":
        content = stacked(pages).encode("utf-8")
    else:
        html = html_of(subject, pages)
        content = pdf_of(html) if form == ".pdf" else html.encode("utf-8")
    try:
        path.write_bytes(content)
    except OSError as fault:
        raise CallProblem(f"cannot be written: {fault.strerror}", where=str(path), do="check the folder") from fault
    return len(pages)


def html_of(subject: Subject, pages: tuple[str, ...]) -> str:
    """A page a sheet of paper; nothing is fetched."""
    title = escape(f"{subject.procedure.title}, {subject.sheet.model}")
    style = "@page{size:A4;margin:0}body{margin:0}svg{display:block;break-after:page}svg:last-child{break-after:auto}"
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>{title}</title>'
        f"<style>{style}</style></head><body>{''.join(pages)}</body></html>\n"
    )


def stacked(pages: tuple[str, ...]) -> str:
    """One SVG file, its pages one under the other."""
    if len(pages) == 1:
        return f"{pages[0]}\n"
    across, down = PAGE[0], PAGE[1] * len(pages)
    placed = (page.replace("<svg ", f'<svg y="{n * PAGE[1]}" ', 1) for n, page in enumerate(pages))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{across}pt" height="{down}pt" viewBox="0 0 {across} {down}">'
        f"{''.join(placed)}</svg>\n"
    )


def pages_of(subject: Subject) -> tuple[str, ...]:
    """Each page as SVG."""
    procedure = subject.procedure
    rows = rows_of(procedure, subject.sheet)
    lanes = lanes_of(procedure, rows)
    bottom = PAGE[1] - MARGIN - foot_height(procedure, lanes)
    card = lay_out(Body(procedure, rows, lanes, pivot_of(procedure), MARGIN + HEAD, bottom - 8))
    return tuple(_page(subject, card, n, bottom) for n in range(len(card.pages)))


def _page(subject: Subject, card: Card, number: int, foot_top: float) -> str:
    across, down = PAGE
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{across}pt" height="{down}pt" viewBox="0 0 {across} {down}" '
        f'font-family="{FAMILY}" role="img" aria-label="{escape(subject.procedure.title)}: wall card">',
        f'<rect width="{across}" height="{down}" fill="white"/>',
        *_head(subject, number, len(card.pages)),
    ]
    for column in card.pages[number]:
        parts += _column(column, card)
    parts += foot_drawn(subject.procedure, card.lanes, foot_top)
    return "".join([*parts, "</svg>"])


def _head(subject: Subject, number: int, pages: int) -> Iterator[str]:
    right = PAGE[0] - MARGIN
    size = min(
        HEAD_TITLE_PT, HEAD_TITLE_PT * (right - MARGIN) / width(subject.procedure.title, HEAD_TITLE_PT, bold=True)
    )
    yield text(MARGIN, MARGIN + 15, size, subject.procedure.title, bold=True)
    procedure, of_pages = subject.procedure, f", page {number + 1} of {pages}" if pages > 1 else ""
    line = (
        f"{procedure.name}, version {procedure.version}, for {procedure.machine_class} · machine sheet: {subject.sheet.model}"
        f" · {subject.shop} · drawn {subject.drawn.isoformat()}{of_pages}"
    )
    fits = max(LEAST_PT, min(HEAD_LINE_PT, HEAD_LINE_PT * (right - MARGIN) / width(line, HEAD_LINE_PT)))
    for n, part in enumerate(wrapped(line, fits, right - MARGIN)[:2]):
        yield text(MARGIN, MARGIN + 28 + n * line_height(fits), fits, part)
    yield f'<path d="M{MARGIN} {MARGIN + HEAD - 5} H{right}" stroke="{INK}" stroke-width="1.2"/>'


def _column(column: Column, card: Card) -> Iterator[str]:
    right = column.left + card.column_width
    yield from (_ground(placed, column, card, right) for placed in column.rows if placed.pivot_on)
    yield from lanes_drawn(column, card.lanes, card.sizes)
    for placed in column.rows:
        yield f'<g data-step="{placed.row.step}">'
        yield from _row(placed, column.left + card.lanes_width, card.sizes, right)
        yield "</g>"


def _ground(placed: Placed, column: Column, card: Card, right: float) -> str:
    """What lies under a row while the condition that parts the job has not its first value."""
    left = column.left + card.lanes_width
    return f'<rect x="{left:.2f}" y="{placed.top:.2f}" width="{right - left:.2f}" height="{placed.height:.2f}" fill="{TINT}"/>'


def _row(placed: Placed, left: float, sizes: Sizes, right: float) -> Iterator[str]:
    top = placed.top
    if placed.strip:
        yield from _strip(placed, left, sizes, right)
        top += sizes.strip_height
    else:
        yield f'<path d="M{left:.2f} {top:.2f} H{right:.2f}" stroke="{LIGHT}" stroke-width="0.4"/>'
    title = sizes.title
    y = top + sizes.padding / 2 + title * 0.9
    yield text(left + 24 * sizes.scale, y, max(title * 0.8, LEAST_PT), placed.row.numbers, anchor="end")
    if placed.row.caution:
        yield caution_sign(left + 27 * sizes.scale, y - title * 0.78, title * 0.86)
    x = left + sizes.text_left
    for n, line in enumerate(placed.title):
        yield text(x, y + n * line_height(title), title, line, bold=True)
    yield from _details(placed, x, y + (len(placed.title) - 1) * line_height(title), sizes)


def _details(placed: Placed, x: float, y: float, sizes: Sizes) -> Iterator[str]:
    """Marks and texts; `y` is the base line of the title's last line."""
    for n, line in enumerate(placed.details):
        base = y + n * line_height(sizes.detail)
        for piece in line:
            mark = detail_mark(piece.kind, x + piece.x, base, sizes.detail)
            yield mark
            if piece.text:
                yield text(x + piece.x + (sizes.mark if mark else 0.0), base, sizes.detail, piece.text)


def _strip(placed: Placed, left: float, sizes: Sizes, right: float) -> Iterator[str]:
    """The name of the phase: white on black while it is on, black in a frame while it is not."""
    top, height, size = placed.top + 0.5, sizes.strip_height - 1.5, sizes.strip
    ground, ink = (INK, "white") if placed.pivot_on else ("white", INK)
    yield (
        f'<rect x="{left + 1:.2f}" y="{top:.2f}" width="{right - left - 1.4:.2f}" height="{height:.2f}" fill="{ground}" '
        f'stroke="{INK}" stroke-width="0.8"/>'
    )
    yield text(left + 6, top + height / 2 + size * 0.36, size, placed.strip.upper(), bold=True, fill=ink)
