"""A procedure as its writer writes it -> `Procedure`. Everything found wrong comes at once, each with line and column.

    procedure: pwc-off-season          title: ...      version: 1      for: class of machine
    conditions: {engine: [stopped, running], water: [off, on]}
    start: {engine: stopped, water: off}
    never: [{when: {engine: stopped, water: on}, because: ...}]
    work_out: {dose: {by: dose_by_volume, volume: fuel_tank, ...}}     (`call_fields`)
    steps:
      - id: start_engine
        title: ...    say: ...    cautions: [...]    source: ...
        needs: {water: off}    makes: {engine: running}    only: {cooling: closed}
        readings: [...]    parts: [roles]    photographs: [{name: edges, of: the impeller}]
        countdown: {seconds: 5}    each: cylinder    wait_for_done: yes
        tighten: {fastener: pump_bolt, layout: circle, torque: pump_torque}    minutes: 3
        manual: oil_change        # a place in the service manual: the sheet's `pages` say where

Names of values and roles of parts are looked up later, when a machine sheet is at hand (`core.binding`).
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import get_args

from assistant.core.conditions import UNSURE
from assistant.core.problems import Place
from assistant.core.procedure import Countdown, Joint, Never, Photograph, Procedure, Step, WorkedOut
from assistant.core.trade.tightening import MOST_FASTENERS, MOST_ROUNDS, Layout
from assistant.files.call_fields import computation_named, inputs_given
from assistant.files.condition_fields import Known, held
from assistant.files.reading_file import reading_from
from assistant.files.reading_names import check_readings
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import Complaints, Table, did_you_mean, parse_yaml, read_text

PROCEDURE_KEYS = ("procedure", "title", "version", "for", "conditions", "start", "never", "work_out", "steps")
STEP_KEYS = (
    "id", "title", "say", "cautions", "caution", "readings", "parts", "photographs", "needs", "makes", "only", "countdown",
    "each", "tighten", "wait_for_done", "source", "manual", "minutes",
)  # fmt: skip
PHOTOGRAPH_KEYS = ("name", "of")
ALONE = ("readings", "parts", "photographs", "makes", "countdown", "each", "wait_for_done")
"""What a step that tightens a joint cannot have."""
MOST_MINUTES = 600
"""The longest step: a battery that charges over a shift is two steps."""
MOST_SECONDS = 900
"""The longest countdown: nobody stands with a tool in hand for more than a quarter of an hour."""


def load_procedure(path: Path) -> Procedure:
    """The procedure in a file. Raises CallProblem (no such file) or FileProblems (all that is wrong with it)."""
    return read_procedure(read_text(path), str(path))


def read_procedure(text: str, file: str) -> Procedure:
    """The procedure that the text holds; `file` is its name in what is complained of. Raises FileProblems."""
    complaints = Complaints(file)
    table = parse_yaml(text, complaints)
    return complaints.checked(_procedure(table, complaints) if table else None)


def _procedure(table: Table, complaints: Complaints) -> Procedure:
    fields = Fields(table, "a procedure", PROCEDURE_KEYS, complaints)
    known = _conditions(fields)
    steps = _steps(fields, known)
    check_readings(fields, steps, STEP_KEYS)
    return Procedure(
        name=fields.text("procedure"),
        title=fields.text("title"),
        version=fields.whole("version", None, 1, 9999),
        machine_class=fields.text("for"),
        start=_start(fields, known),
        conditions=known,
        never=tuple(_never(rule, known, complaints) for rule in fields.tables("never")),
        worked_out=_worked_out(fields),
        steps=steps,
        file=complaints.file,
    )


def _conditions(fields: Fields) -> Known:
    inner = fields.under("conditions")
    known: dict[str, tuple[str, ...]] = {}
    for name in inner.names:
        values = tuple(text.value for text in inner.texts(name))
        if len(set(values)) != len(values) or len(values) < 2 or UNSURE in values:
            what = f"'{name}' needs two different values or more, none of them '{UNSURE}'"
            fields.complaints.add(inner.key_place(name), what, "write them as [one, other]")
        known[name] = values
    return known


def _start(fields: Fields, known: Known) -> Mapping[str, str]:
    start = held(fields, "start", known, (UNSURE,))
    for name in known:
        if name not in start:
            what = f"'start' does not say how '{name}' is at first"
            fields.complain("start", what, f"add '{name}: ...', or '{name}: {UNSURE}'")
    return start


def _never(table: Table, known: Known, complaints: Complaints) -> Never:
    fields = Fields(table, "a never", ("when", "because"), complaints)
    fields.need("when")
    when = held(fields, "when", known)
    if fields.has("when") and not when:
        fields.complain("when", "a never names one condition at least", "write 'when: {condition: value}'")
    return Never(when, fields.text("because"))


def _worked_out(fields: Fields) -> tuple[WorkedOut, ...]:
    table = fields.under("work_out")
    found = []
    for name in table.names:
        inner = table.under(name)
        computation = computation_named(inner)
        inputs = dict(inputs_given(inner, computation, None)) if computation else {}
        found.append(WorkedOut(name, inner.name("by"), inputs, table.key_place(name).line))
    return tuple(found)


def _steps(fields: Fields, known: Known) -> tuple[Step, ...]:
    fields.need("steps")
    first: dict[str, Place] = {}
    steps = []
    for table in fields.tables("steps"):
        step = _step(table, known, fields.complaints)
        if step.id in first:
            what = f"the step '{step.id}' is already there in line {first[step.id].line}"
            fields.complaints.add(table.place, what, "give each step an id of its own")
        first.setdefault(step.id, table.place)
        steps.append(step)
    if fields.has("steps") and not steps:
        fields.complain("steps", "a procedure has one step at least", "add '- id: ...'")
    return tuple(steps)


def _step(table: Table, known: Known, complaints: Complaints) -> Step:
    fields = Fields(table, "a step", STEP_KEYS, complaints)
    readings = tuple(reading_from(reading, known, complaints) for reading in fields.tables("readings"))
    each = fields.name("each", "")
    if each and any(reading.each for reading in readings):
        fields.complain("each", "the step and its reading are both for each position", "keep one of them")
    return Step(
        id=fields.name("id"),
        title=fields.text("title"),
        say=fields.text("say"),
        cautions=tuple(text.value for key in ("cautions", "caution") for text in fields.texts(key)),
        readings=readings,
        parts=tuple(text.value for text in fields.texts("parts")),
        photographs=_photographs(fields),
        needs=held(fields, "needs", known),
        makes=held(fields, "makes", known),
        only=held(fields, "only", known),
        countdown=_countdown(fields),
        tighten=_joint(fields),
        each=each,
        wait_for_done=fields.flag("wait_for_done", default=False),
        source=fields.text("source", ""),
        manual=fields.name("manual", ""),
        minutes=_minutes(fields),
        line=table.place.line,
    )


def _photographs(fields: Fields) -> tuple[Photograph, ...]:
    found: list[Photograph] = []
    for table in fields.tables("photographs"):
        inner = Fields(table, "a photograph", PHOTOGRAPH_KEYS, fields.complaints)
        photograph = Photograph(inner.name("name"), inner.text("of").rstrip(".!? "))
        if photograph.name in {one.name for one in found}:
            inner.complain("name", f"the photograph '{photograph.name}' is already wanted", "give each its own name")
        found.append(photograph)
    return tuple(found)


def _countdown(fields: Fields) -> Countdown | None:
    if not fields.has("countdown"):
        return None
    inner = fields.under("countdown", ("seconds", "start", "end"))
    seconds = inner.whole("seconds", None, 1, MOST_SECONDS)
    return Countdown(seconds, inner.text("start", Countdown.start), inner.text("end", Countdown.end))


def _joint(fields: Fields) -> Joint | None:
    """The joint that the step tightens. What is read, shown or made belongs in a step after it: that one is done once."""
    if not fields.has("tighten"):
        return None
    for key in ALONE:
        if fields.has(key):
            fields.complain(key, f"a step that tightens a joint has no '{key}'", "write it in a step after this one")
    inner = fields.under("tighten", ("fastener", "layout", "torque", "short_side", "rounds"))
    layout = inner.text("layout")
    if layout and layout not in get_args(Layout):
        inner.complain("layout", f"'layout' is never '{layout}'", did_you_mean(layout, get_args(Layout)))
    if layout == "circle" and inner.has("short_side"):
        inner.complain("short_side", "a circle has no 'short_side'", "leave it out")
    return Joint(
        fastener=inner.name("fastener"),
        layout="rectangle" if layout == "rectangle" else "circle",
        torque=inner.value("torque"),
        short_side=inner.whole("short_side", Joint.short_side, 2, MOST_FASTENERS),
        rounds=inner.whole("rounds", Joint.rounds, 1, MOST_ROUNDS),
    )


def _minutes(fields: Fields) -> Decimal | None:
    """How long the step takes, in minutes; None where the writer does not say."""
    if not fields.has("minutes"):
        return None
    minutes = fields.numbers("minutes")
    if len(minutes) == 1 and 0 < minutes[0] <= MOST_MINUTES:
        return minutes[0]
    fields.complain("minutes", f"'minutes' is one number above 0, at most {MOST_MINUTES}", "write the figure")
    return None
