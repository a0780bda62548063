"""The customer's sheet says what was done and what it means in plain words, and is a draft until somebody answers for it."""

from __future__ import annotations

import csv
import io
import json
import re
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from job_samples import at, reading
from sheet_jobs import ALL_WELL, HOSTILE, ONE_OF_EACH, SHIPPED, kept_job, settled, signed

from assistant.cli import main
from assistant.core import entries as e
from assistant.core.entries import Kept, Rival
from assistant.files.job_file import JobFile
from assistant.files.verdict import Fault, Signed, Verdict
from assistant.files.verify import verify
from assistant.reports.customer_sheet import DEFERS, customer_html, sheet_of
from assistant.reports.job_report import report_of
from assistant.reports.measured import MEANS
from assistant.reports.season_jobs import NAMES_ONE_MACHINE
from assistant.reports.table_report import csv_of, json_of
from assistant.reports.work_done import headings_in
from assistant.review.summary import numbers_of, state_of
from tests.test_reports import Page, numbered


def read(path: Path) -> tuple[tuple[Kept, ...], Verdict]:
    with JobFile.open(path, read_only=True) as job:
        return job.entries(), verify(path)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("jobs")


@pytest.fixture(scope="module")
def done(folder: Path) -> tuple[tuple[Kept, ...], Verdict]:
    """One of each: settled, and signed by Ada Lind."""
    return read(signed(settled(kept_job(folder / "1187.job"))))


def text_of(html: str) -> str:
    """The words of a page, cell by cell."""
    return " ".join(Page(re.sub(r"</t[dh]>|<br>", " ", html)).text.split())


def section(html: str, heading: str) -> str:
    """The text of the section under that heading."""
    found = re.search(rf"<h2>{re.escape(heading)}</h2>(.*?)</section>", html, re.DOTALL)
    assert found, heading
    return text_of(found[1])


# --- what it says


def test_whose_machine_it_is_stands_on_top(done: tuple[tuple[Kept, ...], Verdict]) -> None:
    """Customer, machine, engine hours, shop, who did it and when come before everything else."""
    text = text_of(customer_html(done[0], None, done[1]))
    head = text[: text.index("What spring needs")]
    for words in ("Nils Aspen", "Tern 3", "24 h", "Alder Basin Small Craft", "Mara Holm", "14 October 2026", "1187"):
        assert words in head


NUMBERED = {name: f"{name.replace('_', ' ').capitalize()} XYZ12345C626" for name in NAMES_ONE_MACHINE}


@pytest.mark.parametrize("name", NUMBERED)
def test_a_number_that_was_read_tells_the_machine(name: str) -> None:
    """A hull, engine, serial or vehicle number stands on the sheet, and in the list of jobs, where a reading of the job says
    so, and only there."""
    number = reading(name, "", "XYZ12345C626", "count", limit="", verdict="")
    job = numbered(e.JobOpened("p", "", "model: Heron 3", "", "j", (), "p", "e"), e.StepOpened("compression"), number)
    text = text_of(customer_html(job, None, NOTHING))
    assert [words for words in NUMBERED.values() if words in text] == [NUMBERED[name]]
    assert numbers_of(report_of(job)) == ("XYZ12345C626",)


def test_the_work_is_told_in_groups_and_not_step_by_step(done: tuple[tuple[Kept, ...], Verdict]) -> None:
    """The writer's own headings, steps of one kind in one phrase, and not a line a step: 87 steps on a quarter of a page."""
    did = section(customer_html(*with_clip(done)), "What was done")
    for words in (
        "Fuel: Tank filled; Fuel stabiliser.",
        "Plug of cylinder 1, 2 and 3",
        "Fogging cylinder 1, 2 and 3",
        "Drive pump in; Pump bolts; Pump bolts tight; Ride plate on.",
    ):
        assert words in did
    assert "Carbon monoxide" not in did  # the cautions are the technician's
    assert len(did) < 2400


def test_what_was_not_done_and_why(done: tuple[tuple[Kept, ...], Verdict]) -> None:
    """A step that was left is not among what was done, and stands with its reason."""
    did, _, left = section(customer_html(*with_clip(done)), "What was done").partition("Not done:")
    assert "New anode" not in did
    assert "New anode: “no anode in stock”" in left


def test_every_value_stands_with_its_meaning(done: tuple[tuple[Kept, ...], Verdict]) -> None:
    """No value is left out, and each says what it means in words and by a shape."""
    html = customer_html(*with_clip(done))
    rows = re.findall(r"<tr>(<td>.*?)</tr>", html[html.index("What was measured") : html.index("Parts that went in")])
    told = {text_of(row) for row in rows}
    assert "Battery put to bed: battery voltage 12.2 V at least 12.4 V too low Ada Lind lets it stand: seen" in told
    assert "Plug of cylinder 2 black not as it should be Ada Lind lets it stand: seen" in told
    assert (
        "Plug torque, cylinder 1, 2 and 3 each 13 lbf·ft 13 lbf·ft within 4 %, 12.48 lbf·ft to 13.52 lbf·ft as it should be"
        in told
    )
    assert all("<svg" in row for row in rows)
    written = {value.written for value in report_of(done[0]).values}
    assert all(any(value in row for row in told) for value in written)


@pytest.mark.parametrize(("verdict", "words"), MEANS.items())
def test_each_verdict_in_plain_words(verdict: str, words: str) -> None:
    """Every verdict that an entry can have has its words."""
    job = numbered(e.StepOpened("compression"), reading("compression", "", "12", verdict=verdict))
    upheld = (*job, Kept(3, at(3), e.EntryUpheld(2, "", "Ada")))
    [row] = sheet_of(upheld, NOTHING).measured
    assert (row.means, row.bad) == (words, verdict not in ("within", ""))


def test_what_spring_needs_is_what_the_job_leaves_open(done: tuple[tuple[Kept, ...], Verdict]) -> None:
    """An approved finding, a step not done and values that are not as they should be: all of them, and nothing else."""
    needs = sheet_of(*done).needs
    assert [(need.what, need.why) for need in needs] == [
        ("Wear ring looked at: the wear ring is scored", "you approved it; this record does not show it done"),
        ("New anode", "not done"),
        ("Plug of cylinder 2: plug black", "not as it should be"),
        ("Battery put to bed: battery voltage 12.2 V (at least 12.4 V (Tern 3 manual page 8-2))", "too low"),
    ]


@pytest.mark.parametrize(
    ("decision", "why"),
    [("approved", "you approved it; this record does not show it done"), ("later", "you wanted it decided later"),
     ("declined", None), ("", "found; not decided yet")],
)  # fmt: skip
def test_a_finding_by_its_decision(decision: str, why: str | None) -> None:
    """What was approved or put off or not decided is for spring; what was declined is not, and stands with the findings."""
    entries: list[e.Entry] = [e.StepOpened("hull"), e.RemarkKept("hull", "finding", "a crack")]
    if decision:
        entries.append(e.FindingDecided(2, decision, "", "Nils Aspen", "2026-10-15", "Ada"))
    sheet = sheet_of(numbered(*entries), NOTHING)
    assert [need.why for need in sheet.needs if need.what == "hull: a crack"] == ([why] if why else [])
    [found] = sheet.found
    assert (found.decision.decision if found.decision else "") == decision


def test_nothing_left_is_told_as_that(folder: Path) -> None:
    """A job in which all went well needs nothing in spring but what its storage asks."""
    sheet = sheet_of(*read(kept_job(folder / "well.job", ALL_WELL)))
    assert sheet.needs == ()
    assert [str(item) for item in sheet.storage.before_use] == [
        "Battery: disconnected; must be connected.",
        "Lanyard: off; must be on.",
    ]


def test_the_findings_with_the_customers_decision(done: tuple[tuple[Kept, ...], Verdict]) -> None:
    """Every finding, what he said of it, who gave the answer, and when."""
    text = section(customer_html(*with_clip(done)), "What was found, and what you decided")
    assert (
        "the wear ring is scored” (the technician's words, as told by voice) approved, by Nils Aspen on 2026-10-15"
        in text
    )
    assert "the impeller has a small nick” (the technician's words, as told by voice) declined, by Nils Aspen" in text


def test_the_foremans_words_stand_for_what_the_ears_made_out() -> None:
    """Where the foreman wrote what a finding is when he let it stand, that is what the customer reads."""
    heard = (e.StepOpened("hull"), e.RemarkKept("hull", "finding", "the wire ring is squared"))
    sheet = sheet_of(numbered(*heard, e.EntryUpheld(2, "the wear ring is scored", "Ada Lind")), NOTHING)
    assert [(found.words, found.heard) for found in sheet.found] == [("the wear ring is scored", False)]


@pytest.mark.parametrize(
    ("own", "told"),
    [
        ("", "“there is no aim node” (the technician's reason, as told by voice)"),
        ("no anode in stock", "New anode: no anode in stock"),
    ],
)
def test_the_foremans_words_stand_for_the_ears_reason_too(own: str, told: str) -> None:
    """Why something was not done: in his words where he wrote any, else in the ears', and marked so."""
    texts = ("title: A\nsteps:\n  - {id: anode, title: New anode}", "model: Heron 3", "")
    left = (
        e.JobOpened("p", *texts, "j", (), "p", "e"),
        e.StepOpened("anode"),
        e.StepUnable("anode", "there is no aim node"),
    )
    text = section(customer_html(numbered(*left, e.EntryUpheld(3, own, "Ada Lind")), None, NOTHING), "What was done")
    assert told in text
    assert ("aim node" in text) == (not own)


def test_a_reason_for_one_value_is_not_told_of_its_neighbour() -> None:
    """Why a value that is not as it should be stands is told with that value alone; of a good one no reason is, for it was only
    doubted; and the procedure's own words on a value stay as they are."""
    low = {"verdict": "low", "limit": "at least 175 psi (page 4)"}
    values = (
        reading("compression", "cylinder 1", "160", **low),  # 2
        reading("compression", "cylinder 2", "161", **low),
        reading("compression", "cylinder 3", "190"),
    )
    upheld = (e.EntryUpheld(2, "rings are on order", "Ada Lind"), e.EntryUpheld(4, "listened to it", "Ada Lind"))
    sheet = sheet_of(numbered(e.StepOpened("compression"), *values, *upheld), NOTHING)
    assert [(dict(row.values), row.why, row.who) for row in sheet.measured] == [
        ({"cylinder 1": "160 psi"}, "rings are on order", "Ada Lind"),
        ({"cylinder 2": "161 psi"}, "", ""),
        ({"cylinder 3": "190 psi"}, "", ""),
    ]
    text = text_of(customer_html(numbered(e.StepOpened("compression"), *values, *upheld), None, NOTHING))
    assert text.count("lets it stand") == 1
    assert "listened" not in text


SEVERAL = [
    ("Hours and faults", ("hours", "faults"), ["Hours and faults: hours", "Hours and faults: faults"]),
    ("Compression", ("compression", "wet"), ["Compression", "Compression: wet"]),
    ("Engine hours read", ("engine_hours",), ["Engine hours read"]),
    ("Battery", ("voltage",), ["Battery: voltage"]),
]


@pytest.mark.parametrize(("title", "names", "told"), SEVERAL)
def test_a_step_with_several_readings_names_each(title: str, names: tuple[str, ...], told: list[str]) -> None:
    """A title that speaks of two readings is told with the one that was read; what says the same twice is told once."""
    opened = e.JobOpened("p", f"steps:\n  - {{id: a, title: {title}}}", "model: Heron 3", "", "j", (), "p", "e")
    read = (reading(name, "", "1", step="a") for name in names)
    assert [row.what for row in sheet_of(numbered(opened, e.StepOpened("a"), *read), NOTHING).measured] == told


def test_parts_with_their_lots(done: tuple[tuple[Kept, ...], Verdict]) -> None:
    """What was taken, with number, lot, serial and date; a packet that was refused went into no machine."""
    text = section(customer_html(*with_clip(done)), "Parts that went in")
    assert "oil filter 02990001000117 F2604 000731 2030-06-30" in text
    refused = replace(ONE_OF_EACH.parts[0], kept=False, lot="F9999")
    assert "F9999" not in customer_html(numbered(e.StepOpened("filter_in"), refused), None, NOTHING)


def test_cautions_for_storage_defer_to_the_manual(done: tuple[tuple[Kept, ...], Verdict]) -> None:
    """The procedure's own cautions for what was left so, the usual ones, and that the manual comes first."""
    text = section(customer_html(*with_clip(done)), "While it is stored, and when it is used again")
    for words in ("Battery gas explodes and the acid burns.", "carbon monoxide", "fogged", "Fuel vapour", DEFERS):
        assert words in text
    assert "Springs and gates hold tension" not in text  # of work that is over


def test_no_more_than_three_figures(done: tuple[tuple[Kept, ...], Verdict]) -> None:
    """Compression by cylinder is drawn; what is for the foreman is not."""
    figures = sheet_of(*done).figures
    assert [figure.name for figure in figures] == ["compression"]


def test_what_the_ears_thought_is_not_shown() -> None:
    """No words that were heard, no rivals, no sureness: only the value."""
    doubtful = reading(
        "compression", "", "190", words="wun niner zero", asked="affirm", sureness="0.6142", rule="another was near",
        rivals=(Rival("one nineteen", "119 psi", "0.3121"),),
    )  # fmt: skip
    html = customer_html(numbered(e.StepOpened("compression"), doubtful), None, NOTHING)
    assert "190 psi" in html
    for words in ("niner", "nineteen", "119", "0.61", "0.31", "another was near"):
        assert words not in html


# --- drafts

NOTHING = Verdict("1.job", 0, 0, "", None)
FITS = Verdict("1.job", 9, 0, "ab" * 32, None, (), (Signed(3, "Ada", "cd" * 32),))
CLEAN = (e.StepOpened("a"), e.JobFinished(1, 0), e.JobSigned("Ada", "cd" * 32))
DRAFTS: list[tuple[str, Verdict, tuple[e.Entry, ...], tuple[str, ...]]] = [
    ("signed and settled", FITS, CLEAN, ()),
    ("not signed", replace(FITS, signed=()), CLEAN[:2], ("Nobody has signed for it yet.",)),
    ("sound removed afterwards", FITS, (*CLEAN, e.SoundForgotten(("ef" * 32,), "Ada", "asked for")), ()),
    ("started again afterwards", FITS, (*CLEAN, e.JobResumed("p", "e")), ()),
    ("work afterwards", FITS, (*CLEAN, e.RemarkKept("a", "note", "x")),
     ("1 entry came after the signature: sign again.",)),
    ("not whole", replace(FITS, signed=(), fault=Fault(2, "changed", "hashes")), CLEAN,
     ("The record is not whole: changed. Do not rely on this sheet.",)),
    ("a finding undecided", FITS, (CLEAN[0], e.RemarkKept("a", "finding", "x"), CLEAN[2]), ("2 things are not settled yet.",)),
    ("not finished", FITS, (CLEAN[0], e.StepDone("a", ()), CLEAN[2]), ("1 thing is not settled yet.",)),
]  # fmt: skip


@pytest.mark.parametrize(("verdict", "entries", "why"), [row[1:] for row in DRAFTS], ids=[row[0] for row in DRAFTS])
def test_what_makes_it_a_draft(verdict: Verdict, entries: tuple[e.Entry, ...], why: tuple[str, ...]) -> None:
    """Only a whole record, signed, settled and not gone on with gives a sheet to rely on; else it says why not."""
    kept = numbered(*entries)
    assert sheet_of(kept, verdict).standing.draft == why
    html = customer_html(kept, None, verdict)
    assert ("DRAFT" in html) == bool(why)
    for reason in why:
        assert reason in text_of(html)


NOTE = e.RemarkKept("a", "note", "x")
AFTER: list[tuple[str, tuple[e.Entry, ...], bool]] = [
    ("nothing", (), True),
    ("sound removed", (e.SoundForgotten(("ef" * 32,), "Ada", "asked for"),), True),
    ("started again", (e.JobResumed("p", "e"),), True),
    ("started again, and gone on with", (e.JobResumed("p", "e"), NOTE), False),
    ("gone on with", (NOTE,), False),
    ("gone on with, and signed again", (NOTE, CLEAN[2]), True),
]


@pytest.mark.parametrize(("after", "stands"), [row[1:] for row in AFTER], ids=[row[0] for row in AFTER])
def test_the_list_of_jobs_goes_by_the_same_rule(after: tuple[e.Entry, ...], stands: bool) -> None:
    """A job is *signed* in the list as long as its sheet asks for no other signature: by what came after the last one."""
    kept = numbered(*CLEAN, *after)
    last = max(k.sequence for k in kept if isinstance(k.entry, e.JobSigned))
    draft = sheet_of(kept, replace(FITS, signed=(Signed(last, "Ada", "cd" * 32),))).standing.draft
    assert any("sign again" in why for why in draft) != stands
    assert state_of(report_of(kept), kept) == ("signed" if stands else "to be reviewed")


def test_what_nobody_signed_is_not_signed() -> None:
    """Neither a finished job without a signature, nor a file without an entry."""
    kept = numbered(*CLEAN[:2])
    assert state_of(report_of(kept), kept) == "to be reviewed"
    assert state_of(report_of(()), ()) == "open"


def test_a_value_that_is_not_settled_is_marked(folder: Path) -> None:
    """Before the foreman let it stand, a value out of limits is not told as a result."""
    rows = {row.what: row for row in sheet_of(*read(kept_job(folder / "open.job"))).measured}
    assert rows["Battery put to bed: battery voltage"].means == "not settled yet: the shop looks at it again"
    assert rows["Hull looked over"].means == "as it should be"


def test_signatures_and_the_verify_line(folder: Path, done: tuple[tuple[Kept, ...], Verdict]) -> None:
    """Who signed and when; how many entries; the last hash as the file has it, in groups of eight; and how to check it."""
    with closing(sqlite3.connect(folder / "1187.job")) as connection:
        [count, sha256] = connection.execute(
            "SELECT count(*), (SELECT hash FROM entry ORDER BY sequence DESC) FROM entry"
        ).fetchone()
    text = section(customer_html(*with_clip(done)), "Signed by")
    assert text.startswith("Ada Lind, 2026-10-14 09:")
    groups = re.findall(r"[0-9a-f]{8}", text)
    assert "".join(groups[-8:]) == sha256
    assert f"record of {count} entries" in text
    assert "layup verify 1187.job" in text


# --- odd texts


@pytest.mark.parametrize("text", HOSTILE)
def test_nothing_that_was_said_or_scanned_becomes_markup(text: str) -> None:
    """Whatever text stands in any field, the page has the tags that it always has, no address, and nothing that runs."""
    bare, odd = Page(hostile_page("x")), Page(hostile_page(text))
    assert odd.tags == bare.tags
    assert {name for name, _ in odd.attributes} == {name for name, _ in bare.attributes}
    assert not {"script", "link", "img", "iframe", "a", "form"} & set(odd.tags)
    assert all(name not in ("src", "href", "style") and not name.startswith("on") for name, _ in odd.attributes)
    assert not re.search("[\u202a-\u202e\u2066-\u2069\x00-\x08\x1d]", odd.text)


def hostile_page(text: str) -> str:
    title, sheet, shop = (f"{key}: {json.dumps(text)}" for key in ("title", "model", "shop"))
    part = replace(ONE_OF_EACH.parts[0], step="a", role=text, gtin="", number=text, lot=text, serial=text, expiry=text)
    kept = numbered(
        e.JobOpened(text, title, sheet, shop, text, (), text, text, text, (), True, text),
        e.StepOpened("a"),
        reading(text, text, text, text, step="a", limit=text, verdict="low"),
        part,
        e.RemarkKept("a", "finding", text),
        e.StepUnable("a", text),
        e.FindingDecided(5, text, text, text, text, text),
        e.JobSigned(text, text),
    )
    verdict = Verdict(f"/x/{text}.job", 8, 0, "ab" * 32, None, (), (Signed(8, text, text, text),))
    return customer_html(kept, None, verdict)


def with_clip(done: tuple[tuple[Kept, ...], Verdict]) -> tuple[tuple[Kept, ...], None, Verdict]:
    return done[0], None, done[1]


def test_an_empty_job_has_a_sheet_too() -> None:
    """Nothing in it, nothing wrong: a draft."""
    text = text_of(customer_html((), None, NOTHING))
    assert "DRAFT" in text
    assert "No step is done yet." in text


# --- headings


@cache
def off_seasons() -> tuple[Path, ...]:
    return tuple(sorted(SHIPPED.glob("*-off-season.yaml")))


@pytest.mark.parametrize("path", off_seasons(), ids=lambda path: path.stem)
def test_every_step_of_the_library_has_a_heading(path: Path) -> None:
    """Each step of the shipped procedures falls under one of its writer's headings: as many as the file has ids."""
    text = path.read_text(encoding="utf-8")
    ids = re.findall(r"^  - (?:\{ ?)?id: (\w+)", text, re.MULTILINE)
    assert list(headings_in(text)) == ids


# --- the tables


def rows_of(kept: Iterable[Kept]) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(csv_of(report_of(tuple(kept))), newline="")))


def test_the_tables_carry_what_the_foreman_did() -> None:
    """CSV and JSON have customer, sureness, the rule's reason, rivals, decisions, questions with answers, what was upheld."""
    sure = reading(
        "compression",
        "",
        "190",
        sureness="0.61",
        rule="another was near",
        rivals=(Rival("one nineteen", "119 psi", "0.31"),),
    )
    kept = numbered(
        e.JobOpened("p", "", "", "", "j", (), "p", "e", "Kim", (), True, "Nils Aspen"),  # 1
        e.StepOpened("compression"),
        sure,  # 3
        e.RemarkKept("compression", "finding", "scored"),
        e.FindingDecided(4, "later", "ask me in March", "Nils Aspen", "2026-10-15", "Ada"),  # 5
        e.QuestionAsked(3, "was the throttle open?", "Ada"),
        e.QuestionAnswered(6, "it was", "Kim"),
        e.EntryUpheld(3, "heard it", "Ada"),  # 8
    )
    rows = {row["kind"]: row for row in rows_of(kept)}
    assert rows["customer"]["words"] == "Nils Aspen"
    value = rows["value"]
    assert (value["sureness"], value["rule"], value["rivals"], value["upheld"]) == (
        "0.61",
        "another was near",
        "one nineteen (119 psi) 0.31",
        "Ada",
    )
    decision = rows["decision"]
    assert [decision[c] for c in ("sequence", "about", "name", "words", "by", "on", "who")] == [
        "5", "4", "later", "ask me in March", "Nils Aspen", "2026-10-15", "Ada",
    ]  # fmt: skip
    question = rows["question"]
    assert [question[c] for c in ("about", "words", "who", "answer", "by")] == [
        "3",
        "was the throttle open?",
        "Ada",
        "it was",
        "Kim",
    ]
    assert [rows["upheld"][c] for c in ("about", "words", "who")] == ["3", "heard it", "Ada"]
    whole = json.loads(json_of(report_of(kept)))
    assert whole["customer"] == "Nils Aspen"
    assert whole["decisions"]["4"]["words"] == "ask me in March"
    assert whole["questions"][0]["answer"] == "it was"
    assert whole["upheld"]["3"]["who"] == "Ada"
    assert whole["steps"][0]["values"][0]["rivals"] == [{"words": "one nineteen", "means": "119 psi", "share": "0.31"}]


# --- from the command line


def test_written_from_the_command_line(
    folder: Path, tmp_path: Path, done: tuple[tuple[Kept, ...], Verdict], capsys: pytest.CaptureFixture[str]
) -> None:
    """`layup report JOB -o FILE.html --for customer` writes the sheet and says so."""
    out = tmp_path / "sheet.html"
    assert main(["report", str(folder / "1187.job"), "-o", str(out), "--for", "customer"]) == 0
    assert capsys.readouterr().out == f"written: {out}\n"
    assert out.read_text(encoding="utf-8") == customer_html(*with_clip(done))


WRONG = [
    (["-o", "r.csv", "--for", "customer"], ".csv customer's sheets are not made", "name a file that ends in .html, .pdf"),
    (["-o", "r.json", "--for", "tag"], ".json storage tags are not made", "name a file that ends in .html, .pdf"),
    (["-o", "r", "--for", "foreman"], "reports without an ending are not made", ".html, .csv, .json, .pdf"),
    (["-o", "r.html", "--address", "https://x"], "only a storage tag has that", "say --for tag"),
    (["-o", "r.html", "--for", "customer", "--full-name"], "only a storage tag has that", "say --for tag"),
    (["-o", "r.html", "--paper", "a6"], "only a storage tag has that", "say --for tag"),
    (["-o", "r.html", "--next-look", "March"], "only a storage tag has that", "say --for tag"),
]  # fmt: skip


@pytest.mark.parametrize(("more", "what", "do"), WRONG, ids=[" ".join(row[0]) for row in WRONG])
def test_wrong_calls_say_what_to_do(
    folder: Path,
    done: object,
    more: list[str],
    what: str,
    do: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    """What cannot be written is refused by name, with what can, before anything is written."""
    monkeypatch.chdir(tmp_path)
    assert main(["report", str(folder / "1187.job"), *more]) == 2
    told = capsys.readouterr().err
    assert what in told
    assert do in told
    assert not list(tmp_path.iterdir())
