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
    `rare` is added to the score of a meaning that is seldom said: a value outside of what its reading can be. `by_itself` is
    the probability from which what one ear alone gives is asked about where all together refuse it; None: never.
    """

    trust: Mapping[str, Trust]
    other: float
    lone_word: float = 0.0
    rare: float = 0.0
    by_itself: float | None = None

    def of(self, ear: str) -> Trust:
        """The trust in an ear; that in the first one for an ear that was never measured."""
        return self.trust.get(ear) or next(iter(self.trust.values()))


VOSK_ALONE = Calibration(
    {"vosk": Trust(scale=1.294, floor=11.619, misfit=0.0, gap=1.133, silent=0.0, word=2.234)},
    other=-4.024, lone_word=0.383, rare=-2.724,
)  # fmt: skip
BOTH = Calibration(
    {
        "vosk": Trust(scale=1.126, floor=1.411, misfit=0.0, gap=0.597, silent=2.125, word=1.934),
        "whisper": Trust(scale=0.753, floor=8.648, misfit=2.515, gap=0.667, silent=0.0, word=0.184),
    },
    other=-6.034, lone_word=-3.182, rare=-2.94,
)  # fmt: skip
WITH_UNTAUGHT = Calibration(
    {
        "vosk": Trust(scale=0.692, floor=10.745, misfit=0.0, gap=0.858, silent=8.399, word=2.571),
        "whisper untaught": Trust(scale=0.59, floor=7.442, misfit=0.653, gap=0.218, silent=0.0, word=0.537),
    },
    other=-5.995, lone_word=-0.722, rare=-3.378, by_itself=0.9,
)  # fmt: skip
"""Another Whisper, as it came (`layup hearback --whisper DIR`). Of 27 readings of the tuning speakers that would be refused 15
were asked about rightly because one ear was sure by itself, 2 wrongly, and 2 of 405 pieces of talk."""
CALIBRATIONS: Mapping[frozenset[str], Calibration] = {
    frozenset({"vosk", "whisper"}): BOTH,
    frozenset({"vosk", "whisper untaught"}): WITH_UNTAUGHT,
    frozenset({"vosk"}): VOSK_ALONE,
    frozenset({"whisper"}): Calibration(
        {"whisper": Trust(scale=0.974, floor=5.368, misfit=2.733, gap=0.524, silent=0.0, word=0.171)},
        other=-5.144, lone_word=-2.978, rare=-3.043,
    ),
    frozenset({"whisper untaught"}): Calibration(
        {"whisper untaught": Trust(scale=1.685, floor=5.664, misfit=1.374, gap=0.691, silent=0.0, word=0.166)},
        other=-4.312, lone_word=0.43, rare=-3.911,
    ),
}  # fmt: skip
"""Fitted on 1539 hearings of the tuning speakers (2026-11-26) with the bench model and the lesson of that day: seven people of
AN4, 23 number utterances in six sounds, each counted four times; readings and commands of eight voices of eSpeak NG in the same
sounds, and of Kokoro am_michael and af_sarah in three; 297 pieces of talk and single words. For both ears after they compared.
Vosk alone, and with Whisper untaught, as they were fitted earlier that day with the same bench model: fitted again, no number
of Vosk's alone moves by more than 1 %."""


def calibration_of(ears: frozenset[str]) -> Calibration:
    """Of these ears; of ears that were never measured here that of as many as Vosk alone, or Vosk with another."""
    return CALIBRATIONS.get(ears) or (BOTH if len(ears) > 1 else VOSK_ALONE)
