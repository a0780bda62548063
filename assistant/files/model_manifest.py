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
class Model:
    """One model. `files` gives each file's SHA-256 in hexadecimal; `wheel` is None for a committed one."""

    name: str
    ear: str
    about: str
    licence: str
    size_bytes: int
    sources: tuple[str, ...]
    files: Mapping[str, str]
    wheel: Wheel | None = None


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
        )
    except (KeyError, TypeError, ValueError) as fault:
        raise _problem(path, f"[{name}] lacks a field or has a wrong one: {fault}") from fault
    if found.ear not in EARS:
        raise _problem(path, f"[{name}] is for no ear there is: {found.ear!r}")
    return found


def _problem(path: Path, what: str) -> FileProblem:
    return FileProblem(what, where=Place(str(path)), do="restore the file from the project.")
