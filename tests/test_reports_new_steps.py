"""In the report: steps for other machines, findings that the procedure has for a value, photographs taken and lacking."""

from __future__ import annotations

from assistant.core import entries as e
from assistant.core.entries import Kept
from assistant.reports.html_report import html_of
from assistant.reports.job_report import report_of
from assistant.reports.table_report import csv_of
from tests.job_samples import at

PROCEDURE = """\
procedure: p
title: P
version: 1
for: boat
conditions: {cooling: [raw, closed]}
start: {cooling: closed}
steps:
  - {id: drain, title: Block drained, only: {cooling: raw}, say: Drain it.}
  - id: ring
    title: Wear ring
    say: Look.
    photographs: [{name: ring, of: the wear ring}, {name: edges, of: the impeller}]
    readings:
      - name: ring
        ask: Ring
        choices: [{name: good, words: [good]}, {name: worn, words: [worn], good: no}]
        finding: {say: the wear ring wants changing, price_later: yes}
"""
SHEET = "model: Heron 3\nfor: boat\n"


def kept(*entries: e.Entry) -> tuple[Kept, ...]:
    opened = e.JobOpened("p", PROCEDURE, SHEET, "shop: Quay Shed\ngallon: us_gal", "bay 2", (), "layup", "vosk")
    return tuple(Kept(n, at(n), entry) for n, entry in enumerate((opened, *entries), start=1))


def ring(value: str, verdict: str, replaces: int = 0) -> e.ReadingKept:
    return e.ReadingKept("ring", "ring", "", value, value, "", "", value, verdict, "", (), "", replaces, "")


PASSED = e.StepPassed("drain", "cooling", "closed")
JOB = kept(
    PASSED,
    e.StepOpened("ring"),
    ring("worn", "outside"),
    e.PhotographKept("ring", "ring", "It is dark."),
    e.StepDone("ring", ()),
)


def test_a_step_for_other_machines_is_told_with_its_reason_and_is_nothing_to_look_at() -> None:
    report = report_of(JOB)
    assert [(step.id, step.status, step.reason) for step in report.steps[:1]] == [
        ("drain", "passed over", "cooling is closed")
    ]
    assert report.count("passed over") == 1
    assert "For other machines: cooling is closed (entry 2)." in html_of(report)
    assert not [look for look in report.looks if look.step == "Block drained"]


def test_a_value_that_is_not_as_it_should_be_brings_its_finding() -> None:
    report = report_of(JOB)
    assert [(f.sequence, f.words, f.written) for f in report.findings] == [
        (4, "the wear ring wants changing, price later", True)
    ]
    assert [look.what for look in report.looks if look.kind == "finding"] == [
        "the wear ring wants changing, price later"
    ]
    assert "finding" in csv_of(report)


def test_a_corrected_value_takes_its_finding_with_it() -> None:
    report = report_of(kept(PASSED, e.StepOpened("ring"), ring("worn", "outside"), ring("good", "within", 4)))
    assert report.findings == ()


def test_photographs_are_shown_and_one_that_was_done_without_is_to_look_at() -> None:
    report = report_of(JOB)
    assert [(p.of, p.trouble) for p in report.photographs] == [("the wear ring", "It is dark.")]
    assert [look.what for look in report.looks if look.kind == "no photograph"] == [
        "wanted of the impeller, and done without"
    ]
    page = html_of(report)
    assert "Photograph</strong> of the wear ring" in page
    assert "No photograph of the impeller" in page
