"""The tables and triggers of a job file, version by version, and how an older file becomes a newer one.

Only triggers and tables change between versions, never a row: what was hashed stays as it was.
"""

from __future__ import annotations

import sqlite3
from functools import cache

from assistant.files.chain import NOTHING_BEFORE

APPLICATION_ID = 0x4C617955
"""Bytes 68 to 71 of the file: "LayU"."""

VERSION = 2
"""The format's version, in SQLite's user_version. A newer file is refused; an older one is read as it is, and upgraded when
something is added to it."""

_COMMON = (
    """CREATE TABLE entry (
    sequence INTEGER PRIMARY KEY,
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    version INTEGER NOT NULL,
    body TEXT NOT NULL,
    clip TEXT NOT NULL,
    previous TEXT NOT NULL,
    hash TEXT NOT NULL
) STRICT""",
    """CREATE TABLE clip (
    sha256 TEXT PRIMARY KEY,
    kind TEXT NOT NULL,
    media_type TEXT NOT NULL,
    samples INTEGER NOT NULL,
    data BLOB NOT NULL
) STRICT""",
    """CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry BEGIN
    SELECT RAISE(ABORT, 'an entry is never changed: a correction is a new entry');
END""",
    """CREATE TRIGGER entry_is_never_removed BEFORE DELETE ON entry BEGIN
    SELECT RAISE(ABORT, 'an entry is never removed');
END""",
    # INSERT OR REPLACE deletes without firing delete triggers: refused here.
    f"""CREATE TRIGGER entry_is_added_at_the_end BEFORE INSERT ON entry
WHEN NEW.sequence IS NOT (SELECT coalesce(max(sequence), 0) + 1 FROM entry)
    OR NEW.previous IS NOT coalesce((SELECT hash FROM entry ORDER BY sequence DESC LIMIT 1), '{NOTHING_BEFORE}') BEGIN
    SELECT RAISE(ABORT, 'an entry is only added at the end');
END""",
    """CREATE TRIGGER clip_is_never_changed BEFORE UPDATE ON clip BEGIN
    SELECT RAISE(ABORT, 'a clip is never changed');
END""",
    """CREATE TRIGGER clip_is_never_replaced BEFORE INSERT ON clip
WHEN EXISTS (SELECT 1 FROM clip WHERE sha256 = NEW.sha256) BEGIN
    SELECT RAISE(ABORT, 'a clip is never replaced');
END""",
)

_CLIP_STAYS = """CREATE TRIGGER clip_is_never_removed BEFORE DELETE ON clip BEGIN
    SELECT RAISE(ABORT, 'a clip is never removed');
END"""

_SINCE_2 = (
    """CREATE TRIGGER clip_is_only_forgotten BEFORE DELETE ON clip
WHEN OLD.kind IS NOT 'sound' OR NOT EXISTS (
    SELECT 1 FROM entry WHERE kind = 'sound forgotten' AND instr(body, '"' || OLD.sha256 || '"')
) BEGIN
    SELECT RAISE(ABORT, 'a clip is never removed, unless an entry says that its sound is forgotten');
END""",
    """CREATE TABLE signature (
    entry INTEGER PRIMARY KEY,
    hash TEXT NOT NULL,
    key TEXT NOT NULL,
    signature TEXT NOT NULL
) STRICT""",
    """CREATE TRIGGER signature_is_never_changed BEFORE UPDATE ON signature BEGIN
    SELECT RAISE(ABORT, 'a signature is never changed');
END""",
    """CREATE TRIGGER signature_is_never_removed BEFORE DELETE ON signature BEGIN
    SELECT RAISE(ABORT, 'a signature is never removed');
END""",
    """CREATE TRIGGER signature_is_of_the_last_entry BEFORE INSERT ON signature
WHEN EXISTS (SELECT 1 FROM signature WHERE entry = NEW.entry) OR NOT EXISTS (
    SELECT 1 FROM entry WHERE sequence = NEW.entry AND kind = 'job signed' AND hash = NEW.hash
        AND sequence = (SELECT max(sequence) FROM entry)
) BEGIN
    SELECT RAISE(ABORT, 'a signature belongs to the last entry, a job signed');
END""",
)

SCHEMAS: dict[int, tuple[str, ...]] = {1: (*_COMMON, _CLIP_STAYS), 2: (*_COMMON, *_SINCE_2)}
"""What stands in sqlite_schema, by version."""

UPGRADES: dict[int, tuple[str, ...]] = {1: ("DROP TRIGGER clip_is_never_removed", *_SINCE_2)}
"""What makes a file of that version one of the next."""

_RULES = "SELECT type, name, tbl_name, sql FROM sqlite_schema"
Rule = tuple[object, ...]


def rules_in(connection: sqlite3.Connection) -> set[Rule]:
    """The tables, triggers and indexes that a file has."""
    return set(connection.execute(_RULES))


@cache
def rules_of(version: int) -> frozenset[Rule]:
    """Those that a file of that version is made with; texts as text."""
    fresh = sqlite3.connect(":memory:")
    try:
        for statement in SCHEMAS[version]:
            fresh.execute(statement)
        return frozenset(rules_in(fresh))
    finally:
        fresh.close()


def fill(connection: sqlite3.Connection) -> None:
    """Make an empty database a job file. One transaction."""
    connection.execute("BEGIN EXCLUSIVE")
    connection.execute(f"PRAGMA application_id={APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version={VERSION}")
    for statement in SCHEMAS[VERSION]:
        connection.execute(statement)
    connection.execute("COMMIT")


def upgrade(connection: sqlite3.Connection) -> None:
    """Bring an older file to this version. One transaction a version; raises ValueError where its rules are not its version's.

    Such a file was changed by somebody: putting its triggers right would hide that.
    """
    [version] = connection.execute("PRAGMA user_version").fetchone()
    for old in range(version, VERSION):
        connection.execute("BEGIN EXCLUSIVE")
        try:
            if rules_in(connection) != rules_of(old):
                raise ValueError(f"its tables and triggers are not those of version {old}")
            for statement in UPGRADES[old]:
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version={old + 1}")
            connection.execute("COMMIT")
        finally:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
