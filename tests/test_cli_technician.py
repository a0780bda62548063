"""Who does the job is named at each start: by the call, else by the settings, else not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.cli import main
from assistant.core.entries import JobOpened, JobResumed
from assistant.files.job_file import JobFile
from tests.conversation import TABLES

WAV = str(TABLES.parents[1] / "demo" / "recordings" / "done.engine18.flac")


def named(path: Path) -> list[str]:
    """The technician of every start of a job."""
    with JobFile.open(path, read_only=True) as job_file:
        return [k.entry.technician for k in job_file.entries() if isinstance(k.entry, JobOpened | JobResumed)]


@pytest.mark.speech
def test_each_start_names_who_works(tmp_path: Path) -> None:
    """The settings' name, the call's in its place, and an empty one where the call says so."""
    settings, path = tmp_path / "bay.toml", tmp_path / "short.job"
    settings.write_text('whisper = false\ntechnician = "Kim"\n', encoding="utf-8")
    start = ["--settings", str(settings)]
    silent = ["--ears", WAV, "--voice", "silent"]
    short = [str(TABLES / "short.yaml"), "--machine", str(TABLES / "short.sheet.yaml"), "--job", str(path)]
    assert main([*start, "run", *short, *silent]) == 0
    assert main([*start, "resume", str(path), *silent, "--technician", " Ines  Ohm "]) == 0
    assert main([*start, "resume", str(path), *silent, "--technician", ""]) == 0
    assert named(path) == ["Kim", "Ines Ohm", ""]
