"""What the system refuses is told in a line, never as a traceback, and nothing half made is left."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant import cli
from assistant.bench.starting import open_job
from assistant.files.job_file import JobFile, NotKept
from assistant.files.work import read_work
from tests.job_samples import at

TABLES = Path(__file__).parent / "tables"


def test_a_folder_that_may_not_be_entered_is_told_with_its_name(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied", "/secret/keys")

    monkeypatch.setattr(Path, "glob", refuse)
    assert cli.main(("keys",)) == 2
    assert capsys.readouterr().err == (
        "layup: /secret/keys: Permission denied\n  check that it is there and who may use it\n"
    )


def test_settings_that_are_no_text_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    settings = tmp_path / "layup.toml"
    settings.write_bytes(b"\xff\xfe\x00")
    assert cli.main(("--settings", str(settings), "devices")) == 1
    assert "this is not text in UTF-8" in capsys.readouterr().err


def test_a_job_whose_first_entry_does_not_reach_the_disk_leaves_no_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The name is free again, and the job can be begun anew."""

    def full(*_: object, **__: object) -> None:
        raise NotKept("not kept: the disk is full", do="make room")

    class Clock:
        def utc(self) -> str:
            return at(1)

        def now_s(self) -> float:
            return 0.0

    work = read_work(TABLES / "short.yaml", TABLES / "short.sheet.yaml", None)
    path = tmp_path / "1234.job"
    with monkeypatch.context() as broken:
        broken.setattr(JobFile, "append", full)
        with pytest.raises(NotKept):
            open_job(path, work, Clock(), "text")
    assert list(tmp_path.iterdir()) == []
    job_file, _ = open_job(path, work, Clock(), "text")
    job_file.close()
    assert path.is_file()
