"""One zip with all that somebody needs to read a job and check it on a machine without the program."""

from __future__ import annotations

import sqlite3
import zipfile
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

from assistant.core.problems import CallProblem, JobFileBroken
from assistant.files import check_job
from assistant.files.job_file import JobFile
from assistant.files.keys import pem_of
from assistant.files.opening import connect_to_read
from assistant.files.verdict import Verdict
from assistant.files.verify import verify
from assistant.reports.write import write_report

CHECK = "check_job.py"
README = """This is the record of one job, and what is needed to check it.

{job}            the record: an SQLite file with every entry and clip; nothing in it is changed afterwards
{report}         the same to read and print
{check}     checks the record; needs Python 3.10 or newer and nothing else
{keys}
To check it:

    python3 {check} "{job}"{with_key}

It must say "whole". That shows that nothing was changed{since}.
{trust}
"""
UNSIGNED = "This job is not signed: who knows the format could have written all of it anew. Ask for a signed one."
SIGNED = (
    "A key in this zip proves nothing by itself: compare it with the one that you have from the signer, or read it\n"
    "to them over the telephone. Signatures: {who}."
)


def write_bundle(path: Path, out: Path) -> Verdict:
    """Write the zip of the job at `path`; the verdict on what is in it.

    Raises CallProblem where it cannot be written or is there already, JobFileBroken for a job that is not whole.
    """
    if out.exists():
        raise CallProblem("there is a file of that name already", where=str(out), do="name another with -o")
    verdict = verify(path)
    if verdict.fault is not None:
        what = f"it is not whole, and was not bundled: {verdict.fault.how}: {verdict.fault.says}"
        raise JobFileBroken(what, where=f"{path}, entry {verdict.fault.sequence}", do="see `layup verify`")
    with TemporaryDirectory() as temporary:
        folder = Path(temporary)
        job, report = folder / path.name, folder / f"{path.stem}.html"
        _closed_copy(path, job)
        with JobFile.open(job, read_only=True) as job_file:
            write_report(job_file.entries(), report, job_file.clip_bytes, verdict)
        keys = {f"signed-by-{number}.pem": key for number, key in enumerate(_keys(verdict), start=1)}
        for name, key in keys.items():
            (folder / name).write_text(pem_of(key), encoding="ascii")
        (folder / CHECK).write_bytes(Path(check_job.__file__).read_bytes())
        (folder / "README.txt").write_text(_readme(job.name, report.name, verdict, tuple(keys)), encoding="utf-8")
        _zip(folder, out)
    return verdict


def _closed_copy(path: Path, copy: Path) -> None:
    """The job as it stands, in one file, whether or not it is open elsewhere."""
    with closing(connect_to_read(path)) as source, closing(sqlite3.connect(copy, isolation_level=None)) as target:
        source.backup(target)
        target.execute("PRAGMA journal_mode=DELETE")


def _keys(verdict: Verdict) -> tuple[str, ...]:
    return tuple(dict.fromkeys(signed.key for signed in verdict.signed))


def _readme(job: str, report: str, verdict: Verdict, keys: tuple[str, ...]) -> str:
    who = "; ".join(f"{signed.who} in entry {signed.entry}" for signed in verdict.signed)
    return README.format(
        job=job,
        report=report,
        check=CHECK,
        keys="".join(f"{key}  a public key that signed it\n" for key in keys),
        with_key=f" --key {keys[-1]}" if keys else "",
        since=" since it was signed" if keys else " in part: whoever rewrote all of it would not be found",
        trust=SIGNED.format(who=who) if keys else UNSIGNED,
    )


def _zip(folder: Path, out: Path) -> None:
    try:
        with zipfile.ZipFile(out, "x", zipfile.ZIP_DEFLATED) as zipped:
            for file in sorted(folder.iterdir()):
                zipped.write(file, file.name)
    except OSError as fault:
        raise CallProblem(f"cannot be written: {fault.strerror}", where=str(out), do="check the folder") from fault
