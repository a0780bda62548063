"""The users file: who may log in from elsewhere, in which role, and the hash of each passphrase. `layup users` writes it.

One JSON file in this user's data folder, for its owner alone (0600): {"kind": "layup users 1", "users": [{"name", "role",
"passphrase"}]}. A passphrase is kept as Argon2id's own text (RFC 9106) by libsodium (package PyNaCl), never as itself. It is
replaced whole or not at all. A file that others may read, or that is damaged, is refused with what to do; nobody gets in by it.
"""

from __future__ import annotations

import fcntl
import json
import os
import re
import stat
import tempfile
import unicodedata
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path

from assistant.core.problems import CallProblem, FileProblem, Place
from assistant.files.keys import LEAST_PASSPHRASE, MOST, Locking
from assistant.review.roles import ROLES, Role

KIND = "layup users 1"
LONGEST_NAME = 60
LONGEST_PASSPHRASE = 1000
"""Characters; more is no passphrase but work for us."""
MOST_BYTES = 1_000_000
LOCKING = Locking(3, 64 * 1024 * 1024)
"""RFC 9106, section 4, second choice (3 passes, 64 MiB), with one lane, as libsodium has it."""
HASH = re.compile(r"\$argon2id\$v=19\$m=(\d{1,9}),t=(\d{1,4}),p=1\$[A-Za-z0-9+/]{22}\$[A-Za-z0-9+/]{43}")
"""As libsodium's crypto_pwhash_str writes it: 16 bytes of salt, 32 of hash, in base64 without padding."""


@dataclass(frozen=True)
class User:
    """One who may log in; `passphrase` is the Argon2id text."""

    name: str
    role: Role
    passphrase: str


def users_path(environ: Mapping[str, str] = os.environ) -> Path:
    """`layup/users.json` of this user's data folder (XDG_DATA_HOME, else ~/.local/share)."""
    return Path(environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "layup" / "users.json"


def person_name(name: str) -> str:
    """A person's name as entries have it: NFC, single spaces between. CallProblem for one that cannot be.

    >>> person_name("  Ines   Voss ")
    'Ines Voss'
    """
    plain = " ".join(unicodedata.normalize("NFC", name).split())
    if not plain or len(plain) > LONGEST_NAME or not plain.isprintable():
        do = f"give 1 to {LONGEST_NAME} letters that can be seen"
        raise CallProblem(f"{name[:LONGEST_NAME]!r} cannot be a name", where="NAME", do=do)
    return plain


def name_key(name: str) -> str:
    """What two spellings of one name have in common: "ines  VOSS" is "Ines Voss". Never fails; cut at 60 letters."""
    return " ".join(unicodedata.normalize("NFKC", name[: 4 * LONGEST_NAME]).casefold().split())[:LONGEST_NAME]


def passphrase_bytes(passphrase: str) -> bytes:
    """What is hashed: NFKC, so that it is the same from every keyboard (NIST SP 800-63B, 5.1.1.2), in UTF-8."""
    return unicodedata.normalize("NFKC", passphrase).encode("utf-8", "surrogatepass")


def hashed(passphrase: str, locking: Locking = LOCKING) -> str:
    """The Argon2id text of a passphrase."""
    from nacl.pwhash import argon2id

    text: bytes = argon2id.str(passphrase_bytes(passphrase), locking.passes, locking.memory_bytes)
    return text.decode("ascii")


def fits(passphrase: str, kept: str) -> bool:
    """Is this the passphrase of that Argon2id text. Takes its time, and lets other threads work meanwhile."""
    from nacl.exceptions import InvalidkeyError
    from nacl.pwhash import argon2id

    try:
        return bool(argon2id.verify(kept.encode("ascii"), passphrase_bytes(passphrase)))
    except InvalidkeyError:
        return False


def read_users(path: Path) -> tuple[User, ...]:
    """All users of the file; none where there is no file.

    Raises FileProblem where others may read it or it is not ours (where passphrase hashes lie open, they can be guessed
    at elsewhere), and where it is damaged, with the line or the user that is.
    """
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NOFOLLOW)
    except FileNotFoundError:
        return ()
    except OSError as fault:
        do = "check who may read it; it must be a plain file"
        raise FileProblem(f"the users file cannot be read: {fault.strerror}", where=Place(str(path)), do=do) from fault
    with os.fdopen(descriptor, "rb") as file:
        _refuse_open_file(os.fstat(descriptor), path)
        data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise _damaged(path, "it is too large")
    try:
        return _users_in(json.loads(data.decode("utf-8")), path)
    except json.JSONDecodeError as fault:
        raise _damaged(path, fault.msg, fault.lineno, fault.colno) from fault
    except (UnicodeDecodeError, RecursionError) as fault:
        raise _damaged(path, "it is no text in UTF-8, or no list of users") from fault


def add_user(path: Path, name: str, role: Role, passphrase: str, locking: Locking = LOCKING) -> User:
    """Add one; CallProblem for a name that is taken or cannot be, or for a passphrase that is too short or too long."""
    name = person_name(name)
    if not LEAST_PASSPHRASE <= len(passphrase) <= LONGEST_PASSPHRASE:
        do = f"give {LEAST_PASSPHRASE} to {LONGEST_PASSPHRASE} characters"
        raise CallProblem("the passphrase is too short or too long", where=name, do=do)
    with _alone(path):
        users = read_users(path)
        if any(name_key(user.name) == name_key(name) for user in users):
            do = f"take it away first (layup users remove {name!r}), or give another name"
            raise CallProblem("there is a user of that name already", where=name, do=do)
        user = User(name, role, hashed(passphrase, locking))
        _write(path, (*users, user))
    return user


def remove_user(path: Path, name: str) -> User:
    """Take one away; who it was. Their sessions end with the next page. CallProblem where there is none of that name."""
    with _alone(path):
        users = read_users(path)
        gone = next((user for user in users if name_key(user.name) == name_key(name)), None)
        if gone is None:
            raise CallProblem(f"there is no user {name!r}", where=str(path), do="`layup users list` lists them")
        _write(path, tuple(user for user in users if user is not gone))
    return gone


def list_users(path: Path) -> tuple[str, ...]:
    """The users, a line each."""
    users = read_users(path)
    lines = tuple(f"{user.name}: {user.role}" for user in users)
    return (
        (*lines, f"file: {path}") if users else (f"no users in {path}; `layup users add NAME --role foreman` adds one",)
    )


def _refuse_open_file(found: os.stat_result, path: Path) -> None:
    if not stat.S_ISREG(found.st_mode):
        raise _damaged(path, "it is no plain file")
    if found.st_uid != os.geteuid():
        do = f"run as the user whose file it is, or: chown {os.geteuid()} {path}"
        raise FileProblem("the users file belongs to another user", where=Place(str(path)), do=do)
    if found.st_mode & 0o077:
        do = f"chmod 600 {path}; then give those in it new passphrases, if others may have read it"
        raise FileProblem("others may read or change the users file", where=Place(str(path)), do=do)


def _damaged(path: Path, what: str, line: int = 0, column: int = 0) -> FileProblem:
    do = "put back a copy of it, or take it away and add the users anew (layup users add)"
    return FileProblem(f"the users file is damaged: {what}", where=Place(str(path), line, column), do=do)


def _users_in(data: object, path: Path) -> tuple[User, ...]:
    if not isinstance(data, dict) or data.get("kind") != KIND or not isinstance(data.get("users"), list):
        raise _damaged(path, f'it is not {{"kind": "{KIND}", "users": [...]}}')
    users: list[User] = []
    for number, one in enumerate(data["users"], 1):
        what = _wrong_with(one)
        if not what and name_key(one["name"]) in {name_key(user.name) for user in users}:
            what = "the name is there twice"
        if what:
            raise _damaged(path, f"user {number}: {what}")
        users.append(User(one["name"], one["role"], one["passphrase"]))
    return tuple(users)


def _wrong_with(one: object) -> str:
    """What is wrong with one user of the file; "" where nothing is."""
    if not isinstance(one, dict) or set(one) != {"name", "role", "passphrase"}:
        return "it must have name, role and passphrase, and nothing else"
    if not all(isinstance(value, str) for value in one.values()):
        return "name, role and passphrase must be text"
    try:
        plain = person_name(one["name"])
    except CallProblem:
        plain = ""
    if plain != one["name"]:
        return "that cannot be a name"
    if one["role"] not in ROLES:
        return f"the role must be one of {', '.join(ROLES)}"
    found = HASH.fullmatch(one["passphrase"])
    if not found or int(found[1]) * 1024 > MOST.memory_bytes or int(found[2]) > MOST.passes:
        return "its passphrase is no hash of ours"
    return ""


@contextmanager
def _alone(path: Path) -> Iterator[None]:
    """One writer at a time, held on the folder: two who add at once both stay."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        descriptor = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    except OSError as fault:
        raise CallProblem(f"cannot be used: {fault.strerror}", where=str(path.parent), do="check the folder") from fault
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)


def _write(path: Path, users: tuple[User, ...]) -> None:
    """Replaced whole: a new file (mkstemp makes it 0600), on disk before it takes the name."""
    text = json.dumps({"kind": KIND, "users": [asdict(user) for user in users]}, ensure_ascii=False, indent=1)
    made = ""
    try:
        descriptor, made = tempfile.mkstemp(prefix=".users-", dir=path.parent)
        with os.fdopen(descriptor, "w", encoding="utf-8") as file:
            file.write(text + "\n")
            file.flush()
            os.fsync(descriptor)
        Path(made).replace(path)
    except OSError as fault:
        if made:
            with suppress(OSError):
                Path(made).unlink()
        raise CallProblem(f"cannot be written: {fault.strerror}", where=str(path), do="check the folder") from fault
