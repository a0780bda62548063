"""How bars look through a lens: patterns softened by a kernel, on a grid of `PER_MODULE` samples a module.

A strip's mean line is laid on that grid by a geometry (where the symbol begins and ends, and how it is bent), and then is
darkness from 0 (paper) to 1 (ink). What a whole symbol would look like is the sum of what its characters add, so that the
squared difference from what is seen splits into one cost a character and one a pair of neighbours: `Costs`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from assistant.devices.linear_codes.alphabets import CODE_128, CODE_128_STOP, EAN_END, EAN_MIDDLE, EAN_SETS, Bits

Line = npt.NDArray[np.float32]
Floats = npt.NDArray[np.float64]

PER_MODULE = 5
QUIET = 5
"""Modules of quiet zone on each side that must look like paper (EAN asks for 7 to 11, Code 128 for 10)."""
SPREAD = 3
"""Modules that a softened pattern reaches beyond its ends."""

KERNELS: Mapping[str, Line] = {}
"""By name: soft focus as a Gaussian, motion as a box; sums are 1."""


def _gaussian(sigma: float) -> Line:
    x = np.arange(-SPREAD * PER_MODULE, SPREAD * PER_MODULE + 1) / PER_MODULE
    weight = np.exp(-0.5 * (x / sigma) ** 2)
    return np.asarray(weight / weight.sum(), np.float32)


def _box(width: float) -> Line:
    x = np.arange(-SPREAD * PER_MODULE, SPREAD * PER_MODULE + 1) / PER_MODULE
    weight = np.clip((width / 2 - np.abs(x)) * PER_MODULE + 0.5, 0, 1)
    return np.convolve(weight / weight.sum(), _gaussian(0.35), "same").astype(np.float32)


KERNELS = {
    **{f"soft {sigma}": _gaussian(sigma) for sigma in (0.3, 0.5, 0.7, 0.9, 1.1, 1.3)},
    **{f"moved {width}": _box(width) for width in (1.4, 2.0, 2.6)},
}


@dataclass(frozen=True, eq=False)
class Frame:
    """A symbol's fixed bars and where its characters stand.

    modules: breadth; fixed: the fixed bars; starts: first module of each character; alphabet: patterns by module;
    allowed: of each character, the patterns that it may be.
    """

    modules: int
    fixed: Bits
    starts: tuple[int, ...]
    alphabet: Bits
    allowed: tuple[tuple[int, ...], ...]

    @property
    def wide(self) -> int:
        """Modules of a character."""
        return int(self.alphabet.shape[1])


def _ean(digits: int, left: tuple[int, ...]) -> Frame:
    half = digits // 2
    modules = 2 * 3 + 5 + 7 * digits
    fixed = np.zeros(modules, np.float32)
    fixed[:3] = fixed[-3:] = EAN_END
    fixed[3 + 7 * half : 8 + 7 * half] = EAN_MIDDLE
    starts = (*(3 + 7 * k for k in range(half)), *(8 + 7 * (half + k) for k in range(half)))
    allowed = (*([left] * half), *([tuple(range(20, 30))] * half))
    return Frame(modules, fixed, starts, EAN_SETS.reshape(30, 7), allowed)


EAN_13 = _ean(12, tuple(range(20)))
EAN_8 = _ean(8, tuple(range(10)))


@cache
def code_128(characters: int) -> Frame:
    """Start, so many characters with the check character, stop."""
    modules = 11 * (characters + 1) + 13
    fixed = np.zeros(modules, np.float32)
    fixed[-13:] = CODE_128_STOP
    allowed = ((103, 104, 105), *([tuple(range(103))] * characters))
    return Frame(modules, fixed, tuple(11 * k for k in range(characters + 1)), CODE_128, allowed)


def soften(pattern: Bits, kernel: Line, beyond: int = SPREAD) -> Line:
    """A pattern (…, modules) on the grid, `beyond` modules more on each side."""
    fine = np.repeat(np.pad(pattern, [(0, 0)] * (pattern.ndim - 1) + [(beyond, beyond)]), PER_MODULE, axis=-1)
    flat = fine.reshape(-1, fine.shape[-1])
    return np.array([np.convolve(row, kernel, "same") for row in flat], np.float32).reshape(fine.shape)


@dataclass(frozen=True, eq=False)
class Look:
    """What a frame's parts look like through one kernel. pairs: twice what neighbours have in common."""

    fixed: Line
    patterns: Line
    energies: Line
    pairs: Line


@cache
def look_of(frame: Frame, kernel: str) -> Look:
    """Kept: they are the same for all pictures."""
    patterns, pairs = _alphabet_look(frame.alphabet.shape, kernel)
    return Look(soften(frame.fixed, KERNELS[kernel], QUIET), patterns, np.square(patterns).sum(axis=1), pairs)


@cache
def _alphabet_look(shape: tuple[int, int], kernel: str) -> tuple[Line, Line]:
    alphabet = CODE_128 if shape == CODE_128.shape else EAN_SETS.reshape(30, 7)
    patterns = soften(alphabet, KERNELS[kernel])
    shift = shape[1] * PER_MODULE
    pairs = 2 * patterns[:, shift:] @ patterns[:, : patterns.shape[1] - shift].T
    return patterns, pairs.astype(np.float32)


@dataclass(frozen=True, eq=False)
class Costs:
    """Of G lines: base (G,), single (G, characters, patterns), pairs (patterns, patterns); a symbol's misfit is their sum."""

    base: Line
    single: Line
    pairs: Line


def costs_of(lines: Line, frame: Frame, kernel: str) -> Costs:
    """lines: (G, samples) of darkness."""
    look = look_of(frame, kernel)
    left = lines - look.fixed
    reach = (frame.wide + 2 * SPREAD) * PER_MODULE
    first = (np.array(frame.starts) + QUIET - SPREAD) * PER_MODULE
    windows = left[:, first[:, None] + np.arange(reach)]
    single = np.asarray(look.energies - 2 * windows @ look.patterns.T, np.float32)
    return Costs(np.asarray(np.square(left).sum(axis=1), np.float32), single, look.pairs)


def adjacent(frame: Frame) -> tuple[bool, ...]:
    """Of each character but the first: does it stand right beside the one before (no guard between)."""
    return tuple(b - a == frame.wide for a, b in zip(frame.starts, frame.starts[1:], strict=False))


def drawn(frame: Frame, kernel: str, characters: tuple[int, ...]) -> Line:
    """The whole symbol as it would look."""
    look = look_of(frame, kernel)
    line = look.fixed.copy()
    reach = look.patterns.shape[1]
    for start, name in zip(frame.starts, characters, strict=True):
        at = (start + QUIET - SPREAD) * PER_MODULE
        line[at : at + reach] += look.patterns[name]
    return line


@dataclass(frozen=True)
class Geometry:
    """Where the symbol lies on a strip's line, in columns; bend: by which share of its breadth its middle is moved."""

    begin: float
    end: float
    bend: float = 0.0


def laid(line: Line, geometries: Sequence[Geometry], modules: int, only: npt.NDArray[np.bool_] | None = None) -> Line:
    """(G, samples): the line on each geometry's grid, or `only` these samples of it."""
    grid = np.arange((modules + 2 * QUIET) * PER_MODULE, dtype=np.float32)
    share = ((grid if only is None else grid[only]) + 0.5) / PER_MODULE / modules - QUIET / modules
    inside = np.clip(share, 0, 1)
    begin, end, bend = np.array([(g.begin, g.end, g.bend) for g in geometries], np.float32).T[:, :, None]
    at = begin - 0.5 + (end - begin) * (share + 4 * bend * inside * (1 - inside))
    at = np.clip(at, 0, line.size - 1.001)
    before = at.astype(np.int32)
    part = at - before
    return np.asarray(line[before] * (1 - part) + line[before + 1] * part)
