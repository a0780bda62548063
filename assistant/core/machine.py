"""The machine and the shop that a procedure is bound to: a model's numbers and parts, and where the shop lies.

Definitions know nothing of files: see `files.sheet_file` and `files.site_file`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.speech.saying import ReadBack
from assistant.core.trade.fasteners import PropertyClass, Thread
from assistant.core.units import Amount


@dataclass(frozen=True)
class SealLife:
    """How the rubber of a part ages on the shelf: by the rule `iso2230` or `arp5316` for its `polymer`, or by `label`, so many
    `years`."""

    rule: Literal["iso2230", "arp5316", "label"]
    polymer: str = ""
    years: int = 0


@dataclass(frozen=True)
class WantedPart:
    """One role of the machine sheet: what fits there.

    `superseded`: product and part numbers that others took the place of and that still fit; they are asked about. `seal`:
    how its rubber ages, None where it has none.
    """

    role: str
    say: str
    gtins: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()
    quantity: int = 1
    superseded: tuple[str, ...] = ()
    seal: SealLife | None = None


@dataclass(frozen=True)
class NamedValue:
    """A number of a sheet or site: where it comes from as a sentence ("Tern 3 manual page 6-4"), who entered it, and when.

    `thread` and `property_class` of the fastener that a torque is for, as marked on it ("M6", "8.8"), "" where not told.
    `checked`: why it is right although it was questioned. `line` of its file, 0 where it has none.
    """

    name: str
    amount: Amount
    source: str = ""
    by: str = ""
    on: date | None = None
    thread: Thread | Literal[""] = ""
    property_class: PropertyClass | Literal[""] = ""
    checked: str = ""
    line: int = field(default=0, compare=False)


@dataclass(frozen=True)
class MachineSheet:
    """One model's numbers: positions (cylinders), values, parts.

    `pages`: places in the manual that steps name. `counted`: those counts that say where they come from. `manual`, `by` and
    `on` hold for every number that has none of its own. `look_up`: numbers that are missing here are asked of the
    technician, who looks them up in the bay.
    """

    model: str
    machine_class: str
    counts: Mapping[str, int]
    values: Mapping[str, NamedValue]
    parts: Mapping[str, WantedPart]
    file: str = ""
    manual: str = ""
    by: str = ""
    on: date | None = None
    counted: Mapping[str, NamedValue] = field(default_factory=dict)
    pages: Mapping[str, str] = field(default_factory=dict)
    look_up: bool = False


@dataclass(frozen=True)
class Site:
    """The shop: where it lies, how cold it may get, which gallon it means, how figures are read back to it, its own words for
    commands, and the language that is spoken there."""

    shop: str = "the shop"
    values: Mapping[str, NamedValue] = field(default_factory=dict)
    gallon: Literal["us_gal", "imp_gal"] = "us_gal"
    read_back: ReadBack = "digits"
    command_words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    language: Language = ENGLISH
    file: str = ""

    @property
    def words_for_commands(self) -> dict[str, tuple[str, ...]]:
        """Command -> what is said for it: the shop's own words, else the language's."""
        return {**self.language.commands, **self.command_words}
