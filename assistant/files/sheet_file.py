"""A machine sheet as a shop fills it in -> `MachineSheet`: one model's numbers, each with its page of the manual.

model: ...                 for: class of machine
counts: {cylinder: 3}
values: {plug_torque: {is: 13 lbf_ft, page: ...}}
parts: {oil_filter: {say: oil filter, gtins: [...], numbers: [...], quantity: 1}}
"""

from __future__ import annotations

from pathlib import Path

from assistant.core.labels.check_digit import gtin14
from assistant.core.labels.faults import LabelFault
from assistant.core.procedure import MachineSheet, NamedValue, WantedPart
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import Complaints, Table, Text, parse_yaml, read_text

SHEET_KEYS = ("model", "for", "counts", "values", "parts")
PART_KEYS = ("say", "gtins", "numbers", "quantity")
MOST_POSITIONS = 24
"""The most cylinders, cells or bolts of one kind that a sheet may count."""


def load_sheet(path: Path) -> MachineSheet:
    """The machine sheet in a file. Raises CallProblem (no such file) or FileProblems (all that is wrong with it)."""
    return read_sheet(read_text(path), str(path))


def read_sheet(text: str, file: str) -> MachineSheet:
    """The machine sheet that the text holds; `file` is its name in what is complained of. Raises FileProblems."""
    complaints = Complaints(file)
    table = parse_yaml(text, complaints)
    return complaints.checked(_sheet(table, complaints) if table else None)


def _sheet(table: Table, complaints: Complaints) -> MachineSheet:
    fields = Fields(table, "a machine sheet", SHEET_KEYS, complaints)
    counts = fields.under("counts")
    parts = fields.under("parts")
    return MachineSheet(
        model=fields.text("model"),
        machine_class=fields.text("for"),
        counts={name: counts.whole(name, None, 1, MOST_POSITIONS) for name in counts.names},
        values=named_values(fields, "page"),
        parts={role: _part(role, parts.under(role, PART_KEYS)) for role in parts.names},
        file=complaints.file,
    )


def named_values(fields: Fields, source_key: str) -> dict[str, NamedValue]:
    """The values of a sheet or site; each must say where it comes from, under `source_key`."""
    values = fields.under("values")
    found = {}
    for name in values.names:
        inner = values.under(name, ("is", source_key))
        found[name] = NamedValue(name, inner.amount("is"), inner.source(source_key))
    return found


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
    return WantedPart(role, fields.text("say"), _plain(gtins), _plain(numbers), fields.whole("quantity", 1, 1, 99))


def _plain(texts: tuple[Text, ...]) -> tuple[str, ...]:
    return tuple(text.value for text in texts)
