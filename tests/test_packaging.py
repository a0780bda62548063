"""What the repository holds at its top, what the wheel carries, how the scripts stand, and how shipped files are found."""

import os
import shutil
import subprocess
import sys
import zipfile
from contextlib import chdir
from pathlib import Path

import pytest

from assistant.core.problems import CallProblem
from assistant.files.model_manifest import read_manifest
from assistant.files.shipped import PROCEDURE, SHEET, SITE, find_file, installed_folder, shipped_folder, shipped_names
from assistant.files.work import read_work
from assistant.measure.demo_script import every_line, load_script

ROOT = Path(__file__).resolve().parents[1]
TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "assistant", "models", "tests", "procedures", "demo"}
SCRIPTS = ("demo/run", "tests/run", ".ci/run", "demo/make_labels", "demo/make_recordings", "demo/make_screenshots")
NOT_KEPT = {"__pycache__", "out", "whisper-tiny-en"}
"""Folders that git ignores: they must not travel."""


def files_under(folder: str) -> set[str]:
    """Every file of a folder that is kept, from the top of the repository."""
    found = (path.relative_to(ROOT) for path in (ROOT / folder).rglob("*") if path.is_file())
    return {path.as_posix() for path in found if NOT_KEPT.isdisjoint(path.parts)}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from this checkout."""
    folder = tmp_path_factory.mktemp("wheel")
    call = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(folder)]
    subprocess.run(call, cwd=ROOT, check=True, capture_output=True)
    (built,) = folder.glob("*.whl")
    return built


def names_in(wheel: Path) -> set[str]:
    """The files of the wheel, without its own lists."""
    with zipfile.ZipFile(wheel) as archive:
        return {name for name in archive.namelist() if ".dist-info/" not in name}


def test_the_wheel_carries_what_travels_and_nothing_else(wheel: Path) -> None:
    """The program; procedures, the demo's lines and labels, the small models: no weights, nothing that was made."""
    travels = files_under("procedures") | files_under("demo/recordings") | files_under("demo/labels")
    travels |= files_under("models/bench-en") | files_under("models/bench-lesson")
    travels |= {"demo/script.yaml", "models/manifest.toml"}
    assert names_in(wheel) == files_under("assistant") | {f"assistant/shipped/{name}" for name in travels}


def test_what_the_demo_and_the_manifest_name_is_in_the_wheel(wheel: Path) -> None:
    """No recording of the demo's script and no file of the small models is missing."""
    script = load_script(ROOT / "demo" / "script.yaml")
    named = {f"demo/recordings/{line.file}" for line in every_line(script)}
    models = read_manifest(ROOT / "models")
    named |= {f"models/{name}/{file}" for name in ("bench-en", "bench-lesson") for file in models[name].files}
    assert len(named) > 50
    assert {f"assistant/shipped/{name}" for name in named} <= names_in(wheel)


def test_the_wheel_brings_the_command_and_the_licence(wheel: Path) -> None:
    """`layup` is the one command that an installation adds; the licence and the mark of typed code are inside."""
    with zipfile.ZipFile(wheel) as archive:
        (entry_points,) = (name for name in archive.namelist() if name.endswith("/entry_points.txt"))
        assert archive.read(entry_points).decode().split() == ["[console_scripts]", "layup", "=", "assistant.cli:main"]
        assert any(name.endswith("/licenses/LICENSE") for name in archive.namelist())
        assert "assistant/py.typed" in archive.namelist()


def test_an_unpacked_wheel_finds_what_travels(wheel: Path, tmp_path: Path) -> None:
    """Away from the checkout the shipped folders are those of the package, and fetched models go to the user's cache."""
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path)
    code = (
        "from assistant.files.shipped import shipped_folder, shipped_names\n"
        "from assistant.files.model_store import list_models, models_root\n"
        "print(shipped_folder('demo'), *shipped_names('.yaml'))\n"
        "root = models_root({'XDG_CACHE_HOME': '/cache'})\n"
        "print(root, *(state.state for state in list_models(root)))\n"
    )
    call = [sys.executable, "-P", "-c", code]
    away = {**os.environ, "PYTHONPATH": str(tmp_path)}
    said = subprocess.run(call, cwd="/", env=away, check=True, capture_output=True, text=True).stdout.splitlines()
    assert said == [
        f"{tmp_path}/assistant/shipped/demo {' '.join(shipped_names(PROCEDURE))}",
        "/cache/layup/models present present absent",
    ]


def test_the_top_of_the_repository() -> None:
    """The top has what design.md names, and dotfiles; nothing else is kept there."""
    if shutil.which("git") is None:
        pytest.skip("git is not installed")
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("this is no git checkout that may be looked at")
    top = {name.partition("/")[0] for name in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} == TOP


@pytest.mark.parametrize("script", SCRIPTS)
def test_scripts_can_be_run(script: str) -> None:
    """Each is executable and says on its first line what runs it."""
    path = ROOT / script
    assert os.access(path, os.X_OK)
    assert path.read_text(encoding="utf-8").startswith("#!/usr/bin/env ")


@pytest.mark.parametrize("script", [".setup/prepare.bash", *SCRIPTS[:3]])
def test_bash_can_read_the_scripts(script: str) -> None:
    """`bash -n` finds nothing wrong."""
    read = subprocess.run(["bash", "-n", ROOT / script], capture_output=True, text=True, check=False)
    assert (read.returncode, read.stderr) == (0, "")


def test_shipped_folders_of_a_checkout() -> None:
    """In a checkout they are the folders at its top."""
    assert installed_folder() is None
    assert shipped_folder("procedures") == ROOT / "procedures"


@pytest.mark.parametrize(
    ("given", "ending", "found"),
    [
        ("pwc-off-season", PROCEDURE, ROOT / "procedures" / "pwc-off-season.yaml"),
        ("tern-3", SHEET, ROOT / "procedures" / "tern-3.sheet.yaml"),
        ("our-shop", SITE, ROOT / "procedures" / "our-shop.site.yaml"),
        ("mine.yaml", PROCEDURE, Path("mine.yaml")),
        ("shop/tern-3", SHEET, Path("shop/tern-3")),
    ],
)
def test_bare_names_are_shipped_files(given: str, ending: str, found: Path) -> None:
    """A bare name is looked for with the program; a file's name or path stays as it was given."""
    assert find_file(Path(given), ending) == found


def test_a_file_of_that_name_comes_first(tmp_path: Path) -> None:
    """A file here that is called like a shipped one is the one that is meant."""
    (tmp_path / "tern-3").touch()
    with chdir(tmp_path):
        assert find_file(Path("tern-3"), SHEET) == Path("tern-3")


@pytest.mark.parametrize(("ending", "listed"), [(PROCEDURE, "pwc-off-season"), (SHEET, "tern-3"), (SITE, "our-shop")])
def test_a_wrong_bare_name_lists_what_is_shipped(ending: str, listed: str) -> None:
    """The problem says which there are, and only those of that kind."""
    with pytest.raises(CallProblem) as problem:
        find_file(Path("no-such-thing"), ending)
    assert str(problem.value).endswith(f"come with the program: {', '.join(shipped_names(ending))}")
    assert listed in shipped_names(ending)
    assert not any(name.endswith((".sheet", ".site")) for name in shipped_names(ending))


def test_work_is_read_by_bare_names() -> None:
    """Procedure, machine and site by the names they travel under."""
    work = read_work(Path("pwc-off-season"), Path("tern-3"), Path("our-shop"))
    assert len(work.procedure.steps) >= 40
