"""Entries, sounds and a small job for the tests of the job file and the report. All names and numbers are invented."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
from hypothesis import strategies as st

from assistant.core import entries as e
from assistant.files.clips import Samples
from assistant.files.job_file import JobFile

PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(40))
SAFE_INT = st.integers(-(2**53) + 1, 2**53 - 1)
HEARD_AS = st.builds(e.HeardAs, ear=st.text(max_size=8), words=st.text(max_size=30), share=st.just("0.25"))
BY_TYPE: dict[str, st.SearchStrategy[object]] = {
    "str": st.text(max_size=60),
    "int": SAFE_INT,
    "bool": st.booleans(),
    "tuple[HeardAs, ...]": st.lists(HEARD_AS, max_size=3).map(tuple),
    "tuple[tuple[str, str], ...]": st.lists(st.tuples(st.text(max_size=9), st.text(max_size=9)), max_size=3).map(tuple),
}


def any_entry() -> st.SearchStrategy[e.Entry]:
    """Any entry of any kind."""
    return st.one_of(
        *(st.builds(c, **{f.name: BY_TYPE[str(f.type)] for f in dataclasses.fields(c)}) for c in e.KINDS.values())
    )


def any_samples() -> st.SearchStrategy[Samples]:
    """Any short sound."""
    return st.binary(min_size=2, max_size=400).map(lambda b: np.frombuffer(b[: len(b) // 2 * 2], dtype=np.int16))


def tone(samples: int = 400) -> Samples:
    """A short sound that is not silence."""
    return (np.sin(np.arange(samples) / 5) * 9000).astype(np.int16)


def at(second: int) -> str:
    """A time of the job."""
    return f"2026-10-14T09:{second // 60:02d}:{second % 60:02d}.250Z"


def reading(name: str, position: str, value: str, unit: str = "psi", **more: object) -> e.ReadingKept:
    """A kept reading; within its limit unless said otherwise."""
    fields: dict[str, object] = {
        "step": "compression",
        "name": name,
        "at": position,
        "words": f"{position} {value}",
        "value": value,
        "unit": unit,
        "said_unit": unit,
        "said_value": value,
        "verdict": "within",
        "limit": "at least 175 psi",
        "weighed": (),
        "asked": "",
        "replaces": 0,
        "why": "",
    }
    return e.ReadingKept(**(fields | more))  # type: ignore[arg-type]


def small_job(path: Path) -> Path:
    """Six entries, two sounds and a picture."""
    with JobFile.create(path) as job:
        job.append(e.StepOpened("compression"), at(0))
        job.append(reading("compression", "cylinder 1", "190"), at(1), tone(400))
        job.append(reading("compression", "cylinder 2", "188"), at(2), tone(300))
        job.append(e.RemarkKept("compression", "note", "plug two is dark \u2013 \u00e9"), at(3))
        job.append(e.StepOpened("filter"), at(4), picture=PNG)
        job.append(e.StepDone("filter", (("filter", "new"),)), at(5))
    return path
