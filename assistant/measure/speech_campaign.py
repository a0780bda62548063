"""The project's own measuring campaign: which recordings, of whom, at which moment. Who is kept apart: `speakers.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

from assistant.bench.listening import state_at
from assistant.bench.starting import read_work
from assistant.measure.recordings import Recording, read_manifest
from assistant.measure.speech_moments import AnyNumbers, AtStep, Moment
from assistant.measure.speech_sets import SpeechSet, talk_of_folder
from assistant.measure.synthetic_voices import is_there, sentences, synthesise

HERE = Path(__file__).resolve().parent
READINGS_A_VOICE = 40
TODAY = date(2026, 11, 25)
"""Nothing at this step is judged by the date; a fixed one keeps runs alike."""

Tell = Callable[[str], None]


def speakers(group: str) -> dict[str, list[str]]:
    """A group of `speakers.toml` ("an4", "voices", "talk"): its names under "tune" and "measure"."""
    table = tomllib.loads((HERE / "speakers.toml").read_text(encoding="utf-8"))[group]
    return {use: table[use] for use in ("tune", "measure") if use in table}


def compression() -> AtStep:
    """The step of `compression.yaml`, with nothing kept."""
    work = read_work(HERE / "compression.yaml", HERE / "four-cylinder.sheet.yaml", None)
    return AtStep(state_at(work, "compression", TODAY))


def campaign(data: Path, folder: Path, tell: Tell) -> tuple[SpeechSet, ...]:
    """All sets of which there is anything: `data` holds the recordings, `folder` takes the synthesised ones.

    What is missing is told, and left out.
    """
    step = compression()
    return (*_an4(data, step, tell), *_readings(step, folder, tell), *_talk(data, step, tell))


def _an4(data: Path, step: AtStep, tell: Tell) -> Iterator[SpeechSet]:
    if not (data / "an4").is_dir():
        return tell(f"left out: no AN4 recordings in {data / 'an4'} (--data DIR says where)")
    apart = set(speakers("an4")["measure"])
    recordings = tuple(r for r in read_manifest(data / "an4") if r.speaker in apart)
    numbers = AnyNumbers()
    yield SpeechSet("AN4 numbers", numbers, _meant(recordings, numbers))
    rest = tuple(r for r in recordings if not step.meanings(r.words))
    yield SpeechSet("AN4, not of this step", step, rest, talk=True)
    return None


def _meant(recordings: tuple[Recording, ...], moment: Moment) -> tuple[Recording, ...]:
    return tuple(r for r in recordings if moment.meanings(r.words))


def _readings(step: AtStep, folder: Path, tell: Tell) -> Iterator[SpeechSet]:
    recordings: list[Recording] = []
    for number, voice in enumerate(speakers("voices")["measure"]):
        if not is_there(voice):
            tell(f"left out: the voice {voice} is not on this machine")
            continue
        said = enumerate(sentences(voice, READINGS_A_VOICE))
        recordings += [synthesise(voice, words, folder / f"{number}-{n:03}.wav") for n, words in said]
    if recordings:
        voices = len({r.speaker for r in recordings})
        yield SpeechSet(f"compression, {voices} voices", step, tuple(recordings))


def _talk(data: Path, step: AtStep, tell: Tell) -> Iterator[SpeechSet]:
    for name in speakers("talk")["measure"]:
        if (data / name).is_dir():
            yield talk_of_folder(data / name, step)
        else:
            tell(f"left out: no talk in {data / name}")
