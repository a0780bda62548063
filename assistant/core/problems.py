"""What can go wrong that the code cannot answer, grouped by what the caller can do about it.

    LayupProblem
    |- FileProblem          fix the file (procedure, sheet, site, setting): file, line, column
    |- JobFileBroken        the job file is not whole
    |  '- ChainBroken       an entry does not fit: stop, show both hashes
    |- DeviceTrouble        a microphone, speaker, camera or model is missing or failed: say it, retry
    |- ModelProblem         a model folder or its weights cannot be used
    '- CallProblem          the command was given something it cannot use (exit status 2)

Expected outcomes (misheard, out of limits, wrong part) are values, never exceptions.
Each problem says what is wrong, where, and what to do, in one or two lines.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Place:
    """Where in a text file: 1-based line and column, 0 where unknown."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        parts = [self.file]
        if self.line:
            parts.append(str(self.line))
            if self.column:
                parts.append(str(self.column))
        return ":".join(parts)


class LayupProblem(Exception):
    """The root: `what` is wrong, `where`, and what to `do`."""

    exit_status = 1

    def __init__(self, what: str, *, where: str | Place = "", do: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = str(where)
        self.do = do

    def __str__(self) -> str:
        head = f"{self.where}: {self.what}" if self.where else self.what
        return f"{head}\n  {self.do}" if self.do else head


class FileProblem(LayupProblem):
    """A file that a person writes is at fault: mend it at `where`."""


class FileProblems(LayupProblem):
    """All problems of one reading, gathered; printed one under the other."""

    def __init__(self, problems: tuple[FileProblem, ...]) -> None:
        super().__init__("\n".join(str(p) for p in problems))
        self.problems = problems


class JobFileBroken(LayupProblem):
    """The job file is not whole."""


class ChainBroken(JobFileBroken):
    """An entry does not fit the chain: someone or something changed the file."""


class DeviceTrouble(LayupProblem):
    """A device is missing or failed."""


class ModelProblem(LayupProblem):
    """A model folder or its weights cannot be used."""


class CallProblem(LayupProblem):
    """The call was wrong: a missing file, an unknown step, a bad number."""

    exit_status = 2
