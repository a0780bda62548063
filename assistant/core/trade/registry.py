"""The trade computations that a procedure's `work_out` may call, by name: named amounts in, one amount out."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from assistant.core.trade.coolant import colder_by, ethylene_glycol_by_gravity, ethylene_glycol_stands
from assistant.core.trade.doses import dose_by_volume, hold_back
from assistant.core.trade.torque import torque_least, torque_most
from assistant.core.units import Amount

Computation = Callable[..., Amount]

BY_NAME: Mapping[str, Computation] = {
    function.__name__: function
    for function in (
        colder_by,
        dose_by_volume,
        ethylene_glycol_by_gravity,
        ethylene_glycol_stands,
        hold_back,
        torque_least,
        torque_most,
    )
}
"""Name -> function. Each raises ValueError, in words for the procedure's writer, for what it cannot compute."""
