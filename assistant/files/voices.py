"""The voices that were learnt: a folder each, in this user's data folder, with a copy of the bench model changed for
that voice.

`voice.json` in it tells whose it is, the SHA-256 of the model that it was made from (a changed one is another model,
so the voice is not used with it) and of the changed part, and what was gained. A voice is made beside its place and
renamed into it: whatever interrupts, what was kept before stays.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Literal

from assistant.core.problems import CallProblem, ModelProblem
from assistant.files.model_store import sha256_of

PARTS = ("am", "conf", "graph")
"""The folders of a Vosk model that the program uses."""
CHANGED = Path("am") / "final.mdl"
ABOUT = "voice.json"
LONGEST_NAME = 60


@dataclass(frozen=True)
class Tally:
    """How a model heard the prompts that were kept for judging. `score`: mean logarithm of P(what was said | sound), a word."""

    prompts: int
    right: int
    words: int
    wrong: int
    score: float


@dataclass(frozen=True)
class Learnt:
    """What is noted of a voice. Levels in dB below full scale, speech and the noise floor; `learnt` is the UTC date."""

    name: str
    base: str
    learnt: str
    speech_dbfs: float
    noise_dbfs: float
    before: Tally
    after: Tally


@dataclass(frozen=True)
class Voice:
    """A voice that was kept, and whether it can be used with the base model that there is; `why` where it cannot."""

    folder: Path
    about: Learnt
    state: Literal["usable", "other base", "damaged"]
    why: str = ""

    def text(self) -> str:
        """For a person, in two lines."""
        a = self.about
        head = f"voice {a.name}: learnt {a.learnt} for {a.base}; {self.why or 'used where --technician names it'}"
        levels = f"speech {a.speech_dbfs:.0f} dBFS, noise floor {a.noise_dbfs:.0f} dBFS"
        return f"{head}\n  {a.before.wrong} words wrong before, {a.after.wrong} after, of {a.after.words}; {levels}"


def voices_root(environ: Mapping[str, str] = os.environ) -> Path:
    """Where voices are kept: `layup/voices` of this user's data folder (XDG_DATA_HOME, else ~/.local/share)."""
    return Path(environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "layup" / "voices"


def checked_name(name: str) -> str:
    """The technician's name as a folder can have it, single spaces between. CallProblem for one that cannot be."""
    plain = " ".join(name.split())
    if (
        not plain
        or len(plain) > LONGEST_NAME
        or plain.startswith(".")
        or not plain.isprintable()
        or set(plain) & set("/\\")
    ):
        do = f"give 1 to {LONGEST_NAME} letters, without / or \\, not beginning with a dot"
        raise CallProblem(f"{name!r} cannot be the name of a voice", where="NAME", do=do)
    return plain


def model_sha256(folder: Path) -> str:
    """One SHA-256 of all files of a Vosk model, their names and their own sums in order."""
    files = sorted(path for part in PARTS for path in (folder / part).rglob("*") if path.is_file())
    lines = [f"{sha256_of(path)}  {path.relative_to(folder).as_posix()}\n" for path in files]
    return hashlib.sha256("".join(lines).encode()).hexdigest()


def keep_voice(root: Path, about: Learnt, base: Path, write: Callable[[Path], None]) -> Path:
    """Keep a copy of `base` whose `am/final.mdl` is what `write` writes; its folder. One of that name is replaced.

    ModelProblem where the data folder cannot be written; then it is as it was.
    """
    place = root / checked_name(about.name)
    try:
        root.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(dir=root, prefix=".learning-") as scratch:
            new, old = Path(scratch) / "new", Path(scratch) / "old"
            for part in PARTS:
                shutil.copytree(base / part, new / part)
            write(new / CHANGED)
            sums = {"base_sha256": model_sha256(base), "changed_sha256": sha256_of(new / CHANGED)}
            (new / ABOUT).write_text(json.dumps({**asdict(about), **sums}, indent=1, ensure_ascii=False), "utf-8")
            _exchange(new, place, old)
    except OSError as fault:
        raise ModelProblem(f"the voice cannot be kept: {fault}", where=str(root), do="nothing was changed") from fault
    return place


def _exchange(new: Path, place: Path, old: Path) -> None:
    """Put `new` into its place; what is there goes to `old`, and comes back if that fails."""
    if place.exists():
        place.rename(old)
    try:
        new.rename(place)
    except BaseException:
        if old.exists():
            old.rename(place)
        raise


def find_voice(root: Path, name: str, base: Path) -> Voice | None:
    """The voice of that name, seen from the base model that there is now; None where none was learnt."""
    folder = root / checked_name(name)
    return _voice(folder, model_sha256(base)) if (folder / ABOUT).is_file() else None


def list_voices(root: Path, base: Path) -> tuple[Voice, ...]:
    """Every voice, by name."""
    folders = sorted(path.parent for path in root.glob(f"*/{ABOUT}") if not path.parent.name.startswith("."))
    base_sha256 = model_sha256(base) if folders else ""
    return tuple(_voice(folder, base_sha256) for folder in folders)


def forget_voice(root: Path, name: str) -> Path:
    """Remove a voice; the folder that it had. CallProblem, naming those there are, where there is none of that name."""
    folder = root / checked_name(name)
    if not (folder / ABOUT).is_file():
        there = ", ".join(sorted(path.parent.name for path in root.glob(f"*/{ABOUT}"))) or "none"
        raise CallProblem(f"no voice of {folder.name} was learnt", where=str(root), do=f"the voices are: {there}")
    try:
        shutil.rmtree(folder)
    except OSError as fault:
        raise ModelProblem(
            f"the voice cannot be removed: {fault}", where=str(folder), do="remove it by hand"
        ) from fault
    return folder


def _voice(folder: Path, base_sha256: str) -> Voice:
    path = folder / ABOUT
    try:
        table = json.loads(path.read_text("utf-8"))
        of_base, of_changed = str(table["base_sha256"]), str(table["changed_sha256"])
        noted = {f.name: table[f.name] for f in fields(Learnt)}
        about = Learnt(**{**noted, "before": Tally(**noted["before"]), "after": Tally(**noted["after"])})
        whole = sha256_of(folder / CHANGED) == of_changed
    except (OSError, ValueError, KeyError, TypeError) as fault:
        raise ModelProblem(
            f"what is noted of this voice cannot be read: {fault}",
            where=str(path),
            do=f"remove {folder} and enrol again",
        ) from fault
    if not whole:
        return Voice(folder, about, "damaged", f"its file {CHANGED} is damaged, so it is not used; enrol again")
    if of_base != base_sha256:
        return Voice(
            folder, about, "other base", "made from another model than there is now, so it is not used; enrol again"
        )
    return Voice(folder, about, "usable")
