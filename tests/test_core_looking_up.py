"""Numbers that a sheet lacks: asked in the bay, affirmed, then what everything is judged by; and what is so without them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from assistant.core.effects import Effect
from assistant.core.entries import Amended, ConditionAffirmed, ReadingKept
from assistant.core.events import Event, Recorded
from assistant.core.job import apply
from assistant.core.look_up_steps import look_up_step
from assistant.core.looking_up import bound_as_of, may_change
from assistant.core.problems import FileProblems
from assistant.core.procedure import Limit, Procedure
from assistant.core.proof import prove
from assistant.core.sheet_needs import needs_of
from assistant.core.state import State
from assistant.core.units import KINDS, Amount, convert
from assistant.files.procedure_file import load_procedure
from assistant.files.sheet_file import load_sheet
from assistant.files.shipped import shipped_folder
from assistant.files.site_file import load_site
from assistant.files.work import Work, work_of
from tests.conversation import TABLES, Conversation

TEXT = (TABLES / "short.yaml").read_text("utf-8")
SHEET = (TABLES / "short.sheet.yaml").read_text("utf-8").replace("counts:", "look_up: yes\ncounts:")
WITHOUT_BATTERY = SHEET.replace("  battery_least: {is: 12.4 V, page: 2}\n", "")
SITE = "shop: S\ngallon: us_gal\nvalues: {}\n"
JOINT = """
  - id: clamp
    title: Clamp
    say: Tighten the clamp.
    tighten: {fastener: bolt, layout: circle, torque: clamp_torque}
"""


def work(sheet: str = WITHOUT_BATTERY, text: str = TEXT) -> Work:
    return work_of(text, sheet, SITE, ("p.yaml", "s.yaml", "site.yaml"))


class Bay(Conversation):
    """A conversation whose procedure keeps up with what is looked up, as the loop has it."""

    def __init__(self, of: Work) -> None:
        super().__init__(of.procedure, dict(of.sheet.parts), of.site)
        self._work = of
        self._watchers = (self,)

    def event(self, state: State, event: Event) -> None:
        """As the loop does before the engine takes an entry up."""
        if self._work.look_ups and isinstance(event, Recorded) and may_change(event.kept):
            bound = self._work.look_ups.bound(apply(state.job, event.kept), ((1, "Kim"),))
            self.state = replace(state, procedure=bound.procedure)

    def effect(self, state: State, effect: Effect) -> None:
        """Not looked at."""


def bay(of: Work | None = None) -> Bay:
    begun = Bay(of or work())
    begun.start()
    return begun


def battery_limits(procedure: Procedure) -> tuple[Limit, ...]:
    return next(r for r in procedure.step("battery").readings if r.name == "rest").limits


def test_a_missing_number_is_asked_for_before_the_job() -> None:
    """What it is, in which unit, what for; then the number, its page, and a yes to both."""
    talk = bay()
    assert talk.said == [
        "Look up least battery in the manual, in volts. It is for Battery. Say the number, then spell the page.",
        "Number?",
    ]
    assert talk.hear("twelve point four") == ["one two decimal four volts, within limits.", "Page?"]
    said = talk.hear("eight dash two")
    assert said == [
        "eight dash two, kept.",
        "Before The job begins: least battery in the manual must be one two decimal four volts, page eight dash two. "
        "Affirm when it is so.",
    ]
    assert battery_limits(talk.state.procedure) == ()
    talk.hear("affirm")
    [limit] = battery_limits(talk.state.procedure)
    assert limit.low == Amount(Decimal("12.4"), "V")
    assert limit.source == "test page 8-2, read out by Kim on 2000-01-01"
    assert talk.hear("done")[0] == "Count the tools."


def up_to_battery(talk: Bay) -> None:
    talk.say_all("done", "twenty four", "affirm", "roger", "roger", "done", "done", "done", "done")
    talk.say_all("one ninety", "one eighty", "one ninety")
    assert talk.hear("tight")[-1] == "Battery?"


@pytest.mark.parametrize(
    ("said", "heard"),
    [
        (("twelve point four", "eight dash two", "affirm"), "low; at least one two decimal four volts."),
        (("twelve point one", "eight dash two", "affirm"), "within limits."),
        (("unable", "no manual"), "kept."),  # nobody knows: kept, and not judged
    ],
)
def test_the_job_is_judged_by_what_was_looked_up(said: tuple[str, ...], heard: str) -> None:
    """By the number that was affirmed; without one nothing is said to be within."""
    talk = bay()
    talk.say_all(*said)
    up_to_battery(talk)
    assert talk.hear("twelve point two")[0] == f"one two decimal two volts, {heard}"


def test_a_number_is_never_taken_without_a_yes() -> None:
    """However sure it was heard: *unable* at the question leaves it unknown, and *negative* waits."""
    talk = bay()
    talk.say_all("twelve point four", "eight dash two", "negative")
    assert talk.entries(ConditionAffirmed) == []
    talk.say_all("unable", "not sure of it")
    assert talk.job.step == "tools_out"
    assert battery_limits(talk.state.procedure) == ()


def test_a_number_may_be_put_right_before_the_yes_and_after() -> None:
    """By going back and saying it by its name; then it is affirmed anew, and until then not used."""
    talk = bay()
    talk.say_all("twelve point four", "eight dash two", "go back")
    assert "one two decimal six volts, page eight dash two" in talk.hear("number twelve point six")[-1]
    talk.say_all("affirm")
    assert battery_limits(talk.state.procedure)[0].low == Amount(Decimal("12.6"), "V")
    talk.say_all("done", "go back", "go back", "number twelve point five")
    assert battery_limits(talk.state.procedure) == ()
    talk.say_all("affirm")
    assert battery_limits(talk.state.procedure)[0].low == Amount(Decimal("12.5"), "V")


def test_a_number_that_may_be_a_slip_is_told_at_once() -> None:
    """By the usual range. It may stand all the same, with its yes."""
    talk = bay(work(SHEET.replace("  compression_least: {is: 175 psi, page: 1}\n", "")))
    assert "high; from six zero to three zero zero P S I" in talk.hear("three hundred and fifty")[0]


def test_a_number_that_cannot_be_is_told_and_not_used() -> None:
    """Outside of what the procedure takes as a reading at all, or the least above the most; it may be put right."""
    talk = bay()
    assert talk.hear("two four decimal eight") == ["two four decimal eight volts. Affirm?"]
    talk.say_all("affirm", "eight dash two", "done")  # high: it waits for a done
    told = "Not taken, it does not fit: least battery. Go back, or go on without it; what is not known is not judged."
    assert talk.hear("affirm")[-1] == f"{told} Say done."
    assert battery_limits(talk.state.procedure) == ()
    talk.say_all("go back", "number twelve point four")
    assert talk.hear("affirm")[-1] == "The numbers are taken; what is not known is not judged. Say done."
    two = bay(work("\n".join(line for line in SHEET.splitlines() if "compression" not in line)))
    two.say_all("two hundred", "six dash eight", "one fifty", "six dash eight", "affirm")
    assert "least compression" not in two.hear("affirm")[-1]
    assert two.said[-1].startswith("Not taken, it does not fit: most compression.")


def test_a_resume_comes_to_the_same() -> None:
    """From the entries alone, at every point of the talk."""
    talk = bay()
    for line in ("twelve point four", "eight dash two", "affirm", "done", "twenty four"):
        talk.hear(line)
        of = work()
        again = bound_as_of(of.look_ups.procedure, of.sheet, of.site, tuple(talk.kept)) if of.look_ups else None
        assert again is not None
        with_name = of.look_ups.bound(talk.job, ((1, "Kim"),)) if of.look_ups else None
        assert with_name is not None
        assert with_name.procedure == talk.state.procedure
        assert [s.id for s in again.procedure.steps] == [s.id for s in talk.state.procedure.steps]


def test_the_foremans_amendment_stands_without_a_yes() -> None:
    """He has put it right with his name and reason."""
    talk = bay()
    talk.say_all("twelve point four", "eight dash two", "affirm", "done")
    old = talk.job.readings["look_up.battery_least", "looked_up_number", ""]
    assert isinstance(old.entry, ReadingKept)
    amended = {**vars(old.entry), "value": "12.5", "said_value": "12.5", "replaces": old.sequence}
    talk.commit(Amended(**amended, reason="misheard", who="Ada Lind"))
    of = work()
    assert of.look_ups is not None
    bound = bound_as_of(of.look_ups.procedure, of.sheet, of.site, tuple(talk.kept))
    assert battery_limits(bound.procedure)[0].low == Amount(Decimal("12.5"), "V")


def test_who_looked_it_up_is_who_worked_then() -> None:
    """With several people at one job, the one whose session it was."""
    talk = bay()
    talk.say_all("twelve point four", "eight dash two", "affirm")
    of = work()
    assert of.look_ups is not None
    bound = of.look_ups.bound(talk.job, ((1, "Kim"), (2, "Sam"), (99, "Ada")))
    assert "read out by Sam on" in battery_limits(bound.procedure)[0].source
    assert (
        "read out by the technician on" in battery_limits(of.look_ups.bound(talk.job, ((1, ""),)).procedure)[0].source
    )


def test_a_sheet_that_does_not_say_so_lacks_nothing_in_silence() -> None:
    """Without `look_up: yes` a missing number is a problem, as a misspelt one is; so is one of no known kind."""
    with pytest.raises(FileProblems, match="nothing gives the value 'battery_least'"):
        work(WITHOUT_BATTERY.replace("look_up: yes", "look_up: no"))
    with pytest.raises(FileProblems, match="nothing gives the value 'some_number'"):
        work(SHEET, TEXT.replace("say: Look at the battery.", "say: Look at {some_number}."))
    assert work(SHEET).look_ups is None


def test_a_joint_whose_torque_is_not_known_is_one_step_by_the_manual() -> None:
    """With it, one step a turn of the tool; the place where the job stands is never lost."""
    of = work(SHEET.replace("{cylinder: 3}", "{cylinder: 3, bolt: 4}"), TEXT.rstrip() + JOINT)
    assert of.procedure.step("clamp").say == "Tighten the clamp. The torque: as the manual says."
    assert of.procedure.step("clamp").wait_for_done
    talk = bay(of)
    talk.say_all("one six", "nine dash eight", "affirm")
    ids = [step.id for step in talk.state.procedure.steps]
    assert "clamp" not in ids
    assert len([i for i in ids if i.startswith("clamp.")]) >= 12


SHIPPED = shipped_folder("procedures")
RAW, SITE_SHEET = load_procedure(SHIPPED / "pwc-off-season.yaml"), load_site(SHIPPED / "our-shop.site.yaml")
FULL = replace(load_sheet(SHIPPED / "tern-3.sheet.yaml"), look_up=True)
NEEDS = needs_of(RAW, SITE_SHEET.values).values


@pytest.mark.parametrize("name", sorted(NEEDS))
def test_any_number_of_the_shipped_sheet_may_be_missing(name: str) -> None:
    """The procedure still binds, says no bracket, and is proved safe."""
    lacking = replace(FULL, values={key: value for key, value in FULL.values.items() if key != name})
    bound = bound_as_of(RAW, lacking, SITE_SHEET, ())
    assert bound.problems == ()
    assert [step.id for step in bound.procedure.steps][:2] == [f"look_up.{name}", "look_up.affirmed"]
    assert not any("{" in text for step in bound.procedure.steps for text in (step.title, step.say))


def test_all_of_them_may_be_missing() -> None:
    """Proved as a whole; every limit that names a number is gone, those that name none stay."""
    bound = bound_as_of(RAW, replace(FULL, values={}), SITE_SHEET, ())
    assert bound.problems == ()
    assert prove(bound.procedure).ok
    compression = next(r for r in bound.procedure.step("compression").readings if r.name == "compression")
    assert [limit.rule for limit in compression.limits] == ["spread"]
    assert "about as the manual says is usual" in bound.procedure.step("compression").say


@pytest.mark.parametrize("name", sorted(NEEDS))
def test_the_shipped_number_could_be_said_where_it_is_asked_for(name: str) -> None:
    """It lies in what may be said there, and in what is usual for it."""
    step = look_up_step(NEEDS[name])
    number, value = step.readings[0], FULL.values[name].amount
    assert KINDS[number.unit] == KINDS[value.unit]
    here = convert(value, number.unit).value
    assert number.plausible[0] <= here <= number.plausible[1]
    for limit in number.limits:
        assert isinstance(limit.low, Amount)
        assert isinstance(limit.high, Amount)
        assert limit.low.value <= here <= limit.high.value
