"""The report says all that the entries say, and what needs a look first."""

from __future__ import annotations

import base64
import csv
import io
import json
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from job_samples import any_entry, at, reading

from assistant.core import entries as e
from assistant.core.entries import HeardAs, Kept
from assistant.core.job import fold
from assistant.core.problems import CallProblem, ChainBroken
from assistant.core.turns.opening import REASON_UNHEARD
from assistant.files.job_file import JobFile
from assistant.reports.figures import band_of
from assistant.reports.html_report import html_of
from assistant.reports.job_report import report_of
from assistant.reports.looks import ORDER
from assistant.reports.table_report import COLUMNS, csv_of, json_of
from assistant.reports.values import visible, written
from assistant.reports.write import write_report

PROCEDURE = """
title: Lay-up, three cylinders
steps:
  - {id: compression, title: Compression}
  - {id: plug, title: "Plug of cylinder {cylinder}"}
  - {id: filter, title: Oil filter}
"""


def numbered(*entries: e.Entry) -> tuple[Kept, ...]:
    """The entries as they would stand in a file."""
    return tuple(Kept(n, at(n), entry, f"{n:064x}") for n, entry in enumerate(entries, start=1))


def part(role: str, answer: str, kept: bool, gtin: str = "00012345678905") -> e.PartScanned:
    return e.PartScanned(
        "filter", role, answer, kept, "EAN-13", gtin, gtin, "", "L77", "S1", "2027-03-31", f"{answer} one"
    )


OPENED = e.JobOpened("layup", PROCEDURE, "model: Heron 3", "shop: Quay Shed", "bay 2", (), "layup 0.1.0", "vosk")
JOB = numbered(
    OPENED,  # 1
    e.StepOpened("compression"),
    e.CautionAnswered("compression", "spark disabled"),
    reading("compression", "cylinder 1", "190"),
    reading("compression", "cylinder 2", "118", verdict="low", words="one one eight"),  # 5
    reading("compression", "cylinder 2", "188", replaces=5, why="correction"),
    reading("compression", "cylinder 3", "160", verdict="low", limit="at least 175 psi (page 4)"),
    e.HeardUnclear("compression", "noise", ()),
    e.RemarkKept("compression", "finding", "wear ring is scored"),
    e.StepDone("compression", ()),  # 10
    e.StepOpened("plug.2"),
    e.StepUnable("plug.2", "seized", ("engine",)),
    e.StepOpened("filter"),
    part("oil filter", "wrong", False),
    part("oil filter", "right", True),  # 15
    reading("volts", "", "12.60", "V", step="filter", limit="", verdict="", asked="affirm",
            weighed=(HeardAs("vosk", "twelve sixteen", "0.30"), HeardAs("whisper", " 12.60", "0.6"))),
    e.DeviceChanged("camera", "lost", "no picture for 2 s"),
    e.JobResumed("layup 0.1.0", "vosk, whisper"),
)  # fmt: skip
REPORT = report_of(JOB)


def test_the_header() -> None:
    """Names come from the first entry, ears from every start, times from the entries."""
    assert (REPORT.job, REPORT.procedure, REPORT.machine, REPORT.shop) == (
        "bay 2", "Lay-up, three cylinders", "Heron 3", "Quay Shed"
    )  # fmt: skip
    assert REPORT.ears == ("vosk", "vosk, whisper")
    assert (REPORT.began, REPORT.finished, REPORT.resumed) == (at(1), False, (at(18),))


def test_steps_in_order_with_status() -> None:
    """Steps stand in the order they were opened, with the title of the procedure, status and reason."""
    assert [(s.title, s.status, s.reason) for s in REPORT.steps] == [
        ("Compression", "done", ""),
        ("Plug of cylinder 2", "unable", "seized"),
        ("Oil filter", "open", ""),
    ]
    assert (REPORT.count("done"), REPORT.count("unable"), REPORT.unclear) == (1, 1, 1)
    assert REPORT.steps[0].cautions == ("spark disabled",)


def test_the_current_values() -> None:
    """The corrected value counts, and shows what stood there before."""
    assert [(v.place, v.written, v.verdict) for v in REPORT.steps[0].values] == [
        ("cylinder 1", "190 psi", "within"),
        ("cylinder 2", "188 psi", "within"),
        ("cylinder 3", "160 psi", "low"),
    ]
    [earlier] = REPORT.steps[0].values[1].earlier
    assert (earlier.written, earlier.words, earlier.by, earlier.why) == ("118 psi", "one one eight", 6, "correction")
    assert [v.sequence for v in REPORT.out_of_limits] == [7]


def test_what_needs_a_look_comes_worst_first() -> None:
    """The one value out of limits is the first thing on the page; what was merely unusual comes later."""
    assert [(look.kind, look.sequence) for look in REPORT.looks] == [
        ("out of limits", 7),
        ("finding", 9),
        ("not done", 12),
        ("in doubt", 12),
        ("corrected", 6),
        ("doubtful", 16),
        ("not finished", 0),
        ("device", 17),
    ]


def test_a_value_that_was_judged_again_was_not_corrected() -> None:
    """Where another value turned its verdict and it is the same itself, that is told as what it is."""
    first = reading("compression", "cylinder 1", "176")
    again = replace(first, verdict="low", replaces=2, why="judged again")
    other = replace(first, value="177", said_value="177", verdict="low", replaces=2, why="correction")
    for second, told in (
        (again, ("judged again", "compression, cylinder 1: 176 psi; within became low")),
        (other, ("corrected", "compression, cylinder 1: 176 psi became 177 psi; within became low")),
    ):
        looks = report_of(numbered(e.StepOpened("compression"), first, second)).looks
        assert [(look.kind, look.what) for look in looks if look.sequence == 3 and look.kind != "out of limits"] == [
            told
        ]


def test_parts_show_the_wrong_ones_too() -> None:
    """Refused packets stay in the report; one that a right one followed needs no look."""
    assert [(p.answer, p.kept, p.lot, p.serial, p.expiry) for p in REPORT.parts] == [
        ("wrong", False, "L77", "S1", "2027-03-31"),
        ("right", True, "L77", "S1", "2027-03-31"),
    ]


def test_parts_that_need_a_look() -> None:
    """A part taken though not known, and a part never taken, are shown."""
    kept = numbered(OPENED, part("oil filter", "not known", True), part("plug", "past its date", False))
    assert {look.kind for look in report_of(kept).looks} >= {"part to check", "no part"}


CHAINS = [
    ("said again", [("cylinder 1", "190", 0), ("cylinder 1", "185", 0)], {"cylinder 1": "185"}, [(1, 2)]),
    ("corrected twice", [("cylinder 1", "190", 0), ("cylinder 1", "185", 1), ("cylinder 1", "186", 2)],
     {"cylinder 1": "186"}, [(1, 2), (2, 3)]),
    ("moved to another", [("cylinder 1", "190", 0), ("cylinder 2", "190", 1)], {"cylinder 2": "190"}, [(1, 2)]),
    ("moved onto a value", [("cylinder 1", "190", 0), ("cylinder 2", "180", 0), ("cylinder 1", "180", 2)],
     {"cylinder 1": "180"}, [(1, 3), (2, 3)]),
    ("moved and said anew", [("cylinder 1", "190", 0), ("cylinder 2", "190", 1), ("cylinder 1", "170", 0)],
     {"cylinder 1": "170", "cylinder 2": "190"}, [(1, 2)]),
]  # fmt: skip


@pytest.mark.parametrize(("said", "current", "replaced"), [row[1:] for row in CHAINS], ids=[row[0] for row in CHAINS])
def test_which_value_counts(
    said: list[tuple[str, str, int]], current: dict[str, str], replaced: list[tuple[int, int]]
) -> None:
    """Corrections, repetitions and moves end in the value that was meant, and every replaced one is listed."""
    kept = numbered(*(reading("compression", place, value, replaces=old) for place, value, old in said))
    report = report_of(kept)
    assert {v.place: v.value for v in report.values} == current
    assert [(c.old.sequence, c.old.by) for c in report.corrections] == replaced
    assert {place: k.entry.body()["value"] for (_, _, place), k in fold(kept).readings.items()} == current


def test_a_step_opened_again_is_open() -> None:
    """Going back to a done step opens it until it is done again."""
    kept = numbered(e.StepOpened("a"), e.StepDone("a", ()), e.StepOpened("b"), e.StepOpened("a"))
    assert [s.status for s in report_of(kept).steps] == ["open", "open"]


def test_a_clock_set_back_is_told() -> None:
    """A step back of the clock stands in the report and in the box."""
    kept = (Kept(1, at(90), e.StepOpened("a")), Kept(2, at(30), e.StepDone("a", ())))
    report = report_of(kept)
    assert [(c.sequence, c.back_s) for c in report.clock] == [(2, "60.000")]
    assert "clock" in {look.kind for look in report.looks}


@pytest.mark.parametrize("text", ["", "- a list", "title: [", "steps: 3", "steps: [3, {id: a}]", "title: {a: b}", "\0"])
def test_unreadable_texts_cost_a_heading_only(text: str) -> None:
    """A procedure, sheet or site that cannot be read leaves its name out and nothing else."""
    opened = e.JobOpened("layup", text, text, text, "bay 2", (), "p", "e")
    report = report_of(numbered(opened, e.StepOpened("warm-up")))
    assert (report.procedure, report.machine, report.shop) == ("layup", "", "")
    assert report.steps[0].title == "warm up"


class Page(HTMLParser):
    """What a browser would make of the page: tags, attributes and text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_page_stands_alone() -> None:
    """No script, no picture or style from elsewhere, nothing that runs."""
    page = Page(html_of(REPORT))
    assert not {"script", "link", "img", "iframe", "object"} & set(page.tags)
    assert all(name not in ("src", "style") and not name.startswith("on") for name, _ in page.attributes)
    assert all(value and value.startswith("#") for name, value in page.attributes if name == "href")


def test_the_page_says_it_by_word_and_shape() -> None:
    """A verdict is told by its word and by a shape; the box comes before the steps."""
    page = html_of(REPORT)
    assert page.index("Needs a look") < page.index("160 psi, low") < page.index("Step by step")
    row = page[page.index('<tr id="e7"') :].split("</tr>")[0]
    assert 'd="M0.5 1.5h11L6 11z"' in row
    assert "low" in row


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from("12"), st.sampled_from(["low", "within"]), st.integers(0, 6)), max_size=7))
def test_links_lead_to_an_entry_on_the_page(said: list[tuple[str, str, int]]) -> None:
    """Every link of the box leads to one place on the page, however often a value was corrected."""
    readings = (reading("c", place, "1", verdict=verdict, replaces=old) for place, verdict, old in said)
    attributes = Page(html_of(report_of(numbered(*readings, *(k.entry for k in JOB))))).attributes
    anchors = [f"#{value}" for name, value in attributes if name == "id"]
    assert {value for name, value in attributes if name == "href"} <= set(anchors)
    assert len(anchors) == len(set(anchors))


BANDS = [
    ("at least 175 psi", "psi", 175, None),
    ("at most 0.4 mm (page 9)", "mm", None, "0.4"),
    ("1.2 mm to 1.4 mm", "mm", "1.2", "1.4"),
    ("12.4 V to 12.8 V (page 3); at least 12.5 V", "V", "12.5", "12.8"),
    ("lowest within 10 % of highest", "psi", 180, None),
    ("at least 175 psi; lowest within 10 % of highest (page 4)", "psi", 180, None),
    ("89 lbf\u00b7in to 95 lbf\u00b7in", "lbf_in", 89, 95),
    ("at least 12 bar", "psi", None, None),
    ("at least 175 psig", "psi", None, None),
    ("same as taken off", "count", None, None),
    ("", "psi", None, None),
]


@pytest.mark.parametrize(("limit", "unit", "low", "high"), BANDS, ids=[row[0] for row in BANDS])
def test_bands_are_read_from_the_limit(limit: str, unit: str, low: object, high: object) -> None:
    """The band is what the limit in print says, in the reading's own unit; else there is none."""
    numbers = report_of(numbered(reading("c", "cylinder 1", "200"))).values
    found = band_of(limit, unit, [type(v.doubt)(v.value) for v in numbers])
    assert [None if x is None else str(x) for x in found] == [None if x is None else str(x) for x in (low, high)]


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [("12.60", "V", "12.60 V"), ("89", "lbf_in", "89 lbf\u00b7in"), ("light tan", "count", "light tan"),
     ("3.4342366806559293999", "us_gal", "3.434 US gal"), ("0.70025", "mm", "0.70025 mm"),
     ("1.265", "sg", "1.265"), ("150", "degF", "150 \u00b0F"), ("3", "us_qt", "3 US qt")],
)  # fmt: skip
def test_values_in_print(value: str, unit: str, text: str) -> None:
    """Decimal text stays as it was read; units are printed as the trade prints them."""
    assert written(value, unit) == text


SHIPPED = Path(__file__).parents[1] / "procedures"
OPENED_SHIPPED = e.JobOpened(
    "pwc-off-season",
    *((SHIPPED / name).read_text() for name in ("pwc-off-season.yaml", "tern-3.sheet.yaml", "our-shop.site.yaml")),
    "bay 2", (), "layup 0.1.0", "vosk",
)  # fmt: skip
OTHER_WORDS = [
    ("seven point fife ounces", False),
    ("seven and a half", False),
    ("seven decimal five fluid ounces", False),
    ("five point five ounces", True),
    ("seven point five liters", False),
    ("two hundred milliliters", True),
    ("note", True),
    ("ninety nine ninety nine", False),
]


@pytest.mark.parametrize(("words", "doubted"), OTHER_WORDS, ids=[row[0] for row in OTHER_WORDS])
def test_only_another_meaning_is_a_doubt(words: str, doubted: bool) -> None:
    """The same value in other words, and words that could mean nothing then, cast no doubt; another value does."""
    weighed = (HeardAs("vosk", words, "0.4"),)
    dose = reading("fuel_dose_poured", "", "7.5", "us_fl_oz", step="fuel_dose", words="seven point five ounces",
                   weighed=weighed)  # fmt: skip
    report = report_of(numbered(OPENED_SHIPPED, e.StepOpened("fuel_dose"), dose))
    assert ("doubtful" in {look.kind for look in report.looks}) == doubted
    assert report.values[0].others == weighed


def test_a_reason_without_words_is_to_be_listened_to() -> None:
    """A step left with a reason that no ear could write down says so, and leads to its entry."""
    report = report_of(numbered(OPENED, e.StepOpened("filter"), e.StepUnable("filter", REASON_UNHEARD, ())))
    [look] = [look for look in report.looks if look.kind == "not done"]
    assert (look.what, look.sequence) == ("no reason in words: listen to it", 3)


def test_titles_are_those_that_were_read_out() -> None:
    """A title has the amounts of this machine in it, and the cylinder of the step."""
    report = report_of(numbered(OPENED_SHIPPED, e.StepOpened("oil_first"), e.StepOpened("plug.2")))
    assert [s.title for s in report.steps] == ["First oil in, the last 1 U S quart held back", "Plug of cylinder 2"]


def test_doubts_stand_apart() -> None:
    """What was only doubtful comes after the box, so that the box fits on one page."""
    page = html_of(REPORT)
    box, after = page[page.index("Needs a look") :].split("</section>", 1)
    assert "160 psi, low" in box
    assert "12.60 V" not in box
    assert after.index("Heard with doubt") < after.index("12.60 V") < after.index("Step by step")


@pytest.mark.parametrize(
    ("text", "shown"),
    [("10F2604\x1d2107", "10F2604\u241d2107"), ("[)>\x1e06\x1d1PT3", "[)>\u241e06\u241d1PT3"), ("T3", "T3")],
)
def test_control_characters_of_a_label_are_shown(text: str, shown: str) -> None:
    """The separators in a label's text are seen, as their Unicode pictures; nothing else is changed."""
    assert visible(text) == shown
    odd = e.PartScanned("filter", "oil_filter", "not known", True, "GS1-128", text, "", "", "", "", "", "")
    assert shown in Page(html_of(report_of(numbered(OPENED, odd)))).text


def test_names_are_printed_as_words() -> None:
    """Names of readings and roles are words on the page; the tables keep them as they are."""
    kept = numbered(
        OPENED, reading("cover_screws_on", "", "7", "count", verdict="low", limit="same as cover_screws_off")
    )
    text = Page(html_of(report_of(kept))).text
    assert "cover screws on: 7, low; limit: same as cover screws off" in text
    assert "cover_screws" not in text
    assert "cover_screws_on" in csv_of(report_of(kept))


def test_the_edges_of_the_band_are_named() -> None:
    """Each edge says which it is, with its number and unit."""
    kept = numbered(*(reading("gap", f"cylinder {n}", "1.3", "mm", limit="1.2 mm to 1.4 mm") for n in (1, 2)))
    text = Page(html_of(report_of(kept))).text
    assert "at least 1.2 mm" in text
    assert "at most 1.4 mm" in text


def test_the_table() -> None:
    """CSV has one row for each value, replaced value, part and remark, in the order of the file."""
    rows = list(csv.DictReader(io.StringIO(csv_of(REPORT))))
    assert [(r["sequence"], r["kind"], r["value"] or r["verdict"] or r["words"]) for r in rows] == [
        ("4", "value", "190"),
        ("5", "earlier value", "118"),
        ("6", "value", "188"),
        ("7", "value", "160"),
        ("9", "finding", "wear ring is scored"),
        ("14", "part refused", "wrong"),
        ("15", "part", "right"),
        ("16", "value", "12.60"),
    ]
    assert rows[1]["replaced_by"] == "6"
    assert tuple(rows[0]) == COLUMNS


@pytest.mark.parametrize("text", ["=1+1", "@SUM(A1)", "+1;2", "-a", "\tx", "\rx"])
def test_the_table_holds_no_formula(text: str) -> None:
    """A label or a remark that a spreadsheet would run is made harmless; a negative number stays a number."""
    kept = numbered(e.RemarkKept("a", "note", text), reading("cold", "", "-12.5", "degC"))
    rows = list(csv.DictReader(io.StringIO(csv_of(report_of(kept)), newline="")))
    assert (rows[0]["words"], rows[1]["value"]) == (f"'{text}", "-12.5")


def test_json_has_it_all() -> None:
    """JSON starts with the summary and holds every step, value and part."""
    whole = json.loads(json_of(REPORT))
    assert whole["summary"] == {
        "done": 1, "unable": 1, "open": 1, "passed_over": 0, "values": 4, "out_of_limits": [7], "findings": [9],
        "corrections": [5], "unclear": 1,
    }  # fmt: skip
    assert whole["steps"][0]["values"][1]["earlier"][0]["written"] == "118 psi"


@settings(max_examples=60, deadline=None)
@given(st.lists(any_entry(), max_size=12))
def test_any_entries_give_a_report(entries: list[e.Entry]) -> None:
    """No entry, however odd, stops a report; none of its text becomes a tag, and every look has its kind."""
    report = report_of(numbered(*entries))
    page = Page(html_of(report))
    assert set(page.tags) <= {
        "html", "head", "meta", "title", "style", "body", "header", "h1", "h2", "h3", "p", "dl", "dt", "dd", "section",
        "table", "thead", "tr", "th", "td", "br", "span", "del", "ul", "li", "strong", "a", "footer", "figure", "figcaption",
        "svg", "rect", "text", "path", "circle",
    }  # fmt: skip
    assert csv_of(report)
    assert json.loads(json_of(report))["entries"] == len(entries)
    assert {look.kind for look in report.looks} <= set(ORDER)


def test_text_is_escaped() -> None:
    """What a label or an ear says is text on the page, never markup."""
    page = html_of(report_of(numbered(OPENED, e.RemarkKept("a", "finding", "<script>alert(1)</script>"))))
    assert "<script>" not in page
    assert "&lt;script&gt;alert(1)" in page


@pytest.mark.parametrize("name", ["r.html", "r.csv", "r.json", "R.HTML"])
def test_written_by_ending(tmp_path: Path, name: str) -> None:
    """The file's name says which form is written."""
    write_report(JOB, tmp_path / name)
    assert "160" in (tmp_path / name).read_text(encoding="utf-8")


def embedded_in(path: Path) -> list[tuple[str, bytes]]:
    """Media type and bytes of all that the page carries inside it."""
    sources = [value for name, value in Page(path.read_text(encoding="utf-8")).attributes if name == "src"]
    cut = [source.partition(";base64,") for source in sources if source]
    return [(head.removeprefix("data:"), base64.b64decode(data, validate=True)) for head, _, data in cut]


def test_what_needs_a_look_can_be_listened_to(tmp_path: Path) -> None:
    """The page carries the sound of a value out of limits and the picture of a doubtful part, byte for byte."""
    png = b"\x89PNG\r\n\x1a\n and the rest"
    with JobFile.create(tmp_path / "a.job") as job:
        job.append(OPENED, at(1))
        job.append(reading("c", "cylinder 1", "190"), at(2), np.arange(900, dtype=np.int16))
        low = job.append(reading("c", "cylinder 2", "118", verdict="low"), at(3), np.arange(800, dtype=np.int16))
        label = job.append(part("oil filter", "not known", True), at(4), picture=png)
        left = job.append(e.StepUnable("c", "seized", ()), at(5), np.arange(700, dtype=np.int16))
        flac = [job.clip_bytes(kept.clip) for kept in (low, left)]
        assert flac[0].startswith(b"fLaC")
        assert job.clip_bytes(label.clip) == png
        write_report(job.entries(), tmp_path / "r.html", job.clip_bytes)
        write_report(job.entries(), tmp_path / "silent.html")
    assert embedded_in(tmp_path / "r.html") == [("audio/flac", flac[0]), ("image/png", png), ("audio/flac", flac[1])]
    assert embedded_in(tmp_path / "silent.html") == []


def test_a_clip_that_cannot_be_had_is_told(tmp_path: Path) -> None:
    """A clip that is gone or was changed does not cost the report: the row says so, and that is all that is lost."""

    def clip(sha256: str) -> bytes:
        if sha256 == "gone":
            raise KeyError(sha256)
        raise ChainBroken("clip was changed")

    kept = tuple(
        Kept(n, at(n), reading("c", f"cylinder {n}", "118", verdict="low"), name)
        for n, name in enumerate(("gone", "changed"), start=1)
    )
    write_report(kept, tmp_path / "r.html", clip)
    text = Page((tmp_path / "r.html").read_text(encoding="utf-8")).text
    assert text.index("its clip is not in the job file") < text.index("its clip was changed or is damaged")
    assert embedded_in(tmp_path / "r.html") == []


@pytest.mark.parametrize(("name", "what"), [("r.txt", ".txt reports"), ("r.docx", ".docx"), ("r", "without an ending")])
def test_other_forms_are_refused(tmp_path: Path, name: str, what: str) -> None:
    """A form that is not made is refused by name, with those that are."""
    with pytest.raises(CallProblem, match=f"{what}.* are not made\n.*.html, .csv, .json"):
        write_report(JOB, tmp_path / name)
    assert not list(tmp_path.iterdir())


def test_a_report_that_cannot_be_written(tmp_path: Path) -> None:
    """A missing folder is told in plain words."""
    with pytest.raises(CallProblem, match="cannot be written: No such file"):
        write_report(JOB, tmp_path / "nowhere" / "r.html")


def test_what_came_afterwards_is_told() -> None:
    """Who signed and what sound was forgotten stands in the page's head; the work ended before it."""
    after = (e.JobSigned("Ada Lind", "ab" * 32), e.SoundForgotten(("ab" * 32,), "Bea", "asked for"))
    kept = numbered(OPENED, e.StepOpened("a"), *after)
    report = report_of(kept)
    assert report.ended == kept[1].at
    text = Page(html_of(report)).text
    assert "signed by Ada Lind" in text
    assert "the sound of 1 clips removed, by Bea" in text


def test_a_job_without_entries() -> None:
    """An empty job has a report too."""
    assert "Job without a name" in html_of(report_of(()))
