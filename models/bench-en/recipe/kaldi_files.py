"""Kaldi's binary files, as far as a Vosk model needs them: transition model and nnet3 network, written and read back.

The layouts are those of Kaldi's `io-funcs-inl.h`, `transition-model.cc`, `nnet-nnet.cc`, `nnet-simple-component.cc` and, for
matrices of two bytes a number, `compressed-matrix.h`.
Reading back serves the comparison of an export with the trainer's own output.
"""

import io
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

BATCH_NORM = (
    ("<Dim>", "int"), ("<BlockDim>", "int"), ("<Epsilon>", "float"), ("<TargetRms>", "float"), ("<TestMode>", "bool"),
    ("<Count>", "double"), ("<StatsMean>", "vector"), ("<StatsVar>", "vector"),
)  # fmt: skip
LAYOUTS: dict[str, tuple[tuple[str, str], ...]] = {
    "AffineComponent": (("<LearningRate>", "float"), ("<LinearParams>", "matrix"), ("<BiasParams>", "vector")),
    "RectifiedLinearComponent": (
        ("<Dim>", "int"), ("<ValueAvg>", "vector"), ("<DerivAvg>", "vector"), ("<Count>", "double"),
        ("<NumDimsSelfRepaired>", "double"), ("<NumDimsProcessed>", "double"),
    ),
    "BatchNormComponent": BATCH_NORM,
    "NoOpComponent": (("<Dim>", "int"), ("<BackpropScale>", "float")),
}  # fmt: skip
"""Tokens of each component, in order, with the kind of what follows."""
STANDING: dict[str, Any] = {
    "<LearningRate>": 0.001, "<ValueAvg>": (), "<DerivAvg>": (), "<NumDimsSelfRepaired>": 0.0, "<NumDimsProcessed>": 0.0,
    "<TargetRms>": 1.0, "<TestMode>": True, "<BackpropScale>": 1.0, "<Count>": 0.0,
}  # fmt: skip
"""Values that are the same in every component."""
STEPS = 65_535


@dataclass(frozen=True)
class Component:
    """A component: its type of `LAYOUTS`, and its values by token, save those of `STANDING`."""

    name: str
    type: str
    values: dict[str, Any]


class Writer:
    """Collects one binary file."""

    def __init__(self) -> None:
        self.out = io.BytesIO()
        self.out.write(b"\0B")

    def raw(self, text: str) -> None:
        """Text as it is."""
        self.out.write(text.encode())

    def token(self, token: str) -> None:
        """A token and its space."""
        self.raw(f"{token} ")

    def put(self, kind: str, value: Any) -> None:
        """A value of the kind, as `Reader.take` reads it."""
        if kind == "bool":
            self.raw("T" if value else "F")
        elif kind in ("int", "float", "double"):
            code, size = {"int": ("<i", 4), "float": ("<f", 4), "double": ("<d", 8)}[kind]
            self.out.write(bytes([size]) + struct.pack(code, value))
        elif kind == "ints":
            self.put("int", len(value))
            self.out.write(np.asarray(value, "<i4").tobytes())
        elif kind == "vector":
            self.token("FV")
            self.put("int", len(value))
            self.out.write(np.asarray(value, "<f4").tobytes())
        else:
            self._in_two_bytes(np.asarray(value, "<f4"))

    def _in_two_bytes(self, matrix: np.ndarray) -> None:
        """A matrix as Kaldi's `CM2`: each number one of 65,536 even steps between the least and the greatest."""
        least, spread = float(matrix.min()), float(np.ptp(matrix)) or 1.0
        self.token("CM2")
        self.out.write(struct.pack("<ffii", least, spread, *matrix.shape))
        self.out.write(np.rint((matrix - least) / spread * STEPS).astype("<u2").tobytes())

    def save(self, path: Path) -> None:
        """Write the file."""
        path.write_bytes(self.out.getvalue())


class Reader:
    """Reads such a file back."""

    def __init__(self, data: bytes) -> None:
        self.data, self.at = data, 2
        if data[:2] != b"\0B":
            raise ValueError("not a binary Kaldi file")

    def token(self, expected: str = "") -> str:
        """The next token; ValueError where it is not the expected one."""
        end = self.data.index(b" ", self.at)
        token, self.at = self.data[self.at : end].decode(), end + 1
        if expected and token != expected:
            raise ValueError(f"byte {self.at}: {token!r} where {expected} belongs")
        return token

    def line(self) -> str:
        """Up to the end of the line."""
        end = self.data.index(b"\n", self.at)
        line, self.at = self.data[self.at : end].decode(), end + 1
        return line

    def _bytes(self, many: int) -> bytes:
        self.at += many
        return self.data[self.at - many : self.at]

    def take(self, kind: str) -> Any:
        """A value of the kind."""
        if kind == "bool":
            return self._bytes(1) == b"T"
        if kind in ("int", "float", "double"):
            size = self._bytes(1)[0]
            return struct.unpack({"int": "<i", "float": "<f", "double": "<d"}[kind], self._bytes(size))[0]
        if kind == "ints":
            return np.frombuffer(self._bytes(4 * self.take("int")), "<i4")
        if kind == "vector":
            self.token("FV")
            return np.frombuffer(self._bytes(4 * self.take("int")), "<f4")
        self.token("CM2")
        least, spread, rows, columns = struct.unpack("<ffii", self._bytes(16))
        steps = np.frombuffer(self._bytes(2 * rows * columns), "<u2").reshape(rows, columns)
        return (least + spread / STEPS * steps).astype("<f4")


def write_transitions(to: Writer, pdfs: Sequence[tuple[int, int]]) -> None:
    """Phones 1, 2 ... of one state each; `pdfs` of each: (first frame, later frames). Staying and leaving cost log 2 each."""
    phones = range(1, len(pdfs) + 1)
    to.token("<TransitionModel>")
    to.token("<Topology>")
    to.put("ints", phones)
    to.put("ints", [-1, *(0 for _ in phones)])
    for value in (-1, 1, 2):  # a topology with two kinds of pdf; one entry; of two states, of which the last is the end
        to.put("int", value)
    for value in (0, 1, 2):  # pdf class of the first frame, of later ones; two transitions
        to.put("int", value)
    for state in (0, 1):
        to.put("int", state)
        to.put("float", 0.5)
    for value in (-1, -1, 0):
        to.put("int", value)
    to.token("</Topology>")
    to.token("<Tuples>")
    to.put("int", len(pdfs))
    for phone, (first, later) in zip(phones, pdfs, strict=True):
        for value in (phone, 0, first, later):
            to.put("int", value)
    to.token("</Tuples>")
    to.token("<LogProbs>")
    to.put("vector", [0.0] + [float(np.log(0.5))] * (2 * len(pdfs)))
    to.token("</LogProbs>")
    to.token("</TransitionModel>")


def write_network(to: Writer, config: Sequence[str], components: Sequence[Component], left: int, right: int) -> None:
    """The nodes, as lines, and the components that they name; context in frames of 10 ms."""
    to.token("<Nnet3>")
    to.raw("\n" + "\n".join(config) + "\n\n")
    to.token("<NumComponents>")
    to.put("int", len(components))
    for one in components:
        to.token("<ComponentName>")
        to.token(one.name)
        to.token(f"<{one.type}>")
        for token, kind in LAYOUTS[one.type]:
            to.token(token)
            to.put(kind, one.values.get(token, STANDING.get(token)))
        to.token(f"</{one.type}>")
    to.token("</Nnet3>")
    to.token("<LeftContext>")
    to.put("int", left)
    to.token("<RightContext>")
    to.put("int", right)
    to.token("<Priors>")
    to.put("vector", [])


def read_network(path: Path) -> tuple[list[str], dict[str, Component], tuple[int, int]]:
    """Nodes, components by name and (left, right) context of a final.mdl of ours."""
    data = path.read_bytes()
    reader = Reader(data)
    reader.at = data.index(b"<Nnet3> ")
    reader.token("<Nnet3>")
    reader.line()
    config = list(iter(reader.line, ""))
    reader.token("<NumComponents>")
    components = {}
    for _ in range(reader.take("int")):
        reader.token("<ComponentName>")
        name, kind = reader.token(), reader.token()[1:-1]
        values = {}
        for token, of in LAYOUTS[kind]:
            reader.token(token)
            values[token] = reader.take(of)
        reader.token(f"</{kind}>")
        components[name] = Component(name, kind, values)
    reader.token("</Nnet3>")
    reader.token("<LeftContext>")
    left = reader.take("int")
    reader.token("<RightContext>")
    return config, components, (left, reader.take("int"))
