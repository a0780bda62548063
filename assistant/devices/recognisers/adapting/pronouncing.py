"""How a Vosk model pronounces its words, read out of its own graph (`graph/HCLr.fst`): no lexicon need lie beside the
model.

The graph leads from its start through the transitions of a word's phones; somewhere on the way it names the word.
Every way from the start to the end of a first word is followed. Form of OpenFst's files (`fst.cc`, `const-fst.h`,
`add-on.h`) from memory.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.core.problems import ModelProblem
from assistant.devices.recognisers.adapting.acoustic_file import AcousticFile

MAGIC = 2125659606
"""Every OpenFst file begins so, little-endian."""
ADD_ON_MAGIC = 446681434
STATE = np.dtype([("weight", "<f4"), ("first", "<u4"), ("arcs", "<u4"), ("silent_in", "<u4"), ("silent_out", "<u4")])
ARC = np.dtype([("into", "<i4"), ("out", "<i4"), ("weight", "<f4"), ("to", "<i4")])
NONWORD, ENDS = "nonword", ("end", "singleton")
"""As `graph/phones/word_boundary.int` calls silence, and the phones that a word can end with."""

Phones = tuple[int, ...]


@dataclass(frozen=True)
class Lexicon:
    """Word -> its pronunciations in the model's phones; `silence` is the phone of quiet."""

    words: Mapping[str, tuple[Phones, ...]]
    silence: int


def read_lexicon(folder: Path, model: AcousticFile) -> Lexicon:
    """The pronunciations of the Vosk model in `folder`. ModelProblem where a file is missing or of another form."""
    graph = folder / "graph"
    try:
        names = {int(n): w for w, n in (line.split() for line in _lines(graph / "words.txt"))}
        kinds = {int(n): kind for n, kind in (line.split() for line in _lines(graph / "phones" / "word_boundary.int"))}
        states, arcs = _look_ahead_graph((graph / "HCLr.fst").read_bytes())
    except (OSError, ValueError, struct.error) as fault:
        raise _problem(graph, f"the model's words cannot be read: {fault}") from fault
    found: dict[str, set[Phones]] = {}
    for out, phones in _ways(states, arcs, model.phone_of, kinds):
        found.setdefault(names[out], set()).add(phones)
    silence = next((phone for phone, kind in kinds.items() if kind == NONWORD), 0)
    if not found or not silence:
        raise _problem(graph, "no words, or no silence, can be found in the model's graph")
    return Lexicon({w: tuple(sorted(ways)) for w, ways in found.items()}, silence)


def _lines(path: Path) -> list[str]:
    return path.read_text(encoding="utf-8").splitlines()


Table = npt.NDArray[np.void]


def _look_ahead_graph(whole: bytes) -> tuple[Table, Table]:
    """States and arcs of the constant graph inside a look-ahead one."""
    kind, at, _, _ = _header(whole, 0)
    if kind != "olabel_lookahead" or struct.unpack_from("<i", whole, at)[0] != ADD_ON_MAGIC:
        raise ValueError(f"HCLr.fst is of the kind {kind}, not olabel_lookahead")
    kind, at, states, arcs = _header(whole, at + 4)
    if kind != "const":
        raise ValueError(f"HCLr.fst holds a graph of the kind {kind}, not const")
    return np.frombuffer(whole, STATE, states, at), np.frombuffer(whole, ARC, arcs, at + states * STATE.itemsize)


def _header(whole: bytes, at: int) -> tuple[str, int, int, int]:
    """The graph's kind, where its header ends, and its counts of states and arcs."""
    if struct.unpack_from("<i", whole, at)[0] != MAGIC:
        raise ValueError("HCLr.fst is no OpenFst file")
    kind, at = _text(whole, at + 4)
    arc_kind, at = _text(whole, at)
    _, flags, _, start, states, arcs = struct.unpack_from("<iiQqqq", whole, at)
    if arc_kind != "standard" or flags or start > 0:
        raise ValueError("HCLr.fst has symbols, alignment, other arcs or another start")
    return kind, at + struct.calcsize("<iiQqqq"), states, arcs


def _text(whole: bytes, at: int) -> tuple[str, int]:
    (size,) = struct.unpack_from("<i", whole, at)
    return whole[at + 4 : at + 4 + size].decode(), at + 4 + size


def _ways(
    states: Table, arcs: Table, phone_of: tuple[int, ...], kinds: Mapping[int, str]
) -> Iterator[tuple[int, Phones]]:
    """(word, phones) of every way to the end of a first word."""
    todo: list[tuple[int, int, Phones]] = [(0, 0, ())]
    while todo:
        at, word, phones = todo.pop()
        ended = bool(phones) and kinds[phones[-1]] in ENDS
        if ended and word:
            yield word, phones
            continue
        first, many = int(states[at]["first"]), int(states[at]["arcs"])
        for into, out, _, to in arcs[first : first + many].tolist():
            disambiguates = into == 0 or into >= len(phone_of)
            phone = 0 if disambiguates else phone_of[into]
            if disambiguates and to != at:
                todo.append((to, word or out, phones))
            elif phone and not ended and kinds[phone] != NONWORD:
                todo.append((to, word or out, (*phones, phone)))


def _problem(where: Path, what: str) -> ModelProblem:
    do = "a voice can be learnt only for models made like our own bench-en; restore it, or go without"
    return ModelProblem(what, where=str(where), do=do)
