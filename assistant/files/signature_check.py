"""Do a job file's signatures fit its entries: whose they are, and what was done after signing.

An entry of kind `job signed` says who answers with which key; a row beside it holds the signature over that entry's hash,
and so over all before it. Either without the other shows (JOBFILE.md, "Signing", says why it is so).
"""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Mapping, Sequence

from assistant.files.keys import signature_fits, signed_text
from assistant.files.stored_rows import Row, SignatureRow, rows_signed, signature_rows
from assistant.files.verdict import Fault, Signed

SIGNED = b"job signed"
HEX_64 = re.compile(r"[0-9a-f]{64}")
SIGNATURE = re.compile(r"[0-9a-f]{128}")


def signatures_in(connection: sqlite3.Connection, entries: int) -> tuple[tuple[Signed, ...], Fault | None]:
    """The signatures of a file whose chain of so many `entries` fits, and what is wrong with the first that does not fit: then
    none of them counts. As `verify` finds it, without a second look at all else. `connection` gives texts as bytes."""
    signatures, cut = signature_rows(connection)
    rows, rows_cut = rows_signed(connection, signatures)
    if cut or rows_cut:
        return (), Fault(0, "damaged", cut or rows_cut)
    by_entry = {signature.entry: signature for signature in signatures}
    faults = (signature_fault(row, by_entry.get(row.sequence)) for row in rows)
    fault = next(filter(None, faults), None) or signature_beyond(entries, signatures)
    return (signed_in(rows, {}) if fault is None else ()), fault


def signature_fault(row: Row, signature: SignatureRow | None) -> Fault | None:
    """Does the signature that stands at this entry fit it. The entry itself fits, and so do all before it."""
    if row.kind != SIGNED:
        says = "a signature stands at an entry that says nothing of signing"
        return Fault(row.sequence, "signature changed", says) if signature else None
    if signature is None:
        return Fault(row.sequence, "signature missing", "the entry says that it was signed, and its signature is gone")
    sha256, key, text = (
        part.decode("ascii", "replace") for part in (signature.hash, signature.key, signature.signature)
    )
    formed = HEX_64.fullmatch(sha256) and HEX_64.fullmatch(key) and SIGNATURE.fullmatch(text)
    if not formed or not signature_fits(key, signed_text(sha256), text):
        return Fault(row.sequence, "signature changed", f"the signature is not that of key {key} over hash {sha256}")
    named = json.loads(row.body).get("key")
    if key != named:
        says = f"the entry names key {named}, and the signature is of key {key}"
        return Fault(row.sequence, "signature of another key", says)
    if signature.hash != row.hash:
        says = (
            f"what was signed had hash {sha256}, now it has {row.hash.decode()}: something up to here is not as signed"
        )
        return Fault(row.sequence, "changed", says)
    return None


def signature_beyond(entries: int, signatures: Sequence[SignatureRow]) -> Fault | None:
    """A signature at an entry that is not there: the entries were cut after it was given."""
    for signature in signatures:
        if signature.entry < 1:
            return Fault(0, "signature changed", f"a signature names entry {signature.entry}")
        if signature.entry > entries:
            says = f"entry {signature.entry} was signed, and the entries end with {entries}"
            return Fault(entries + 1, "cut short after signing", says)
    return None


def demand_fault(signed: Sequence[Signed], key: str) -> Fault | None:
    """Is the file signed with this public key, where that is asked for."""
    if not signed:
        return Fault(0, "not signed", f"no signature is in it, and one with key {key} was asked for")
    if all(one.key != key for one in signed):
        last = signed[-1]
        return Fault(last.entry, "signature of another key", f"it was signed with key {last.key}, not {key}")
    return None


def signed_in(rows: Sequence[Row], known: Mapping[str, str]) -> tuple[Signed, ...]:
    """The signatures of a file in which all of them fit. `known`: public key -> name."""
    found = []
    for row in rows:
        if row.kind == SIGNED:
            body = json.loads(row.body)
            key = str(body.get("key"))
            found.append(Signed(row.sequence, str(body.get("who")), key, known.get(key, "")))
    return tuple(found)
