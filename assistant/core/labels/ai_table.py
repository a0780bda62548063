"""The GS1 application identifiers, as data: what may stand behind each, and what its label says it is.

Source: the GS1 General Specifications, as the standards body gives them for machines (repository
gs1/gs1-syntax-dictionary, gs1-syntax-dictionary.txt). Lengths, kinds and check digits of every identifier in use;
of the checks only those that a packet of spare parts can need.

A row: identifier or first-last, then the parts of its value, then its name.
A part: N figures, X the 82 characters, Y the 39, Z the 64 of base 64; `6` exactly, `..20` up to, [..] may lack; then
`csum` (mod 10), `yymmd0` (day 00 allowed), `yymmdd`, `hhmm`. `*` marks a predefined length: no FNC1 after it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

_ROWS = """
00 * N18,csum = serial shipping container code
01 * N14,csum = product number (GTIN)
02 * N14,csum = product number of the content
03 * N14,csum = product number of a made-to-order item
10 X..20 = batch or lot
11 * N6,yymmd0 = production date
12 * N6,yymmd0 = due date
13 * N6,yymmd0 = packaging date
15 * N6,yymmd0 = best before
16 * N6,yymmd0 = sell by
17 * N6,yymmd0 = expiry
20 * N2 = variant
21 X..20 = serial number
22 X..20 = consumer variant
235 X..28 = third party serial number
240 X..30 = additional product identification
241 X..30 = customer part number
242 N..6 = made-to-order variation
243 X..20 = packaging component
250 X..30 = secondary serial number
251 X..30 = reference to source
253 N13,csum [X..17] = document type
254 X..20 = location extension
255 N13,csum [N..12] = coupon number
30 N..8 = variable count
3100-3105 3110-3115 3120-3125 3130-3135 3140-3145 3150-3155 3160-3165 * N6 = metric measure
3200-3205 3210-3215 3220-3225 3230-3235 3240-3245 3250-3255 3260-3265 3270-3275 3280-3285 3290-3295 * N6 = measure
3300-3305 3310-3315 3320-3325 3330-3335 3340-3345 3350-3355 3360-3365 3370-3375 * N6 = metric logistic measure
3400-3405 3410-3415 3420-3425 3430-3435 3440-3445 3450-3455 3460-3465 3470-3475 3480-3485 3490-3495 * N6 = measure
3500-3505 3510-3515 3520-3525 3530-3535 3540-3545 3550-3555 3560-3565 3570-3575 * N6 = measure
3600-3605 3610-3615 3620-3625 3630-3635 3640-3645 3650-3655 3660-3665 3670-3675 3680-3685 3690-3695 * N6 = measure
37 N..8 = count of items
3900-3909 N..15 = amount
3910-3919 N3 N..15 = amount and currency
3920-3929 N..15 = price
3930-3939 N3 N..15 = price and currency
3940-3943 N4 = percentage off
3950-3955 N6 = price a unit of measure
400 X..30 = customer order
401 X..30 = consignment
402 N17,csum = shipment
403 X..30 = routing code
410-417 * N13,csum = location number
420 X..20 = postal code
421 N3 X..9 = country and postal code
422 424 426 N3 = country
423 425 N..15 = countries
427 X..3 = region of origin
4300-4301 4310-4311 4320 X..35 = ship to, return to
4302-4306 4312-4316 X..70 = ship to, return to
4307 4317 X2 = country
4308 4319 X..30 = telephone
4309 N20 = position
4318 X..20 = postal code
4321-4323 N1 = yes or no
4324-4325 N6,yymmd0 N4 = delivery time
4326 N6,yymmdd = release date
4330-4333 N6 [X1] = temperature
7001 N13 = stock number
7002 X..30 = meat cut
7003 N6,yymmdd N4,hhmm = expiry date and time
7004 N..4 = active potency
7005 X..12 = catch area
7006 N6,yymmdd = first freeze date
7007 N6,yymmdd [N6],yymmdd = harvest date
7008 X..3 = species
7009 X..10 = gear type
7010 X..2 = production method
7011 N6,yymmdd [N4],hhmm = test by
7020-7022 X..20 = refurbishment
7023 X..30 = assembly
7030-7039 N3 X..27 = processor
7040 N1 X3 = importer index
710-716 X..20 = national number
7230-7239 X2 X..28 = certification
7240 X..20 = protocol
7241 N2 = media type
7242 X..25 = version
8001 N14 = roll dimensions
8002 X..20 = mobile telephone serial
8003 N14,csum [X..16] = returnable asset
8004 X..30 = individual asset
8005 N6 = price a unit of measure
8006 N14,csum N4 = piece of a trade item
8007 X..34 = account number
8008 N8 [N..4] = production date and time
8009 X..50 = sensor indicator
8010 Y..30 = component or part identifier
8011 N..12 = component or part serial number
8012 X..20 = software version
8013 X..25 = model number
8017-8018 N18,csum = service relation
8019 N..10 = service instance
8020 X..25 = payment slip
8026 N14,csum N4 = piece of a trade item in the content
8030 Z..90 = signature
8110 8112 X..70 = coupon
8111 N4 = loyalty points
8200 X..70 = web address
90 X..30 = agreed between partners
91-99 X..90 = company internal
"""


@dataclass(frozen=True)
class Part:
    """A piece of a value: kind N, X, Y or Z; least and most characters; the check it must pass, "" for none."""

    kind: str
    least: int
    most: int
    check: str = ""


@dataclass(frozen=True)
class Identifier:
    """An application identifier: its parts in order, whether its length is predefined, its name."""

    ai: str
    parts: tuple[Part, ...]
    predefined: bool
    name: str

    @property
    def most(self) -> int:
        """The most characters its value can have."""
        return sum(part.most for part in self.parts)


_PART = re.compile(r"(\[?)([NXYZ])(\.\.)?(\d+)\]?(?:,(\w+))?")


def _part(text: str) -> Part:
    match = _PART.fullmatch(text)
    assert match, text
    optional, kind, up_to, length, check = match.groups()
    least = 0 if optional else 1 if up_to else int(length)
    return Part(kind, least, int(length), check or "")


def _named(span: str) -> list[str]:
    first, _, last = span.partition("-")
    return [str(n).zfill(len(first)) for n in range(int(first), int(last or first) + 1)]


def _table(rows: str) -> Mapping[str, Identifier]:
    found: dict[str, Identifier] = {}
    for row in rows.strip().splitlines():
        left, _, name = row.partition(" = ")
        words = left.split()
        spans = [w for w in words if w[0].isdigit()]
        parts = tuple(_part(w) for w in words if w[0].isalpha() or w[0] == "[")
        for ai in (ai for span in spans for ai in _named(span)):
            found[ai] = Identifier(ai, parts, "*" in words, name)
    return found


IDENTIFIERS = _table(_ROWS)
"""Every identifier in use by its figures."""

PREDEFINED_TOTAL = (
    {"00": 20, "01": 16, "02": 16, "03": 16, "04": 18, "20": 4, "41": 16}
    | {str(n): 8 for n in range(11, 20)}
    | {str(n): 10 for n in range(31, 37)}
)
"""First two figures -> characters in all, identifier included (General Specifications, predefined lengths).
No identifier 04 is in use; its 18 is from memory."""


def identifier_at(text: str) -> Identifier | None:
    """The identifier that `text` begins with. No identifier begins another, so the first that fits is the one."""
    for length in (2, 3, 4):
        if found := IDENTIFIERS.get(text[:length]):
            return found
    return None
