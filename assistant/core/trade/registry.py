"""The trade computations by name: what a procedure's `work_out` and limits, and `layup figure`, may call."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.core.trade import coolant, doses, torque
from assistant.core.trade.inputs import Computation, computation

ROOMS = {"coolant": coolant, "doses": doses, "torque": torque}
"""Module by topic, in the order in which they are listed; each has its own `COMPUTATIONS`."""
BY_NAME: Mapping[str, Computation] = {
    found.name: found for room in ROOMS.values() for found in map(computation, room.COMPUTATIONS)
}
"""Name -> computation. Each raises ValueError, in words for the procedure's writer, for what it cannot compute."""
