"""Lines put into a machine sheet: what a person wrote stays, what is added is read back as it was given."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.machine import NamedValue
from assistant.core.problems import CallProblem
from assistant.core.speech.sources import SAYABLE
from assistant.core.units import KINDS, Amount, plain
from assistant.files.sheet_file import load_sheet, read_sheet
from assistant.files.sheet_writing import new_sheet, scalar, table, with_line, write_sheet

DAY = date(2026, 10, 30)
NEW = new_sheet("Gull 2", "boat", "Gull 2 manual, edition 2", "Ada Lind", DAY)
VALUE = "{is: 13 lbf_ft, page: 6-4}"
HEAD = "model: G\nfor: boat\nmanual: M\nentered: {by: Kim, on: 2026-01-02}\n"
SHEETS = {
    "new": NEW,
    "begun": with_line(with_line(NEW, "values", "first", "{is: 1 V, page: 1}", "used in: A"), "counts", "bolt", "4", ""),
    "own comments": "# ours\nmodel: G  # the blue one\nfor: boat\nmanual: M\nentered: {by: Kim, on: 2026-01-02}\nvalues:\n"
    "    # volts\n    first: {is: 1 V, page: 1}   # read twice\n\n    # to do: the rest\n\n# parts from the shelf\nparts: {}\n",
    "long form": "model: G\nfor: boat\nmanual: M\nentered:\n  by: Kim\n  on: 2026-01-02\n"
    "values:\n  first:\n    is: 1 V\n    page: 1\ncounts: {cylinder: 3}\n",
    "no end of line": HEAD + "counts: {cylinder: 3}\nvalues:\n  first: {is: 1 V, page: 1}",
    "all in brackets": HEAD + "values: {first: {is: 1 V, page: 1}}\nparts: {r: {say: r, numbers: [A, B]}}\n",
    "a last comma": HEAD + "values: {\n  first: {is: 1 V, page: 1},\n}\n",
    "other lines' ends": HEAD.replace("\n", "\r\n") + "values:\r\n  first: {is: 1 V, page: 1}\r\ncounts: {}\r\n",
    "remarks in brackets": HEAD + "values: {first: {is: 1 V, page: 1} # one\n  # a remark\n  }\n",
    "a text of lines": HEAD + "values:\n  first:\n    is: 1 V\n    page: |\n      1\ncounts: {cylinder: 3}\n",
    "lacking sections": HEAD,
}  # fmt: skip
ADDED = [
    ("counts", "pump_bolt", "{is: 4, page: 9-8}"),
    ("values", "plug_torque", VALUE),
    ("parts", "oil_filter", '{say: oil filter, gtins: ["2990001000117"], numbers: [T3-2040], quantity: 2}'),
]


@pytest.mark.parametrize("text", SHEETS.values(), ids=SHEETS)
@pytest.mark.parametrize(("section", "name", "written"), ADDED, ids=[row[0] for row in ADDED])
def test_a_line_is_added_and_nothing_else_changes(text: str, section: str, name: str, written: str) -> None:
    """Every character of the old text is still there in its order, but for an empty pair of brackets and a blank."""
    before = read_sheet(text, "s.yaml")
    added = with_line(text, section, name, written, "used in: Plug torque")
    after = read_sheet(added, "s.yaml")
    head = re.split("values:|counts:|parts:", text, maxsplit=1)[0]
    alone = read_sheet(f"{head}\n{section}:\n  {name}: {written}\n", "s.yaml")
    assert getattr(after, section) == {**getattr(before, section), name: getattr(alone, section)[name]}
    assert list(getattr(after, section)) == [*getattr(before, section), name]
    assert replace(after, counts={}, values={}, parts={}, counted={}) == replace(
        before, counts={}, values={}, parts={}, counted={}
    )
    kept = iter(added)
    assert all(sign in kept for sign in text.replace(" {}", "").rstrip())


def test_a_line_has_a_comment_that_tells_what_it_is() -> None:
    """Above it, indented as the lines around."""
    assert f"  # used in: A\n  first: {{is: 1 V, page: 1}}\n  # used in: B\n  second: {VALUE}\n" in with_line(
        SHEETS["begun"], "values", "second", VALUE, "used in: B"
    )
    assert f"    # used in: B\n    second: {VALUE}\n" in with_line(
        SHEETS["own comments"], "values", "second", VALUE, "used in: B"
    )


TEXTS = st.text(st.characters(exclude_categories=("C", "Z")) | st.just(" "), min_size=1, max_size=40).filter(str.strip)


@given(TEXTS)
def test_any_text_is_written_so_that_it_is_read_again(text: str) -> None:
    """By another reader too (PyYAML's own safe loader takes it for no list and no table)."""
    told = " ".join(text.split())
    node = yaml.compose(f"{{by: {scalar(text)}, on: 2026-10-30}}", Loader=yaml.SafeLoader)
    assert isinstance(node, yaml.MappingNode)
    assert node.value[0][1].value == told
    assert read_sheet(new_sheet(text, text, "M", text, DAY), "s.yaml").model == told


SAID = (
    st.from_regex(SAYABLE, fullmatch=True)
    .map(lambda text: " ".join(text.split())[:40].strip())
    .filter(lambda text: bool(text) and "page" not in text.lower())
)


@given(
    st.lists(
        st.tuples(st.decimals("-999", "9999", places=2), st.sampled_from(sorted(KINDS)), SAID, TEXTS, st.dates()),
        min_size=1,
        max_size=6,
    )
)
def test_a_sheet_that_was_written_is_read_back_the_same(rows: list[tuple[Decimal, str, str, str, date]]) -> None:
    """Amount, page, who, when and answer of every number."""
    text, values = NEW, {}
    for number, (value, unit, page, by, on) in enumerate(rows):
        name = f"v{number}"
        told: Mapping[str, str] = {"is": f"{value} {unit}", "page": page, "by": by, "on": on.isoformat(), "checked": by}
        text = with_line(text, "values", name, table({**told}), f"used in: {by}")
        who = " ".join(by.split())
        values[name] = NamedValue(
            name, Amount(value, unit), f"Gull 2 manual, edition 2, page {page}", who, on, checked=who
        )
        assert plain(value) == plain(values[name].amount.value)
    assert read_sheet(text, "s.yaml").values == values


def test_the_file_is_replaced_in_one_step(tmp_path: Path) -> None:
    """Its rights stay; nothing is left beside it; a file that cannot be written is told and stands as it was."""
    path = tmp_path / "g.sheet.yaml"
    write_sheet(path, NEW)
    path.chmod(0o640)
    write_sheet(path, SHEETS["begun"])
    assert path.stat().st_mode & 0o777 == 0o640
    assert load_sheet(path).values["first"].amount == Amount(Decimal(1), "V")
    assert list(tmp_path.iterdir()) == [path]
    with pytest.raises(CallProblem, match="cannot be written"):
        write_sheet(tmp_path / "none" / "g.sheet.yaml", NEW)
    (tmp_path / "folder.yaml").mkdir()
    with pytest.raises(CallProblem, match="cannot be written"):
        write_sheet(tmp_path / "folder.yaml", NEW)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["folder.yaml", "g.sheet.yaml"]
