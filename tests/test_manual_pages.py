"""A step names a place in the service manual, the shop's sheet says the page, and *where are we* says it."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.bench.proving import prove_file
from assistant.core.binding import bind
from assistant.core.machine import Site
from assistant.core.problems import FileProblems
from assistant.files.procedure_file import read_procedure
from assistant.files.sheet_file import read_sheet
from tests.conversation import Conversation

PROCEDURE = """\
procedure: oil
title: Oil
version: 1
for: boat
steps:
  - {id: oil, title: Oil out, say: Let the oil out., manual: oil_change}
  - {id: close, title: Closed, say: Close it.}
"""
SHEET = """\
model: Tern
for: boat
manual: Tern 3 manual
entered: {by: Kim, on: 2026-11-02}
pages: {oil_change: 4-2}
"""


def bay(sheet: str = SHEET) -> Conversation:
    found = bind(read_procedure(PROCEDURE, "p.yaml"), read_sheet(sheet, "s.yaml"), Site())
    assert found.problems == ()
    return Conversation(found.procedure).start()


def test_where_are_we_says_the_page_of_the_open_step() -> None:
    talk = bay()
    assert talk.hear("where are we") == [
        "Step 1 of 2, Oil out. Nothing is missing. Say done. See Tern 3 manual page 4 dash 2."
    ]
    talk.hear("done")
    assert talk.hear("where are we") == ["Step 2 of 2, Closed. Nothing is missing. Say done."]


def test_without_the_page_nothing_is_made_up() -> None:
    talk = bay(SHEET.replace("pages: {oil_change: 4-2}\n", ""))
    assert talk.hear("where are we") == ["Step 1 of 2, Oil out. Nothing is missing. Say done."]


def test_prove_names_the_places_that_the_sheet_has_no_page_for(tmp_path: Path) -> None:
    (tmp_path / "p.yaml").write_text(PROCEDURE, encoding="utf-8")
    (tmp_path / "s.sheet.yaml").write_text(SHEET.replace("oil_change:", "oil_chang:"), encoding="utf-8")
    found = prove_file(tmp_path / "p.yaml", tmp_path / "s.sheet.yaml", None)
    assert found.ok
    assert any("the sheet has no page for oil_change" in warning for warning in found.warnings)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("4-2}", "page 4-2}", "s.yaml:5:21: 'page 4-2' is more than a page"),
        ("manual: Tern 3 manual\n", "", "pages are given, and no manual is named"),
    ],
)
def test_a_page_that_cannot_be_said_is_told(old: str, new: str, told: str) -> None:
    with pytest.raises(FileProblems) as caught:
        read_sheet(SHEET.replace(old, new), "s.yaml")
    assert any(told in str(problem) for problem in caught.value.problems), caught.value.problems
