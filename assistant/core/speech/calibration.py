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
    {"vosk": Trust(scale=0.964, floor=14.23, misfit=0.0, gap=0.923, silent=0.0, word=1.882)},
    other=-4.103, lone_word=-0.855, rare=-3.157,
)  # fmt: skip
BOTH = Calibration(
    {
        "vosk": Trust(scale=0.416, floor=8.752, misfit=0.0, gap=0.194, silent=2.705, word=-1.158),
        "whisper": Trust(scale=0.953, floor=7.603, misfit=1.871, gap=0.476, silent=0.0, word=0.642),
    },
    other=-6.032, lone_word=-2.162, rare=-3.59,
)  # fmt: skip
WITH_UNTAUGHT = Calibration(
    {
        "vosk": Trust(scale=0.616, floor=20.086, misfit=0.0, gap=0.856, silent=7.548, word=0.909),
        "whisper untaught": Trust(scale=0.461, floor=11.851, misfit=0.825, gap=0.0, silent=0.0, word=0.728),
    },
    other=-6.665, lone_word=-0.605, rare=-3.723, by_itself=0.9,
)  # fmt: skip
"""Another Whisper, as it came (`layup hearback --whisper DIR`). Of 771 readings of the tuning speakers 25 would be refused; six
of these are asked about because one ear was sure by itself, four rightly, and no piece of 88 of talk."""
CALIBRATIONS: Mapping[frozenset[str], Calibration] = {
    frozenset({"vosk", "whisper"}): BOTH,
    frozenset({"vosk", "whisper untaught"}): WITH_UNTAUGHT,
    frozenset({"vosk"}): VOSK_ALONE,
    frozenset({"whisper"}): Calibration(
        {"whisper": Trust(scale=1.157, floor=5.387, misfit=2.251, gap=0.599, silent=0.0, word=0.125)},
        other=-5.219, lone_word=-2.228, rare=-3.664,
    ),
    frozenset({"whisper untaught"}): Calibration(
        {"whisper untaught": Trust(scale=1.433, floor=6.229, misfit=1.453, gap=0.078, silent=0.0, word=0.231)},
        other=-4.294, lone_word=0.288, rare=-4.198,
    ),
}  # fmt: skip
"""Fitted on 6,984 hearings of the tuning speakers (2026-11-27) with the bench model and the lesson that are committed with it:
seven people of AN4, 23 number utterances, each counted four times; 40 readings and the commands of eight voices of eSpeak NG,
and three of the people saying *stop*, all in quiet and in three noises at four levels; 40 readings of Kokoro am_michael and
af_sarah in seven of these sounds; 262 pieces of talk and single words. For both ears after they compared. With Whisper untaught
on 1,117 of them, in six sounds."""


def calibration_of(ears: frozenset[str]) -> Calibration:
    """Of these ears; of ears that were never measured here that of as many as Vosk alone, or Vosk with another."""
    return CALIBRATIONS.get(ears) or (BOTH if len(ears) > 1 else VOSK_ALONE)
