"""The passphrase of a signing key: from a file, from the environment, or asked at the terminal; never from the command line,
where every other program of the machine could read it."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from getpass import getpass
from pathlib import Path

from assistant.core.problems import CallProblem

VARIABLE = "LAYUP_PASSPHRASE"


def passphrase(
    file: Path | None,
    *,
    new: bool,
    environ: Mapping[str, str] = os.environ,
    ask: Callable[[str], str] = getpass,
    at_terminal: Callable[[], bool] = sys.stdin.isatty,
) -> str:
    """The first line of `file`, else what `LAYUP_PASSPHRASE` says, else what is typed (twice where it is `new`).

    Raises CallProblem where none of the three can be had, and where the two are not the same.
    """
    if file is not None:
        try:
            lines = file.read_text(encoding="utf-8").splitlines()
        except (OSError, UnicodeDecodeError) as fault:
            raise CallProblem("cannot be read", where=str(file), do="name a file with the passphrase in it") from fault
        return lines[0] if lines else ""
    if VARIABLE in environ:
        return environ[VARIABLE]
    if not at_terminal():
        do = f"give --passphrase-file FILE, or set {VARIABLE}"
        raise CallProblem("nobody is there to type the passphrase", where="the terminal", do=do)
    typed = ask("passphrase: ")
    if new and ask("once more: ") != typed:
        raise CallProblem("the two are not the same", where="the passphrase", do="try again; nothing was made")
    return typed
