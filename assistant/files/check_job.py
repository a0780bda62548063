"""Check a job file on a machine without the program: this one file and Python 3.10 or newer, nothing else.

    python3 check_job.py 1234.job                        is the file whole, and who signed it
    python3 check_job.py 1234.job --key "Ada Lind.pem"   and was it signed with this key, which you have from elsewhere

Exit status: 0 whole; 1 not whole; 2 nothing to check. What is checked, and what such a check can't show, stands in the
format's page (JOBFILE.md). Written apart from the program's own `layup verify`, so that the one checks the other: hashes are
worked out from the parsed entries, and the signature (Ed25519, RFC 8032) in whole numbers, as the standard has it.
"""

from __future__ import annotations

import argparse
import base64
import hashlib
import json
import re
import sqlite3
import sys
from pathlib import Path
from typing import Any, NamedTuple

NEWEST = 2
APPLICATION = int.from_bytes(b"LayU", "big")
RULES = {
    1: "c609581f0300259d5e316bc47960a4c9221e29610ada77610734021901c5127b",
    2: "79c12c08ff17219427d3672531c7896180fc01fc7ef6020061acd91ebbcdc36a",
}
"""SHA-256 over the tables and triggers of each version of the format."""
FIELDS = "sequence, at, kind, version, body, clip, previous, hash"
FORMS = {
    "at": r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z",
    "kind": r"[a-z]+( [a-z]+)*",
    "clip": r"([0-9a-f]{64})?",
    "previous": r"[0-9a-f]{64}",
}
SIGNED_WORDS = b"layup job signature 1 "
P, ORDER = 2**255 - 19, 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, -1, P) % P
Point = tuple[int, int, int, int]
Row = dict[str, Any]


class Nothing(Exception):
    """There is nothing here that could be checked."""


class Misfit(NamedTuple):
    """The first thing that does not fit: the entry (0: the file as a whole), and how."""

    entry: int
    how: str

    def __str__(self) -> str:
        return f"entry {self.entry}: {self.how}" if self.entry else f"the file: {self.how}"


class Job(NamedTuple):
    """All rows of a file; texts as bytes."""

    version: int
    rows: list[Row]
    clips: dict[bytes, tuple[bytes, bytes, int, bytes]]
    signatures: dict[int, tuple[bytes, bytes, bytes]]


def check(path: Path, key: str = "") -> tuple[Misfit | None, list[str]]:
    """What does not fit (None: all fits), and lines about what does. Raises Nothing."""
    connection = _open(path)
    try:
        job = _read(connection)
        misfit = _walk(job) or _rest(connection, job)
    except (sqlite3.DatabaseError, UnicodeDecodeError, _Odd) as trouble:
        return Misfit(0, f"damaged ({trouble})"), []
    finally:
        connection.close()
    if misfit:
        return misfit, []
    signed = [(row["sequence"], json.loads(row["body"])) for row in job.rows if row["kind"] == b"job signed"]
    if key and all(body["key"] != key for _, body in signed):
        return (Misfit(signed[-1][0], "signature of another key") if signed else Misfit(0, "not signed")), []
    told = [f"entry {entry}: signed by {body['who']}, key {body['key']}" for entry, body in signed]
    last = job.rows[-1]["hash"].decode() if job.rows else "none"
    return None, [*told, f"{len(job.rows)} entries, {len(job.clips)} clips, last hash {last}"]


class _Odd(Exception):
    """A row that no SQLite file of this form has."""


def _open(path: Path) -> sqlite3.Connection:
    if not path.is_file():
        raise Nothing("there is no such file")
    beside = path.with_name(path.name + "-wal")
    if beside.exists() and beside.stat().st_size:
        raise Nothing(f"the job is open, or was cut off: its newest entries are in {beside.name}")
    connection = sqlite3.connect(path.resolve().as_uri() + "?mode=ro&immutable=1", uri=True)
    connection.text_factory = bytes
    try:
        connection.execute("PRAGMA trusted_schema=OFF")
        connection.execute("PRAGMA cell_size_check=ON")
        application, version = (
            connection.execute("PRAGMA " + name).fetchone()[0] for name in ("application_id", "user_version")
        )
    except sqlite3.DatabaseError as trouble:
        connection.close()
        raise Nothing(f"this is no job file ({trouble})") from trouble
    if application != APPLICATION or version < 1 or version > NEWEST:
        connection.close()
        raise Nothing(
            "this is no job file"
            if application != APPLICATION or version < 1
            else "its format is newer than this check"
        )
    return connection


def _read(connection: sqlite3.Connection) -> Job:
    [version] = connection.execute("PRAGMA user_version").fetchone()
    rows = [
        dict(zip(FIELDS.split(", "), row, strict=True))
        for row in connection.execute(f"SELECT {FIELDS} FROM entry ORDER BY 1")
    ]
    for row in rows:
        _typed(tuple(row.values()), "ibbibbbb")
    clips = [
        _typed(row, "bbbib")
        for row in connection.execute("SELECT sha256, kind, media_type, samples, data FROM clip NOT INDEXED")
    ]
    signatures = []
    if version > 1:
        signatures = [
            _typed(row, "ibbb")
            for row in connection.execute("SELECT entry, hash, key, signature FROM signature ORDER BY 1")
        ]
    return Job(version, rows, {row[0]: row[1:] for row in clips}, {row[0]: row[1:] for row in signatures})


def _typed(row: tuple[Any, ...], wanted: str) -> tuple[Any, ...]:
    if any(not isinstance(value, int if letter == "i" else bytes) for value, letter in zip(row, wanted, strict=True)):
        raise _Odd("a column does not hold what it should")
    return row


def _walk(job: Job) -> Misfit | None:
    """Entry by entry: its place, its hash, its clip, its signature."""
    forgotten = _forgotten(job.rows)
    head = b"0" * 64
    for number, row in enumerate(job.rows, 1):
        if row["sequence"] != number:
            return Misfit(row["sequence"], "added") if row["sequence"] < number else Misfit(number, "removed")
        if _hash(row, number) != row["hash"]:
            return _moved(job.rows, number)
        if row["previous"] != head:
            return Misfit(1, "removed") if number == 1 else Misfit(number - 1, "changed")
        head = row["hash"]
        how = _clip(row, job, forgotten) or _signature(row, job.signatures.get(number))
        if how:
            return Misfit(number, how)
    return None


def _rest(connection: sqlite3.Connection, job: Job) -> Misfit | None:
    """What belongs to no entry, and the file as a whole."""
    for entry in job.signatures:
        if not 1 <= entry <= len(job.rows):
            return Misfit(0, "signature changed") if entry < 1 else Misfit(len(job.rows) + 1, "cut short after signing")
    named, forgotten = {row["clip"]: row["sequence"] for row in job.rows}, _forgotten(job.rows)
    for name in job.clips:
        if name not in named:
            return Misfit(0, "clip added")
        if forgotten.get(name, 0) > named[name]:
            return Misfit(forgotten[name], "clip added")
    rules = sorted(b"|".join(str(part).encode() if not isinstance(part, bytes) else part for part in row)
                   for row in connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_schema"))  # fmt: skip
    if hashlib.sha256(b"\n".join(rules)).hexdigest() != RULES[job.version]:
        return Misfit(0, "rules changed")
    [[found]] = connection.execute("PRAGMA integrity_check(1)").fetchall()
    return None if found == b"ok" else Misfit(0, "damaged ({})".format(found.decode("utf-8", "replace")))


def _hash(row: Row, number: int) -> bytes:
    """The hash that the entry would have at that place; none where a field has not the one form that it may have."""
    try:
        texts = {name: row[name].decode("utf-8") for name in FORMS}
        body = json.loads(row["body"].decode("utf-8"), parse_float=_no_number, parse_constant=_no_number)
        if not all(re.fullmatch(form, texts[name], re.ASCII) for name, form in FORMS.items()) or not isinstance(
            body, dict
        ):
            return b""
        if _canonical(body).encode("utf-8") != row["body"]:
            return b""
        whole = _canonical({**texts, "body": body, "sequence": number, "version": row["version"]})
        return hashlib.sha256(whole.encode("utf-8")).hexdigest().encode()
    except (ValueError, RecursionError):
        return b""


def _no_number(text: str) -> None:
    raise ValueError(text)


def _canonical(value: Any) -> str:
    """RFC 8785: keys in order of UTF-16 code units, no spaces; there are no fractions in a job file."""
    if isinstance(value, dict):
        keys = sorted(value, key=lambda key: key.encode("utf-16-be"))
        return "{" + ",".join(json.dumps(key, ensure_ascii=False) + ":" + _canonical(value[key]) for key in keys) + "}"
    if isinstance(value, list):
        return "[" + ",".join(map(_canonical, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


def _moved(rows: list[Row], number: int) -> Misfit:
    """An entry that does not fit its place: does it fit another, and do all after it by as much."""
    row = rows[number - 1]
    came_from = next((k for k in range(1, 2 * len(rows) + 2) if _hash(row, k) == row["hash"]), 0)
    if not came_from:
        return Misfit(number, "changed")
    if all(_hash(later, later["sequence"] + came_from - number) == later["hash"] for later in rows[number - 1 :]):
        return Misfit(came_from, "added") if came_from < number else Misfit(number, "removed")
    return Misfit(number, "reordered")


def _forgotten(rows: list[Row]) -> dict[bytes, int]:
    """Clips that an entry says are forgotten -> the last such entry."""
    found: dict[bytes, int] = {}
    for row in rows:
        if row["kind"] == b"sound forgotten" and _hash(row, row["sequence"]) == row["hash"]:
            clips = json.loads(row["body"]).get("clips")
            found.update((str(name).encode(), row["sequence"]) for name in (clips if isinstance(clips, list) else []))
    return found


def _clip(row: Row, job: Job, forgotten: dict[bytes, int]) -> str:
    """How the clip of an entry does not fit, "" if it does."""
    if not row["clip"]:
        return ""
    if row["clip"] not in job.clips:
        return "" if forgotten.get(row["clip"], 0) > row["sequence"] else "clip missing"
    kind, media_type, samples, data = job.clips[row["clip"]]
    if hashlib.sha256(data).hexdigest().encode() != row["clip"] or (kind, media_type, samples) != _what(data):
        return "clip changed"
    return ""


def _what(data: bytes) -> tuple[bytes, bytes, int]:
    """Kind, media type and samples by a clip's first bytes (PNG, JPEG; FLAC: RFC 9639, 8.2)."""
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return b"picture", b"image/png", 0
    if data[:3] == b"\xff\xd8\xff":
        return b"picture", b"image/jpeg", 0
    about = int.from_bytes(data[18:26], "big")
    if data[:4] == b"fLaC" and data[4:5] in (b"\x00", b"\x80") and about >> 44 == 16000:
        return b"sound", b"audio/flac", about % 2**36
    return b"", b"", -1


def _signature(row: Row, stands: tuple[bytes, bytes, bytes] | None) -> str:
    """How the signature at an entry does not fit, "" if it does or none should be there."""
    if row["kind"] != b"job signed" or stands is None:
        return "signature changed" if stands else ("signature missing" if row["kind"] == b"job signed" else "")
    sha256, key, signature = (part.decode("ascii", "replace") for part in stands)
    sized = zip((sha256, key, signature), (64, 64, 128), strict=True)
    if not all(re.fullmatch(f"[0-9a-f]{{{size}}}", part) for part, size in sized):
        return "signature changed"
    if not signature_fits(bytes.fromhex(key), SIGNED_WORDS + sha256.encode(), bytes.fromhex(signature)):
        return "signature changed"
    if json.loads(row["body"]).get("key") != key:
        return "signature of another key"
    return "" if stands[0] == row["hash"] else "changed"


def signature_fits(key: bytes, message: bytes, signature: bytes) -> bool:
    """Ed25519 (RFC 8032, 5.1.7), without points of small order, which make no key."""
    a, r = _point(key), _point(signature[:32])
    s = int.from_bytes(signature[32:], "little")
    if a is None or r is None or s >= ORDER or _is_zero(_times(8, a)) or _is_zero(_times(8, r)):
        return False
    h = int.from_bytes(hashlib.sha512(signature[:32] + key + message).digest(), "little") % ORDER
    base = _point((4 * pow(5, -1, P) % P).to_bytes(32, "little"))
    assert base is not None
    left, right = _times(s, base), _sum(r, _times(h, a))
    return (left[0] * right[2] - right[0] * left[2]) % P == 0 and (left[1] * right[2] - right[1] * left[2]) % P == 0


def _point(data: bytes) -> Point | None:
    """The point that 32 bytes stand for (RFC 8032, 5.1.3); None for none."""
    number = int.from_bytes(data, "little")
    y, sign = number % 2**255, number >> 255
    if y >= P:
        return None
    square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * pow(2, (P - 1) // 4, P) % P
    if (x * x - square) % P or (x == 0 and sign):
        return None
    x = P - x if x % 2 != sign else x
    return x, y, 1, x * y % P


def _sum(a: Point, b: Point) -> Point:
    """RFC 8032, 5.1.4."""
    e, f = (a[1] - a[0]) * (b[1] - b[0]), (a[1] + a[0]) * (b[1] + b[0])
    c, d = 2 * a[3] * b[3] * D, 2 * a[2] * b[2]
    x, y, z, t = f - e, d - c, d + c, f + e
    return x * y % P, z * t % P, y * z % P, x * t % P


def _times(number: int, point: Point) -> Point:
    total: Point = (0, 1, 1, 0)
    while number:
        if number & 1:
            total = _sum(total, point)
        point, number = _sum(point, point), number >> 1
    return total


def _is_zero(point: Point) -> bool:
    return point[0] % P == 0 and (point[1] - point[2]) % P == 0


def public_key(path: Path) -> str:
    """The 32 bytes of an Ed25519 public key in PEM (RFC 8410), as hex."""
    try:
        data = base64.b64decode("".join(path.read_text(encoding="ascii").split("-----")[2].split()), validate=True)
    except (OSError, ValueError, IndexError) as trouble:
        raise Nothing(f"this is no public key ({trouble})") from trouble
    if len(data) != 44 or data[:12].hex() != "302a300506032b6570032100":
        raise Nothing("this is no public key of Ed25519")
    return data[12:].hex()


def main() -> int:
    """Check the files that are named."""
    parser = argparse.ArgumentParser(description="Is a job file whole and unchanged, and who signed it.")
    parser.add_argument("jobs", nargs="+", type=Path, metavar="JOB")
    parser.add_argument(
        "--key", type=Path, metavar="PEM", help="the signer's public key, which you have from elsewhere"
    )
    args = parser.parse_args()
    worst = 0
    try:
        key = public_key(args.key) if args.key else ""
    except Nothing as nothing:
        print(f"{args.key}: {nothing}", file=sys.stderr)
        return 2
    for path in args.jobs:
        try:
            misfit, lines = check(path, key)
        except Nothing as nothing:
            print(f"{path}: {nothing}", file=sys.stderr)
            worst = 2
            continue
        print(f"{path}: whole" if misfit is None else f"{path}: NOT WHOLE: {misfit}")
        print("".join(f"  {line}\n" for line in lines), end="")
        worst = max(worst, 1 if misfit else 0)
    return worst


if __name__ == "__main__":
    sys.exit(main())
