"""Strength after mixing with what is left inside, and how much to add or to swap; all by volume, as if volumes added up.

c0 V0 = c1 V1 (reference.md section 5.6, as restated on engineering pages): the 1 to 2 percent by which glycol and water
shrink together are left out. Volumes are rounded to 0.001 of their unit, shares to 0.01 percent.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from assistant.core.trade.coolant import colder_by
from assistant.core.trade.coolant_tables import WASTE, Basis, Glycol, fluid_of, share_standing
from assistant.core.trade.figure import Figure
from assistant.core.trade.given import above_zero, given
from assistant.core.trade.inputs import Gravity, Share, Temperature, TemperatureDifference, Volume
from assistant.core.units import Amount, plain

BY_VOLUME = "c0 V0 = c1 V1 by volume, shrinking of 1 to 2 % left out: reference.md section 5.6, as restated"
BY_MASS = "V2 = V1 / (1 + SG (100 - P) / P): reference.md section 5.6, as restated"
STIR = "Run or stir it until it is one mixture, then measure again: the figure is only as good as the volumes in it."
NONE = Amount(Decimal(0), "percent")
NEAT = Amount(Decimal(100), "percent")


@dataclass(frozen=True)
class _Aim:
    """The share that stands the cold, and how it was found."""

    share: Amount
    working: tuple[str, ...]
    sources: tuple[str, ...]
    cautions: tuple[str, ...]


def strength_after_mixing(
    *, added: Volume, strength: Share, left: Volume, basis: Basis, left_strength: Share | None = None
) -> Figure:
    """The share by volume once `added` of a `strength` has mixed with the water or weaker mixture `left` inside.

    Source: `BY_VOLUME`. Raises ValueError for a share by mass, a share outside of 0 to 100, or no volume.
    """
    new = _by_volume("strength", strength, basis)
    old = _by_volume("left_strength", left_strength or NONE, basis)
    poured = _volume("added", added)
    inside = given("left", left, added.unit, least="0")
    total = poured + inside
    answer = Amount(round((poured * new + inside * old) / total, 2), "percent")
    unit = added.unit
    return Figure(
        answer,
        (
            f"glycol: {added} x {plain(new)} % + {_shown(inside, unit)} x {plain(old)} %"
            f" = {_shown((poured * new + inside * old) / 100, unit)}",
            f"altogether {_shown(total, unit)}: {answer} by volume",
        ),
        (BY_VOLUME,),
        beside=(("basis", "volume"),),
        cautions=(STIR, WASTE),
    )


def antifreeze_to_add(
    *, left: Volume, strength: Share, wanted: Share, basis: Basis, left_strength: Share | None = None
) -> Figure:
    """How much antifreeze of a `strength` brings what is `left` inside to `wanted`; in the unit of `left`.

    Source: `BY_VOLUME`. Raises ValueError where no volume of that strength gets there, or for a share by mass.
    """
    new = _by_volume("strength", strength, basis)
    aim = _by_volume("wanted", wanted, basis)
    old = _by_volume("left_strength", left_strength or NONE, basis)
    inside = _volume("left", left)
    _reachable(old, aim, new)
    answer = Amount(round(inside * (aim - old) / (new - aim), 3), left.unit)
    return Figure(
        answer,
        (f"{left} x ({plain(aim)} - {plain(old)}) / ({plain(new)} - {plain(aim)}) = {answer}",),
        (BY_VOLUME,),
        beside=(("basis", "volume"), ("room_needed", Amount(inside + answer.value, left.unit))),
        cautions=(STIR, WASTE),
    )


def antifreeze_to_swap(
    *, capacity: Volume, present: Share, wanted: Share, basis: Basis, fresh: Share | None = None
) -> Figure:
    """How much to drain from a full system of strength `present`, and fill again with `fresh` (neat), to have `wanted`.

    In the unit of `capacity`. Source: `BY_VOLUME`. Raises ValueError where it cannot be reached, or for a share by mass.
    """
    old = _by_volume("present", present, basis)
    aim = _by_volume("wanted", wanted, basis)
    new = _by_volume("fresh", fresh or NEAT, basis)
    full = _volume("capacity", capacity)
    _reachable(old, aim, new)
    answer = Amount(round(full * (aim - old) / (new - old), 3), capacity.unit)
    return Figure(
        answer,
        (
            f"{capacity} x ({plain(aim)} - {plain(old)}) / ({plain(new)} - {plain(old)}) = {answer}",
            f"drain {answer}, fill with as much of {plain(new)} %",
        ),
        (BY_VOLUME,),
        beside=(("basis", "volume"),),
        cautions=(STIR, WASTE),
    )


def add_for_the_cold(
    *,
    glycol: Glycol,
    lowest: Temperature,
    margin: TemperatureDifference,
    left: Volume,
    strength: Share,
    basis: Basis,
    left_strength: Share | None = None,
) -> Figure:
    """How much antifreeze of a `strength` what is `left` inside needs for the site's lowest expected temperature.

    The share that stands `margin` below `lowest` (`coolant_share_for`), then `antifreeze_to_add`; nothing where what is
    inside stands it. Raises ValueError as those do.
    """
    aim = _aim(glycol, lowest, margin)
    old = _by_volume("left_strength", left_strength or NONE, basis)
    _volume("left", left)
    if old >= aim.share.value:
        return _for_the_cold(aim, _nothing(left, old))
    return _for_the_cold(
        aim,
        antifreeze_to_add(left=left, strength=strength, wanted=aim.share, basis=basis, left_strength=left_strength),
    )


def swap_for_the_cold(
    *,
    glycol: Glycol,
    lowest: Temperature,
    margin: TemperatureDifference,
    capacity: Volume,
    present: Share,
    basis: Basis,
    fresh: Share | None = None,
) -> Figure:
    """How much of a full system to drain and fill with `fresh` (neat) for the site's lowest expected temperature.

    The share that stands `margin` below `lowest` (`coolant_share_for`), then `antifreeze_to_swap`; nothing where what is
    inside stands it. Raises ValueError as those do.
    """
    aim = _aim(glycol, lowest, margin)
    old = _by_volume("present", present, basis)
    _volume("capacity", capacity)
    if old >= aim.share.value:
        return _for_the_cold(aim, _nothing(capacity, old))
    return _for_the_cold(
        aim, antifreeze_to_swap(capacity=capacity, present=present, wanted=aim.share, basis=basis, fresh=fresh)
    )


def glycol_by_mass_share(*, total: Volume, share: Share, glycol_gravity: Gravity) -> Figure:
    """How much neat glycol, of a specific gravity, makes a `total` volume with a `share` by mass; in the total's unit.

    Source: `BY_MASS`. Raises ValueError for a share not above 0 and at most 100, or a gravity outside of 1 to 1.2.
    """
    volume = _volume("total", total)
    percent = given("share", share, "percent", most="100")
    above_zero("share", share, "percent")
    gravity = given("glycol_gravity", glycol_gravity, "sg", least="1", most="1.2")
    answer = Amount(round(volume / (1 + gravity * (100 - percent) / percent), 3), total.unit)
    return Figure(
        answer,
        (f"{total} / (1 + {plain(gravity)} x (100 - {plain(percent)}) / {plain(percent)}) = {answer}",),
        (BY_MASS,),
        beside=(("basis", "mass"),),
        cautions=(WASTE,),
    )


def _by_volume(name: str, share: Amount, basis: str) -> Decimal:
    if basis != "volume":
        raise ValueError(
            f"'basis' is '{basis}', and '{name}' must be by volume: litres mix by volume shares (glycol_by_mass_share"
            " turns a share by mass into a volume of glycol)"
        )
    return given(name, share, "percent", least="0", most="100")


def _reachable(old: Decimal, wanted: Decimal, new: Decimal) -> None:
    if not old <= wanted < new:
        raise ValueError(
            f"'wanted' is {plain(wanted)} %, and must lie between what is inside ({plain(old)} %) and what is put in"
            f" ({plain(new)} %)"
        )


def _aim(glycol: str, lowest: Amount, margin: Amount) -> _Aim:
    fluid = fluid_of(glycol)
    colder = colder_by(temperature=lowest, margin=margin)
    chosen = fluid.stands["volume"]
    share = Amount(share_standing(fluid, colder.amount), "percent")
    working = (*colder.working, f"{colder.answer} needs {share} by volume ({chosen.title})")
    return _Aim(share, working, (*colder.sources, chosen.source), (*fluid.cautions, STIR))


def _for_the_cold(aim: _Aim, mixed: Figure) -> Figure:
    """What was mixed, with the reason for it before it."""
    return Figure(
        mixed.answer,
        (*aim.working, *mixed.working),
        (*aim.sources, *mixed.sources),
        beside=(*mixed.beside, ("share_wanted", aim.share)),
        cautions=aim.cautions,
    )


def _nothing(volume: Amount, inside: Decimal) -> Figure:
    return Figure(
        Amount(Decimal(0), volume.unit), (f"{plain(inside)} % is inside: enough",), (), beside=(("basis", "volume"),)
    )


def _volume(name: str, amount: Amount) -> Decimal:
    """The number, in the unit it came in."""
    above_zero(name, amount, "L")
    return amount.value


def _shown(value: Decimal, unit: str) -> Amount:
    return Amount(round(value, 3), unit)


COMPUTATIONS = (
    strength_after_mixing,
    antifreeze_to_add,
    antifreeze_to_swap,
    add_for_the_cold,
    swap_for_the_cold,
    glycol_by_mass_share,
)
