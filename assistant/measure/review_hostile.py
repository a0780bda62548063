"""Job files as somebody might make them who means harm, with hashes that fit, and plain damage.

`hostile_file` makes one, the same for the same number: bodies of any kind with any types, tables that are views, clips that are
pages, entries that name one another in a ring. What the pages make of it is looked at by `review_fuzz`.
"""

from __future__ import annotations

import json
import random
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

from assistant.core import entries as e
from assistant.files.opening import UNREADABLE
from assistant.measure.job_damage import bits_flipped, bytes_lost, end_lost, pages_changed_places
from assistant.measure.review_bodies import any_body, any_drafts, any_text, bent_body
from assistant.measure.review_jobs import PICTURE, SOUND, Blob, Draft, chained, draft, small_entries, write_rows
from assistant.measure.review_texts import CLIPS, TIMES


def hostile_file(path: Path, chance: random.Random) -> str:
    """Make one; in a few words, how."""
    way = chance.choice(WAYS)
    way(path, chance)
    return way.__name__


def whole_with_hostile_texts(path: Path, chance: random.Random) -> None:
    """Every entry as the format has it; what stands in them is not."""
    drafts = [
        one
        for one in any_drafts(chance)
        if "\\ud8" not in one.body and "\\udf" not in one.body and len(one.body) < 500_000
    ]
    write_rows(path, _chained(drafts), [SOUND.row, PICTURE.row])


def some_wrong_types(path: Path, chance: random.Random) -> None:
    """One entry's body of other types, and its hash made to fit."""
    drafts = any_drafts(chance)
    at = chance.randrange(len(drafts))
    one = drafts[at]
    body = bent_body(any_body(e.KINDS[one.kind], chance), chance)
    odd = chance.choice((one.kind, one.kind, any_text(chance).replace("\ud800", "?").replace("\udfff", "?")))
    drafts[at] = one._replace(body=body, kind=odd, version=chance.choice((one.version, one.version, 0, -1, 1, 99)))
    write_rows(path, _chained(drafts), [SOUND.row])


def times_and_clips_that_are_none(path: Path, chance: random.Random) -> None:
    """A time that is no time, or a clip's name that is no hash, in a chain that fits."""
    drafts = [draft(one) for one in small_entries(chance, 7)]
    at = chance.randrange(len(drafts))
    if chance.random() < 0.5:
        drafts[at] = drafts[at]._replace(at=chance.choice(TIMES) or "x")
    else:
        drafts[at] = drafts[at]._replace(
            clip=chance.choice(('"><script>', "../../x", "0" * 63, "A" * 64, "javascript:x"))
        )
    write_rows(path, _chained(drafts), [SOUND.row])


def clips_that_are_pages(path: Path, chance: random.Random) -> None:
    """Clips of other kinds than sound and picture, or under a name that is not theirs."""
    blobs = [
        Blob(chance.choice(CLIPS), any_plain(chance), chance.choice(("text/html", "image/svg+xml", "audio/flac")))
        for _ in range(4)
    ]
    rows = [list(blob.row) for blob in blobs]
    if chance.random() < 0.3:
        rows[0][0] = chance.choice(("0" * 64, "x", any_plain(chance)))
    entries = small_entries(chance, 3)
    named = [str(row[0]) for row in rows]
    drafts = [draft(one, chance.choice(named) if chance.random() < 0.7 else "") for one in entries]
    write_rows(path, _chained(drafts), rows)


def any_plain(chance: random.Random) -> str:
    """A hostile text that SQLite takes."""
    return any_text(chance).encode("utf-8", "replace").decode()


def other_column_types(path: Path, chance: random.Random) -> None:
    """Numbers, bytes and nothing where texts should stand: written before the table's rule was put back in the schema."""
    rows: list[list[object]] = [list(row) for row in chained([draft(one) for one in small_entries(chance, 1)])]
    odd = chance.choice((None, 1, 1.5, b"bytes", b"\xff\xfe", "\x00", 2**62, -1))
    clip = list(SOUND.row)
    if chance.random() < 0.3:
        clip[chance.randrange(5)] = odd
    else:
        rows[chance.randrange(len(rows))][chance.randrange(8)] = odd
    write_rows(path, [], [])
    with closing(sqlite3.connect(path, isolation_level=None)) as connection, suppress(sqlite3.Error):
        rules = connection.execute("SELECT type, name, tbl_name, rootpage, sql FROM sqlite_schema").fetchall()
        connection.execute("PRAGMA writable_schema=ON")
        connection.execute("DELETE FROM sqlite_schema WHERE type = 'trigger'")
        for table in ("entry", "clip"):
            [sql] = next(rule[4:] for rule in rules if rule[1] == table)
            loose = (
                sql.replace(" TEXT", "")
                .replace(" INTEGER", "")
                .replace(" BLOB", "")
                .replace(" NOT NULL", "")
                .replace("STRICT", "")
            )
            connection.execute("UPDATE sqlite_schema SET sql = ? WHERE name = ?", (loose, table))
    with closing(sqlite3.connect(path, isolation_level=None)) as connection, suppress(sqlite3.Error):
        for row in rows:
            with suppress(sqlite3.Error):
                connection.execute("INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?, ?, ?)", row)
        connection.execute("INSERT INTO clip VALUES (?, ?, ?, ?, ?)", clip)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection, suppress(sqlite3.Error):
        connection.execute("PRAGMA writable_schema=ON")
        connection.execute("DELETE FROM sqlite_schema")
        connection.executemany("INSERT INTO sqlite_schema VALUES (?, ?, ?, ?, ?)", rules)


RULES = (
    "CREATE VIEW more AS SELECT 1",
    "CREATE TRIGGER also AFTER INSERT ON entry BEGIN DELETE FROM signature; END",
    "DROP TABLE clip; CREATE VIEW clip AS SELECT hex(randomblob(1000000)) AS sha256, 'sound' AS kind, '' AS media_type, "
    "1 AS samples, 'x' AS data",
    "ALTER TABLE entry RENAME TO kept; CREATE VIEW entry AS WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) "
    "SELECT x AS sequence, '' AS at, '' AS kind, 1 AS version, '{}' AS body, '' AS clip, '' AS previous, '' AS hash FROM n",
    "CREATE INDEX slow ON entry (length(hex(zeroblob(1000))))",
    "DROP TRIGGER clip_is_never_changed",
    "PRAGMA user_version=1",
    "PRAGMA user_version=3",
    "PRAGMA user_version=-5",
    "PRAGMA application_id=7",
    "PRAGMA journal_mode=WAL",
)
"""What makes its tables others than those of a job file, or says that it is something else."""


def tables_that_are_views(path: Path, chance: random.Random) -> None:
    """Views, triggers and tables of somebody's own."""
    write_rows(path, chained([draft(one) for one in small_entries(chance, 5)]))
    sql = chance.choice(RULES)
    with closing(sqlite3.connect(path)) as connection, suppress(sqlite3.Error):
        connection.executescript(sql)
        connection.commit()


def gaps_and_loops(path: Path, chance: random.Random) -> None:
    """Sequences with gaps; entries that name one another in a ring, themselves, later ones, or none."""
    drafts = [draft(one) for one in small_entries(chance, 9)]
    kinds = (e.ReadingKept, e.QuestionAnswered, e.QuestionAsked, e.FindingDecided, e.EntryUpheld)
    for number in range(len(drafts) + 1, len(drafts) + 1 + chance.choice((3, 30))):
        kind = chance.choice(kinds)
        body = any_body(kind, random.Random(3)) | {"step": "survey_1", "at": "", "name": "pressure_1_1"}
        body = {name: body[name] for name in any_body(kind, chance)}
        for name in ("replaces", "question", "about", "finding", "entry"):
            if isinstance(body.get(name), int):
                body[name] = chance.choice((number, number + 1, number - 1, 0, 1, chance.randrange(1, 40), -7, 99_999))
        drafts.append(Draft(kind.kind, kind.version, json.dumps(body)))
    rows = [tuple(row) for row in _chained(drafts)]
    write_rows(path, rows)
    if chance.random() < 0.5:
        with closing(sqlite3.connect(path)) as connection:
            for name in ("entry_is_never_changed", "entry_is_never_removed"):
                [sql] = connection.execute("SELECT sql FROM sqlite_schema WHERE name = ?", (name,)).fetchone()
                connection.execute(f"DROP TRIGGER {name}")
                with suppress(sqlite3.Error):
                    connection.execute(chance.choice((
                        "UPDATE entry SET sequence = sequence + 5 WHERE sequence > 3", "DELETE FROM entry WHERE sequence = 2",
                        "UPDATE entry SET sequence = -sequence",
                        "UPDATE entry SET sequence = 9223372036854775807 WHERE sequence = 3",
                    )))  # fmt: skip
                connection.execute(sql)
            connection.commit()


def many_of_one(path: Path, chance: random.Random) -> None:
    """Thousands of entries about one, as many as the pages take."""
    kind = chance.choice(
        (e.ReadingKept, e.QuestionAsked, e.EntryUpheld, e.RemarkKept, e.StepOpened, e.StepUnable, e.PartScanned)
    )
    one = any_body(kind, random.Random(chance.randrange(3)))
    for name in ("about", "entry", "replaces"):
        if name in one:
            one[name] = 2
    one = {name: _short(value) for name, value in one.items()}
    many = 3000 if chance.random() < 0.1 else 200
    body = json.dumps(one)
    write_rows(
        path,
        _chained([draft(entry) for entry in small_entries(chance, 2)] + [Draft(kind.kind, kind.version, body)] * many),
    )


def _short(value: Any) -> Any:
    """A text cut, a list too, and what is in it."""
    if isinstance(value, str):
        return value[:200]
    if isinstance(value, dict):
        return {name: _short(one) for name, one in value.items()}
    return [_short(one) for one in value[:3]] if isinstance(value, list) else value


def damaged(path: Path, chance: random.Random) -> None:
    """Bits flipped, pages lost or moved, the end cut, of a small job in small pages."""
    write_rows(path, chained([draft(one, SOUND.row[0]) for one in small_entries(chance, 4)]), [SOUND.row])
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA page_size=512")
        connection.execute("VACUUM")
    for _ in range(chance.choice((1, 1, 3))):
        with suppress(*UNREADABLE, ValueError, IndexError):
            chance.choice((bits_flipped, bytes_lost, end_lost, pages_changed_places))(path, chance)


def something_else(path: Path, chance: random.Random) -> None:
    """No job file at all."""
    path.write_bytes(
        chance.choice(
            (b"", b"SQLite format 3\x00", chance.randbytes(5000), b"<html><script>alert(1)</script>", b"\0" * 9000)
        )
    )


def _chained(drafts: list[Draft]) -> list[tuple[object, ...]]:
    """Rows; a text that UTF-8 has no form for stands in JSON as an escape, anywhere else as a question mark."""
    return [tuple(row) for row in chained([Draft(*(_plain(part) for part in one)) for one in drafts])]


def _plain(part: Any) -> Any:
    return part.encode("utf-8", "replace").decode() if isinstance(part, str) else part


WAYS: tuple[Callable[[Path, random.Random], None], ...] = (
    *[whole_with_hostile_texts] * 6, *[some_wrong_types] * 3, times_and_clips_that_are_none, clips_that_are_pages,
    other_column_types,
    tables_that_are_views, gaps_and_loops, gaps_and_loops, many_of_one, damaged, damaged, something_else,
)  # fmt: skip
