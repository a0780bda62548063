"""How far what an ear claims can be trusted: the share it gives its best meaning against how often that is right.

The expected calibration error is the mean distance of the two over ten bins of equal width, weighted by how many fall into
each (M. P. Naeini, G. F. Cooper, M. Hauskrecht, "Obtaining well calibrated probabilities using Bayesian binning", AAAI 2015).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

BINS = 10


@dataclass(frozen=True)
class Bin:
    """Those whose share lies from `low` to `low + 1 / BINS`: how many, their mean share, how many were right."""

    low: float
    of: int
    claimed: float
    right: int

    @property
    def right_share(self) -> float:
        """How often they were right."""
        return self.right / self.of


def bins(claims: Iterable[tuple[float, bool]]) -> tuple[Bin, ...]:
    """Shares (0 to 1) with whether each was right, in bins; empty bins are left out.

    >>> [(b.low, b.of, b.right) for b in bins([(0.95, True), (1.0, True), (0.31, False)])]
    [(0.3, 1, 0), (0.9, 2, 2)]
    """
    found: dict[int, list[tuple[float, bool]]] = {}
    for share, right in claims:
        found.setdefault(min(BINS - 1, int(share * BINS)), []).append((share, right))
    return tuple(
        Bin(n / BINS, len(rows), sum(s for s, _ in rows) / len(rows), sum(r for _, r in rows))
        for n, rows in sorted(found.items())
    )


def expected_calibration_error(found: tuple[Bin, ...]) -> float:
    """The mean distance between claimed and right, 0 to 1; 0 for nothing.

    >>> expected_calibration_error((Bin(0.9, 3, 0.95, 3), Bin(0.5, 1, 0.55, 0)))
    0.175
    """
    of = sum(b.of for b in found)
    return round(sum(b.of * abs(b.claimed - b.right_share) for b in found) / of, 12) if of else 0.0
