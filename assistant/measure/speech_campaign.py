"""The project's own campaign: which recordings, of whom, at which moment. Who is kept apart: `speakers.toml`.

The same sets are made of the speakers that are measured and of those that the numbers are fitted on (`Use`).
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any, Literal

from assistant.bench.listening import state_at
from assistant.core.speech.commands import IN_STEP, spoken_forms
from assistant.core.speech.step_grammar import Meaning
from assistant.files.work import read_work
from assistant.measure.recordings import Recording, read_manifest
from assistant.measure.speech_moments import AnyNumbers, AtStep, Moment
from assistant.measure.speech_sets import SpeechSet, talk_of
from assistant.measure.synthetic_voices import is_there, sentences, synthesise

HERE = Path(__file__).resolve().parent
READINGS_A_VOICE = 40
TODAY = date(2026, 11, 25)
"""Nothing at this step is judged by the date; a fixed one keeps runs alike."""

Tell = Callable[[str], None]
Use = Literal["tune", "measure"]
ROWS = ("even rows", "odd rows")


def group(name: str) -> dict[str, Any]:
    """A group of `speakers.toml` ("an4", "voices", "talk")."""
    return dict(tomllib.loads((HERE / "speakers.toml").read_text(encoding="utf-8"))[name])


def speakers(name: str, use: Use) -> list[str]:
    """Who of a group is for this use; never in both."""
    return list(group(name)[use])


def compression() -> AtStep:
    """The step of `compression.yaml`, with nothing kept."""
    work = read_work(HERE / "compression.yaml", HERE / "four-cylinder.sheet.yaml", None)
    return AtStep(state_at(work, "compression", TODAY))


def campaign(data: Path, folder: Path, tell: Tell, use: Use = "measure") -> tuple[SpeechSet, ...]:
    """All sets of which there is anything: `data` holds the recordings, `folder` takes the synthesised ones.

    What is missing is told, and left out.
    """
    step = compression()
    return (
        *_an4(data, step, tell, use),
        *_synthesised(step, folder, tell, use),
        *_ordered(data, step, use),
        *_talk(data, step, tell, use),
    )


def _an4(data: Path, step: AtStep, tell: Tell, use: Use) -> Iterator[SpeechSet]:
    if not (data / "an4").is_dir():
        return tell(f"left out: no AN4 recordings in {data / 'an4'} (--data DIR says where)")
    apart = set(speakers("an4", use))
    recordings = tuple(r for r in read_manifest(data / "an4") if r.speaker in apart)
    numbers = AnyNumbers()
    yield SpeechSet("AN4 numbers", numbers, _meant(recordings, numbers))
    rest = tuple(r for r in recordings if not step.meanings(r.words))
    yield SpeechSet("AN4, not of this step", step, rest, talk=True)
    return None


def _meant(recordings: tuple[Recording, ...], moment: Moment) -> tuple[Recording, ...]:
    return tuple(r for r in recordings if moment.meanings(r.words))


def _synthesised(step: AtStep, folder: Path, tell: Tell, use: Use) -> Iterator[SpeechSet]:
    """Readings, and the step's commands, in each voice."""
    readings: list[Recording] = []
    orders: list[Recording] = []
    for number, voice in enumerate(speakers("voices", use)):
        if not is_there(voice):
            tell(f"left out: the voice {voice} is not on this machine")
            continue
        said = enumerate(sentences(voice, READINGS_A_VOICE))
        readings += [synthesise(voice, words, folder / f"{number}-{n:03}.wav") for n, words in said]
        said = enumerate(sorted(spoken_forms(IN_STEP, {})))
        orders += [synthesise(voice, words, folder / f"{number}-order-{n:03}.wav") for n, words in said]
    if readings:
        voices = len({r.speaker for r in readings})
        yield SpeechSet(f"compression, {voices} voices", step, tuple(readings))
        yield SpeechSet(f"commands, {voices} voices", step, tuple(orders))


def _ordered(data: Path, step: AtStep, use: Use) -> Iterator[SpeechSet]:
    """The step's commands as people say them, of AN4 and of Speech Commands: few, but no voice is synthesised."""
    who: dict[str, list[str]] = {"an4": speakers("an4", use), "single-words": group("talk")["single-words"][use]}
    orders = tuple(
        r
        for name, whose in who.items()
        if (data / name).is_dir()
        for r in chosen(read_manifest(data / name), whose)
        if any(isinstance(m, Meaning) and m.command for m in step.meanings(r.words))
    )
    if orders:
        yield SpeechSet("commands, people", step, orders)


def _talk(data: Path, step: AtStep, tell: Tell, use: Use) -> Iterator[SpeechSet]:
    for name, who in group("talk").items():
        if name == "why":
            continue
        if (data / name).is_dir():
            rows = read_manifest(data / name)
            yield talk_of(name, tuple(chosen(rows, who[use])), step)
        else:
            tell(f"left out: no talk in {data / name}")


def chosen(rows: tuple[Recording, ...], who: str | list[str]) -> Iterator[Recording]:
    """The even or the odd rows, or those whose speaker's name begins so."""
    for n, recording in enumerate(rows):
        if who == ROWS[n % 2] or (isinstance(who, list) and recording.speaker.startswith(tuple(who))):
            yield recording
