"""What a technician says and what it means at a step of the shipped procedure: a table, refusals beside acceptances."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from assistant.bench.listening import parse_words
from assistant.cli import main
from assistant.files.work import Work, read_work

ROOT = Path(__file__).resolve().parents[1]
TABLE = ROOT / "tests" / "tables" / "said_meant.tsv"
PROCEDURES = ROOT / "procedures"
FILES = (
    PROCEDURES / "pwc-off-season.yaml",
    PROCEDURES / "tern-3.sheet.yaml",
    PROCEDURES / "our-shop.site.yaml",
)


def rows() -> list[tuple[str, str, str]]:
    """Step, said, meant."""
    lines = TABLE.read_text(encoding="utf-8").splitlines()
    cells = [line.split("\t") for line in lines if line and not line.startswith("#")]
    return [(step, said, meant) for step, said, meant in cells]


@pytest.fixture(scope="module")
def work() -> Work:
    """The shipped procedure on the demo's machine."""
    return read_work(*FILES)


def meant_text(row: dict[str, object]) -> str:
    """A row of `layup parse` in the table's words."""
    if row["kind"] == "unclear":
        return "unclear"
    if row["command"]:
        kind = row["kind"]
        return f"{kind} {row['command']}"
    readings = row["readings"]
    assert isinstance(readings, list)
    out = []
    for r in readings:
        where = "".join(f" {k} {v}" for k, v in r["at"].items())
        unit = f" {r['unit']}" if r["unit"] else ""
        asked = "" if r["ask"] == "none" else f" ask {r['ask']}"
        out.append(f"{r['name']}{where} = {r['value']}{unit} {r['verdict'] or 'no limit'}{asked}")
    return "; ".join(out)


def test_the_table_is_long_enough() -> None:
    """At least 150 rows, a fifth of them refusals."""
    assert len(rows()) >= 150
    assert sum(meant == "unclear" for _, _, meant in rows()) >= 30


@pytest.mark.parametrize(("step", "said", "meant"), rows())
def test_said_means(work: Work, step: str, said: str, meant: str) -> None:
    """The sentence means what the table says, or is refused."""
    row = parse_words(work, step, said, date(2026, 11, 25))
    assert meant_text(row) == meant.removeprefix("correction ")


@pytest.mark.parametrize(
    ("said", "number"),
    [
        ("part number tango three dash two zero four zero", "T3-2040"),
        ("part number two niner niner zero zero zero one zero zero zero one one seven", "2990001000117"),
        ("part", None),
    ],
)
def test_parse_tells_the_number_that_was_spelled(
    said: str, number: str | None, capsys: pytest.CaptureFixture[str]
) -> None:
    """As it is written, for a person and in the object."""
    call = ["parse", str(FILES[0]), "filter_in", said, "--machine", str(FILES[1]), "--site", str(FILES[2])]
    assert main(call) == 0
    assert (f"number {number}" in capsys.readouterr().out) is bool(number)
    assert main([*call, "--json"]) == 0
    assert json.loads(capsys.readouterr().out).get("number") == number


def test_parse_prints_one_object_a_line(capsys: pytest.CaptureFixture[str]) -> None:
    """`layup parse --json` prints the object of the design, and nothing else."""
    sheets = ["--machine", str(FILES[1]), "--site", str(FILES[2])]
    assert main(["parse", str(FILES[0]), "compression", "cylinder two one ninety", *sheets, "--json"]) == 0
    (line,) = capsys.readouterr().out.splitlines()
    row = json.loads(line)
    assert row["readings"] == [
        {
            "name": "compression",
            "at": {"cylinder": 2},
            "value": "190",
            "unit": "psi",
            "verdict": "within",
            "ask": "none",
        }
    ]
    assert set(row) == {"words", "kind", "readings", "command", "reason", "confidence", "alternatives"}
