"""Bad calls: each ends with its exit status and one to three lines that say what, where and what to do; never a traceback."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from pathlib import Path

import numpy as np
import pytest

from assistant.bench.clock import WallClock
from assistant.bench.starting import open_job
from assistant.cli import main
from assistant.core.entries import JobFinished, StepOpened
from assistant.devices.sound_file import write_sound
from tests.conversation import SHORT, TABLES

ROOT = TABLES.parents[1]
AT = "2026-11-25T08:00:00.000Z"
SHORT_FILE, SHORT_SHEET = str(TABLES / "short.yaml"), str(TABLES / "short.sheet.yaml")
WAV = str(ROOT / "demo" / "recordings" / "done.engine18.flac")
ON = ["--machine", SHORT_SHEET]
SILENT = ["--ears", WAV, "--voice", "silent"]


def _job(path: Path) -> None:
    job_file, _ = open_job(path, SHORT, WallClock(), "text")
    with job_file:
        job_file.append(StepOpened("tools_out"), AT)
        job_file.append(JobFinished(0, 0), AT)


def _changed(path: Path, statements: str) -> None:
    connection = sqlite3.connect(path)
    connection.executescript(statements)
    connection.close()


@pytest.fixture(scope="module")
def bay(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with one broken thing of every kind; calls name them from within it."""
    here = tmp_path_factory.mktemp("bay")
    short = (TABLES / "short.yaml").read_text(encoding="utf-8")
    texts = {
        "broken.yaml": "procedure: x\n  title: [\n",
        "unit.yaml": short.replace("unit: psi", "unit: furlongs"),
        "wrong.sheet.yaml": (TABLES / "short.sheet.yaml").read_text(encoding="utf-8").replace("175 psi", "many"),
        "wrong.site.yaml": "shop: Test\ngallon: pint\n",
        "another.site.yaml": "shop: Another\n",  # so that neither is taken where none is named
        "text.wav": "hello",
        "empty.wav": "",
        "text.png": "hello",
        "text.job": "hello",
        "key.toml": 'camera = 0\nmicrophon = "x"\n',
        "type.toml": 'camera = "x"\n',
        "form.toml": "camera = = 1\n",
        "absent-model.toml": 'vosk_model = "no/such/model"\nwhisper = false\n',
        "broken-model.toml": 'vosk_model = "broken-model"\nwhisper = false\n',
    }
    for name, text in texts.items():
        (here / name).write_text(text, encoding="utf-8")
    (here / "folder").mkdir()
    (here / "broken-model" / "graph").mkdir(parents=True)
    _job(here / "good.job")
    whole = (here / "good.job").read_bytes()
    (here / "cut.job").write_bytes(whole[: len(whole) // 2])
    for name, statements in (
        ("newer.job", "PRAGMA user_version=99"),
        ("changed.job", "DROP TRIGGER entry_is_never_changed; UPDATE entry SET at = '2026-01-01T00:00:00.000Z'"),
    ):
        shutil.copy(here / "good.job", here / name)
        _changed(here / name, statements)
    return here


TABLE: list[tuple[list[str], int, str]] = [
    # Nothing, or nonsense
    ([], 2, "the following arguments are required: COMMAND"),
    (["fly"], 2, "invalid choice: 'fly'"),
    (["parse", SHORT_FILE], 2, "the following arguments are required"),
    (["models", "get"], 2, "say `layup models`, or `layup models get NAME`"),
    (["models", "get", "nothing"], 2, "there is no model 'nothing'"),
    # Procedure, sheet, site
    (["run", "nowhere.yaml", *ON, *SILENT], 2, "nowhere.yaml: cannot read the file"),
    (["run", "broken.yaml", *ON, *SILENT], 1, "broken.yaml:2:8: this is not YAML"),
    (["parse", "unit.yaml", "tools_out", "one", *ON], 1, "unit.yaml:54:15: the unit 'furlongs' is not on the list"),
    (["parse", "folder", "tools_out", "one", *ON], 2, "folder: cannot read the file"),
    (["parse", SHORT_FILE, "tools_out", "one", "--machine", "nowhere.yaml"], 2, "nowhere.yaml: cannot read the file"),
    (["parse", SHORT_FILE, "tools_out", "one", "--machine", "wrong.sheet.yaml"], 1, "wrong.sheet.yaml:8:27: "),
    (["parse", SHORT_FILE, "tools_out", "one", *ON, "--site", "nowhere.yaml"], 2, "nowhere.yaml: cannot read the file"),
    (["parse", SHORT_FILE, "tools_out", "one", *ON, "--site", "wrong.site.yaml"], 1, "wrong.site.yaml:2:9: 'pint'"),
    (["prove", "nowhere.yaml"], 2, "nowhere.yaml: cannot read the file"),
    # A step
    (["parse", SHORT_FILE, "tools_ot", "one", *ON], 2, "did you mean tools_out"),
    (["hear", SHORT_FILE, "sing", WAV, *ON], 2, "its steps are tools_out, start"),
    # Recordings and voices
    (["hear", SHORT_FILE, "tools_out", "nowhere.wav", *ON], 2, "nowhere.wav: there is no such sound file"),
    (["hear", SHORT_FILE, "tools_out", "empty.wav", *ON], 2, "empty.wav: this is no sound file that can be read"),
    (["hear", SHORT_FILE, "tools_out", "text.wav", *ON], 2, "text.wav: this is no sound file that can be read"),
    (["run", SHORT_FILE, *ON, "--job", "n.job", "--ears", "nowhere.wav"], 2, "nowhere.wav: there is no such sound file"),
    (["run", SHORT_FILE, *ON, "--job", "n.job", "--ears", WAV, "--voice", "x.mp3"], 2, "'x.mp3' is no voice"),
    (["run", SHORT_FILE, *ON, "--job", "n.job", "--ears", WAV, "--voice", "no/x.wav"], 2, "no: there is no such folder"),
    (["run", SHORT_FILE, *ON, "--job", "n.job", "--voice", "x.wav"], 2, "only recordings can be rendered"),
    # Pictures and cameras
    (["run", SHORT_FILE, *ON, "--job", "n.job", *SILENT, "--eyes", "nowhere.png"], 2, "nowhere.png: there is no such picture"),
    (["scan", "nowhere.png"], 2, "nowhere.png: there is no such picture"),
    (["scan", "text.png"], 2, "text.png: that is no picture, or it is broken"),
    (["scan", "folder"], 2, "folder: that is a folder, and no picture"),
    # Settings and models
    (["--settings", "nowhere.toml", "models"], 2, "nowhere.toml: there is no such settings file"),
    (["--settings", "key.toml", "models"], 1, "key.toml:2: there is no setting 'microphon'"),
    (["--settings", "type.toml", "models"], 1, "type.toml:1: camera cannot be 'x'"),
    (["--settings", "form.toml", "models"], 1, "form.toml:1:10: this is not TOML"),
    (["--settings", "absent-model.toml", "run", SHORT_FILE, *ON, "--job", "n.job", *SILENT], 1, "no such model folder"),
    (["--settings", "broken-model.toml", "hear", SHORT_FILE, "tools_out", WAV, *ON], 1, "broken-model: not a Vosk model"),
    # Job files
    (["run", SHORT_FILE, *ON, "--job", "good.job", *SILENT], 2, "good.job: there is a file of that name already"),
    (["run", SHORT_FILE, *ON, "--job", "good.job"], 2, "good.job: there is a file of that name already"),
    (["run", SHORT_FILE, *ON, "--job", "no/n.job", *SILENT], 2, "no: there is no such folder"),
    (["resume", "nowhere.job"], 2, "nowhere.job: there is no such job file"),
    (["resume", "text.job"], 2, "text.job: this is no job file"),
    (["resume", "cut.job"], 1, "cut.job: "),
    (["resume", "newer.job"], 2, "newer.job: this job file is of version 99"),
    (["resume", "changed.job"], 1, "changed.job: entry 1 does not fit the chain"),
    (["verify", "nowhere.job"], 2, "nowhere.job: there is no such job file"),
    (["verify", "text.job"], 2, "text.job: this is no job file"),
    (["verify", "newer.job"], 2, "newer.job: this job file is of version 99"),
    # Reports
    (["report", "nowhere.job", "-o", "x.html"], 2, "nowhere.job: there is no such job file"),
    (["report", "good.job", "-o", "x.doc"], 2, "x.doc: .doc reports are not made"),
    (["report", "good.job", "-o", "x"], 2, "x: reports without an ending are not made"),
    (["report", "good.job", "-o", "no/x.html"], 2, "no/x.html: cannot be written"),
    (["report", "changed.job", "-o", "x.html"], 1, "changed.job: entry 1 does not fit the chain"),
    # Measuring and the demo
    (["measure", "speech", "--noise", "rain"], 2, "--noise: there is no noise 'rain'"),
    (["measure", "speech", "--snr", "loud"], 2, "--snr: 'loud' is no ratio in dB"),
    (["measure", "speech", "--out", "nowhere"], 2, "nowhere: there is no such folder"),
    (["measure", "speech", "--folder", "folder", "--grammar", "compression"], 2, "--grammar: whose step?"),
    (["measure", "speech", "--folder", "folder"], 2, "folder: there is no manifest.csv in this folder"),
    (["demo", "--out", "good.job"], 2, "good.job: this is a file, not a folder"),
    (["demo", "--out", "."], 2, "something else lies there"),
]  # fmt: skip


def status_of(call: list[str]) -> int:
    """The exit status, whoever gives it: our own code or argparse."""
    try:
        return main(call)
    except SystemExit as ended:
        assert isinstance(ended.code, int)
        return ended.code


NAMES = [" ".join(Path(word).name for word in call) or "nothing" for call, _, _ in TABLE]


@pytest.mark.parametrize(("call", "status", "says"), TABLE, ids=NAMES)
def test_a_bad_call(call: list[str], status: int, says: str, bay: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The status as designed; on standard error what, where and what to do, in one to three lines."""
    before = sorted(bay.iterdir())
    with contextlib.chdir(bay):
        assert status_of(call) == status
    told = capsys.readouterr().err
    assert says in told
    assert 1 <= len(told.splitlines()) <= 3
    assert "Traceback" not in told
    assert sorted(bay.iterdir()) == before, "a bad call left something behind"


TOLD_AS_FINDINGS: list[tuple[list[str], str]] = [
    (["prove", "broken.yaml"], "broken.yaml:2:8: this is not YAML"),
    (["prove", "unit.yaml"], "unit.yaml:54:15: the unit 'furlongs' is not on the list"),
    (["prove", SHORT_FILE, "--machine", "wrong.sheet.yaml"], "wrong.sheet.yaml:8:27: "),
    (["verify", "cut.job"], "cut.job: not whole"),
    (["verify", "changed.job"], "changed.job: not whole: entry 1: changed"),
]


@pytest.mark.parametrize(("call", "says"), TOLD_AS_FINDINGS)
def test_what_is_looked_at_is_not_well(
    call: list[str], says: str, bay: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where looking is the command, what is wrong is its answer: on standard output, with status 1."""
    with contextlib.chdir(bay):
        assert status_of(call) == 1
    told = capsys.readouterr()
    assert says in told.out
    assert not told.err


def test_a_camera_that_is_not_there_is_told_when_it_is_needed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The job goes on: *part* answers that there is no camera 97."""
    job = str(tmp_path / "camera.job")
    part = str(ROOT / "demo" / "recordings" / "part.engine18.flac")
    settings = tmp_path / "vosk-alone.toml"
    settings.write_text("whisper = false\n", encoding="utf-8")
    call = ["--settings", str(settings), "run", SHORT_FILE, *ON, "--job", job, "--ears", part, "--eyes", "97"]
    assert main([*call, "--voice", "silent"]) == 0
    assert "camera 97" in capsys.readouterr().out


def test_a_finished_job_is_not_done_again(bay: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Resume says that it is finished, and ends well."""
    settings = bay.parent / "vosk-alone.toml"
    settings.write_text("whisper = false\n", encoding="utf-8")
    assert main(["--settings", str(settings), "resume", str(bay / "good.job"), *SILENT]) == 0
    assert "This job is finished." in capsys.readouterr().out


def test_silence_is_unclear(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A recording in which nobody speaks is no error and no reading."""
    write_sound(tmp_path / "quiet.wav", np.zeros(16_000, np.int16))
    settings = tmp_path / "vosk-alone.toml"
    settings.write_text("whisper = false\n", encoding="utf-8")
    call = ["--settings", str(settings), "hear", SHORT_FILE, "tools_out", str(tmp_path / "quiet.wav"), *ON]
    assert main(call) == 0
    assert "'' -> unclear" in capsys.readouterr().out


def test_a_report_nobody_may_write(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A name that is a folder already."""
    _job(tmp_path / "good.job")
    (tmp_path / "x.html").mkdir()
    assert main(["report", str(tmp_path / "good.job"), "-o", str(tmp_path / "x.html")]) == 2
    assert "x.html: cannot be written" in capsys.readouterr().err
