"""Reads the weights of a CTranslate2 model folder (`model.bin`), and adds to them what they were taught for the bench.

The format is that of CTranslate2's `ModelSpec.save` (ctranslate2/specs/model_spec.py, binary version 6), little-endian:
version, name of the specification, its revision, then each variable (name, shape, type, bytes), then aliases.
"""

from __future__ import annotations

import struct
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.core.problems import ModelProblem

Weights = Mapping[str, npt.NDArray[np.generic]]

_VERSION = 6
_TYPES = (np.float32, np.int8, np.int16, np.int32, np.float16)


class _Reader:
    """Walks through the bytes of one file without copying the weights."""

    def __init__(self, data: npt.NDArray[np.uint8]) -> None:
        self.data = data
        self.at = 0

    def take(self, size: int) -> npt.NDArray[np.uint8]:
        if self.at + size > len(self.data):
            raise ValueError(f"the file ends at byte {len(self.data)}, before the weights do")
        self.at += size
        return self.data[self.at - size : self.at]

    def numbers(self, layout: str) -> tuple[int, ...]:
        return struct.unpack(f"<{layout}", self.take(struct.calcsize(f"<{layout}")).tobytes())

    def number(self, layout: str) -> int:
        return self.numbers(layout)[0]

    def text(self) -> str:
        return self.take(self.number("H")).tobytes().rstrip(b"\0").decode()

    def variable(self) -> tuple[str, npt.NDArray[np.generic]]:
        name = self.text()
        shape = self.numbers(f"{self.number('B')}I")
        kind = _TYPES[self.number("B")]
        return name, np.frombuffer(self.take(self.number("I")), kind).reshape(shape)


@dataclass(frozen=True, eq=False)
class ModelFile:
    """A `model.bin` in memory: its bytes, and every variable by its name, which looks into them.

    The bytes are this process's own: the file is mapped, and only what is written to is copied.
    """

    path: Path
    data: npt.NDArray[np.uint8]
    weights: Weights

    def learn(self, lesson: Path) -> None:
        """Add a lesson to the weights: `teach.py` of the bench model's recipe says how it is made.

        NAME/in (rank, columns) and NAME/out (rows, rank) multiplied are added to NAME (low-rank adaptation, Hu et al.
        2021); anything else is put in its place. ModelProblem where the lesson cannot be read or is for other weights.
        """
        try:
            with lesson.open("rb") as file, np.load(file, allow_pickle=False) as learnt:
                for name in learnt.files:
                    self._learn(name, learnt)
        except (OSError, EOFError, ValueError, KeyError, TypeError, zipfile.BadZipFile) as fault:
            raise ModelProblem(
                f"what Whisper was taught cannot be added to {self.path}: {fault}",
                where=str(lesson),
                do="restore it from the project; if it is whole, fetch the model again: `layup models get whisper-tiny-en`.",
            ) from fault

    def _learn(self, name: str, learnt: Mapping[str, npt.NDArray[np.float16]]) -> None:
        matrix, _, side = name.rpartition("/")
        if side == "out":
            added = learnt[name].astype(np.float32) @ learnt[f"{matrix}/in"].astype(np.float32)
            _put(self.weights[matrix], self.weights[matrix].astype(np.float32) + added)
        elif side != "in":
            _put(self.weights[name], learnt[name])
        elif f"{matrix}/out" not in learnt:
            raise ValueError(f"{name} has no other half")


def read_model(path: Path) -> ModelFile:
    """A whole `model.bin`. ModelProblem where it is none."""
    try:
        reader = _Reader(np.memmap(path, np.uint8, "c"))
        if (version := reader.number("I")) != _VERSION:
            raise ValueError(f"its format is {version}, not {_VERSION}")
        reader.text()
        reader.number("I")
        weights = dict(reader.variable() for _ in range(reader.number("I")))
        for _ in range(reader.number("I")):
            alias, name = reader.text(), reader.text()
            weights[alias] = weights[name]
    except (OSError, ValueError, IndexError, KeyError, UnicodeDecodeError) as fault:
        raise ModelProblem(
            f"the weights cannot be read: {fault}",
            where=str(path),
            do="fetch the model again with `layup models get whisper-tiny-en`.",
        ) from fault
    return ModelFile(path, reader.data, weights)


def _put(place: npt.NDArray[np.generic], values: npt.NDArray[np.floating]) -> None:
    if place.shape != values.shape:
        raise ValueError(f"a matrix of {values.shape} where there is one of {place.shape}")
    place[...] = values.astype(place.dtype)
