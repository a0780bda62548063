"""Readings said by synthesised voices (Flite, eSpeak NG), in the ways people say them.

Values, positions and ways are drawn from a fixed seed, one of its own for each voice, so every run hears the same sentences.
The programs' own versions decide the sound.
"""

from __future__ import annotations

import random
import shutil
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np

from assistant.core.problems import CallProblem
from assistant.core.speech.saying import ORDINARY, in_full
from assistant.devices.protocols import RATE_HZ
from assistant.devices.sound_file import read_sound, write_sound
from assistant.measure.recordings import Recording

QUIET_S = 0.35
"""Quiet before and after, as the endpointer leaves it."""
LOWEST, HIGHEST, CYLINDERS = 60, 300, 4
"""The readings of compression.yaml."""
UNITS = ("p s i", "pounds")
WITH_NINER = (*ORDINARY[:9], "niner")
WITH_OH = ("oh", *ORDINARY[1:])
PLACED, WITH_UNIT = 0.5, 0.2
"""Shares of readings said with their cylinder, and with the unit (common practice, no source)."""


def sentences(seed: str, many: int) -> Iterator[str]:
    """So many readings at the compression step, each in one of its usual ways."""
    draw = random.Random(seed)
    for _ in range(many):
        said = draw.choice(usual_ways(draw.randint(LOWEST, HIGHEST)))
        if draw.random() < PLACED:
            said = f"cylinder {ORDINARY[draw.randint(1, CYLINDERS)]} {said}"
        yield f"{said} {draw.choice(UNITS)}" if draw.random() < WITH_UNIT else said


def usual_ways(value: int) -> list[str]:
    """How a gauge of two or three figures is usually said: digit by digit, in a pair, in full (common practice, no source).

    The grammar knows more ways (`ways_to_say`), rare ones too; these stay the same when it learns others.

    >>> usual_ways(205)
    ['two hundred and five', 'two hundred five', 'two oh five', 'two zero five']
    """
    figures = [int(c) for c in str(value)]
    full = in_full(value)
    ways = [[words[n] for n in figures] for words in (ORDINARY, WITH_NINER, WITH_OH)]
    ways.append(full)
    if value > 100 and value % 100:
        rest = [*(["oh"] if value % 100 < 10 else []), *full[2:]]
        ways += [[*full[:2], "and", *full[2:]], [full[0], *rest]]
    return sorted({" ".join(way) for way in ways})


def is_there(voice: str) -> bool:
    """Is the program of a voice ("flite awb", "espeak-ng en-gb+m8") on this machine, and does it know that voice.

    Both programs speak with another voice, and tell nobody, where they do not know the one that is asked for.
    """
    program, name = voice.split()
    if shutil.which(program) is None:
        return False
    if program == "flite":
        return name in _listed("flite", "-lv").split()
    language, _, variant = name.partition("+")
    variants = _listed("espeak-ng", "--voices=variant").split() if variant else [f"!v/{variant}"]
    return language in _listed("espeak-ng", "--voices").split() and f"!v/{variant}" in variants


@cache
def _listed(*call: str) -> str:
    return subprocess.run(call, capture_output=True, text=True, check=False).stdout


def synthesise(voice: str, words: str, path: Path) -> Recording:
    """The words in that voice as a sound file; CallProblem where its program fails."""
    program, name = voice.split()
    calls = {
        "flite": ["flite", "-voice", name, "-t", words, "-o", str(path)],
        "espeak-ng": ["espeak-ng", "-v", name, "-w", str(path), words],
    }
    done = subprocess.run(calls[program], capture_output=True, text=True, check=False)
    if done.returncode or not path.is_file():
        why = (done.stderr.strip().splitlines() or ["it wrote nothing"])[-1]
        raise CallProblem(f"{program} cannot say {words!r}: {why}", where=voice, do="try it by hand")
    quiet = np.zeros(round(QUIET_S * RATE_HZ), np.int16)
    write_sound(path, np.concatenate((quiet, read_sound(path), quiet)))
    return Recording(path, words, voice)
