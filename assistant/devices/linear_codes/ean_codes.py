"""EAN-13, UPC-A and EAN-8 from a line: the likeliest number whose check digit is right, and how far the next is behind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assistant.devices.linear_codes.alphabets import EAN_13_FIRST
from assistant.devices.linear_codes.matching import Fit, fits, seeds, unevenness
from assistant.devices.linear_codes.rendering import EAN_8, EAN_13, Frame, Geometry, Line, adjacent, costs_of

NEVER = np.float32(1e9)


@dataclass(frozen=True)
class Match:
    """A code that may stand there, and how it was found.

    left: share of the line not explained; ahead: misfit of the next best code over this one's, less 1, and less again where
    the misfit is gathered at characters in which the two differ (glare, grease); forced: how much the misfit had to grow
    so that the checks hold, as a share.
    """

    symbology: str
    text: str
    left: float
    ahead: float
    forced: float
    frame: Frame
    geometry: Geometry


def match_ean(line: Line, begin: float, end: float, frame: Frame) -> Match | None:
    """One line, one way."""
    _, at = seeds(line, frame, begin, end)
    if not at:
        return None
    return _checked(next(fits(line, frame, at)), frame)


def match_ean_at(line: Line, frame: Frame, geometry: Geometry) -> Match:
    """The likeliest code about there."""
    return _checked(next(fits(line, frame, [geometry], finalists=1)), frame)


def _checked(fit: Fit, frame: Frame) -> Match:
    costs = costs_of(fit.seen[None], frame, fit.kernel)
    ways = EAN_13_FIRST if frame is EAN_13 else ("AAAA",)
    plans = [tuple("ABC".index(s) for s in sets) + (2,) * (len(frame.starts) // 2) for sets in ways]
    single = np.stack([[costs.single[0, k, 10 * s : 10 * s + 10] for k, s in enumerate(plan)] for plan in plans])
    pairs = np.zeros((len(plans), len(frame.starts) - 1, 10, 10), np.float32)
    for p, plan in enumerate(plans):
        for k, beside in enumerate(adjacent(frame)):
            if beside:
                a, b = plan[k], plan[k + 1]
                pairs[p, k] = costs.pairs[10 * a : 10 * a + 10, 10 * b : 10 * b + 10]
    best, behind, plan_index, digits = best_two(single, pairs, has_first=frame is EAN_13)
    base = float(costs.base[0])
    misfit = max(base + best, 1e-6)
    text = (str(plan_index) if frame is EAN_13 else "") + "".join(str(d) for d in digits)
    names = tuple(10 * s + d for s, d in zip(plans[plan_index], digits, strict=True))
    ahead = float((behind / unevenness(fit, frame, names)).min()) / misfit
    forced = max(0.0, misfit - fit.misfit) / misfit
    name = "EAN-13" if frame is EAN_13 else "EAN-8"
    return Match(name, text, misfit / fit.spread, ahead, forced, frame, fit.geometry)


def best_two(single: Line, pairs: Line, *, has_first: bool) -> tuple[float, Line, int, tuple[int, ...]]:
    """The least cost over all numbers with a right check digit; how much more the best costs with another digit, by place.

    single: (plans, characters, 10); pairs: (plans, characters - 1, 10, 10). Sums modulo 10 are carried along, forwards and
    backwards, so that for every place and digit the best number with that digit there is known.
    """
    plans, count, _ = single.shape
    weights = [1 if (count - 1 - k) % 2 == 0 else 3 for k in range(count)]
    forward = np.full((count, plans, 10, 10), NEVER, np.float32)
    for p in range(plans):
        first = p * (3 if count % 2 else 1) if has_first else 0
        for d in range(10):
            forward[0, p, d, (first + weights[0] * d) % 10] = single[p, 0, d]
    for k in range(1, count):
        for d in range(10):
            came = (forward[k - 1] + pairs[:, k - 1, :, d, None]).min(axis=1)
            forward[k, :, d] = np.roll(came, weights[k] * d, axis=1) + single[:, k, d, None]
    backward = np.full((count, plans, 10, 10), NEVER, np.float32)
    backward[-1, :, :, 0] = 0  # what follows, by the sum so far: it must end in 0
    for k in range(count - 2, -1, -1):
        after = np.empty((plans, 10, 10), np.float32)
        for d in range(10):
            after[:, d] = np.roll(backward[k + 1, :, d], -weights[k + 1] * d, axis=1) + single[:, k + 1, d, None]
        for d in range(10):
            backward[k, :, d] = (after + pairs[:, k, d, :, None]).min(axis=1)
    through = (forward + backward).min(axis=3)  # (characters, plans, digit)
    by_plan = through[0].min(axis=1)
    plan = int(by_plan.argmin())
    digits = tuple(int(d) for d in through[:, plan].argmin(axis=1))
    best = float(by_plan[plan])
    others = through[:, plan].copy()
    others[np.arange(count), digits] = NEVER
    other_plan = float(np.delete(by_plan, plan).min()) if plans > 1 else float(NEVER)
    return best, np.minimum(others.min(axis=1), other_plan) - best, plan, digits


EAN_FRAMES = (EAN_13, EAN_8)
