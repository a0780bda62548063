"""Arguments of the calls by which a record answers for itself."""

from __future__ import annotations

import argparse
from pathlib import Path

from assistant import calls
from assistant.arguments.common import Commands


def add_answering(commands: Commands) -> None:
    """keys, sign, forget, bundle, export."""
    """What is done to a job when the work is over."""
    keys = commands.add_parser("keys", help="the keys that sign; make NAME", description=calls.keys.__doc__)
    keys.add_argument("make", nargs="*", metavar="make NAME", help="make a key, under a passphrase")
    _passphrase(keys)
    keys.set_defaults(call=calls.keys)
    sign = commands.add_parser("sign", help="answer for a job with a signature", description=calls.sign.__doc__)
    sign.add_argument("job", type=Path, metavar="JOB")
    sign.add_argument("--who", required=True, metavar="NAME", help="who signs it")
    sign.add_argument("--key", metavar="NAME|FILE", help="another key than the one called NAME")
    _passphrase(sign)
    sign.set_defaults(call=calls.sign)
    forget = commands.add_parser("forget", help="remove the sound of jobs for good", description=calls.forget.__doc__)
    forget.add_argument("jobs", type=Path, nargs="+", metavar="JOB")
    which = forget.add_mutually_exclusive_group(required=True)
    which.add_argument("--clips", action="store_true", help="of each job named")
    which.add_argument("--due", action="store_true", help="of those older than keep_clips_days of the settings")
    forget.add_argument("--who", default="", metavar="NAME", help="who asked for it, for the record")
    forget.set_defaults(call=calls.forget)
    bundle = commands.add_parser("bundle", help="a zip to check without the program", description=calls.bundle.__doc__)
    bundle.add_argument("job", type=Path, metavar="JOB")
    bundle.add_argument("-o", "--output", type=Path, metavar="FILE", help="FILE.zip (default: the job's name)")
    bundle.set_defaults(call=calls.bundle)
    export = commands.add_parser("export", help="a job's entries as JSON lines", description=calls.export.__doc__)
    export.add_argument("job", type=Path, metavar="JOB")
    export.add_argument("--jsonl", action="store_true", required=True, help="one JSON object a line")
    export.set_defaults(call=calls.export)


def _passphrase(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--passphrase-file", type=Path, metavar="FILE", help="its first line (else LAYUP_PASSPHRASE, else asked)"
    )
