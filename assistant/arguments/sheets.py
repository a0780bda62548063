"""Arguments of the calls on machine sheets."""

from __future__ import annotations

import argparse
from pathlib import Path

from assistant import calls
from assistant.arguments.common import Commands

SITE_HELP = "the shop's site sheet (default: the only one beside the procedure)"


def add_sheets(commands: Commands) -> None:
    """sheet new, sheet check."""
    sheet = commands.add_parser(
        "sheet",
        help="make a machine sheet, or look at one",
        description="A machine sheet: one model's numbers, each with its page.",
    )
    which = sheet.add_subparsers(required=True, metavar="new|check")
    new = which.add_parser("new", help="asks for each number, one by one", description=calls.sheet_new.__doc__)
    new.add_argument("procedure", type=Path, metavar="PROCEDURE", help="whose numbers are asked for")
    new.add_argument("-o", "--output", type=Path, required=True, metavar="FILE", help="FILE.sheet.yaml, new or begun")
    _site(new)
    new.set_defaults(call=calls.sheet_new)
    check = which.add_parser("check", help="is it whole and likely", description=calls.sheet_check.__doc__)
    check.add_argument("file", type=Path, metavar="FILE")
    check.add_argument("--procedure", type=Path, metavar="PROCEDURE", help="does it give all that this wants")
    _site(check)
    check.set_defaults(call=calls.sheet_check)


def _site(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--site", type=Path, metavar="SITE", help=SITE_HELP)
