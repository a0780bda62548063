"""One live session of the demo's job with every moment noted, in a process of its own: what `measure loop` reads.

Prints JSON lines {"what", "at"}: `at` in seconds of the machine's monotonic clock, which both processes share.
"""

from __future__ import annotations

import json
import os
import resource
import sys
import tempfile
import threading
import time
from pathlib import Path

from assistant.bench.clock import WallClock
from assistant.bench.equipment import chosen_ears, load_ears
from assistant.bench.hearing import Timing
from assistant.bench.running import Session, run_live
from assistant.bench.starting import open_job
from assistant.core.effects import Effect, Record, Say
from assistant.core.events import Event, Heard, Recorded
from assistant.core.state import State
from assistant.files.job_file import JobFile
from assistant.files.model_store import models_root
from assistant.files.shipped import shipped_folder
from assistant.files.work import read_work
from assistant.measure.demo_script import load_script
from assistant.measure.demo_technician import DemoTechnician
from assistant.measure.turn_taking import TurnTaking
from assistant.settings import Settings

ONE_AT_A_TIME = threading.Lock()


def note(what: str, at_s: float | None = None, **more: object) -> None:
    """One moment."""
    row = json.dumps({"what": what, "at": time.monotonic() if at_s is None else at_s, **more})
    with ONE_AT_A_TIME:
        print(row, flush=True)


class Notes:
    """A Watcher that notes when the loop takes an utterance, commits an entry, and says something."""

    def event(self, state: State, event: Event) -> None:  # noqa: ARG002 - the protocol's
        """Heard, and recorded."""
        if isinstance(event, Heard | Recorded):
            note(type(event).__name__.lower())

    def effect(self, state: State, effect: Effect) -> None:  # noqa: ARG002 - the protocol's
        """To be recorded, and said."""
        if isinstance(effect, Record):
            note("record")
        elif isinstance(effect, Say):
            note("say", number=effect.number)


def timed(timing: Timing) -> None:
    """The end of an utterance, and both ears."""
    note("known", timing.known_s)
    note("streamed", timing.streamed_s)
    note("weighed", timing.weighed_s)


def main(settings: Settings, most: int) -> int:
    """A job in a temporary folder with `most` recordings."""
    demo, procedures = shipped_folder("demo"), shipped_folder("procedures")
    ears = load_ears(chosen_ears(settings, models_root()))
    sheets = (procedures / "tern-3.sheet.yaml", procedures / "our-shop.site.yaml")
    work = read_work(procedures / "pwc-off-season.yaml", *sheets)
    technician = DemoTechnician(load_script(demo / "script.yaml"), demo / "recordings", demo / "labels")
    source = TurnTaking(technician, most)
    with tempfile.TemporaryDirectory(dir=os.environ.get("LAYUP_MEASURE_FOLDER")) as folder:

        def begin() -> tuple[JobFile, State]:
            return open_job(Path(folder) / "loop.job", work, WallClock(), ears.names)

        session = Session(begin, ears, technician.open_camera, settings, (source, Notes()), timed)
        run_live(session, open_source=lambda: source, started=lambda number: note("sound", number=number))
        note("memory", own_kb=resident_kb("self"), peak_kb=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
    return 0


def resident_kb(process: str) -> int:
    """Resident memory of a process now, from Linux's /proc."""
    status = Path(f"/proc/{process}/status").read_text(encoding="ascii")
    return int(next(row.split()[1] for row in status.splitlines() if row.startswith("VmRSS")))


if __name__ == "__main__":
    sys.exit(main(Settings(**json.loads(sys.argv[1])), int(sys.argv[2])))
