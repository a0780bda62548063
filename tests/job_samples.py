"""Entries, sounds and small jobs for the tests of the job file and the report: any at all, and those that measure damages."""

from __future__ import annotations

import dataclasses
from typing import Any, ClassVar, get_args, get_origin, get_type_hints

import numpy as np
from hypothesis import strategies as st

from assistant.core import entries as e
from assistant.files.clips import Samples
from assistant.measure.fault_samples import KEY, PNG, at, full_job, reading, small_job, smallest_job, tone

__all__ = [
    "KEY", "PNG", "SAFE_INT", "any_entry", "any_of", "any_samples", "at", "full_job", "reading", "small_job", "smallest_job",
    "tone",
]  # fmt: skip
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
