"""The numbers of a machine sheet: each says where it comes from, who entered it, and when; faults are told with their line."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from assistant.core.machine import MachineSheet, NamedValue
from assistant.core.problems import FileProblems
from assistant.core.units import Amount
from assistant.files.sheet_file import load_sheet, read_sheet
from assistant.files.yaml_fields import amount_from

ROOT = Path(__file__).parent.parent
HEAD = "model: Tern\nfor: boat\nmanual: Tern 3 manual\nentered: {by: Ada Lind, on: 2026-10-30}\n"
DAY = date(2026, 10, 30)


def sheet_with(value: str, head: str = HEAD) -> MachineSheet:
    return read_sheet(f"{head}values:\n  torque: {{is: 13 lbf_ft, {value}}}\n", "s.yaml")


def complaint(value: str, head: str = HEAD) -> str:
    with pytest.raises(FileProblems) as caught:
        sheet_with(value, head)
    return str(caught.value)


AMOUNT = amount_from("13 lbf_ft")
FORMS = [
    ("page: 6-4", NamedValue("torque", AMOUNT, "Tern 3 manual page 6-4", "Ada Lind", DAY)),
    ("from: label of the can", NamedValue("torque", AMOUNT, "label of the can", "Ada Lind", DAY)),
    ("page: 7, manual: bulletin 12", NamedValue("torque", AMOUNT, "bulletin 12 page 7", "Ada Lind", DAY)),
    ('page: 7, manual: "bulletin 12, May"', NamedValue("torque", AMOUNT, "bulletin 12, May, page 7", "Ada Lind", DAY)),
    ("page: 6-4, by: Kim", NamedValue("torque", AMOUNT, "Tern 3 manual page 6-4", "Kim", DAY)),
    ("page: 6-4, on: 2027-02-28", NamedValue("torque", AMOUNT, "Tern 3 manual page 6-4", "Ada Lind", date(2027, 2, 28))),
    (
        "page: 6-4, thread: M6, class: 8.8, checked: read twice",
        NamedValue("torque", AMOUNT, "Tern 3 manual page 6-4", "Ada Lind", DAY, "M6", "8.8", "read twice"),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("written", "value"), FORMS, ids=[written for written, _ in FORMS])
def test_a_number_says_where_it_comes_from_who_and_when(written: str, value: NamedValue) -> None:
    """What a value says itself goes before what the sheet says once."""
    found = sheet_with(written).values["torque"]
    assert found == value
    assert found.line == 6


WRONG = [
    ("by: Kim", "s.yaml:6:11: 'torque' needs the key 'page'"),
    ("page: page 6-4", "s.yaml:6:33: 'page 6-4' is more than a page"),
    ("page: Tern 3 manual pages 6 and 7", "is more than a page"),
    ("page: 6-4, from: label", "'page' is of a manual, and 'from' is of none"),
    ("from: label, manual: M", "'manual' is of a manual, and 'from' is of none"),
    ("page: 6-4, on: 30.10.2026", "s.yaml:6:42: '30.10.2026' is no day"),
    ("page: 6-4, on: 2026-02-30", "'2026-02-30' is no day"),
    ("page: 6-4, on: 20261030", "'20261030' is no day"),
    ("page: 6-4, thread: M7", "no strength is known for the thread 'M7'"),
    ("page: 6-4, class: 8.9", "no strength is known for the class '8.9'"),
    ("page: '6 \u00a7 4'", "a source is said aloud: '\u00a7' cannot be said"),
    ("page: " + "6" * 120, "is too long to be said"),
    ("page: 6-4, checked: ''", "'checked' is empty"),
    ("page: 6-4, who: Kim", "has no key 'who'"),
]


@pytest.mark.parametrize(("written", "told"), WRONG, ids=[written[:30] for written, _ in WRONG])
def test_what_is_wrong_with_a_number_is_told_with_its_line(written: str, told: str) -> None:
    """What, where, and what to do."""
    assert told in complaint(written)


@pytest.mark.parametrize(
    ("gone", "told"),
    [
        ("manual: Tern 3 manual\n", "s.yaml:1:1: pages are given, and no manual is named\n  write 'manual: ...' once"),
        ("entered: {by: Ada Lind, on: 2026-10-30}\n", "s.yaml:1:1: nothing says who entered the numbers, and when"),
        ("by: Ada Lind, ", "nothing says who entered the numbers, and when"),
        (", on: 2026-10-30", "nothing says who entered the numbers, and when"),
    ],
)
def test_what_a_sheet_must_say_once(gone: str, told: str) -> None:
    """Without it every number would have to say it; it is told once, however many numbers there are."""
    head = HEAD.replace(gone, "")
    assert complaint("page: 6-4", head).count(told) == 1
    many = f"{head}values:\n" + "".join(f"  v{n}: {{is: 1 V, page: 1}}\n" for n in range(5))
    with pytest.raises(FileProblems) as caught:
        read_sheet(many, "s.yaml")
    assert len(caught.value.problems) == 1


def test_each_number_may_say_all_of_it_by_itself() -> None:
    """Then the sheet need not."""
    value = sheet_with("page: 7, manual: bulletin 12, by: Kim, on: 2027-02-01", "model: Tern\nfor: boat\n").values[
        "torque"
    ]
    assert (value.source, value.by, value.on) == ("bulletin 12 page 7", "Kim", date(2027, 2, 1))


def test_a_count_may_say_its_page() -> None:
    """A bare figure is still a count: it was seen on the machine."""
    sheet = read_sheet(f"{HEAD}counts: {{cylinder: 3, pump_bolt: {{is: 4, page: 9-8}}}}\n", "s.yaml")
    assert sheet.counts == {"cylinder": 3, "pump_bolt": 4}
    assert sheet.counted == {
        "pump_bolt": NamedValue(
            "pump_bolt", Amount(amount_from("4 count").value, "count"), "Tern 3 manual page 9-8", "Ada Lind", DAY
        )
    }
    with pytest.raises(FileProblems, match="no whole number from 1 to 24"):
        read_sheet(f"{HEAD}counts: {{bolt: {{is: 25, page: 9-8}}}}\n", "s.yaml")
    with pytest.raises(FileProblems, match="needs the key 'page'"):
        read_sheet(f"{HEAD}counts: {{bolt: {{is: 4}}}}\n", "s.yaml")


def test_a_copy_in_a_job_file_is_read_as_it_was() -> None:
    """Before sheets said manual and author once, each value had its manual with its page; a job of that time goes on."""
    text = "model: Tern\nfor: boat\nvalues:\n  torque: {is: 13 lbf_ft, page: Tern 3 manual page 6-4}\n"
    with pytest.raises(FileProblems):
        read_sheet(text, "s.yaml")
    value = read_sheet(text, "s.yaml", kept=True).values["torque"]
    assert (value.source, value.by, value.on) == ("Tern 3 manual page 6-4", "", None)
    with pytest.raises(FileProblems, match="needs the key 'page'"):
        read_sheet(text.replace(", page: Tern 3 manual page 6-4", ""), "s.yaml", kept=True)


def test_every_number_of_the_shipped_sheet_says_all_of_it() -> None:
    """Source, name and day."""
    sheet = load_sheet(ROOT / "procedures/tern-3.sheet.yaml")
    assert len(sheet.values) > 30
    assert all(v.source and v.by and v.on for v in (*sheet.values.values(), *sheet.counted.values()))
    assert set(sheet.counted) == set(sheet.counts)
