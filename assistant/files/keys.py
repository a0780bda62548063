"""Signing keys: Ed25519 (RFC 8032) by libsodium (package PyNaCl), kept under a passphrase. What is signed is `signed_text`.

A key is two files in this user's data folder. `NAME.key`, JSON, for its owner alone: the 32 bytes of the seed in
libsodium's secret box, locked with the passphrase by Argon2id (RFC 9106). `NAME.pem`, for everybody: the public key as
SubjectPublicKeyInfo (RFC 8410), which OpenSSL reads. Public keys of others may lie there too: those are known by name.
"""

from __future__ import annotations

import base64
import binascii
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from assistant.core.problems import CallProblem

SECRET, PUBLIC = ".key", ".pem"
KIND = "layup signing key 1"
PEM_BEGIN, PEM_END = "-----BEGIN PUBLIC KEY-----", "-----END PUBLIC KEY-----"
SPKI_ED25519 = bytes.fromhex("302a300506032b6570032100")
"""What stands before the 32 bytes of the key (RFC 8410, section 4 and the example of 10.1)."""
LEAST_PASSPHRASE = 8
"""Characters; NIST SP 800-63B, 5.1.1.1."""
LONGEST_NAME = 60


@dataclass(frozen=True)
class Locking:
    """How much work a guess at the passphrase costs: passes, and bytes of memory."""

    passes: int
    memory_bytes: int


LOCKING = Locking(3, 256 * 1024 * 1024)
"""libsodium's "moderate": about 0.7 s on a server core (its manual, Password hashing)."""
MOST = Locking(16, 1024**3)
"""A key file that asks for more is damaged, or was made to stop the machine."""


class SigningKey:
    """A key that was unlocked. `public` is 64 small hex digits."""

    def __init__(self, seed: bytes) -> None:
        from nacl.signing import SigningKey as Sodium

        self._key = Sodium(seed)
        self.public = bytes(self._key.verify_key).hex()

    def sign(self, text: bytes) -> bytes:
        """The 64 bytes of the signature over this text."""
        return self._key.sign(text).signature


def signed_text(sha256: str) -> bytes:
    """What a job's signature is over: the hash of the entry `job signed`, behind words that make it good for nothing else."""
    return f"layup job signature 1 {sha256}".encode("ascii")


def signature_fits(public: str, text: bytes, signature: str) -> bool:
    """Is this the signature (128 hex digits) of that public key (64 hex digits) over the text."""
    from nacl.exceptions import BadSignatureError
    from nacl.signing import VerifyKey

    try:
        VerifyKey(bytes.fromhex(public)).verify(text, bytes.fromhex(signature))
    except (BadSignatureError, ValueError):
        return False
    return True


def keys_root(environ: Mapping[str, str] = os.environ) -> Path:
    """Where keys are kept: `layup/keys` of this user's data folder (XDG_DATA_HOME, else ~/.local/share)."""
    return Path(environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "layup" / "keys"


def key_name(name: str) -> str:
    """The owner's name as a file can have it, single spaces between. CallProblem for one that cannot be."""
    plain = " ".join(name.split())
    odd = not plain or len(plain) > LONGEST_NAME or plain.startswith(".") or not plain.isprintable()
    if odd or set(plain) & set("/\\"):
        do = f"give 1 to {LONGEST_NAME} letters, without / or \\, not beginning with a dot"
        raise CallProblem(f"{name!r} cannot be the name of a key", where="NAME", do=do)
    return plain


def make_key(name: str, passphrase: str, root: Path, locking: Locking = LOCKING) -> str:
    """Make a key of that name; its public key. CallProblem where there is one, or for too short a passphrase."""
    from nacl.utils import random

    name = key_name(name)
    if len(passphrase) < LEAST_PASSPHRASE:
        raise CallProblem("the passphrase is too short", where=name, do=f"give at least {LEAST_PASSPHRASE} characters")
    secret, public = root / f"{name}{SECRET}", root / f"{name}{PUBLIC}"
    for path in (secret, public):
        if path.exists():
            raise CallProblem("there is a key of that name already", where=str(path), do="give another name")
    seed = random(32)
    key = SigningKey(seed)
    try:
        root.mkdir(parents=True, exist_ok=True, mode=0o700)
        descriptor = os.open(secret, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "w", encoding="ascii") as file:
            json.dump(_locked(seed, key.public, passphrase, locking), file, indent=1)
        public.write_text(pem_of(key.public), encoding="ascii")
    except OSError as fault:
        raise CallProblem(f"cannot be written: {fault.strerror}", where=str(root), do="check the folder") from fault
    return key.public


def unlock(path: Path, passphrase: str) -> SigningKey:
    """The key of a key file. CallProblem where there is none, where it is damaged, or for another passphrase."""
    from nacl.exceptions import CryptoError

    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        raise CallProblem("cannot be read as a key file", where=str(path), do="check who may read it") from fault
    try:
        seed, public = _unlocked(json.loads(text), passphrase)
    except (ValueError, KeyError, TypeError, RuntimeError) as fault:  # libsodium's own are of these too
        raise CallProblem("this is no key file, or a damaged one", where=str(path), do="take a copy of it") from fault
    except CryptoError as fault:
        do = "try again; without the passphrase the key is lost: make another"
        raise CallProblem("that is not the passphrase of this key", where=str(path), do=do) from fault
    key = SigningKey(seed)
    if key.public != public:
        raise CallProblem("this key file is damaged: its halves differ", where=str(path), do="take a copy of it")
    return key


def known_keys(root: Path) -> dict[str, str]:
    """Public key -> name, of all that lie in the folder. One that cannot be read is left out."""
    found = {}
    for path in sorted(root.glob(f"*{PUBLIC}")):
        try:
            found[public_in(path)] = path.stem
        except CallProblem:
            continue
    return found


def list_keys(root: Path) -> tuple[str, ...]:
    """The keys that lie in the folder, a line each: those that can sign here, and those only known."""
    lines = []
    for public, name in known_keys(root).items():
        can = "signs here" if (root / f"{name}{SECRET}").is_file() else "known"
        lines.append(f"{name}: {can}, public key {public}")
    return (*lines, f"folder: {root}") if lines else (f"no keys in {root}; `layup keys make NAME` makes one",)


def key_file(named: str, root: Path) -> Path:
    """The key file that a name, or a path, means. CallProblem where there is none."""
    path = Path(named) if named.endswith(SECRET) else root / f"{key_name(named)}{SECRET}"
    if not path.is_file():
        do = "`layup keys` lists the keys; `layup keys make NAME` makes one"
        raise CallProblem("there is no such key", where=str(path), do=do)
    return path


def pem_of(public: str) -> str:
    """The public key as OpenSSL reads it."""
    body = base64.b64encode(SPKI_ED25519 + bytes.fromhex(public)).decode("ascii")
    return f"{PEM_BEGIN}\n{body}\n{PEM_END}\n"


def public_in(path: Path) -> str:
    """The public key of a PEM file, 64 hex digits. CallProblem where there is none in it."""
    try:
        text = path.read_text(encoding="ascii").strip()
        body = text.removeprefix(PEM_BEGIN).removesuffix(PEM_END)
        data = base64.b64decode("".join(body.split()), validate=True)
        whole = text.startswith(PEM_BEGIN) and data.startswith(SPKI_ED25519) and len(data) == len(SPKI_ED25519) + 32
    except (OSError, UnicodeDecodeError, binascii.Error):
        whole, data = False, b""
    if not whole:
        raise CallProblem("this is no public key", where=str(path), do="name the .pem of an Ed25519 key (`layup keys`)")
    return data[len(SPKI_ED25519) :].hex()


def _locked(seed: bytes, public: str, passphrase: str, locking: Locking) -> dict[str, str | int]:
    from nacl.pwhash import argon2id
    from nacl.secret import SecretBox
    from nacl.utils import random

    salt = random(argon2id.SALTBYTES)
    box = SecretBox(argon2id.kdf(32, passphrase.encode(), salt, locking.passes, locking.memory_bytes)).encrypt(seed)
    return {
        "kind": KIND,
        "public": public,
        "salt": salt.hex(),
        "passes": locking.passes,
        "memory_bytes": locking.memory_bytes,
        "box": bytes(box).hex(),
    }


def _unlocked(locked: dict[str, str | int], passphrase: str) -> tuple[bytes, str]:
    """The seed, and the public key that it should have."""
    from nacl.pwhash import argon2id
    from nacl.secret import SecretBox

    passes, memory_bytes = int(locked["passes"]), int(locked["memory_bytes"])
    if locked["kind"] != KIND or passes > MOST.passes or memory_bytes > MOST.memory_bytes:
        raise ValueError("another kind of file")
    salt, box = bytes.fromhex(str(locked["salt"])), bytes.fromhex(str(locked["box"]))
    opener = SecretBox(argon2id.kdf(32, passphrase.encode(), salt, passes, memory_bytes))
    return opener.decrypt(box), str(locked["public"])
