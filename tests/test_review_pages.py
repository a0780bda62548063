"""The list, the job's page, every act by HTTP: just the entries promised, naming who; refused in words, and nothing changed."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from assistant.core import entries as e
from assistant.core.amending import refuse_strange
from assistant.core.job import fold
from assistant.core.problems import CallProblem
from assistant.files.answering import forget_sound
from assistant.files.job_file import JobFile
from assistant.files.keys import Locking, keys_root, known_keys, make_key
from assistant.files.times import utc_now
from assistant.files.verify import verify
from assistant.files.work import state_of, work_in
from assistant.measure.job_damage import content, tamper
from assistant.measure.review_client import Answer, Client
from assistant.measure.review_jobs import SOUND, draft, opened, small_entries, taken, write_job
from assistant.reports.job_report import report_of
from assistant.review import acting
from assistant.review.app import build_app
from assistant.review.jobs_page import search
from assistant.review.roles import MAY, ROLES, Role
from assistant.review.summary import Summary, summary_of
from assistant.review.timeline import ROWS_A_PAGE, JobView
from assistant.review.untrusted import entries_in, record_in
from tests.test_review_gate import NAMES, Bay, Browser

FOREMAN = "Ines Voss"
PASSPHRASE = "tight drain plug"
LIGHT = Locking(1, 8192)


def job_entries() -> list[e.Entry]:
    """1 opened, 2 step, 3 to 6 four pressures (5 heard with doubt, 6 too low), 7 a finding, 8 done, 9 finished."""
    chance = random.Random(4)
    sure: dict[str, Any] = {"sureness": "0.997", "rule": "all agree", "asked": "", "verdict": "within"}
    doubt = {**sure, "sureness": "0.81", "rule": "the ears differ", "asked": "one ninety or one eighty"}
    low = {**sure, "verdict": "low"}
    values = [("188", sure), ("186", sure), ("190", doubt), ("160", low)]
    return [
        opened(chance, 1),
        e.StepOpened("survey_1"),
        *(
            taken("survey_1", "pressure_1_1", f"cylinder {at}", value, chance, **more)
            for at, (value, more) in enumerate(values, 1)
        ),
        e.RemarkKept("survey_1", "finding", "the hose is cracked"),
        e.StepDone("survey_1", ()),
        e.JobFinished(1, 0),
    ]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    found = tmp_path / "jobs"
    found.mkdir()
    return found


@pytest.fixture
def job(folder: Path) -> Path:
    drafts = [draft(one, SOUND.row[0]) if one.kind == "reading kept" else draft(one) for one in job_entries()]
    return write_job(folder / "tern 7.job", drafts, [SOUND])


@pytest.fixture
def client(job: Path) -> Iterator[Client]:
    with Client(job.parent, who=FOREMAN) as made:
        yield made
        assert not made.told, made.told


BASE = "/jobs/tern%207"
TODAY = "2026-11-26"

ACTS: dict[str, tuple[dict[str, str], list[e.Entry]]] = {
    "uphold": ({"entry": "5", "why": " listened  to it "}, [e.EntryUpheld(5, "listened to it", FOREMAN)]),
    "ask": ({"entry": "6", "question": "Was the\nvalve open?"}, [e.QuestionAsked(6, "Was the valve open?", FOREMAN)]),
    "decide": (
        {"entry": "7", "decision": "later", "by": "Mira Holt", "on": TODAY, "words": "not this year"},
        [e.FindingDecided(7, "later", "not this year", "Mira Holt", TODAY, FOREMAN)],
    ),
}
"""What is sent, and the entries that are appended: these, in this order, and nothing else."""


def kinds(path: Path) -> list[str]:
    return [k.entry.kind for k in entries_in(path)]


def appended(path: Path, before: int) -> list[e.Entry]:
    return [k.entry for k in entries_in(path)[before:]]


# Acts


@pytest.mark.parametrize("act", ACTS)
def test_an_act_writes_just_its_entry_and_names_who(client: Client, job: Path, act: str) -> None:
    before = entries_in(job)
    fields, promised = ACTS[act]
    answer = client.post(f"{BASE}/{act}", {**fields, "order": "time"})
    assert answer.status == 303
    assert answer.header("location") == f"{BASE}?order=time&entry={fields['entry']}#e{fields['entry']}"
    assert entries_in(job)[: len(before)] == before
    assert appended(job, len(before)) == promised
    assert verify(job).whole


@pytest.mark.parametrize("act", ACTS)
def test_by_script_an_act_is_answered_with_its_row_and_what_is_open(client: Client, job: Path, act: str) -> None:
    fields, _ = ACTS[act]
    answer = client.post(f"{BASE}/{act}", fields, {"hx-request": "true", "accept": "application/json"})
    assert answer.status == 200
    assert f'id="e{fields["entry"]}"' in answer.text
    assert 'id="open" hx-swap-oob="true"' in answer.text
    assert "<html" not in answer.text


def test_an_amendment_names_who_why_and_what_it_replaces_and_judges_again(client: Client, job: Path) -> None:
    """160 of 188, 186, 190 was low by the spread of ten per cent too; at 180 it is within, and so it stands as amended."""
    answer = client.post(f"{BASE}/amend", {"entry": "6", "value": "180", "reason": "misheard", "other": ""})
    assert answer.status == 303
    amended, *again = appended(job, 9)
    assert isinstance(amended, e.Amended)
    assert (amended.who, amended.reason, amended.why, amended.replaces) == (FOREMAN, "misheard", e.AMENDED, 6)
    assert (amended.value, amended.unit, amended.verdict, amended.words) == ("180", "psi", "within", "")
    assert all(isinstance(one, e.ReadingKept) and not isinstance(one, e.Amended) and one.replaces for one in again)
    assert report_of(entries_in(job)).out_of_limits == ()
    assert verify(job).whole


def test_an_amendment_that_turns_another_verdict_writes_that_too(client: Client, job: Path) -> None:
    """Lowest within 10 % of highest: with 199 in the set, 176 falls out of it (176 < 179.1)."""
    assert client.post(f"{BASE}/amend", {"entry": "6", "value": "177", "reason": "measured again"}).status == 303
    assert report_of(entries_in(job)).out_of_limits == ()
    before = len(entries_in(job))
    assert client.post(f"{BASE}/amend", {"entry": "3", "value": "199", "reason": "misheard"}).status == 303
    amended, again = appended(job, before)
    assert (amended.value, amended.who) == ("199", FOREMAN)
    assert (again.value, again.verdict, again.at) == ("177", "low", "cylinder 4")


def test_a_question_is_answered_once_by_whoever_writes_it(client: Client, job: Path) -> None:
    client.post(f"{BASE}/ask", ACTS["ask"][0])
    fields = {"entry": "6", "question": "10", "words": "yes, it was"}
    assert client.post(f"{BASE}/answer", fields).status == 303
    assert appended(job, 10) == [e.QuestionAnswered(10, "yes, it was", FOREMAN)]
    again = client.post(f"{BASE}/answer", fields)
    assert again.status == 400
    assert "answered already" in again.text
    assert len(entries_in(job)) == 11


LONG = "w" * 2001
WRONG: list[tuple[str, dict[str, str], str]] = [
    ("uphold", {}, "that is no entry"),
    ("uphold", {"entry": "0"}, "no such entry"),
    ("uphold", {"entry": "10"}, "no such entry"),
    ("uphold", {"entry": "-1"}, "that is no entry"),
    ("uphold", {"entry": "\u0663"}, "that is no entry"),
    ("uphold", {"entry": "1e9"}, "that is no entry"),
    ("uphold", {"entry": "5", "why": LONG}, "2,001 characters"),
    ("amend", {"entry": "5", "value": "", "reason": "misheard"}, "no value"),
    ("amend", {"entry": "5", "value": "188", "reason": " "}, "needs a reason"),
    ("amend", {"entry": "5", "value": "190", "reason": "misheard"}, "kept there already"),
    ("amend", {"entry": "5", "value": "9000", "reason": "misheard"}, "cannot be"),
    ("amend", {"entry": "5", "value": "188 volts", "reason": "misheard"}, "no unit"),
    ("amend", {"entry": "5", "value": "<script>", "reason": "misheard"}, "no value of"),
    ("amend", {"entry": "5", "value": "9" * 400, "reason": "misheard"}, "no unit of"),
    ("amend", {"entry": "2", "value": "188", "reason": "misheard"}, "no reading that counts"),
    ("amend", {"entry": "77", "value": "188", "reason": "misheard"}, "no reading that counts"),
    ("ask", {"entry": "6", "question": "  \u200b\n"}, "a question is missing"),
    ("ask", {"entry": "77", "question": "why"}, "no such entry"),
    ("ask", {"question": "why"}, "that is no entry"),
    ("ask", {"entry": "6", "question": LONG}, "2,001 characters"),
    ("answer", {"entry": "6", "question": "6", "words": "yes"}, "no such question"),
    ("answer", {"entry": "6", "question": "x", "words": "yes"}, "that is no entry"),
    ("answer", {"entry": "6", "question": "10", "words": ""}, "an answer is missing"),
    ("decide", {"entry": "7", "decision": "maybe", "by": "M", "on": TODAY}, "no decision"),
    ("decide", {"entry": "7", "decision": "later", "by": "", "on": TODAY}, "who gave the answer"),
    ("decide", {"entry": "7", "decision": "later", "by": "M", "on": "26.11.2026"}, "no day"),
    ("decide", {"entry": "7", "decision": "later", "by": "M", "on": "2026-02-30"}, "no day"),
    ("decide", {"entry": "5", "decision": "later", "by": "M", "on": TODAY}, "no finding of this job"),
]


@pytest.mark.parametrize(("act", "fields", "told"), WRONG, ids=lambda part: str(part)[:40])
def test_wrong_input_is_told_in_words_and_changes_nothing(
    client: Client, job: Path, act: str, fields: dict[str, str], told: str
) -> None:
    before = content(job)
    for headers in ({}, {"hx-request": "true", "accept": "application/json"}):
        answer = client.post(f"{BASE}/{act}", fields, headers)
        assert answer.status == 400
        assert told in answer.text
    assert content(job) == before


def test_a_form_in_an_odd_coding_is_no_fault(client: Client, job: Path) -> None:
    """A part of a form may say that it is in `unicode_escape`: a lone surrogate then comes out of it (RFC 7578, 5.1.2)."""
    client.get("/")
    client.post(f"{BASE}/uphold", {"entry": "5"})
    parts = {"csrf": client.csrf, "entry": "6", "question": "\\ud800 why \\udfff"}
    body = "".join(
        f'--x\r\nContent-Disposition: form-data; name="{name}"\r\n'
        f"Content-Type: text/plain; charset=unicode_escape\r\n\r\n{text}\r\n"
        for name, text in parts.items()
    )
    headers = {"content-type": "multipart/form-data; boundary=x; charset=unicode_escape", "x-csrf": client.csrf}
    answer = client.send(f"{BASE}/ask", f"{body}--x--\r\n".encode(), headers)
    assert answer.status in (303, 400)
    for kept in entries_in(job):
        str(kept.entry.body()).encode()


# A job that is open at the bench


@pytest.mark.parametrize("act", [*ACTS, "amend", "answer"])
def test_a_job_at_the_bench_is_left_alone_and_that_is_told(client: Client, job: Path, act: str) -> None:
    fields = {
        "amend": {"entry": "5", "value": "180", "reason": "misheard"},
        "answer": {"entry": "5", "question": "5", "words": "x"},
    }
    with JobFile.open(job) as bench:
        before = bench.entries()
        for headers in ({}, {"hx-request": "true", "accept": "application/json"}):
            answer = client.post(f"{BASE}/{act}", ACTS[act][0] if act in ACTS else fields[act], headers)
            assert answer.status == 400
            assert "another program is writing to this job" in answer.text
        assert bench.entries() == before
        assert client.get(BASE).status == 200  # to look at it is always possible
    assert entries_in(job) == before


def test_the_bench_goes_on_after_an_act_of_the_foreman(client: Client, job: Path) -> None:
    client.post(f"{BASE}/uphold", ACTS["uphold"][0])
    with JobFile.open(job) as bench:
        kept = bench.append(e.JobResumed("p", "e", "Timo Hahl"), "2026-11-26T10:00:00.000Z")
    assert kept.sequence == 11
    assert verify(job).whole


# Signing


def settle(client: Client) -> None:
    """Uphold, amend and decide until nothing is open."""
    client.post(f"{BASE}/uphold", {"entry": "5"})
    client.post(f"{BASE}/amend", {"entry": "6", "value": "180", "reason": "misheard"})
    client.post(f"{BASE}/decide", ACTS["decide"][0])


def test_a_job_is_not_signed_while_anything_is_open_and_it_says_what(client: Client, job: Path) -> None:
    client.post(f"{BASE}/key", {"passphrase": PASSPHRASE, "again": PASSPHRASE})
    steps: list[tuple[str, dict[str, str], list[str]]] = [
        ("uphold", {"entry": "5"}, ["entry 5, doubtful", "entry 6, out of limits", "entry 7, finding"]),
        ("amend", {"entry": "6", "value": "180", "reason": "misheard"}, ["entry 6, out of limits", "entry 7, finding"]),
        ("ask", {"entry": "5", "question": "sure?"}, ["entry 7, finding"]),
        ("decide", ACTS["decide"][0], ["asked back", "entry 7, finding"]),
    ]
    for act, fields, open_now in steps:
        answer = client.post(f"{BASE}/sign", {"passphrase": PASSPHRASE})
        assert answer.status == 400
        for what in open_now:
            assert what in answer.text
        assert "not signed" in answer.text
        assert f"{len(open_now)} thing" in answer.text
        assert "job signed" not in kinds(job)
        assert client.post(f"{BASE}/{act}", fields).status == 303
    asked = next(k.sequence for k in entries_in(job) if isinstance(k.entry, e.QuestionAsked))
    assert client.post(f"{BASE}/sign", {"passphrase": PASSPHRASE}).status == 400
    assert client.post(f"{BASE}/answer", {"entry": "5", "question": str(asked), "words": "yes"}).status == 303
    answer = client.post(f"{BASE}/sign", {"passphrase": PASSPHRASE})
    assert (answer.status, answer.header("location")) == (303, BASE)
    last = entries_in(job)[-1].entry
    assert isinstance(last, e.JobSigned)
    assert last.who == FOREMAN
    verdict = verify(job, known_keys(keys_root()))
    assert verdict.whole
    assert [(one.who, one.known) for one in verdict.signed] == [(FOREMAN, FOREMAN)]
    assert summary_of(job).state == "signed"


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"passphrase": "wrong one"}, "not the passphrase"),
        ({}, "not the passphrase"),
        ({"passphrase": "\0"}, "not the"),
    ],
)
def test_a_wrong_passphrase_signs_nothing(client: Client, job: Path, fields: dict[str, str], told: str) -> None:
    settle(client)
    client.post(f"{BASE}/key", {"passphrase": PASSPHRASE, "again": PASSPHRASE})
    before = content(job)
    answer = client.post(f"{BASE}/sign", fields)
    assert answer.status == 400
    assert told in answer.text
    assert content(job) == before


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"passphrase": "short", "again": "short"}, "too short"),
        ({"passphrase": PASSPHRASE, "again": "other"}, "differ"),
        ({}, "too short"),
    ],
)
def test_a_key_needs_a_passphrase_typed_twice(client: Client, fields: dict[str, str], told: str) -> None:
    answer = client.post(f"{BASE}/key", fields)
    assert answer.status == 400
    assert told in answer.text
    assert not known_keys(keys_root())


def test_without_a_key_it_is_not_signed_and_offers_one(client: Client, job: Path) -> None:
    settle(client)
    assert "There is no signing key called Ines Voss" in client.get(f"{BASE}/sign").text
    answer = client.post(f"{BASE}/sign", {"passphrase": PASSPHRASE})
    assert answer.status == 400
    assert "job signed" not in kinds(job)


def test_what_is_asked_back_while_the_passphrase_is_checked_is_not_signed_over(
    client: Client, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Checking it takes a second: who asks in that second is heard."""
    settle(client)
    client.post(f"{BASE}/key", {"passphrase": PASSPHRASE, "again": PASSPHRASE})
    unlock = acting.unlock

    def slowly(path: Path, passphrase: str) -> Any:
        acting.ask(job, 5, "really?", "Lene Mark")
        return unlock(path, passphrase)

    monkeypatch.setattr(acting, "unlock", slowly)
    answer = client.post(f"{BASE}/sign", {"passphrase": PASSPHRASE})
    assert answer.status == 400
    assert "asked back" in answer.text
    assert "job signed" not in kinds(job)


def test_a_name_that_is_a_path_finds_no_key(folder: Path, job: Path, tmp_path: Path) -> None:
    (tmp_path / "evil.key").write_text("{}")
    for who in ("../evil", str(tmp_path / "evil.key"), "evil.key"):
        with Client(folder, who=who) as client:
            settle(client)
            assert client.get(f"{BASE}/sign").status == 200
            assert client.post(f"{BASE}/sign", {"passphrase": PASSPHRASE}).status == 400
            assert not client.told


def test_nothing_is_judged_in_a_file_whose_values_are_not_its_procedures(folder: Path) -> None:
    """Whoever made it: the engine that judges anew is asked only about what it could have kept itself."""
    chance = random.Random(3)
    bad: list[dict[str, str]] = [
        {"step": "survey_9"}, {"name": "other"}, {"at": "cylinder 99"}, {"at": ""}, {"unit": "V"}, {"value": "NaN"},
        {"value": "1e999"},
        {"said_value": "x"}, {"said_unit": ""}, {"value": "9" * 400},
    ]  # fmt: skip
    for number, fields in enumerate(bad):
        odd = replace(taken("survey_1", "pressure_1_1", "cylinder 2", "188", chance), **fields)
        path = write_job(folder / f"odd{number}.job", [*job_entries()[:4], odd])
        before = content(path)
        with Client(folder) as client:
            answer = client.post(f"/jobs/odd{number}/amend", {"entry": "3", "value": "180", "reason": "misheard"})
            assert answer.status == 400
            assert "no value that the job&#39;s own procedure asks for" in answer.text
            assert not client.told
        assert content(path) == before


def test_every_value_that_an_engine_kept_is_its_procedures(job: Path) -> None:
    with JobFile.open(job, read_only=True) as job_file:
        state = replace(state_of(work_in(job_file), date(2026, 11, 26)), job=fold(job_file.entries()))
    refuse_strange(state)
    strange = replace(
        state, job=fold((*entries_in(job), e.Kept(10, "x", taken("no", "no", "", "1", random.Random(1)))))
    )
    with pytest.raises(CallProblem):
        refuse_strange(strange)


# What the page says of a signature


def signed_job(client: Client, job: Path) -> None:
    """The job, settled and signed on the pages; the key under a light lock, for it is made often."""
    settle(client)
    make_key(FOREMAN, PASSPHRASE, keys_root(), LIGHT)
    assert client.post(f"{BASE}/sign", {"passphrase": PASSPHRASE}).status == 303


def open_box(client: Client) -> str:
    """The text of the box that says what is open."""
    found = re.search(r'<section id="open".*?</section>', client.get(BASE).text, re.DOTALL)
    assert found
    return " ".join(re.sub(r"<[^>]*>", " ", found[0]).split())


def state_line(html: str) -> str:
    found = re.search(r'<span id="state"[^>]*>.*?</svg>\s*([^<]*)</span>', html, re.DOTALL)
    assert found
    return found[1].strip()


def test_a_signed_job_says_by_whom_and_offers_no_second_signature(client: Client, job: Path) -> None:
    """In the words of `verify`, the key known to this machine or not; after its sound was forgotten too."""
    signed_job(client, job)
    [signed] = verify(job, known_keys(keys_root())).signed
    assert open_box(client) == f"It is {signed}. Nothing is open."
    assert forget_sound(job, utc_now(), "Lene Mark", "asked for")
    assert open_box(client) == f"It is {signed}. Nothing is open."
    assert state_line(client.get(BASE).text) == "signed"
    for pem in keys_root().glob("*.pem"):
        pem.unlink()
    assert "not known here: compare it with the signer's own" in open_box(client).replace("&#39;", "'")


def test_what_is_changed_after_the_signature_is_told_and_can_be_signed_again(client: Client, job: Path) -> None:
    """Beside the act as on the page: the heading and the box say the same, and the way to sign is there."""
    signed_job(client, job)
    by_script = {"hx-request": "true", "accept": "application/json"}
    answer = client.post(f"{BASE}/amend", {"entry": "5", "value": "189", "reason": "misheard"}, by_script)
    assert state_line(answer.text) == "to be reviewed"
    for html in (answer.text, client.get(BASE).text):
        assert "1 entry came after the signature: sign again." in html
        assert 'data-key="s"' in html
        assert "It is signed" not in html
    assert client.post(f"{BASE}/sign", {"passphrase": PASSPHRASE}).status == 303
    assert open_box(client).startswith("It is signed by Ines Voss in entry")
    assert summary_of(job).state == "signed"


def test_the_page_to_sign_on_says_at_once_that_it_is_signed(client: Client, job: Path) -> None:
    """No passphrase is asked for in vain, and nothing that is well stands in a box of errors."""
    signed_job(client, job)
    before = content(job)
    for answer in (client.get(f"{BASE}/sign"), client.post(f"{BASE}/sign", {"passphrase": PASSPHRASE})):
        assert "It is signed by Ines Voss in entry" in answer.text
        assert "passphrase" not in answer.text
        assert 'role="alert"' not in answer.text
    assert content(job) == before


FALSE: dict[str, str] = {
    "zeroed": f"UPDATE signature SET signature = '{'0' * 128}';",
    "taken out": "DELETE FROM signature;",
    "of another key": f"UPDATE signature SET key = '{'1' * 64}';",
    "of another entry": "UPDATE signature SET entry = 3;",
    "beyond the end": "UPDATE signature SET entry = 99; DELETE FROM entry WHERE kind = 'job signed';",
    "no text": "UPDATE signature SET hash = '';",
}


@pytest.mark.parametrize("script", FALSE.values(), ids=FALSE)
def test_a_signature_that_does_not_fit_is_shown_as_none(client: Client, job: Path, script: str) -> None:
    """What `verify` finds not whole is nowhere called signed: list, search, job, the page to sign on, the foreman's sheet."""
    signed_job(client, job)
    tamper(job, script)
    fault = verify(job).fault
    assert fault is not None
    record = record_in(job)
    assert (record.misfit, record.signed) == (fault, ())
    assert summary_of(job).state == JobView(record).state == "signature does not fit"
    listed = client.get("/").text
    assert "1 signature does not fit" in listed
    assert "see what <code>layup verify</code> says of it" in listed
    assert names_in(client.get("/?state=signature+does+not+fit").text) == {"tern%207"}
    assert names_in(client.get("/?q=signed").text) == set() == names_in(client.get("/?state=signed").text)
    assert state_line(client.get(BASE).text) == "signature does not fit"
    for address in (f"{BASE}?order=time", f"{BASE}/sign", f"{BASE}/papers/foreman"):
        assert not re.search(r"\bsigned by\b", client.get(address).text), address
    assert "Signature does not fit:" in open_box(client)
    assert 'data-key="s"' not in client.get(BASE).text
    assert 'name="passphrase"' not in client.get(f"{BASE}/sign").text
    named = "job signed" in kinds(job)
    assert ("a signature that does not count" in client.get(f"{BASE}/papers/foreman").text) == named
    assert client.post(f"{BASE}/sign", {"passphrase": PASSPHRASE}).status == 422


def test_a_good_signature_is_found_so_by_the_pages_too(client: Client, job: Path) -> None:
    signed_job(client, job)
    record, verdict = record_in(job), verify(job)
    assert (record.signed, record.misfit) == (verdict.signed, None)
    assert len(record.signed) == 1


def test_the_list_goes_on_to_whatever_is_not_signed(client: Client, job: Path) -> None:
    """A job with nothing open waits for its signature: *n* of the list stops there; what is signed or no job it passes by."""
    (job.parent / "bad.job").write_bytes(b"no job")
    settle(client)
    listed = whole_list(client, "/")
    assert re.search(r'href="/jobs/tern%207" data-open', listed)
    assert not re.search(r'href="/jobs/bad" data-open', listed)
    signed_job(client, job)
    assert not re.search(r'href="/jobs/tern%207" data-open', client.get("/").text)


# What is let stand


@pytest.mark.parametrize("entry", ["1", "3", "7", "9"])
def test_only_what_is_open_can_be_let_stand(client: Client, job: Path, entry: str) -> None:
    """Neither what nobody doubts, nor a finding, which is the customer's to decide."""
    before = content(job)
    answer = client.post(f"{BASE}/uphold", {"entry": entry})
    assert answer.status == 400
    assert "nothing of it is open that could be kept" in answer.text
    assert content(job) == before


def test_what_was_let_stand_is_not_let_stand_again_and_stays_signed(client: Client, job: Path) -> None:
    assert client.post(f"{BASE}/uphold", {"entry": "5"}).status == 303
    assert client.post(f"{BASE}/uphold", {"entry": "5"}).status == 400
    signed_job(client, job)
    before = content(job)
    for entry in range(1, len(entries_in(job)) + 1):
        assert client.post(f"{BASE}/uphold", {"entry": str(entry)}).status == 400
    assert content(job) == before
    assert summary_of(job).state == "signed"


# Who may


POSTS: dict[str, dict[str, str]] = {
    **{act: fields for act, (fields, _) in ACTS.items()},
    "amend": {"entry": "5", "value": "180", "reason": "misheard"},
    "sign": {"passphrase": PASSPHRASE},
    "key": {"passphrase": PASSPHRASE, "again": PASSPHRASE},
    "answer": {"entry": "6", "question": "10", "words": "yes"},
}


@pytest.fixture
def bay(tmp_path: Path, job: Path) -> Bay:
    made = Bay(tmp_path)
    made.app = build_app(job.parent, made.settings, tmp_path / "summaries.json")
    return made


def sent(browser: Browser, act: str) -> Any:
    found = re.search(r'data-csrf="([0-9a-f]{64})"', browser.get("/").text)
    return browser.post(f"{BASE}/{act}", data={"csrf": found[1] if found else "", **POSTS[act]})


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("act", POSTS)
def test_an_act_is_for_whom_the_table_says(bay: Bay, job: Path, role: Role, act: str) -> None:
    before = content(job)
    answer = sent(bay.inside(role), act)
    needed = "sign" if act == "key" else act
    if needed in MAY[role]:
        assert answer.status_code in (303, 400)
        assert "You are here as" not in answer.text
    else:
        assert answer.status_code == 403
        assert f"You are here as {NAMES[role]}, {role}" in answer.text
        assert content(job) == before
        assert not known_keys(keys_root())
    assert not [line for line in bay.log if "fault" in line]


@pytest.mark.parametrize("act", POSTS)
def test_who_is_not_logged_in_changes_nothing(bay: Bay, job: Path, act: str) -> None:
    before = content(job)
    answer = bay.browser().post(f"{BASE}/{act}", data=POSTS[act])
    assert answer.status_code in (303, 401, 403)
    assert content(job) == before


def test_the_technician_answers_under_his_own_name_and_sees_no_form_of_the_foremans(bay: Bay, job: Path) -> None:
    sent(bay.inside("foreman"), "ask")
    technician = bay.inside("technician")
    assert sent(technician, "answer").status_code == 303
    assert entries_in(job)[-1].entry == e.QuestionAnswered(10, "yes", NAMES["technician"])
    page = technician.get(f"{BASE}?order=time").text
    for act in ("uphold", "amend", "ask", "decide", "sign", "key"):
        assert f'action="{BASE}/{act}"' not in page
    assert technician.get(f"{BASE}/sign").status_code == 403
    assert technician.get(f"{BASE}/clips/{SOUND.row[0]}").status_code == 200


@pytest.mark.parametrize("act", POSTS)
def test_without_the_token_nothing_is_changed(bay: Bay, job: Path, act: str) -> None:
    before = content(job)
    assert bay.inside("foreman").post(f"{BASE}/{act}", data=POSTS[act]).status_code == 403
    assert content(job) == before


# The list


SEARCHES: list[tuple[str, Callable[[list[e.Entry]], bool]]] = [
    ("tern", lambda found: "model: Tern 3" in first(found).sheet_text),
    ("TERN 3", lambda found: "model: Tern 3" in first(found).sheet_text),
    ("XHY00007", lambda found: first(found).number.startswith("XHY00007")),
    ("holt", lambda found: first(found).customer == "Mira Holt"),
    ("timo hahl", lambda found: first(found).technician == "Timo Hahl"),
    ("2026-10-14", lambda found: True),
    ("tern holt", lambda found: "Tern 3" in first(found).sheet_text and first(found).customer == "Mira Holt"),
    ("signed", lambda found: False),
    ("nobody", lambda found: False),
]


def first(found: list[e.Entry]) -> e.JobOpened:
    assert isinstance(found[0], e.JobOpened)
    return found[0]


@pytest.mark.parametrize(("words", "has"), SEARCHES, ids=lambda part: part if isinstance(part, str) else "")
def test_a_search_finds_every_job_that_has_all_its_words_and_no_other(
    folder: Path, words: str, has: Callable[[list[e.Entry]], bool]
) -> None:
    """By machine, hull number, customer, technician and day; against the entries themselves."""
    jobs = {f"w{number:02}": small_entries(random.Random(number), number) for number in range(30)}
    for name, entries in jobs.items():
        write_job(folder / f"{name}.job", entries)
    with Client(folder) as client:
        html = whole_list(client, f"/?q={words.replace(' ', '+')}")
    assert names_in(html) == {name for name, entries in jobs.items() if has(entries)}


def whole_list(client: Client, address: str) -> str:
    for _ in range(200):
        html = client.get(address).text
        if "still being read" not in html:
            return html
    raise AssertionError("never read")


def names_in(html: str) -> set[str]:
    return set(re.findall(r'<th scope="row"><a href="/jobs/([^"]*)"', html))


def test_states_and_pages_of_the_list(folder: Path) -> None:
    for number in range(205):
        entries = small_entries(random.Random(number), number)
        write_job(folder / f"w{number:03}.job", entries)
    (folder / "bad.job").write_bytes(b"no job")
    with Client(folder) as client:
        html = whole_list(client, "/")
        assert "<strong>206</strong> jobs" in html
        pages = [names_in(client.get(f"/?page={page}").text) for page in (1, 2, 3, 4)]
        assert [len(names) for names in pages] == [100, 100, 6, 6]
        assert pages[2] == pages[3]
        assert len(set.union(*pages)) == 206
        finished = {
            n for n in range(205) if any(isinstance(x, e.JobFinished) for x in small_entries(random.Random(n), n))
        }
        reviewed = client.get("/?state=to+be+reviewed").text
        assert f"<strong>{len(finished)}</strong>" in reviewed
        assert names_in(client.get("/?state=cannot+be+read").text) == {"bad"}
        assert "this is no job file" in client.get("/?state=cannot+be+read").text
        assert client.get("/", {"hx-request": "true"}).text.startswith('<div id="found">')


def test_the_list_follows_the_files(folder: Path, job: Path) -> None:
    """A job that changed, came, or went: at the next look."""
    with Client(folder, who=FOREMAN) as client:
        assert names_in(whole_list(client, "/")) == {"tern%207"}
        settle(client)
        assert re.search(r'data-label="To look at">nothing', client.get("/").text)
        write_job(folder / "new.job", small_entries(random.Random(1), 1))
        assert names_in(client.get("/").text) == {"tern%207", "new"}
        job.unlink()
        assert names_in(client.get("/").text) == {"new"}


def test_newest_first_and_pages_within_their_number() -> None:
    all_of = tuple(Summary(f"j{n}", "open", began=f"2026-10-{n % 28 + 1:02}T09:00:00.000Z") for n in range(250))
    found = search(all_of, "", "", 99)
    assert (found.page, found.pages, len(found.rows), found.count) == (3, 3, 50, 250)
    began = [row.began for row in search(all_of, "", "", 1).rows]
    assert began == sorted(began, reverse=True)


# The job's page


def rows_in(html: str) -> list[int]:
    return [int(found) for found in re.findall(r'<article id="e(\d+)"', html)]


def test_the_three_orders(client: Client, job: Path) -> None:
    """Doubtful first: what is open, worst kind first; as it happened: every entry; open only: what holds up the signature."""
    assert rows_in(client.get(f"{BASE}?order=open").text) == [6, 7, 5]
    doubtful = rows_in(client.get(BASE).text)
    assert doubtful[:3] == [6, 7, 5]
    assert set(doubtful) == {3, 4, 5, 6, 7}
    assert rows_in(client.get(f"{BASE}?order=time").text) == list(range(1, 10))
    assert rows_in(client.get(f"{BASE}?order=other").text) == doubtful


def test_pages_of_rows_and_the_page_with_an_entry(folder: Path) -> None:
    many = [*job_entries()[:2], *(e.RemarkKept("survey_1", "note", f"note {n}") for n in range(150))]
    path = write_job(folder / "many.job", many)
    view = JobView(record_in(path))
    with Client(folder) as client:
        seen: list[int] = []
        for page in (1, 2, 3):
            rows = rows_in(client.get(f"/jobs/many?order=time&page={page}").text)
            assert len(rows) == (ROWS_A_PAGE if page < 3 else 32)
            seen += rows
        assert seen == list(view.order("time")) == list(range(1, 153))
        for entry in (1, 60, 61, 120, 121, 152):
            assert entry in rows_in(client.get(f"/jobs/many?order=time&entry={entry}").text)
        assert rows_in(client.get("/jobs/many?order=time&entry=999").text)[0] == 1
        assert client.get("/jobs/many/entries/152").status == 200
        assert client.get("/jobs/many/entries/153").status == 404
        assert client.get("/jobs/many/entries/0").status == 404


def test_a_row_says_what_was_asked_heard_kept_and_how_sure(client: Client) -> None:
    html = client.get(f"{BASE}/entries/5").text
    for text in (
        "Pressure 1",
        "cylinder 3",
        "190 psi",
        "81.0",
        "the ears differ",
        "one ninety or one eighty",
        f"/clips/{SOUND.row[0]}",
    ):
        assert text in html
    assert "entry 5" in html


def test_an_amended_value_keeps_its_old_words_and_its_sound(client: Client, job: Path) -> None:
    """In the order that the page opens with, beside the old value, which is linked where it stands: as it happened."""
    client.post(f"{BASE}/amend", {"entry": "5", "value": "189", "reason": "misheard"})
    html = client.get(BASE).text
    row = html[html.index('<article id="e10"') :].partition("</article>")[0]
    assert "<del>190 psi</del>" in row
    assert 'heard: <span class="said">“cylinder 3 190”</span>' in row
    assert f'<audio controls preload="none" src="{BASE}/clips/{SOUND.row[0]}" aria-label="sound of entry 5">' in row
    assert f'href="{BASE}?order=time&amp;entry=5#e5"' in row
    assert 'href="#e' not in html.replace('href="#main"', "")


def test_a_value_that_was_replaced_is_headed_by_its_reading(client: Client) -> None:
    client.post(f"{BASE}/amend", {"entry": "5", "value": "189", "reason": "misheard"})
    html = client.get(f"{BASE}?order=time").text
    heading = re.search(r'<h2 id="t5">([^<]*)</h2>', html)
    assert heading
    assert heading[1] == "pressure 1 1, cylinder 3"
    assert f'href="{BASE}?order=time&amp;entry=10#e10"' in html


def test_where_sound_was_forgotten_there_is_no_player(client: Client, job: Path) -> None:
    """Of the entry, of the value before an amendment, of an answer: each says that its sound was removed."""
    client.post(f"{BASE}/amend", {"entry": "5", "value": "189", "reason": "misheard"})
    assert "<audio" in client.get(BASE).text
    assert "sound removed" not in client.get(BASE).text
    assert forget_sound(job, utc_now(), "Lene Mark", "asked for")
    for order in ("doubtful", "time"):
        html = client.get(f"{BASE}?order={order}").text
        assert "<audio" not in html
        assert html.count("sound removed") >= 4


def test_the_page_shows_what_others_did_meanwhile(client: Client, job: Path) -> None:
    """A view is made anew when its file has changed."""
    assert "upheld" not in client.get(f"{BASE}/entries/5").text
    with JobFile.open(job) as bench:
        bench.append(e.EntryUpheld(5, "heard it too", "Lene Mark"), "2026-11-26T10:00:00.000Z")
        answer: Answer = client.get(f"{BASE}/entries/5")
        assert "heard it too" in answer.text
    assert "says Lene Mark" in client.get(f"{BASE}/entries/5").text
