"""verify finds what was done to a job file behind its back, and names the first entry that does not fit."""

from __future__ import annotations

import random
import re
import shutil
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from job_samples import PNG, SAFE_INT, any_entry, at, reading, small_job, tone

from assistant.core.entries import AFTERWARDS, KINDS, Entry, JobOpened, Json, StepOpened, entry_from
from assistant.core.problems import CallProblem, JobFileBroken, LayupProblem
from assistant.files.chain import NOTHING_BEFORE, Link, canonical, row_sha256
from assistant.files.job_file import JobFile
from assistant.files.keys import SigningKey, pem_of
from assistant.files.schema import SCHEMAS, VERSION
from assistant.files.stored_rows import Row, is_canonical
from assistant.files.verdict import How
from assistant.files.verify import verify
from assistant.measure.job_damage import make_hash_anew, tamper

RENUMBER = (
    "UPDATE entry SET sequence = -sequence {where}; UPDATE entry SET sequence = -sequence {by} WHERE sequence < 0;"
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return small_job(tmp_path / "season.job")


COPY = (
    "INSERT INTO entry SELECT {to}, at, kind, version, body, clip, {previous}, hash FROM entry WHERE sequence = {of};"
)
SWAP = (
    "UPDATE entry SET sequence = 100 WHERE sequence = 2; UPDATE entry SET sequence = 2 WHERE sequence = 4;"
    "UPDATE entry SET sequence = 4 WHERE sequence = 100;"
)
RAISE = RENUMBER.format(where="WHERE sequence >= 3", by="+ 1")
LOWER = RENUMBER.format(where="WHERE sequence > 3", by="- 1")

TAMPERED = [
    ("UPDATE entry SET body = replace(body, '188', '198') WHERE sequence = 3;", 3, "changed"),
    ("UPDATE entry SET body = replace(body, 'within', 'low') WHERE sequence = 2;", 2, "changed"),
    ("UPDATE entry SET body = replace(body, ':', ': ') WHERE sequence = 4;", 4, "changed"),
    ("UPDATE entry SET body = 'null' WHERE sequence = 4;", 4, "changed"),
    ("UPDATE entry SET at = '2026-10-14T09:00:03.251Z' WHERE sequence = 4;", 4, "changed"),
    ("UPDATE entry SET kind = 'step done' WHERE sequence = 1;", 1, "changed"),
    ("UPDATE entry SET version = 2 WHERE sequence = 6;", 6, "changed"),
    ("UPDATE entry SET hash = upper(hash) WHERE sequence = 5;", 5, "changed"),
    ("UPDATE entry SET previous = hash WHERE sequence = 5;", 5, "changed"),
    ("UPDATE entry SET clip = '' WHERE sequence = 3;", 3, "changed"),
    ("UPDATE entry SET clip = (SELECT clip FROM entry WHERE sequence = 2) WHERE sequence = 3;", 3, "changed"),
    ("DELETE FROM entry WHERE sequence = 1;", 1, "removed"),
    ("DELETE FROM entry WHERE sequence = 3;", 3, "removed"),
    ("DELETE FROM entry WHERE sequence = 3;" + LOWER, 3, "removed"),
    ("DELETE FROM entry WHERE sequence = 1;" + RENUMBER.format(where="", by="- 1"), 1, "removed"),
    (RAISE + COPY.format(to=3, previous="previous", of=1), 3, "reordered"),
    (COPY.format(to=0, previous="previous", of=1), 0, "added"),
    (COPY.format(to=7, previous="hash", of=6), 7, "changed"),
    (SWAP, 2, "reordered"),
    ("UPDATE clip SET data = CAST(replace(data, x'01', x'02') AS BLOB) WHERE samples = 300;", 3, "clip changed"),
    ("UPDATE clip SET samples = 401 WHERE samples = 400;", 2, "clip changed"),
    ("UPDATE clip SET media_type = 'image/jpeg' WHERE kind = 'picture';", 5, "clip changed"),
    ("UPDATE clip SET kind = 'picture' WHERE samples = 400;", 2, "clip changed"),
    ("DELETE FROM clip WHERE samples = 400;", 2, "clip missing"),
    ("DELETE FROM clip;", 2, "clip missing"),
    ("INSERT INTO clip VALUES ('abc', 'sound', 'audio/flac', 1, x'00');", 0, "clip added"),
    ("DELETE FROM entry WHERE sequence >= 5;", 0, "clip added"),
    ("CREATE TABLE other (x);", 0, "rules changed"),
    ("CREATE TRIGGER swallow AFTER INSERT ON clip BEGIN SELECT 1; END;", 0, "rules changed"),
]


@pytest.mark.parametrize(("script", "sequence", "how"), TAMPERED)
def test_what_was_done_is_named(path: Path, script: str, sequence: int, how: str) -> None:
    """Each way to tamper is found; the first entry that does not fit is named, and how."""
    tamper(path, script)
    verdict = verify(path)
    assert verdict.fault is not None
    assert (verdict.fault.sequence, verdict.fault.how) == (sequence, how)
    assert not verdict.whole


def test_a_whole_file_is_whole(path: Path) -> None:
    """An untouched file is whole, with its counts and last hash, and the verdict says what an unsigned chain can't."""
    verdict = verify(path)
    assert (verdict.whole, verdict.entries, verdict.clips, verdict.notes) == (True, 6, 3, ())
    assert verdict.head in str(verdict)
    assert "cut from the end would not show" in str(verdict)


def test_an_empty_job_is_whole(tmp_path: Path) -> None:
    """A job that was only just made is whole."""
    JobFile.create(tmp_path / "new.job").close()
    assert verify(tmp_path / "new.job").whole


@pytest.mark.parametrize("sequence", [2, 4, 5])
def test_a_hash_made_anew_is_found_by_the_next_entry(path: Path, sequence: int) -> None:
    """Who changes an entry and its hash is told by the entry after it, which remembers the old hash."""
    make_hash_anew(path, sequence, at=at(59))
    fault = verify(path).fault
    assert fault is not None
    assert (fault.sequence, fault.how) == (sequence, "changed")


def test_an_entry_put_in_with_a_fitting_hash(path: Path) -> None:
    """An entry forged to fit the one before it is named as added by the one after it."""
    tamper(path, RAISE)
    with closing(sqlite3.connect(path)) as connection:
        [head] = connection.execute("SELECT hash FROM entry WHERE sequence = 2").fetchone()
    link = Link(3, at(2), "step opened", 1, {"step": "fog"}, "", head)
    values = f"3, '{link.at}', '{link.kind}', 1, '{canonical(link.body).decode()}', '', '{head}', '{link.sha256()}'"
    tamper(path, f"INSERT INTO entry VALUES ({values});")
    fault = verify(path).fault
    assert fault is not None
    assert (fault.sequence, fault.how) == (3, "added")


def test_what_a_chain_cannot_show(path: Path) -> None:
    """Entries without clips cut from the end leave a whole file: a signature, or the last hash elsewhere, shows it."""
    before = verify(path).head
    tamper(path, "DELETE FROM entry WHERE sequence = 6;")
    assert verify(path).whole
    assert verify(path).head != before


def test_triggers_taken_out_are_noticed(path: Path) -> None:
    """A file whose guards were taken out is not as it was made."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TRIGGER entry_is_never_changed")
    assert "rules changed" in str(verify(path))


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04", b"x" * 9000])
def test_nothing_to_check(tmp_path: Path, content: bytes) -> None:
    """What is no job file is a wrong call, not a broken job."""
    (tmp_path / "other").write_bytes(content)
    with pytest.raises(CallProblem, match="no job file"):
        verify(tmp_path / "other")


def test_no_file(tmp_path: Path) -> None:
    """A missing file, or a folder, is a wrong call."""
    for name in ("missing.job", "."):
        with pytest.raises(CallProblem, match="no such job file"):
            verify(tmp_path / name)


def test_verify_changes_nothing(path: Path) -> None:
    """Looking leaves the file and its folder as they were."""
    before = path.read_bytes()
    verify(path)
    assert path.read_bytes() == before
    assert list(path.parent.iterdir()) == [path]


def logical(path: Path) -> list[object]:
    """All entries and clips as another reader of SQLite files has them."""
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as connection:
        return [
            *connection.execute("SELECT * FROM entry ORDER BY sequence"),
            *connection.execute("SELECT * FROM clip ORDER BY sha256"),
        ]


def flipped_unseen(path: Path, positions: list[tuple[int, int]]) -> list[int]:
    """Flip one bit at a time; the places where verify finds the file whole. The file is restored each time."""
    unseen = []
    data, rows = path.read_bytes(), logical(path)
    for position, bit in positions:
        with path.open("r+b") as file:
            file.seek(position)
            file.write(bytes([data[position] ^ 1 << bit]))
        try:
            seen = not verify(path).whole
        except LayupProblem:
            seen = True
        if not seen:
            unseen.append(position)
            assert logical(path) == rows, f"byte {position} bit {bit}: an unseen change of an entry or a clip"
        path.write_bytes(data)
        for beside in path.parent.glob(path.name + "-*"):
            beside.unlink()
    return unseen


def test_flipped_bits(path: Path) -> None:
    """A flipped bit is found, or lies where no entry or clip does: in unused room or counters of SQLite's header."""
    data = path.read_bytes()
    chance = random.Random(8785)
    places = [n for n in range(len(data)) if data[n]]
    positions = [(n, chance.randrange(8)) for n in sorted(chance.sample(places, 700)) + list(range(100))]
    unseen = flipped_unseen(path, positions)
    in_header = [n for n in unseen if n < 100]
    # https://sqlite.org/fileformat2.html, 1.3: journal marks 18-19, change counter 24-27, pages 28-31, cookie 40-43,
    # schema format 44-47 and text encoding 56-59 (only their lowest bits are used), cache 48-51, autovacuum 52-55 and
    # 64-67, reserved 72-91, version-valid-for 92-95, library version 96-99
    idle = {18, 19, *range(24, 32), *range(40, 60), *range(64, 68), *range(72, 100)}
    assert set(in_header) <= idle
    assert len(positions) == 800


PAGE = (Path(__file__).parent.parent / "assistant" / "files" / "JOBFILE.md").read_text(encoding="utf-8")


def by_hand() -> list[str]:
    """The commands of JOBFILE.md, "By hand"."""
    return re.findall(r"^```sh\n(.*?)^```$", PAGE, re.S | re.M)


@pytest.mark.parametrize("how", get_args(How))
def test_the_page_tells_each_fault(how: str) -> None:
    """Each way not to fit has its line in JOBFILE.md."""
    assert re.search(rf"^\|.*\*{how}\*", PAGE, re.M)


@pytest.mark.parametrize("kind", [kind for kind, cls in KINDS.items() if cls.version > 1 or cls in AFTERWARDS])
def test_the_page_tells_each_later_kind(kind: str) -> None:
    """Each kind that came later, and each version of one that is not as it first was, has its line in JOBFILE.md."""
    for version in range(2 if KINDS[kind].version > 1 else 1, KINDS[kind].version + 1):
        assert re.search(rf"^\| [^|]*`{kind}`[^|]* \| {version} \|", PAGE, re.M)


KEPT = reading("oil", "level", "0.8").body()
OPENED = JobOpened("p", "", "", "", "j", (), "layup", "vosk").body()
REFUSED: list[tuple[str, int, Json, str]] = [
    ("reading kept", 9, KEPT, "is newer than this program"),
    ("reading shouted", 1, KEPT, "is newer than this program"),
    ("reading kept", 2, KEPT | {"loud": "yes"}, "has other fields than version 2"),
    ("reading kept", 2, [], "no table"),
    ("reading kept", 2, KEPT | {"value": 1}, "no text"),
    ("reading kept", 2, KEPT | {"value": "\ud800"}, "text that has no form in UTF-8"),
    ("reading kept", 2, KEPT | {"replaces": 2**53}, "no whole number below 2**53"),
    ("reading kept", 2, KEPT | {"replaces": 1.0}, "no whole number below 2**53"),
    ("reading kept", 2, KEPT | {"replaces": True}, "no whole number below 2**53"),
    ("reading kept", 2, KEPT | {"weighed": "x"}, "no list"),
    ("reading kept", 2, KEPT | {"weighed": [{"ear": "vosk"}]}, "not of the fields ear, words, share"),
    ("job opened", 4, OPENED | {"keeps_sound": 1}, "neither true nor false"),
    ("job opened", 4, OPENED | {"earlier": [["a", "b"]]}, "no list of 5"),
]
"""Kind, version, body (the types of RFC 8259, section 3; whole numbers RFC 7493, 2.2), and what is said of it."""


@pytest.mark.parametrize(("kind", "version", "body", "said"), REFUSED)
def test_the_page_tells_what_a_reader_refuses(kind: str, version: int, body: Json, said: str) -> None:
    """A body that is not of its kind's shape is refused in the words of JOBFILE.md."""
    with pytest.raises(ValueError, match=rf"^an entry of kind '{kind}'.*{re.escape(said)}"):
        entry_from(kind, version, body)
    assert re.search(rf"\*[^*|]*{re.escape(said)}(?!\w)", PAGE)


@pytest.mark.parametrize("time", ["2026-10-14", "2026-02-30T09:00:00.000Z", "2026-10-14T09:00:00.000+02:00", "", "now"])
def test_the_page_tells_that_no_time_is_refused(path: Path, time: str) -> None:
    """A time that is none under hashes that fit: refused by file and entry, in the words of JOBFILE.md."""
    with closing(sqlite3.connect(path)) as connection:
        [last] = connection.execute("SELECT max(sequence) FROM entry").fetchone()
    make_hash_anew(path, last, at=time)
    said = "the entry has a time, or a clip's name, that is none"
    with JobFile.open(path, read_only=True) as job_file, pytest.raises(JobFileBroken, match=said) as told:
        job_file.entries()
    assert told.value.where == f"{path}, entry {last}"
    assert f"*{said}*" in PAGE


def test_the_page_is_of_this_version() -> None:
    """JOBFILE.md is of the version that is written, and names every column of its tables."""
    assert PAGE.startswith(f"# The job file, version {VERSION}\n")
    with closing(sqlite3.connect(":memory:")) as connection:
        for statement in SCHEMAS[VERSION]:
            connection.execute(statement)
        columns = [
            row[1]
            for table in ("entry", "clip", "signature")
            for row in connection.execute(f"PRAGMA table_info({table})")
        ]
    assert [column for column in columns if f"`{column}`" not in PAGE] == []


@pytest.mark.skipif(not all(map(shutil.which, ("sqlite3", "xxd", "openssl"))), reason="a command is not installed")
def test_by_hand(path: Path) -> None:
    """The commands in JOBFILE.md give an entry's hash, a clip's name, and the verdicts on the whole chain and a signature."""
    key = SigningKey(bytes(32))
    path.with_name("KEY.pem").write_text(pem_of(key.public))
    with JobFile.open(path) as job_file:
        job_file.sign(at(6), "Ada", key)
    with closing(sqlite3.connect(path)) as connection:
        [stored] = connection.execute("SELECT hash FROM entry WHERE sequence = 4").fetchone()
        [clip] = connection.execute("SELECT clip FROM entry WHERE sequence = 2").fetchone()
    outputs = [
        subprocess.run(
            ["bash", "-c", command.replace("NAME.job", path.name)],
            cwd=path.parent, capture_output=True, text=True, check=True,
        ).stdout.split()
        for command in by_hand()
    ]  # fmt: skip
    assert outputs[0][0] == stored
    assert outputs[1][0] == clip
    assert outputs[2] == []
    assert outputs[3] == ["Signature", "Verified", "Successfully"]


@given(any_entry(), SAFE_INT.filter(lambda n: n > 0))
def test_the_ways_to_the_hash_agree(entry: Entry, sequence: int) -> None:
    """The text that verify and the reader join is the canonical text that the writer hashes, whatever it says."""
    link = Link(sequence, at(0), entry.kind, 1, entry.body(), "a" * 64, NOTHING_BEFORE)
    body = canonical(link.body)
    row = Row(sequence, at(0).encode(), entry.kind.encode(), 1, body, b"a" * 64, NOTHING_BEFORE.encode(), b"")
    assert row.worked_out(sequence).decode() == link.sha256()
    assert row_sha256(**vars(link) | {"body": body.decode()}) == link.sha256()
    assert is_canonical(body)


NESTED = st.recursive(
    st.text() | SAFE_INT | st.booleans() | st.none(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@given(st.dictionaries(st.text(), NESTED, max_size=5))
def test_what_the_package_writesis_canonical_to_verify(value: dict[str, object]) -> None:
    """The canonical form of any JSON object without fractions is recognised as such."""
    assert is_canonical(canonical(value))


@pytest.mark.parametrize(
    "body",
    [b'{"b":1,"a":2}', b'{"a":1,"a":1}', b'{"a": 1}', b'{"a":1.0}', b'{"a":1e2}', b'{"a":"\\u0041"}', b'{"a":"\\/"}',
     b'{"a":-0}', b'{"a":NaN}', b"[1]", b"", b"{", b'{"a":"\xff"}', b'{"\xef\xac\xb3":0,"\xf0\x9f\x98\x82":0}'],
)  # fmt: skip
def test_other_ways_to_write_the_same_are_not_canonical(body: bytes) -> None:
    """A body has one form only: other order, spaces, escapes, numbers or encodings are a change."""
    assert not is_canonical(body)


def test_a_longer_file(tmp_path: Path) -> None:
    """A moved entry in a long file is told from a changed one."""
    path = tmp_path / "long.job"
    with JobFile.create(path) as job:
        for n in range(40):
            job.append(reading("oil", "", str(n)), at(n), tone(100 + n), None)
        job.append(StepOpened("x"), at(40), picture=PNG)
    tamper(path, SWAP)
    assert "it stood at 4" in str(verify(path))
