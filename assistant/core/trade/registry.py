"""The trade computations by name: what a procedure's `work_out` and limits, and `layup figure`, may call."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.core.trade import (
    atmosphere,
    battery,
    battery_winter,
    compression,
    compression_balance,
    coolant,
    coolant_frost,
    coolant_mixing,
    doses,
    doses_poured,
    drop_test,
    fasteners,
    fasteners_locking,
    leak_down,
    seals,
    tightening,
    torque,
    wet_test,
    worn_parts,
)
from assistant.core.trade.inputs import Computation, computation

ROOMS = {
    "coolant": coolant,
    "coolant mixing": coolant_mixing,
    "coolant frost": coolant_frost,
    "battery": battery,
    "battery winter": battery_winter,
    "doses": doses,
    "poured": doses_poured,
    "torque": torque,
    "tightening": tightening,
    "fasteners": fasteners,
    "locking": fasteners_locking,
    "seals": seals,
    "worn parts": worn_parts,
    "atmosphere": atmosphere,
    "compression": compression,
    "compression balance": compression_balance,
    "wet test": wet_test,
    "leak-down": leak_down,
    "drop test": drop_test,
}
"""Module by topic, in the order in which they are listed; each has its own `COMPUTATIONS`."""
BY_NAME: Mapping[str, Computation] = {
    found.name: found for room in ROOMS.values() for found in map(computation, room.COMPUTATIONS)
}
"""Name -> computation. Each raises ValueError, in words for the procedure's writer, for what it cannot compute."""
