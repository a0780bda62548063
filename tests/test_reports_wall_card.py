"""The wall card: one page that shows the flow as it is, everything on it, nothing cut off, readable in grey.

The PDF is read back by pypdfium2 (PDFium), the SVG by the standard library; neither knows how it was drawn.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.cli import main
from assistant.core import entries as e
from assistant.core.job import Job, apply
from assistant.core.problems import CallProblem, LayupProblem
from assistant.core.procedure import Choice, Limit, Reading, Step
from assistant.core.units import Amount
from assistant.files.work import Work, read_work
from assistant.reports.pdf import pdf_of
from assistant.reports.text_width import width, wrapped
from assistant.reports.wall_card import Subject, check_name, html_of, pages_of, write_card
from assistant.reports.wall_card_bands import stretches
from assistant.reports.wall_card_foot import DEFERS
from assistant.reports.wall_card_layout import Body, lay_out
from assistant.reports.wall_card_marks import BANDS, TINT
from assistant.reports.wall_card_rows import lanes_of, pivot_of, reading_text, rows_of
from assistant.reports.wall_card_sizes import LEAST_PT, MARGIN, PAGE
from tests.conversation import TABLES
from tests.test_bench_rehearsing import shipped_work, short_work, talked

SVG = "{http://www.w3.org/2000/svg}"
DRAWN = date(2026, 11, 26)


def subject_of(work: Work) -> Subject:
    return Subject(work.procedure, work.sheet, work.site.shop, DRAWN)


@cache
def work_named(name: str) -> Work:
    if name == "many":
        return many(120)
    return shipped_work() if name == "shipped" else short_work()


@cache
def svgs(name: str) -> tuple[ET.Element, ...]:
    return tuple(ET.fromstring(page) for page in pages_of(subject_of(work_named(name))))


@cache
def pdf(name: str) -> bytes:
    subject = subject_of(work_named(name))
    return pdf_of(html_of(subject, pages_of(subject)))


def many(count: int) -> Work:
    """The short job with plain steps behind it, `count` in all."""
    work = short_work()
    look = Reading(
        "look", "Clamp", "choice", choices=(Choice("good", ("good",)), Choice("loose", ("loose",), good=False))
    )
    more = tuple(
        Step(
            f"clamp_{n}",
            f"Hose clamp number {n}",
            "Look at it.",
            cautions=("Sharp.",) if n % 7 == 0 else (),
            readings=(look,),
        )
        for n in range(count - len(work.procedure.steps))
    )
    return replace(work, procedure=replace(work.procedure, steps=(*work.procedure.steps, *more)))


NAMES = pytest.mark.parametrize("name", ["shipped", "short", "many"])


def plain(text: str) -> str:
    """Without white space, as a PDF's text comes in pieces."""
    return re.sub(r"\s+", "", text)


def told(name: str) -> str:
    """All text of the PDF."""
    found = pypdfium2.PdfDocument(pdf(name))
    return plain("".join(page.get_textpage().get_text_range() for page in found))


# --- the page


@NAMES
def test_it_is_one_page_of_a4(name: str) -> None:
    """210 mm x 297 mm (ISO 216), of 1/72 inch: 595.3 x 841.9; the shipped 87 steps, and 120 rows."""
    document = pypdfium2.PdfDocument(pdf(name))
    assert [page.get_size() for page in document] == [pytest.approx((210 / 25.4 * 72, 297 / 25.4 * 72), abs=0.6)]


@NAMES
def test_every_title_limit_part_and_rule_stands_in_the_pdf(name: str) -> None:
    """Read back from the PDF: what a foreman looks for is there."""
    work, text = work_named(name), told(name)
    assert plain(work.procedure.title) in text
    assert plain(f"version {work.procedure.version}") in text
    assert plain(work.sheet.model) in text
    assert "2026-11-26" in text
    assert plain(DEFERS) in text
    for row in rows_of(work.procedure, work.sheet):
        assert plain(row.title) in text
        assert all(plain(detail.text) in text for detail in row.details)
    for rule in work.procedure.never:
        assert plain(rule.because) in text
    for role in {role for step in work.procedure.steps for role in step.parts}:
        assert all(plain(number) in text for number in (*work.sheet.parts[role].numbers, *work.sheet.parts[role].gtins))


def test_the_limits_are_those_of_the_sheet() -> None:
    """Some of the shipped ones, by hand from the sheet: 13 lbf ft and 4 percent are 12.48 to 13.52."""
    text = told("shipped")
    for limit in (
        "175to215psi",
        "13lbf·ftwithin4%,12.48lbf·ftto13.52lbf·ft",
        "2.7to3.3USqt",
        "atmost14thou",
        "atleast12.4V",
        "sameastoolsout",
    ):
        assert limit in text


def placed(element: ET.Element) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of a text, by its own words: where it stands, how long it is, which way it runs."""
    size, long = float(element.attrib["font-size"]), float(element.attrib["textLength"])
    anchor = element.attrib.get("text-anchor", "start")
    before = {"start": 0.0, "middle": long / 2, "end": long}[anchor]
    if "transform" in element.attrib:
        x, y = map(float, re.findall(r"translate\(([\d.]+) ([\d.]+)\)", element.attrib["transform"])[0])
        return x - size, y - (long - before), x + size * 0.25, y + before
    x, y = float(element.attrib["x"]), float(element.attrib["y"])
    return x - before, y - size, x - before + long, y + size * 0.25


@NAMES
def test_nothing_is_cut_off(name: str) -> None:
    """Every text lies within the page's margins, and is as long as it says or shorter."""
    for page in svgs(name):
        for element in page.iter(f"{SVG}text"):
            left, top, right, bottom = placed(element)
            assert left >= MARGIN - 3
            assert top >= MARGIN - 5
            assert right <= PAGE[0] - MARGIN + 0.5
            assert bottom <= PAGE[1] - MARGIN + 3


@NAMES
def test_nothing_is_smaller_than_can_be_read(name: str) -> None:
    """Six and a half points at least."""
    sizes = [float(element.attrib["font-size"]) for page in svgs(name) for element in page.iter(f"{SVG}text")]
    assert min(sizes) >= LEAST_PT - 0.01


@NAMES
def test_no_row_lies_on_another(name: str) -> None:
    """Within a column each row's texts begin under those of the row before; rows of other columns are beside it."""
    for page in svgs(name):
        boxes = []
        for group in page.iter(f"{SVG}g"):
            if "data-step" in group.attrib:
                found = [placed(text) for text in group.iter(f"{SVG}text")]
                boxes.append(
                    (
                        min(b[0] for b in found),
                        min(b[1] for b in found),
                        max(b[2] for b in found),
                        max(b[3] for b in found),
                    )
                )
        assert boxes
        for before, after in pairwise(boxes):
            beside = before[2] <= after[0]
            assert beside or before[3] <= after[1] + 3.0  # a base line's own descent may touch the next one's head


def test_the_steps_stand_in_their_order() -> None:
    """Down the columns, each once, numbered as the assistant says them."""
    work = work_named("shipped")
    steps = [g.attrib["data-step"] for page in svgs("shipped") for g in page.iter(f"{SVG}g") if "data-step" in g.attrib]
    assert steps == list(dict.fromkeys(step.id.partition(".")[0] for step in work.procedure.steps))
    numbers = [row.numbers for row in rows_of(work.procedure, work.sheet)]
    counted = [n for text in numbers for n in range(int(text.split("-")[0]), int(text.split("-")[-1]) + 1)]
    assert counted == list(range(1, len(work.procedure.steps) + 1))


def test_what_does_not_fit_goes_on_a_second_page_and_none_is_lost() -> None:
    """Four hundred steps: more pages, each step once, still nothing under what can be read."""
    pages = [ET.fromstring(page) for page in pages_of(subject_of(many(400)))]
    assert len(pages) > 1
    steps = [g.attrib["data-step"] for page in pages for g in page.iter(f"{SVG}g") if "data-step" in g.attrib]
    assert len(steps) == len(set(steps)) == 400
    assert min(float(t.attrib["font-size"]) for page in pages for t in page.iter(f"{SVG}text")) >= LEAST_PT - 0.01


def test_a_procedure_without_conditions_has_a_card_too() -> None:
    """No lanes, no phases, no rules: only its steps, large."""
    work = short_work()
    steps = tuple(replace(step, needs={}, makes={}) for step in work.procedure.steps)
    bare = replace(work.procedure, conditions={}, start={}, never=(), steps=steps)
    [page] = pages_of(Subject(bare, work.sheet, "", DRAWN))
    assert "data-lane" not in page
    assert "NEVER" not in page
    assert page.count("data-step") == len(steps)


# --- the bands


@NAMES
def test_the_bands_are_what_the_engine_makes_of_a_job_that_goes_well(name: str) -> None:
    """The conditions in the fold of a walked job, before and after each step, are those of the rows."""
    work = work_named(name)
    job, after = Job(), {}
    for kept in talked(work).kept:
        job = apply(job, kept)
        if isinstance(kept.entry, e.StepDone):
            after[kept.entry.step.partition(".")[0]] = dict(job.conditions)
    for row in rows_of(work.procedure, work.sheet):
        assert dict(row.after) == after[row.step]


def test_a_band_runs_where_its_condition_holds() -> None:
    """Water and engine of the short job: the water's band lies within the engine's."""
    work = short_work()
    rows = rows_of(work.procedure, work.sheet)
    card = lay_out(Body(work.procedure, rows, lanes_of(work.procedure, rows), pivot_of(work.procedure), 80, 700))
    [column] = card.pages[0]
    engine = [s for s in stretches(column, "engine", card.sizes) if s.value == "running"]
    water = [s for s in stretches(column, "water", card.sizes) if s.value == "on"]
    assert len(engine) == len(water) == 1
    assert engine[0].top < water[0].top < water[0].bottom < engine[0].bottom
    assert [s.value for s in stretches(column, "door", card.sizes)] == ["unsure", "open"]


def test_the_rules_name_most_what_parts_the_job() -> None:
    """The engine, in both procedures."""
    assert pivot_of(short_work().procedure) == pivot_of(shipped_work().procedure) == "engine"


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, WCAG 2.1, definitions."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def test_letters_can_be_read_in_colour_and_in_grey() -> None:
    """White on every band, black on the ground of a phase: a contrast of 4.5 or more (WCAG 2.1, 1.4.3). It is reckoned of
    luminance alone, so it is that of a grey print."""
    assert all(1.05 / (luminance(colour) + 0.05) >= 4.5 for colour in BANDS)
    assert (luminance(TINT) + 0.05) / (luminance("#111111") + 0.05) >= 4.5


# --- the picture


def picture(name: str, scale: float = 1.0) -> np.ndarray:
    """The page as PDFium paints it, in grey, a pixel a point."""
    bitmap = pypdfium2.PdfDocument(pdf(name))[0].render(scale=scale, grayscale=True)
    return np.asarray(bitmap.to_numpy()).squeeze()


@NAMES
def test_there_is_ink_in_every_column_and_none_in_the_margins(name: str) -> None:
    """As painted: each row's title left dark dots where the SVG says it stands; outside of the margins all is white."""
    paint = picture(name)
    [page] = svgs(name)
    for group in page.iter(f"{SVG}g"):
        if "data-step" in group.attrib:
            left, top, right, bottom = placed(next(t for t in group.iter(f"{SVG}text") if t.attrib.get("font-weight")))
            assert paint[int(top) : int(bottom) + 1, int(left) : int(right) + 1].min() < 128
    edge = int(MARGIN) - 4
    assert min(paint[:edge].min(), paint[-edge:].min(), paint[:, :edge].min(), paint[:, -edge:].min()) == 255


def test_the_engines_band_is_painted_beside_its_steps_and_nowhere_else() -> None:
    """In the middle of the lane, and half way from its edge, it is dark along the band that the SVG has, and light above it."""
    paint = picture("short")
    [page] = svgs("short")
    [lane] = [g for g in page.iter(f"{SVG}g") if g.attrib.get("data-lane") == "engine"]
    [band] = lane.iter(f"{SVG}rect")
    x, y, wide, high = (float(band.attrib[key]) for key in ("x", "y", "width", "height"))
    at = int(x + wide * 0.12)
    assert paint[int(y + 3) : int(y + high - 3), at].max() < 128
    assert paint[int(y - 40) : int(y - 3), at].min() > 200


# --- texts


@given(st.text("abcdefgh iWM.-", max_size=80), st.floats(20, 200), st.floats(5, 20))
def test_wrapped_lines_fit_and_lose_nothing(text: str, room: float, size: float) -> None:
    """No line is wider than the room (unless one letter is), and all signs but blanks are there in their order."""
    lines = wrapped(text, size, room)
    assert plain("".join(lines)) == plain(text)
    assert all(width(line, size) <= room or len(line) == 1 for line in lines)


FONTS = Path("/usr/share/fonts/truetype/dejavu")


@pytest.mark.skipif(not (FONTS / "DejaVuSans-Bold.ttf").exists(), reason="the font is not installed here")
@pytest.mark.parametrize(("file", "bold"), [("DejaVuSans.ttf", False), ("DejaVuSans-Bold.ttf", True)])
def test_widths_are_those_of_the_font(file: str, bold: bool) -> None:
    """Against the `hmtx` table of the font itself, to a thousandth of the size."""
    ttlib = pytest.importorskip("fontTools.ttLib")
    with ttlib.TTFont(FONTS / file) as font:
        signs, advances, em = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
        for code in range(32, 127):
            assert width(chr(code), 1000, bold=bold) == pytest.approx(advances[signs[code]][0] / em * 900, abs=0.5)


def limited(rule: str, unit: str = "psi", **bounds: object) -> Reading:
    return Reading("x", "Gauge", unit=unit, limits=(Limit(rule, source="page 1", **bounds),))


def psi(n: int) -> Amount:
    return Amount(Decimal(n), "psi")


SHOWN = [
    (limited("between", low=psi(1), high=psi(2)), "Gauge: 1 to 2 psi"),
    (limited("between", low=psi(2), high=psi(2)), "Gauge: 2 psi"),
    (limited("between", low=psi(1), high=Amount(Decimal(2), "bar")), "Gauge: 1 psi to 2 bar"),
    (limited("at_least", low=psi(1)), "Gauge: at least 1 psi"),
    (limited("same_as", other="screws_off"), "Gauge: same as screws off"),
    (limited("spread", share=Decimal(10)), "Gauge: lowest within 10 % of highest"),
    (Reading("x", "Gauge", unit="psi"), "Gauge, psi"),
    (Reading("x", "Number"), ""),
    (Reading("x", "Lot", "letters"), "Lot"),
    (
        Reading("x", "Hull", "choice", choices=(Choice("good", ("good",)), Choice("bad", ("bad",), good=False))),
        "Hull: good",
    ),
]


@pytest.mark.parametrize(("reading", "shown"), SHOWN)
def test_a_reading_is_shown_with_what_is_allowed(reading: Reading, shown: str) -> None:
    """Short, in print, without its source; a plain number that nothing limits needs no words."""
    assert reading_text(reading) == shown


# --- the file


@pytest.mark.parametrize("form", ["pdf", "svg", "html"])
def test_the_call_writes_the_card(tmp_path: Path, capsys: pytest.CaptureFixture[str], form: str) -> None:
    """With the rehearsal, in the form of the file's name; nothing in it is fetched from elsewhere."""
    path = tmp_path / f"card.{form}"
    call = ["rehearse", str(TABLES / "short.yaml"), "--machine", str(TABLES / "short.sheet.yaml"), "-o", str(path)]
    assert main(call) == 0
    assert f"wall card: {path}, 1 page" in capsys.readouterr().out
    raw = path.read_bytes()
    assert raw.startswith({"pdf": b"%PDF", "svg": b"<svg", "html": b"<!DOCTYPE html>"}[form])
    if form != "pdf":
        assert set(re.findall(rb"https?://[^\s\"']+", raw)) == {b"http://www.w3.org/2000/svg"}
        assert b"href" not in raw


def test_several_pages_stand_one_under_the_other_in_one_svg(tmp_path: Path) -> None:
    """Twice as high, and the second page begins where the first ends."""
    path = tmp_path / "card.svg"
    pages = write_card(subject_of(many(400)), path)
    root = ET.fromstring(path.read_text(encoding="utf-8"))
    assert float(root.attrib["height"].removesuffix("pt")) == pytest.approx(pages * PAGE[1])
    assert [float(page.attrib["y"]) for page in root.findall(f"{SVG}svg")] == pytest.approx(
        [n * PAGE[1] for n in range(pages)]
    )


@pytest.mark.parametrize("name", ["card.png", "card", "nowhere/card.pdf"])
def test_another_form_or_folder_is_refused_before_anything_is_walked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """Status 2, and what to do."""
    with pytest.raises(CallProblem):
        check_name(tmp_path / name)
    call = ["rehearse", str(TABLES / "short.yaml"), "--machine", str(TABLES / "short.sheet.yaml")]
    assert main([*call, "-o", str(tmp_path / name)]) == 2
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 2)


def test_a_file_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    """A folder of that name stands in the way."""
    (tmp_path / "card.svg").mkdir()
    with pytest.raises(LayupProblem, match="cannot be written"):
        write_card(subject_of(short_work()), tmp_path / "card.svg")


def test_texts_with_signs_of_xml_are_written_as_texts() -> None:
    """A title with < & " in it."""
    work = short_work()
    steps = (replace(work.procedure.steps[0], title='Oil & <water> "out"'), *work.procedure.steps[1:])
    [page] = pages_of(subject_of(replace(work, procedure=replace(work.procedure, steps=steps, title="A & B <c>"))))
    assert 'Oil & <water> "out"' in "".join(ET.fromstring(page).itertext())


def test_the_shop_and_the_date_are_on_it() -> None:
    """Read back from the SVG."""
    text = "".join(svgs("shipped")[0].itertext())
    assert "Alder Basin Small Craft" in text
    assert "drawn 2026-11-26" in text


def test_read_work_is_what_is_drawn() -> None:
    """A sheet with five cylinders shows five."""
    sheet = (TABLES / "short.sheet.yaml").read_text(encoding="utf-8")
    assert "cylinder: 3" in sheet
    work = read_work(Path("pwc-off-season"), Path("tern-3"), Path("our-shop"))
    titles = [row.title for row in rows_of(work.procedure, work.sheet)]
    assert "Plug of cylinder 1-3" in titles
