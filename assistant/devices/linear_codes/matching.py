"""The likeliest symbol of a frame on a line: search over geometry and softness, then over what the characters may be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import product

import numpy as np
import numpy.typing as npt

from assistant.devices.linear_codes.rendering import (
    KERNELS,
    PER_MODULE,
    QUIET,
    SPREAD,
    Costs,
    Frame,
    Geometry,
    Line,
    adjacent,
    costs_of,
    drawn,
    laid,
    look_of,
)

COARSE = "soft 0.7"
SEEDS_KEPT = 24
"""Geometries that are looked at closely."""
FINALISTS = 3
REGION_WITHIN_PX = 16
"""How far a region's ends may be out, its looked-for smoothness apart (`bar_regions`)."""


@dataclass(frozen=True, eq=False)
class Fit:
    """One line explained: misfit is the squared difference left, of `spread` before (the line's own)."""

    geometry: Geometry
    kernel: str
    seen: Line
    misfit: float
    spread: float
    characters: tuple[int, ...]

    @property
    def left(self) -> float:
        """Share of the line that is not explained."""
        return self.misfit / self.spread


def likeliest(costs: Costs, frame: Frame) -> tuple[Line, np.ndarray]:
    """(G,) misfits and (G, characters) patterns, whatever check digits say: Viterbi's algorithm."""
    total = costs.base[:, None] + costs.single[:, 0, frame.allowed[0]]
    back: list[np.ndarray] = []
    for k, beside in enumerate(adjacent(frame), 1):
        before, here = frame.allowed[k - 1], frame.allowed[k]
        pairs = costs.pairs[np.ix_(before, here)] if beside else np.zeros((len(before), len(here)), np.float32)
        sums = total[:, :, None] + pairs
        back.append(sums.argmin(axis=1))
        total = sums.min(axis=1) + costs.single[:, k, here]
    at = total.argmin(axis=1)
    chosen = [at]
    for step in reversed(back):
        at = np.take_along_axis(step, at[:, None], axis=1)[:, 0]
        chosen.append(at)
    chosen.reverse()
    names = np.stack([np.array(frame.allowed[k])[c] for k, c in enumerate(chosen)], axis=1)
    return total.min(axis=1), names


def fits(line: Line, frame: Frame, seeds: list[Geometry], finalists: int = FINALISTS) -> Iterator[Fit]:
    """The finalists, best first."""
    found: list[Fit] = []
    for kernel in KERNELS:
        lines = laid(line, seeds, frame.modules)
        misfits, names = likeliest(costs_of(lines, frame, kernel), frame)
        best = int(misfits.argmin())
        found.append(_fit(seeds[best], kernel, lines[best], float(misfits[best]), names[best]))
    found.sort(key=lambda fit: fit.misfit)
    refined = [_refined(line, frame, fit) for fit in found[:finalists]]
    yield from sorted(refined, key=lambda fit: fit.left)


def _fit(geometry: Geometry, kernel: str, seen: Line, misfit: float, names: np.ndarray) -> Fit:
    spread = float(np.square(seen - seen.mean()).sum())
    return Fit(geometry, kernel, seen, misfit, max(spread, 1e-6), tuple(int(n) for n in names))


def _refined(line: Line, frame: Frame, fit: Fit) -> Fit:
    """Nudged, and its light fitted, until that gains little."""
    names = list(KERNELS)
    for step in (0.5, 0.3, 0.15, 0.08):
        fit = _lit(line, frame, fit)
        module = (fit.geometry.end - fit.geometry.begin) / frame.modules
        nudges = product((-step, 0, step), (-step, 0, step), (-step / frame.modules, 0, step / frame.modules))
        tried = [
            Geometry(fit.geometry.begin + a * module, fit.geometry.end + b * module, fit.geometry.bend + c)
            for a, b, c in nudges
        ]
        light = _light(frame, fit)
        lines = _relit(laid(line, tried, frame.modules), light)
        at = names.index(fit.kernel)
        for kernel in names[max(0, at - 1) : at + 2]:
            misfits, found = likeliest(costs_of(lines, frame, kernel), frame)
            best = int(misfits.argmin())
            if misfits[best] < fit.misfit:
                fit = _fit(tried[best], kernel, lines[best], float(misfits[best]), found[best])
    return _lit(line, frame, fit)


def _light(frame: Frame, fit: Fit) -> Line:
    """Least squares: paper and ink, each a straight line along the symbol. (4,): of 1, x, s and x s."""
    s = drawn(frame, fit.kernel, fit.characters)
    seen = fit.seen
    x = np.linspace(-1, 1, s.size, dtype=np.float32)
    return np.linalg.lstsq(np.stack([np.ones_like(s), x, s, x * s], axis=1), seen, rcond=None)[0].astype(np.float32)


def _relit(lines: Line, light: Line) -> Line:
    x = np.linspace(-1, 1, lines.shape[1], dtype=np.float32)
    gain = np.maximum(light[2] + light[3] * x, 0.2)
    return np.asarray((lines - light[0] - light[1] * x) / gain, np.float32)


def _lit(line: Line, frame: Frame, fit: Fit) -> Fit:
    raw = laid(line, [fit.geometry], frame.modules)
    light = _light(frame, replace(fit, seen=raw[0]))
    lines = _relit(raw, light)
    misfits, names = likeliest(costs_of(lines, frame, fit.kernel), frame)
    return _fit(fit.geometry, fit.kernel, lines[0], float(misfits[0]), names[0])


def ends(line: Line, begin: float, end: float) -> tuple[list[float], list[float]]:
    """Where the first bar may begin and the last may end: marked edges about the ends of the region."""
    breadth = end - begin
    slope = np.diff(line)
    soft = np.convolve(slope, np.ones(3) / 3, "same")
    strong = 0.25 * float(np.percentile(np.abs(soft[int(begin) : int(end)]), 95))
    places = np.arange(1, soft.size - 1)
    rising = places[(soft[1:-1] >= soft[:-2]) & (soft[1:-1] > soft[2:]) & (soft[1:-1] > strong)] + 1.0
    falling = places[(soft[1:-1] <= soft[:-2]) & (soft[1:-1] < soft[2:]) & (soft[1:-1] < -strong)] + 1.0
    reach = 0.2 * breadth + REGION_WITHIN_PX
    return (
        [float(x) for x in rising if abs(x - begin) < reach],
        [float(x) for x in falling if abs(x - end) < reach],
    )


def unevenness(fit: Fit, frame: Frame, characters: tuple[int, ...]) -> Line:
    """(characters,): the misfit about each, over that of the whole line; 1 at least.

    What is worse seen than the rest of the line can tell less of what stands there.
    """
    square = np.square(fit.seen - drawn(frame, fit.kernel, characters))
    wide = (frame.wide + 2) * PER_MODULE
    first = [(start + QUIET - 1) * PER_MODULE for start in frame.starts]
    local = np.array([square[at : at + wide].mean() for at in first], np.float32)
    return np.asarray(np.maximum(local / max(float(square.mean()), 1e-9), 1.0), np.float32)


def tried_geometries(line: Line, frame: Frame, begin: float, end: float, shifts: tuple[float, ...]) -> list[Geometry]:
    """From every edge that may be the first to every one that may be the last, each shifted by so many modules."""
    first, last = ends(line, begin, end)
    module = (end - begin) / frame.modules
    return [
        Geometry(a + da * module, b + db * module)
        for a, b in product(first, last)
        if b - a > 0.4 * (end - begin)
        for da, db in product(shifts, shifts)
    ]


GUARDS_AT_MOST = 0.25
"""Misfit of the fixed bars alone above which a frame is not looked at further."""


def seeds(
    line: Line, frame: Frame, begin: float, end: float, shifts: tuple[float, ...] = (-0.6, 0.0, 0.6)
) -> tuple[float, list[Geometry]]:
    """Geometries at which the fixed bars and quiet zones fit best, and the misfit of the best; none above the bound."""
    tried = tried_geometries(line, frame, begin, end, shifts)
    if not tried:
        return 1.0, []
    want, known = _known(frame)
    misfits = _guard_misfits(laid(line, tried, frame.modules, known), want)
    order = np.argsort(misfits)[:SEEDS_KEPT]
    least = float(misfits[order[0]])
    return least, [tried[i] for i in order] if least < GUARDS_AT_MOST else []


def _guard_misfits(seen: Line, want: Line) -> Line:
    """How badly the parts that are the same in every symbol fit, light apart."""
    seen = seen - seen.mean(axis=1, keepdims=True)
    agreed = seen @ want / np.maximum(np.sqrt(np.square(seen).sum(axis=1) * np.square(want).sum()), 1e-6)
    return np.asarray(1 - agreed)


@cache
def _known(frame: Frame) -> tuple[Line, npt.NDArray[np.bool_]]:
    """What is always seen, through a middling lens and with mean 0; and where that is: all but the insides of characters."""
    look = look_of(frame, COARSE)
    mean = look.fixed.copy()
    for start, allowed in zip(frame.starts, frame.allowed, strict=True):
        at = (start + QUIET - SPREAD) * PER_MODULE
        mean[at : at + look.patterns.shape[1]] += look.patterns[list(allowed)].mean(axis=0)
    known = np.ones(mean.size, bool)
    for start in frame.starts:
        known[(start + 1 + QUIET) * PER_MODULE : (start + frame.wide - 1 + QUIET) * PER_MODULE] = False
    return mean[known] - mean[known].mean(), known
