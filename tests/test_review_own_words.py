"""The foreman's own words on the pages, for the customer's sheet; the day of the customer's answer; the code of a tag."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from job_samples import at, reading

from assistant.core import entries as e
from assistant.files.job_file import JobFile
from assistant.files.verify import verify
from assistant.measure.job_damage import content
from assistant.measure.review_client import Client
from assistant.reports.customer_sheet import sheet_of
from assistant.reports.storage_tag import link_of
from assistant.review.untrusted import entries_in

FOREMAN = "Ines Voss"
PROCEDURE = """
procedure: p
title: P
version: 1
for: p
steps:
  - id: a
    title: Oil
    say: Say how the oil looks.
    readings:
      - name: oil
        ask: Oil
        choices: [{name: amber, words: [amber]}, {name: black, words: [black], good: no}]
        finding: {say: the oil is black}
"""
OPENED = e.JobOpened(
    "p", PROCEDURE, "model: Heron 3\nfor: p\n", "shop: Heron Yard\ngallon: us_gal\n", "j", (), "p", "e", "Timo Hahl"
)
LOW = reading(
    "compression", "", "160", verdict="low", limit="at least 175 psi (page 4)", sureness="0.99", rule="all agree"
)
WORK: tuple[e.Entry, ...] = (
    OPENED,
    e.StepOpened("compression"),
    LOW,  # 3
    e.RemarkKept("compression", "finding", "blood who is black"),  # 4
    e.StepUnable("compression", "there is no aim node"),  # 5
    e.JobFinished(0, 1),
)
FOUND_ON = at(4)[:10]


def written(path: Path, entries: tuple[e.Entry, ...]) -> Path:
    with JobFile.create(path) as job:
        for n, entry in enumerate(entries, 1):
            job.append(entry, at(n))
    return path


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return written(tmp_path / "tern 7.job", WORK)


@pytest.fixture
def client(job: Path) -> Iterator[Client]:
    with Client(job.parent, who=FOREMAN) as made:
        yield made
        assert not made.told, made.told


BASE = "/jobs/tern%207"
ANSWER = {"entry": "4", "decision": "later", "by": "Mira Holt", "on": FOUND_ON}
DECIDED = e.FindingDecided(4, "later", "", "Mira Holt", FOUND_ON, FOREMAN)
OWN = "the cooling mixture is black"


def added(job: Path) -> list[e.Entry]:
    return [k.entry for k in entries_in(job)[len(WORK) :]]


def test_a_finding_is_put_right_with_the_customers_answer(client: Client, job: Path) -> None:
    """The foreman's words are kept before the answer, once, and the sheet has them as his; else it has the ears', as such."""
    assert client.post(f"{BASE}/decide", ANSWER).status == 303
    assert added(job) == [DECIDED]
    assert [(one.words, one.heard) for one in sheet_of(entries_in(job), verify(job)).found] == [
        ("blood who is black", True)
    ]
    for _ in range(2):  # decided anew, with the same words
        assert client.post(f"{BASE}/decide", {**ANSWER, "own": f"  {OWN} "}).status == 303
    assert added(job) == [DECIDED, e.EntryUpheld(4, OWN, FOREMAN), DECIDED, DECIDED]
    assert [(one.words, one.heard) for one in sheet_of(entries_in(job), verify(job)).found] == [(OWN, False)]
    page = client.get(BASE).text
    assert f"in the words of {FOREMAN}, for the customer's sheet: {OWN}" in page
    assert f'name="own" value="{OWN}"' in page
    assert verify(job).whole


def test_why_a_value_stands_and_why_a_step_was_left_reach_the_sheet(client: Client, job: Path) -> None:
    """What is typed beside *Keep* is told to the customer: with the value that is out of its limits, and as the reason."""
    page = client.get(BASE).text
    assert page.count('name="why"') == 2
    assert page.count("Why it was not done, in your own words, for the customer's sheet") == 1
    assert page.count("Why, for the customer's sheet (may be left empty)") == 1
    for entry, why in (("3", "rings are on order"), ("5", "no anode in stock")):
        assert client.post(f"{BASE}/uphold", {"entry": entry, "why": why}).status == 303
    sheet = sheet_of(entries_in(job), verify(job))
    assert [(row.why, row.who) for row in sheet.measured] == [("rings are on order", FOREMAN)]
    assert [(left.reason, left.heard) for left in sheet.not_done] == [("no anode in stock", False)]


def test_a_finding_that_the_procedure_wrote_has_no_field_for_other_words(tmp_path: Path) -> None:
    """Its words are the procedure's own: no field is shown for others, and none are taken; why its value stands has its own."""
    black = reading("oil", "", "black", "", step="a", verdict="outside", limit="")
    path = written(tmp_path / "tern 7.job", (OPENED, e.StepOpened("a"), black))
    with Client(tmp_path, who=FOREMAN) as client:
        page = client.get(BASE).text
        assert "the oil is black" in page
        assert 'name="own"' not in page
        assert 'name="why"' in page
        answer = client.post(f"{BASE}/decide", {**ANSWER, "entry": "3", "own": "other"})
        assert (answer.status, "the procedure" in answer.text) == (400, True)
        assert client.post(f"{BASE}/uphold", {"entry": "3", "why": "seen"}).status == 303
    assert [one.words for one in sheet_of(entries_in(path), verify(path)).found] == ["the oil is black"]


def test_a_row_says_what_was_asked_and_what_the_step_told(client: Client, tmp_path: Path) -> None:
    """A short question alone does not say what of: the step's own sentence stands beside it."""
    amber = reading("oil", "", "amber", "", step="a", verdict="within", limit="")
    written(tmp_path / "oil.job", (OPENED, e.StepOpened("a"), amber))
    assert "asked: Oil; the step says: Say how the oil looks." in client.get("/jobs/oil").text


# --- the day of an answer


def days_from(found: str, by: int) -> str:
    return str((datetime.fromisoformat(found) + timedelta(days=by)).date())


def today(by: int) -> str:
    return str((datetime.now(UTC) + timedelta(days=by)).date())


FORMS = [
    "2026-W48-3",
    "20261125",
    "2026-11-25T09:00",
    " 2026-11-25",
    "2026-1-5",
    "2026-02-30",
    "\u0662026-11-25",
    "0000-00-00",
    "",
]
"""Forms of ISO 8601 that no browser sends, digits of other scripts, days that there are not."""
IMPOSSIBLE = [
    ("1912-01-01", "before the finding"),
    (days_from(at(4), -2), "before the finding"),
    ("2199-01-01", "still to come"),
]


@pytest.mark.parametrize(("on", "told"), [*((one, "no day") for one in FORMS), *IMPOSSIBLE])
def test_an_impossible_day_is_refused_and_changes_nothing(client: Client, job: Path, on: str, told: str) -> None:
    """Only YYYY-MM-DD, no day before there was a finding, none to come: told beside the row, with what to write."""
    before = content(job)
    answer = client.post(
        f"{BASE}/decide", {**ANSWER, "on": on, "own": OWN}, {"hx-request": "true", "accept": "application/json"}
    )
    assert answer.status == 400
    assert told in answer.text
    assert content(job) == before


@pytest.mark.parametrize("by", [-1, 0, 1, 2])
def test_the_days_up_to_tomorrow_are_taken(client: Client, job: Path, by: int) -> None:
    """Where the clocks are ahead of UTC it may be tomorrow; the day after is to come everywhere."""
    assert client.post(f"{BASE}/decide", {**ANSWER, "on": today(by)}).status == (303 if by < 2 else 400)


def test_a_day_that_was_still_yesterday_where_the_finding_was_made_is_taken(client: Client) -> None:
    """At nine in the morning UTC it is the day before twelve hours behind (ISO 8601, 5.3.4: UTC offsets)."""
    assert client.post(f"{BASE}/decide", {**ANSWER, "on": days_from(at(4), -1)}).status == 303


# --- the code of a tag


def test_the_code_of_a_tag_finds_its_job_and_says_whether_it_is_of_that_record(client: Client, job: Path) -> None:
    """Typed into the search it shows the job that it names, and when it was made, or that it is of another record."""
    code = link_of(verify(job))
    written(job.with_name("tern 77.job"), WORK[:1])

    def found(words: str) -> str:
        return client.get(f"/?q={words.replace('%', '%25').replace('#', '%23').replace(' ', '+')}").text

    for words in (code, f"  {code.upper().replace('TERN', 'tern')} "):
        page = found(words)
        assert "<strong>1</strong> job" in page
        assert f'href="{BASE}"' in page
        assert "The tag is of this record: it was made when the last entry was number 6." in page
    client.post(f"{BASE}/uphold", {"entry": "3"})
    assert "it was made when the last entry was number 6." in found(code)
    other_record = found(f"layup:tern%207#{'0' * 16}")
    assert "<strong>1</strong> job" in other_record
    assert f"none of its entries has a hash that begins with {'0' * 16}." in other_record
    assert "<strong>0</strong> jobs" in found("layup:tern#ab")
    assert "The tag" not in found("layup:tern%207")
