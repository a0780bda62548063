"""`layup review` over bare pages, in a process of its own: `python -m tests.review_server` with its arguments.

The pages are those of tests/test_review_gate.py; everything else (arguments, sockets, TLS, gate, uvicorn) is the program's own.
"""

from __future__ import annotations

import argparse
import signal
import sys

from assistant.arguments.reviewing import add_reviewing
from assistant.calls.reviewing import wanted_by
from assistant.core.problems import LayupProblem
from assistant.review.gate import gated
from assistant.review.serving import serve_pages
from tests.test_review_gate import pages


def main() -> int:
    """The program's own parts, with the bare pages in the place of the foreman's."""
    parser = argparse.ArgumentParser()
    add_reviewing(parser.add_subparsers())
    args = parser.parse_args(("review", *sys.argv[1:]))

    def say(text: str) -> None:
        print(text, flush=True)

    signal.signal(signal.SIGTERM, signal.default_int_handler)  # as `layup` does: the same way out as by Ctrl-C
    try:
        serve_pages(wanted_by(args), lambda settings: gated(pages(), settings), say, say)
    except LayupProblem as problem:
        say(str(problem))
        return problem.exit_status
    return 0


if __name__ == "__main__":
    sys.exit(main())
