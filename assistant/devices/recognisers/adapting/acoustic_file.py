"""A Vosk model's `am/final.mdl`, read and written: Kaldi's binary form, as far as models like our own go.

The file is a transition model (which two output rows a phone has) and an nnet3 network: lines that wire it, then
components, each a row of named values. Values are kept as they are read, so that what is written without a change is
the file, byte for byte. Form from Kaldi's sources (`base/io-funcs.h`, `hmm/transition-model.cc`,
`hmm/hmm-topology.cc`, `nnet3/nnet-nnet.cc`), from memory.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.core.problems import ModelProblem

Floats = npt.NDArray[np.float32]
STEPS = 65_535
"""From the least to the greatest number of a `TwoByteMatrix`."""


@dataclass(frozen=True, eq=False)
class TwoByteMatrix:
    """A matrix as Kaldi's `CM2` has it: each number one of 65,536 even steps (`base/compressed-matrix.h`, from memory)."""

    least: float
    spread: float
    steps: npt.NDArray[np.uint16]

    @classmethod
    def of(cls, values: Floats) -> TwoByteMatrix:
        """The nearest to these."""
        least, spread = float(values.min()), float(np.ptp(values)) or 1.0
        return cls(least, spread, np.rint((values - least) / spread * STEPS).astype(np.uint16))

    @cached_property
    def values(self) -> Floats:
        """The numbers, (rows, columns)."""
        return (self.least + self.spread / STEPS * self.steps).astype(np.float32)

    @property
    def written(self) -> bytes:
        """As it stands in the file."""
        return (
            b"CM2 "
            + struct.pack("<ffii", self.least, self.spread, *self.steps.shape)
            + self.steps.astype("<u2").tobytes()
        )


Value = Floats | TwoByteMatrix | bytes
"""A vector, a matrix, or a plain value as the bytes that stand in the file."""
BINARY = b"\0B"
NEWER_TOPOLOGY = -1
"""Stands before the topology where a state's first frame may have an output row of its own ("chain" models)."""


@dataclass(frozen=True)
class PhoneRows:
    """A phone's rows of the network's output, for its first frame and its later ones, and the logarithms of going on so."""

    first: int
    later: int
    log_enter: float
    log_stay: float


@dataclass(frozen=True, eq=False)
class Component:
    """A part of the network with its values by name (`LinearParams`), in the file's order."""

    name: str
    kind: str
    values: Mapping[str, Value]

    def array(self, name: str) -> Floats:
        """A vector or matrix of it."""
        found = self.values[name]
        if isinstance(found, TwoByteMatrix):
            return found.values
        assert isinstance(found, np.ndarray)
        return found

    def number(self, name: str) -> float:
        """A single-precision number of it."""
        found = self.values[name]
        assert isinstance(found, bytes)
        return float(struct.unpack("<xf", found)[0])

    def changed(self, **values: Floats) -> Component:
        """The same with other values, each in the form of the one before; what stays the same is kept as it stands."""
        return replace(self, values={**self.values, **{name: self._like(name, new) for name, new in values.items()}})

    def _like(self, name: str, new: Floats) -> Value:
        old = self.values[name]
        if not isinstance(old, TwoByteMatrix):
            return new
        return old if np.array_equal(old.values, new) else TwoByteMatrix.of(new)


@dataclass(frozen=True, eq=False)
class AcousticFile:
    """All that is in `final.mdl`.

    `phones` gives each phone's rows, `phone_of` the phone that a transition enters (0: it stays).
    """

    transitions: bytes
    phones: Mapping[int, PhoneRows]
    phone_of: tuple[int, ...]
    wiring: tuple[str, ...]
    components: tuple[Component, ...]
    rest: bytes

    def with_component(self, changed: Component) -> AcousticFile:
        """The same model with another component of that name."""
        return replace(self, components=tuple(changed if c.name == changed.name else c for c in self.components))


def read_acoustic_file(path: Path) -> AcousticFile:
    """Read it; ModelProblem where it is missing, broken, or of a form that only other models have."""
    try:
        whole = path.read_bytes()
        if not whole.startswith(BINARY):
            raise _Unlike("it is not in Kaldi's binary form")
        return _Reader(whole[len(BINARY) :]).model()
    except (OSError, _Unlike, struct.error, ValueError, IndexError, KeyError) as fault:
        raise ModelProblem(
            f"this acoustic model cannot be read: {fault}",
            where=str(path),
            do="a voice can be learnt only for models made like our own bench-en; restore it, or go without",
        ) from fault


def write_acoustic_file(model: AcousticFile, path: Path) -> None:
    """Write it; OSError where that cannot be done."""
    parts = [BINARY, model.transitions, b"<Nnet3> \n", *(f"{line}\n".encode() for line in model.wiring)]
    parts += [b"\n<NumComponents> ", _int(len(model.components))]
    for c in model.components:
        parts.append(f"<ComponentName> {c.name} <{c.kind}> ".encode())
        parts += [f"<{name}> ".encode() + _value_bytes(value) for name, value in c.values.items()]
        parts.append(f"</{c.kind}> ".encode())
    path.write_bytes(b"".join([*parts, model.rest]))


class _Unlike(Exception):
    """Something that our models do not have."""


class _Reader:
    """A cursor over the file."""

    def __init__(self, whole: bytes) -> None:
        self._whole = whole
        self._at = 0

    def model(self) -> AcousticFile:
        phones, phone_of = self._transitions()
        transitions = self._whole[: self._at]
        self._expect("<Nnet3>")
        wiring = self._wiring()
        self._expect("<NumComponents>")
        components = tuple(self._component() for _ in range(self._int()))
        rest = self._whole[self._at :]
        if not rest.startswith(b"</Nnet3> "):
            raise _Unlike("there is more after its components than is known")
        return AcousticFile(transitions, phones, phone_of, wiring, components, rest)

    def _transitions(self) -> tuple[dict[int, PhoneRows], tuple[int, ...]]:
        for token in ("<TransitionModel>", "<Topology>"):
            self._expect(token)
        states = self._topology()
        self._expect("</Topology>")
        self._expect("<Tuples>")
        tuples = [tuple(self._int() for _ in range(4)) for _ in range(self._int())]
        self._expect("</Tuples>")
        self._expect("<LogProbs>")
        log_probs = self._value()
        assert isinstance(log_probs, np.ndarray)
        self._expect("</LogProbs>")
        self._expect("</TransitionModel>")
        phones: dict[int, PhoneRows] = {}
        phone_of = [0]
        for phone, state, first, later in tuples:
            if phone in phones or state:
                raise _Unlike(f"its phone {phone} has more than one state, or depends on its neighbours")
            at = len(phone_of)
            stays = [to == state for to in states[phone]]
            if sorted(stays) != [False, True]:
                raise _Unlike(f"its phone {phone} does not either stay or go on")
            stay, go = at + stays.index(True), at + stays.index(False)
            phones[phone] = PhoneRows(first, later, float(log_probs[go]), float(log_probs[stay]))
            phone_of += [0 if s else phone for s in stays]
        return phones, tuple(phone_of)

    def _topology(self) -> dict[int, list[int]]:
        """Phone -> where its first state's transitions lead."""
        phones, index = self._ints(), self._ints()
        if self._int() != NEWER_TOPOLOGY:
            raise _Unlike("its topology is of an older kind")
        entries = [[self._state() for _ in range(self._int())] for _ in range(self._int())]
        return {phone: entries[index[phone]][0] for phone in phones}

    def _state(self) -> list[int]:
        self._int(), self._int()  # which class of row; the tuples name the rows themselves
        found = []
        for _ in range(self._int()):
            found.append(self._int())
            self._take(5)  # its first probability; the trained ones come later
        return found

    def _wiring(self) -> tuple[str, ...]:
        end = self._whole.index(b"\n\n", self._at)
        lines = self._whole[self._at : end].decode().split("\n")
        self._at = end + 2
        return tuple(lines[1:])

    def _component(self) -> Component:
        self._expect("<ComponentName>")
        name, kind = self._token(), self._token().strip("<>")
        values: dict[str, Value] = {}
        while (token := self._token()) != f"</{kind}>":
            values[token.strip("<>")] = self._value()
        return Component(name, kind, values)

    def _value(self) -> Value:
        if self._whole.startswith((b"FV ", b"FM "), self._at):
            is_matrix = self._take(3) == b"FM "
            shape = (self._int(), self._int()) if is_matrix else (self._int(),)
            return np.frombuffer(self._take(4 * int(np.prod(shape))), "<f4").reshape(shape)
        if self._whole.startswith(b"CM2 ", self._at):
            least, spread, rows, columns = struct.unpack("<4xffii", self._take(20))
            steps = np.frombuffer(self._take(2 * rows * columns), "<u2").reshape(rows, columns)
            return TwoByteMatrix(least, spread, steps)
        if self._whole[self._at : self._at + 1] in (b"T", b"F"):
            return self._take(1)
        size = self._whole[self._at]
        if size not in (4, 8):
            raise _Unlike(f"an unknown kind of value at byte {self._at + len(BINARY)}")
        return self._take(1 + size)

    def _take(self, size: int) -> bytes:
        taken = self._whole[self._at : self._at + size]
        if len(taken) < size:
            raise _Unlike("it ends too soon")
        self._at += size
        return taken

    def _token(self) -> str:
        end = self._whole.index(b" ", self._at)
        return self._take(end + 1 - self._at)[:-1].decode()

    def _expect(self, token: str) -> None:
        if (found := self._token()) != token:
            raise _Unlike(f"{found[:40]!r} stands where {token} should")

    def _int(self) -> int:
        return int(struct.unpack("<xi", self._take(5))[0])

    def _ints(self) -> list[int]:
        return [int(n) for n in np.frombuffer(self._take(4 * self._int()), "<i4")]


def _int(number: int) -> bytes:
    return struct.pack("<bi", 4, number)


def _value_bytes(value: Value) -> bytes:
    if isinstance(value, bytes):
        return value
    if isinstance(value, TwoByteMatrix):
        return value.written
    head = b"FM " if value.ndim == 2 else b"FV "
    return head + b"".join(map(_int, value.shape)) + value.astype("<f4").tobytes()
