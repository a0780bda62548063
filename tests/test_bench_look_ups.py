"""Numbers looked up in the bay, in a real job file with the real loop: kept, resumed, reported, verified."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from assistant.bench.clock import JumpingClock, WallClock
from assistant.bench.hearing import Ears, Hearing
from assistant.bench.loop import Bench
from assistant.bench.recorded import RecordedInbox
from assistant.bench.shelf import Shelf
from assistant.bench.starting import follower_of, open_job, resume_job
from assistant.cli import main
from assistant.core.entries import ConditionAffirmed, JobFinished, ReadingKept
from assistant.core.state import State
from assistant.devices.endpointing import Endpointer
from assistant.devices.recognisers.scripted import ScriptedEar
from assistant.devices.sound_file import write_sound
from assistant.devices.voice.conversation import ConversationTrack
from assistant.devices.voice.scripted_speaker import ScriptedSpeaker
from assistant.files.job_file import JobFile
from assistant.files.verify import verify
from assistant.files.work import read_work, work_in
from tests.conversation import TABLES
from tests.scripted_bay import LoudIsSpeech, Speaks, sure

SHORT = TABLES / "short.yaml"
TO_THE_BATTERY = (
    *("done", "twenty four", "affirm", "roger", "roger", "done", "done", "done", "done"),
    *("one ninety", "one eighty", "one ninety", "tight", "twelve point two"),
)


def lacking(folder: Path) -> Path:
    """The short job's sheet without the battery's least voltage, which is to be looked up."""
    text = (TABLES / "short.sheet.yaml").read_text("utf-8").replace("counts:", "look_up: yes\ncounts:")
    path = folder / "lacking.sheet.yaml"
    path.write_text(text.replace("  battery_least: {is: 12.4 V, page: 2}\n", ""), "utf-8")
    return path


def worked(begin: Callable[[], tuple[JobFile, State]], heard: tuple[str, ...]) -> None:
    """One session until these lines are used up."""
    clock, shelf, takes = JumpingClock(), Shelf(), sure(*heard)
    hearing = Hearing(Ears(ScriptedEar(takes), ScriptedEar(takes, ())), Endpointer(LoudIsSpeech()), shelf, clock.now_s)
    job_file, state = begin()
    with job_file:
        work = work_in(job_file)
        inbox = RecordedInbox(Speaks(len(takes)), hearing, clock, ConversationTrack())
        Bench(
            state,
            job_file,
            inbox,
            clock,
            shelf,
            speaker=ScriptedSpeaker(),
            expect=hearing.expect,
            scan=lambda _: None,
            watchers=(inbox,),
            follow=follower_of(work, job_file),
        ).run()


def rest_verdict(path: Path) -> tuple[str, str]:
    """What the battery's voltage at rest was judged, and by what."""
    with JobFile.open(path, read_only=True) as job_file:
        kept = [k.entry for k in job_file.entries()]
    [rest] = [x for x in kept if isinstance(x, ReadingKept) and x.name == "rest"]
    assert not any(isinstance(x, JobFinished) for x in kept)
    return rest.verdict, rest.limit


def test_what_is_looked_up_is_in_the_same_job_file_and_judges_the_job(tmp_path: Path) -> None:
    """Number, page and yes are entries before the first step's; the limit names the page, who read it out, and when."""
    path = tmp_path / "a.job"
    work = read_work(SHORT, lacking(tmp_path), None)
    said = ("twelve point four", "eight dash two", "affirm", *TO_THE_BATTERY)
    worked(lambda: open_job(path, work, WallClock(), "scripted", "Kim"), said)
    verdict, limit = rest_verdict(path)
    assert verdict == "low"
    assert "test page 8-2, read out by Kim on " in limit
    assert verify(path).whole
    with JobFile.open(path, read_only=True) as job_file:
        kept = [k.entry for k in job_file.entries()]
    steps = [x.step for x in kept if isinstance(x, ReadingKept | ConditionAffirmed)]
    assert steps[:4] == ["look_up.battery_least", "look_up.battery_least", "look_up.affirmed", "tools_out"]


@pytest.mark.parametrize(
    ("cut", "again", "who"),
    [(0, (), "Sam"), (1, (), "Kim"), (2, (), "Kim"), (3, ("affirm",), "Kim"), (6, ("affirm",), "Kim")],
)
def test_a_job_broken_off_while_it_is_looked_up_goes_on(
    cut: int, again: tuple[str, ...], who: str, tmp_path: Path
) -> None:
    """After any utterance, with a new session by somebody else: the file alone gives the procedure back. What was affirmed
    is looked at again, as any condition is after a resume."""
    path, work = tmp_path / "a.job", read_work(SHORT, lacking(tmp_path), None)
    said = ("twelve point four", "eight dash two", "affirm", *TO_THE_BATTERY)
    worked(lambda: open_job(path, work, WallClock(), "scripted", "Kim"), said[:cut])
    worked(lambda: resume_job(path, WallClock(), "scripted", "Sam"), (*again, *said[cut:]))
    verdict, limit = rest_verdict(path)
    assert verdict == "low"
    assert f"test page 8-2, read out by {who} on " in limit
    assert verify(path).whole


def test_the_report_shows_what_was_looked_up(tmp_path: Path) -> None:
    """As a step of its own with its title, its number and its page."""
    path = tmp_path / "a.job"
    work = read_work(SHORT, lacking(tmp_path), None)
    said = ("twelve point four", "eight dash two", "affirm", *TO_THE_BATTERY)
    worked(lambda: open_job(path, work, WallClock(), "scripted", "Kim"), said)
    assert main(["report", str(path), "-o", str(tmp_path / "a.html")]) == 0
    page = (tmp_path / "a.html").read_text("utf-8")
    assert "Look up least battery" in page
    assert "12.4 V" in page
    assert "8-2" in page
    assert main(["report", str(path), "-o", str(tmp_path / "a.json")]) == 0
    rows = json.dumps(json.loads((tmp_path / "a.json").read_text("utf-8")))
    assert "looked_up_number" in rows
    assert "read out by Kim" in rows


def run_quietly(tmp_path: Path, *call: str) -> int:
    """A call that hears one second of quiet, by Vosk alone."""
    write_sound(tmp_path / "quiet.wav", np.zeros(16_000, np.int16))
    (tmp_path / "alone.toml").write_text("whisper = false\n", "utf-8")
    return main(["--settings", str(tmp_path / "alone.toml"), *call, "--ears", str(tmp_path / "quiet.wav")])


def test_run_and_resume_begin_with_what_is_looked_up(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Who starts it is told which numbers; a procedure that is not safe is not begun."""
    job = str(tmp_path / "a.job")
    call = ("run", str(SHORT), "--machine", str(lacking(tmp_path)), "--job", job)
    assert run_quietly(tmp_path, *call) == 0
    told = capsys.readouterr().out
    assert "not in the sheet, looked up in the bay: battery_least" in told
    assert "Look up least battery in the manual, in volts." in told
    assert run_quietly(tmp_path, "resume", job) == 0
    assert "Resuming at step 1, Look up least battery." in capsys.readouterr().out
    unsafe = tmp_path / "unsafe.yaml"
    text = SHORT.read_text("utf-8")
    assert "needs: {door: open, engine: running}" in text
    unsafe.write_text(text.replace("needs: {door: open, engine: running}", "needs: {door: open}"), "utf-8")
    other = tmp_path / "b.job"
    assert run_quietly(tmp_path, "run", str(unsafe), "--machine", str(lacking(tmp_path)), "--job", str(other)) == 2
    assert "not safe to follow" in capsys.readouterr().err
    assert not other.exists()
