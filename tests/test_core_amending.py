"""The foreman's amendment: a new entry beside the old one, judged anew, refused where it makes no sense."""

from __future__ import annotations

from pathlib import Path

import pytest
from job_samples import tone

from assistant.bench.clock import WallClock
from assistant.bench.starting import open_job
from assistant.cli import main
from assistant.core import entries as e
from assistant.core.amending import amendment
from assistant.core.entries import AMENDED, Amended, ReadingKept, entry_from
from assistant.core.job import fold
from assistant.core.problems import CallProblem
from assistant.core.state import State
from assistant.core.turns.readings import JUDGED_AGAIN
from assistant.files.amending import amend
from assistant.files.job_file import JobFile
from assistant.files.times import utc_now
from assistant.files.verify import verify
from assistant.files.work import state_of
from assistant.reports.html_report import html_of
from assistant.reports.job_report import report_of
from assistant.reports.table_report import csv_of
from tests.conversation import SHORT, TODAY, Conversation


def spoken_job() -> Conversation:
    """The short job up to the battery: three cylinders, the second misheard and low; the leads good; 12.6 V."""
    bay = Conversation(SHORT.procedure, dict(SHORT.sheet.parts), SHORT.site).start()
    bay.say_all("twenty four", "affirm", "roger", "roger", "done", "done", "done", "done")
    bay.say_all("one ninety", "one eighteen", "one ninety two", "done", "tight", "twelve point six")
    return bay


BAY = spoken_job()
NUMBERS = {(k.entry.name, k.entry.at): k.sequence for k in BAY.kept if isinstance(k.entry, ReadingKept)}
SECOND = BAY.state.job.readings["compression", "compression", "cylinder 2"].sequence
LEADS, REST = NUMBERS["leads", ""], NUMBERS["rest", ""]


def amended(sequence: int, value: str) -> Amended:
    return amendment(BAY.state, sequence, value, "misheard", "Sam Reed")


VALUES: list[tuple[int, str, str, str, str]] = [
    (SECOND, "180", "180", "psi", "within"),
    (SECOND, "180 psi", "180", "psi", "within"),
    (SECOND, "one eighty", "180", "psi", "within"),
    (SECOND, "150.5", "150.5", "psi", "low"),
    (SECOND, "1241 kPa", "179.9918", "psi", "within"),  # NIST SP 811 (2008), appendix B.8: 1 psi = 6.894 757 kPa
    (LEADS, "loose", "loose", "", "outside"),
    (REST, "12.3 V", "12.3", "V", "low"),
    (REST, "12.4 volts", "12.4", "V", "within"),
]


@pytest.mark.parametrize(("sequence", "value", "kept", "unit", "verdict"), VALUES, ids=[row[1] for row in VALUES])
def test_a_value_as_a_foreman_writes_it(sequence: int, value: str, kept: str, unit: str, verdict: str) -> None:
    """Figures, another unit, words or a choice: kept in the reading's unit, with the verdict of its limits."""
    entry = amended(sequence, value)
    assert entry.value.startswith(kept) if "kPa" in value else entry.value == kept
    assert (entry.unit, entry.verdict, entry.replaces, entry.why) == (unit, verdict, sequence, AMENDED)
    assert (entry.words, entry.reason, entry.who) == ("", "misheard", "Sam Reed")


REFUSED: list[tuple[int, str, str]] = [
    (SECOND, "1180", "cannot be a compression reading: it lies between 0 and 400 psi"),
    (SECOND, "-5", "cannot be a compression reading"),
    (SECOND, "180 V", "'V' is no unit of compression"),
    (SECOND, "180 furlongs", "'furlongs' is no unit of compression"),
    (SECOND, "good", "'good' is no value of compression"),
    (SECOND, "", "'' is no value of compression"),
    (SECOND, "118", "118 is kept there already"),
    (LEADS, "wet", "'wet' is no value of leads"),
    (LEADS, "12", "'12' is no value of leads"),
    (NUMBERS["tools_out", ""], "23.5", "tools_out is counted"),
    (1, "180", "entry 1: that is no reading that counts now"),
    (999, "180", "that is no reading that counts now"),
    (-1, "180", "that is no reading that counts now"),
]


@pytest.mark.parametrize(("sequence", "value", "says"), REFUSED, ids=[f"{row[0]} {row[1]}" for row in REFUSED])
def test_what_is_refused(sequence: int, value: str, says: str) -> None:
    """No value, unit or entry that makes no sense, and the problem says which."""
    with pytest.raises(CallProblem) as told:
        amended(sequence, value)
    assert says in str(told.value)


@pytest.mark.parametrize(("reason", "who"), [("", "Sam"), ("misheard", " "), (" ", "")])
def test_no_amendment_without_reason_and_name(reason: str, who: str) -> None:
    """Both must be said."""
    with pytest.raises(CallProblem, match="needs a reason and a name"):
        amendment(BAY.state, SECOND, "180", reason, who)


# In a job file


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """The same job in a file, by Kim, with a sound for every reading."""
    path = tmp_path / "short.job"
    job_file, _ = open_job(path, SHORT, WallClock(), "text", "Kim")
    with job_file:
        for kept in BAY.kept[1:]:
            clip = tone(300 + kept.sequence) if isinstance(kept.entry, ReadingKept) else None
            job_file.append(kept.entry, "2026-11-25T08:00:00.000Z", clip)
    return path


def state_in(path: Path) -> State:
    with JobFile.open(path, read_only=True) as job_file:
        plain = state_of(SHORT, TODAY)
        return State(plain.procedure, plain.parts, plain.site, TODAY, fold(job_file.entries()))


def test_an_amendment_in_the_file(job: Path) -> None:
    """It is added, the old entry and its sound stay, the value that counts is the new one, and the file is whole."""
    with JobFile.open(job) as job_file:
        before = job_file.entries()
        first, *_ = amend(job_file, utc_now(), SECOND, "180", "misheard", "Sam Reed")
        after = job_file.entries()
    assert after[: len(before)] == before
    assert after[len(before)] == first
    counts = state_in(job).job.reading("compression", "compression", "cylinder 2")
    assert counts == first.entry
    assert verify(job).whole


def test_verdicts_that_hang_on_it_are_judged_again(job: Path) -> None:
    """With 118 among them the spread failed, and 192 was kept as outside; with 180 it stands again as within."""
    third = "compression", "compression", "cylinder 3"
    assert BAY.state.job.readings[third].entry.body()["verdict"] == "outside"
    with JobFile.open(job) as job_file:
        _, again = amend(job_file, utc_now(), SECOND, "180", "misheard", "Sam")
    assert (again.entry.body()["verdict"], again.entry.body()["why"]) == ("within", JUDGED_AGAIN)
    assert state_in(job).job.readings[third] == again


def test_a_refused_amendment_adds_nothing(job: Path) -> None:
    """The file is as it was."""
    with JobFile.open(job) as job_file:
        before = job_file.entries()
        with pytest.raises(CallProblem):
            amend(job_file, utc_now(), SECOND, "1180", "misheard", "Sam")
        assert job_file.entries() == before


def test_the_command(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`layup amend` says what it kept; a bad one is one clear line and status 2."""
    call = ["amend", str(job), str(SECOND), "--reason", "misheard", "--who", "Sam Reed", "--value"]
    assert main([*call, "180"]) == 0
    assert f"compression, cylinder 2 = 180 psi [within], replaces entry {SECOND}" in capsys.readouterr().out
    assert main([*call, "190"]) == 2
    assert f"entry {SECOND}: that is no reading that counts now" in capsys.readouterr().err


def test_the_report_shows_who_amended_what(job: Path) -> None:
    """The new value with name and reason, the old one beside it, and who did the job; the job did not last longer for it."""
    with JobFile.open(job) as job_file:
        ended = job_file.entries()[-1].at
        [kept, *_] = amend(job_file, utc_now(), SECOND, "180", "misheard", "Sam Reed")
        report = report_of(job_file.entries())
    value = next(v for v in report.values if v.place == "cylinder 2")
    assert (value.written, value.amended) == ("180 psi", "amended by Sam Reed: misheard")
    assert [(old.written, old.why) for old in value.earlier][-1] == ("118 psi", "amended by Sam Reed: misheard")
    assert (report.ended, report.technicians) == (ended, ("Kim",))
    page = html_of(report)
    assert "amended by Sam Reed: misheard" in page
    assert "<dt>Technician</dt><dd>Kim</dd>" in page
    assert "“”" not in page
    row = next(line for line in csv_of(report).splitlines() if line.startswith(f"{kept.sequence},"))
    assert ",amended by Sam Reed: misheard," in row


def test_the_technicians_last_word_stays_his() -> None:
    """After an amendment of an older value *correction* still replaces what the technician said last."""
    job = fold(BAY.kept)
    number = len(BAY.kept) + 1
    older = fold((*BAY.kept, e.Kept(number, "", amended(SECOND, "180"))))
    assert older.last_reading == job.last_reading
    newest = fold((*BAY.kept, e.Kept(number, "", amended(REST, "12.3"))))
    assert newest.last_reading is not None
    assert newest.last_reading.sequence == number


# The technician's name, and bodies of older versions


STARTS: list[tuple[str, e.JobOpened | e.JobResumed]] = [
    ("job opened", e.JobOpened("p", "", "", "", "j", (("engine", "stopped"),), "layup", "vosk", "Kim")),
    ("job resumed", e.JobResumed("layup", "vosk", "Kim")),
]


@pytest.mark.parametrize(("kind", "entry"), STARTS, ids=[kind for kind, _ in STARTS])
def test_starts_of_version_1_are_read(kind: str, entry: e.JobOpened | e.JobResumed) -> None:
    """A body from before technicians were named has none; today's has its name, and neither may be muddled."""
    body = entry.body()
    old = {k: v for k, v in body.items() if k not in entry.added}
    assert entry_from(kind, entry.version, body) == entry
    read = entry_from(kind, 1, old)
    assert isinstance(read, e.JobOpened | e.JobResumed)
    assert read.technician == ""
    for version, wrong in ((1, body), (entry.version, old)):
        with pytest.raises(ValueError, match=f"other fields than version {version}: .*technician"):
            entry_from(kind, version, wrong)
