"""Arguments that several calls take."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TypeAlias

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def machine_arguments(parser: argparse.ArgumentParser, *, needed: bool) -> None:
    """The machine sheet and the site."""
    parser.add_argument("--machine", type=Path, required=needed, metavar="SHEET", help="the machine sheet")
    parser.add_argument(
        "--site", type=Path, metavar="SITE", help="the shop's site sheet (default: the only one beside the procedure)"
    )


def json_argument(parser: argparse.ArgumentParser) -> None:
    """The answer as JSON."""
    parser.add_argument(
        "--json", action="store_true", help="one JSON object a line on standard output, nothing else there"
    )
