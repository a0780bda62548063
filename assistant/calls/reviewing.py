"""The calls around the foreman's pages: serve them, and say who may log in."""

from __future__ import annotations

import sys
from argparse import Namespace
from functools import partial
from typing import TYPE_CHECKING

from assistant.calls.printing import print_line
from assistant.core.problems import CallProblem

if TYPE_CHECKING:
    from assistant.review.wanted import Wanted


def review(args: Namespace) -> int:
    """Serve the foreman's pages of the jobs in a folder, on this machine alone, until Ctrl-C.

    Whoever uses this machine reaches them, without a passphrase. For other machines: --listen; then everybody logs in
    (`layup users add`), and TLS is wanted.
    """
    if not args.folder.is_dir():
        raise CallProblem("there is no such folder", where=str(args.folder), do="name the folder of the job files")

    from assistant.review.app import build_app
    from assistant.review.serving import serve_pages

    serve_pages(wanted_by(args), partial(build_app, args.folder), print_line, _log, show=args.open)
    return 0


def users(args: Namespace) -> int:
    """Who may log in to the foreman's pages from other machines: add NAME --role foreman|technician, list, remove NAME."""
    from assistant.files.passphrases import passphrase
    from assistant.review.users import add_user, list_users, person_name, remove_user, users_path

    path = users_path()
    if args.what == "add":
        name = person_name(args.name)
        user = add_user(path, name, args.role, passphrase(args.passphrase_file, new=True))
        print_line(f"added: {user.name}, {user.role}")
    elif args.what == "remove":
        user = remove_user(path, args.name)
        print_line(f"removed: {user.name}, {user.role}")
    else:
        for line in list_users(path):
            print_line(line)
    return 0


def wanted_by(args: Namespace) -> Wanted:
    """What the arguments of `layup review` come to. CallProblem for what does not go together, or is not safe."""
    from assistant.review.users import users_path
    from assistant.review.wanted import for_others, on_loopback

    if args.listen is None:
        if args.name or args.certificate or args.key or args.without_tls:
            do = "say --listen ADDRESS[:PORT] too"
            raise CallProblem(
                "that is only for other machines", where="--name, --certificate, --key, --without-tls", do=do
            )
        return on_loopback(args.port, args.who)
    if args.who:
        raise CallProblem("who comes from elsewhere must log in", where="--who", do="leave it out")
    if args.port is not None:
        raise CallProblem("the port stands in --listen", where="--port", do=f"--listen {args.listen}:{args.port}")
    return for_others(
        args.listen, tuple(args.name), args.certificate, args.key, without_tls=args.without_tls, users=users_path()
    )


def _log(text: str) -> None:
    print(f"layup: {text}", file=sys.stderr, flush=True)
