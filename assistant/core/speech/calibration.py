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
    {"vosk": Trust(scale=1.174, floor=10.996, misfit=0.0, gap=1.158, silent=0.0)},
    other=-3.984, lone_word=0.33, rare=-2.18,
)  # fmt: skip
BOTH = Calibration(
    {
        "vosk": Trust(scale=0.685, floor=10.24, misfit=0.0, gap=0.808, silent=8.036),
        "whisper": Trust(scale=0.841, floor=4.23, misfit=0.538, gap=0.269, silent=0.0),
    },
    other=-5.951, lone_word=-0.261, rare=-2.015,
)  # fmt: skip
CALIBRATIONS: Mapping[frozenset[str], Calibration] = {
    frozenset({"vosk", "whisper"}): BOTH,
    frozenset({"vosk"}): VOSK_ALONE,
    frozenset({"whisper"}): Calibration(
        {"whisper": Trust(scale=1.543, floor=5.742, misfit=1.374, gap=0.69, silent=0.0)},
        other=-4.264, lone_word=0.382, rare=-3.567,
    ),
}  # fmt: skip
"""Fitted on 1539 hearings of the tuning speakers (2026-11-26) with the bench model of that day: seven people of AN4, 23 number
utterances in six sounds, each counted four times; readings and commands of eight voices of eSpeak NG in the same sounds, and of
Kokoro am_michael and af_sarah in three; 297 pieces of talk and single words. For both ears after they compared.
Everyday words that mean nothing at a step count as rare since; the numbers were fitted before."""


def calibration_of(ears: frozenset[str]) -> Calibration:
    """Of these ears; of ears that were never measured here that of as many as Vosk alone, or Vosk with another."""
    return CALIBRATIONS.get(ears) or (BOTH if len(ears) > 1 else VOSK_ALONE)
