"""A new job that knows last season's: what is taken from the old file, what stands in the new one, and after a resume."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from assistant.bench.clock import WallClock
from assistant.bench.starting import open_job, readings_of, resume_job
from assistant.cli import main
from assistant.core.entries import Entry, JobOpened, entry_from
from assistant.core.problems import FileProblems
from assistant.core.units import Amount
from assistant.files.shipped import shipped_folder
from assistant.files.work import read_work
from tests.conversation import SHORT, TABLES, Conversation

AT = "2026-11-25T08:00:00.000Z"


def spoken() -> list[Entry]:
    """A job up to its battery: three compressions, one of them corrected, leads, and 12.6 V."""
    bay = Conversation(SHORT.procedure, dict(SHORT.sheet.parts), SHORT.site).start()
    bay.say_all("twenty four", "affirm", "roger", "roger", "done", "done", "done", "done")
    bay.say_all("one ninety", "one eighteen", "correction one eighty", "thirteen bar", "tight", "twelve point six")
    return [k.entry for k in bay.kept[1:]]


@pytest.fixture
def last(tmp_path: Path) -> Path:
    """Last season's job file."""
    path = tmp_path / "2025.job"
    job_file, _ = open_job(path, SHORT, WallClock(), "text")
    with job_file:
        for entry in spoken():
            job_file.append(entry, AT)
    return path


def test_what_is_known_of_last_season(last: Path) -> None:
    """The measured values that stood at the end, each in the reading's own unit; a correction counts, a choice is no value."""
    found = {(name, at): (value, unit) for _, name, at, value, unit in readings_of(last)}
    assert found["compression", "cylinder 1"] == ("190", "psi")
    assert found["compression", "cylinder 2"] == ("180", "psi")
    assert found["rest", ""] == ("12.6", "V")
    assert ("leads", "") not in found


def test_a_new_job_keeps_last_seasons_values(last: Path, tmp_path: Path) -> None:
    """In its first entry, in the file itself, so that a resume needs the old file no more."""
    path = tmp_path / "2026.job"
    job_file, state = open_job(path, SHORT, WallClock(), "text", earlier=readings_of(last))
    job_file.close()
    last.unlink()
    again, resumed = resume_job(path, WallClock(), "text")
    with again:
        opened = again.entries()[0].entry
    assert isinstance(opened, JobOpened)
    assert entry_from(opened.kind, opened.version, opened.body()) == opened
    assert state.job.earlier == resumed.job.earlier
    assert resumed.job.earlier["compression", "compression", "cylinder 2"] == Amount(Decimal(180), "psi")


@pytest.mark.parametrize("text", [None, "not a job file"])
def test_no_job_of_last_season(text: str | None, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What is not there, or no job file, is told before a job file is made."""
    old, new = tmp_path / "old.job", tmp_path / "new.job"
    if text is not None:
        old.write_text(text, encoding="utf-8")
    short = [str(TABLES / "short.yaml"), "--machine", str(TABLES / "short.sheet.yaml"), "--job", str(new)]
    assert main(["run", *short, "--last-season", str(old)]) != 0
    assert str(old) in capsys.readouterr().err
    assert not new.exists()


def test_the_only_site_sheet_beside_the_procedure_is_taken(tmp_path: Path) -> None:
    """Without --site; where there are two, or none, nothing is guessed."""
    for name in ("pwc-off-season.yaml", "tern-3.sheet.yaml", "our-shop.site.yaml"):
        (tmp_path / name).write_text((shipped_folder("procedures") / name).read_text("utf-8"), "utf-8")
    procedure, sheet = tmp_path / "pwc-off-season.yaml", tmp_path / "tern-3.sheet.yaml"
    assert read_work(procedure, sheet, None).site.shop == "Alder Basin Small Craft"
    assert read_work(Path("pwc-off-season"), sheet, None).site.shop == "Alder Basin Small Craft"
    (tmp_path / "other.site.yaml").write_text("shop: Another\n", "utf-8")
    with pytest.raises(FileProblems, match="lowest_expected"):
        read_work(procedure, sheet, None)
