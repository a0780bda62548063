"""Arguments of the calls that serve the foreman's pages and say who may log in to them."""

from __future__ import annotations

import argparse
from pathlib import Path

from assistant import calls
from assistant.arguments.common import Commands
from assistant.review.roles import ROLES


def add_reviewing(commands: Commands) -> None:
    """review and users."""
    review = commands.add_parser("review", help="the foreman's pages, in a browser", description=calls.review.__doc__)
    review.add_argument(
        "folder", type=Path, nargs="?", default=Path(), metavar="FOLDER", help="where the job files lie (default: here)"
    )
    review.add_argument("--port", type=_port, metavar="N", help="on this machine alone, at this port (default 8710)")
    review.add_argument("--who", default="", metavar="NAME", help="who sits here; else the browser asks once")
    review.add_argument("--open", action="store_true", help="open the pages in the browser")
    far = review.add_argument_group("for other machines too: who comes must log in (layup users)")
    far.add_argument("--listen", metavar="ADDRESS[:PORT]", help="an address of this machine, or 0.0.0.0 for all")
    far.add_argument(
        "--name",
        action="append",
        default=[],
        metavar="HOST",
        help="a name that browsers call this machine by; may be repeated",
    )
    far.add_argument("--certificate", type=Path, metavar="FILE", help="TLS: the certificate with its chain, PEM")
    far.add_argument("--key", type=Path, metavar="FILE", help="TLS: its key, PEM, without a passphrase")
    far.add_argument(
        "--without-tls", action="store_true", help="passphrases may be read on the way; only where nobody else is"
    )
    review.set_defaults(call=calls.review)
    _add_users(commands)


def _add_users(commands: Commands) -> None:
    users = commands.add_parser("users", help="who may log in to the foreman's pages", description=calls.users.__doc__)
    what = users.add_subparsers(required=True, metavar="add|list|remove")
    add = what.add_parser("add", help="a name, a role and a passphrase")
    add.add_argument("name", metavar="NAME")
    add.add_argument(
        "--role", choices=ROLES, required=True, help="a technician looks, listens and answers; a foreman does all"
    )
    add.add_argument(
        "--passphrase-file",
        type=Path,
        metavar="FILE",
        help="its first line is the passphrase (default: LAYUP_PASSPHRASE, or asked)",
    )
    add.set_defaults(call=calls.users, what="add")
    listed = what.add_parser("list", help="who may log in")
    listed.set_defaults(call=calls.users, what="list")
    remove = what.add_parser("remove", help="this one no more; open pages of theirs end at once")
    remove.add_argument("name", metavar="NAME")
    remove.set_defaults(call=calls.users, what="remove")


def _port(text: str) -> int:
    if not text.isascii() or not text.isdigit() or int(text) > 65535:
        raise argparse.ArgumentTypeError("a port is a number from 0 to 65535")
    return int(text)
