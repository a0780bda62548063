"""Liquid, slush, or burst: three temperatures that are never taken for each other.

Freezing point: the first ice crystals (ASTM D1177). Below it the mixture is slush, and does not circulate. Burst point: how
cold it may get before the slush breaks what holds it. No recognised test gives a burst rating for marine antifreeze, so a
printed one is told and never counted (reference.md section 5.5).
"""

from __future__ import annotations

from decimal import Decimal

from assistant.core.trade.coolant import colder_by
from assistant.core.trade.coolant_tables import Glycol, fluid_of
from assistant.core.trade.figure import Figure, Verdict
from assistant.core.trade.given import given
from assistant.core.trade.inputs import Temperature, TemperatureDifference
from assistant.core.units import Amount, convert, plain

OFF_BY = Amount(Decimal(1), "delta_K")
"""What a refractometer may be off: about 1 degC, an older edition of ASTM D3321."""
D1177 = "ASTM D1177: the freezing point is where the first ice crystals form"
NO_BURST_TEST = (
    "no recognised test gives a burst rating for marine antifreeze; in a magazine's trial partly frozen fluid parted into"
    " layers and lost up to 7 % of glycol at the top (reference.md section 5.5, as restated)"
)
GROWTH = (
    "water grows 9 to 10 % as it freezes; a fill of about 35 % propylene glycol is said to show no growth, although it is"
    " slush near 1 °F (reference.md section 5.5, as restated)"
)
SLUSH = (
    "Slush is not liquid: it does not circulate, and a pump or engine turned in it breaks. Do not start it until it has"
    " thawed."
)
BURST = (
    "A burst rating printed on a container is no freezing point: it is for a neat, full, unmixed fill, after the maker's own"
    " test. Water left inside spoils it. It is not counted here."
)


def frost_protection(
    *,
    glycol: Glycol,
    stands: Temperature,
    lowest: Temperature,
    margin: TemperatureDifference,
    off_by: TemperatureDifference | None = None,
    printed_burst: Temperature | None = None,
) -> Figure:
    """Whether coolant that stands a temperature keeps liquid through the site's lowest, with a margin below it.

    The answer is `liquid` or `slush` at `lowest`. The verdict is on the margin: `within` where it stands it even if the
    measuring was `off_by` (1 degC) too kind, `high` where it does not even if it was as much too strict, else `unsure`.
    `printed_burst`: what a container promises; told, never counted. Sources: the margin as `colder_by`; `D1177`.
    Raises ValueError for what is no temperature or difference, or lies below what any strength of the glycol stands.
    """
    fluid = fluid_of(glycol)
    least = plain(convert(fluid.coldest, "degC").value)
    freezes = given("stands", stands, "degC", least=least, most="0", source=fluid.coldest_source)
    coldest = given("lowest", lowest, "degC")
    target = colder_by(temperature=lowest, margin=margin)
    off = given("off_by", off_by or OFF_BY, "delta_K", least="0")
    verdict = _verdict(freezes, convert(target.amount, "degC").value, off)
    liquid = freezes <= coldest
    return Figure(
        f"liquid at {lowest}" if liquid else f"slush at {lowest}",
        (
            *target.working,
            f"first ice at {stands}, give or take {off_by or OFF_BY}; wanted {target.answer} or colder: {verdict}",
            f"at {lowest} it is {'still liquid' if liquid else 'slush: ice crystals in liquid'}",
        ),
        (*target.sources, D1177, NO_BURST_TEST, GROWTH),
        verdict=verdict,
        beside=() if printed_burst is None else (("printed_burst_not_counted", _printed(printed_burst)),),
        cautions=(SLUSH, BURST, *fluid.cautions),
    )


def _verdict(freezes: Decimal, target: Decimal, off: Decimal) -> Verdict:
    if freezes + off <= target:
        return "within"
    return "high" if freezes - off > target else "unsure"


def _printed(burst: Amount) -> Amount:
    given("printed_burst", burst, "degC")
    return burst


COMPUTATIONS = (frost_protection,)
