"""Entries, sounds and a small job for the tests of the job file and the report. All names and numbers are invented."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any, ClassVar, get_args, get_origin, get_type_hints

import numpy as np
from hypothesis import strategies as st

from assistant.core import entries as e
from assistant.files.clips import Samples
from assistant.files.job_file import JobFile

PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(40))
SAFE_INT = st.integers(-(2**53) + 1, 2**53 - 1)
PLAIN: dict[type, st.SearchStrategy[Any]] = {str: st.text(max_size=40), int: SAFE_INT, bool: st.booleans()}


def any_of(kind: Any) -> st.SearchStrategy[Any]:
    """Anything of the type of an entry's field, nested dataclasses and tuples included."""
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        fields = {n: t for n, t in get_type_hints(kind).items() if get_origin(t) is not ClassVar}
        return st.builds(kind, **{name: any_of(t) for name, t in fields.items()})
    if get_origin(kind) is tuple:
        first, *rest = get_args(kind)
        return (
            st.lists(any_of(first), max_size=3).map(tuple) if rest == [...] else st.tuples(*map(any_of, (first, *rest)))
        )
    return PLAIN[kind]


def any_entry() -> st.SearchStrategy[e.Entry]:
    """Any entry of any kind."""
    return st.one_of(*map(any_of, e.KINDS.values()))


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
