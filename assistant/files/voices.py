"""The voices that were learnt: a folder each, in this user's data folder, with a copy of the bench model changed for
that voice.

`voice.json` in it tells whose it is, which folder beside it holds the model, the SHA-256 of the whole of it and of the
model that it was made from (a changed one is another model, so the voice is not used with it), and what was gained. A new
model is written in a folder of its own and on the disk before `voice.json` is replaced in one step (rename of POSIX): whatever
interrupts, the old voice or the new one is found, whole. What else lies there is removed when the next one is kept.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from tempfile import mkdtemp
from typing import Any, Literal

from assistant.core.problems import CallProblem, ModelProblem
from assistant.files.model_store import sha256_of
from assistant.files.opening import to_disk

PARTS = ("am", "conf", "graph")
"""The folders of a Vosk model that the program uses."""
CHANGED = Path("am") / "final.mdl"
ABOUT, ABOUT_NEXT = "voice.json", "voice.json.next"
MODEL = "model-"
"""How the folder of a voice's model begins; each that is learnt has another."""
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
    """A voice that was kept, and whether it can be used with the base model that there is; `why` where it cannot.

    `folder` holds its model and `sha256` is that model's; `about` is None where what was noted cannot be read.
    """

    name: str
    folder: Path
    about: Learnt | None
    sha256: str
    state: Literal["usable", "other base", "damaged"]
    why: str = ""

    @property
    def label(self) -> str:
        """Which model heard, for the record: the name and the first 8 of its SHA-256."""
        return f"voice {self.name} {self.sha256[:8]}"

    def text(self) -> str:
        """For a person, in two lines; one where nothing is known of it."""
        a = self.about
        if a is None:
            return f"voice {self.name}: damaged; {self.why}"
        head = f"voice {self.name}: learnt {a.learnt} for {a.base}; {self.why or 'used where --technician names it'}"
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

    ModelProblem where the data folder cannot be written; then what was kept before is found as it was.
    """
    place = root / checked_name(about.name)
    try:
        place.mkdir(parents=True, exist_ok=True)
        try:
            return _keep(place, about, base, write)
        finally:
            _tidy(place)
    except OSError as fault:
        raise ModelProblem(f"the voice cannot be kept: {fault}", where=str(root), do="nothing was changed") from fault


def _keep(place: Path, about: Learnt, base: Path, write: Callable[[Path], None]) -> Path:
    new = Path(mkdtemp(dir=place, prefix=MODEL))
    for part in PARTS:
        shutil.copytree(base / part, new / part)
    of_base = model_sha256(new)
    write(new / CHANGED)
    sums = {"model": new.name, "base_sha256": of_base, "model_sha256": model_sha256(new)}
    note = place / ABOUT_NEXT
    note.write_text(json.dumps({**asdict(about), **sums}, indent=1, ensure_ascii=False), "utf-8")
    for path in (*new.rglob("*"), new, note, place):
        to_disk(path)
    note.replace(place / ABOUT)
    for folder in (place, place.parent, place.parent.parent):
        to_disk(folder)
    return new


def _tidy(place: Path) -> None:
    """Remove what `voice.json` does not name: the model that was replaced, and what an interrupted keeping left."""
    try:
        named = str(json.loads((place / ABOUT).read_text("utf-8"))["model"])
    except (OSError, ValueError, KeyError, TypeError):
        named = ""
    for folder in place.glob(f"{MODEL}*"):
        if folder.name != named:
            shutil.rmtree(folder, ignore_errors=True)
    with suppress(OSError):
        (place / ABOUT_NEXT).unlink(missing_ok=True)
        if not (place / ABOUT).exists():
            place.rmdir()


def find_voice(root: Path, name: str, base: Path) -> Voice | None:
    """The voice of that name, seen from the base model that there is now; None where none was learnt."""
    place = root / checked_name(name)
    return _voice(place, _base_sha256(base)) if place.name in names_of(root) else None


def list_voices(root: Path, base: Path) -> tuple[Voice, ...]:
    """Every voice, by name, the damaged ones too."""
    names = names_of(root)
    base_sha256 = _base_sha256(base) if names else ""
    return tuple(_voice(root / name, base_sha256) for name in names)


def names_of(root: Path) -> tuple[str, ...]:
    """Whose voices were learnt, in order."""
    try:
        return tuple(sorted(path.parent.name for path in root.glob(f"*/{ABOUT}")))
    except OSError as fault:
        raise ModelProblem(
            f"the voices cannot be read: {fault}", where=str(root), do="see that this user may read that folder"
        ) from fault


def noted_of(root: Path, name: str) -> bytes:
    """What is noted of that voice, byte for byte; nothing where none was learnt."""
    try:
        return (root / checked_name(name) / ABOUT).read_bytes()
    except OSError:
        return b""


def forget_voice(root: Path, name: str) -> Path:
    """Remove a voice; the folder that it had. CallProblem, naming those there are, where there is none of that name.

    What names it goes last: where that is interrupted, the voice is still listed, as damaged, and can be forgotten again.
    """
    place = root / checked_name(name)
    if place.name not in (there := names_of(root)):
        raise CallProblem(
            f"no voice of {place.name} was learnt",
            where=str(root),
            do=f"the voices are: {', '.join(there) or 'none'}",
        )
    try:
        for folder in place.glob(f"{MODEL}*"):
            shutil.rmtree(folder)
        shutil.rmtree(place)
    except OSError as fault:
        raise ModelProblem(f"the voice cannot be removed: {fault}", where=str(place), do="remove it by hand") from fault
    return place


def _base_sha256(base: Path) -> str:
    try:
        return model_sha256(base)
    except OSError as fault:
        raise ModelProblem(
            f"the model cannot be read: {fault}", where=str(base), do="see that this user may read that folder"
        ) from fault


def _voice(place: Path, base_sha256: str) -> Voice:
    path = place / ABOUT
    try:
        table = json.loads(path.read_text("utf-8"))
        about, folder = _learnt(table), place / str(table["model"])
        of_base, of_model = str(table["base_sha256"]), str(table["model_sha256"])
        whole = model_sha256(folder) == of_model
    except (OSError, ValueError, KeyError, TypeError, OverflowError) as fault:
        why = f"what is noted of it cannot be read ({path}: {fault}), so it is not used; enrol again"
        return Voice(place.name, place, None, "", "damaged", why)
    state: Literal["usable", "other base", "damaged"] = "damaged"
    why = ""
    if not whole:
        why = "a file of its model is damaged, so it is not used; enrol again"
    elif about.name != place.name:
        why = f"it is a copy of the voice of {about.name}, so it is not used; enrol {place.name}"
    elif of_base != base_sha256:
        state, why = "other base", "made from another model than there is now, so it is not used; enrol again"
    else:
        state = "usable"
    return Voice(place.name, folder, about, of_model, state, why)


def _learnt(table: Any) -> Learnt:
    return Learnt(
        name=str(table["name"]),
        base=str(table["base"]),
        learnt=str(table["learnt"]),
        speech_dbfs=float(table["speech_dbfs"]),
        noise_dbfs=float(table["noise_dbfs"]),
        before=_tally(table["before"]),
        after=_tally(table["after"]),
    )


def _tally(table: Any) -> Tally:
    prompts, right, words, wrong = (int(table[key]) for key in ("prompts", "right", "words", "wrong"))
    return Tally(prompts, right, words, wrong, float(table["score"]))
