"""The plain check, which goes into a bundle: it needs nothing, and comes to the same answer as `layup verify`."""

from __future__ import annotations

import ast
import hashlib
import random
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from job_samples import KEY, at, full_job, smallest_job

from assistant.core.entries import StepOpened
from assistant.files import check_job, schema
from assistant.files.chain import canonical
from assistant.files.job_file import JobFile
from assistant.files.keys import SigningKey, pem_of
from assistant.measure import fault_damage
from assistant.measure.fault_damage import FLIPPED, damage_counts, damaged, differences, flips
from assistant.measure.job_damage import WAYS, compared, content, damage, tamper

DAMAGED = 48
"""Damaged files tried here; the campaign tries more."""


def run_alone(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the check as a stranger would: copied elsewhere, by a Python without site packages, environment or this project."""
    (folder / "check_job.py").write_bytes(Path(check_job.__file__).read_bytes())
    command = [sys.executable, "-I", "-S", "check_job.py", *arguments]
    return subprocess.run(command, cwd=folder, env={}, capture_output=True, text=True, check=False)


def test_it_runs_alone(tmp_path: Path) -> None:
    """On a machine without the program it says whole and who signed; with another key, or after a change, that it is not."""
    path = full_job(tmp_path / "season.job")
    (tmp_path / "ada.pem").write_text(pem_of(KEY.public))
    (tmp_path / "other.pem").write_text(pem_of(SigningKey(b"\1" * 32).public))
    done = run_alone(tmp_path, path.name, "--key", "ada.pem")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith(
        f"season.job: whole\n  entry 7: signed by Ada, key {KEY.public}\n  9 entries, 2 clips"
    )
    done = run_alone(tmp_path, path.name, "--key", "other.pem")
    assert (done.returncode, done.stdout) == (1, "season.job: NOT WHOLE: entry 7: signature of another key\n")
    tamper(path, "UPDATE entry SET body = replace(body, '188', '198') WHERE sequence = 3;")
    done = run_alone(tmp_path, path.name)
    assert (done.returncode, done.stdout) == (1, "season.job: NOT WHOLE: entry 3: changed\n")


def test_what_cannot_be_checked_is_told(tmp_path: Path) -> None:
    """No file, no job file, a newer one, an open one and no key are told in a line, with status 2."""
    path = full_job(tmp_path / "season.job")
    (tmp_path / "text.job").write_text("hello")
    assert run_alone(tmp_path, "missing.job").returncode == 2
    assert "no job file" in run_alone(tmp_path, "text.job").stderr
    assert "no public key" in run_alone(tmp_path, path.name, "--key", "text.job").stderr
    with JobFile.open(path) as job_file:
        job_file.append(StepOpened("fog"), at(9))
        assert "the job is open" in run_alone(tmp_path, path.name).stderr
    data = path.read_bytes()
    path.write_bytes(data[:63] + b"\x09" + data[64:])
    done = run_alone(tmp_path, path.name)
    assert (done.returncode, done.stdout) == (2, "")
    assert "newer" in done.stderr


def test_it_imports_nothing_but_the_standard_library() -> None:
    """Every module that it imports comes with Python."""
    tree = ast.parse(Path(check_job.__file__).read_text(encoding="utf-8"))
    names = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    names |= {str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert {name.split(".")[0] for name in names} <= set(sys.stdlib_module_names)


def test_its_rules_are_the_formats() -> None:
    """The sums that it knows tables and triggers by are those of each version of the format."""
    for version in schema.SCHEMAS:
        rules = sorted(b"|".join(str(part).encode() for part in rule) for rule in schema.rules_of(version))
        assert check_job.RULES[version] == hashlib.sha256(b"\n".join(rules)).hexdigest()
    assert set(check_job.RULES) == set(schema.SCHEMAS)
    assert check_job.NEWEST == schema.VERSION


NESTED = st.recursive(
    st.text() | st.integers(-(2**53) + 1, 2**53 - 1) | st.booleans() | st.none(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@given(NESTED)
def test_its_json_is_that_of_rfc_8785(value: object) -> None:
    """It writes JSON without fractions as the package that the writer uses does."""
    assert check_job._canonical(value).encode() == canonical(value)


def test_both_checks_agree_on_damaged_files(tmp_path: Path) -> None:
    """Whatever is done to a file, in each way that there is, both say the same, and what was signed is found or unchanged."""
    looks = list(damaged(full_job(tmp_path / "season.job"), range(DAMAGED)))
    assert [look for look in looks if not look.survived] == []
    assert all(look.agree for look in looks)
    assert {look.fault for look in looks} == {way.__name__.replace("_", " ") for way in WAYS}
    assert sum(look.found for look in looks) > DAMAGED / 2
    assert [path.name for path in tmp_path.iterdir()] == ["season.job"]


def test_the_answers_differ(tmp_path: Path) -> None:
    """Both verifiers agree on many answers, not on one for all."""
    path, target = full_job(tmp_path / "season.job"), tmp_path / "damaged.job"
    answers = set()
    for seed in range(DAMAGED // 2):
        damage(path, target, random.Random(seed))
        answers.add(compared(target).plain)
    assert len(answers) > 8


@pytest.fixture(scope="module")
def smallest(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three entries, a sound and a signature, in small pages."""
    return smallest_job(tmp_path_factory.mktemp("small") / "small.job")


@pytest.mark.parametrize("part", range(4))
def test_a_flipped_bit_in_every_byte(smallest: Path, tmp_path: Path, part: int) -> None:
    """A bit of every byte of a small file is flipped: it is found, or no entry, clip or signature has changed by it."""
    path = tmp_path / "small.job"
    path.write_bytes(smallest.read_bytes())
    size = path.stat().st_size
    places = range(size * part // 4, size * (part + 1) // 4)
    [count] = damage_counts(flips(path, [8 * place + (place * 5 + 3) % 8 for place in places]))
    assert (count.count.fault, count.count.tried, count.agree) == (FLIPPED, len(places), None)
    assert (count.count.survived, count.count.lost, count.count.unseen, count.after) == (len(places), 0, 0, 0)
    assert count.found > 0
    assert count.found + count.unchanged == len(places)


def test_every_bit_of_what_was_signed(smallest: Path, tmp_path: Path) -> None:
    """Every single bit of the stored signature, of the hashes and of the sound is found."""
    path = tmp_path / "small.job"
    data = smallest.read_bytes()
    path.write_bytes(data)
    with JobFile.open(smallest, read_only=True) as job_file:
        sound = job_file.clip_bytes(job_file.entries()[0].clip)
    places = [
        place
        for text in (KEY.public.encode(), b'{"step":"oil","unsure":[]}', sound[:40])
        for place in found(data, text)
    ]
    looks = list(flips(path, [8 * place + bit for place in places for bit in range(8)]))
    assert all(look.found for look in looks)
    assert len(looks) == 8 * len(places) > 8 * 180


DIFFERENT = [
    ("", (0, 0, False)),
    ("UPDATE entry SET at = '2026-10-14T09:30:00.000Z' WHERE sequence = 3;", (0, 1, True)),
    ("DELETE FROM entry WHERE sequence = 7;", (1, 0, True)),
    ("DELETE FROM clip WHERE kind = 'picture';", (1, 0, True)),
    ("UPDATE clip SET data = x'00' WHERE kind = 'picture';", (0, 1, True)),
    ("INSERT INTO clip VALUES ('abc', 'sound', 'audio/flac', 1, x'00');", (0, 1, True)),
    ("DELETE FROM signature;", (1, 0, True)),
    ("UPDATE signature SET hash = '0';", (0, 1, True)),
    ("UPDATE entry SET at = '2026-10-14T09:30:00.000Z' WHERE sequence > 7;", (0, 0, True)),
    ("DELETE FROM entry WHERE sequence = 9; DELETE FROM clip WHERE kind = 'sound';", (0, 0, True)),
]


@pytest.mark.parametrize(("script", "gone_changed_at_all"), DIFFERENT)
def test_what_counts_as_lost_and_changed(
    tmp_path: Path, script: str, gone_changed_at_all: tuple[int, int, bool]
) -> None:
    """Rows gone and rows changed or put in are counted, each table's; what came after the signature at entry 7 is not."""
    path = full_job(tmp_path / "season.job")
    before = content(path)
    tamper(path, script)
    assert differences(before, content(path)) == gone_changed_at_all


def test_the_campaign_can_fail(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Were a verifier to call everything whole, changes would be counted as unseen, and the two would not agree."""
    monkeypatch.setattr(check_job, "check", lambda _path, _key: (None, []))
    looks = list(damaged(full_job(tmp_path / "season.job"), range(8)))
    assert any(look.agree is False and "check_job 'whole'" in look.trouble for look in looks)
    monkeypatch.setattr(fault_damage, "_is_whole", lambda _path: True)
    path = smallest_job(tmp_path / "small.job")
    [place] = found(path.read_bytes(), b'{"step":"oil","unsure":[]}')[10:11]
    [look] = flips(path, [8 * place])
    assert (look.survived, look.unseen) == (False, 1)


def found(data: bytes, text: bytes) -> list[int]:
    """The places of every byte of `text`, wherever it stands in `data`."""
    places: list[int] = []
    start = data.find(text)
    while start >= 0:
        places += range(start, start + len(text))
        start = data.find(text, start + 1)
    return places
