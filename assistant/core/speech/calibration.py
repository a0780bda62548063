"""How much each ear's scores are worth: the numbers of `evidence`, fitted on the tuning speakers.

`layup measure speech --fit` prints this table anew, from the tuning speakers of `assistant/measure/speakers.toml` and those
of `--folder`.
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


VOSK_ALONE = Calibration(
    {"vosk": Trust(scale=0.841, floor=11.211, misfit=0.0, gap=0.995, silent=0.0)},
    other=-3.583, lone_word=0.415, rare=-3.805,
)  # fmt: skip
BOTH = Calibration(
    {
        "vosk": Trust(scale=0.415, floor=10.117, misfit=0.0, gap=0.722, silent=6.669),
        "whisper": Trust(scale=1.351, floor=3.348, misfit=0.793, gap=0.082, silent=3.921),
    },
    other=-6.29, lone_word=0.735, rare=-2.91,
)  # fmt: skip
CALIBRATIONS: Mapping[frozenset[str], Calibration] = {
    frozenset({"vosk", "whisper"}): BOTH,
    frozenset({"vosk"}): VOSK_ALONE,
    frozenset({"whisper"}): Calibration(
        {"whisper": Trust(scale=1.868, floor=5.385, misfit=1.889, gap=0.626, silent=0.0)},
        other=-5.054, lone_word=-0.019, rare=-3.273,
    ),
}  # fmt: skip
"""Fitted on 2283 hearings of the tuning speakers (2026-11-25): seven people of AN4, 23 number utterances in six sounds, each
counted four times; readings and commands of four synthetic voices (eSpeak NG en-us+f5 and en-gb-x-rp+Michael, Kokoro am_michael
and af_sarah) in the same sounds; 405 pieces of talk and single words."""


def calibration_of(ears: frozenset[str]) -> Calibration:
    """Of these ears; of ears that were never measured here that of as many as Vosk alone, or Vosk with another."""
    return CALIBRATIONS.get(ears) or (BOTH if len(ears) > 1 else VOSK_ALONE)
