"""Damaging copies of a job file in every way that can be thought of, to see what checks it find.

`fault_damage` does this many times, and looks whether `layup verify` and the plain check of the bundle come to the same
answer (`compared`). Damage is by the file's bytes (bits, runs of
zeros, cuts, pages in another's place), by SQL behind the triggers, and by somebody who knows the format and makes hashes anew.
"""

from __future__ import annotations

import json
import random
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from assistant.core.problems import LayupProblem
from assistant.files import check_job
from assistant.files.chain import Link, canonical
from assistant.files.opening import UNREADABLE
from assistant.files.verify import verify

Rows = dict[tuple[str, object], tuple[object, ...]]
"""Rows by their table and first column, which is the key of each."""

PAGE = 512
"""The smallest page that SQLite has, in bytes."""


def make_small(path: Path) -> None:
    """Write a closed job file anew in small pages, so that every byte of it can be tried."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(f"PRAGMA page_size={PAGE}")
        connection.execute("VACUUM")


def tamper(path: Path, script: str) -> None:
    """Do this with the triggers out of the way, and put them back as they were."""
    with closing(sqlite3.connect(path)) as connection:
        triggers = dict(connection.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"))
        drop = "PRAGMA synchronous=OFF;" + "".join(f"DROP TRIGGER {name};" for name in triggers)
        connection.executescript(drop + script + "".join(f"{sql};" for sql in triggers.values()))


def make_hash_anew(path: Path, sequence: int, **changes: str) -> None:
    """Change an entry and give it a hash that fits, as someone would who knows the format."""
    with closing(sqlite3.connect(path)) as connection:
        connection.row_factory = sqlite3.Row
        row = dict(connection.execute("SELECT * FROM entry WHERE sequence = ?", (sequence,)).fetchone()) | changes
    link = Link(**{k: json.loads(v) if k == "body" else v for k, v in row.items() if k != "hash"})
    body = canonical(link.body).decode().replace("'", "''")
    tamper(
        path,
        f"UPDATE entry SET at = '{link.at}', clip = '{link.clip}', body = '{body}', previous = '{link.previous}', "
        f"hash = '{link.sha256()}' WHERE sequence = {sequence};",
    )


def make_chain_anew(path: Path, sequence: int, **changes: str) -> None:
    """The same, and every entry after it made to follow: the chain fits again, from end to end."""
    make_hash_anew(path, sequence, **changes)
    with closing(sqlite3.connect(path)) as connection:
        [last] = connection.execute("SELECT max(sequence) FROM entry").fetchone()
    for number in range(sequence + 1, last + 1):
        with closing(sqlite3.connect(path)) as connection:
            [before] = connection.execute("SELECT hash FROM entry WHERE sequence = ?", (number - 1,)).fetchone()
        make_hash_anew(path, number, previous=before)


def content(path: Path) -> Rows:
    """All entries, clips and signatures, as any reader of SQLite files has them."""
    with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as connection:
        tables = ("entry", "clip", "signature")
        return {(table, row[0]): row for table in tables for row in connection.execute(f"SELECT * FROM {table}")}


@dataclass(frozen=True)
class Compared:
    """What the two checks say of one file: "whole", "entry 3: changed", "nothing to check"; SQLite's own words left out."""

    ours: str
    plain: str

    @property
    def agree(self) -> bool:
        """The same answer; where SQLite cannot read on, the two may stop in different places."""
        unread = "damaged" in self.ours or "damaged" in self.plain
        return self.ours == self.plain or (unread and "whole" not in (self.ours, self.plain))


def compared(path: Path, key: str = "") -> Compared:
    """Check a file both ways; with `key` (64 hex digits) it must be signed with that one."""
    try:
        fault = verify(path, key=key).fault
        place = "the file" if fault is None or not fault.sequence else f"entry {fault.sequence}"
        ours = "whole" if fault is None else f"{place}: {fault.how}"
    except LayupProblem:
        ours = "nothing to check"
    try:
        misfit, _ = check_job.check(path, key)
        plain = "whole" if misfit is None else str(misfit).split(" (")[0]
    except check_job.Nothing:
        plain = "nothing to check"
    return Compared(ours, plain)


def damage(source: Path, target: Path, chance: random.Random) -> str:
    """Make `target` a damaged copy of the closed job `source`; what was done. The same chance does the same."""
    shutil.copyfile(source, target)
    way = chance.choice(WAYS)
    try:
        way(target, chance)
    except UNREADABLE:  # a second damage may find the file past SQL
        return f"{way.__name__}, as far as it went"
    return way.__name__


def bits_flipped(path: Path, chance: random.Random) -> None:
    """One to three bits."""
    data = bytearray(path.read_bytes())
    for _ in range(chance.randint(1, 3)):
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
    path.write_bytes(data)


def bytes_lost(path: Path, chance: random.Random) -> None:
    """A run of zeros, as a bad block reads."""
    data = path.read_bytes()
    start, length = chance.randrange(len(data)), chance.choice((1, 16, 512))
    path.write_bytes((data[:start] + bytes(length) + data[start + length :])[: len(data)])


def end_lost(path: Path, chance: random.Random) -> None:
    """The file is cut."""
    data = path.read_bytes()
    path.write_bytes(data[: chance.randrange(len(data))])


def pages_changed_places(path: Path, chance: random.Random) -> None:
    """Two pages, each in the other's place."""
    data = path.read_bytes()
    size = int.from_bytes(data[16:18], "big")
    pages = [data[start : start + size] for start in range(0, len(data), size)]
    one, other = chance.randrange(len(pages)), chance.randrange(len(pages))
    pages[one], pages[other] = pages[other], pages[one]
    path.write_bytes(b"".join(pages))


def row_changed(path: Path, chance: random.Random) -> None:
    """One column of one row gets another value, or that of another row."""
    table, key, columns = chance.choice((
        ("entry", "sequence", ("at", "kind", "version", "body", "clip", "previous", "hash")),
        ("clip", "rowid", ("sha256", "kind", "media_type", "samples", "data")),
        ("signature", "entry", ("entry", "hash", "key", "signature")),
    ))  # fmt: skip
    column = chance.choice(columns)
    with closing(sqlite3.connect(path)) as connection:
        keys = [found for [found] in connection.execute(f"SELECT {key} FROM {table} ORDER BY {key}")]
    if not keys:
        return
    row, other = chance.choice(keys), chance.choice(keys)
    value = chance.choice((f"(SELECT {column} FROM {table} WHERE {key} = {other})", "1", "'0'", "x'00'", "'{}'"))
    tamper(path, f"UPDATE OR IGNORE {table} SET {column} = {value} WHERE {key} = {row};")


def row_removed(path: Path, chance: random.Random) -> None:
    """One row goes; of an entry the rest may close up."""
    table, key = chance.choice((("entry", "sequence"), ("clip", "rowid"), ("signature", "entry")))
    script = f"DELETE FROM {table} WHERE {key} = (SELECT {key} FROM {table} LIMIT 1 OFFSET {chance.randrange(9)});"
    if table == "entry" and chance.random() < 0.5:
        number = chance.randint(1, 9)
        script = f"DELETE FROM entry WHERE sequence = {number};" + _renumbered(f"sequence > {number}", "- 1")
    tamper(path, script)


def entries_moved(path: Path, chance: random.Random) -> None:
    """Two entries change places, or one is put in twice."""
    one, other = chance.sample(range(1, 10), 2)
    swapped = (
        f"UPDATE entry SET sequence = -1 WHERE sequence = {one}; UPDATE entry SET sequence = {one} WHERE sequence = "
        f"{other}; UPDATE entry SET sequence = {other} WHERE sequence = -1;"
    )
    twice = (
        _renumbered(f"sequence >= {one}", "+ 1")
        + "INSERT OR IGNORE INTO entry SELECT "
        + f"{one}, at, kind, version, body, clip, previous, hash FROM entry WHERE sequence = {other};"
    )
    tamper(path, chance.choice((swapped, twice)))


def end_cut(path: Path, chance: random.Random) -> None:
    """Entries are cut from the end, with their clips; perhaps the signature too."""
    script = f"DELETE FROM entry WHERE sequence > {chance.randint(0, 9)};"
    script += "DELETE FROM clip WHERE sha256 NOT IN (SELECT clip FROM entry);"
    script += chance.choice(("", "DELETE FROM signature WHERE entry NOT IN (SELECT sequence FROM entry);"))
    tamper(path, script)


def made_to_fit(path: Path, chance: random.Random) -> None:
    """An entry is changed by somebody who knows the format: its hash alone, or all that follow."""
    sequence = chance.randint(1, 9)
    make = chance.choice((make_hash_anew, make_chain_anew))
    make(path, sequence, at=f"2026-10-14T09:59:{chance.randrange(60):02d}.000Z")


def rules_taken_out(path: Path, chance: random.Random) -> None:
    """A trigger goes, or a table is added."""
    with closing(sqlite3.connect(path)) as connection:
        names = [
            name for [name] in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger' ORDER BY 1")
        ]
        connection.execute(chance.choice((f"DROP TRIGGER {chance.choice(names)}", "CREATE TABLE other (x)")))


def nothing(_path: Path, _chance: random.Random) -> None:
    """Untouched: both must find it whole."""


WAYS: tuple[Callable[[Path, random.Random], None], ...] = (
    bits_flipped, bytes_lost, end_lost, pages_changed_places, row_changed, row_changed, row_removed, entries_moved,
    end_cut, made_to_fit, rules_taken_out, nothing,
)  # fmt: skip
"""The ways to damage a file; the one with most cases twice."""


def _renumbered(which: str, by: str) -> str:
    """Entries get other numbers, by way of negative ones so that none is there twice."""
    up = f"UPDATE entry SET sequence = -sequence WHERE {which};"
    return up + f"UPDATE entry SET sequence = -sequence {by} WHERE sequence < 0;"
