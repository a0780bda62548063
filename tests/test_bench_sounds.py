"""`layup prove --sounds`: what sounds alike at each step of a procedure."""

from __future__ import annotations

import json

import pytest

from assistant.cli import main

CALL = ("prove", "pwc-off-season", "--machine", "tern-3", "--site", "our-shop", "--sounds")


def test_in_print(capsys: pytest.CaptureFixture[str]) -> None:
    """The proof first; then what holds at every step once, and of each step a line or two."""
    assert main(CALL) == 0
    proof, head, everywhere, *steps = capsys.readouterr().out.splitlines()
    assert "proved: " in proof
    assert head.startswith("sound alike, nearest first")
    assert everywhere.startswith("  at every step: no / note")
    assert any(line.startswith("  compression, and turn the verdict: eighteen / eighty") for line in steps)
    assert any(line.startswith("  plug.1, plug.2, plug.3: ") for line in steps)
    names = [line.split(":")[0].removesuffix(", and turn the verdict") for line in steps]
    assert all(names.count(name) <= 2 for name in names)


def test_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    """One object, with every pair of every step."""
    assert main((*CALL, "--json")) == 0
    sounds = json.loads(capsys.readouterr().out)["sounds"]
    compression = next(step for step in sounds if step["step"] == "compression")
    pair = next(risk for risk in compression["risks"] if (risk["said"], risk["other"]) == ("fifteen", "fifty"))
    assert pair["turns"] and len(pair["examples"]) == 2
    assert all(step["unknown"] == [] for step in sounds)


def test_not_without_a_machine(capsys: pytest.CaptureFixture[str]) -> None:
    """Ranges and places come from the machine sheet, so it must be named."""
    assert main(("prove", "pwc-off-season", "--sounds")) == 2
    assert "--machine" in capsys.readouterr().err


def test_not_of_a_file_with_problems(tmp_path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its problems are told, and no sounds."""
    broken = tmp_path / "broken.yaml"
    broken.write_text("procedure: x\n", encoding="utf-8")
    assert main(("prove", str(broken), "--machine", "tern-3", "--sounds")) == 1
    assert "sound alike" not in capsys.readouterr().out
