"""What may be said now: the question, as the engine puts it to the ears. Small, frozen and hashable."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from assistant.core.procedure import Position, Reading
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language


@dataclass(frozen=True)
class Asked:
    """One reading that may be given now.

    `next_at` is the position meant when none is said; None where there are no positions, or where one must be said.
    `unnamed`: it may be given without its name, because it is the one that was asked for. `open_at`: the positions that
    nothing is kept for, from `next_at` on: several values said in one breath go there in this order.
    """

    reading: Reading
    next_at: Position | None = None
    unnamed: bool = True
    open_at: tuple[Position, ...] = ()


@dataclass(frozen=True)
class Expectation:
    """What may be said now.

    `asked`: the step's readings; `correctable`: the last kept reading, which *correction* replaces, or where `in_question`
    the value that is being asked about and is not kept yet; `commands`: canonical names ("say again"); `free`: the next
    utterance is a remark and is kept as sound whatever it says; `gallon`: what a bare gallon means here; `renamed`: the shop's
    own words for commands; `today`: the day that a date without its whole year is seen from; None: such a date means nothing;
    `repeatable`: the words that *say again all after* may name; `labels`: a part's number may be spelled; `language`: in which.
    """

    commands: tuple[str, ...]
    asked: tuple[Asked, ...] = ()
    correctable: Asked | None = None
    free: bool = False
    gallon: str = "us_gal"
    renamed: tuple[tuple[str, tuple[str, ...]], ...] = ()
    today: date | None = None
    repeatable: tuple[str, ...] = ()
    in_question: bool = False
    labels: bool = False
    language: Language = ENGLISH

    @property
    def command_words(self) -> dict[str, tuple[str, ...]]:
        """Command -> what is said for it: the shop's own words, else the language's."""
        return {**self.language.commands, **dict(self.renamed)}
