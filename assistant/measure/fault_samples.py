"""Small jobs to damage, and what they are made of. All names and numbers are invented."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from assistant.core import entries as e
from assistant.files.clips import Samples
from assistant.files.job_file import JobFile
from assistant.files.keys import SigningKey
from assistant.measure.job_damage import make_small

PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(40))
KEY = SigningKey(bytes(32))
"""Of nobody: it signs what is made here to be damaged."""


def tone(samples: int = 400) -> Samples:
    """A short sound that is not silence."""
    return (np.sin(np.arange(samples) / 5) * 9000).astype(np.int16)


def at(second: int) -> str:
    """A time of the job."""
    return f"2026-10-14T09:{second // 60:02d}:{second % 60:02d}.250Z"


def reading(name: str, position: str, value: str, unit: str = "psi", **more: Any) -> e.ReadingKept:
    """A kept reading; within its limit unless said otherwise."""
    fields: dict[str, Any] = {
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
    return e.ReadingKept(**(fields | more))


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


def full_job(path: Path) -> Path:
    """Nine entries: two sounds that are forgotten, a picture, a signature, and a sound after that."""
    small_job(path)
    with JobFile.open(path) as job_file:
        job_file.sign(at(6), "Ada", KEY)
        job_file.forget_sound(at(7), "Ada", "asked for")
        job_file.append(e.StepOpened("fog"), at(8), tone(500))
    return path


def smallest_job(path: Path) -> Path:
    """Three entries, a sound and a signature, in small pages: every bit can be tried."""
    with JobFile.create(path) as job_file:
        job_file.append(e.StepOpened("fog"), at(0), tone(20))
        job_file.append(e.StepOpened("oil"), at(1))
        job_file.sign(at(2), "Ada", KEY)
    make_small(path)
    return path
