"""What a rehearsal found: the conversation line by line, what is needed for the job, how long it may take, what went wrong."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from assistant.core.expected_time import TimePart
from assistant.core.machine import MachineSheet, NamedValue, WantedPart
from assistant.core.named_by import names_of
from assistant.core.procedure import Procedure

Who = Literal["assistant", "technician", "kept", "limit", "camera", "problem"]
Kind = Literal["not understood", "never said", "stuck", "out of limits", "part refused", "step not done", "asked"]
KINDS: tuple[Kind, ...] = (
    "not understood", "never said", "stuck", "out of limits", "part refused", "step not done", "asked",
)  # fmt: skip
"""What is counted, the gravest first; *asked*: the assistant had to ask before it kept a value."""


@dataclass(frozen=True)
class Line:
    """One line of the conversation: at which step ("" before and after all), who or what, and the text."""

    step: str
    who: Who
    text: str


@dataclass(frozen=True)
class Problem:
    """Something that did not go well: its kind, the step, and in a sentence what; `place` in the answers file, "" if none."""

    kind: Kind
    step: str
    text: str
    place: str = ""

    def __str__(self) -> str:
        return f"{self.place}: {self.text}" if self.place else f"at step {self.step}: {self.text}"


@dataclass(frozen=True)
class PartRow:
    """One part that the job takes: of which role, and how many pieces in all."""

    part: WantedPart
    pieces: int


@dataclass(frozen=True)
class ValueRow:
    """One number that the procedure needs from the sheet, and the steps that name it."""

    value: NamedValue
    steps: tuple[str, ...]


@dataclass(frozen=True)
class Rehearsal:
    """The whole of it. `finished`: the job came to its end."""

    procedure: Procedure
    sheet: MachineSheet
    shop: str
    lines: tuple[Line, ...]
    parts: tuple[PartRow, ...]
    values: tuple[ValueRow, ...]
    time: tuple[TimePart, ...]
    problems: tuple[Problem, ...]
    finished: bool

    @property
    def score(self) -> Mapping[Kind, int]:
        """How many problems of each kind, none left out."""
        counts = Counter(problem.kind for problem in self.problems)
        return {kind: counts[kind] for kind in KINDS}

    @property
    def went_well(self) -> bool:
        """The job finished, and every line of the script was said and understood."""
        return self.finished and not any(p.place or p.kind == "stuck" for p in self.problems)


def parts_of_job(procedure: Procedure, sheet: MachineSheet, passed: Sequence[str] = ()) -> tuple[PartRow, ...]:
    """The parts that the steps want, in the order in which they are wanted; `passed`: steps that this machine does not have."""
    pieces: dict[str, int] = {}
    for step in procedure.steps:
        for role in step.parts if step.id not in passed else ():
            pieces[role] = pieces.get(role, 0) + sheet.parts[role].quantity
    return tuple(PartRow(sheet.parts[role], count) for role, count in pieces.items())


def values_of_job(unbound: Procedure, sheet: MachineSheet) -> tuple[ValueRow, ...]:
    """The numbers of the sheet that the procedure names, in the sheet's order."""
    named = names_of(unbound)
    return tuple(ValueRow(value, named[name]) for name, value in sheet.values.items() if name in named)
