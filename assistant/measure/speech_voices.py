"""Scores by kind of voice and by noise: people, synthesised voices that training left out, and other synthesised voices.

A synthesised voice is known by its speaker's name, which begins with the program that made it; that training left it out, by
`speakers.toml`. A voice of the training flatters an ear, so it is never counted with the others.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Literal

from assistant.measure.speech_campaign import speakers
from assistant.measure.speech_scores import Score, scores
from assistant.measure.speech_trials import Trial

SYNTHESISERS = ("espeak-ng", "festival", "flite", "kokoro", "piper")
"""Programs and models that speak; the first word of a speaker's name."""
Kind = Literal["human", "synthetic, unseen", "synthetic", "not named"]
Row = tuple[str, Kind, str, str]
"""Set, kind of voice, noise ("" in no noise), ear."""


def kind_of_voice(speaker: str) -> Kind:
    """What kind of voice a speaker of this name is.

    >>> [kind_of_voice(name) for name in ("fejs", "flite awb", "flite rms", "")]
    ['human', 'synthetic, unseen', 'synthetic', 'not named']
    """
    if not speaker:
        return "not named"
    if speaker.split(maxsplit=1)[0].lower() not in SYNTHESISERS:
        return "human"
    return "synthetic, unseen" if speaker in _left_out_of_training() else "synthetic"


@cache
def _left_out_of_training() -> frozenset[str]:
    return frozenset({*speakers("voices", "tune"), *speakers("voices", "measure")})


def by_voice(heard: Sequence[Trial]) -> dict[Row, dict[str, Score]]:
    """For each set, kind of voice, noise and ear: the score at each level ("clean", "10 dB"), in the order heard.

    What was heard clean belongs to every noise, so that each row tells how that noise takes away from it; where nothing was
    heard in noise there is one row without.
    """
    found: dict[Row, dict[str, Score]] = {}
    noises = list(dict.fromkeys(t.condition.noise for t in heard if t.condition.noise)) or [""]
    for name, kind in dict.fromkeys((t.of.name, kind_of_voice(t.recording.speaker)) for t in heard):
        mine = [t for t in heard if t.of.name == name and kind_of_voice(t.recording.speaker) == kind]
        for noise in noises:
            for level, score in _at_levels([t for t in mine if t.condition.noise in ("", noise)]):
                found.setdefault((name, kind, noise, score.ear), {})[level] = score
    return found


def _at_levels(mine: Sequence[Trial]) -> list[tuple[str, Score]]:
    levels = dict.fromkeys(t.condition.level for t in mine)
    return [(at, score) for at in levels for score in scores("", [t for t in mine if t.condition.level == at])]
