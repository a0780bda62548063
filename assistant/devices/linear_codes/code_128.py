"""Code 128 and GS1-128 from a line: the likeliest values whose check value is right, and how far the next are behind."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from assistant.core.events import Label
from assistant.devices.linear_codes.ean_codes import Match
from assistant.devices.linear_codes.matching import Fit, fits, seeds, unevenness
from assistant.devices.linear_codes.rendering import Costs, Frame, Geometry, Line, code_128, costs_of

FEWEST, MOST = 5, 30
"""Characters with the check character. Shorter ones have only the check value against chance; longer ones are too fine."""
LEAST_MODULE_PX = 0.75
LENGTHS_KEPT = 2
ALTERNATIVES = 60
"""Of single characters, the likeliest, that are tried alone and in twos where the check value is wrong."""
FNC1, SHIFT, START_A = 102, 98, 103
_TO_SET = {("A", 100): "B", ("A", 99): "C", ("B", 101): "A", ("B", 99): "C", ("C", 101): "A", ("C", 100): "B"}
GS = "\x1d"


def match_code_128(line: Line, begin: float, end: float) -> Match | None:
    """One line, one way."""
    found = [m for count, at in _lengths(line, begin, end) if (m := match_code_128_at(line, code_128(count), at))]
    return min(found, key=lambda match: match.left, default=None)


def _lengths(line: Line, begin: float, end: float) -> list[tuple[int, list[Geometry]]]:
    """The likeliest numbers of characters, each with its geometries: where every character begins with a bar."""
    ranked: list[tuple[float, int, list[Geometry]]] = []
    for count in range(FEWEST, MOST + 1):
        frame = code_128(count)
        if (end - begin) / frame.modules < LEAST_MODULE_PX:
            break
        misfit, at = seeds(line, frame, begin, end, shifts=(0.0,))
        if at:
            ranked.append((misfit, count, at[:6]))
    ranked.sort(key=lambda one: one[0])
    return [(count, at) for _, count, at in ranked[:LENGTHS_KEPT]]


def match_code_128_at(line: Line, frame: Frame, at: list[Geometry]) -> Match | None:
    """The likeliest symbol of so many characters about there."""
    fit = next(fits(line, frame, at, finalists=1))
    costs = costs_of(fit.seen[None], frame, fit.kernel)
    valid = _valid(costs, frame, fit)
    if not valid or not _begins_there(costs, frame):
        return None
    label = code_128_label(valid[0][1])
    if label is None:
        return None
    misfit = max(fit.misfit + valid[0][0], 1e-6)
    ahead, forced = _ahead(valid, unevenness(fit, frame, valid[0][1])) / misfit, valid[0][0] / misfit
    return Match(label.symbology, label.text, misfit / fit.spread, ahead, forced, frame, fit.geometry)


def _begins_there(costs: Costs, frame: Frame) -> bool:
    """Whether nothing looks more like what is seen at the first place than a start character.

    Glare may wash out the beginning of a symbol; what is left of it ends in a right check value one time in 103.
    """
    return int(np.argmin(costs.single[0, 0])) in frame.allowed[0]


def _ahead(valid: list[tuple[float, tuple[int, ...]]], uneven: Line) -> float:
    """How much more the next best costs, each weighed by how well the characters are seen that differ."""
    (least, best), *others = valid
    behind = (
        (cost - least) / max(float(uneven[k]) for k, (a, b) in enumerate(zip(best, values, strict=True)) if a != b)
        for cost, values in others
        if values != best
    )
    return min(behind, default=0.0)


def _valid(costs: Costs, frame: Frame, fit: Fit) -> list[tuple[float, tuple[int, ...]]]:
    """Symbols whose check value is right, by what they cost more than the likeliest; one or two characters changed."""
    best = fit.characters
    more = _through(costs, frame) - fit.misfit
    more[np.arange(len(best)), best] = np.inf
    flat = np.argsort(more, axis=None)[:ALTERNATIVES]
    singles = [(float(more.flat[i]), int(i // more.shape[1]), int(i % more.shape[1])) for i in flat]
    valid = [(0.0, best)] if _check_right(best) else []
    for n, (cost, k, name) in enumerate(singles):
        if _check_right(changed := _with(best, k, name)):
            valid.append((cost, changed))
        valid += [
            (cost + cost2, twice)
            for cost2, k2, name2 in singles[:n]
            if k2 != k and _check_right(twice := _with(changed, k2, name2))
        ]
    return sorted(valid)


def _with(values: tuple[int, ...], k: int, name: int) -> tuple[int, ...]:
    return (*values[:k], name, *values[k + 1 :])


def _check_right(values: Sequence[int]) -> bool:
    """ISO/IEC 15417 annex A: the start value, and each by its place, modulo 103."""
    return (values[0] + sum(k * v for k, v in enumerate(values[1:-1], 1))) % 103 == values[-1]


def _through(costs: Costs, frame: Frame) -> Line:
    """(characters, 106): the misfit of the best symbol with that value at that place, inf where it may not be."""
    count, names = len(frame.starts), costs.pairs.shape[0]
    single = np.full((count, names), np.inf)
    for k, allowed in enumerate(frame.allowed):
        single[k, list(allowed)] = costs.single[0, k, list(allowed)]
    forward, backward = single.copy(), np.zeros_like(single)
    for k in range(1, count):
        forward[k] += (forward[k - 1][:, None] + costs.pairs).min(axis=0)
    for k in range(count - 2, -1, -1):
        backward[k] = (costs.pairs + (single[k + 1] + backward[k + 1])[None, :]).min(axis=1)
    return (forward + backward + float(costs.base[0])).astype(np.float32)


def code_128_label(values: Sequence[int]) -> Label | None:
    """What the values say; None for what can't be said, or holds function characters other than FNC1.

    >>> code_128_label([104, 33, 34, 35, 1]).text
    'ABC'
    """
    code_set, text, shifted = "ABC"[values[0] - START_A], "", ""
    data = list(values[1:-1])
    gs1 = data[:1] == [FNC1]
    for value in data[1:] if gs1 else data:
        now, shifted = shifted or code_set, ""
        if value == FNC1:
            text += GS
        elif (now, value) in _TO_SET:
            code_set = _TO_SET[now, value]
        elif value == SHIFT and now != "C":
            shifted = "AB"[now == "A"]
        elif now == "C":
            text += f"{value:02}"
        elif value < 96:
            text += chr(value + 32) if now == "B" or value < 64 else chr(value - 64)
        else:
            return None
    return Label("GS1-128" if gs1 else "CODE-128", text) if text.strip(GS) else None
