"""`layup`: arguments and settings in, real parts built, one function called. No logic.

Exit status: 0 all is well; 1 the thing looked at is not; 2 the call was wrong. Errors are lines on standard error that say
what, where, and what to do; never a traceback.
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Sequence
from pathlib import Path

try:  # half a second: Ctrl-C may come as soon
    from assistant import calls
    from assistant.arguments.looking import add_looking
    from assistant.arguments.measuring import add_measuring
    from assistant.arguments.records import add_records
    from assistant.arguments.rehearsing import add_rehearsing
    from assistant.arguments.reviewing import add_reviewing
    from assistant.arguments.sheets import add_sheets
    from assistant.arguments.working import add_working
    from assistant.core.problems import CallProblem, LayupProblem
except KeyboardInterrupt:
    print("layup: stopped", file=sys.stderr)
    sys.exit(130)

EPILOG = """examples
  layup demo                                        hear and see a whole job, no hardware needed
  layup run pwc-off-season --machine tern-3 --site our-shop --job 1234.job      shipped files go by bare names
  layup resume 1234.job                             after a power cut, or tomorrow
  layup verify 1234.job && layup report 1234.job -o 1234.html
  layup COMMAND --help                              each command explains itself
"""


def main(arguments: Sequence[str] | None = None) -> int:
    """The entry point; the exit status."""
    args = _parser().parse_args(arguments)
    if arguments is None:
        signal.signal(signal.SIGTERM, _end)
    try:
        return int(args.call(args))
    except LayupProblem as problem:
        print(f"layup: {problem}", file=sys.stderr)
        return problem.exit_status
    except KeyboardInterrupt:
        kept = "; what was spoken as kept is in the job file" if args.call in (calls.run, calls.resume) else ""
        print(f"layup: stopped{kept}", file=sys.stderr)
        return 130
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # else Python complains at exit
        return 0
    except OSError as fault:
        print(f"layup: {_refused(fault)}", file=sys.stderr)
        return 2


def _refused(fault: OSError) -> CallProblem:
    """What the system refused and nothing nearer to it has put into words: a folder that may not be entered, a full disk."""
    what = fault.strerror or str(fault)
    return CallProblem(what, where=str(fault.filename or "the system"), do="check that it is there and who may use it")


def _end(_signal: int, _frame: object) -> None:
    """Told to end: as with Ctrl-C, everything is closed on the way out."""
    raise KeyboardInterrupt


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="layup",
        description="An offline voice-and-barcode bench assistant for laying up small craft and engines.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--settings", type=Path, help="settings file (default: ./layup.toml, then ~/.config/layup/)")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    add_working(commands)
    add_looking(commands)
    add_sheets(commands)
    add_rehearsing(commands)
    add_records(commands)
    add_reviewing(commands)
    add_measuring(commands)
    return parser


if __name__ == "__main__":
    sys.exit(main())
