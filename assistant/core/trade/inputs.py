"""What a computation takes, read from its signature: the names, the kinds of quantity, and the words to choose from.

A parameter is annotated with one of the kinds below, a tuple of one (a set of readings), a `Literal` of words, a date, or
text. The unit of a kind is the one that its source uses; any other unit of the same kind is as good.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, Literal, get_args, get_origin, get_type_hints

from assistant.core.trade.figure import Figure
from assistant.core.units import KINDS, Amount, a_kind, kind_of

Length = Annotated[Amount, "mm"]
Altitude = Annotated[Amount, "m"]
Area = Annotated[Amount, "mm2"]
Volume = Annotated[Amount, "L"]
Mass = Annotated[Amount, "g"]
Force = Annotated[Amount, "N"]
Pressure = Annotated[Amount, "psi"]
"""What a gauge shows: above the air around it."""
AbsolutePressure = Annotated[Amount, "kPa_abs"]
Torque = Annotated[Amount, "Nm"]
Temperature = Annotated[Amount, "degC"]
TemperatureDifference = Annotated[Amount, "delta_K"]
Voltage = Annotated[Amount, "V"]
Time = Annotated[Amount, "h"]
Speed = Annotated[Amount, "rpm"]
Share = Annotated[Amount, "percent"]
Gravity = Annotated[Amount, "sg"]
Count = Annotated[Amount, "count"]

Form = Literal["amount", "word", "date", "text"]
UNIT_LEFT_OUT = ("sg", "count")
"""Units that have no sign: a bare number is of them."""


@dataclass(frozen=True)
class Input:
    """One parameter: what it is called, what form it has, and whether it may be left out or be given several times."""

    name: str
    form: Form
    unit: str
    words: tuple[str, ...]
    several: bool
    needed: bool

    def told(self) -> str:
        """How it is described to whoever must give it: "sg=specific gravity"."""
        told = {"amount": kind_of(self.unit) or "", "word": "|".join(self.words), "date": "DATE", "text": "TEXT"}
        kind = told[self.form]
        if self.form == "amount" and self.unit not in UNIT_LEFT_OUT:
            kind += f" ({', '.join(u for u, k in KINDS.items() if k == kind_of(self.unit))})"
        several = ", several with commas" if self.several else ""
        return f"{self.name}={kind}{several}{'' if self.needed else ' (may be left out)'}"


@dataclass(frozen=True)
class Computation:
    """A trade computation by name."""

    name: str
    function: Callable[..., Figure]
    inputs: tuple[Input, ...]

    @property
    def summary(self) -> str:
        """Its first sentence."""
        return (inspect.getdoc(self.function) or "").split("\n\n")[0].replace("\n", " ")

    def __call__(self, **given: Any) -> Figure:
        """Compute. Raises ValueError, naming it, for an input that it lacks, does not know, or that is of another kind."""
        known = {i.name: i for i in self.inputs}
        for name in given:
            if name not in known:
                raise ValueError(f"{self.name} does not take '{name}': it takes {', '.join(known)}")
        for needed in self.inputs:
            if needed.name in given:
                _check(needed, given[needed.name])
            elif needed.needed:
                raise ValueError(f"{self.name} needs '{needed.name}': it takes {', '.join(known)}")
        return self.function(**given)


def _check(wanted: Input, value: Any) -> None:
    for one in value if wanted.several else (value,):
        if wanted.form == "amount" and (not isinstance(one, Amount) or kind_of(one.unit) != kind_of(wanted.unit)):
            what = f"{one} ({kind_of(one.unit)})" if isinstance(one, Amount) else repr(one)
            raise ValueError(f"'{wanted.name}' is {what}, and must be {a_kind(wanted.unit)}")
        if wanted.form == "word" and one not in wanted.words:
            raise ValueError(f"'{wanted.name}' is '{one}', and must be one of {', '.join(wanted.words)}")
        if wanted.form == "date" and not isinstance(one, date):
            raise ValueError(f"'{wanted.name}' is '{one}', and must be a date")


def computation(function: Callable[..., Figure]) -> Computation:
    """A function made a computation. Raises TypeError for a parameter that is of none of the forms."""
    hints = get_type_hints(function, include_extras=True)
    parameters = inspect.signature(function).parameters.values()
    return Computation(
        function.__name__, function, tuple(_input(p.name, hints[p.name], p.default is p.empty) for p in parameters)
    )


def _input(name: str, hint: Any, needed: bool) -> Input:
    several = get_origin(hint) is tuple
    one = get_args(hint)[0] if several else hint
    optional = [a for a in get_args(one) if a is not type(None)] if type(None) in get_args(one) else [one]
    one = optional[0]
    if get_origin(one) is Literal:
        return Input(name, "word", "", get_args(one), several, needed)
    if one is date:
        return Input(name, "date", "", (), several, needed)
    if one is str:
        return Input(name, "text", "", (), several, needed)
    if get_origin(one) is Annotated and get_args(one)[0] is Amount:
        return Input(name, "amount", get_args(one)[1], (), several, needed)
    raise TypeError(f"'{name}' is of no form that a computation takes")
