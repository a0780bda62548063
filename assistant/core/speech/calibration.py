"""How much each ear's scores are worth: the numbers of `evidence`, fitted on the tuning speakers.

`layup measure speech --fit` prints this table anew; who the tuning speakers are stands in `assistant/measure/speakers.toml`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Trust:
    """How one ear's scores count.

    `scale`: what a nat of its is worth. `floor`: how many of its nats below its best it puts what it did not list.
    `misfit`, `gap`: what each nat a word of bad fit, and each nat by which a loose loop fits better, adds to "other words was
    said". `silent`: what it adds that the ear found nothing that may be said.
    """

    scale: float
    floor: float
    misfit: float = 0.0
    gap: float = 0.0
    silent: float = 0.0


@dataclass(frozen=True)
class Calibration:
    """Of one set of ears: the trust in each by name, and the score of "other words" before any sign of it.

    `lone_word` is added to it where the likeliest meaning is a command or another bare word: those are easily hallucinated.
    `rare` is added to the score of a meaning that is seldom said: a value outside of what its reading can be.
    """

    trust: Mapping[str, Trust]
    other: float
    lone_word: float = 0.0
    rare: float = 0.0

    def of(self, ear: str) -> Trust:
        """The trust in an ear; that in the first one for an ear that was never measured."""
        return self.trust.get(ear) or next(iter(self.trust.values()))


CAREFUL = Calibration({"vosk": Trust(scale=0.5, floor=7.0, misfit=1.0, gap=0.4, silent=4.0)}, other=-4.0)
"""For ears that were never measured here."""

CALIBRATIONS: Mapping[frozenset[str], Calibration] = {
    frozenset({"vosk", "whisper"}): Calibration(
        {
            "whisper": Trust(scale=0.86, floor=3.25, misfit=0.9, gap=0.0, silent=4.0),
            "vosk": Trust(scale=0.55, floor=7.25, gap=0.3, silent=3.9),
        },
        other=-4.5,
    ),
    frozenset({"vosk"}): CAREFUL,
}
