"""What a torque tool may be set to and still be right."""

from __future__ import annotations

from decimal import Decimal

from assistant.core.trade.figure import Figure
from assistant.core.trade.inputs import Share, Torque
from assistant.core.units import Amount, kind_of


def torque_least(*, target: Torque, tolerance: Share) -> Figure:
    """The least torque taken for `target` with a `tolerance` in percent either way.

    Source: indicating and setting tools are good to 4 percent either way (reference.md section 8.4): for 20 N.m, 19.2
    is accepted and 19.19 is not. Raises ValueError for another kind of quantity or a tolerance not from 0 to 100.
    """
    return _apart(target, tolerance, Decimal(-1))


def torque_most(*, target: Torque, tolerance: Share) -> Figure:
    """The most torque taken for `target`; source and errors as `torque_least`: for 20 N.m it is 20.8."""
    return _apart(target, tolerance, Decimal(1))


def _apart(target: Amount, tolerance: Amount, side: Decimal) -> Figure:
    if kind_of(target.unit) != "torque" or target.value <= 0:
        raise ValueError(f"'target' is {target}, and must be a torque")
    if tolerance.unit != "percent" or not 0 <= tolerance.value < 100:
        raise ValueError(f"'tolerance' is {tolerance}, and must be in percent")
    answer = Amount(target.value * (100 + side * tolerance.value) / 100, target.unit)
    sign = "plus" if side > 0 else "less"
    return Figure(answer, (f"{target} {sign} {tolerance} is {answer}",), ("tool tolerance, reference.md section 8.4",))


COMPUTATIONS = (torque_least, torque_most)
