"""`layup prove`: is a procedure file well formed, does every name it uses exist, and is it safe in every order of answers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from assistant.bench.ear_lint import Progress, ear_lint
from assistant.bench.sheet_checking import sheet_warnings
from assistant.bench.sounds import StepSounds, sounds_of, sounds_text
from assistant.core.machine import Site
from assistant.core.problems import FileProblem, FileProblems, Place
from assistant.core.procedure import Procedure
from assistant.core.proof import Proof, prove
from assistant.files.procedure_file import load_procedure, read_procedure
from assistant.files.shipped import PROCEDURE, find_file
from assistant.files.word_clashes import refuse_clashes
from assistant.files.work import read_work
from assistant.files.yaml_source import read_text
from assistant.reports.ear_lint import EarReport


@dataclass(frozen=True)
class FileProof:
    """What was found about one file. `problems` in its form; `proof` where it has a form at all; `sounds` and
    `ear` where asked for.

    `warnings` are told and stand in no one's way: limits of which nothing says where they come from, numbers of the sheet
    that look like a slip.
    """

    file: str
    problems: tuple[str, ...]
    proof: Proof | None
    steps: int
    sounds: tuple[StepSounds, ...] = ()
    warnings: tuple[str, ...] = ()
    ear: EarReport | None = None

    @property
    def ok(self) -> bool:
        """Nothing wrong, and nothing that must be mended for the ear."""
        return not self.problems and self.proof is not None and self.proof.ok and (self.ear is None or self.ear.ok)

    def text(self) -> str:
        """For a person: each problem, or that it is proved, or the shortest conversation that shows it is not."""
        if self.problems:
            return "\n".join(self.problems)
        assert self.proof is not None
        ear = self.ear.text() if self.ear else ()
        return "\n".join((*self.warnings, self._proof_text(self.proof), *sounds_text(self.sounds), *ear))

    def _proof_text(self, proof: Proof) -> str:
        if proof.counterexample:
            return f"{self.file}: not safe. The shortest way to what must never be:\n{proof.counterexample}"
        if proof.unreachable:
            return f"{self.file}: these steps can never be done: {', '.join(proof.unreachable)}"
        return f"{self.file}: proved: {self.steps} steps, no order of answers reaches a never ({proof.states} states)"

    def as_json(self) -> dict[str, object]:
        """One object."""
        proof = self.proof
        return {
            "file": self.file,
            "ok": self.ok,
            "problems": list(self.problems),
            "warnings": list(self.warnings),
            "steps": self.steps,
            "states": proof.states if proof else 0,
            "counterexample": str(proof.counterexample) if proof and proof.counterexample else None,
            "unreachable": list(proof.unreachable) if proof else [],
            **({"sounds": [step.as_json() for step in self.sounds]} if self.sounds else {}),
            **({"ear": self.ear.as_json()} if self.ear else {}),
        }


def prove_file(path: Path, sheet: Path | None, site: Path | None) -> FileProof:
    """Read, bind where a sheet is given, and prove. Problems of form are gathered, not raised."""
    path = find_file(path, PROCEDURE)
    try:
        if sheet is None:
            return _proved(path, _read_alone(path))
        work = read_work(path, sheet, site)
    except FileProblems as found:
        return FileProof(str(path), tuple(str(p) for p in found.problems), None, 0)
    return _proved(path, work.procedure, sheet_warnings(work.sheet, load_procedure(path), work.site))


def with_sounds(found: FileProof, path: Path, sheet: Path, site: Path | None, today: date) -> FileProof:
    """The same with what sounds alike at each step; a file with problems stays as it is."""
    if found.problems:
        return found
    return replace(found, sounds=sounds_of(read_work(path, sheet, site), today))


def with_ear(
    found: FileProof, path: Path, sheet: Path | None, site: Path | None, today: date, progress: Progress
) -> FileProof:
    """The same with what the lint for the ear finds; a file with problems stays as it is."""
    return found if found.problems else replace(found, ear=ear_lint(path, sheet, site, today, progress))


def _read_alone(path: Path) -> Procedure:
    """A procedure without machine and shop: its words must not be those of a command as the program has them."""
    text = read_text(path)
    procedure = read_procedure(text, str(path))
    refuse_clashes(procedure, text, Site(), "{}")
    return procedure


def _proved(path: Path, procedure: Procedure, questions: tuple[str, ...] = ()) -> FileProof:
    warnings = (*limits_without_source(procedure, str(path)), *questions)
    return FileProof(str(path), (), prove(procedure), len(procedure.steps), warnings=warnings)


def limits_without_source(procedure: Procedure, file: str) -> tuple[str, ...]:
    """A line for each limit of which nothing says where it comes from.

    Of a procedure that is not bound to a sheet, names may still bring their page, and a computation its rule.
    """
    found = []
    for step in procedure.steps:
        for reading in step.readings:
            for limit in reading.limits:
                named = [v for v in (limit.low, limit.high, limit.target, limit.tolerance) if isinstance(v, str)]
                waits = bool(limit.by or named) and reading.kind != "date"
                if not limit.source and not waits:
                    what = f"warning: a limit of the reading '{reading.name}' does not say where it comes from"
                    do = "add 'source: ...'; 'common practice, no source' is one too"
                    found.append(str(FileProblem(what, where=Place(file, limit.line), do=do)))
    return tuple(dict.fromkeys(found))
