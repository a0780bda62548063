"""The keys of one table taken one by one, every misfit complained of, so that one reading finds all of them.

Each method gives a usable default after a complaint; nothing made from a file with complaints is ever returned to a
caller (see `Complaints.checked`).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import TypeVar

from assistant.core.problems import Place
from assistant.core.procedure import Value
from assistant.core.speech.sources import unsayable
from assistant.core.units import BARE_GALLONS, KINDS, Amount
from assistant.files.yaml_source import Complaints, Items, Node, Table, Text, did_you_mean

NAME = re.compile(r"[a-z][a-z0-9_]*")
NUMBER = re.compile(r"[+-]?[0-9]{1,15}(\.[0-9]{1,15})?")
NAME_ADVICE = "use small letters, digits and underscores, a letter first"
VALUE_ADVICE = "write a number and a unit such as '150 degF', or the name of a value"
NOTHING = Amount(Decimal(0), "count")
YES = {"true": True, "yes": True, "false": False, "no": False}

T = TypeVar("T")


def decimal_from(text: str) -> Decimal:
    """The exact number of plain decimal text. Raises ValueError saying what is wrong."""
    if not NUMBER.fullmatch(text):
        raise ValueError(f"'{text}' is not a plain decimal number")
    return Decimal(text)


def amount_from(text: str) -> Amount:
    """`89 lbf_in` as an amount. Raises ValueError saying what is wrong, with a suggestion."""
    number, _, unit = text.strip().partition(" ")
    unit = unit.strip()
    if unit.lower() in BARE_GALLONS:
        raise ValueError(f"'{unit}' may mean two things: write us_gal or imp_gal")
    if not unit:
        raise ValueError(f"'{text}' has no unit")
    if unit not in KINDS:
        raise ValueError(f"the unit '{unit}' is not on the list: {did_you_mean(unit, list(KINDS))}")
    return Amount(decimal_from(number), unit)


def value_from(text: str) -> Value:
    """An amount, or the name of one. Raises ValueError for text that is neither."""
    return text if NAME.fullmatch(text) else amount_from(text)


class Fields:
    """The keys of one table. `of` says what the table is ("a reading").

    Keys not in `known` are complained of; where `known` is None the keys are free, but each must be a name.
    """

    def __init__(self, table: Table, of: str, known: tuple[str, ...] | None, complaints: Complaints) -> None:
        self.table = table
        self.of = of
        self.complaints = complaints
        for key, place in table.keys.items():
            if known is not None and key not in known:
                complaints.add(place, f"{of} has no key '{key}'", did_you_mean(key, known))
            if known is None and not NAME.fullmatch(key):
                complaints.add(place, f"'{key}' is not a name", NAME_ADVICE)

    @property
    def names(self) -> tuple[str, ...]:
        """The keys, in the order written."""
        return tuple(self.table.entries)

    def under(self, key: str, known: tuple[str, ...] | None = None) -> Fields:
        """The table under a key; without keys where it is not given."""
        node = self.table.entries.get(key)
        if not isinstance(node, Table):
            if node is not None:
                self.complaints.add(node.place, f"'{key}' is a table", "write 'name: value' lines under it")
            node = Table({}, {}, node.place if node else self.table.place)
        return Fields(node, f"'{key}'", known, self.complaints)

    def key_place(self, key: str) -> Place:
        """Where the key itself stands."""
        return self.table.keys.get(key, self.table.place)

    def has(self, key: str) -> bool:
        """Is the key given."""
        return key in self.table.entries

    def place(self, key: str = "") -> Place:
        """Where the value of the key stands; where the table begins when it is not given."""
        node = self.table.entries.get(key)
        return node.place if node else self.table.place

    def complain(self, key: str, what: str, do: str) -> None:
        """Say what is wrong with this key."""
        self.complaints.add(self.place(key), what, do)

    def need(self, key: str) -> Node | None:
        """The node of a key that must be given."""
        if key not in self.table.entries:
            self.complaints.add(self.table.place, f"{self.of} needs the key '{key}'", f"add '{key}: ...'")
        return self.table.entries.get(key)

    def text(self, key: str, default: str | None = None) -> str:
        """One text, not empty. Without a default the key must be given."""
        node = self.table.entries.get(key) if default is not None else self.need(key)
        return default or "" if node is None else _text(node, key, self.complaints).value

    def texts(self, key: str) -> tuple[Text, ...]:
        """One text or a list of them; none where the key is not given."""
        node = self.table.entries.get(key)
        if node is None:
            return ()
        return tuple(_text(n, key, self.complaints) for n in (node.items if isinstance(node, Items) else (node,)))

    def source(self, key: str, default: str | None = None) -> str:
        """Where something comes from: a text that can be said."""
        text = self.text(key, default)
        wrong = unsayable(text)
        if wrong:
            self.complain(
                key, f"a source is said aloud: {wrong}", "write it shorter, in letters, figures and plain stops"
            )
        return text

    def name(self, key: str, default: str | None = None) -> str:
        """A name: small letters, digits, underscores."""
        text = self.text(key, default)
        if text and not NAME.fullmatch(text):
            self.complain(key, f"'{text}' is not a name", NAME_ADVICE)
        return text

    def flag(self, key: str, default: bool) -> bool:
        """Yes or no."""
        text = self.text(key, "yes" if default else "no")
        if text not in YES:
            self.complain(key, f"'{text}' is neither yes nor no", "write yes or no")
        return YES.get(text, default)

    def whole(self, key: str, default: int | None, least: int, most: int) -> int:
        """A whole number from least to most."""
        text = self.text(key, None if default is None else str(default))
        if not (text.isascii() and text.isdigit() and least <= int(text[:9]) <= most):
            if text:
                self.complain(key, f"'{text}' is no whole number from {least} to {most}", "write the figure")
            return least
        return int(text)

    def numbers(self, key: str) -> tuple[Decimal, ...]:
        """A list of plain decimal numbers."""
        return tuple(self.taken(text, decimal_from, Decimal(0), "write plain figures") for text in self.texts(key))

    def value(self, key: str) -> Value:
        """An amount with its unit, or the name of one."""
        node = self.need(key)
        return self.value_of(_text(node, key, self.complaints)) if node else ""

    def value_of(self, text: Text) -> Value:
        """The same of a text at hand."""
        nothing: Value = NOTHING
        return self.taken(text, value_from, nothing, VALUE_ADVICE)

    def amount(self, key: str) -> Amount:
        """An amount with its unit."""
        node = self.need(key)
        if node is None:
            return NOTHING
        return self.taken(_text(node, key, self.complaints), amount_from, NOTHING, "write a number and a unit")

    def taken(self, text: Text, read: Callable[[str], T], default: T, do: str) -> T:
        """What `read` makes of the text; its ValueError becomes a complaint."""
        if not text.value:
            return default
        try:
            return read(text.value)
        except ValueError as error:
            self.complaints.add(text.place, str(error), do)
            return default

    def tables(self, key: str) -> tuple[Table, ...]:
        """A list of tables under the key; none where it is not given."""
        node = self.table.entries.get(key)
        if node is None:
            return ()
        if not isinstance(node, Items):
            self.complaints.add(node.place, f"'{key}' is a list", "begin each of its entries with '- '")
            return ()
        for item in node.items:
            if not isinstance(item, Table):
                self.complaints.add(item.place, f"each entry of '{key}' is a table", "write '- key: value'")
        return tuple(item for item in node.items if isinstance(item, Table))


def _text(node: Node, key: str, complaints: Complaints) -> Text:
    if not isinstance(node, Text):
        complaints.add(node.place, f"'{key}' is one text", "write it on the line, in quotes if it begins with { or [")
        return Text("", node.place)
    if not node.value.strip():
        complaints.add(node.place, f"'{key}' is empty", "write its value, or leave the key out")
        return Text("", node.place)
    return Text(" ".join(node.value.split()), node.place)
