"""The plain check, which goes into a bundle: it needs nothing, and comes to the same answer as `layup verify`."""

from __future__ import annotations

import ast
import hashlib
import random
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from job_samples import at, small_job, tone

from assistant.core.entries import StepOpened
from assistant.files import check_job, schema
from assistant.files.chain import canonical
from assistant.files.job_file import JobFile
from assistant.files.keys import SigningKey, pem_of
from assistant.measure.job_damage import WAYS, compared, damage, make_small, tamper, unseen_flips

KEY = SigningKey(bytes(32))
DAMAGED = 48
"""Damaged files tried here; the campaign tries more."""


def full_job(path: Path) -> Path:
    """Nine entries: two sounds that are forgotten, a picture, a signature, and a sound after that."""
    small_job(path)
    with JobFile.open(path) as job_file:
        job_file.sign(at(6), "Ada", KEY)
        job_file.forget_sound(at(7), "Ada", "asked for")
        job_file.append(StepOpened("fog"), at(8), tone(500))
    return path


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
    """Whatever is done to a file, in each way that there is, both say the same: whole, or which entry does not fit and how."""
    source, target = full_job(tmp_path / "season.job"), tmp_path / "damaged.job"
    differ, ways, answers = [], Counter[str](), Counter[str]()
    for number in range(DAMAGED):
        way = damage(source, target, random.Random(number))
        said = compared(target)
        ways[way.split(",")[0]] += 1
        answers[said.ours] += 1
        if not said.agree:
            differ.append((number, way, said))
        for beside in tmp_path.glob("damaged.job-*"):
            beside.unlink()
    assert differ == []
    assert set(ways) == {way.__name__ for way in WAYS}
    assert answers["whole"] < DAMAGED / 2
    assert len(answers) > 8


@pytest.fixture(scope="module")
def smallest(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three entries, a sound and a signature, in small pages."""
    path = tmp_path_factory.mktemp("small") / "small.job"
    with JobFile.create(path) as job_file:
        job_file.append(StepOpened("fog"), at(0), tone(20))
        job_file.append(StepOpened("oil"), at(1))
        job_file.sign(at(2), "Ada", KEY)
    make_small(path)
    return path


@pytest.mark.parametrize("part", range(4))
def test_a_flipped_bit_in_every_byte(smallest: Path, tmp_path: Path, part: int) -> None:
    """A bit of every byte of a small file is flipped: it is found, or no entry, clip or signature has changed by it."""
    path = tmp_path / "small.job"
    path.write_bytes(smallest.read_bytes())
    size = path.stat().st_size
    flips = unseen_flips(
        path, [8 * place + (place * 5 + 3) % 8 for place in range(size * part // 4, size * (part + 1) // 4)]
    )
    assert flips.wrong == ()
    assert flips.tried >= size // 4
    assert len(flips.unseen) < flips.tried


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
    flips = unseen_flips(path, [8 * place + bit for place in places for bit in range(8)])
    assert (flips.unseen, flips.tried) == ((), 8 * len(places))
    assert len(places) > 180


def found(data: bytes, text: bytes) -> list[int]:
    """The places of every byte of `text`, wherever it stands in `data`."""
    places: list[int] = []
    start = data.find(text)
    while start >= 0:
        places += range(start, start + len(text))
        start = data.find(text, start + 1)
    return places
