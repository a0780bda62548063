"""What a trade computation gives: the answer, the working line by line, and where the rule comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from assistant.core.units import Amount

Answer = Amount | str
"""An amount, or a word where the computation names something: a cylinder, a verdict, an order of bolts."""
Verdict = Literal["within", "low", "high", "unsure"]


@dataclass(frozen=True)
class Figure:
    """One computed figure. `working` is read from top to bottom by whoever doubts it.

    `sources`: rule and tables, each as it would be cited. `verdict`: only where the rule itself judges. `beside`: other
    results, named apart, that must not be taken for the answer. `cautions`: what must be said with it.
    """

    answer: Answer
    working: tuple[str, ...]
    sources: tuple[str, ...]
    verdict: Verdict | None = None
    beside: tuple[tuple[str, Answer], ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def amount(self) -> Amount:
        """The answer where it is an amount. Raises ValueError where it is a word."""
        if isinstance(self.answer, str):
            raise ValueError(f"the answer is '{self.answer}', and no amount")
        return self.answer
