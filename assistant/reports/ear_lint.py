"""What the lint for the ear found, for the one who writes the procedure: `layup prove --ear`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import groupby

from assistant.core.ear_lint.findings import GRADES, Finding, Grade
from assistant.core.ear_lint.linting import EarLint
from assistant.core.ear_lint.readability import Readability
from assistant.core.problems import Place

HEADS: dict[Grade, str] = {
    "must": "must be mended (somebody may be hurt, or a wrong value be kept):",
    "should": "should be mended (hard to follow by ear):",
    "look": "to look at (true, and perhaps as it has to be):",
}
HARDEST_SHOWN = 3


@dataclass(frozen=True)
class EarReport:
    """One file's findings. `place` says where a finding stands; `machine`: were the answers looked at, for which a sheet
    is needed."""

    file: str
    lint: EarLint
    place: Callable[[Finding], Place]
    machine: bool

    @property
    def ok(self) -> bool:
        """Nothing that must be mended."""
        return self.lint.ok

    def text(self) -> Iterator[str]:
        """Lines for a person, the worst first, the score last; what is to be done about several in a row is said once."""
        for grade in GRADES:
            found = [one for one in self.lint.findings if one.grade == grade]
            if found:
                yield HEADS[grade]
            for do, same in groupby(found, key=lambda one: one.do):
                yield from (f"{self.place(one)}: {one.rule}: {one.what}" for one in same)
                yield f"  {do}"
        if not self.machine:
            yield "what sounds alike was not looked at: name a machine sheet with --machine"
        yield self._summary()

    def _summary(self) -> str:
        counts = ", ".join(f"{self.lint.count(grade)} {grade}" for grade in GRADES)
        hardest = sorted(self.lint.steps, key=lambda step: step[1].ease)[:HARDEST_SHOWN]
        shown = ", ".join(f"{step} {score.ease:.0f}" for step, score in hardest)
        return f"{self.file}: for the ear: {counts}; {self.lint.whole}; hardest steps: {shown}"

    def as_json(self) -> dict[str, object]:
        """One object: the findings, worst first, and every score."""
        return {
            "ok": self.ok,
            "findings": [self._finding_json(one) for one in self.lint.findings],
            "machine": self.machine,
            "readability": _score_json(self.lint.whole),
            "steps": {step: _score_json(score) for step, score in self.lint.steps},
        }

    def _finding_json(self, one: Finding) -> dict[str, object]:
        place = self.place(one)
        return {
            "grade": one.grade,
            "rule": one.rule,
            "file": place.file,
            "line": place.line,
            "column": place.column,
            "step": one.step,
            "what": one.what,
            "do": one.do,
        }


def _score_json(score: Readability) -> dict[str, float | int]:
    return {
        "ease": round(score.ease, 1),
        "grade": round(score.grade, 1),
        "words": score.words,
        "sentences": score.sentences,
        "syllables": score.syllables,
    }
