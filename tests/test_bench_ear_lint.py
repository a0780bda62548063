"""`layup prove --ear`: what a writer reads, what a machine reads, and the exit status."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from assistant.cli import main
from tests.conversation import TABLES

SHIPPED = ("prove", "pwc-off-season", "--machine", "tern-3", "--site", "our-shop", "--ear")
SHORT = (TABLES / "short.yaml").read_text(encoding="utf-8")
SHEET = str(TABLES / "short.sheet.yaml")


def written(tmp_path: Path, *changes: tuple[str, str]) -> Path:
    """The short job with something changed."""
    text = SHORT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "p.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def line_of(path: Path, text: str) -> int:
    return next(n for n, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1) if text in line)


def test_the_shipped_procedure_has_nothing_to_mend(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing that must or should be mended; what is left is to be known: ranges, and *low* beside *no*."""
    assert main((*SHIPPED, "--json")) == 0
    ear = json.loads(capsys.readouterr().out)["ear"]
    assert {one["grade"] for one in ear["findings"]} == {"look"}
    assert {one["rule"] for one in ear["findings"]} == {"risky range", "answer like a word"}
    assert ear["readability"]["ease"] >= 60


def test_the_worst_first_each_with_its_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`file:line:column` what, below it what to do, then the summary with the score; status 1 for what must be mended."""
    path = written(
        tmp_path, ("say: Open the tap.", "say: Open the tap to 16."), ("Count the tools.", "Count (all) tools.")
    )
    assert main(("prove", str(path), "--machine", SHEET, "--ear")) == 1
    lines = capsys.readouterr().out.splitlines()
    must = lines.index("must be mended (somebody may be hurt, or a wrong value be kept):")
    should = lines.index("should be mended (hard to follow by ear):")
    assert must < should
    assert lines[must + 1].startswith(f"{path}:{line_of(path, 'to 16.')}:10: number without unit: '16' is said without")
    assert lines[must + 2].startswith("  say what it counts")
    assert lines[should + 1].startswith(f"{path}:{line_of(path, '(all)')}:10: can't be said: parentheses")
    assert lines[-1].startswith(f"{path}: for the ear: 1 must, 1 should, ")
    assert "reading ease " in lines[-1]


def test_what_should_be_mended_leaves_the_status_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Only what must be mended makes it 1."""
    path = written(tmp_path, ("Count the tools.", "Count (all) tools."))
    assert main(("prove", str(path), "--machine", SHEET, "--ear")) == 0
    assert "1 should" in capsys.readouterr().out


def test_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One object: each finding with its place, the scores of the whole and of every step that says something."""
    path = written(tmp_path, ("Fumes. Door open.", "Fumes. Door open at 3."))
    assert main(("prove", str(path), "--ear", "--json")) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["ok"] is False
    ear = told["ear"]
    assert ear["machine"] is False
    assert ear["findings"][0] == {
        "grade": "must",
        "rule": "number without unit",
        "file": str(path),
        "line": line_of(path, "at 3."),
        "column": SHORT.splitlines()[line_of(path, "at 3.") - 1].index("Fumes.") + 1,
        "step": "start",
        "what": "'3' is said without a unit in 'Door open at 3.'",
        "do": "say what it counts or measures; better: give the value on the sheet and write {its_name}",
    }
    assert set(ear["steps"]) == {line.split(": ")[1] for line in SHORT.splitlines() if line.startswith("  - id: ")}


def test_without_a_machine_it_says_what_was_not_looked_at(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Texts are looked at, answers not: their range and places come from the sheet."""
    assert main(("prove", str(written(tmp_path)), "--ear")) == 0
    out = capsys.readouterr().out
    assert "what sounds alike was not looked at: name a machine sheet with --machine" in out
    assert "risky range" not in out


def test_a_placeholder_is_looked_at_as_it_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A count without a word behind it is a bare number, and is found only when the sheet says what it is."""
    path = written(tmp_path, ("say: Look at the battery.", "say: Look at the battery to {seals}. Then wait."))
    sheet = tmp_path / "m.sheet.yaml"
    text = Path(SHEET).read_text(encoding="utf-8")
    sheet.write_text(text.replace("values:", "values:\n  seals: {is: 2 count, page: 1-1}"), encoding="utf-8")
    assert main(("prove", str(path), "--ear")) == 0
    assert main(("prove", str(path), "--machine", str(sheet), "--ear")) == 1
    assert f"{path}:{line_of(path, 'seals')}:10: number without unit: '2'" in capsys.readouterr().out


def test_a_file_with_problems_is_not_looked_at(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its problems are told, and nothing for the ear."""
    path = tmp_path / "broken.yaml"
    path.write_text("procedure: x\n", encoding="utf-8")
    assert main(("prove", str(path), "--ear")) == 1
    assert "for the ear" not in capsys.readouterr().out


def test_several_files_are_told_one_after_the_other(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One object a line; nothing else on standard output."""
    path = str(written(tmp_path))
    assert main(("prove", path, path, "--ear", "--json")) == 0
    assert [json.loads(line)["file"] for line in capsys.readouterr().out.splitlines()] == [path, path]
