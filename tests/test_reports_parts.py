"""`layup parts`: the parts of a folder's jobs by part and lot, what cannot be read told beside them; `layup scan` likewise."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import fields
from pathlib import Path

import pytest
import yaml
from conversation import SHORT, Conversation
from label_tables import LABELS
from season_samples import Day

from assistant.bench.starting import open_job
from assistant.cli import main
from assistant.core.events import Label
from assistant.reports.looks import looks_of
from assistant.reports.parts_used import parts_used
from assistant.reports.sections import Part, StepReport

FILTER_A = Label("GS1-128", "010299000100011710F2604\x1d21000731")
FILTER_B = Label("GS1-128", "010299000100011710F2604\x1d21000732")
WASHERS = Label("DATA-MATRIX", "[)>\x1e06\x1d1PT3-1142\x1d1TW9\x1dQ2\x1e\x04")
STRANGE = Label("CODE-128", "T3-9999")


def job(path: Path, day: str, *packets: Label) -> Path:
    """A job that took these packets at its filter step; whatever is asked is affirmed."""
    bay = Conversation(SHORT.procedure, dict(SHORT.sheet.parts), SHORT.site).start()
    bay.say_all("twenty four", "unable", "later", "unable", "later", "unable", "later", "unable", "later")
    bay.say_all("unable", "later", "unable", "later")
    assert bay.job.step == "filter"
    for packet in packets:
        bay.scan(packet)
        if bay.state.talk.phase == "question":
            bay.hear("affirm")
    job_file, _ = open_job(path, SHORT, Day(day), "text")
    with job_file:
        for k in bay.kept[1:]:
            job_file.append(k.entry, f"{day}T12:30:00.000Z")
    return path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Three jobs: two share a lot of filters, one took a washer that the sheet does not list."""
    job(tmp_path / "1.job", "2026-10-01", FILTER_A, WASHERS)
    job(tmp_path / "2.job", "2026-10-02", FILTER_B)
    job(tmp_path / "3.job", "2026-10-03", Label("EAN-13", "2990001000117"), STRANGE)
    return tmp_path


def test_parts_are_gathered_by_lot(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Pieces, not packets, are counted; every job that got a lot is named."""
    assert main(["parts", str(folder)]) == 0
    lines = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert lines[1][:6] == ["drain", "plug", "washer", "T3-1142", "W9", "2"]
    assert lines[2][:6] == ["drain", "plug", "washer", "T3-9999", "-", "1"]
    assert lines[2][-3:] == ["(not", "known)"] or "known)" in lines[2]
    assert [line[-1] for line in lines if "F2604" in line or "000732)" in line] == ["000731)", "000732)"]
    assert lines[-1] == ["pieces:", "6;", "jobs", "read:", "3"]


def test_the_reports_show_how_many_pieces_were_taken(folder: Path) -> None:
    """A packet of more than one: on the page, in what needs a look, in the tables; one piece is not counted aloud."""
    pages = {}
    for kind in ("html", "csv", "json"):
        assert main(["report", str(folder / "1.job"), "-o", str(folder / f"1.{kind}")]) == 0
        pages[kind] = (folder / f"1.{kind}").read_text(encoding="utf-8")
    assert "<td>washer, 2 pieces</td>" in pages["html"]
    assert "<td>oil filter</td>" in pages["html"]
    rows = csv.DictReader(io.StringIO(pages["csv"], newline=""))
    counted = [(row["number"] or row["gtin"], row["count"]) for row in rows if row["kind"] == "part"]
    assert counted == [("02990001000117", "1"), ("T3-1142", "2")]
    [step] = [step for step in json.loads(pages["json"])["steps"] if step["id"] == "filter"]
    assert [part["count"] for part in step["parts"]] == [1, 2]


@pytest.mark.parametrize(("kept", "count", "said"), [(True, 2, "washer, 2 pieces: "), (True, 1, "washer: ")])
def test_a_part_to_look_at_says_how_many(kept: bool, count: int, said: str) -> None:
    """Superseded washers, for instance."""
    part = Part(7, "", "filter", "washer", "superseded", kept, "", "T3-1141", "", "", "", "T3-1141", "", "", count)
    empty: dict[str, object] = {field.name: () for field in fields(StepReport)}
    step = StepReport(**{**empty, "title": "Filter", "status": "done", "parts": (part,)})
    [look] = looks_of([step], [], [], [], {}, finished=True)
    assert look.what.startswith(said)


def test_which_machines_got_a_lot(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One JSON object a part and lot, with its uses."""
    assert main(["parts", str(folder), "--lot", "f2604", "--json"]) == 0
    [row] = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert (row["part"], row["gtin"], row["lot"], row["count"]) == ("oil filter", "02990001000117", "F2604", 2)
    assert [(u["job"], u["machine"], u["serial"], u["began"]) for u in row["uses"]] == [
        ("1.job", "Test 3", "000731", "2026-10-01"),
        ("2.job", "Test 3", "000732", "2026-10-02"),
    ]


def test_what_was_affirmed_can_go_into_the_sheet(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As lines of YAML, once someone has looked; nothing is put there unasked."""
    assert main(["parts", str(folder), "--learnt"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("# Test 3\n")
    assert yaml.safe_load(out) == {"washer": {"numbers": ["T3-9999"]}}
    assert main(["parts", str(folder), "--learnt", "--lot", "F2604"]) == 0
    assert capsys.readouterr().out == "nothing was affirmed that the sheets do not list\n"


def test_a_broken_file_hides_no_other(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It is told on standard error with what to do, the rest stands, and the status says so."""
    (folder / "0.job").write_bytes(b"no job")
    (folder / "9.job").write_bytes((folder / "1.job").read_bytes())
    assert main(["parts", str(folder)]) == 1
    out, err = capsys.readouterr()
    assert "pieces: 6; jobs read: 3" in out
    assert "0.job" in err
    assert "9.job: it is a copy of 1.job" in err


def test_one_serial_cannot_be_in_two_machines(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two jobs took the same one: told, and status 1."""
    job(folder / "4.job", "2026-10-04", FILTER_A)
    assert main(["parts", str(folder)]) == 1
    assert "serial 000731, was taken in 1.job, 4.job" in capsys.readouterr().err
    assert len(parts_used(folder).serials_twice) == 1


@pytest.mark.parametrize("where", ["nowhere", ""])
def test_a_folder_without_jobs_is_a_wrong_call(where: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What, where, what to do."""
    assert main(["parts", str(tmp_path / where)]) == 2
    assert "name the folder that holds the" in capsys.readouterr().err


def test_a_bad_picture_hides_no_other(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`layup scan` tells each of several files, whatever is wrong with the others."""
    bad = tmp_path / "bad.png"
    bad.write_bytes(b"no picture")
    pictures = [str(LABELS / "anode.png"), str(bad), str(tmp_path / "none.png"), str(LABELS / "oil_filter.png")]
    assert main(["scan", "--json", *pictures]) == 2
    out, err = capsys.readouterr()
    assert [Path(json.loads(line)["image"]).name for line in out.splitlines()] == ["anode.png", "oil_filter.png"]
    assert "bad.png" in err
    assert "none.png" in err
