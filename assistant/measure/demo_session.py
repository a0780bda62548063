"""One session of the demo, in a process of its own so that it can be killed: `start` or `resume`."""

from __future__ import annotations

import json
import sys
from contextlib import closing
from pathlib import Path

from assistant.bench.bay_board import board_beside
from assistant.bench.clock import WallClock
from assistant.bench.equipment import chosen_ears, load_ears
from assistant.bench.running import Session, run_recorded
from assistant.bench.starting import open_job, resume_job
from assistant.bench.transcript import Transcript
from assistant.core.problems import LayupProblem
from assistant.core.state import State
from assistant.files.job_file import JobFile
from assistant.files.model_store import models_root
from assistant.files.shipped import shipped_folder
from assistant.files.work import read_work
from assistant.measure.demo_script import load_script
from assistant.measure.demo_technician import DemoTechnician
from assistant.measure.spool import SpooledTrack
from assistant.settings import Settings

TECHNICIAN, CUSTOMER, NUMBER = "Kim", "Jo Lake", "ZZZ12345A626"
"""Of our own scenario: nobody is called so, and no maker has the code ZZZ."""


def main(how: str, out: Path, settings: Settings) -> int:
    """Begin the demo's job, or take it up again, and work until it ends."""
    demo, procedures = shipped_folder("demo"), shipped_folder("procedures")
    ears = load_ears(chosen_ears(settings, models_root()))
    job = out / "demo.job"

    def begin() -> tuple[JobFile, State]:
        if how == "resume":
            return resume_job(job, WallClock(), ears.names, TECHNICIAN)
        sheets = (procedures / "tern-3.sheet.yaml", procedures / "our-shop.site.yaml")
        work = read_work(procedures / "pwc-off-season.yaml", *sheets)
        return open_job(job, work, WallClock(), ears.names, TECHNICIAN, customer=CUSTOMER, number=NUMBER)

    script = load_script(demo / "script.yaml")
    technician = DemoTechnician(script, demo / "recordings", demo / "labels", memory=out / "technician.json")
    spool = out / "sound" / f"{'1-start' if how == 'start' else '2-resume'}.jsonl"
    with closing(SpooledTrack(spool)) as track, board_beside(job) as board:
        watchers = (Transcript(lambda text: print(text, flush=True)), board)
        session = Session(begin, ears, technician.open_camera, settings, watchers)
        run_recorded(session, technician, track)
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1], Path(sys.argv[2]), Settings(**json.loads(sys.argv[3]))))
    except LayupProblem as problem:
        print(f"layup demo: {problem}", file=sys.stderr)
        sys.exit(problem.exit_status)
