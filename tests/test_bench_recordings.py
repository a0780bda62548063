"""Recordings through real Vosk into a real job file; and the power fails: kill -9 in the middle of the demo's job."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.bench.clock import WallClock
from assistant.bench.equipment import camera_of, chosen_ears, load_ears
from assistant.bench.hearing import Timing
from assistant.bench.recorded import PlainTechnician
from assistant.bench.running import Session, run_recorded
from assistant.bench.starting import open_job, resume_job
from assistant.bench.transcript import Transcript
from assistant.core.entries import CautionAnswered, JobResumed, Kept, PartScanned, ReadingKept, StepDone
from assistant.core.job import fold
from assistant.core.state import State
from assistant.files.job_file import JobFile
from assistant.files.model_store import models_root
from assistant.files.verify import verify
from assistant.files.work import Work
from assistant.settings import Settings
from tests.conversation import SHORT

pytestmark = pytest.mark.speech

DEMO = Path(__file__).resolve().parents[1] / "demo"
VOSK_ALONE = Settings(whisper=False)


def recording(words: str) -> Path:
    """The demo's recording of these words in the bay's usual noise."""
    return DEMO / "recordings" / f"{words.replace(' ', '-')}.engine18.flac"


def test_recordings_do_a_job_with_vosk_alone(tmp_path: Path) -> None:
    """A plain list of files: value, condition, cautions and *done* are heard, kept with their sound, and timed."""
    said = ["twenty four", "affirm", "roger", "roger", "done", "done", "done", "done"]
    lines: list[str] = []
    timed: list[Timing] = []
    job = tmp_path / "short.job"
    why = session(job, SHORT, [recording(words) for words in said], [], lines.append, timed.append)
    kept = entries_of(job)
    entries = [k.entry for k in kept]
    assert "layup resume" in why
    assert [(x.value, x.words) for x in entries if isinstance(x, ReadingKept)] == [("24", "twenty four")]
    assert len([x for x in entries if isinstance(x, CautionAnswered)]) == 2
    assert [x.step for x in entries if isinstance(x, StepDone)] == [
        "tools_out",
        "start",
        "water_on",
        "water_off",
        "stop",
    ]
    assert all(k.clip for k in kept if isinstance(k.entry, ReadingKept | CautionAnswered))
    assert len(timed) == len(said)
    assert "  technician  twenty four" in lines
    assert "        kept  tools_out = 24 count" in lines
    assert verify(tmp_path / "short.job").whole


def session(
    job: Path,
    work: Work,
    sounds: list[Path],
    pictures: list[str],
    line: Callable[[str], None] = lambda _: None,
    timed: Callable[[Timing], None] = lambda _: None,
) -> str:
    """A new job on recordings and pictures, heard by Vosk; why it ended."""
    ears = load_ears(chosen_ears(VOSK_ALONE, models_root()))
    eyes = camera_of(pictures, VOSK_ALONE)

    def begin() -> tuple[JobFile, State]:
        return open_job(job, work, WallClock(), ears.names)

    parts = Session(begin, ears, eyes, VOSK_ALONE, (Transcript(line),), timed)
    return run_recorded(parts, PlainTechnician(sounds))


def entries_of(job: Path) -> tuple[Kept, ...]:
    with JobFile.open(job, read_only=True) as job_file:
        return job_file.entries()


def start_and_kill(folder: Path, after_lines: int) -> list[str]:
    """Begin the demo's job in a process of its own, and kill it when it has printed so many lines; those lines."""
    (folder / "sound").mkdir(parents=True)
    call = [sys.executable, "-m", "assistant.measure.demo_session", "start", str(folder), '{"whisper": false}']
    process = subprocess.Popen(call, stdout=subprocess.PIPE, text=True, encoding="utf-8")
    assert process.stdout is not None
    with process.stdout as stdout:
        lines = [stdout.readline().rstrip("\n") for _ in range(after_lines)]
        process.send_signal(signal.SIGKILL)
        rest = stdout.read().splitlines()
    assert process.wait() == -signal.SIGKILL
    return lines + rest


def told_as_kept(lines: list[str]) -> list[tuple[str, str]]:
    """Name and value of every reading that the transcript told as kept."""
    return [(m[1], m[2]) for line in lines if (m := re.match(r" *kept {2}(\w+)(?: \w+ \d+)? = (\S+)", line))]


@pytest.mark.parametrize("after_lines", [1, 8, 21, 36])
def test_killed_at_any_moment_nothing_told_is_lost(tmp_path: Path, after_lines: int) -> None:
    """The file is whole, holds all that was told as kept, and resume folds it to the step that was open."""
    told = told_as_kept(start_and_kill(tmp_path, after_lines))
    job = tmp_path / "demo.job"
    assert verify(job).whole
    kept = entries_of(job)
    readings = [(k.entry.name, k.entry.value) for k in kept if isinstance(k.entry, ReadingKept)]
    assert readings[: len(told)] == told
    assert len(readings) - len(told) <= 1, "more was kept than told, by more than the one on its way"
    job_file, state = resume_job(job, WallClock(), "vosk")
    with job_file:
        assert isinstance(job_file.entries()[-1].entry, JobResumed)
    before = fold(kept)
    assert (state.job.step, state.job.readings) == (before.step, before.readings)
    assert (state.job.status, state.job.conditions) == (before.status, before.conditions)


def test_a_picture_is_looked_at_when_part_is_said(tmp_path: Path) -> None:
    """The demo's label pictures, read from their files: the wrong one is told, the right one kept, each with its picture."""
    only_the_filter = replace(SHORT, procedure=replace(SHORT.procedure, steps=(SHORT.procedure.step("filter"),)))
    pictures = [str(DEMO / "labels" / name) for name in ("oil_filter_wrong.png", "oil_filter.png")]
    job = tmp_path / "filter.job"
    session(job, only_the_filter, [recording("part"), recording("negative"), recording("part")], pictures)
    found = [(k.entry.answer, k.entry.kept, bool(k.clip)) for k in entries_of(job) if isinstance(k.entry, PartScanned)]
    assert found == [("not known", False, True), ("right", True, True)]
