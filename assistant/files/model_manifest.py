"""What `models/manifest.toml` says of each model: licence, size, sources, and the SHA-256 of every file."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.core.problems import CallProblem, FileProblem, Place

MANIFEST = "manifest.toml"
EARS = ("vosk", "whisper")


@dataclass(frozen=True)
class Wheel:
    """The parcel that a model travels in: a wheel of the Python package index; the files lie in its folder `inside`."""

    package: str
    version: str
    size_bytes: int
    sha256: str
    inside: str


@dataclass(frozen=True)
class Training:
    """When a model was trained, on how many hours of which speech (per cent of them), and who was kept out of it."""

    date: str
    hours: float
    shares_percent: Mapping[str, float]
    kept_apart: str = ""

    def text(self) -> str:
        """For a person, in one line, or two where somebody was kept apart."""
        shares = "; ".join(f"{share:g} % {source}" for source, share in self.shares_percent.items())
        trained = f"trained {self.date} on {self.hours:,g} hours: {shares}"
        return trained + (f"\n  kept apart from its training: {self.kept_apart}" if self.kept_apart else "")


@dataclass(frozen=True)
class Model:
    """One model. `files` gives each file's SHA-256 in hexadecimal; `wheel` is None for a committed one.

    `languages` by their two letters (ISO 639-1).
    """

    name: str
    ear: str
    about: str
    licence: str
    size_bytes: int
    sources: tuple[str, ...]
    files: Mapping[str, str]
    wheel: Wheel | None = None
    languages: tuple[str, ...] = ()
    trained: Training | None = None


def read_manifest(folder: Path) -> Mapping[str, Model]:
    """Every model that `folder`'s manifest names. FileProblem where it is missing or wrong."""
    path = folder / MANIFEST
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise _problem(path, f"the list of models cannot be read: {fault}") from fault
    return {name: _model(path, name, entry) for name, entry in table.items()}


def model_named(models: Mapping[str, Model], name: str) -> Model:
    """That model; CallProblem naming those there are."""
    if name not in models:
        raise CallProblem(f"there is no model {name!r}", do=f"the models are: {', '.join(models)}.")
    return models[name]


def _model(path: Path, name: str, entry: Any) -> Model:
    try:
        found = Model(
            name=name,
            ear=str(entry["ear"]),
            about=str(entry["about"]),
            licence=str(entry["licence"]),
            size_bytes=int(entry["size_bytes"]),
            sources=tuple(entry["sources"]),
            files=dict(entry["files"]),
            wheel=Wheel(**entry["wheel"]) if "wheel" in entry else None,
            languages=tuple(entry.get("languages", ())),
            trained=_training(entry["trained"]) if "trained" in entry else None,
        )
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        raise _problem(path, f"[{name}] lacks a field or has a wrong one: {fault}") from fault
    if found.ear not in EARS:
        raise _problem(path, f"[{name}] is for no ear there is: {found.ear!r}")
    return found


def _training(entry: Any) -> Training:
    shares = {str(source): float(share) for source, share in entry["shares_percent"].items()}
    return Training(str(entry["date"]), float(entry["hours"]), shares, str(entry.get("kept_apart", "")))


def _problem(path: Path, what: str) -> FileProblem:
    return FileProblem(what, where=Place(str(path)), do="restore the file from the project.")
