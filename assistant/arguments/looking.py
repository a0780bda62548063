"""Arguments of the calls that look and change nothing."""

from __future__ import annotations

from pathlib import Path

from assistant import calls
from assistant.arguments.common import Commands, json_argument, machine_arguments


def add_looking(commands: Commands) -> None:
    """hear, parse, scan, prove, figure, schemas."""
    hear = commands.add_parser("hear", help="what recordings would mean at a step", description=calls.hear.__doc__)
    hear.add_argument("procedure", type=Path, metavar="PROCEDURE")
    hear.add_argument("step", metavar="STEP")
    hear.add_argument("sounds", type=Path, nargs="+", metavar="WAV")
    machine_arguments(hear, needed=True)
    json_argument(hear)
    hear.set_defaults(call=calls.hear)
    parse = commands.add_parser("parse", help="what a sentence would mean at a step", description=calls.parse.__doc__)
    parse.add_argument("procedure", type=Path, metavar="PROCEDURE")
    parse.add_argument("step", metavar="STEP")
    parse.add_argument(
        "words", nargs="+", metavar="WORDS", help="one sentence a WORDS; - reads lines from standard input"
    )
    machine_arguments(parse, needed=True)
    json_argument(parse)
    parse.set_defaults(call=calls.parse)
    scan = commands.add_parser("scan", help="what the labels in pictures say", description=calls.scan.__doc__)
    scan.add_argument("images", type=Path, nargs="+", metavar="IMAGE")
    json_argument(scan)
    scan.set_defaults(call=calls.scan)
    prove = commands.add_parser("prove", help="check procedure files", description=calls.prove.__doc__)
    prove.add_argument("procedures", type=Path, nargs="+", metavar="PROCEDURE")
    machine_arguments(prove, needed=False)
    prove.add_argument("--sounds", action="store_true", help="what sounds alike at each step (needs --machine)")
    prove.add_argument(
        "--ear",
        action="store_true",
        help="what is hard to follow by ear, and a readability score (more with --machine)",
    )
    json_argument(prove)
    prove.set_defaults(call=calls.prove)
    _add_figure(commands)
    schemas = commands.add_parser("schemas", help="the files' forms, for editors", description=calls.schemas.__doc__)
    schemas.add_argument("-o", dest="folder", type=Path, required=True, metavar="DIR")
    schemas.set_defaults(call=calls.schemas)


def _add_figure(commands: Commands) -> None:
    figure = commands.add_parser(
        "figure", help="a trade computation, with its working and source", description=calls.figure.__doc__
    )
    figure.add_argument("name", nargs="?", metavar="NAME", help="which computation (none: list them)")
    figure.add_argument("inputs", nargs="*", metavar="NAME=VALUE", help="what it takes (none: tell what that is)")
    json_argument(figure)
    figure.set_defaults(call=calls.figure)
