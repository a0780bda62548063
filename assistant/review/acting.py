"""What a person does to a job on the pages: each is one entry (or two) appended to its file, naming who did it.

The file is opened to write for that moment only. While a technician works on the job it cannot be: that is told, nothing is
lost, and it may be tried again when the job is closed. Every refusal is a CallProblem in words.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from re import ASCII, fullmatch

from assistant.core import entries as e
from assistant.core.entries import Kept
from assistant.core.problems import CallProblem
from assistant.files.amending import amend as amend_entry
from assistant.files.answering import sign_job
from assistant.files.job_file import JobFile
from assistant.files.keys import SECRET, key_file, key_name, make_key, unlock
from assistant.files.times import utc_now
from assistant.reports.job_report import report_of
from assistant.reports.open_items import refuse_open
from assistant.review.untrusted import entries_in, refuse_odd

LONGEST_CHARACTERS = 2000
"""Of a reason, a question, an answer: longer belongs into a letter."""


def amend(path: Path, sequence: int, value: str, reason: str, who: str) -> tuple[Kept, ...]:
    """Another value for a kept one; its old one stays, with its sound."""
    with _to_write(path) as job_file:
        return amend_entry(job_file, utc_now(), sequence, _plain(value), _plain(reason), who)


def uphold(path: Path, sequence: int, why: str, who: str) -> Kept:
    """The entry was looked at, and stands as it is."""
    with _to_write(path) as job_file:
        _entry(job_file, sequence)
        return job_file.append(e.EntryUpheld(sequence, _plain(why), who), utc_now())


def ask(path: Path, about: int, text: str, who: str) -> Kept:
    """A question that is read out to the technician when the job is taken up again. `about` is an entry, 0 the job."""
    text = _needed(text, "a question", "write what the technician is to be asked")
    with _to_write(path) as job_file:
        if about:
            _entry(job_file, about)
        return job_file.append(e.QuestionAsked(about, text, who), utc_now())


def answer(path: Path, question: int, words: str, who: str) -> Kept:
    """What the technician writes to a question, instead of saying it in the bay."""
    words = _needed(words, "an answer", "write it, or say it in the bay: `layup resume`")
    with _to_write(path) as job_file:
        asked = next((q for q in report_of(job_file.entries()).questions if q.sequence == question), None)
        if asked is None or asked.answered:
            what = "that question was answered already" if asked else "there is no such question"
            raise CallProblem(what, where=f"entry {question}", do="open the job again")
        return job_file.append(e.QuestionAnswered(question, words, who), utc_now())


def decide(path: Path, finding: int, decision: str, words: str, by: str, on: str, who: str, own: str = "") -> Kept:
    """The customer's answer to a finding: who of the customer's side gave it, and on which day.

    `own`: what was found, in the foreman's words for the customer's sheet, which then stand there for those that the ears made
    out: kept before the answer, as the reason for which the finding stands, where they are not what stands there already.
    """
    by = _needed(by, "the name of who gave the answer", "write who of the customer's side said so")
    if decision not in e.DECISIONS:
        raise CallProblem(f"{decision!r} is no decision", where="decision", do=f"choose {', '.join(e.DECISIONS)}")
    day, words, own = _day(on), _plain(words), _plain(own)
    with _to_write(path) as job_file:
        report = report_of(job_file.entries())
        found = next((f for f in report.findings if f.sequence == finding), None)
        if found is None:
            raise CallProblem("that is no finding of this job", where=f"entry {finding}", do="open the job again")
        if own and found.written:
            do = "write why its value stands beside *Keep*"
            raise CallProblem("the words of that finding are the procedure's own", where=f"entry {finding}", do=do)
        _possible(day, found.time)
        if own and own != (report.upheld[finding].why if finding in report.upheld else ""):
            job_file.append(e.EntryUpheld(finding, own, who), utc_now())
        return job_file.append(e.FindingDecided(finding, decision, words, by, on, who), utc_now())


def sign(path: Path, who: str, passphrase: str, keys: Path) -> Kept:
    """Answer for the job: refused while anything is open, saying what. The key is the one called as the person is."""

    def check(kept: tuple[Kept, ...]) -> None:
        refuse_open(report_of(kept), path.name)

    check(entries_in(path))
    key = unlock(key_file(str(keys / f"{key_name(who)}{SECRET}"), keys), passphrase)
    return sign_job(path, utc_now(), who, key, check)  # somebody may have asked back meanwhile


def has_key(who: str, keys: Path) -> bool:
    """Has this person a signing key on this machine."""
    try:
        return (keys / f"{key_name(who)}{SECRET}").is_file()
    except CallProblem:
        return False


def new_key(who: str, passphrase: str, again: str, keys: Path) -> None:
    """A signing key for this person, under a passphrase that was typed twice."""
    if passphrase != again:
        raise CallProblem("the two passphrases differ", where="passphrase", do="type the same twice")
    make_key(who, passphrase, keys)


def _to_write(path: Path) -> JobFile:
    """The file, opened to write, once it is known to be one: what lies there may have triggers of its own."""
    refuse_odd(path)
    return JobFile.open(path)


def _entry(job_file: JobFile, sequence: int) -> Kept:
    kept = job_file.entries()
    if not 1 <= sequence <= len(kept):
        raise CallProblem("the job has no such entry", where=f"entry {sequence}", do="open the job again")
    return kept[sequence - 1]


def _plain(text: str) -> str:
    """One line, single spaces, nothing that cannot be seen but letters of every script. CallProblem where it is too long."""
    text = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    if len(text) > LONGEST_CHARACTERS:
        what = f"that has {len(text):,} characters"
        raise CallProblem(what, where="text", do=f"say it in {LONGEST_CHARACTERS:,} at most")
    return text


def _needed(text: str, what: str, do: str) -> str:
    text = _plain(text)
    if not text:
        raise CallProblem(f"{what} is missing", where="text", do=do)
    return text


def _day(on: str) -> date:
    """ISO 8601 in its long form of calendar dates alone (5.2.2.1): what a browser sends, and what everybody reads alike."""
    try:
        if not fullmatch(r"\d{4}-\d\d-\d\d", on, ASCII):
            raise ValueError("another form")
        return date.fromisoformat(on)
    except ValueError as fault:
        raise CallProblem(f"{on!r} is no day", where="day", do="write it as 2026-11-25") from fault


def _possible(day: date, found: str) -> None:
    """Nobody answers before there is a finding, nor in days to come. Kept times are UTC, and the day is the foreman's own: at
    `found` it may have been a day earlier (clocks are up to 12 hours behind UTC), and now it may be tomorrow."""
    first = (datetime.fromisoformat(found) - timedelta(hours=12)).date()
    last = datetime.now(UTC).date() + timedelta(days=1)
    if not first <= day <= last:
        when = f"{day} is before the finding" if day < first else f"{day} is still to come"
        do = f"write the day on which the customer said so: from {first} to {last}"
        raise CallProblem(when, where="day", do=do)
