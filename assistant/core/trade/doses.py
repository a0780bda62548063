"""How much to pour: doses by volume, and what is held back until the dipstick is read."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal

from assistant.core.trade.figure import Figure
from assistant.core.trade.inputs import Volume
from assistant.core.units import Amount, convert, kind_of


def dose_by_volume(*, volume: Volume, dose: Volume, treats: Volume, round_up_to: Volume) -> Figure:
    """What to add to `volume` when the label says `dose` for every `treats`; in the dose's unit.

    Rounded up to a whole `round_up_to`, a step that the measuring cup shows: a little more does no harm, too little
    does (common practice, no source). Source: the additive's label; proportion.
    Raises ValueError for what is no volume, or a `treats` or step that is not above zero.
    """
    for name, amount in (("volume", volume), ("dose", dose), ("treats", treats), ("round_up_to", round_up_to)):
        if kind_of(amount.unit) != "volume" or amount.value < 0:
            raise ValueError(f"'{name}' is {amount}, and must be a volume")
    step = convert(round_up_to, dose.unit).value
    base = convert(treats, volume.unit).value
    if not (step > 0 and base > 0):
        raise ValueError("'treats' and 'round_up_to' must be above zero")
    steps = (volume.value * dose.value / (base * step)).to_integral_value(ROUND_CEILING)
    answer = Amount(steps * step, dose.unit)
    return Figure(
        answer, (f"{volume} at {dose} for every {treats}, up to whole {round_up_to}: {answer}",), ("the label",)
    )


def hold_back(*, capacity: Volume, held: Volume) -> Figure:
    """What is poured at first when the last of it waits for the dipstick; in the capacity's unit.

    Source: common practice, no source. Raises ValueError where more is held back than there is, or units do not fit.
    """
    rest = capacity.value - convert(held, capacity.unit).value
    if not Decimal(0) < rest < capacity.value:
        raise ValueError(f"{held} cannot be held back from {capacity}")
    answer = Amount(rest, capacity.unit)
    return Figure(answer, (f"{capacity} less {held} is {answer}",), ("common practice, no source",))


COMPUTATIONS = (dose_by_volume, hold_back)
