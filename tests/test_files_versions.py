"""Older job files are read for ever, from committed samples; newer ones are refused by name.

The samples in `tests/samples` were each written by the program of that day, and are never made anew: `format-F-opened-O.job`
is of format F, and its `job opened` of version O.
"""

from __future__ import annotations

import re
import shutil
import sqlite3
import sys
from contextlib import closing
from dataclasses import FrozenInstanceError, fields
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from job_samples import at, tone

from assistant.bench.clock import WallClock
from assistant.bench.starting import resume_job
from assistant.core import entries
from assistant.core.entries import KINDS, HeardAs, JobOpened, JobResumed, Rival, StepOpened, entry_from, shape
from assistant.core.job import fold
from assistant.core.problems import CallProblem, JobFileBroken
from assistant.files.job_file import JobFile
from assistant.files.schema import SCHEMAS, VERSION, rules_in, rules_of
from assistant.files.verify import verify
from assistant.measure.job_damage import compared

SAMPLES = sorted((Path(__file__).parent / "samples").glob("*.job"))
FIRST, SECOND, _, THIRD = SAMPLES


def stored_versions() -> set[tuple[str, int]]:
    """Each kind and version that a sample has."""
    found: set[tuple[str, int]] = set()
    for path in SAMPLES:
        with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro&immutable=1", uri=True)) as connection:
            found.update(connection.execute("SELECT kind, version FROM entry"))
    return found


def user_version(path: Path) -> int:
    """The version of the format that a file says it has."""
    return int.from_bytes(path.read_bytes()[60:64], "big")


@pytest.mark.parametrize("path", SAMPLES, ids=[path.stem for path in SAMPLES])
def test_each_sample_is_whole_and_read(path: Path) -> None:
    """A file of each version is whole by both checks, is read as today's entries, and makes a job."""
    assert verify(path).whole
    assert compared(path).agree
    with JobFile.open(path, read_only=True) as job_file:
        kept = job_file.entries()
    assert all(type(one.entry) is KINDS[one.entry.kind] for one in kept)
    assert fold(kept).reading("compression", "compression", "cylinder 1") is not None


def test_there_is_a_sample_of_each_format() -> None:
    """Each version of the format that can be read has its sample."""
    assert {user_version(path) for path in SAMPLES} == set(SCHEMAS) == set(range(1, VERSION + 1))


def test_there_is_a_sample_of_each_older_entry() -> None:
    """Each older version of an entry kind stands in a sample."""
    older = {(kind, version) for kind, cls in KINDS.items() for version in range(1, cls.version)}
    assert older <= stored_versions()


@pytest.mark.parametrize("cls", [*KINDS.values(), HeardAs, Rival], ids=lambda cls: cls.__name__)
def test_an_entry_that_is_made_of_its_fields_is_one_that_is_made_by_call(cls: type[object]) -> None:
    """The reader fills entries without calling their classes (`shape._filled`): none of them works anything out when made."""
    assert not hasattr(cls, "__post_init__")
    assert not hasattr(cls, "__slots__")
    named: Any = cls
    called = named(**{field.name: field.name for field in fields(named)})
    filled = shape._filled(cls, vars(called))
    assert filled == called
    assert hash(filled) == hash(called)
    assert repr(filled) == repr(called)
    with pytest.raises(FrozenInstanceError):
        filled.__setattr__(next(iter(vars(called)), "words"), "other")


def test_what_an_older_entry_lacks_is_empty() -> None:
    """A job opened before technicians, last season's values and jobs without sound is read as one that has none of them."""
    with JobFile.open(FIRST, read_only=True) as first, JobFile.open(SECOND, read_only=True) as second:
        oldest, old = first.entries(), second.entries()
    assert isinstance(oldest[0].entry, JobOpened)
    assert isinstance(old[0].entry, JobOpened)
    assert (oldest[0].entry.technician, oldest[0].entry.earlier, oldest[0].entry.keeps_sound) == ("", (), True)
    assert (old[0].entry.technician, len(old[0].entry.earlier), old[0].entry.keeps_sound) == ("Kim", 1, True)
    assert isinstance(oldest[-1].entry, JobResumed)
    assert oldest[-1].entry.technician == ""


@pytest.mark.parametrize("path", SAMPLES, ids=[path.stem for path in SAMPLES])
def test_each_sample_is_resumed(path: Path, tmp_path: Path) -> None:
    """An old job goes on: its rows stay byte for byte, the file becomes one of this version, and is whole."""
    job = tmp_path / "old.job"
    shutil.copyfile(path, job)
    with closing(sqlite3.connect(job)) as connection:
        rows = connection.execute("SELECT * FROM entry").fetchall()
    job_file, state = resume_job(job, WallClock(), "vosk bench-en")
    with job_file:
        job_file.append(StepOpened("fog"), at(59), tone())
    assert state.job.step == "compression"
    with closing(sqlite3.connect(job)) as connection:
        assert connection.execute("SELECT * FROM entry").fetchall()[: len(rows)] == rows
        assert rules_in(connection) == rules_of(VERSION)
    assert user_version(job) == VERSION
    assert verify(job).whole
    assert compared(job).agree


def test_reading_changes_no_old_file(tmp_path: Path) -> None:
    """An old file that is only read, checked or reported stays as it is."""
    job = tmp_path / "old.job"
    shutil.copyfile(FIRST, job)
    with JobFile.open(job, read_only=True) as job_file:
        job_file.entries()
    assert job.read_bytes() == FIRST.read_bytes()


def test_a_changed_old_file_is_not_put_right(tmp_path: Path) -> None:
    """An old file whose triggers were taken out is refused to be written, so that this is not hidden."""
    job = tmp_path / "old.job"
    shutil.copyfile(FIRST, job)
    with closing(sqlite3.connect(job)) as connection:
        connection.execute("DROP TRIGGER clip_is_never_removed")
    with pytest.raises(JobFileBroken, match="not those of version 1"):
        JobFile.open(job)
    fault = verify(job).fault
    assert fault is not None
    assert fault.how == "rules changed"


@pytest.mark.parametrize("cls", KINDS.values(), ids=KINDS)
def test_a_newer_version_of_an_entry_is_refused(cls: type[JobOpened]) -> None:
    """An entry of a version to come is refused by its kind and version."""
    with pytest.raises(ValueError, match=f"'{cls.kind}' version {cls.version + 1} is newer"):
        entry_from(cls.kind, cls.version + 1, {})


def test_a_newer_entry_in_a_file_is_told(tmp_path: Path) -> None:
    """A file with an entry of a version to come is whole, and the reader says plainly what to do."""

    class Later(StepOpened):
        version = 9

    with JobFile.create(tmp_path / "later.job") as job_file:
        job_file.append(Later("fog"), at(0))
        with pytest.raises(CallProblem, match=r"entry 1: .*'step opened' version 9 is newer.*\n.*use a newer program"):
            job_file.entries()
    assert verify(tmp_path / "later.job").whole


@pytest.mark.parametrize("version", range(2, 4))
def test_an_old_version_with_a_later_field_is_refused(version: int) -> None:
    """A body has the fields of its own version, no more and no fewer."""
    with JobFile.open(THIRD, read_only=True) as job_file:
        body = job_file.entries()[0].entry.body()
    del body["customer"], body["number"]
    assert entry_from("job opened", 3, body)
    with pytest.raises(ValueError, match="other fields than version"):
        entry_from("job opened", version - 1, body)


def test_a_new_kind_is_one_dataclass(monkeypatch: pytest.MonkeyPatch) -> None:
    """The kind that DEVELOPERS.md adds, put into the module as the page has it, is known, and comes back from its body."""
    page = (Path(__file__).parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
    [added] = re.findall(r"```python\n(@dataclass.*?)```", page, re.DOTALL)
    exec(added, names := dict(vars(entries.work)))
    monkeypatch.setattr(entries.work, "PhotographTaken", names["PhotographTaken"], raising=False)
    module = ModuleType("entries_and_one_more")
    monkeypatch.setitem(sys.modules, module.__name__, module)
    exec(Path(str(entries.__file__)).read_text(encoding="utf-8"), vars(module))
    assert set(module.KINDS) == {*KINDS, "photograph taken"}
    taken = module.KINDS["photograph taken"]("filter", "the old filter")
    assert module.entry_from(taken.kind, 1, taken.body()) == taken
