"""What is to be done: steps, readings, limits, cautions, machine conditions. Definitions know nothing of files.

A procedure is written once for a class of machines and bound to one machine sheet and one site: names of values become
amounts, `each: cylinder` becomes one step or one position a cylinder (see `binding`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from itertools import product
from typing import Literal

from assistant.core.trade.tightening import Layout
from assistant.core.units import Amount

Value = Amount | str
"""An amount, or the name of one in the machine sheet, the site or the procedure's worked-out values."""

Position = int | str
"""One of a set: 2 (a cylinder), "port" (a side)."""

LimitRule = Literal["between", "at_least", "at_most", "above", "below", "target", "spread", "same_as", "by"]
Compared = Literal["", "more_than", "less_than", "differs_from"]
LAST_SEASON = "last_season"
"""The name by which a limit compares a reading with its own value in last season's job."""
ReadingKind = Literal["measured", "count", "choice", "letters", "date"]


def place_of(each: str, at: Position | None) -> str:
    """Where, as the job file has it.

    >>> place_of("cylinder", 2), place_of("side", "port"), place_of("", None)
    ('cylinder 2', 'side port', '')
    """
    return "" if at is None else f"{each} {at}"


def position_in(place: str) -> Position | None:
    """The position in a place of the job file; None where there is none.

    >>> position_in("cylinder 2"), position_in("side port"), position_in("")
    (2, 'port', None)
    """
    _, _, at = place.partition(" ")
    return (int(at) if at.isdecimal() else at) or None


@dataclass(frozen=True)
class OfReading:
    """A kept value that a computation takes: of the reading `name`, "" the judged one itself; `whole`: of all its places."""

    name: str = ""
    whole: bool = False


Given = Amount | str | OfReading | tuple[Amount | str | OfReading, ...]
"""What an input of a computation is given. A string is a word, a text or a date; before binding also a name."""


@dataclass(frozen=True)
class Limit:
    """What a reading must keep to. Bounds are inclusive, save those of above and below.

    between: low <= x <= high; at_least: low <= x; at_most: x <= high; above: low < x; below: x < high; target: between
    `target` less and plus `tolerance` (an amount, or percent of the target), as low and high once bound; spread: (highest -
    lowest) of the set is at most `share` percent of the highest; same_as: equal to the kept reading named `other`; by: as
    the computation itself judges.

    `compared`: the bounds are of the difference to the reading `other` (`LAST_SEASON`: to this one last season), as an amount
    or in percent of it. `by`: the bounds are of what that computation gives for `inputs`. `uncertainty` of the gauge, expanded
    (k = 2), as an amount or in percent of what was read. Where the reading itself is in percent, percent are points of it.
    """

    rule: LimitRule
    low: Value | None = None
    high: Value | None = None
    share: Decimal | None = None
    other: str = ""
    source: str = ""
    compared: Compared = ""
    target: Value | None = None
    tolerance: Value | None = None
    uncertainty: Value | None = None
    by: str = ""
    inputs: tuple[tuple[str, Given], ...] = ()
    line: int = field(default=0, compare=False)

    @property
    def alone(self) -> bool:
        """Is a value judged by it alone, without others and without a computation."""
        return not (self.other or self.by or self.rule == "spread")


@dataclass(frozen=True)
class Choice:
    """One answer of a reading that is not a number: the words that mean it, whether it is good, and the (condition,
    value) pairs that it makes when its step is done ("closed" makes the cooling closed)."""

    name: str
    words: tuple[str, ...]
    good: bool = True
    makes: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Finding:
    """What the customer must decide on when a reading is not as it should be; `price_later`: what it costs is told later."""

    say: str
    price_later: bool = False


@dataclass(frozen=True)
class Reading:
    """One value that the technician says.

    `plausible` bounds what may be a reading at all (in `unit`), wide enough for a broken machine; `places` is how many
    decimals are customary; `each` names a position ("cylinder", "cell"), `positions` lists them once bound. `length`: how many
    signs a code of kind "letters" has, least and most. Letters and dates are text, and have no unit. `finding`: what is put
    down for the customer when the value is not within.
    """

    name: str
    ask: str
    kind: ReadingKind = "measured"
    unit: str = "count"
    plausible: tuple[Decimal, Decimal] = (Decimal(0), Decimal(999))
    places: int = 0
    each: str = ""
    positions: tuple[Position, ...] = ()
    limits: tuple[Limit, ...] = ()
    choices: tuple[Choice, ...] = ()
    length: tuple[int, int] = (1, 20)
    finding: Finding | None = None

    @property
    def spoken_name(self) -> str:
        """What it is called aloud, and may be called by the technician: the words of `ask`."""
        return self.ask.lower().rstrip("?. ")


@dataclass(frozen=True)
class Countdown:
    """Time that the assistant counts aloud, in whole seconds, after *go ahead*."""

    seconds: int
    start: str = "say go ahead when you are ready"
    end: str = "stop"


@dataclass(frozen=True)
class Photograph:
    """A picture that is wanted for the foreman: `of` says of what, aloud."""

    name: str
    of: str


@dataclass(frozen=True)
class Joint:
    """Fasteners that are tightened in an order: so many as the sheet counts of `fastener`, to `torque`.

    `short_side`: how many stand on each short side of a rectangle, both corners counted. `rounds`: circular passes at the end.
    """

    fastener: str
    layout: Layout
    torque: Value
    short_side: int = 2
    rounds: int = 1


@dataclass(frozen=True)
class Way:
    """A way of finishing a step: the answers that decide, as (reading, choice), and all that is made by it."""

    chosen: tuple[tuple[str, str], ...]
    makes: Mapping[str, str]


@dataclass(frozen=True)
class Step:
    """One thing to do. `needs` are conditions before it, `makes` those after it; `parts` are roles of the sheet.

    `only`: conditions of the machine that it is for; for others it is passed over. `manual`: the name of a place in the
    service manual, bound: the shop's page of it. `minutes`: how long it takes, where the writer says so.
    `tighten`: bound, it is one step for each turn of the tool, in the order and the stages of the joint (`joint_steps`).
    """

    id: str
    title: str
    say: str
    cautions: tuple[str, ...] = ()
    readings: tuple[Reading, ...] = ()
    parts: tuple[str, ...] = ()
    photographs: tuple[Photograph, ...] = ()
    needs: Mapping[str, str] = field(default_factory=dict)
    makes: Mapping[str, str] = field(default_factory=dict)
    only: Mapping[str, str] = field(default_factory=dict)
    countdown: Countdown | None = None
    tighten: Joint | None = None
    each: str = ""
    at: int | None = None
    wait_for_done: bool = False
    source: str = ""
    manual: str = ""
    minutes: Decimal | None = None
    line: int = 0

    @cached_property
    def ways(self) -> tuple[Way, ...]:
        """Every way of finishing it that differs in what it makes: one, save where a reading has answers that decide."""
        deciding = [r for r in self.readings if any(c.makes for c in r.choices)]
        return tuple(
            Way(
                tuple((r.name, c.name) for r, c in zip(deciding, choices, strict=True)),
                {**self.makes, **{name: value for c in choices for name, value in c.makes}},
            )
            for choices in product(*(r.choices for r in deciding))
        )


@dataclass(frozen=True)
class Never:
    """A combination of conditions that must not be reached by any order of answers."""

    conditions: Mapping[str, str]
    because: str


@dataclass(frozen=True)
class WorkedOut:
    """A value computed from others by a trade function, by name; `inputs` are argument -> value, name of one, or word."""

    name: str
    by: str
    inputs: Mapping[str, Given]
    line: int = 0


@dataclass(frozen=True)
class Procedure:
    """An ordered list of steps for a class of machines."""

    name: str
    title: str
    version: int
    machine_class: str
    start: Mapping[str, str]
    conditions: Mapping[str, tuple[str, ...]]
    never: tuple[Never, ...]
    worked_out: tuple[WorkedOut, ...]
    steps: tuple[Step, ...]
    file: str = ""

    def step(self, step_id: str) -> Step:
        """The step of that id; KeyError where there is none."""
        for step in self.steps:
            if step.id == step_id:
                return step
        raise KeyError(step_id)

    def index(self, step_id: str) -> int:
        """The place of that step, from 0."""
        return next(i for i, step in enumerate(self.steps) if step.id == step_id)
