"""`layup measure faults` and `jobfile`, small; and that the campaign's judge can fail."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from job_samples import at, small_job

from assistant.cli import main
from assistant.core.entries import StepOpened
from assistant.files.job_file import JobFile
from assistant.measure.fault_damage import Look, damage_campaign, damage_counts, damage_table
from assistant.measure.fault_job import SCRIPTS, ScriptedClock, talk
from assistant.measure.fault_judging import Skipped, Told, Trial, counts, judged, rows_in
from assistant.measure.fault_strokes import chosen
from assistant.measure.faults import campaign
from assistant.measure.job_damage import make_chain_anew
from assistant.measure.jobfile import meets
from assistant.measure.jobfile_plot import plot

needs_compiler = pytest.mark.skipif(
    not any(map(shutil.which, ("cc", "gcc", "clang"))),
    reason="faults at a stroke need a C compiler: apt-get install gcc",
)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A scripted job, whole and closed."""
    path, script = tmp_path / "season.job", SCRIPTS["compression"]
    talk(path, ScriptedClock(0), script.work(), script.lines, lambda _: None)
    return path


def told(path: Path) -> Told:
    """A child that told all that stands in the file, and was killed."""
    return Told(tuple(rows_in(path)), (), "", "", 0, -9)


@needs_compiler
def test_a_small_campaign_loses_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Killed, copied, torn, failing, full, read-only, opened twice, clock set back: nothing lost, nothing changed unseen."""
    monkeypatch.setenv("LAYUP_MEASURE_FOLDER", "/dev/shm" if Path("/dev/shm").is_dir() else str(tmp_path))
    found = {count.fault: count for count in counts(campaign(2, ["compression"]))}
    assert {(count.lost, count.unseen) for count in found.values()} == {(0, 0)}
    assert found["killed before a write"].tried == found["killed in a write"].tried == 2
    assert len(found) == 13
    for fault, count in found.items():
        assert count.tried > 0 or count.skipped, fault
        assert count.survived == count.tried, (fault, count.troubles)


def test_the_damage_is_counted_by_kind(tmp_path: Path) -> None:
    """Some bits and some files: found or unchanged, both verifiers asked about the files; a table and JSON say the same."""
    found = list(damage_counts(damage_campaign(tmp_path, 12)))
    first, *rest = found
    assert (first.count.fault, first.count.tried, first.agree) == ("one bit flipped", 12, None)
    assert sum(one.count.tried for one in rest) == sum(one.agree or 0 for one in rest) == 12
    for one in found:
        assert one.count.survived == one.count.tried == one.found + one.unchanged + one.after
    text = "\n".join(damage_table(found))
    assert "both verifiers agree: 12 of 12" in text
    row = next(line for line in text.splitlines() if line.startswith("| one bit flipped"))
    assert [cell.strip() for cell in row.split("|")[2:5]] == ["12", "12", str(first.found)]
    assert first.as_json()["found"] == first.found


def test_disagreement_and_change_are_told() -> None:
    """A file that one verifier calls whole and the other not, and one whose rows changed unseen, do not survive."""
    looks = [
        Look("a", found=True, agree=True),
        Look("a", trouble="verify says 'whole', check_job 'entry 3: changed'", where="chance 7", agree=False),
        Look("a", unseen=1, where="chance 8", agree=True),
        Look("a", after=True, agree=True),
    ]
    [count] = damage_counts(looks)
    assert (count.count.tried, count.count.survived, count.count.unseen) == (4, 2, 1)
    assert (count.found, count.unchanged, count.after, count.agree) == (1, 1, 1, 3)
    text = "\n".join(damage_table([count]))
    assert "both verifiers agree: 3 of 4" in text
    assert "first at chance 7" in text
    assert "first at chance 8" in text


def test_a_whole_file_called_damaged_is_trouble(job: Path) -> None:
    """A full disk is no damage: to say so is a fault of the program, in words or spoken."""
    all_told = told(job)
    for wrong in (replace(all_told, stopped="x.job: damaged: I/O"), replace(all_told, refused=("damaged",))):
        assert "called damaged" in judged("none", job, wrong).trouble


@pytest.mark.parametrize("what", ["faults", "jobfile"])
def test_a_folder_that_is_not_there_is_told_before_the_work(what: str, capsys: pytest.CaptureFixture[str]) -> None:
    """What, where and what to do, and exit status 2."""
    assert main(["measure", what, "--out", "no-such-folder"]) == 2
    assert "no-such-folder" in capsys.readouterr().err


def test_a_job_left_alone_survives(job: Path) -> None:
    """What was told is there, and it is resumed."""
    assert judged("none", job, told(job), rows_in(job)).survived


def test_an_entry_told_and_not_there_is_lost(job: Path) -> None:
    """One more told than stands; and the whole file gone."""
    all_told = told(job)
    last = all_told.rows[-1]
    more = replace(all_told, rows=(*all_told.rows, [last[0] + 1, *last[1:]]))
    assert judged("none", job, more).lost == 1
    job.unlink()
    assert judged("none", job, all_told).lost == len(all_told.rows)


def test_an_entry_that_stands_twice_is_an_unseen_change(job: Path) -> None:
    """The file is whole, but holds more than was told, by more than the one on its way."""
    all_told = told(job)
    with JobFile.open(job) as job_file:
        for _ in range(2):
            last = job_file.entries()[-1]
            job_file.append(last.entry, last.at)
    assert judged("none", job, all_told).unseen == 1


def test_an_entry_changed_with_its_chain_is_an_unseen_change(job: Path) -> None:
    """Somebody who knows the format: no check finds it, the campaign does."""
    all_told = told(job)
    make_chain_anew(job, 5, at=at(59))
    found = judged("none", job, all_told)
    assert (found.lost, found.unseen) == (1, 1)


def test_an_entry_of_another_job_is_an_unseen_change(job: Path) -> None:
    """After a kill only the beginning of the undisturbed job may stand, though one more than was told."""
    undisturbed, all_told = rows_in(job), told(job)
    with JobFile.open(job) as job_file:
        job_file.append(StepOpened("compression"), at(59))
    assert judged("none", job, all_told, undisturbed).unseen == 1


def test_a_damaged_file_does_not_survive(tmp_path: Path) -> None:
    """A file that is not whole after a fault is trouble, with the words of the check."""
    path = small_job(tmp_path / "small.job")
    all_told = told(path)
    path.write_bytes(path.read_bytes()[:-5000])
    assert "not whole" in judged("none", path, all_told).trouble


def test_counts_are_by_fault() -> None:
    """Tried, survived, lost and unseen; what was skipped says why; trouble is told once, with how often and where."""
    trouble = Trial("a", trouble="no")
    found = list(
        counts([Trial("a"), Trial("a", lost=2, where="stroke 7"), trouble, trouble, Skipped("b", "none here")])
    )
    assert [(c.fault, c.tried, c.survived, c.lost, c.unseen, c.skipped) for c in found] == [
        ("a", 4, 1, 2, 0, ""), ("b", 0, 0, 0, 0, "none here"),
    ]  # fmt: skip
    assert found[0].troubles == ("lost or changed (1 times, first at stroke 7)", "no (2 times)")


@pytest.mark.parametrize(
    ("strokes", "most", "them"), [(3, 0, [1, 2, 3]), (9, 3, [2, 5, 8]), (9, 1, [5]), (2, 5, [1, 2])]
)
def test_strokes_are_spread(strokes: int, most: int, them: list[int]) -> None:
    """Every one, or so many over the whole of it."""
    assert list(chosen(strokes, most)) == them


def test_how_fast_a_job_file_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A small run: figures of the append and the bare insert beside it, of each size, a table and a picture."""
    main(["measure", "jobfile", "--most", "120", "--json", "--out", str(tmp_path)])
    append, *jobs = map(json.loads, capsys.readouterr().out.splitlines())
    assert append["of"] == 120
    assert 0 < append["append_ms"] <= append["append_p99_ms"]
    assert 0 < append["bare_ms"] <= append["bare_p99_ms"]
    assert [row["entries"] for row in jobs] == [100, 120]
    assert all(row["verify_s"] > 0 and row["resume_s"] > 0 and row["bytes_an_entry"] > 100 for row in jobs)
    assert "| 100 " in (tmp_path / "jobfile.md").read_text()
    assert (tmp_path / "jobfile.svg").read_text().count("<circle") == 2 * len(jobs) + 2


def test_the_targets() -> None:
    """Each of the three is missed by itself."""
    from assistant.measure.jobfile import Appends, Grown

    good, job = Appends(9, 2.9, 9, 1, 9), Grown(10_000, 500, 1.9, 0.9)
    assert meets(good, [job])
    assert not meets(replace(good, append_ms=3.1), [job])
    assert not meets(good, [replace(job, verify_s=2.1)])
    assert not meets(good, [replace(job, resume_s=1.1)])


def test_the_picture_shows_growth() -> None:
    """A point a size for each of the two, in order of time: later is further up."""
    picture = plot([(100, 0.01, 0.02), (1000, 0.1, 0.2)])
    heights = [
        float(part.split('cy="')[1].split('"')[0]) for part in picture.splitlines() if part.startswith("<circle")
    ]
    assert heights[0] > heights[1]
