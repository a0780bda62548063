"""Arguments of the call that walks a procedure through as text."""

from __future__ import annotations

from pathlib import Path

from assistant import calls
from assistant.arguments.common import Commands, json_argument, machine_arguments


def add_rehearsing(commands: Commands) -> None:
    """rehearse."""
    rehearse = commands.add_parser(
        "rehearse", help="walk a procedure through as text", description=calls.rehearse.__doc__
    )
    rehearse.add_argument("procedure", type=Path, metavar="PROCEDURE")
    machine_arguments(rehearse, needed=True)
    rehearse.add_argument("--answers", type=Path, metavar="FILE", help="a YAML file: step -> the lines said there")
    rehearse.add_argument(
        "--typed", action="store_true", help="answers are typed, a line each; ? tells what may be said"
    )
    rehearse.add_argument(
        "-o", "--output", type=Path, metavar="CARD", help="draw the wall card too: CARD.pdf, CARD.svg or CARD.html"
    )
    json_argument(rehearse)
    rehearse.set_defaults(call=calls.rehearse)
