"""`layup prove`: is a procedure file well formed, does every name it uses exist, and is it safe in every order of answers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from assistant.bench.sounds import StepSounds, sounds_of, sounds_text
from assistant.bench.starting import read_work
from assistant.core.problems import FileProblems
from assistant.core.procedure import Procedure
from assistant.core.proof import Proof, prove
from assistant.files.procedure_file import load_procedure
from assistant.files.shipped import PROCEDURE, find_file


@dataclass(frozen=True)
class FileProof:
    """What was found about one file. `problems` in its form; `proof` where it has a form at all; `sounds` where asked for."""

    file: str
    problems: tuple[str, ...]
    proof: Proof | None
    steps: int
    sounds: tuple[StepSounds, ...] = ()

    @property
    def ok(self) -> bool:
        """Nothing wrong."""
        return not self.problems and self.proof is not None and self.proof.ok

    def text(self) -> str:
        """For a person: each problem, or that it is proved, or the shortest conversation that shows it is not."""
        if self.problems:
            return "\n".join(self.problems)
        assert self.proof is not None
        proof = self.proof
        if proof.counterexample:
            return f"{self.file}: not safe. The shortest way to what must never be:\n{proof.counterexample}"
        if proof.unreachable:
            return f"{self.file}: these steps can never be done: {', '.join(proof.unreachable)}"
        proved = f"{self.file}: proved: {self.steps} steps, no order of answers reaches a never ({proof.states} states)"
        return "\n".join((proved, *sounds_text(self.sounds)))

    def as_json(self) -> dict[str, object]:
        """One object."""
        proof = self.proof
        return {
            "file": self.file,
            "ok": self.ok,
            "problems": list(self.problems),
            "steps": self.steps,
            "states": proof.states if proof else 0,
            "counterexample": str(proof.counterexample) if proof and proof.counterexample else None,
            "unreachable": list(proof.unreachable) if proof else [],
            **({"sounds": [step.as_json() for step in self.sounds]} if self.sounds else {}),
        }


def prove_file(path: Path, sheet: Path | None, site: Path | None) -> FileProof:
    """Read, bind where a sheet is given, and prove. Problems of form are gathered, not raised."""
    path = find_file(path, PROCEDURE)
    try:
        procedure = read_work(path, sheet, site).procedure if sheet else load_procedure(path)
    except FileProblems as found:
        return FileProof(str(path), tuple(str(p) for p in found.problems), None, 0)
    return _proved(path, procedure)


def with_sounds(found: FileProof, path: Path, sheet: Path, site: Path | None, today: date) -> FileProof:
    """The same with what sounds alike at each step; a file with problems stays as it is."""
    if found.problems:
        return found
    return replace(found, sounds=sounds_of(read_work(path, sheet, site), today))


def _proved(path: Path, procedure: Procedure) -> FileProof:
    return FileProof(str(path), (), prove(procedure), len(procedure.steps))
