"""How long the pages take, as times of the processor beside a fixed piece of work: the machine may be busy, and slow.

The whole figures (2,000 jobs, 5,000 entries) are measured by `layup measure review`; here the same is done smaller, or held to
grow no faster than what is looked at.
"""

from __future__ import annotations

import json
import os
import random
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from functools import partial
from pathlib import Path
from statistics import median

import pytest

from assistant.cli import main
from assistant.core import entries as e
from assistant.core.job import fold
from assistant.measure.review_client import Client
from assistant.measure.review_jobs import (
    MANY,
    USUAL,
    large_entries,
    opened,
    procedure_text,
    small_entries,
    taken,
    write_job,
)
from assistant.reports.job_report import report_of
from assistant.review.folder import Folder
from assistant.review.garbage import COLLECTOR
from assistant.review.jobs_page import search
from assistant.review.pages import templates
from assistant.review.summary import Summary
from assistant.review.timeline import ORDERS, JobView
from assistant.review.untrusted import Record, entries_in, record_in

LOOPS = 400_000
"""Of a loop that takes about 30 ms of an undisturbed core of ours."""
LOOP_S = 0.03
JOBS = 300


def loop_s() -> float:
    """How long the loop takes now: what this machine is worth at this moment."""
    began_s, total = time.process_time(), 0
    for n in range(LOOPS):
        total += n * n % 7
    return time.process_time() - began_s


def taken_s(do: Callable[[], object], times: int = 5) -> float:
    """The median, in seconds of the processor of an undisturbed core: the loop goes before each. Nothing is collected,
    as when a job is made ready."""
    found = []
    for _ in range(times):
        with COLLECTOR.held_back():
            scale = LOOP_S / loop_s()
            began_s = time.process_time()
            do()
            found.append((time.process_time() - began_s) * scale)
    return median(found)


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("large")
    return write_job(folder / "large.job", large_entries(5000))


@pytest.fixture(scope="module")
def client(large: Path) -> Iterator[Client]:
    with Client(large.parent) as made:
        assert made.get("/jobs/large").status == 200
        yield made
        assert not made.told


def test_a_job_of_5000_entries_is_made_ready_in_under_half_a_second(large: Path, tell: Callable[[str], None]) -> None:
    """Read, checked, reported, in order: all that a first look costs but the texts, which are read once."""
    took = taken_s(lambda: JobView(record_in(large)).order("doubtful"))
    tell(f"a job of 5,000 entries made ready: {1000 * took:.0f} ms of an undisturbed core")
    assert took < 0.5


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("page", [1, 2, 40, 999])
def test_every_page_of_it_in_every_order_comes_at_once(client: Client, order: str, page: int) -> None:
    address = f"/jobs/large?order={order}&page={page}"
    assert taken_s(lambda: client.get(address), 3) < 0.25


def test_one_row_of_it_costs_nothing(client: Client) -> None:
    assert taken_s(lambda: client.get("/jobs/large/entries/2500")) < 0.05


def test_the_texts_of_a_job_are_read_once(large: Path) -> None:
    """The procedure of one job is that of hundreds: the second job with it is not kept waiting."""
    from assistant.reports import own_texts

    kept = entries_in(large)
    first = time.process_time()
    own_texts._procedure.cache_clear()
    own_texts._bound_once.cache_clear()
    report_of(kept)
    report_of(kept)
    assert own_texts._procedure.cache_info().misses == 1
    assert own_texts._bound_once.cache_info().misses == 1
    assert time.process_time() - first < 5


def test_a_broken_procedure_is_read_once_too() -> None:
    """Finding out that it cannot be read takes as long as reading it."""
    from assistant.reports import own_texts

    text = procedure_text(3, 3) + "\nbroken: [\n"
    own_texts._procedure.cache_clear()
    opened_ = e.entry_from(
        "job opened", e.JobOpened.version, opened(random.Random(1)).body() | {"procedure_text": text}
    )
    for _ in range(5):
        report_of((e.Kept(1, "2026-10-14T09:00:00.000Z", opened_),))
    assert own_texts._procedure.cache_info().misses == 1


GROWING: dict[str, Callable[[int], list[e.Entry]]] = {
    "the same value again": lambda n: [taken("s", "p", "", str(100 + k), CHANCE) for k in range(n)],
    "other values": lambda n: [taken("s", f"p{k}", "", "188", CHANCE) for k in range(n)],
    "values at other steps": lambda n: [taken(f"s{k}", "p", "", "188", CHANCE) for k in range(n)],
    "each corrects the one before": lambda n: [
        taken("s", f"p{k}", "", "188", CHANCE, replaces=k + 1) for k in range(n)
    ],
    "all correct one": lambda n: [taken("s", f"p{k}", "", "188", CHANCE, replaces=2) for k in range(n)],
    "questions about one entry": lambda n: [e.QuestionAsked(1, f"why {k}", "X") for k in range(n)],
    "findings": lambda n: [e.RemarkKept("s", "finding", f"{k}") for k in range(n)],
    "steps": lambda n: [e.StepUnable(f"s{k}", "why", ("engine",)) for k in range(n)],
}
CHANCE = random.Random(2)


@pytest.mark.parametrize("what", GROWING)
def test_what_is_made_of_a_job_grows_no_faster_than_the_job(what: str) -> None:
    """Six times the entries: well under the 36 times that anything quadratic would take."""

    def kept(entries: int) -> tuple[e.Kept, ...]:
        return tuple(
            e.Kept(n, "2026-10-14T09:00:00.000Z", one)
            for n, one in enumerate([opened(CHANCE), *GROWING[what](entries)], 1)
        )

    def look(job: tuple[e.Kept, ...]) -> None:
        view = JobView(Record(job))
        view.rows(view.order("doubtful")[:60])

    few, many = kept(500), kept(3000)
    look(few)
    times = taken_s(lambda: look(many), 3) / max(taken_s(lambda: look(few), 5), 0.002)
    assert times < 20


def test_the_fold_of_a_job_with_thousands_of_values_is_quick() -> None:
    """Amending and the customer's sheet begin with it."""
    kept = tuple(e.Kept(n, "", taken("s", f"p{n}", "", "188", CHANCE)) for n in range(1, 3001))
    assert taken_s(lambda: fold(kept), 3) < 0.4


# A folder


@pytest.fixture(scope="module")
def jobs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("many")
    for number in range(JOBS):
        write_job(folder / f"w{number:04}.job", small_entries(random.Random(number), number))
    return folder


def test_a_folder_that_is_read_for_the_first_time_keeps_nobody_waiting(
    jobs: Path, tmp_path: Path, tell: Callable[[str], None]
) -> None:
    """Each answer comes at once, says how many are still to come, and that number falls until all are there."""
    with Client(jobs, cache=tmp_path / "summaries.json") as client:
        client.get("/jobs/w0001")  # templates are made by whatever page comes first
        scale, taken, waiting = LOOP_S / loop_s(), [], []
        while not waiting or waiting[-1]:
            answer = client.get("/")
            taken.append(answer.cpu_s)  # with what the thread that reads did meanwhile
            found = answer.text.partition(" job files are still being read")[0].rpartition(">")[2]
            waiting.append(int(found) if found.isdigit() else 0)
            assert client.get("/jobs/w0003").status == 200
        assert waiting[0] > 0
        assert waiting == sorted(waiting, reverse=True)
        assert f"<strong>{JOBS}</strong> jobs" in answer.text
    usual = median(taken) * scale
    tell(f"the list while {JOBS} files are read, median: {1000 * usual:.0f} ms of an undisturbed core")
    assert usual < 0.5


def test_a_list_that_was_read_comes_at_once_and_after_a_new_start_too(jobs: Path, tmp_path: Path) -> None:
    folder = Folder(jobs, tmp_path / "summaries.json")
    while folder.summaries()[1]:
        time.sleep(0.01)
    folder.close()
    again = Folder(jobs, tmp_path / "summaries.json")
    made, waiting = again.summaries()
    assert (len(made), waiting) == (JOBS, 0)
    with Client(jobs, cache=tmp_path / "summaries.json") as client:
        client.get("/")
        for address in ("/", "/?q=tern", "/?q=holt+lark&state=open", "/?page=3"):
            assert taken_s(partial(client.get, address), 3) < 0.15


def test_searching_two_thousand_jobs_takes_a_moment() -> None:
    chance = random.Random(3)
    names = ("Tern 3", "Smew 115", "Lark 21")
    all_of = tuple(
        Summary(
            f"w{n}", "open", machine=chance.choice(names), customer=f"customer {n}", began=f"2026-10-{n % 28 + 1:02}"
        )
        for n in range(2000)
    )
    assert search(all_of, "tern customer 1999", "", 1).count <= 1
    assert taken_s(lambda: search(all_of, "tern", "open", 3)) < 0.1


def test_only_what_changed_is_read_again(jobs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from assistant.review import folder as module

    folder = Folder(jobs, tmp_path / "summaries.json")
    while folder.summaries()[1]:
        time.sleep(0.01)
    read: list[str] = []

    def counted(path: Path) -> Summary:
        read.append(path.name)
        return Summary(path.stem, "open")

    monkeypatch.setattr(module, "summary_of", counted)
    folder.summaries()
    assert read == []
    os.utime(jobs / "w0007.job")
    while folder.summaries()[1]:  # the thread of before may still be keeping what it made: then it waits, and says so
        time.sleep(0.01)
    folder.summaries()
    assert read == ["w0007.job"]
    folder.close()


def test_finding_one_job_looks_at_no_other(jobs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its name is looked up in the listing; size and time are asked of it alone."""
    folder = Folder(jobs, tmp_path / "summaries.json")
    asked: list[str] = []
    lstat = Path.lstat

    def counted(path: Path) -> os.stat_result:
        asked.append(path.name)
        return lstat(path)

    monkeypatch.setattr(Path, "lstat", counted)
    assert folder.mark("w0007") is not None
    assert set(asked) <= {"w0007.job", "w0007.job-wal"}
    assert folder.find("w9999") is None


def test_the_shapes_of_the_measured_jobs_are_what_is_said_of_them() -> None:
    """A procedure as long as the longest that travels with the program, and one three times as long."""
    longest = max(path.stat().st_size for path in Path("procedures").glob("*.yaml"))
    assert 0.9 < len(procedure_text(*USUAL)) / longest < 1.2
    assert 3 < len(procedure_text(*MANY)) / longest < 4
    entries = large_entries(5000)
    assert len(entries) == 5000
    assert sum(isinstance(one, e.ReadingKept) for one in entries) > 3000


def test_a_page_of_clips_does_not_read_the_whole_file(large: Path) -> None:
    """One clip of a large file: SQLite fetches its pages and no others."""
    with closing(sqlite3.connect(large)) as connection:
        plan = connection.execute("EXPLAIN QUERY PLAN SELECT data FROM clip WHERE sha256 = 'x'").fetchall()
    assert "USING INDEX" in str(plan)


# The command


def test_the_command_measures_and_writes_its_half_of_the_page(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["measure", "review", "--most", "8", "--json", "--out", str(tmp_path)]) in (
        0,
        1,
    )  # it may be slow here
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert {row["what"].strip() for row in rows} >= {"list of 8 jobs", "a clip", "a range of it", "one row of it"}
    assert all(0 < row["cpu_s"] <= row["worst_cpu_s"] for row in rows)
    assert main(["measure", "review", "--fuzz", "2", "--from", "7", "--workers", "1", "--out", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert "2 files" in told
    assert "- 0 faults" in told
    page = (tmp_path / "review.md").read_text()
    assert page.index("list of 8 jobs") < page.index("What the pages answered")


def test_the_command_fails_where_a_page_does(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its judge can fail: texts that are not escaped are found, and a page that is an error."""
    templates.cache_clear()
    templates().autoescape = False
    try:
        assert main(["measure", "review", "--fuzz", "12", "--workers", "1", "--json"]) == 1
    finally:
        templates().autoescape = True
        templates.cache_clear()
    found = json.loads(capsys.readouterr().out)
    assert any("elements" in fault["what"] or "attributes" in fault["what"] for fault in found["faults"])
    monkeypatch.setattr(JobView, "order", None)
    assert main(["measure", "review", "--fuzz", "12", "--workers", "1", "--json"]) == 1
    assert any("status 500" in fault["what"] for fault in json.loads(capsys.readouterr().out)["faults"])


def test_a_folder_that_is_none_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["measure", "review", "--out", str(tmp_path / "nowhere")]) == 2
    assert "there is no such folder" in capsys.readouterr().err
