"""A signature answers for every entry before it: what is done afterwards is found and named, by both checks."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from job_samples import at, small_job

from assistant.core.entries import JobSigned, SoundForgotten, StepOpened
from assistant.core.job import fold
from assistant.core.problems import CallProblem, JobFileBroken
from assistant.files import check_job
from assistant.files.answering import json_lines, sign_job
from assistant.files.chain import sha256_hex
from assistant.files.job_file import JobFile
from assistant.files.keys import SigningKey, signed_text
from assistant.files.verify import verify
from assistant.measure.job_damage import compared, make_chain_anew, make_hash_anew, tamper

FOREMAN, OTHER = SigningKey(bytes(32)), SigningKey(b"\1" * 32)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Six entries, signed in the seventh, and one after it."""
    path = small_job(tmp_path / "season.job")
    sign_job(path, at(6), "Ada Lind", FOREMAN)
    with JobFile.open(path) as job_file:
        job_file.append(StepOpened("fog"), at(7))
    return path


def sign_as(path: Path, key: SigningKey) -> str:
    """SQL that puts this key's good signature over the seventh entry's hash as it now is."""
    with closing(sqlite3.connect(path)) as connection:
        [sha256] = connection.execute("SELECT hash FROM entry WHERE sequence = 7").fetchone()
    signature = key.sign(signed_text(sha256)).hex()
    return f"UPDATE signature SET hash = '{sha256}', key = '{key.public}', signature = '{signature}';"


def test_a_signed_job_is_whole(path: Path) -> None:
    """The verdict says who signed, with which key, and which entries that does not cover."""
    verdict = verify(path, {FOREMAN.public: "Ada"}, FOREMAN.public)
    assert verdict.whole
    [signed] = verdict.signed
    assert (signed.entry, signed.who, signed.key, signed.known) == (7, "Ada Lind", FOREMAN.public, "Ada")
    assert "came after the last signature" in str(verdict)
    assert "unsigned" not in str(verdict)
    with JobFile.open(path, read_only=True) as job_file:
        assert fold(job_file.entries()).signed == 7


CUT = "DELETE FROM clip WHERE sha256 NOT IN (SELECT clip FROM entry);"
ROWS = [
    ("DELETE FROM entry WHERE sequence >= 7;", 7, "cut short after signing"),
    ("DELETE FROM entry WHERE sequence >= 4;" + CUT, 4, "cut short after signing"),
    ("DELETE FROM entry; DELETE FROM clip;", 1, "cut short after signing"),
    ("DELETE FROM signature;", 7, "signature missing"),
    ("UPDATE signature SET entry = 8;", 7, "signature missing"),
    ("UPDATE signature SET entry = 6;", 6, "signature changed"),
    ("UPDATE signature SET entry = 0;", 7, "signature missing"),
    ("UPDATE signature SET hash = replace(hash, 'a', 'b');", 7, "signature changed"),
    ("UPDATE signature SET signature = upper(signature);", 7, "signature changed"),
    ("UPDATE signature SET signature = '';", 7, "signature changed"),
    ("UPDATE signature SET key = upper(key);", 7, "signature changed"),
    (f"UPDATE signature SET key = '{OTHER.public}';", 7, "signature changed"),
    ("UPDATE entry SET body = replace(body, 'Ada', 'Bea') WHERE sequence = 7;", 7, "changed"),
    ("UPDATE entry SET body = replace(body, '188', '198') WHERE sequence = 3;", 3, "changed"),
    ("UPDATE clip SET data = CAST(replace(data, x'01', x'02') AS BLOB) WHERE samples = 300;", 3, "clip changed"),
]


@pytest.mark.parametrize(("script", "sequence", "how"), ROWS)
def test_what_was_done_after_signing_is_named(path: Path, script: str, sequence: int, how: str) -> None:
    """What is changed, cut or taken away after signing is found; the first entry that does not fit is named, by both checks."""
    tamper(path, script)
    fault = verify(path).fault
    assert fault is not None
    assert (fault.sequence, fault.how) == (sequence, how)
    assert compared(path).ours == compared(path).plain == f"entry {sequence}: {how}"


def test_a_file_written_anew_is_found(path: Path) -> None:
    """Somebody who knows the format changes an entry and makes every hash anew: the chain fits, the signature does not."""
    make_chain_anew(path, 3, at=at(59))
    fault = verify(path).fault
    assert fault is not None
    assert (fault.sequence, fault.how) == (7, "changed")
    assert "not as signed" in fault.says
    assert compared(path).agree


def test_a_signature_of_another_key_is_named(path: Path) -> None:
    """A good signature by another key than the entry names is told from a damaged one."""
    tamper(path, sign_as(path, OTHER))
    assert "entry 7: signature of another key" in str(verify(path))
    assert compared(path).agree


def test_a_file_written_anew_and_signed_anew_is_found_by_the_key(path: Path) -> None:
    """What the file alone can't show (all written anew, signed with the forger's own key) shows against the signer's key."""
    make_chain_anew(path, 3, at=at(59))
    make_chain_anew(path, 7, body=json.dumps({"key": OTHER.public, "who": "Ada Lind"}))
    tamper(path, sign_as(path, OTHER))
    assert verify(path).whole
    verdict = verify(path, {FOREMAN.public: "Ada"}, FOREMAN.public)
    assert verdict.fault is not None
    assert (verdict.fault.sequence, verdict.fault.how) == (7, "signature of another key")
    assert "not known here" in str(verify(path, {FOREMAN.public: "Ada"}))
    assert check_job.check(path, FOREMAN.public)[0] == (7, "signature of another key")


def test_a_signature_cut_off_whole_is_found_by_the_key(path: Path) -> None:
    """Entries and signature cut off together leave a whole file; asked for the signer's key, it is told as not signed."""
    tamper(path, "DELETE FROM entry WHERE sequence >= 7; DELETE FROM signature;")
    assert verify(path).whole
    verdict = verify(path, key=FOREMAN.public)
    assert verdict.fault is not None
    assert verdict.fault.how == "not signed"
    assert check_job.check(path, FOREMAN.public)[0] == (0, "not signed")


def test_the_last_entry_before_the_signature_is_covered(path: Path) -> None:
    """The entry that nothing but the signature follows cannot be changed with its hash."""
    tamper(path, "DELETE FROM entry WHERE sequence = 8;")
    make_hash_anew(path, 7, at=at(59))
    fault = verify(path).fault
    assert fault is not None
    assert (fault.sequence, fault.how) == (7, "changed")


def test_signed_again(path: Path) -> None:
    """What came after a signature is signed by a second one, perhaps of somebody else; both are told."""
    sign_job(path, at(9), "Bea Holm", OTHER)
    verdict = verify(path)
    assert [(one.entry, one.who) for one in verdict.signed] == [(7, "Ada Lind"), (9, "Bea Holm")]
    assert verdict.notes == ()
    assert verify(path, key=FOREMAN.public).whole
    assert compared(path).plain == "whole"


def test_what_nobody_should_sign(tmp_path: Path) -> None:
    """No name, an empty job, nothing new, and a job that is not whole are refused, and nothing is added."""
    path = tmp_path / "season.job"
    JobFile.create(path).close()
    with pytest.raises(CallProblem, match="nothing is in this job"):
        sign_job(path, at(1), "Ada", FOREMAN)
    with pytest.raises(CallProblem, match="needs a name"):
        sign_job(path, at(1), "  ", FOREMAN)
    path.unlink()
    small_job(path)
    sign_job(path, at(6), "Ada", FOREMAN)
    with pytest.raises(CallProblem, match="signed with this key already"):
        sign_job(path, at(7), "Ada", FOREMAN)
    tamper(path, "UPDATE entry SET body = replace(body, '188', '198') WHERE sequence = 3;")
    with pytest.raises(JobFileBroken, match="not whole, and was not signed"):
        sign_job(path, at(8), "Bea", OTHER)
    assert verify(path).entries == 7


@pytest.mark.parametrize("entry", [JobSigned("Ada", FOREMAN.public), SoundForgotten((), "", "")])
def test_an_entry_that_claims_is_kept_with_what_it_claims(path: Path, entry: JobSigned | SoundForgotten) -> None:
    """No entry says signed or forgotten without being so."""
    with JobFile.open(path) as job_file, pytest.raises(ValueError, match="only kept with what it says"):
        job_file.append(entry, at(9))


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE signature SET key = key",
        "DELETE FROM signature",
        "INSERT OR REPLACE INTO signature SELECT * FROM signature",
        "INSERT INTO signature SELECT 8, hash, key, signature FROM signature",
        "INSERT INTO signature SELECT 3, hash, key, signature FROM signature",
    ],
)
def test_signatures_are_only_added(path: Path, statement: str) -> None:
    """The file itself refuses to change, remove or replace a signature, and one at any entry but the last, a `job signed`."""
    with closing(sqlite3.connect(path)) as connection, pytest.raises(sqlite3.IntegrityError, match=r"never|belongs"):
        connection.execute(statement)


def test_exported_lines_are_what_was_hashed(path: Path) -> None:
    """Each exported line without its hash is the text of that hash (FIPS 180-4), and the chain; the signature stands last."""
    *lines, signature = [json.loads(line) for line in json_lines(path)]
    texts = list(json_lines(path))
    before = "0" * 64
    for line, text in zip(lines, texts, strict=False):
        assert sha256_hex(text.replace(f'"hash":"{line["hash"]}",', "").encode()) == line["hash"]
        assert line["previous"] == before
        before = line["hash"]
    assert (signature["entry"], signature["hash"]) == (7, lines[6]["hash"])
    assert len(lines) == 8
