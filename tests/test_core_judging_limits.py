"""Limits judged in a job: beside other readings, last season's, by a computation, by a gauge; and what *limits* answers."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bench.starting import Earlier
from assistant.core import entries as e
from assistant.files.work import work_of
from tests.conversation import Conversation

PROCEDURE = """\
procedure: small
title: Small
version: 1
for: boat
conditions: {engine: [stopped, running]}
start: {engine: stopped}
never: []
steps:
  - id: one
    title: One
    say: Read them.
    wait_for_done: yes
    readings:
%s
"""
SHEET = """\
model: Tern
for: boat
manual: Tern 3 manual
entered: {by: Kim, on: 2026-10-30}
counts: {cylinder: 3}
values:
  least: {is: 175 psi, page: 6-8}
  most: {is: 215 psi, page: 6-8}
  gauge: {is: 3 psi, from: certificate of the gauge}
parts: {}
"""
SITE = "shop: S\ngallon: us_gal\nvalues: {altitude: {is: 7000 ft, source: survey mark}}\n"
COMPRESSION = "{name: compression, ask: Compression, unit: psi, plausible: [0, 400], limits: [%s]}"
CYLINDERS = "{name: compression, ask: Compression, unit: psi, plausible: [0, 400], each: cylinder, limits: [%s]}"
REST = "{name: rest, ask: Rest, unit: V, plausible: [0, 20], places: 1}"
CHARGE = "{name: charge, ask: Charging, unit: V, plausible: [0, 20], places: 1, limits: [%s]}"


def bay(*readings: str, earlier: Earlier = ()) -> Conversation:
    """A job with one step that has these readings, begun."""
    text = PROCEDURE % "\n".join(f"      - {reading}" for reading in readings)
    work = work_of(text, SHEET, SITE, ("p.yaml", "s.yaml", "site.yaml"))
    return Conversation(work.procedure, dict(work.sheet.parts), work.site, earlier).start()


def last(conversation: Conversation) -> e.ReadingKept:
    """The newest reading."""
    entry = conversation.entries(e.ReadingKept)[-1]
    assert isinstance(entry, e.ReadingKept)
    return entry


def verdicts(conversation: Conversation) -> dict[str, str]:
    """Name and place -> the verdict that stands now."""
    kept = (k.entry for k in conversation.job.readings.values())
    return {f"{r.name} {r.at}".strip(): r.verdict for r in kept if isinstance(r, e.ReadingKept)}


GUARDED = COMPRESSION % "{between: [least, most], uncertainty: gauge}"
BY_GAUGE = [
    ("one seventy six", "unsure", "one seven six P S I, too near the limit to tell, one P S I from it; from one"),
    ("one seventy four", "unsure", "one seven four P S I, too near the limit to tell, one P S I from it; from one"),
    ("one seventy one", "low", "one seven one P S I, low by four P S I; from one seven five to two one five P S I, the gauge"),
    ("two nineteen", "high", "two one niner P S I, high by four P S I; from"),
    ("one seventy eight", "within", "one seven eight P S I, within limits by three P S I."),
]  # fmt: skip


@pytest.mark.parametrize(("said", "verdict", "answer"), BY_GAUGE)
def test_with_a_known_gauge_the_margin_is_said(said: str, verdict: str, answer: str) -> None:
    """Too near to tell, or by how much it is out or in; the entry names the gauge."""
    here = bay(GUARDED)
    assert here.hear(said)[0].startswith(answer)
    assert last(here).verdict == verdict
    assert last(here).limit == (
        "175 psi to 215 psi, gauge good to 3 psi (Tern 3 manual page 6-8; certificate of the gauge)"
    )


def test_the_least_margin_is_said_where_there_are_several() -> None:
    """Ten above the one bound and five below the other: five. A limit without a gauge has no part in it."""
    guarded = "{at_least: least, uncertainty: gauge}, {below: 190 psi, uncertainty: gauge}, {at_most: 186 psi}"
    assert bay(COMPRESSION % guarded).hear("one eighty five")[0] == "one eight five P S I, within limits by five P S I."


def test_without_a_stated_uncertainty_all_stays_as_it_was() -> None:
    """No margin is said."""
    here = bay(COMPRESSION % "{between: [least, most]}")
    assert here.hear("one seventy six")[0] == "one seven six P S I, within limits."
    assert here.hear("correction one seventy four")[0] == (
        "Correction, one seven four P S I, low; from one seven five to two one five P S I."
    )


def test_a_reading_is_judged_beside_another_and_again_when_that_one_changes() -> None:
    """Charging lies 0.8 V or more above the battery at rest; not judged as long as that is not kept."""
    here = bay(REST, CHARGE % "{more_than: rest, at_least: 0.8 V}")
    assert here.hear("charging thirteen point two")[0] == "one three decimal two volts, kept."
    said = here.hear("rest twelve point four")
    assert verdicts(here) == {"charge": "within", "rest": ""}
    assert "With that, charging, one three decimal two volts, is within limits." in said
    here.hear("correction twelve point five")
    assert verdicts(here)["charge"] == "low"
    assert last(here).limit == "against rest: more by at least 0.8 V"
    assert here.hear("limits") == ["charging, more than rest by at least zero decimal eight volts."]


def test_a_set_that_the_gauge_leaves_open_is_unsure() -> None:
    """178 beside 195 is within 10 percent; with a gauge good to 3 it may not be (175/198 are 88 percent)."""
    here = bay(CYLINDERS % "{spread: 10 percent, uncertainty: gauge}")
    here.say_all("cylinder one one ninety five", "cylinder two one ninety")
    assert here.hear("cylinder three one seventy eight")[0] == (
        "cylinder three, one seven eight P S I, not sure; lowest within one zero percent of the highest, the gauge good to"
        " three P S I."
    )


LAST_SEASON = "{less_than: last_season, at_most: 10 percent, source: shop rule}"


@pytest.mark.parametrize(
    ("earlier", "verdict", "answer"),
    [
        ((("one", "compression", "", "200", "psi"),), "within", "one eight zero P S I, within limits."),
        (
            (("one", "compression", "", "200.1", "psi"),),
            "low",
            "one eight zero P S I, low; less than last season by at most one zero percent.",
        ),
        ((("one", "compression", "", "1378", "kPa"),), "within", "one eight zero P S I, within limits."),
        ((("one", "compression", "", "200", "V"),), "", "one eight zero P S I, kept."),
        ((("one", "compression", "cylinder 1", "400", "psi"),), "", "one eight zero P S I, kept."),
        ((), "", "one eight zero P S I, kept."),
    ],
)
def test_drift_from_last_season(earlier: Earlier, verdict: str, answer: str) -> None:
    """A tenth less than last season is the most, exactly; without a value of last season nothing is judged."""
    here = bay(COMPRESSION % LAST_SEASON, earlier=earlier)
    assert here.hear("one eighty")[0] == answer
    assert (last(here).verdict, last(here).limit) == (
        verdict, "against last_season: less by at most 10 % (shop rule)",
    )  # fmt: skip


def test_a_set_is_judged_by_a_computation_when_it_is_whole() -> None:
    """reference.md 7.4: 120/90 is exactly 75 percent and passes, 120/89 fails; the correction mends it."""
    here = bay(CYLINDERS % "{by: compression_by_rule, with: {rule: lowest_75, pressures: all}, source: trade practice}")
    here.say_all("cylinder one one twenty", "cylinder two one fifteen", "cylinder three ninety")
    assert verdicts(here) == {"compression cylinder 1": "within", "compression cylinder 2": "within"} | {
        "compression cylinder 3": "within"
    }
    said = here.hear("correction eighty nine")[0]
    assert said.startswith(
        "Correction, cylinder three, eight niner P S I, not as it should be; as compression by rule has it"
    )
    assert last(here).verdict == "outside"
    assert last(here).limit.startswith("by compression_by_rule: ")
    here.hear("correction ninety one")
    assert verdicts(here)["compression cylinder 3"] == "within"


def test_what_a_computation_answers_is_judged_by_a_bound_and_written_down() -> None:
    """reference.md 7.2: 150 psig read at 7000 ft are 194.39 psig at sea level."""
    sea = "{by: compression_to_sea_level, with: {reading: it, altitude: altitude}, at_least: %s}"
    here = bay(COMPRESSION % sea % "194 psi")
    assert here.hear("one fifty")[0] == "one five zero P S I, within limits."
    assert last(here).limit.startswith("by compression_to_sea_level: 194.3")
    assert "at least 194 psi" in last(here).limit
    low = bay(COMPRESSION % sea % "195 psi")
    assert low.hear("one fifty")[0].startswith(
        "one five zero P S I, low; compression to sea level, at least one niner five P S I, and it is one niner four"
    )


GRAVITY = "{name: gravity, ask: Gravity, unit: sg, plausible: [0.9, 1.4], places: 3, limits: [%s]}"
BY_GRAVITY = "{by: coolant_by_gravity, with: {glycol: %s, gravity: it, temperature: 68 degF}, at_most: -10 degF}"
KIND = "{name: kind, ask: Colour, choices: [{name: ethylene, words: [green]}, {name: propylene, words: [pink]}]}"


def test_a_value_outside_of_the_table_is_unsure_with_the_reason() -> None:
    """It is kept, and neither within nor out: nothing is extrapolated, and no traceback is shown."""
    here = bay(GRAVITY % BY_GRAVITY % "ethylene")
    said = here.hear("one point three")[0]
    assert last(here).verdict == "unsure"
    assert said.startswith("one decimal three, not sure; ")
    assert "outside of the table" in said
    assert "outside of the table" in last(here).limit


def test_another_reading_may_give_the_word() -> None:
    """What glycol it is is said before; until then nothing is judged."""
    here = bay(GRAVITY % BY_GRAVITY % "kind", KIND)
    assert here.hear("gravity one point zero seven")[0].endswith(", kept.")
    here.hear("green")
    assert verdicts(here)["gravity"] == "within"


@pytest.mark.parametrize(
    ("said", "verdict"), [("third quarter twenty twenty five", "within"), ("third quarter twenty eleven", "outside")]
)
def test_a_date_is_judged_by_a_computation(said: str, verdict: str) -> None:
    """ARP5316 as seal suppliers restate it (reference.md 4): nitrile keeps 15 years; a date is neither low nor high."""
    here = bay(
        "{name: cured, ask: Cured, kind: date, limits: [{by: seal_arp5316, with: {polymer: NBR, cured: it, on: today}}]}"
    )
    here.hear(said)
    assert last(here).verdict == verdict


def test_limits_answers_with_the_rule_and_its_source_in_one_sentence() -> None:
    """A sentence for each reading: every limit of it, and where it comes from."""
    here = bay(
        CYLINDERS % "{between: [least, most]}, {spread: 10 percent, source: 'trade practice: compression.'}",
        REST,
        CHARGE % "{target: 14 V, within: 5 percent, source: AC 43.13-1B para 8-14}",
    )
    assert here.hear("limits") == [
        "compression, from one seven five to two one five P S I, by Tern 3 manual page 6 dash 8; and lowest within one zero"
        " percent of the highest, by trade practice, compression. charging, one four volts, within five percent either way,"
        " by AC 43 decimal 13 dash 1B paragraph 8 dash 14."
    ]


SUPPLY = "{name: supply, ask: Supply, unit: psi, plausible: [0, 150]}"


def test_another_reading_may_give_the_amount() -> None:
    """AC 43.13-1B para 8-14 (trap T14): 80/60 is exactly 25 percent and passes, 80/59 does not; the supply is said first."""
    here = bay(SUPPLY, HELD)
    here.say_all("eighty", "sixty")
    assert verdicts(here) == {"supply": "", "held": "within"}
    here.hear("correction fifty nine")
    assert verdicts(here)["held"] == "high"
    here.hear("supply seventy eight")
    assert last(here).why == "judged again"
    assert verdicts(here)["held"] == "within"


LEAK = "{by: leak_down, with: {supply: supply, cylinder: it}, at_most: 25 percent}"
HELD = f"{{name: held, ask: Cylinder, unit: psi, plausible: [0, 150], limits: [{LEAK}]}}"


def test_whole_sets_of_two_readings_may_be_given_together() -> None:
    """The dry and the wet test in one rule: not judged before all four are kept."""
    dry = "{name: dry, ask: Dry, unit: psi, plausible: [0, 400], each: side, positions: [port, starboard]}"
    both = "{by: compression_by_rule, with: {rule: lowest_75, pressures: [all, dry]}}"
    wet = dry.replace("dry", "wet").replace("Dry", "Compression").replace("}", f", limits: [{both}]}}")
    here = bay(wet, dry)
    here.say_all("port one twenty", "starboard one twenty", "dry port one twenty", "dry starboard ninety")
    assert verdicts(here)["wet side starboard"] == "within"
    here.hear("correction eighty nine")
    assert here.state.job.reading("one", "dry", "side starboard") is not None
    assert verdicts(here)["dry side starboard"] == ""


pressures = st.integers(min_value=0, max_value=400)


@settings(deadline=None, max_examples=30)
@given(st.lists(pressures, min_size=3, max_size=3), st.permutations([1, 2, 3]))
def test_the_order_in_which_a_set_is_said_changes_no_verdict_of_the_set(values: list[int], order: list[int]) -> None:
    """Whichever cylinder comes last: the last one carries the set's verdict, and that is the same."""
    limit = "{by: compression_by_rule, with: {rule: lowest_75, pressures: all}, source: practice}"
    found = []
    for places in ([1, 2, 3], order):
        here = bay(CYLINDERS % limit)
        for n in places:
            here.hear(
                f"cylinder {('one', 'two', 'three')[n - 1]} {' '.join(FIGURES[int(c)] for c in str(values[n - 1]))}"
            )
        found.append(last(here).verdict)
    assert found[0] == found[1]


FIGURES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
