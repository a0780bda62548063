"""The job's own texts, read again: titles as they were run, and whether other words would have meant another value.

Every job file carries its procedure, machine sheet and site. Texts that cannot be read or bound cost what is taken from
them and nothing else: titles fall back to the text itself, and every other thing that was heard counts as a doubt.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from functools import lru_cache

from assistant.core.entries import JobOpened, Kept, ReadingKept
from assistant.core.looking_up import bound_as_of, look_ups_of
from assistant.core.machine import MachineSheet, Site
from assistant.core.problems import FileProblems
from assistant.core.procedure import Finding, Limit, Procedure, Reading, Step, position_in
from assistant.core.speech.commands import IN_STEP
from assistant.core.speech.expectation import Asked, Expectation
from assistant.core.speech.step_grammar import Meaning, SpokenReading, meanings_of
from assistant.core.trade.quarters import first_day
from assistant.files.procedure_file import read_procedure
from assistant.files.sheet_file import read_sheet
from assistant.files.site_file import read_site
from assistant.files.yaml_source import Complaints, Items, Node, Table, Text, parse_yaml

TEXTS_KEPT = 32
"""A shop's jobs share their texts: so many are read once."""


class OwnTexts:
    """The procedure as it was run, where the texts of the first entry still bind; with what was looked up in `entries`."""

    def __init__(self, opened: JobOpened | None, entries: tuple[Kept, ...] = ()) -> None:
        self._procedure, self._site = _bound(opened, entries) if opened else (None, Site())
        self._steps = {step.id: step for step in self._procedure.steps} if self._procedure else {}

    @property
    def procedure(self) -> str:
        """The procedure's title, "" where its text cannot be read."""
        return self._procedure.title if self._procedure else ""

    def title(self, step_id: str) -> str:
        """The title as it was read out, "" where it is not known."""
        return self._steps[step_id].title if step_id in self._steps else ""

    def limits(self, step_id: str, name: str) -> tuple[Limit, ...] | None:
        """The limits of a reading, their names amounts; None where they cannot be told."""
        reading = self._reading(step_id, name)
        return reading.limits if reading else None

    def asked(self, step_id: str, name: str) -> str:
        """What is asked for that reading, "" where it is not known."""
        reading = self._reading(step_id, name)
        return reading.ask if reading else ""

    def told(self, step_id: str) -> str:
        """What that step tells to do, as it was read out, "" where it is not known."""
        return self._steps[step_id].say if step_id in self._steps else ""

    def choices(self, step_id: str, name: str) -> tuple[str, ...]:
        """What that reading may be, where it is one of several words; else nothing."""
        reading = self._reading(step_id, name)
        return tuple(choice.name for choice in reading.choices) if reading else ()

    def finding(self, step_id: str, name: str) -> Finding | None:
        """What the procedure puts down for the customer where that reading is not as it should be."""
        reading = self._reading(step_id, name)
        return reading.finding if reading else None

    def photographs(self, step_id: str) -> Mapping[str, str]:
        """The photographs that a step wants: name -> of what."""
        step = self._steps.get(step_id)
        return {one.name: one.of for one in step.photographs} if step else {}

    def means_else(self, r: ReadingKept, words: str) -> bool:
        """Would these words, said then, have meant anything but this value? True where that cannot be told."""
        step, reading = self._steps.get(r.step), self._reading(r.step, r.name)
        if step is None or reading is None:
            return True
        meanings = meanings_of(_asked_then(step, reading, r, self._site), tuple(words.split()))
        return bool(meanings) and not any(_is(meaning, r) for meaning in meanings)

    def _reading(self, step_id: str, name: str) -> Reading | None:
        step = self._steps.get(step_id)
        return next((one for one in step.readings if one.name == name), None) if step else None


def _bound(opened: JobOpened, entries: tuple[Kept, ...]) -> tuple[Procedure | None, Site]:
    bound = _bound_once(opened.procedure_text, opened.sheet_text, opened.site_text)
    if bound is LOOKED_UP:
        return _bind(opened.procedure_text, opened.sheet_text, opened.site_text, entries)
    return bound


NOT_BOUND: tuple[Procedure | None, Site] = (None, Site())
LOOKED_UP: tuple[Procedure | None, Site] = (None, Site())
"""Stands for texts that are bound anew for each job: with what was looked up in it."""


@lru_cache(maxsize=TEXTS_KEPT)
def _bound_once(procedure_text: str, sheet_text: str, site_text: str) -> tuple[Procedure | None, Site]:
    procedure, sheet, site = _procedure(procedure_text), _sheet(sheet_text), _site(site_text)
    if procedure and sheet and site and look_ups_of(procedure, sheet, site) is not None:
        return LOOKED_UP
    return _bind(procedure_text, sheet_text, site_text, ())


def _bind(
    procedure_text: str, sheet_text: str, site_text: str, entries: tuple[Kept, ...]
) -> tuple[Procedure | None, Site]:
    procedure, sheet, site = _procedure(procedure_text), _sheet(sheet_text), _site(site_text)
    if procedure is None or sheet is None or site is None:
        return NOT_BOUND
    bound = bound_as_of(procedure, sheet, site, entries)
    return NOT_BOUND if bound.problems else (bound.procedure, site)


@lru_cache(maxsize=TEXTS_KEPT)
def _procedure(text: str) -> Procedure | None:
    """None for what cannot be read: that is kept too, since finding it out takes as long."""
    try:
        return read_procedure(text, "procedure")
    except FileProblems:
        return None


@lru_cache(maxsize=TEXTS_KEPT)
def _sheet(text: str) -> MachineSheet | None:
    try:
        return read_sheet(text, "machine sheet", kept=True)
    except FileProblems:
        return None


@lru_cache(maxsize=TEXTS_KEPT)
def _site(text: str) -> Site | None:
    try:
        return read_site(text, "site")
    except FileProblems:
        return None


def _asked_then(step: Step, reading: Reading, r: ReadingKept, site: Site) -> Expectation:
    """What could be said: this value without its name, the step's others with theirs, the commands."""
    own = Asked(reading, position_in(r.at), open_at=reading.positions)
    others = tuple(Asked(other, None, unnamed=False) for other in step.readings if other.name != r.name)
    renamed = tuple(site.command_words.items())
    return Expectation(
        IN_STEP,
        (own, *others),
        own,
        gallon=site.gallon,
        renamed=renamed,
        today=_seen_from(reading, r),
        language=site.language,
    )


def _seen_from(reading: Reading, r: ReadingKept) -> date | None:
    """The day that words without their whole year are seen from: the date that was kept, for it was understood so."""
    try:
        return first_day(r.value) if reading.kind == "date" else None
    except ValueError:
        return None


def _is(meaning: Meaning, r: ReadingKept) -> bool:
    """Does the meaning give just this value, here; of several values in one breath one of them, wherever they began."""
    several = len(meaning.readings) > 1
    return any(_same(said, r, anywhere=several) for said in meaning.readings)


def _same(said: SpokenReading, r: ReadingKept, *, anywhere: bool) -> bool:
    if not isinstance(said.value, Decimal):
        same = said.value == r.value
    else:
        try:
            same = said.value == Decimal(r.value)
        except InvalidOperation:
            same = False
    return same and said.name == r.name and (anywhere or said.place == r.at)


# Headings, by the text alone and leniently: one that cannot be read is missing, and nothing else


@lru_cache(maxsize=64)
def _table(text: str) -> Mapping[str, Node]:
    """Its keys, read as the program reads a procedure: nothing that refers to itself, or grows when it is read."""
    try:
        table = parse_yaml(text, Complaints("text of the job"))
    except FileProblems:
        return {}
    return table.entries if table else {}


def heading(text: str, key: str, otherwise: str = "") -> str:
    """What that text (procedure, sheet, site) has under a key at its top; `otherwise` where it cannot be read, or has none."""
    return _text(_table(text).get(key)) or otherwise


@lru_cache(maxsize=64)
def _titles(procedure_text: str) -> Mapping[str, str]:
    steps = _table(procedure_text).get("steps")
    tables = [one.entries for one in (steps.items if isinstance(steps, Items) else ()) if isinstance(one, Table)]
    named = ((_text(table.get("id")), _text(table.get("title"))) for table in tables)
    return {step: title for step, title in named if step and title}


def _text(node: Node | None) -> str:
    return node.value if isinstance(node, Text) else ""


def title_by_text(step_id: str, opened: JobOpened | None) -> str:
    """The step's title by the text alone. A step for each cylinder has ids like plug.2, its title a place for the number."""
    titles = _titles(opened.procedure_text) if opened else {}
    if step_id in titles:
        return titles[step_id]
    stem, _, number = step_id.rpartition(".")
    if stem in titles:
        filled = re.sub(r"\{\w+\}", number, titles[stem])
        return filled if filled != titles[stem] else f"{filled}, {number}"
    return step_id.replace("_", " ").replace("-", " ")
