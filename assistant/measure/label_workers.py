"""Pictures shared out over processes, each with decoders of its own on one thread. What comes back is in the order of the
pictures, and the same however many processes there are: only the times may differ.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing
from multiprocessing import get_context
from typing import TypeVar

from assistant.core.problems import DeviceTrouble
from assistant.measure.label_readings import Decoders

Given = TypeVar("Given")
Found = TypeVar("Found")
Look = Callable[[Decoders, Given], Found]
"""A function at the top of a module, so that it can be named to another process."""

_mine: list[Decoders] = []
"""The decoders of this process, where it is a worker."""


def cores() -> int:
    """How many this process may use."""
    return len(os.sched_getaffinity(0))


def looked_at(look: Look[Given, Found], given: Sequence[Given], workers: int) -> Iterator[Found]:
    """`look` at each. One worker is this process itself. DeviceTrouble where a process was killed."""
    if workers == 1 or len(given) < 2:
        with closing(Decoders()) as decoders:
            yield from (look(decoders, one) for one in given)
        return
    pool = ProcessPoolExecutor(min(workers, len(given)), get_context("spawn"), initializer=_begin)
    try:
        for future in [pool.submit(_look, look, one) for one in given]:
            yield future.result()
    except BrokenProcessPool as e:
        what = "a process that read labels was killed, perhaps for want of memory"
        raise DeviceTrouble(what, do="try again with fewer --workers") from e
    finally:
        pool.shutdown(cancel_futures=True)


def _begin() -> None:
    # Control-C ends the process that shares out the work, and that one ends these.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _mine.append(Decoders())


def _look(look: Look[Given, Found], given: Given) -> Found:
    return look(_mine[0], given)
