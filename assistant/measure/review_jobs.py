"""Job files for measuring the pages: written row by row, without a sync for each, with hashes that fit. All names are invented.

`write_job` takes entries as the program has them; `write_rows` takes any rows at all, also such as no program writes.
"""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from assistant.core import entries as e
from assistant.files.chain import NOTHING_BEFORE, canonical, row_sha256, sha256_hex
from assistant.files.reading import Row
from assistant.files.schema import fill
from assistant.files.times import utc_text
from assistant.measure.fault_samples import reading
from assistant.measure.review_sounds import FLAC, PNG, SAMPLES

HERE = Path(__file__).parent
BEGAN = datetime(2026, 10, 14, 9, tzinfo=UTC)
MACHINES = ("Tern 3", "Smew 115", "Turnstone V6", "Dipper 60", "Lark 21", "Godwit 4")
CUSTOMERS = ("Mira Holt", "Anton Reet", "Jo Palm", "Sofie Arne", "Elke Dorn", "Pavel Ruz")
TECHNICIANS = ("Timo Hahl", "Ines Voss", "Lene Mark")


class Blob(NamedTuple):
    """A clip's row in the file, its name made of its bytes."""

    data: bytes
    kind: str = "sound"
    media_type: str = "audio/flac"
    samples: int = SAMPLES

    @property
    def row(self) -> tuple[str, str, str, int, bytes]:
        """As the table has it."""
        return sha256_hex(self.data), self.kind, self.media_type, self.samples, self.data


SOUND, PICTURE = Blob(FLAC), Blob(PNG, "picture", "image/png", 0)


class Draft(NamedTuple):
    """An entry's row before it has its place: `body` is JSON, or what stands for it; `clip` is a clip's name."""

    kind: str
    version: int
    body: str
    clip: str = ""
    at: str = ""


def draft(entry: e.Entry, clip: str = "", at: str = "") -> Draft:
    """An entry of this program."""
    return Draft(entry.kind, entry.version, canonical(entry.body()).decode(), clip, at)


def chained(drafts: Iterable[Draft]) -> list[Row]:
    """Rows in order, a second apart where they say no time, each hash over the one before, as the reader works them out."""
    rows: list[Row] = []
    head = NOTHING_BEFORE
    for number, one in enumerate(drafts, 1):
        at = one.at or utc_text(BEGAN + timedelta(seconds=number))
        sha256 = row_sha256(
            sequence=number, at=at, kind=one.kind, version=one.version, body=one.body, clip=one.clip, previous=head
        )
        rows.append(Row(number, at, one.kind, one.version, one.body, one.clip, head, sha256))
        head = sha256
    return rows


def write_job(path: Path, entries: Iterable[e.Entry | Draft], clips: Sequence[Blob] = ()) -> Path:
    """A whole job file; time passes by a second an entry."""
    drafts = (one if isinstance(one, Draft) else draft(one) for one in entries)
    return write_rows(path, chained(drafts), [clip.row for clip in clips])


def write_rows(path: Path, rows: Iterable[Sequence[object]], clips: Iterable[Sequence[object]] = ()) -> Path:
    """A job file of these rows. The triggers are there, and let through only what comes in order."""
    with closing(sqlite3.connect(":memory:")) as connection:
        connection.deserialize(_empty())
        connection.executemany("INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?, ?, ?)", rows)
        once = {clip[0]: clip for clip in clips}
        connection.executemany("INSERT INTO clip VALUES (?, ?, ?, ?, ?)", once.values())
        connection.commit()
        path.write_bytes(connection.serialize())
    return path


@cache
def _empty() -> bytes:
    """The bytes of a job file in which nothing stands."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        fill(connection)
        return bytes(connection.serialize())


def opened(chance: random.Random, number: int = 0, steps: int = 1, readings: int = 1) -> e.JobOpened:
    """The first entry of a job on one of a few machines, with a procedure of so many steps of so many readings each."""
    sheet = (HERE / "four-cylinder.sheet.yaml").read_text("utf-8")
    return e.JobOpened(
        procedure="survey",
        procedure_text=procedure_text(steps, readings),
        sheet_text=sheet.replace("model: Four", f"model: {chance.choice(MACHINES)}"),
        site_text="shop: Heron Yard\ngallon: us_gal\nvalues: {altitude: {is: 1200 ft, source: survey}}\n",
        job=f"winter {number:04}",
        conditions=(("engine", "stopped"),),
        program="layup measured",
        ears="scripted",
        technician=chance.choice(TECHNICIANS),
        customer=chance.choice(CUSTOMERS),
        number=f"XHY{number:05}K6{chance.randrange(10)}26",
    )


@cache
def procedure_text(steps: int, readings: int) -> str:
    """Steps survey_1 ... each with readings pressure_1_1 ... at every cylinder."""
    head, _, _ = (HERE / "compression.yaml").read_text("utf-8").partition("steps:")
    lines = ["steps:"]
    for step in range(1, steps + 1):
        lines += [f"  - id: survey_{step}", f"    title: Survey {step}", "    say: Look at all of it.", "    readings:"]
        for name in range(1, readings + 1):
            lines += [
                f"      - {{name: pressure_{step}_{name}, ask: Pressure {name}, unit: psi, plausible: [60, 300],",
                "         each: cylinder,",
                "         limits: [{between: [compression_least, compression_most]}, {spread: 10 percent, source: trade}]}",
            ]
    return "\n".join((head, *lines, ""))


def small_entries(chance: random.Random, number: int) -> list[e.Entry]:
    """A short job: opened, a few readings, perhaps a finding, perhaps finished."""
    found: list[e.Entry] = [opened(chance, number), e.StepOpened("survey_1")]
    found += [
        taken("survey_1", "pressure_1_1", f"cylinder {at}", str(chance.randint(165, 195)), chance) for at in range(1, 5)
    ]
    if chance.random() < 0.4:
        found.append(e.RemarkKept("survey_1", "finding", "the hose behind the second clamp is cracked"))
    if chance.random() < 0.7:
        found += [e.StepDone("survey_1", ()), e.JobFinished(1, 0)]
    return found


def taken(step: str, name: str, place: str, value: str, chance: random.Random, **more: Any) -> e.ReadingKept:
    """A reading in the present form, with what the asking rule thought of it."""
    sure = chance.choice(("0.997", "0.973", "0.81", "1.000"))
    other = f"{int(value) + 10}" if value.isdigit() else "other"
    fields: dict[str, Any] = {
        "step": step,
        "verdict": "low" if value.isdigit() and int(value) < 175 else "within",
        "sureness": sure,
        "rule": "all agree" if sure != "0.81" else "the ears differ",
        "asked": "" if sure != "0.81" else "one ninety or one eighty",
        "rivals": (e.Rival(f"one {other}", other, "0.03"),),
        "weighed": (e.HeardAs("vosk", f"one {value}", "0.91"), e.HeardAs("whisper", f"one {other}", "0.09")),
    }
    return reading(name, place, value, **(fields | more))


USUAL, MANY = (30, 7), (50, 15)
"""Steps, and readings at four cylinders each, of a large job's procedure: that of the first is as long as the longest that
travels with the program (46 KB), that of the second three times as long."""


def large_entries(entries: int, shape: tuple[int, int] = USUAL, seed: int = 10) -> list[e.Entry]:
    """A job of so many entries, gone through again and again: three of five are readings, every twentieth put right."""
    chance, (steps, readings) = random.Random(seed), shape
    found: list[e.Entry] = [opened(chance, 1, steps, readings)]
    step = 0
    while len(found) < entries:
        named = f"survey_{step % steps + 1}"
        found.append(e.StepOpened(named))
        for name in range(1, readings + 1):
            for at in range(1, 5):
                found += _read(chance, named, f"pressure_{step % steps + 1}_{name}", f"cylinder {at}", len(found))
        found.append(e.RemarkKept(named, ("note", "finding")[step % 17 == 0], f"note {step}"))
        found.append(e.StepDone(named, ()))
        step += 1
    return [*found[: entries - 1], e.JobFinished(steps, 0)]


def _read(chance: random.Random, step: str, name: str, place: str, there: int) -> list[e.Entry]:
    """One value, and what may come with it."""
    found: list[e.Entry] = [taken(step, name, place, str(chance.randint(172, 199)), chance)]
    roll = chance.random()
    if roll < 0.05:
        put_right = taken(
            step, name, place, str(chance.randint(176, 199)), chance, replaces=there + 1, why="correction"
        )
        found.append(put_right)
    elif roll < 0.3:
        found.append(e.HeardUnclear(step, "no word of this step", (e.HeardAs("vosk", "hammer", "0.4"),)))
    elif roll < 0.5:
        found.append(e.CommandHeard(step, "say again", "say again"))
    return found
