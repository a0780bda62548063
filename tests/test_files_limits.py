"""The limits of a procedure file: what each says, and what each mistake in one is answered with."""

from __future__ import annotations

from decimal import Decimal

import pytest

from assistant.core.problems import FileProblems
from assistant.core.procedure import LAST_SEASON, Limit, OfReading, Reading
from assistant.core.units import Amount
from assistant.files.procedure_file import read_procedure
from assistant.files.work import work_of

PROCEDURE = """\
procedure: small
title: Small
version: 1
for: boat
conditions: {engine: [stopped, running]}
start: {engine: stopped}
never: []
work_out:
  stands: {by: coolant_by_share, glycol: ethylene, share: mix, basis: volume}
steps:
  - id: one
    title: One
    say: Read them.
    readings:
      - {name: rest, ask: Rest, unit: V, plausible: [0, 20], places: 1}
      - {name: dry, ask: Dry, unit: psi, plausible: [0, 400], each: cylinder}
      - {name: clock, ask: Clock, unit: s, plausible: [0, 400]}
      - name: kind
        ask: Kind
        choices: [{name: ethylene, words: [green]}, {name: propylene, words: [pink]}]
  - id: two
    title: Two
    say: Read it.
    readings:
      - {name: volts, ask: Volts, unit: V, plausible: [0, 20], places: 1, limits: [%s]}
      - {name: wet, ask: Wet, unit: psi, plausible: [0, 400], each: cylinder, limits: [%s]}
      - {name: heat, ask: Heat, unit: degF, plausible: [-90, 400], limits: [%s]}
      - {name: gravity, ask: Gravity, unit: sg, plausible: [0.9, 1.4], places: 3, limits: [%s]}
      - {name: cured, ask: Cured, kind: date, limits: [%s]}
"""
SHEET = """\
model: Tern
for: boat
manual: Tern
entered: {by: Kim, on: 2026-10-30}
counts: {cylinder: 3}
values:
  least: {is: 175 psi, page: 6-8}
  volts_least: {is: 12.4 V, page: 8-2}
  torque: {is: 20 Nm, page: 2}
  gauge: {is: 3 psi, from: certificate of the gauge}
  mix: {is: 50 percent, page: 5}
  cold: {is: 20 degC, page: 7}
  clock: {is: 12 psi, page: 9}
parts: {}
"""
SITE = "shop: S\ngallon: us_gal\nvalues: {altitude: {is: 5000 ft, source: survey mark}}\n"
LINES = {"volts": 25, "wet": 26, "heat": 27, "gravity": 28, "cured": 29}


def text_with(reading: str, limit: str) -> str:
    return PROCEDURE % tuple(limit if name == reading else "" for name in LINES)


def read(reading: str, limit: str) -> Reading:
    """The reading as the file has it, not bound."""
    procedure = read_procedure(text_with(reading, limit), "p.yaml")
    return next(r for r in procedure.step("two").readings if r.name == reading)


def bound(reading: str, limit: str) -> Limit:
    """Its one limit, bound to the sheet and the site."""
    work = work_of(text_with(reading, limit), SHEET, SITE, ("p.yaml", "s.yaml", "site.yaml"))
    (found,) = next(r for r in work.procedure.step("two").readings if r.name == reading).limits
    return found


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


RULES = [
    ("volts", "{above: volts_least}", Limit("above", low=amount("12.4", "V"), source="Tern page 8-2")),
    ("volts", "{below: 15 V, source: practice}", Limit("below", high=amount("15", "V"), source="practice")),
    (
        "wet",
        "{target: 100 psi, within: 4 percent}",
        Limit(
            "target", low=amount("96", "psi"), high=amount("104", "psi"),
            target=amount("100", "psi"), tolerance=amount("4", "percent"),
        ),
    ),
    (
        "heat",
        "{target: cold, within: 9 delta_F}",
        Limit(
            "target", low=amount("15", "degC"), high=amount("25", "degC"),
            target=amount("20", "degC"), tolerance=amount("9", "delta_F"), source="Tern page 7",
        ),
    ),
    (
        "wet",
        "{at_least: least, uncertainty: gauge}",
        Limit(
            "at_least", low=amount("175", "psi"), uncertainty=amount("3", "psi"),
            source="Tern page 6-8; certificate of the gauge",
        ),
    ),
    (
        "volts",
        "{more_than: rest, at_least: 0.8 V}",
        Limit("at_least", low=amount("0.8", "V"), compared="more_than", other="rest"),
    ),
    (
        "wet",
        "{differs_from: dry, below: 10 percent}",
        Limit("below", high=amount("10", "percent"), compared="differs_from", other="dry"),
    ),
    (
        "wet",
        "{less_than: last_season, at_most: 15 psi}",
        Limit("at_most", high=amount("15", "psi"), compared="less_than", other=LAST_SEASON),
    ),
    (
        "heat",
        "{differs_from: last_season, at_most: 10 delta_F}",
        Limit("at_most", high=amount("10", "delta_F"), compared="differs_from", other=LAST_SEASON),
    ),
    (
        "wet",
        "{spread: 10 percent, uncertainty: 2 percent}",
        Limit("spread", share=Decimal(10), uncertainty=amount("2", "percent")),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("reading", "written", "limit"), RULES)
def test_a_limit_is_bound_with_its_amounts_and_sources(reading: str, written: str, limit: Limit) -> None:
    """Names have become amounts, a target has its bounds, pages of all the values used are the source."""
    assert bound(reading, written) == limit


def test_a_limit_by_a_computation_has_its_inputs_and_its_source() -> None:
    """Words stay words, `it`, `all` and other readings are looked for when it is judged; the rule's own source comes along."""
    rule = bound("wet", "{by: compression_by_rule, with: {rule: lowest_75, pressures: all}}")
    assert (rule.rule, rule.by) == ("by", "compression_by_rule")
    assert rule.inputs == (("rule", ("lowest_75",)), ("pressures", (OfReading(whole=True),)))
    assert "common practice" in rule.source
    high = bound("wet", "{by: compression_to_sea_level, with: {reading: it, altitude: altitude}, at_least: least}")
    assert high.low == amount("175", "psi")
    assert dict(high.inputs) == {"reading": (OfReading(),), "altitude": (amount("5000", "ft"),)}
    assert high.source.endswith("page 6-8; survey mark")
    mixed = bound(
        "gravity", "{by: coolant_by_gravity, with: {glycol: kind, gravity: it, temperature: cold}, at_most: -10 degC}"
    )
    assert dict(mixed.inputs)["glycol"] == (OfReading("kind"),)
    both = bound("wet", "{by: compression_balance, with: {pressures: [all, dry, 120 psi]}, source: shop rule}")
    assert dict(both.inputs)["pressures"] == (OfReading(whole=True), OfReading("dry"), amount("120", "psi"))
    assert both.source == "shop rule"


def test_a_value_may_be_worked_out_from_words() -> None:
    """Ethylene glycol, half by volume; the word is no name of a value."""
    text = text_with("heat", "{at_most: stands}").replace("    say: Read it.", "    say: Below {stands}.")
    work = work_of(text, SHEET, SITE, ("p.yaml", "s.yaml", "site.yaml"))
    assert work.procedure.step("two").say.startswith("Below minus ")


WITH = "{by: compression_by_rule, with: {%s}}"
SEA = "{by: compression_to_sea_level, with: {%s}, at_least: least}"
BALANCE = "{by: compression_balance, with: {pressures: all}, %s}"
SEAL = "{by: seal_arp5316, with: {polymer: %s, cured: it, on: %s}}"
MISTAKES = [
    # the form of a rule
    ("wet", "{at_least: 1 psi, above: 2 psi}", "a limit has exactly one rule"),
    ("wet", "{within: 4 percent, at_least: 1 psi}", "p.yaml:26:97: 'within' is the tolerance of a target"),
    ("wet", "{target: 100 psi}", "a limit needs the key 'within'"),
    ("wet", "{abov: 100 psi}", "a limit has no key 'abov'\n  did you mean 'above'?"),
    ("wet", "{spread: 10 percent, more_than: dry}", "'more_than' does not go with 'spread'"),
    ("volts", "{same_as: rest, uncertainty: 0.1 V}", "'uncertainty' does not go with 'same_as'"),
    ("volts", "{differs_from: rest, at_least: 1 V}", "'at_least' does not go with 'differs_from'"),
    ("volts", "{more_than: rest, less_than: rest, at_most: 1 V}", "a limit compares with one other value"),
    ("volts", "{at_least: 1 V, with: {a: it}}", "'with' is for a computation"),
    ("volts", "{at_least: 1 V, source: manual § 4}", "a source is said aloud: '§' cannot be said"),
    ("volts", "{at_least: 1 V, source: " + "x" * 121 + "}", "a source of 121 signs is too long to be said"),
    # other readings
    ("volts", "{more_than: rset, at_least: 1 V}", "p.yaml:25: 'volts' is compared with 'rset', and there"),
    ("volts", "{more_than: volts, at_least: 1 V}", "there is no such other reading"),
    ("volts", "{more_than: clock, at_least: 1 V}", "'clock' is measured in 's', 'volts' in 'V'"),
    ("volts", "{more_than: kind, at_least: 1 V}", "compare readings of one kind"),
    # computations
    ("wet", "{by: compression_by_rul, with: {pressures: all}}", "p.yaml:26:93: there is no computation"),
    ("wet", "{by: xxxx, with: {a: it}}", "there is no computation 'xxxx'\n  'layup figure' lists them"),
    ("wet", "{by: compression_by_rule}", "a limit needs the key 'with'"),
    ("wet", WITH % "rule: lowest_75", "compression_by_rule needs 'pressures'\n  it takes rule, pressures"),
    ("wet", WITH % "rule: lowest_75, presures: all", "does not take 'presures'\n  did you mean 'pressures'?"),
    ("wet", WITH % "rule: lowest_57, pressures: all", "'rule' is never 'lowest_57'"),
    ("wet", WITH % "rule: Lowest, pressures: all", "'rule' is never 'Lowest'"),
    ("wet", WITH % "rule: [lowest_75, lowest_90], pressures: all", "'rule' takes one value"),
    ("wet", WITH % "rule: lowest_75, pressures: 12 V", "'pressures' is 12 V (voltage), and must be a pressure"),
    ("wet", WITH % "rule: lowest_75, pressures: [all, rest]", "'pressures' takes a pressure, and the reading 'rest' is none"),
    ("volts", WITH % "rule: lowest_75, pressures: all", "'volts' is one value, and no set\n  write it, or add 'each'"),
    ("volts", WITH % "rule: lowest_75, pressures: it", "'pressures' takes a pressure, and 'volts' is none"),
    ("wet", SEA % "reading: all, altitude: altitude", "'reading' takes one value, and no set"),
    ("volts", SEA % "reading: dry, altitude: altitude", "'dry' has a value for each cylinder"),
    ("wet", BALANCE % "uncertainty: 2 psi", "'uncertainty' does not go with 'by'"),
    ("wet", BALANCE % "at_least: 1 psi, at_most: 2 psi", "a limit has at most one bound beside 'by'"),
    ("cured", SEAL % ("NBR", "tomorow!"), "'tomorow!' is no day, month or quarter of a year"),
    ("cured", SEAL % ("NRB", "today"), "'polymer' is never 'NRB'"),
    # what only the sheet tells
    ("cured", SEAL % ("NBR", "tomorow"), "'on' is never 'tomorow'\n  it takes date"),
    ("wet", "{at_least: leest}", "p.yaml:26: step 'two', reading 'wet': nothing gives the value 'leest'"),
    ("wet", "{target: torque, within: 4 percent}", "20 N·m is a torque, the reading a pressure"),
    ("wet", "{target: 100 psi, within: 4 V}", "4 V is a voltage, and must be a pressure"),
    ("wet", "{target: 100 psi, within: -4 psi}", "the tolerance -4 psi is negative"),
    ("wet", "{target: 399 psi, within: 4 psi}", "the limit 403 psi lies outside of what is plausible"),
    ("heat", "{target: cold, within: 4 percent}", "4 % is a share, and must be a temperature difference"),
    ("heat", "{more_than: last_season, at_most: 4 degC}", "4 °C is a temperature, and must be a temperature difference"),
    ("wet", "{at_least: least, uncertainty: -1 psi}", "a gauge cannot be good to -1 psi"),
    ("wet", "{at_least: least, uncertainty: 100 percent}", "a gauge cannot be good to 100 %"),
    ("wet", "{between: [10 psi, 15 psi], uncertainty: gauge}", "can tell nothing between 10 psi and 15 psi"),
    ("wet", WITH % "rule: lowest_57, pressures: all", "'rule' is never 'lowest_57'\n  did you mean 'lowest_75'?"),
    ("wet", WITH % "rule: lowest_75, pressures: lest", "nothing gives the value 'lest'\n  did you mean 'least'?"),
    ("wet", WITH % "rule: lowest_75, pressures: torque", "'pressures' takes a pressure, and 'torque' is a torque"),
    ("wet", BALANCE.replace("balance", "neighbours") % "at_least: 5 V", "the answer is 'cylinder 2', and no amount"),
    ("wet", SEA.replace(", at_least: least", "") % "reading: it, altitude: altitude", "gives an answer and no verdict"),
    ("wet", SEA.replace("least: least", "least: 5 V") % "reading: it, altitude: altitude", "give the bound in a unit of what"),
    ("wet", "{by: wet_test, with: {dry: dry, wet: all}}", "wet_test gives an answer and no verdict"),
    ("gravity", "{by: torque_tool, with: {target: clock, full_scale: torque}}", "and the reading 'clock' is none"),
]  # fmt: skip


@pytest.mark.parametrize(("reading", "limit", "message"), MISTAKES)
def test_each_mistake_is_told_with_its_line(reading: str, limit: str, message: str) -> None:
    """Of form, of other readings, of computations when the file is read; of kinds of values when the sheet is there."""
    with pytest.raises(FileProblems) as caught:
        bound(reading, limit)
    said = [str(problem) for problem in caught.value.problems]
    assert any(message in one for one in said), said
    assert all(one.startswith(f"p.yaml:{LINES[reading]}") and "\n  " in one for one in said), said


def test_a_name_that_is_a_value_and_a_reading_is_refused() -> None:
    """It is not guessed which of the two was meant."""
    text = text_with("wet", SEA % "reading: both, altitude: altitude").replace(
        "name: clock, ask: Clock, unit: s", "name: both, ask: Clock, unit: psi"
    )
    with pytest.raises(FileProblems, match="'both' is a value and a reading as well"):
        work_of(text, SHEET.replace("clock:", "both:"), SITE, ("p.yaml", "s.yaml", "site.yaml"))


def test_a_reading_made_for_each_cylinder_has_no_one_value() -> None:
    """A step for each: its readings cannot be compared with."""
    text = text_with("volts", "{more_than: rest, at_least: 1 V}").replace(
        "    title: One\n", "    title: One\n    each: cylinder\n"
    )
    text = text.replace(", each: cylinder", "")
    with pytest.raises(FileProblems, match="'rest' is read in a step for each cylinder"):
        read_procedure(text, "p.yaml")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("glycol: ethylene", "glycol: ethylen", "p.yaml:9:42: 'glycol' is never 'ethylen'\n  did you mean 'ethylene'?"),
        ("glycol: ethylene", "glycol: it", "p.yaml:9:42: 'glycol' is never 'it'"),
        ("share: mix", "shares: mix", "p.yaml:9:52: coolant_by_share does not take 'shares'\n  did you mean 'share'?"),
        ("by: coolant_by_share", "by: coolant_by_shar", "there is no computation 'coolant_by_shar'\n  did you mean"),
        ("share: mix", "share: 5 V", "'share' is 5 V (voltage), and must be a share"),
        ("name: rest", "name: last_season", "'last_season' means something else in a limit"),
    ],
)
def test_mistakes_in_what_is_worked_out_are_told_at_once(old: str, new: str, message: str) -> None:
    """Without a sheet, at the word itself."""
    with pytest.raises(FileProblems) as caught:
        read_procedure(text_with("", "").replace(old, new), "p.yaml")
    assert message in str(caught.value)
