"""The labels of one picture, put together: a product in one symbol, its lot or serial in another.

A label that names no product (GS1 lot and serial beside an EAN, an envelope with a lot alone) is a piece. Pieces are given
to the labels that name one, as long as all of them fit together: one product number at most in the picture (where there is
none, one part number), and no two lots, serials or dates that differ. Else nobody knows which belongs to which, and every
label stands alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from assistant.core.events import Label
from assistant.core.labels.meaning import LabelMeaning, read_label

PIECES = ("lot", "serial", "expiry", "best_before", "made", "quantity")
"""What a piece may add to a label that says nothing of it."""


@dataclass(frozen=True)
class Packet:
    """What one packet says: its own label, the meaning of all its labels together, and those beside its own."""

    label: Label
    meaning: LabelMeaning
    beside: tuple[Label, ...] = ()


def packets_in(labels: Iterable[Label], today: date) -> tuple[Packet, ...]:
    """The packets of one picture. Labels that can't be trusted, and pieces that fit none, are packets of their own.

    >>> found = packets_in((Label("EAN-13", "2990001000117"), Label("GS1-128", "10F2604")), date(2026, 11, 26))
    >>> [(p.meaning.gtin, p.meaning.lot, p.meaning.problem) for p in found]
    [('02990001000117', 'F2604', None)]
    """
    alone = [Packet(label, read_label(label, today)) for label in dict.fromkeys(labels)]
    pieces = [p for p in alone if p.meaning.only_piece]
    products = [p for p in alone if p.meaning.problem is None and not p.meaning.only_piece]
    if not pieces or not products or _several(products):
        return tuple(alone)
    if any(_differ(name, (*products, *pieces)) for name in PIECES):
        return tuple(alone)
    whole = [_with(product, pieces) for product in products]
    return (*whole, *(p for p in alone if p not in products and p not in pieces))


def _several(products: Sequence[Packet]) -> bool:
    """Whether they are of more than one product. A part number beside a product number may be another name of it."""
    gtins = {p.meaning.gtin for p in products if p.meaning.gtin}
    return len(gtins or {p.meaning.number.upper() for p in products}) > 1


def _differ(name: str, packets: Sequence[Packet]) -> bool:
    return len({getattr(p.meaning, name) for p in packets} - {"", None}) > 1


def _with(product: Packet, pieces: Sequence[Packet]) -> Packet:
    said = {
        name: next((value for p in (product, *pieces) if (value := getattr(p.meaning, name)) not in ("", None)), None)
        for name in PIECES
    }
    fields = {name: value for p in (*pieces, product) for name, value in p.meaning.fields.items()}
    given = {name: value for name, value in said.items() if value is not None}
    return Packet(product.label, replace(product.meaning, fields=fields, **given), tuple(p.label for p in pieces))
