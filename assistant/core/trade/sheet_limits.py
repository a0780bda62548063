"""A computed value judged by limits that are given with it: those of the machine sheet. Bounds are inclusive."""

from __future__ import annotations

from assistant.core.procedure import Limit, LimitRule
from assistant.core.trade.figure import Verdict
from assistant.core.trade.limits import judge
from assistant.core.trade.reckoning import about
from assistant.core.units import Amount, convert

SHEET = "limits of the machine sheet, which names its page"


def by_the_sheet(value: Amount, least: Amount | None, most: Amount | None) -> tuple[Verdict, str]:
    """The verdict, and the margin as a working line, rounded there only.

    Raises ValueError without a limit, or for limits that are exchanged.

    >>> from decimal import Decimal
    >>> by_the_sheet(Amount(Decimal(3), "mm"), None, Amount(Decimal(2), "mm"))
    ('high', '3 mm is high by 1 mm: at most 2 mm')
    """
    if least is None and most is None:
        raise ValueError("give 'least' or 'most': there is no limit to judge by")
    if least is not None and most is not None and convert(least, most.unit).value > most.value:
        raise ValueError(f"'least' is {least} and 'most' is {most}: are they exchanged?")
    rule: LimitRule = "between" if least and most else "at_least" if least else "at_most"
    judgement = judge(value, Limit(rule, low=least, high=most))
    limits = {"between": f"{least} to {most}", "at_least": f"at least {least}", "at_most": f"at most {most}"}[rule]
    by = f" by {about(judgement.gap)}" if judgement.gap else ""
    return judgement.verdict, f"{about(value)} is {judgement.verdict}{by}: {limits}"
