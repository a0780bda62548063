"""Is this job file whole and unchanged, and if not, which entry is the first that does not fit, and how.

This reads the file on its own: plain sqlite3 and hashlib on the bytes as they stand, and the hashed text built by
joining them (see JOBFILE.md, "By hand"), not by the package that the writer uses. Of the format it shares only the text
of the tables. Rows: `stored_rows`; clips: `clip_check`; signatures: `signature_check`. A third way to the same answer, for
a machine without this program, is `check_job`.

What a chain cannot show: entries cut from the end (with their clips), entries added at the end by someone who knows the
format, and a file rewritten whole. A signature shows those up to where it stands, as long as its key is the signer's; the
copy that the shop keeps, or the last hash written down elsewhere, shows the rest. The verdict gives that hash.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from pathlib import Path

from assistant.core.problems import JobFileBroken
from assistant.files.clip_check import Clips, clip_fault, clips_in, extra_clip, forgotten_by
from assistant.files.opening import UNREADABLE, connect_to_read, lacks
from assistant.files.schema import rules_in, rules_of
from assistant.files.signature_check import demand_fault, signature_beyond, signature_fault, signed_in
from assistant.files.stored_rows import FIRST_PREVIOUS, Row, SignatureRow, entry_rows, signature_rows
from assistant.files.verdict import Fault, Signed, Verdict

TAKEN_AWAY = "this file was copied while the job was open, without its -wal file: the newest entries may be missing"


def verify(path: Path, known: Mapping[str, str] | None = None, key: str = "") -> Verdict:
    """Read the whole file and say whether everything fits.

    `known` names public keys (64 hex digits -> name); with `key` the file must be signed with that one. Raises CallProblem
    where there is nothing to check: no such file, no job file, a newer version.
    """
    taken_away = lacks(path, "-wal")
    try:
        with closing(connect_to_read(path)) as connection:
            connection.text_factory = bytes
            verdict = _verdict(str(path), connection, known or {}, key)
    except JobFileBroken as fault:
        return Verdict(str(path), 0, 0, "", Fault(0, "damaged", fault.what))
    return replace(verdict, notes=(*verdict.notes, TAKEN_AWAY)) if taken_away else verdict


def _verdict(file: str, connection: sqlite3.Connection, known: Mapping[str, str], key: str) -> Verdict:
    rows, cut = entry_rows(connection)
    signatures, signatures_cut = signature_rows(connection)
    clips = clips_in(connection)
    fault = _first_misfit(rows, clips, signatures, whole=not (cut or clips.cut or signatures_cut))
    if fault is None and cut:
        fault = Fault(len(rows) + 1, "damaged", cut)
    if fault is None and (clips.cut or signatures_cut):
        fault = Fault(0, "damaged", clips.cut or signatures_cut)
    fault = fault or _file_fault(connection)
    signed = signed_in(rows, known) if fault is None else ()
    if fault is None and key:
        fault = demand_fault(signed, key)
    good = rows if fault is None else [row for row in rows if row.sequence < fault.sequence]
    head = good[-1].hash.decode() if good else ""
    notes = (*_clock_notes(good), *(_kept_notes(rows, clips, signed) if fault is None else ()))
    return Verdict(file, len(rows), len(clips.troubles), head, fault, notes, signed)


def _first_misfit(
    rows: Sequence[Row], clips: Clips, signatures: Sequence[SignatureRow], *, whole: bool
) -> Fault | None:
    """Walk the chain. Where not the `whole` file could be read only the entries are looked at."""
    forgotten, by_entry = forgotten_by(rows), {signature.entry: signature for signature in signatures}
    for index, row in enumerate(rows):
        fault = _misfit(rows, index)
        if fault is None and whole:
            fault = clip_fault(row, clips, forgotten) or signature_fault(row, by_entry.get(row.sequence))
        if fault:
            return fault
    return (signature_beyond(len(rows), signatures) or extra_clip(rows, clips, forgotten)) if whole else None


def _misfit(rows: Sequence[Row], index: int) -> Fault | None:
    row, number = rows[index], index + 1
    before = rows[index - 1].hash if index else FIRST_PREVIOUS
    if row.sequence < number:
        return Fault(row.sequence, "added", "entries are numbered from 1")
    if row.sequence > number:
        return Fault(number, "removed", f"after entry {index} comes entry {row.sequence}")
    if not row.fits():
        return _moved(rows, index) or Fault(number, "changed", _both(row.hash, row.worked_out(number)))
    if row.previous == before:
        return None
    if index == 0:
        return Fault(1, "removed", f"it was written after an entry that is gone, of hash {row.previous.decode()}")
    says = f"entry {number} was written after one of hash {row.previous.decode()}; this one has {before.decode()}"
    return Fault(index, "changed", f"changed, or another in its place, with its hash made anew: {says}")


def _moved(rows: Sequence[Row], index: int) -> Fault | None:
    """The row at `index` does not fit there. If it fits another number it was moved: say how."""
    row, number = rows[index], index + 1
    came_from = next((k for k in range(1, 2 * len(rows) + 2) if row.worked_out(k) == row.hash), None)
    if came_from is None:
        return None
    if came_from < number and _is_shift(rows, index, came_from - number):
        return Fault(came_from, "added", f"entry {number} stood at {came_from} before")
    if came_from > number and _is_shift(rows, index, came_from - number):
        return Fault(number, "removed", f"the entry that stands here now stood at {came_from}")
    return Fault(number, "reordered", f"it stood at {came_from}")


def _is_shift(rows: Sequence[Row], index: int, by: int) -> bool:
    """Every row from `index` on was moved by so much: one was put in or taken out, and the rest renumbered."""
    return all(row.worked_out(row.sequence + by) == row.hash for row in rows[index:])


def _file_fault(connection: sqlite3.Connection) -> Fault | None:
    """The tables and triggers are those of the file's version, and SQLite finds no damage elsewhere."""
    try:
        [version] = connection.execute("PRAGMA user_version").fetchone()
        has = rules_in(connection)
        [[found]] = connection.execute("PRAGMA integrity_check(1)").fetchall()
    except UNREADABLE as trouble:
        return Fault(0, "damaged", f"it cannot be read: {trouble}")
    should_have = {tuple(_as_bytes(part) for part in rule) for rule in rules_of(version)}
    for rule in sorted(has ^ should_have, key=repr):
        missing = "missing" if rule in should_have else "not of the format"
        named = b" ".join(part for part in rule[:2] if isinstance(part, bytes))
        return Fault(0, "rules changed", f"{missing}: {named.decode('utf-8', 'replace')}")
    return None if found == b"ok" else Fault(0, "damaged", found.decode("utf-8", "replace"))


def _as_bytes(part: object) -> object:
    return part.encode() if isinstance(part, str) else part


def _kept_notes(rows: Sequence[Row], clips: Clips, signed: Sequence[Signed]) -> tuple[str, ...]:
    """What is no fault, and should be known: sound that is gone, entries that no signature covers."""
    notes = []
    gone = {row.clip for row in rows if row.clip} - set(clips.troubles)
    if gone:
        notes.append(f"the sound of {len(gone)} clips was forgotten; what they were heard as stands in the entries")
    if signed and signed[-1].entry < len(rows):
        notes.append(
            f"entries {signed[-1].entry + 1} to {len(rows)} came after the last signature, which does not cover them"
        )
    return tuple(notes)


def _clock_notes(rows: Sequence[Row]) -> tuple[str, ...]:
    notes = []
    for before, row in pairwise(rows):
        earlier, later = _time(before), _time(row)
        if later is None:
            notes.append(f"entry {row.sequence}: there is no such time as {row.at.decode()}")
        elif earlier is not None and later < earlier:
            by_s = (earlier - later).total_seconds()
            notes.append(f"entry {row.sequence}: the clock went back by {by_s:.3f} s")
    return tuple(notes)


def _time(row: Row) -> datetime | None:
    """None for one that has the form of a time and is none, such as the 30th of February."""
    try:
        return datetime.fromisoformat(row.at.decode())
    except ValueError:
        return None


def _both(stored: bytes, worked_out: bytes) -> str:
    return f"its hash is {stored.decode('ascii', 'replace')}, it should be {worked_out.decode()}"
