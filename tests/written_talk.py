"""A whole conversation as a text file: what goes in is played to the engine, and the file must be what comes out.

Lines: "assistant" what is said; "technician" words that are heard; "camera" a symbology and a text, or "nothing"; "waits" so
many seconds; "lost" and "back" a device; "full" and "room" the disk; "restarts" the power fails.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from assistant.core.events import DeviceBack, DeviceLost, Label, Scanned
from assistant.core.speech.english import ENGLISH
from assistant.files.work import Work
from tests.conversation import Conversation

SAYS = "assistant"


def lines_of(path: Path) -> list[tuple[str, str]]:
    """Who and what, of each line that is no remark."""
    texts = path.read_text(encoding="utf-8").splitlines()
    found = (text.strip().partition("  ") for text in texts if text.strip() and not text.startswith("#"))
    return [(who, what.strip()) for who, _, what in found]


def replayed(work: Work, lines: list[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """The same conversation held anew: everything that goes in, and after each what the assistant really says."""
    bay = Conversation(work.procedure, dict(work.sheet.parts), work.site)
    yield from ((SAYS, text) for text in bay.begin())
    for who, what in lines:
        if who == SAYS:
            continue
        yield who, what
        if who == "restarts":
            before = len(bay.said)
            bay = bay.resumed()
            yield from ((SAYS, text) for text in bay.said[before:])
        else:
            yield from ((SAYS, text) for text in INPUTS[who](bay, what))


def _seen(bay: Conversation, what: str) -> list[str]:
    if what == "nothing":
        return bay.send(Scanned(bay.now_s, (), "", trouble=ENGLISH.phrase("label dark")))
    symbology, _, text = what.partition(" ")
    return bay.see(Label(symbology, text))


def _disk(full: bool) -> Callable[[Conversation, str], list[str]]:
    def turned(bay: Conversation, _what: str) -> list[str]:
        bay.disk_full = full
        return []

    return turned


INPUTS: dict[str, Callable[[Conversation, str], list[str]]] = {
    "technician": Conversation.hear,
    "camera": _seen,
    "waits": lambda bay, what: bay.wait(float(what)),
    "lost": lambda bay, what: bay.send(DeviceLost(bay.now_s, what, "unplugged")),
    "back": lambda bay, what: bay.send(DeviceBack(bay.now_s, what)),
    "full": _disk(True),
    "room": _disk(False),
}
