"""Jobs of one invented machine, season after season, spoken through the real engine into real job files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from assistant.bench.starting import open_job
from assistant.core.entries import Entry
from assistant.files.work import work_of
from tests.conversation import Conversation

PROCEDURE = """
procedure: seasons
title: Lay-up, what wears
version: 1
for: test engine
conditions: {engine: [stopped, running]}
start: {engine: stopped}
never: [{when: {engine: running}, because: "Nothing here is done on a running engine."}]
steps:
  - id: display
    title: Engine hours
    say: Read the engine hours.
    readings: [{name: hours, ask: Engine hours, unit: h, plausible: [0, 5000], places: 1}]
  - id: tools_out
    title: Tools out
    say: Count the tools.
    readings: [{name: tools_out, ask: Number, unit: count, plausible: [0, 99]}]
  - id: compression
    title: Compression
    say: Crank each cylinder.
    readings:
      - name: compression
        ask: Compression
        unit: psi
        plausible: [0, 400]
        each: cylinder
        limits:
          - {at_least: compression_least}
          - {spread: 10 percent, source: "common practice, no source"}
  - id: impeller
    title: Impeller
    say: Measure the gap.
    readings: [{name: gap, ask: Impeller gap, unit: thou, plausible: [0, 90], limits: [{at_most: gap_most}]}]
"""
SHEET = """
model: MODEL
for: test engine
manual: test
entered: {by: Kim, on: 2016-10-01}
counts: {cylinder: 2}
values:
  compression_least: {is: 175 psi, page: 1}
  gap_most: {is: 14 thou, page: 2}
parts: {}
"""
SITE = "shop: the shop\ngallon: us_gal\nvalues: {}\n"


class Day:
    """A clock that stands at noon of one day."""

    def __init__(self, day: str) -> None:
        self.day = day

    def now_s(self) -> float:
        return 0.0

    def utc(self) -> str:
        return f"{self.day}T12:00:00.000Z"


def kept_job(path: Path, day: str, entries: Sequence[Entry], model: str = "Test 2", procedure: str = PROCEDURE) -> Path:
    """A job file with these entries after its first."""
    work = work_of(procedure, SHEET.replace("MODEL", model), SITE, ("procedure", "sheet", "site"))
    job_file, _ = open_job(path, work, Day(day), "text")
    with job_file:
        for entry in entries:
            job_file.append(entry, f"{day}T12:30:00.000Z")
    return path


def spoken_job(path: Path, day: str, lines: Sequence[str], model: str = "Test 2", procedure: str = PROCEDURE) -> Path:
    """A job file made by saying these lines to the engine, from its first step on; no step of it needs a "done"."""
    work = work_of(procedure, SHEET.replace("MODEL", model), SITE, ("procedure", "sheet", "site"))
    bay = Conversation(work.procedure, dict(work.sheet.parts), work.site).start()
    for line in lines:
        bay.hear(line)
    return kept_job(path, day, [k.entry for k in bay.kept[1:]], model, procedure)


FIVE = [
    ("2021-10-04", "one one two decimal four", "one niner eight", "one niner seven", "five"),
    ("2022-10-02", "one five six", "one niner five", "one niner six", "six"),
    ("2023-10-09", "two zero one decimal five", "one niner one", "one niner seven", "eight"),
    ("2024-10-01", "two four niner", "one eight niner", "one niner five", "niner"),
    ("2025-10-03", "two niner six", "one eight five", "one niner eight", "one one"),
]
"""Five seasons as they are said: the day, engine hours, compression of both cylinders in psi, impeller gap in thou."""


def five_jobs(folder: Path) -> list[Path]:
    """The five seasons as job files."""
    return [
        spoken_job(folder / f"{day[:4]}.job", day, [hours, "twenty four", first, second, gap])
        for day, hours, first, second, gap in FIVE
    ]
