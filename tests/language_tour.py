"""The short job in any language: what a technician says, made of that language's own table, so that much of it is heard."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from assistant.core.events import DeviceBack, DeviceLost, Label, Scanned
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.speech.saying import figures, sent_singly, spoken
from tests.conversation import Conversation, take

FILTER, WASHER = Label("EAN-13", "2990001000117"), Label("CODE-128", "T3-1142")
WRONG_CHECK, RIGHT = "2990001000118", "2990001000117"


class Tour:
    """A technician who speaks that language."""

    def __init__(self, bay: Conversation, language: Language) -> None:
        self.bay = bay
        self.language = language

    def walk(self) -> Conversation:
        """From the first step to the last."""
        self._conditions_and_cautions()
        self._compression()
        self._battery()
        self._parts()
        self._count()
        self._resumed()
        self._texts()
        return self.bay

    def do(self, *commands: str) -> None:
        """Commands, one after the other."""
        for command in commands:
            self.bay.hear(self.language.commands[command][0])

    def number(self, value: str, *, before: str = "", place: int = 0) -> None:
        """A number as anyone says it, behind a command and a place."""
        words = self.language
        each = f"{words.named('cylinder')} {spoken(Decimal(place), words)}" if place else ""
        said = (words.commands[before][0] if before else "", each, spoken(Decimal(value), words))
        self.bay.hear(" ".join(filter(None, said)))

    def _conditions_and_cautions(self) -> None:
        self.do("negative", "roger", "say again", "affirm", "affirm", "where are we", "stand by", "go ahead", "roger")
        self.do("limits", "read back", "correction", "affirm", "go ahead", "stop")
        for side in ("after", "before"):
            words = {side: said for said, side in self.language.sides.items()}
            self.bay.hear(f"{self.language.commands['say again'][0]} {self.language.all_} {words[side]} motor")
        self.do("done", "go back", "go back", "roger", "done", "done")

    def _compression(self) -> None:
        self.number("190")
        for device in ("microphone", "loudspeaker", "camera"):
            self.bay.send(DeviceLost(self.bay.now_s, device, "unplugged"))
            self.bay.send(DeviceBack(self.bay.now_s, device))
        self.number("119", place=3)
        self.number("192", before="correction")
        self.do("read back", "done", "where are we")
        self.bay.disk_full = True
        self.number("150")
        self.bay.disk_full = False
        one, other = (spoken(Decimal(n), self.language) for n in (180, 118))
        self.bay.hear_takes(take("vosk", (one, 0.5), (other, 0.5)))
        self.do("affirm", "roger")
        self.bay.hear(figures(Decimal(118), "digits", self.language))
        self.do("limits")
        self.number("191", before="correction", place=2)

    def _battery(self) -> None:
        self.do("done")
        self.bay.hear("xyzzy")
        self.bay.hear("flojos")
        self.number("11.6")
        self.number("12.5", before="correction")
        self.bay.hear(f"{self.language.commands['correction'][0]} {figures(Decimal(189), 'digits', self.language)}")
        self.do("negative", "disregard")
        for remark in ("note", "finding"):
            self.do(remark)
            self.bay.hear("xyzzy")
        self.do("note", "disregard", "done")

    def _parts(self) -> None:
        for trouble in ("label dark", "nothing like a label"):
            self.do("part")
            self.bay.send(Scanned(self.bay.now_s, (), "", trouble=ENGLISH.phrase(trouble)))
        for label in (
            Label("EAN-13", "2990001000995"),
            WASHER,
            Label("CODE-128", "ABC-1"),
            Label("EAN-13", "2990001000118"),
        ):
            self.do("part")
            self.bay.see(label)
            self.do("disregard")
        for number in (WRONG_CHECK, RIGHT):
            start = f"{self.language.commands['part'][0]} {self.language.part_number}"
            self.bay.hear(f"{start} {sent_singly(number, self.language)}")
        for _ in range(2):
            self.do("part")
            self.bay.see(WASHER)
        self.do("affirm")

    def _count(self) -> None:
        self.do("go ahead")
        self.bay.wait(1.0)
        self.do("stop", "go ahead")
        self.bay.wait(3.0)

    def _resumed(self) -> None:
        self.bay = self.bay.resumed()
        self.do("words twice")
        self.number("-15")
        self.number("-15")
        self.do("words twice")
        self.number("-25", before="correction")

    def _texts(self) -> None:
        self.bay.hear(sent_singly("20261123", self.language))
        self.bay.hear("alfa alfa")
        self.do("part")
        self.bay.see(FILTER)
        self.do("done")
        self.do("unable")
        self.bay.hear("xyzzy")


def values_kept(bay: Conversation) -> Iterator[tuple[str, str, str, str]]:
    """Each value that was kept with its verdict: the same in every language."""
    for kept in bay.kept:
        body = kept.entry.body()
        if "verdict" in body:
            yield body["name"], body["at"], body["value"], body["verdict"]
