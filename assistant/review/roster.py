"""The users file as the running server knows it: read again when it changes, and who of it a passphrase belongs to."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from pathlib import Path

from assistant.core.problems import FileProblem
from assistant.files.keys import Locking
from assistant.review.users import LOCKING, LONGEST_PASSPHRASE, User, fits, hashed, name_key, read_users

Stamp = tuple[int, int, int] | None


class RosterUnusable(FileProblem):
    """The users file is damaged, or open to others, while the server runs."""


class Roster:
    """Users by name. `of` and `check` raise RosterUnusable while the file is damaged: then nobody is let in.

    `check` may run in any thread. `fits` can be replaced, so that a test can count what is compared.
    """

    def __init__(self, path: Path, locking: Locking = LOCKING, fits: Callable[[str, str], bool] = fits) -> None:
        self._path, self._fits = path, fits
        self._nobody = hashed(secrets.token_urlsafe(32), locking)
        self._seen: Stamp = None
        self._users: dict[str, User] = {}

    def of(self, name: str) -> User | None:
        """Who has that name in the file as it is now."""
        return self._now().get(name_key(name))

    def check(self, name: str, passphrase: str) -> User | None:
        """The user, if name and passphrase belong together.

        An unknown name costs the same work as a known one (its passphrase is compared with a hash that nothing fits), so
        that the time tells nobody which names there are.
        """
        user = self.of(name)
        fitting = self._fits(passphrase[: LONGEST_PASSPHRASE + 1], user.passphrase if user else self._nobody)
        return user if fitting else None

    def _now(self) -> dict[str, User]:
        stamp = _stamp(self._path)
        if stamp is None or stamp != self._seen:
            try:
                users = read_users(self._path)
            except FileProblem as problem:
                raise RosterUnusable(problem.what, where=problem.where, do=problem.do) from problem
            self._users = {name_key(user.name): user for user in users}
            self._seen = stamp
        return self._users


def _stamp(path: Path) -> Stamp:
    """What changes with the file; a replaced file has another inode. The mode's change shows in the ctime."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_ino, found.st_mtime_ns, found.st_ctime_ns
