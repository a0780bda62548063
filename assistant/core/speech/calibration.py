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

    `scale`: what a nat of its is worth. `word`: nats that each word adds to a string, since ears leave words out. `floor`: how
    many of its nats below its best it puts what it did not list. `misfit`, `gap`: what each nat a word of bad fit, and each
    nat by which a loose loop fits better, adds to "other words was said". `silent`: what it adds that the ear found nothing
    that may be said.
    """

    scale: float
    floor: float
    misfit: float = 0.0
    gap: float = 0.0
    silent: float = 0.0
    word: float = 0.0


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
    {"vosk": Trust(scale=1.294, floor=11.619, misfit=0.0, gap=1.133, silent=0.0, word=2.234)},
    other=-4.024, lone_word=0.383, rare=-2.724,
)  # fmt: skip
BOTH = Calibration(
    {
        "vosk": Trust(scale=0.249, floor=7.752, misfit=0.0, gap=0.456, silent=2.122, word=-0.707),
        "whisper": Trust(scale=0.776, floor=20.086, misfit=2.77, gap=0.238, silent=0.0, word=0.457),
    },
    other=-5.798, lone_word=-2.348, rare=-3.425,
)  # fmt: skip
CALIBRATIONS: Mapping[frozenset[str], Calibration] = {
    frozenset({"vosk", "whisper"}): BOTH,
    frozenset({"vosk"}): VOSK_ALONE,
    frozenset({"whisper"}): Calibration(
        {"whisper": Trust(scale=1.019, floor=5.293, misfit=3.161, gap=0.156, silent=0.0, word=0.109)},
        other=-5.202, lone_word=-2.641, rare=-4.063,
    ),
}  # fmt: skip
"""Fitted on 1539 hearings of the tuning speakers (2026-11-26) with the bench model and the lesson of that day: seven people of
AN4, 23 number utterances in six sounds, each counted four times; readings and commands of eight voices of eSpeak NG in the same
sounds, and of Kokoro am_michael and af_sarah in three; 297 pieces of talk and single words. For both ears after they compared.
Vosk alone as it was fitted in the morning of that day, with the same model: fitted again, no number moves by more than 1 %."""


def calibration_of(ears: frozenset[str]) -> Calibration:
    """Of these ears; of ears that were never measured here that of as many as Vosk alone, or Vosk with another."""
    return CALIBRATIONS.get(ears) or (BOTH if len(ears) > 1 else VOSK_ALONE)
