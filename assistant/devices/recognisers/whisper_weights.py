"""Reads the weights of a CTranslate2 model folder (`model.bin`), for the decoder of our own.

The format is that of CTranslate2's `ModelSpec.save` (ctranslate2/specs/model_spec.py, binary version 6), little-endian:
version, name of the specification, its revision, then each variable (name, shape, type, bytes), then aliases.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping
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


def read_weights(path: Path) -> Weights:
    """Every variable of a `model.bin` by its name; the arrays look into the mapped file."""
    try:
        reader = _Reader(np.memmap(path, np.uint8, "r"))
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
            do="fetch the model again with `layup models get`.",
        ) from fault
    return weights
