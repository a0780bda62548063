"""What the lint for the ear finds, and how grave it is.

Three grades. **must**: somebody may be hurt, or a wrong value be kept: it is mended before anybody works by the procedure.
**should**: hard to follow by ear. **look**: true, and perhaps as it has to be; somebody has looked at it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Grade = Literal["must", "should", "look"]
GRADES: tuple[Grade, ...] = ("must", "should", "look")
"""The worst first."""
Path = tuple[str | int, ...]
"""Where in a step (or, with no step, in the procedure): ("say",), ("cautions", 1), ("readings", 0, "ask")."""


@dataclass(frozen=True)
class Finding:
    """One thing to mend or to look at.

    `rule` names the kind of it in two or three words; `line` is that of the step in its file, 0 for the procedure itself, and
    `path` the place in there. `weight` orders what is of one grade, the heaviest first.
    """

    grade: Grade
    rule: str
    what: str
    do: str
    step: str = ""
    line: int = 0
    path: Path = ()
    weight: float = 0.0


def worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """By grade, then by weight, then as they stand in the file; what is said twice of one place is said once."""
    order = {grade: place for place, grade in enumerate(GRADES)}
    once = dict.fromkeys(findings)
    return tuple(sorted(once, key=lambda found: (order[found.grade], -found.weight, found.line)))
