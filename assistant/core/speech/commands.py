"""The command words and what each is for.

They are the radiotelephone procedure words (ICAO Annex 10 volume II chapter 5 and Doc 9432; the ACP 125 set agrees), an open
standard made for noisy channels, plus plain shop English. *Roger* means heard and understood, never yes; *affirm* is yes.
A shop may rename any of them in its site sheet (`words`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Command:
    """One command: how it is said, and what it does."""

    name: str
    said: tuple[str, ...]
    does: str


ALL: tuple[Command, ...] = (
    Command("say again", ("say again",), "repeats what the assistant said last"),
    Command("read back", ("read back",), "reads what is kept for this step"),
    Command("where are we", ("where are we",), "says which step is open and what it still wants"),
    Command("limits", ("limits",), "says what is allowed here"),
    Command("stop", ("stop",), "stops the assistant's speech, or its counting"),
    Command("stand by", ("stand by", "standby"), "stops listening until go ahead"),
    Command("go ahead", ("go ahead",), "listens again; starts a count"),
    Command("disregard", ("disregard",), "drops what is being said or asked"),
    Command("correction", ("correction",), "what follows replaces the last reading"),
    Command("affirm", ("affirm", "affirmative"), "yes"),
    Command("negative", ("negative",), "no"),
    Command("roger", ("roger",), "heard and understood (the answer to a caution; never yes)"),
    Command("words twice", ("words twice",), "every reading will be said twice and compared; again: no longer"),
    Command("done", ("done",), "the step is finished"),
    Command("go back", ("go back",), "opens the step before"),
    Command("unable", ("unable",), "skips the step; the reason is asked for"),
    Command("note", ("note",), "keeps the next thing said as a remark"),
    Command("finding", ("finding",), "keeps the next thing said for the customer to decide on"),
    Command("part", ("part",), "looks at the camera for a part's label"),
)
BY_NAME: Mapping[str, Command] = {c.name: c for c in ALL}

ANYTIME = ("say again", "stop", "stand by", "where are we")
"""Commands that may be said whatever is being asked."""
IN_STEP = (*ANYTIME, "read back", "limits", "disregard", "correction", "words twice", "done", "go back", "unable", "note",
           "finding", "part")  # fmt: skip
TO_CAUTION = (*ANYTIME, "roger", "go back", "unable", "note", "finding", "correction")
TO_QUESTION = (*ANYTIME, "affirm", "negative", "disregard", "correction", "limits", "unable", "go back")
TO_CONDITION = (*ANYTIME, "affirm", "negative", "roger", "go back", "unable", "correction")
IN_REMARK = ("disregard",)
ASKED_BACK = ("say again", "disregard", "stand by")
STANDING_BY = ("go ahead",)
EVERYDAY = ("yes", "no", "okay", "down")
"""Words of everyday answers that mean nothing here, but are listened for: else "no" is taken for *note*, "down" for *done*."""


def spoken_forms(names: Iterable[str], renamed: Mapping[str, tuple[str, ...]]) -> dict[str, str]:
    """What may be said -> command name, with the shop's own words in place of ours."""
    return {phrase: name for name in names for phrase in renamed.get(name, BY_NAME[name].said)}
