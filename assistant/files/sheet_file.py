"""A machine sheet as a shop fills it in -> `MachineSheet`: one model's numbers, each with its page of the manual.

model: ...                 for: class of machine
manual: ...                entered: {by: ..., on: 2026-10-30}
look_up: yes               # what is missing here the assistant has the technician look up, before the job begins
counts: {cylinder: 3}
values: {plug_torque: {is: 13 lbf_ft, page: 6-4}}      # all that a number may say: sheet_values.py
pages: {oil_change: 4-2}                                # where in the manual a step of that `manual` stands
parts: {oil_filter: {say: oil filter, gtins: [...], numbers: [...], superseded: [...], quantity: 1}}
       seal: {polymer: NBR, by: arp5316}, or by: iso2230, or {years: 10} as its label says: how a part's rubber ages
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Literal

from assistant.core.labels.check_digit import gtin14
from assistant.core.labels.faults import LabelFault
from assistant.core.labels.part_age import seal_figure
from assistant.core.machine import MachineSheet, SealLife, WantedPart
from assistant.files.sheet_values import SheetValues
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import Complaints, Table, Text, parse_yaml, read_text

SHEET_KEYS = ("model", "for", "manual", "entered", "look_up", "counts", "values", "pages", "parts")
PART_KEYS = ("say", "gtins", "numbers", "superseded", "quantity", "seal")
SEAL_KEYS = ("polymer", "by", "years")
SEAL_RULES: dict[str, Literal["iso2230", "arp5316"]] = {"iso2230": "iso2230", "arp5316": "arp5316"}
ANY_QUARTER, ANY_DAY = "1Q25", date(2025, 7, 1)
"""To try a rule with: only its polymer can be wrong then."""


def load_sheet(path: Path) -> MachineSheet:
    """The machine sheet in a file. Raises CallProblem (no such file) or FileProblems (all that is wrong with it)."""
    return read_sheet(read_text(path), str(path))


def read_sheet(text: str, file: str, *, kept: bool = False) -> MachineSheet:
    """The machine sheet that the text holds; `file` is its name in what is complained of. Raises FileProblems.

    `kept`: it is the copy in a job file, and may lack what a sheet must say by now (manual, who, when).
    """
    complaints = Complaints(file)
    table = parse_yaml(text, complaints)
    return complaints.checked(_sheet(table, complaints, kept=kept) if table else None)


def _sheet(table: Table, complaints: Complaints, *, kept: bool) -> MachineSheet:
    fields = Fields(table, "a machine sheet", SHEET_KEYS, complaints)
    numbers = SheetValues(fields, kept=kept)
    counts = numbers.counts()
    parts = fields.under("parts")
    return MachineSheet(
        model=fields.text("model"),
        machine_class=fields.text("for"),
        counts={name: int(count.amount.value) for name, count in counts.items()},
        values=numbers.values(),
        pages=numbers.pages(),
        parts={role: _part(role, parts.under(role, PART_KEYS)) for role in parts.names},
        file=complaints.file,
        manual=numbers.manual,
        by=numbers.by,
        on=numbers.on,
        look_up=fields.flag("look_up", False),
        counted={name: count for name, count in counts.items() if count.source},
    )


def _part(role: str, fields: Fields) -> WantedPart:
    gtins = fields.texts("gtins")
    for text in gtins:
        fault = gtin14(text.value) if text.value else ""
        if isinstance(fault, LabelFault):
            fields.complaints.add(
                text.place, f"'{text.value}' is no GTIN: {fault.sentence}", "read it from the label again"
            )
    numbers = fields.texts("numbers")
    if not gtins and not numbers:
        fields.complain("", f"nothing says how to know the part '{role}'", "add gtins or numbers")
    old = fields.texts("superseded")
    for text in old:
        if text.value.upper() in {given.value.upper() for given in (*gtins, *numbers)}:
            fields.complaints.add(text.place, f"'{text.value}' is both right and superseded", "leave it in one list")
    seal = _seal(fields.under("seal", SEAL_KEYS)) if fields.has("seal") else None
    quantity = fields.whole("quantity", 1, 1, 99)
    return WantedPart(role, fields.text("say"), _plain(gtins), _plain(numbers), quantity, _plain(old), seal)


def _seal(fields: Fields) -> SealLife | None:
    """How a part's rubber ages; None after a complaint."""
    if fields.has("years") == fields.has("by"):
        fields.complain("", "a seal ages by one rule", "write polymer and by, or years as its label says")
        return None
    if fields.has("years"):
        return SealLife("label", fields.text("polymer", "any"), fields.whole("years", None, 1, 50))
    rule = SEAL_RULES.get(fields.text("by"))
    if rule is None:
        fields.complain("by", f"'{fields.text('by')}' is no rule for seals", f"write one of {', '.join(SEAL_RULES)}")
        return None
    seal = SealLife(rule, fields.text("polymer"))
    try:
        seal_figure(seal, ANY_QUARTER, ANY_DAY)
    except ValueError as error:
        fields.complain("polymer", str(error), "name the polymer as the rule does, or write years")
    return seal


def _plain(texts: tuple[Text, ...]) -> tuple[str, ...]:
    return tuple(text.value for text in texts)
