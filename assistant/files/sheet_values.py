"""The numbers of a machine sheet as its file has them: each says where it comes from, who entered it, and when.

manual: Tern 3 manual                          # once: pages are of it
entered: {by: Ada Lind, on: 2026-10-30}        # once: who copied the numbers, and when
values:
  plug_torque: {is: 13 lbf_ft, page: 6-4}
  stabiliser_dose: {is: 1 us_fl_oz, from: label of the can}                   # of no manual
  pump_torque: {is: 16 lbf_ft, page: "7", manual: bulletin 12, by: Kim, on: 2027-02-01}
  pump_bolt_torque: {is: 7 lbf_ft, page: 9-8, thread: M6, class: 8.8}         # of which fastener: it is checked against it
  odd_torque: {is: 66 lbf_ft, page: 6-4, checked: read twice on page 6-4}     # questioned, and right all the same
counts: {cylinder: 3, pump_bolt: {is: 4, page: 9-8}}
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Literal, TypeVar

from assistant.core.machine import NamedValue
from assistant.core.speech.sources import page_of, unsayable
from assistant.core.trade.fasteners import METRIC_CLASSES, STRESS_AREAS, PropertyClass, Thread
from assistant.core.units import Amount
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import Table, did_you_mean

ORIGIN_KEYS = ("page", "from", "manual", "by", "on")
COUNT_KEYS = ("is", *ORIGIN_KEYS)
VALUE_KEYS = ("is", *ORIGIN_KEYS, "thread", "class", "checked")
ENTERED_KEYS = ("by", "on")
MOST_POSITIONS = 24
"""The most cylinders, cells or bolts of one kind that a sheet may count."""
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
PAGE_SAID = re.compile(r"\bpages?\b", re.IGNORECASE)
T = TypeVar("T")
THREADS: dict[str, Thread] = {thread: thread for thread in STRESS_AREAS}
CLASSES: dict[str, PropertyClass] = {name: name for name in METRIC_CLASSES}


class SheetValues:
    """The numbers of one sheet. `kept`: it is the copy in a job file, taken as it was, without what is asked for by now."""

    def __init__(self, fields: Fields, *, kept: bool) -> None:
        self._sheet = fields
        self._kept = kept
        self.manual = fields.source("manual", "")
        entered = fields.under("entered", ENTERED_KEYS)
        self.by = entered.text("by", "")
        self.on = day_of(entered)

    def values(self) -> dict[str, NamedValue]:
        """Name -> value, in the order written."""
        fields = self._sheet.under("values")
        return {name: self._value(name, fields.under(name, VALUE_KEYS)) for name in fields.names}

    def counts(self) -> dict[str, NamedValue]:
        """Name -> how many; a bare figure comes from nowhere in particular."""
        fields = self._sheet.under("counts")
        return {name: self._count(name, fields) for name in fields.names}

    def pages(self) -> dict[str, str]:
        """Name -> place in the manual, as it is said: "Tern 3 manual page 4-2"."""
        fields = self._sheet.under("pages")
        return {name: self._page(name, fields) for name in fields.names}

    def _page(self, name: str, fields: Fields) -> str:
        page = fields.text(name)
        if page and not self._kept:
            self._check_page(fields, self.manual, page, name)
        return page_of(self.manual, page)

    def _value(self, name: str, fields: Fields) -> NamedValue:
        return NamedValue(
            name,
            fields.amount("is"),
            self._source(fields),
            self._by(fields),
            self._on(fields),
            _marked(fields, "thread", THREADS),
            _marked(fields, "class", CLASSES),
            fields.text("checked", ""),
            fields.key_place("is").line,
        )

    def _count(self, name: str, fields: Fields) -> NamedValue:
        if not isinstance(fields.table.entries[name], Table):
            return NamedValue(name, _counted(fields, name), line=fields.place(name).line)
        inner = fields.under(name, COUNT_KEYS)
        source, by, on = self._source(inner), self._by(inner), self._on(inner)
        return NamedValue(name, _counted(inner, "is"), source, by, on, line=inner.place().line)

    def _source(self, fields: Fields) -> str:
        if fields.has("from"):
            for key in ("page", "manual"):
                if fields.has(key):
                    fields.complain(key, f"'{key}' is of a manual, and 'from' is of none", "keep the one or the other")
            return fields.source("from")
        page = fields.text("page")
        manual = fields.source("manual", "") or self.manual
        if page and not self._kept:
            self._check_page(fields, manual, page)
        return page_of(manual, page)

    def _check_page(self, fields: Fields, manual: str, page: str, key: str = "page") -> None:
        if not manual:
            self._sheet.complain(
                "",
                "pages are given, and no manual is named",
                "write 'manual: ...' once, then 'page: 6-4' with each value",
            )
        if PAGE_SAID.search(page):
            fields.complain(key, f"'{page}' is more than a page", "write 'page: 6-4', and once 'manual: ...'")
        elif wrong := unsayable(page_of(manual, page)):
            fields.complain(
                key, f"a source is said aloud: {wrong}", "write page and manual shorter, in letters and figures"
            )

    def _by(self, fields: Fields) -> str:
        by = fields.text("by", "") or self.by
        if not by:
            self._nobody()
        return by

    def _on(self, fields: Fields) -> date | None:
        on = day_of(fields) or self.on
        if on is None:
            self._nobody()
        return on

    def _nobody(self) -> None:
        if not self._kept:
            what = "nothing says who entered the numbers, and when"
            self._sheet.complain("", what, "write 'entered: {by: NAME, on: 2026-10-30}' once")


def day_of(fields: Fields) -> date | None:
    """The day under the key `on`; None where it is not given."""
    text = fields.text("on", "")
    if not text:
        return None
    try:
        if DAY.fullmatch(text):
            return date.fromisoformat(text)
    except ValueError:  # a day that no month has
        pass
    fields.complain("on", f"'{text}' is no day", "write it as 2026-10-30")
    return None


def _counted(fields: Fields, key: str) -> Amount:
    return Amount(Decimal(fields.whole(key, None, 1, MOST_POSITIONS)), "count")


def _marked(fields: Fields, key: str, known: Mapping[str, T]) -> T | Literal[""]:
    """What is marked on the fastener, of those in the tables of strengths; "" where it is not given."""
    text = fields.text(key, "")
    if text and text not in known:
        fields.complain(key, f"no strength is known for the {key} '{text}'", did_you_mean(text, tuple(known)))
    return known.get(text, "")
