"""The calls by which a record answers for itself: keys, sign, forget, bundle, export."""

from __future__ import annotations

import sys
from argparse import Namespace

from assistant.bench.clock import WallClock
from assistant.calls.printing import print_line
from assistant.core.problems import CallProblem, LayupProblem
from assistant.files.keys import keys_root
from assistant.settings import find_settings


def keys(args: Namespace) -> int:
    """Which keys sign here, and whose public keys are known; `layup keys make NAME` makes one, under a passphrase.

    The passphrase is asked for, or the first line of --passphrase-file, or what LAYUP_PASSPHRASE says. Give the public key
    (the .pem) to who is to check your signatures; put theirs into the same folder, and verify knows it by the file's name.
    """
    from assistant.files.keys import list_keys, make_key
    from assistant.files.passphrases import passphrase

    if not args.make:
        for text in list_keys(keys_root()):
            print_line(text)
        return 0
    if args.make[0] != "make" or len(args.make) != 2:
        raise CallProblem("say `layup keys`, or `layup keys make NAME`", where="keys", do="see `layup keys --help`")
    public = make_key(args.make[1], passphrase(args.passphrase_file, new=True), keys_root())
    print_line(f"made in {keys_root()}: a .key, for you alone, and a .pem, for everybody; public key {public}")
    return 0


def sign(args: Namespace) -> int:
    """Answer for all that stands in a job: the foreman's signature over the last hash, kept in the job file.

    Refused while anything in it is open: a value out of limits or in doubt that nobody looked at, a finding without the
    customer's decision, a question without an answer. `layup review` is where these are settled.

    The key is the one called NAME, or --key. What is amended afterwards is not signed: sign again. Keep what this prints, or
    a copy of the file, where whoever has the job file can't change it: only that shows if the signature is cut off too.
    """
    from assistant.files.answering import sign_job
    from assistant.files.job_file import JobFile
    from assistant.files.keys import key_file, known_keys, unlock
    from assistant.files.passphrases import passphrase
    from assistant.files.verify import verify as look
    from assistant.reports.job_report import report_of
    from assistant.reports.open_items import refuse_open

    secret, words = key_file(args.key or args.who, keys_root()), passphrase(args.passphrase_file, new=False)
    with JobFile.open(args.job, read_only=True) as job_file:
        refuse_open(report_of(job_file.entries()), str(args.job))
    key = unlock(secret, words)
    sign_job(args.job, WallClock().utc(), args.who, key)
    print_line(str(look(args.job, known_keys(keys_root()), key.public)))
    return 0


def forget(args: Namespace) -> int:
    """Remove the sound of jobs for good, and keep an entry that says so. Words, values, hashes and pictures stay.

    With --clips of each job named; with --due only of those whose last work lies longer back than keep_clips_days of the
    settings. Copies of the file, and reports with sound in them, are not found by this: remove those too.
    """
    from assistant.files.answering import forget_due, forget_sound

    at, days = WallClock().utc(), find_settings(args.settings).keep_clips_days
    if args.due and days <= 0:
        raise CallProblem("the settings keep sound for ever", where="--due", do="set keep_clips_days, or say --clips")
    worst = 0
    for path in args.jobs:
        try:
            kept = forget_due(path, at, days) if args.due else forget_sound(path, at, args.who, "asked for")
        except LayupProblem as problem:
            print(f"layup: {problem}", file=sys.stderr)
            worst = max(worst, problem.exit_status)
            continue
        said = (
            f"{len(kept.entry.body()['clips'])} sounds forgotten, entry {kept.sequence}"
            if kept
            else "nothing to forget"
        )
        print_line(f"{path}: {said}")
    return worst


def bundle(args: Namespace) -> int:
    """Write one zip: the job file, its report, the public keys that signed it, and a check that needs nothing but Python."""
    from assistant.reports.bundle import write_bundle

    out = args.output or args.job.with_suffix(".zip")
    print_line(str(write_bundle(args.job, out)))
    print_line(f"written: {out}")
    return 0


def export(args: Namespace) -> int:
    """Print a job's entries, one JSON object a line as they are hashed, and then its signatures."""
    from assistant.files.answering import json_lines

    for line in json_lines(args.job):
        print_line(line)
    return 0
