"""`layup demo`: a whole lay-up of our own invented machine, with a power cut in the middle.

Two sessions, each a process of its own. The first is killed (SIGKILL) as the power would be; the second takes the job up from
its file. Then the file is verified, the report written, and the sound of both sessions joined. Nothing is heard but
recordings, nothing is seen but pictures.
"""

from __future__ import annotations

import json
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

from assistant.bench.equipment import chosen_ears
from assistant.core.entries import JobFinished, PartScanned, ReadingKept, RemarkKept, StepUnable
from assistant.core.problems import CallProblem, LayupProblem
from assistant.devices.voice.conversation import ConversationTrack
from assistant.files.job_file import JobFile
from assistant.files.model_store import models_root
from assistant.files.verify import verify
from assistant.measure.spool import read_spool
from assistant.reports.write import write_report
from assistant.settings import Settings

Line = Callable[[str], None]

POWER_FAILS_AT = "kept  compression cylinder 1 ="
"""The line of the conversation after which the power fails: one of three cylinders is kept."""
BETWEEN_SESSIONS_S = 2.0
LEFT_BEHIND = ("demo.job", "sound", "report.", "technician.json", "conversation.")
"""How the names begin that a demo leaves in its folder."""


def run_demo(out: Path, settings: Settings, *, quiet: bool, line: Line) -> int:
    """Run it; 0 when the job finished and the file is whole."""
    line(chosen_ears(settings, models_root()).why)
    _clear(out)
    (out / "sound").mkdir(parents=True)
    show = (lambda _: None) if quiet else line
    killed = _session(out, settings, "start", show, power_fails=True)
    line("== the power fails: the process is killed ==" if killed else "== the first session ended by itself ==")
    line("== layup resume ==")
    _session(out, settings, "resume", show, power_fails=False)
    return _finish(out, line)


def _clear(out: Path) -> None:
    """Remove what an earlier demo left there. CallProblem where anything else lies there: that is somebody's."""
    if out.exists() and not out.is_dir():
        raise CallProblem("this is a file, not a folder", where=str(out), do="name a folder with --out")
    others = [path.name for path in out.iterdir() if not path.name.startswith(LEFT_BEHIND)] if out.is_dir() else []
    if others:
        raise CallProblem(f"something else lies there: {others[0]}", where=str(out), do="name a new folder with --out")
    shutil.rmtree(out, ignore_errors=True)


def _session(out: Path, settings: Settings, how: str, line: Line, *, power_fails: bool) -> bool:
    """One process; True if it was killed."""
    call = [sys.executable, "-m", "assistant.measure.demo_session", how, str(out), json.dumps(asdict(settings))]
    process = subprocess.Popen(call, stdout=subprocess.PIPE, text=True, encoding="utf-8")
    assert process.stdout is not None
    for text in process.stdout:
        line(text.rstrip("\n"))
        if power_fails and POWER_FAILS_AT in text:
            process.send_signal(signal.SIGKILL)
            break
    process.stdout.close()
    status = process.wait()
    if status not in (0, -signal.SIGKILL):
        raise LayupProblem(
            f"the demo's session ended with status {status}", do="what it wrote on standard error says why"
        )
    return status != 0


def _finish(out: Path, line: Line) -> int:
    job = out / "demo.job"
    verdict = verify(job)
    with JobFile.open(job, read_only=True) as job_file:
        kept = job_file.entries()
        write_report(kept, out / "report.html", job_file.clip_bytes)
        write_report(kept, out / "report.csv")
    seconds = _join(out)
    line("")
    line("What was kept (the whole of it is in the report):")
    for one in kept:
        text = _summary(one.entry)
        if text:
            line(f"  {one.sequence:>4}  {text}")
    finished = any(isinstance(one.entry, JobFinished) for one in kept)
    line("")
    line(str(verdict))
    line(f"job file   {job}  ({len(kept)} entries, {'finished' if finished else 'NOT finished'})")
    line(f"report     {out / 'report.html'}")
    line(f"sound      {out / 'conversation.flac'}  (the whole conversation, {seconds / 60:.0f} minutes)")
    return 0 if verdict.whole and finished else 1


def _summary(entry: object) -> str:
    match entry:
        case ReadingKept():
            where = f" {entry.at}" if entry.at else ""
            again = f"   (replaces entry {entry.replaces})" if entry.replaces else ""
            asked = f"   (asked: {entry.asked})" if entry.asked else ""
            return f"{entry.step}{where}: {entry.value} {entry.unit}  {entry.verdict or 'noted'}{again}{asked}"
        case PartScanned():
            return f"{entry.step}: {entry.role} {entry.answer}, {'taken' if entry.kept else 'not taken'}"
        case RemarkKept():
            return f"{entry.step}: {entry.about}: {entry.words or '(sound only)'}"
        case StepUnable():
            return f"{entry.step}: not done: {entry.reason}"
        case _:
            return ""


def _join(out: Path) -> float:
    """Both sessions' sound, one after the other, in one file; its length in seconds."""
    whole = ConversationTrack(0.0)
    offset_s = 0.0
    for spool in sorted((out / "sound").glob("*.jsonl")):
        ends_s = offset_s
        for start_s, samples, who in read_spool(spool):
            whole.add(offset_s + start_s, samples, who)
            ends_s = max(ends_s, offset_s + start_s + len(samples) / 16_000)
        offset_s = ends_s + BETWEEN_SESSIONS_S
    return whole.write(out / "conversation.flac")
