"""How long a seal may lie on the shelf, from the quarter of its cure, and whether something is past its date.

Sources: ISO 2230:2002 and ARP5316, each only as seal suppliers restate them (reference.md section 4): neither standard's own
table was seen, and where the restatements differ the verdict is unsure and both are named. Ageing counts from the end of
the cure quarter. The life is one on the shelf; a seal that was fitted is judged by the machine's manual.

`within`: good on that day. `high`: too old. `unsure`: only after inspection, or sources differ. The day itself, `on`, comes
from outside. A cure date is given as 2Q24, 2/24, 2024-Q2 or an ISO day or month.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Literal

from assistant.core.trade.figure import Figure, Verdict
from assistant.core.trade.inputs import Count
from assistant.core.trade.quarters import Quarter, last_day, quarter_marked, quarter_of
from assistant.core.trade.reckoning import one_of, whole
from assistant.core.units import Amount

Iso2230Polymer = Literal[
    "NR", "IR", "BR", "SBR", "AU", "EU", "NBR", "XNBR", "HNBR", "CR", "ACM", "ECO", "CO", "IIR", "BIIR", "CIIR",
    "CM", "CSM", "EPM", "EPDM", "FKM", "FFKM", "VMQ", "FVMQ",
]  # fmt: skip
Arp5316Polymer = Literal[
    "NBR", "HNBR", "CR", "ACM", "AEM", "AU", "EU", "SBR", "IIR", "EPM", "EPDM", "FKM", "FFKM", "VMQ", "FVMQ", "TFE/P", "PTFE"
]  # fmt: skip

ISO_GROUPS: dict[str, tuple[Iso2230Polymer, ...]] = {
    "A": ("NR", "IR", "BR", "SBR", "AU", "EU"),
    "B": ("NBR", "XNBR", "HNBR", "CR", "ACM", "ECO", "CO", "IIR", "BIIR", "CIIR"),
    "C": ("CM", "CSM", "EPM", "EPDM", "FKM", "FFKM", "VMQ", "FVMQ"),
}
ISO_YEARS: dict[str, tuple[int, int]] = {"A": (5, 2), "B": (7, 3), "C": (10, 5)}
"""Group -> years at first, and years by which an inspection may extend them."""
ISO_YEARS_ELSEWHERE: dict[str, tuple[int, int]] = {"A": (7, 3), "B": (9, 4), "C": (12, 6)}
"""The longest that another page gives, as ranges: 5/7, 7/9, 10/12, extended by 2/3, 3/4, 5/6."""
ISO_EDITION = "2002"
ARP_YEARS: dict[Arp5316Polymer, int | None] = {
    "NBR": 15, "HNBR": 15, "CR": 15, "ACM": 15, "AEM": 15, "AU": 5, "EU": 5,
    "IIR": None, "EPM": None, "EPDM": None, "FKM": None, "FFKM": None, "VMQ": None, "FVMQ": None, "TFE/P": None, "PTFE": None,
}  # fmt: skip
"""Years from cure; None: not limited."""
ARP_SBR_LISTS = (3, 15)
"""One supplier's list says 3 years for SBR, another 15: unresolved."""

ISO_2230 = "ISO 2230:2002, as restated by seal suppliers; a revision of 2026 was near, so the edition is kept"
ISO_ELSEWHERE = "another supplier's page gives ranges: 5/7, 7/9, 10/12 years, extended by 2/3, 3/4, 5/6"
ARP_5316 = "ARP5316 (its edition is not told), as restated by seal suppliers; compare MIL-HDBK-695E of 2011"
ARP_SBR = "SBR: 3 years in one supplier's list of ARP5316, 15 in another's"
QUARTERS = "ageing counts from the end of the cure quarter: as restated by two seal suppliers"
ON_LABEL = "the life on the supplier's label"
EXPIRY = (
    "a month or a quarter without a day lasts to its end: GS1 General Specifications (day 00), and suppliers' quarters"
)
ISO_STORAGE = (
    "Only as it should be stored: below 25 °C, dark, dry, unstretched, in its bag, away from motors that make ozone."
)
ARP_STORAGE = "Only as it should be stored: below 38 °C, air under 75 % humidity, dark, in its bag."
ARP_STORAGE_DRY = "Only as it should be stored: below 38 °C, air under 65 % humidity, dark, in its bag."
LOOK = "A date is no proof: a seal that is hard, sticky, cracked or flattened is not fitted, whatever its date."
MONTH_OR_QUARTER = "'{0}' is read as a quarter, as ISO 2230 marks it; a maker who marks months means another day."


def seal_iso2230(*, polymer: Iso2230Polymer, cured: str, on: date, edition: str = ISO_EDITION) -> Figure:
    """The last good day of a seal by ISO 2230, its extension beside it, and whether it may be used `on` a day.

    Within to the last good day. Then unsure: to the end of the extension it needs inspection; after that, to the end of
    the longest life that another page gives, sources differ. High after that. `edition`: only 2002 is known here.
    Raises ValueError for another edition, a polymer in no group, or a cure date that is none or lies after `on`.
    """
    if edition != ISO_EDITION:
        raise ValueError(f"'edition' is '{edition}', and only the groups of ISO 2230:{ISO_EDITION} are known here")
    group = one_of("polymer", polymer, {p: name for name, polymers in ISO_GROUPS.items() for p in polymers})
    start = _cured(cured, on)
    years, more = ISO_YEARS[group]
    last, extended = start.later(years).last_day, start.later(years + more).last_day
    elsewhere = start.later(sum(ISO_YEARS_ELSEWHERE[group])).last_day
    verdict: Verdict = "within" if on <= last else "unsure" if on <= elsewhere else "high"
    lines = [
        _clock(start),
        f"{polymer} is in group {group}: {years} years, and {more} more after inspection",
        f"last good day {last}; after inspection {extended}",
    ]
    if verdict == "unsure":
        why = (
            "past it, so only after inspection" if on <= extended else f"past {extended}; another page: to {elsewhere}"
        )
        lines.append(f"on {on}: {why}")
    beside = (
        ("extended_to", extended.isoformat()),
        ("longest_elsewhere", elsewhere.isoformat()),
        ("edition", f"ISO 2230:{edition}"),
    )
    sources = (ISO_2230, ISO_ELSEWHERE, QUARTERS)
    return Figure(last.isoformat(), tuple(lines), sources, verdict, beside, _cautions(cured, ISO_STORAGE))


def seal_arp5316(*, polymer: Arp5316Polymer, cured: str, on: date) -> Figure:
    """The last good day of a seal by ARP5316, or "unlimited", and whether it may be used `on` a day.

    SBR is unresolved between two lists (3 and 15 years): always unsure, with both days beside it.
    Raises ValueError for a polymer that is not in the lists, or a cure date that is none or lies after `on`.
    """
    start = _cured(cured, on)
    storage = _cautions(cured, ARP_STORAGE_DRY if polymer in ("AU", "EU") else ARP_STORAGE)
    sources = (ARP_5316, QUARTERS)
    if polymer == "SBR":
        days = {years: start.later(years).last_day.isoformat() for years in ARP_SBR_LISTS}
        beside = tuple((f"by_the_list_of_{years}_years", day) for years, day in days.items())
        lines = (_clock(start), *(f"a list of {years} years: last good day {day}" for years, day in days.items()))
        return Figure("unresolved", lines, (ARP_SBR, *sources), "unsure", beside, storage)
    life = one_of("polymer", polymer, ARP_YEARS)
    if life is None:
        return Figure("unlimited", (f"{polymer}: not limited",), sources, "within", cautions=storage)
    return _aged(start, life, on, f"{polymer}: {life} years", sources, storage)


def seal_on_label(*, cured: str, years: Count, on: date) -> Figure:
    """The last good day of a seal whose label gives its life in years, and whether it may be used `on` a day.

    Source: the supplier's label. Raises ValueError for a life that is not 1 to 50 whole years, or a cure date as above.
    """
    life = whole("years", years, 1, 50, ON_LABEL)
    return _aged(_cured(cured, on), life, on, f"the label says {life} years", (ON_LABEL, QUARTERS), _cautions(cured))


def expiry(*, expires: str, on: date) -> Figure:
    """Whether something is past its date `on` a day: the date itself is the last good day, a month or quarter to its end.

    `expires`: an ISO day, month or quarter. The days left (below zero: past) stand beside. Source: `EXPIRY`.
    Raises ValueError for what is no date.
    """
    last = last_day(expires)
    left = (last - on).days
    lines = (f"{expires} is good to {last}", f"on {on}: {abs(left)} days {'left' if left >= 0 else 'past'}")
    beside = (("days_left", Amount(Decimal(left), "count")),)
    return Figure(last.isoformat(), lines, (EXPIRY,), "within" if left >= 0 else "high", beside)


def _cured(text: str, on: date) -> Quarter:
    cured = quarter_marked(text, on)
    if not 1900 <= cured.year <= 2099 or cured.first_day > on:
        raise ValueError(
            f"'cured' is {text}, and must lie from 1900 to {on}: nothing is cured after the day it is used"
        )
    return cured


def _clock(start: Quarter) -> str:
    return f"cured {start.mark}: the clock starts at the end of {start.last_day}"


def _aged(
    start: Quarter, years: int, on: date, why: str, sources: tuple[str, ...], cautions: tuple[str, ...]
) -> Figure:
    """A life without extension: good to the end of the quarter, so many years later."""
    last = start.later(years).last_day
    past = last + timedelta(days=1)
    lines = (
        _clock(start),
        f"{why}: last good day {last}",
        f"from {past} on it is expired: mark {quarter_of(past).mark}",
    )
    beside = (("first_expired_day", past.isoformat()),)
    return Figure(last.isoformat(), lines, sources, "within" if on <= last else "high", beside, cautions)


def _cautions(cured: str, *storage: str) -> tuple[str, ...]:
    doubt = (MONTH_OR_QUARTER.format(cured),) if "/" in cured else ()
    return (*doubt, *storage, LOOK)


COMPUTATIONS = (seal_iso2230, seal_arp5316, seal_on_label, expiry)
