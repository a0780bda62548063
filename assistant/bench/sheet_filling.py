"""`layup sheet new`: asks for each number that a procedure wants and a sheet lacks, one by one, and writes each at once.

What is answered is looked at before it is written: the unit's kind, the form, whether it looks like a slip. Whatever is left
empty stays missing. When it is broken off, the file has all that was answered, and the next call goes on from there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path

from assistant.bench.sheet_checking import missing_in
from assistant.core.labels.check_digit import gtin14
from assistant.core.machine import MachineSheet
from assistant.core.problems import CallProblem, FileProblems
from assistant.core.procedure import Procedure
from assistant.core.sheet_needs import Need, SheetNeeds
from assistant.core.sheet_questions import questions_of
from assistant.core.units import a_kind
from assistant.files.sheet_values import MOST_POSITIONS
from assistant.files.sheet_writing import Section, Sheet, new_sheet, table
from assistant.files.yaml_fields import amount_from

FROM = "from "
"""Begins the answer of a number that stands in no manual: "from label of the can"."""
GTIN_LENGTHS = (8, 12, 13, 14)


@dataclass(frozen=True)
class Talk:
    """The terminal: `ask` gives the answer to a prompt (EOFError where none will come), `tell` shows a line."""

    ask: Callable[[str], str]
    tell: Callable[[str], None]


@dataclass(frozen=True)
class Author:
    """Who enters numbers, and the day."""

    by: str
    on: date


def fill_sheet(path: Path, procedure: Procedure, needs: SheetNeeds, talk: Talk, on: date) -> str:
    """Ask for all that is missing until it is there or no more answers come; what is told at the end."""
    try:
        filling = SheetFilling(path, procedure, needs, talk, on)
    except EOFError:
        return f"no more answers; {path} is as it was"
    try:
        filling.fill()
    except EOFError:
        talk.tell("\nno more answers")
    missing = filling.missing()
    if missing:
        return f"{path}: still missing: {', '.join(missing)}\n  the same call goes on with these{_left(filling.sheet)}"
    return f"{path}: nothing is missing that '{procedure.name}' wants"


class SheetFilling:
    """One sheet being filled in."""

    def __init__(self, path: Path, procedure: Procedure, needs: SheetNeeds, talk: Talk, on: date) -> None:
        self._path = path
        self._procedure = procedure
        self._needs = needs
        self._talk = talk
        self._file = self._begun(on)
        self._author = self._asked_author(on)

    @property
    def sheet(self) -> MachineSheet:
        """What its file says now."""
        return self._file.says

    def missing(self) -> tuple[str, ...]:
        """What the procedure wants and the sheet lacks."""
        return missing_in(self.sheet, self._needs)

    def fill(self) -> None:
        """Ask for all that is missing. Raises EOFError where no more answers come; what was answered is on disk."""
        todo = list(self._todo())
        for number, (what, ask) in enumerate(todo, 1):
            self._talk.tell(f"[{number} of {len(todo)}] {what}")
            while not ask():
                pass

    def _todo(self) -> Iterator[tuple[str, Callable[[], bool]]]:
        """What is missing: what is told of it, and what asks for it once (False: to be asked again)."""
        for name, steps in self._needs.counts.items():
            if name not in self.sheet.counts:
                yield f"{name}: how many the machine has{_used(steps)}", partial(self._count, name, steps)
        for need in self._needs.values.values():
            if need.name not in self.sheet.values:
                yield f"{need.name}: {_kind_told(need)}{_used(need.steps)}", partial(self._value, need)
        for role, steps in self._needs.parts.items():
            if role not in self.sheet.parts:
                yield f"part {role}{_used(steps)}", partial(self._part, role, steps)

    # Beginning

    def _begun(self, on: date) -> Sheet:
        if not self._path.exists():
            return self._made(on)
        found = Sheet.read(self._path)
        if found.says.machine_class != self._procedure.machine_class:
            raise CallProblem(
                f"this sheet is for '{found.says.machine_class}', the procedure for '{self._procedure.machine_class}'",
                where=str(self._path),
                do="name another file, or another procedure",
            )
        found.check_place()
        self._talk.tell(f"{self._path}: {found.says.model}, from {found.says.manual or 'no one manual'}")
        return found

    def _made(self, on: date) -> Sheet:
        while True:
            model, manual = self._needed("Model of the machine"), self._needed("Its service manual, with the edition")
            text = new_sheet(model, self._procedure.machine_class, manual, self._needed("Who enters the numbers"), on)
            if self._written(made := self._tried(partial(Sheet.of, self._path, text))) and made is not None:
                return made

    def _asked_author(self, on: date) -> Author:
        if self.sheet.by and self.sheet.on == on:
            return Author(self.sheet.by, on)
        default = f" (empty: {self.sheet.by})" if self.sheet.by else ""
        by = self._asked(f"Who enters the numbers today{default}")
        return Author(by or self.sheet.by or self._needed("Who enters the numbers today"), on)

    # One thing each; True: settled, or left out

    def _count(self, name: str, steps: tuple[str, ...]) -> bool:
        answer = self._asked("  how many (empty: leave it out)")
        if not answer:
            return True
        if not (answer.isascii() and answer.isdecimal() and 1 <= int(answer[:9]) <= MOST_POSITIONS):
            return self._again(f"'{answer}' is no whole number from 1 to {MOST_POSITIONS}")
        origin = self._origin("  its page, or 'from ...' (empty: seen on the machine)")
        written = table({"is": answer, **origin, **self._own()}) if origin else answer
        return self._keep("counts", name, written, _comment(steps))

    def _value(self, need: Need) -> bool:
        answer = self._asked("  number and unit (empty: leave it out)")
        if not answer:
            return True
        try:
            amount = amount_from(f"{answer} count" if need.kind == "count" and " " not in answer else answer)
        except ValueError as error:
            return self._again(str(error))
        if amount.unit not in need.units:
            return self._again(f"{amount} is {a_kind(amount.unit)}, and must be {a_kind(need.units[0])}")
        origin = self._origin("  its page, or 'from ...' where it stands in no manual (empty: leave it out)")
        if not origin:
            self._talk.tell("  left out: a number needs its page")
            return True
        given = {"is": f"{amount.value} {amount.unit}", **origin, **self._own()}
        if need.kind == "torque":
            given |= self._fastener()
        return self._keep_value(need, given)

    def _keep_value(self, need: Need, given: Mapping[str, str]) -> bool:
        after = self._after("values", need.name, table(given), _comment(need.steps))
        if after is None:
            return False
        asked = [q for q in questions_of(after.says, self._needs) if need.name in q.about and not q.checked]
        for question in asked:
            self._talk.tell(f"  question: {question.what}")
        if asked:
            why = self._asked("  why it is right all the same (empty: enter it again)")
            if not why:
                return False
            after = self._after("values", need.name, table({**given, "checked": why}), _comment(need.steps))
        return self._written(after)

    def _part(self, role: str, steps: tuple[str, ...]) -> bool:
        answer = self._asked("  numbers on its label, with commas (empty: leave it out)")
        given = [text for part in answer.split(",") if (text := " ".join(part.split()))]
        if not given:
            return True
        gtins = [text for text in given if text.isdecimal() and len(text) in GTIN_LENGTHS]
        for text in gtins:
            if not isinstance(gtin14(text), str):
                return self._again(f"'{text}' is no GTIN: the check digit is wrong, read it from the label again")
        numbers = [text for text in given if text not in gtins]
        say = self._asked(f"  what it is called aloud (empty: {role.replace('_', ' ')})") or role.replace("_", " ")
        quantity = self._asked("  how many a step wants (empty: 1)")
        written = table({"say": say, "gtins": gtins, "numbers": numbers, "quantity": quantity})
        return self._keep("parts", role, written, _comment(steps))

    def _fastener(self) -> dict[str, str]:
        marked = self._asked("  thread and class of the fastener, such as M6 8.8 (empty: not known)")
        thread, _, strength = marked.partition(" ")
        return {"thread": thread, "class": strength.strip()}

    def _origin(self, prompt: str) -> dict[str, str]:
        answer = self._asked(prompt)
        if answer.startswith(FROM):
            return {"from": answer.removeprefix(FROM)}
        return {"page": answer} if answer else {}

    def _own(self) -> dict[str, str]:
        """Who and when, where the sheet says otherwise."""
        if (self.sheet.by, self.sheet.on) == (self._author.by, self._author.on):
            return {}
        return {"by": self._author.by, "on": self._author.on.isoformat()}

    # Reading back and writing

    def _keep(self, section: Section, name: str, written: str, comment: str) -> bool:
        return self._written(self._after(section, name, written, comment))

    def _after(self, section: Section, name: str, written: str, comment: str) -> Sheet | None:
        """The sheet with one more line; None where the line is at fault, which is told."""
        return self._tried(lambda: self._file.with_line(section, name, written, comment))

    def _tried(self, read: Callable[[], Sheet]) -> Sheet | None:
        try:
            return read()
        except FileProblems as found:
            for problem in found.problems:
                self._talk.tell(f"  {problem.what}: {problem.do}")
            return None

    def _written(self, after: Sheet | None) -> bool:
        if after is None:
            return False
        after.write()
        self._file = after
        return True

    # Asking

    def _asked(self, prompt: str) -> str:
        return " ".join(self._talk.ask(f"{prompt}: ").split())

    def _needed(self, prompt: str) -> str:
        while not (answer := self._asked(prompt)):
            self._talk.tell("  this is needed")
        return answer

    def _again(self, why: str) -> bool:
        self._talk.tell(f"  {why}")
        return False


def _kind_told(need: Need) -> str:
    if not need.kind:
        return "a number with its unit"
    return f"{a_kind(need.units[0])}, in {' or '.join(need.units)}" if need.kind != "count" else "a count"


def _left(sheet: MachineSheet) -> str:
    return "; numbers that are left out are looked up in the bay" if sheet.look_up else ""


def _used(steps: tuple[str, ...]) -> str:
    return f"\n  used in: {'; '.join(steps)}" if steps else ""


def _comment(steps: tuple[str, ...]) -> str:
    return f"used in: {'; '.join(steps)}" if steps else ""
