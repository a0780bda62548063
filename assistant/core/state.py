"""The engine's state: the bound procedure, the job so far, and the talk that is going on.

Only the job outlives the program; the talk begins anew at each start.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, Literal

from assistant.core.effects import Effect, Record, Say
from assistant.core.entries import Entry
from assistant.core.job import Job
from assistant.core.machine import Site, WantedPart
from assistant.core.procedure import Procedure, Reading, Step
from assistant.core.speech.evidence import Evidence
from assistant.core.speech.language import Language
from assistant.core.speech.step_grammar import Meaning
from assistant.core.speech.weighing import NO_GROUNDS, Grounds

Phase = Literal[
    "starting",
    "asked back",
    "condition",
    "caution",
    "step",
    "question",
    "remark",
    "counting",
    "scanning",
    "standing by",
    "finished",
]
QuestionKind = Literal["affirm", "choose", "digits", "part"]


@dataclass(frozen=True)
class Question:
    """A doubt put to the technician: what it is about, the sound it came from, and how often it was asked.

    `after`: the phase it came up in, which goes on when it is settled. `evidence`: what was heard so far, which a value said in
    answer is added to; `denied`: what was answered *negative*.
    """

    kind: QuestionKind
    options: tuple[Meaning, ...] = ()
    words: str = ""
    grounds: Grounds = NO_GROUNDS
    clip: str = ""
    part: Entry | None = None
    picture: str = ""
    times: int = 1
    after: Phase = "step"
    evidence: Evidence[Meaning] | None = None
    denied: frozenset[Meaning] = frozenset()


@dataclass(frozen=True)
class Talk:
    """What is going on between the assistant and the technician.

    `back_to`: the phase that a remark, a scan or a stand-by returns to. `said`: number of the last Say. `last_texts`: what
    *say again* repeats. `keeping`: readings of one utterance still on their way to the disk. `condition`: the (name, value)
    to be affirmed, None for all that the step needs. `unclear`: utterances in a row not understood. `first_of_two`: what
    was heard of a reading said once under *words twice*. `stopped_early`: *stop* was obeyed before its utterance had ended.
    `put_off`: the foreman's questions that were disregarded; they come again at the next start.
    """

    phase: Phase = "starting"
    back_to: Phase = "step"
    said: int = 0
    last_texts: tuple[str, ...] = ()
    question: Question | None = None
    condition: tuple[str, str] | None = None
    remark: str = ""
    counted: int = 0
    keeping: int = 0
    unclear: int = 0
    twice: bool = False
    stopped_early: bool = False
    first_of_two: Evidence[Meaning] | None = None
    put_off: frozenset[int] = frozenset()


@dataclass(frozen=True)
class State:
    """Everything that `advance` knows. `today` is the date of the session (for dates on labels)."""

    procedure: Procedure
    parts: Mapping[str, WantedPart]
    site: Site
    today: date
    job: Job = field(default_factory=Job)
    talk: Talk = field(default_factory=Talk)

    @property
    def step(self) -> Step | None:
        """The open step."""
        return self.procedure.step(self.job.step) if self.job.step else None

    def reading(self, step_id: str, name: str) -> Reading:
        """The definition of a reading."""
        return next(r for r in self.procedure.step(step_id).readings if r.name == name)


class Turn:
    """One call of `advance` while it is being worked out: the state so far and the effects so far.

    `clip` is the sound of the utterance that this turn answers; an entry made in it has that sound unless it names another.
    """

    def __init__(self, state: State, at_s: float, clip: str = "") -> None:
        self.state = state
        self.at_s = at_s
        self.clip = clip
        self.effects: list[Effect] = []
        self._fresh = True

    @property
    def step(self) -> Step:
        """The open step; only called where one is open."""
        step = self.state.step
        assert step is not None
        return step

    @property
    def language(self) -> Language:
        """What is spoken in this shop."""
        return self.state.site.language

    def talk(self, **changes: Any) -> None:
        """Change what is going on."""
        self.state = replace(self.state, talk=replace(self.state.talk, **changes))

    def say(self, text: str, about: str) -> None:
        """Speak; the texts of one turn together are what *say again* repeats."""
        before = self.state.talk
        texts = (text,) if self._fresh else (*before.last_texts, text)
        if about == "unclear":
            texts = before.last_texts  # "say again" is what was not understood, not this
        else:
            self._fresh = False
        self.talk(said=before.said + 1, last_texts=texts)
        self.effects.append(Say(before.said + 1, text, about, self.state.job.step))

    def words(self, key: str, **named: str) -> str:
        """The sentence of that key in the technician's language."""
        return self.language.phrase(key, **named)

    def record(self, entry: Entry, clip: str = "", picture: str = "") -> None:
        """Have the entry committed; what follows from it happens when Recorded comes back."""
        self.effects.append(Record(entry, clip or self.clip, picture))

    def do(self, effect: Effect) -> None:
        """Any other effect."""
        self.effects.append(effect)
