"""The garbage collector, held back while a job is made ready: of the objects that are made then all stay, and looking through
them for garbage again and again takes a third of the time (measured: 420 ms with, 280 ms without, for 5,000 entries).

They are left out of later rounds too (`gc.freeze`), until a job is let go: then everything is looked through again.
"""

from __future__ import annotations

import gc
import threading
from collections.abc import Iterator
from contextlib import contextmanager


class _Collector:
    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._holding = 0
        self._was_on = True

    @contextmanager
    def held_back(self) -> Iterator[None]:
        """Nothing is collected until all who hold it back, in whichever thread, are done."""
        with self._guard:
            if not self._holding:
                self._was_on = gc.isenabled()
                gc.disable()
            self._holding += 1
        try:
            yield
        finally:
            with self._guard:
                self._holding -= 1
                if not self._holding:
                    gc.freeze()
                    if self._was_on:
                        gc.enable()

    def look_at_all(self) -> None:
        """What was left out is looked through again, with the next full round."""
        gc.unfreeze()


COLLECTOR = _Collector()
"""There is one in a process."""
