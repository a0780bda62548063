"""What became of a job file after a fault: all is there that was told, nothing stands twice or changed unseen, it goes on."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from subprocess import PIPE, Popen
from typing import Any, Self

from assistant.core.job import fold
from assistant.core.problems import LayupProblem
from assistant.files.job_file import JobFile
from assistant.files.verify import verify
from assistant.measure.fault_job import Order, ScriptedClock, order_line, row_of, talk

Row = list[Any]


@dataclass(frozen=True)
class Trial:
    """One fault tried. lost: entries that were told and are gone. unseen: the file is called whole, and is not as it was told.

    trouble: what else is wrong, "" nothing: then, with nothing lost or unseen, the job survived. where: to make it again.
    """

    fault: str
    lost: int = 0
    unseen: int = 0
    trouble: str = ""
    where: str = ""

    @property
    def survived(self) -> bool:
        """All is well."""
        return not (self.lost or self.unseen or self.trouble)


@dataclass(frozen=True)
class Skipped:
    """A fault that cannot be made here, and why."""

    fault: str
    why: str


@dataclass(frozen=True)
class Told:
    """What a child told before it ended: entries on disk, in order; refusals; how it stopped or broke; strokes it took."""

    rows: tuple[Row, ...]
    refused: tuple[str, ...]
    stopped: str
    broke: str
    strokes: int
    status: int


class Server:
    """The process that forks a child for each job; preloaded with the shim where there is one. Close it by `with`."""

    def __init__(self, call: Sequence[str], environment: dict[str, str]) -> None:
        self._process = Popen(call, stdin=PIPE, stdout=PIPE, text=True, encoding="utf-8", env=environment)

    def do(self, order: Order) -> Told:
        """Have one job done; what was told of it."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(order_line(order))
        self._process.stdin.flush()
        found: dict[str, list[Any]] = {}
        for line in self._process.stdout:
            for what, value in json.loads(line).items():
                found.setdefault(what, []).append(value)
            if "ended" in found:
                break
        rows, refused = tuple(found.get("told", ())), tuple(found.get("refused", ()))
        stopped, broke = found.get("stopped", [""])[0], found.get("broke", [""])[0]
        return Told(rows, refused, stopped, broke, found.get("strokes", [0])[0], found.get("ended", [1])[0])

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        with self._process as process:
            assert process.stdin is not None
            process.stdin.close()


def rows_in(path: Path) -> list[Row]:
    """Every entry of a job file as it is compared. Raises LayupProblem."""
    with JobFile.open(path, read_only=True) as job_file:
        return [row_of(kept) for kept in job_file.entries()]


def judged(fault: str, path: Path, told: Told, undisturbed: Sequence[Row] | None = None) -> Trial:
    """What became of the job at `path`. `undisturbed`: the same job's entries without a fault, if its must be among them."""
    if not path.exists():
        return Trial(fault, lost=len(told.rows), trouble=told.broke)
    verdict = verify(path)
    if not verdict.whole:
        return Trial(fault, lost=len(told.rows), trouble=f"not whole any more: {verdict.fault}")
    stands = rows_in(path)
    lost = sum(row not in stands for row in told.rows)
    unseen = _unseen(stands, told.rows, undisturbed)
    return Trial(fault, lost, unseen, told.broke or _wrong_word(told) or _goes_on(path, stands))


def _wrong_word(told: Told) -> str:
    """The file is whole: the program must not have called it damaged."""
    called = [text for text in (told.stopped, *told.refused) if "damaged" in text]
    return f"a whole file was called damaged: {called[0].splitlines()[0]}" if called else ""


def _unseen(stands: Sequence[Row], told: Sequence[Row], undisturbed: Sequence[Row] | None) -> int:
    """Entries that nobody told of, but for the one on its way; that differ; or that are not of the undisturbed job."""
    first = told[0][0] if told else len(stands)
    differ = [row for row in told if len(stands) >= row[0] and stands[row[0] - 1] != row]
    more = max(0, len(stands) - (first - 1 + len(told)) - 1) if told else max(0, len(stands) - 1)
    other = 0 if undisturbed is None else sum(row not in undisturbed for row in stands)
    return len(differ) + more + other


def _goes_on(path: Path, stands: Sequence[Row]) -> str:
    """Resume it without a word from the technician: what is wrong with that, "" nothing."""
    if not stands:
        return ""  # `resume` says that the job was never begun, which is so
    with JobFile.open(path, read_only=True) as job_file:
        before = fold(job_file.entries())
    try:
        said = talk(path, ScriptedClock(len(stands)), None, (), lambda _: None)
    except LayupProblem as problem:
        return f"cannot be resumed: {problem}"
    after = rows_in(path)
    if after[: len(stands)] != list(stands) or after[len(stands)][2] != "job resumed":
        return "resuming changed what stood there"
    with JobFile.open(path, read_only=True) as job_file:
        step = fold(job_file.entries()).step
    if before.step and before.step not in before.status and step != before.step:
        return f"resume goes to step {step}, and {before.step} was open"
    if step and not any(say.step == step and say.about != "resumed" for say in said):
        return f"resume does not ask step {step}"
    return "" if verify(path).whole else "not whole after it was resumed"


@dataclass(frozen=True)
class Count:
    """One fault, all trials of it."""

    fault: str
    tried: int
    survived: int
    lost: int
    unseen: int
    troubles: tuple[str, ...]
    skipped: str = ""

    def as_json(self) -> dict[str, object]:
        """The object that `layup measure faults --json` prints."""
        return {
            "fault": self.fault, "tried": self.tried, "survived": self.survived, "lost": self.lost, "unseen": self.unseen,
            "troubles": list(self.troubles), "skipped": self.skipped,
        }  # fmt: skip


def _troubles(failed: Sequence[Trial]) -> Iterator[str]:
    """Each kind of trouble once: how often, and where it came first."""
    for kind in dict.fromkeys(t.trouble for t in failed):
        of = [t for t in failed if t.trouble == kind]
        place = f", first at {of[0].where}" if of[0].where else ""
        yield f"{kind or 'lost or changed'} ({len(of)} times{place})"


def counts(found: Iterable[Trial | Skipped]) -> Iterator[Count]:
    """One count a fault, in the order in which they were tried."""
    trials = list(found)
    for name in dict.fromkeys(t.fault for t in trials):
        of = [t for t in trials if isinstance(t, Trial) and t.fault == name]
        skipped = next((t.why for t in trials if isinstance(t, Skipped) and t.fault == name), "")
        troubles = tuple(_troubles([t for t in of if not t.survived]))
        survived, lost, unseen = sum(t.survived for t in of), sum(t.lost for t in of), sum(t.unseen for t in of)
        yield Count(name, len(of), survived, lost, unseen, troubles, skipped)
