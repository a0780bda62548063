"""The calls on job files: what they hold, and whether they are whole."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from dataclasses import asdict

from assistant.bench.clock import WallClock
from assistant.calls.printing import print_line
from assistant.core.problems import CallProblem, LayupProblem
from assistant.files.job_file import JobFile
from assistant.files.keys import keys_root
from assistant.files.model_store import models_root
from assistant.settings import find_settings


def seasons(args: Namespace) -> int:
    """A machine's readings season by season: what changed, how fast by the engine hours, and when a limit may be reached.

    The newest job is this season. What so few seasons cannot tell is refused, and why.
    """
    from assistant.reports.seasons import tell_seasons

    tell_seasons(args, print_line)
    return 0


def parts(args: Namespace) -> int:
    """The parts used in all job files of a folder, by part and lot, and which machines got them.

    Status 1 where a file cannot be read (the others are told all the same), or where two jobs took one serial.
    """
    from assistant.reports.parts_text import tell_parts

    return tell_parts(args, print_line, lambda text: print(f"layup: {text}", file=sys.stderr))


def verify(args: Namespace) -> int:
    """Is each job file whole and unchanged: the chain of its entries, every clip and signature. --key: and signed so."""
    from assistant.files.keys import known_keys, public_in
    from assistant.files.verify import verify as look

    verdicts, worst = [], 0
    known, key = known_keys(keys_root()), public_in(args.key) if args.key else ""
    for path in args.jobs:
        try:
            verdicts.append(look(path, known, key))
        except LayupProblem as problem:
            print(f"layup: {problem}", file=sys.stderr)
            worst = max(worst, problem.exit_status)
    for verdict in verdicts:
        print_line(
            json.dumps({**asdict(verdict), "whole": verdict.whole}, ensure_ascii=False) if args.json else str(verdict)
        )
    return max(worst, 0 if all(verdict.whole for verdict in verdicts) else 1)


def report(args: Namespace) -> int:
    """Write a job on paper (.html, .pdf) or as a table (.csv, .json).

    For the foreman: everything. For the customer: what was done, measured and found, and what spring needs, in plain words;
    a draft until the job is settled and signed. As a tag: a page for the machine in store, with a code that leads back to it.
    """
    from assistant.files.keys import known_keys
    from assistant.files.verify import verify as look
    from assistant.reports.storage_tag import Tag
    from assistant.reports.write import check_form, write_report

    wanted = (("--full-name", args.full_name), ("--address", args.address), ("--paper", args.paper))
    for option, given in (*wanted, ("--next-look", args.next_look)):
        if given and args.audience != "tag":
            raise CallProblem("only a storage tag has that", where=option, do="say --for tag, or leave it out")
    check_form(args.output, args.audience)
    tag = Tag(args.address or "", args.full_name, args.paper or "a4", args.next_look or "")
    with JobFile.open(args.job, read_only=True) as job_file:
        kept = job_file.entries()
        verdict = look(args.job, known_keys(keys_root()))
        write_report(kept, args.output, job_file.clip_bytes, verdict, args.audience, tag)
    print_line(f"written: {args.output}")
    return 0


def amend(args: Namespace) -> int:
    """Put another value in the place of a kept one, with a reason and a name. The old entry and its sound stay."""
    from assistant.files.amending import amend as amend_entry
    from assistant.reports.values import told_reading

    with JobFile.open(args.job) as job_file:
        for kept in amend_entry(job_file, WallClock().utc(), args.sequence, args.value, args.reason, args.who):
            print_line(told_reading(kept))
    return 0


def hearback(args: Namespace) -> int:
    """Hear the kept sounds of jobs again, with these ears or others, and compare with what is known to have been said."""
    from assistant.measure.hearback import measure_hearback

    return measure_hearback(args, find_settings(args.settings), models_root(), line=print_line)
