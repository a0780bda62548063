"""Procedure, sheet and site files: what is read, and what each mistake is answered with."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.problems import CallProblem, FileProblem, FileProblems
from assistant.core.procedure import Joint
from assistant.core.units import Amount
from assistant.files.procedure_file import load_procedure, read_procedure
from assistant.files.sheet_file import read_sheet
from assistant.files.site_file import read_site
from assistant.files.yaml_source import MOST_NESTED

GOOD = """\
procedure: small
title: Small
version: 1
for: boat
conditions: {engine: [stopped, running], water: [off, on]}
start: {engine: stopped, water: off}
never:
  - {when: {engine: stopped, water: on}, because: "it floods"}
work_out:
  dose: {by: dose_by_volume, volume: tank, dose: 1 us_fl_oz, treats: 2.5 us_gal, round_up_to: 0.5 us_fl_oz}
steps:
  - id: washers_off
    title: Off
    say: Count them.
    readings:
      - {name: washers_off, ask: Washer, unit: count, plausible: [0, 9]}
  - id: oil
    title: Oil
    say: Pour {dose}, then say it.
    caution: Hot oil.
    needs: {water: off, engine: stopped}
    countdown: {seconds: 4}
    readings:
      - name: oil
        ask: Oil
        unit: us_qt
        plausible: [0, 12.60]
        places: 1
        limits:
          - {at_least: oil_least, source: page 4}
          - between: [1.10 us_qt, 3 us_qt]
      - name: look
        ask: Plug
        choices:
          - {name: good, words: [Brown, grey]}
          - {name: bad, words: wet, good: no}
      - {name: washers_on, ask: Ring, unit: count, plausible: [0, 9], limits: [{same_as: washers_off}]}
"""


def complaints(text: str) -> list[str]:
    with pytest.raises(FileProblems) as caught:
        read_procedure(text, "p.yaml")
    return [str(problem) for problem in caught.value.problems]


def test_a_procedure_is_read_as_it_stands() -> None:
    """Conditions called on and off stay words, decimals keep every digit, lines are kept."""
    p = read_procedure(GOOD, "p.yaml")
    oil = p.step("oil")
    assert p.conditions["water"] == ("off", "on")
    assert list(oil.needs.items()) == [("water", "off"), ("engine", "stopped")]
    assert oil.line == 17
    assert oil.cautions == ("Hot oil.",)
    assert oil.countdown is not None
    assert oil.countdown.seconds == 4
    measured, look, count = oil.readings
    assert str(measured.plausible[1]) == "12.60"
    assert measured.limits[0].low == "oil_least"
    assert measured.limits[1].low == Amount(Decimal("1.10"), "us_qt")
    assert look.kind == "choice"
    assert look.choices[0].words == ("brown", "grey")
    assert not look.choices[1].good
    assert count.kind == "count"
    assert p.worked_out[0].line == 10


MISTAKES = [
    ("title: Small", "titel: Small", "p.yaml:2:1: a procedure has no key 'titel'\n  did you mean 'title'?"),
    ("title: Small\n", "", "p.yaml:1:1: a procedure needs the key 'title'\n  add 'title: ...'"),
    ("version: 1", "version: one", "p.yaml:3:10: 'one' is no whole number from 1 to 9999\n  write the figure"),
    ("version: 1", "version: \u0661", "p.yaml:3:10: '\u0661' is no whole number from 1 to 9999\n  write the figure"),
    (
        "for: boat",
        "for: [a, b]",
        "p.yaml:4:6: 'for' is one text\n  write it on the line, in quotes if it begins with { or [",
    ),
    ("for: boat", "for:", "p.yaml:4:5: 'for' is empty\n  write its value, or leave the key out"),
    ("[off, on]}", "[off]}", "p.yaml:5:42: 'water' needs two different values or more, none of them 'unsure'"),
    (
        "start: {engine: stopped, water: off}",
        "start: {engine: stopped}",
        "'start' does not say how 'water' is at first",
    ),
    (
        "{engine: stopped, water: on}",
        "{engine: stoped, water: on}",
        "p.yaml:8:21: 'engine' is never 'stoped'\n  did you mean 'stopped'?",
    ),
    (
        "{engine: stopped, water: on}",
        "{engin: stopped, water: on}",
        "p.yaml:8:13: 'engin' is not among the conditions\n  did you mean 'engine'?",
    ),
    ("volume: tank", "volume: 3 gallons", "p.yaml:10:38: 'gallons' may mean two things: write us_gal or imp_gal"),
    ("2.5 us_gal", "2.5 us_gall", "p.yaml:10:70: the unit 'us_gall' is not on the list: did you mean 'us_gal'?"),
    ("2.5 us_gal", "1e3 us_gal", "p.yaml:10:70: '1e3' is not a plain decimal number"),
    ("2.5 us_gal", "2.5", "p.yaml:10:70: '2.5' has no unit"),
    ("- id: oil\n", "- id: washers_off\n", "p.yaml:17:5: the step 'washers_off' is already there in line 12"),
    ("- id: oil\n", "- id: Oil.1\n", "p.yaml:17:9: 'Oil.1' is not a name\n  use small letters, digits and underscores"),
    ("seconds: 4", "seconds: 4.5", "p.yaml:22:26: '4.5' is no whole number from 1 to 900"),
    ("seconds: 4", "secs: 4", "p.yaml:22:17: 'countdown' has no key 'secs'"),
    ("unit: us_qt\n", "unit: us_qts\n", "p.yaml:26:15: the unit 'us_qts' is not on the list\n  did you mean 'us_qt'?"),
    (
        "[0, 12.60]",
        "[12.60, 0]",
        "p.yaml:27:20: 'plausible' is the least and the most that may be read\n  write [least, most]",
    ),
    ("places: 1", "places: 9", "p.yaml:28:17: '9' is no whole number from 0 to 4"),
    (
        "at_least: oil_least",
        "at_lest: oil_least",
        "p.yaml:30:14: a limit has no key 'at_lest'\n  did you mean 'at_least'?",
    ),
    ("at_least: oil_least", "at_least: 1 us_qt, at_most: 3 us_qt", "p.yaml:30:13: a limit has exactly one rule"),
    ("[1.10 us_qt, 3 us_qt]", "[1.10 us_qt]", "p.yaml:31:22: 'between' has two bounds\n  write [low, high]"),
    ("between: [1.10 us_qt, 3 us_qt]", "spread: 10 psi", "p.yaml:31:21: a spread is a share of the highest"),
    ("words: wet", "words: grey", "p.yaml:36:32: 'grey' already means the choice in line 35\n  keep one of them"),
    ("good: no", "good: perhaps", "p.yaml:36:43: 'perhaps' is neither yes nor no\n  write yes or no"),
    (
        "same_as: washers_off",
        "same_as: washer_off",
        "a single reading of no earlier step\n  did you mean 'washers_off'?",
    ),
    ("name: washers_on", "name: oil", "p.yaml:37:9: the reading 'oil' is already asked for in line 17"),
    (
        "version: 1\n",
        "version: 1\nversion: 2\n",
        "p.yaml:4:1: the key 'version' is given twice\n  keep one; the first is in line 3",
    ),
    ("    title: Oil", "\ttitle: Oil", "p.yaml:18:1: a tab where spaces are wanted\n  indent with spaces only"),
    ("title: Small", "title: Sm\x07all", "p.yaml:2:10: the character U+0007 may not stand in YAML\n  delete it"),
    ("title: Small", "title: 'Small", "this is not YAML: while scanning a quoted scalar"),
    ("title: Small", "title: *other", "p.yaml:2:8: a reference (*name) is not taken\n  write it out"),
    ("title: Small", "title: !!python/name:os.system x", "p.yaml:2:8: the tag tag:yaml.org,2002:python/name:os.system"),
    ("title: Small", "{a: b}: Small", "p.yaml:2:1: a key must be a word"),
    ("title: Small", f"title: {'[' * (MOST_NESTED + 1)}", "p.yaml:2:27: more than 20 tables or lists in one another"),
    ("steps:", "steps: [1]\nsteps2:", "p.yaml:11:9: each entry of 'steps' is a table"),
    ("say: Count them.", "say: {dose}", "p.yaml:14:10: 'say' is one text"),
    (
        "    countdown: {seconds: 4}\n",
        "    tighten: {fastener: bolt, layout: circle, torque: 9 Nm}\n",
        "p.yaml:24:7: a step that tightens a joint has no 'readings'\n  write it in a step after this one",
    ),
]

JOINTS = [
    ("fastener: bolt", "", "'tighten' needs the key 'fastener'\n  add 'fastener: ...'"),
    ("layout: circle", "layout: ring", "'layout' is never 'ring'\n  known are: circle, rectangle"),
    ("layout: circle", "layout: circel", "'layout' is never 'circel'\n  did you mean 'circle'?"),
    ("torque: 9 Nm", "torque: 9", "'9' has no unit"),
    ("rounds: 2", "rounds: 9", "'9' is no whole number from 1 to 5"),
    ("rounds: 2", "short_side: 2", "a circle has no 'short_side'\n  leave it out"),
    ("rounds: 2", "laps: 2", "'tighten' has no key 'laps'"),
]
JOINT = "  - {id: bolts, title: B, say: Go, tighten: {fastener: bolt, layout: circle, torque: 9 Nm, rounds: 2}}\n"


def test_a_joint_is_read_as_it_stands() -> None:
    joint = read_procedure(GOOD + JOINT, "p.yaml").step("bolts").tighten
    assert joint == Joint("bolt", "circle", Amount(Decimal(9), "Nm"), rounds=2)


@pytest.mark.parametrize(("old", "new", "message"), JOINTS)
def test_each_mistake_in_a_joint_is_told(old: str, new: str, message: str) -> None:
    wrong = JOINT.replace(old, new).replace("{, ", "{")
    assert any(message in complaint and "p.yaml:38:" in complaint for complaint in complaints(GOOD + wrong))


@pytest.mark.parametrize(("old", "new", "message"), MISTAKES)
def test_each_mistake_is_told_with_line_column_and_what_to_do(old: str, new: str, message: str) -> None:
    """One mistake in a good file: the complaint stands where the mistake stands, and says how to mend it."""
    assert old in GOOD
    said = complaints(GOOD.replace(old, new, 1))
    assert any(message in one for one in said), said
    assert all(one.startswith("p.yaml:") and "\n  " in one for one in said)


def test_all_mistakes_are_told_at_once_in_the_order_of_lines() -> None:
    """A writer sees everything in one pass."""
    bad = GOOD.replace("version: 1", "version: x").replace("places: 1", "places: x").replace("good: no", "good: x")
    assert [one.split(": ")[0] for one in complaints(bad)] == ["p.yaml:3:10", "p.yaml:28:17", "p.yaml:36:43"]


@pytest.mark.parametrize("text", ["", "# only a remark\n", "- a\n- b\n", "just words", "a: b\n---\nc: d\n", "{", "]"])
def test_a_text_that_is_no_table_is_refused(text: str) -> None:
    """Nothing, a list, a word, two documents, half a bracket: a problem of the file, never a traceback."""
    assert complaints(text)


@given(st.text(alphabet="abc:-{}[]\"'\n\t #&*!|>%@`,?0", max_size=60))
def test_no_text_whatever_ends_in_anything_but_problems_of_the_file(text: str) -> None:
    """Any scribble is answered with problems."""
    with pytest.raises(FileProblems):
        read_procedure(text, "p.yaml")


def test_a_file_that_is_not_there_or_not_text_is_told(tmp_path: Path) -> None:
    """A missing file is a wrong call (status 2); a wrong encoding is a problem of the file with its place."""
    with pytest.raises(CallProblem, match="cannot read the file"):
        load_procedure(tmp_path / "none.yaml")
    (tmp_path / "latin.yaml").write_bytes("procedure: x\ntitle: Fu\xdfbad\n".encode("latin-1"))
    with pytest.raises(FileProblems) as caught:
        load_procedure(tmp_path / "latin.yaml")
    assert f"{tmp_path}/latin.yaml:2:10: the byte 0xdf is not UTF-8" in str(caught.value)


SHEET = """\
model: Tern
for: boat
manual: Tern manual
entered: {by: Kim, on: 2026-10-30}
counts: {cylinder: 3}
values:
  torque: {is: 89 lbf_in, page: 4-1}
parts:
  filter: {say: oil filter, gtins: ["6291041500213"], numbers: [F-1], quantity: 2}
"""


def test_a_sheet_is_read_with_the_page_of_each_number() -> None:
    """The amount is exact and says where it comes from."""
    sheet = read_sheet(SHEET, "s.yaml")
    assert sheet.values["torque"].amount == Amount(Decimal(89), "lbf_in")
    assert sheet.values["torque"].source == "Tern manual page 4-1"
    assert sheet.counts == {"cylinder": 3}
    assert sheet.parts["filter"].quantity == 2


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (", page: 4-1", "", "s.yaml:7:11: 'torque' needs the key 'page'"),
        ("89 lbf_in", "89 ft_lb", "s.yaml:7:16: the unit 'ft_lb' is not on the list"),
        ("89 lbf_in", "89 yard", "the unit 'yard' is not on the list"),
        ("6291041500213", "6291041500214", "s.yaml:9:37: '6291041500214' is no GTIN: the check digit is wrong"),
        ('gtins: ["6291041500213"], numbers: [F-1], ', "", "nothing says how to know the part 'filter'"),
        ("cylinder: 3", "cylinder: none", "s.yaml:5:20: 'none' is no whole number from 1 to 24"),
    ],
)
def test_mistakes_in_a_sheet_are_told(old: str, new: str, message: str) -> None:
    """A number without its page, a unit not on the list, a wrong check digit."""
    with pytest.raises(FileProblems) as caught:
        read_sheet(SHEET.replace(old, new), "s.yaml")
    assert message in str(caught.value)
    assert all(isinstance(problem, FileProblem) for problem in caught.value.problems)


def test_a_site_may_rename_command_words_that_there_are() -> None:
    """Its own words for our commands; a command that there is not is told."""
    text = "shop: S\ngallon: imp_gal\nvalues: {cold: {is: -20 degF, source: log}}\nwords: {say again: [Repeat That]}\n"
    site = read_site(text, "site.yaml")
    assert site.gallon == "imp_gal"
    assert site.command_words["say again"] == ("repeat that",)
    assert site.values["cold"].amount.value == Decimal(-20)
    with pytest.raises(FileProblems, match="did you mean 'say again'"):
        read_site(text.replace("say again", "say agin"), "site.yaml")
    with pytest.raises(FileProblems, match="not a gallon of the list"):
        read_site(text.replace("imp_gal", "gal"), "site.yaml")
