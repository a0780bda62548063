"""What is done to a job when the work is over: signed by who answers for it, its sound forgotten, its entries exported."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path

from assistant.core.entries import AFTERWARDS, JobSigned, Kept
from assistant.core.problems import CallProblem, JobFileBroken
from assistant.files.chain import canonical
from assistant.files.job_file import JobFile
from assistant.files.keys import SigningKey
from assistant.files.opening import connect_to_read
from assistant.files.reading import rows, signatures
from assistant.files.verify import verify


def _signed_as_it_is(_: tuple[Kept, ...]) -> None:
    return


def sign_job(
    path: Path,
    at: str,
    who: str,
    key: SigningKey,
    check: Callable[[tuple[Kept, ...]], None] = _signed_as_it_is,
) -> Kept:
    """Sign all that stands in the job. `at` is UTC as in `chain.AT_FORM`. `check` is given the entries while nobody else can
    add any, and may refuse by raising.

    Raises CallProblem for no name, no entries, or nothing new since the last signature; JobFileBroken for a job that is not
    whole: nobody should answer for that.
    """
    who = " ".join(who.split())
    if not who:
        raise CallProblem("a signature needs a name", where="--who", do="say who signs")
    with JobFile.open(path) as job_file:
        verdict = verify(path)
        if verdict.fault is not None:
            what = f"it is not whole, and was not signed: {verdict.fault.how}: {verdict.fault.says}"
            raise JobFileBroken(what, where=f"{path}, entry {verdict.fault.sequence}", do="see `layup verify`")
        kept = job_file.entries()
        if not kept:
            raise CallProblem("nothing is in this job yet", where=str(path), do="sign it when it is done")
        check(kept)
        last = kept[-1].entry
        if isinstance(last, JobSigned) and last.key == key.public:
            raise CallProblem(
                "it is signed with this key already, and nothing came since", where=str(path), do="all is well"
            )
        return job_file.sign(at, who, key)


def forget_sound(path: Path, at: str, who: str, why: str) -> Kept | None:
    """Remove the sound of a job that is closed; None where it has none. Raises as `JobFile.open` and `append`.

    A job that is not whole is left as it is: its sound may be what tells how it was.
    """
    with JobFile.open(path) as job_file:
        verdict = verify(path)
        if verdict.fault is not None:
            what = f"it is not whole, and nothing was removed: {verdict.fault.how}"
            raise JobFileBroken(what, where=f"{path}, entry {verdict.fault.sequence}", do="see `layup verify`")
        return job_file.forget_sound(at, " ".join(who.split()), why)


def forget_due(path: Path, at: str, keep_clips_days: int) -> Kept | None:
    """The same where the last work of the job is more than so many days before `at`; else None."""
    with JobFile.open(path, read_only=True) as job_file:
        worked = [kept.at for kept in job_file.entries() if not isinstance(kept.entry, AFTERWARDS)]
    if not worked or datetime.fromisoformat(at) - datetime.fromisoformat(worked[-1]) <= timedelta(days=keep_clips_days):
        return None
    return forget_sound(path, at, "", f"kept for {keep_clips_days} days, as keep_clips_days says")


def json_lines(path: Path) -> Iterator[str]:
    """The job's entries, one JSON object a line in RFC 8785 form, then its signatures.

    An entry's line without its `hash` is the text that was hashed. Raises ChainBroken at the first that does not fit.
    """
    with closing(connect_to_read(path)) as connection:
        for row in rows(connection, path):
            fields = {**row._asdict(), "body": json.loads(row.body), "hash": row.sha256}
            del fields["sha256"]
            yield canonical(fields).decode()
        for one in signatures(connection, path):
            yield canonical(
                {"entry": one.entry, "hash": one.sha256, "key": one.key, "signature": one.signature}
            ).decode()
