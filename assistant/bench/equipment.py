"""Real parts, from settings: the ears, the endpointer, the voice, the eyes. Each is built only when it is asked for."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from assistant.bench.hearing import Ears, Hearing, Timing
from assistant.bench.shelf import Shelf
from assistant.core.problems import CallProblem, DeviceTrouble, ModelProblem
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.devices.camera import OpenCvCamera, PictureFiles, check_pictures
from assistant.devices.endpointing import Endpointer, Endpointing
from assistant.devices.eyes import Onlooker
from assistant.devices.label_reader import ZbarReader
from assistant.devices.looking_tone import LookingTone
from assistant.devices.microphone import Microphone, SoundSource
from assistant.devices.protocols import Camera, LabelReader
from assistant.devices.recognisers.choosing import (
    BENCH_MODEL,
    LESSON_MODEL,
    WHISPER_MODEL,
    EarsChosen,
    choose_ears,
    hear_it,
)
from assistant.devices.recognisers.vosk_ear import VoskEar
from assistant.devices.recognisers.whisper_ear import WhisperEar
from assistant.devices.silero import SileroDetector
from assistant.devices.voice.child import VoiceSettings
from assistant.devices.window import EyesWindow
from assistant.files.model_store import find_model
from assistant.settings import Settings


def chosen_ears(settings: Settings, models: Path, language: Language = ENGLISH) -> EarsChosen:
    """Which ears there are, and why, in words. ModelProblem for a model that is there but not what it should be.

    CallProblem for a language that no ear of ours hears, where the settings name no other.
    """
    if not hear_it(language.code) and not settings.vosk_model:
        raise CallProblem(
            f"no ear that comes with the program hears the language '{language.code}' of the site sheet: ours are English",
            do="name a Vosk model of that language in the settings (vosk_model = FOLDER); as text it can be walked by "
            "layup rehearse and asked by layup parse",
        )
    for name in (BENCH_MODEL, *((WHISPER_MODEL, LESSON_MODEL) if settings.whisper else ())):
        found = find_model(name, models)
        if found.state == "damaged":
            raise ModelProblem(f"the model {name} is damaged", where=str(found.folder), do=found.why)
    vosk = Path(settings.vosk_model) if settings.vosk_model else None
    return choose_ears(models, vosk, whisper=settings.whisper, language=language.code)


def load_ears(chosen: EarsChosen) -> Ears:
    """Load them. ModelProblem where a folder cannot be used."""
    weighing = WhisperEar(chosen.whisper, chosen.lesson) if chosen.whisper else None
    return Ears(VoskEar(chosen.vosk), weighing)


def hearing_with(
    ears: Ears,
    settings: Settings,
    shelf: Shelf,
    now_s: Callable[[], float],
    timed: Callable[[Timing], None] | None = None,
) -> Hearing:
    """Endpointing and ears together."""
    limits = replace(Endpointing(), end_after_s=settings.end_of_speech_s)
    return Hearing(ears, Endpointer(SileroDetector(), limits), shelf, now_s, timed)


def voice_settings(settings: Settings, language: Language = ENGLISH) -> VoiceSettings:
    """The assistant's voice: as the settings say, else that of the language."""
    return VoiceSettings(voice=settings.voice or language.voice, words_per_minute=settings.words_per_minute)


def microphone_of(settings: Settings, now_s: Callable[[], float]) -> Callable[[], SoundSource]:
    """Opens the microphone."""
    return lambda: Microphone(settings.microphone, now_s=now_s)


def label_reader(*, still: bool) -> LabelReader:
    """The decoders; `still` for picture files, each of which must give all it has."""
    return ZbarReader(still=still)


def onlookers_of(*, window: bool, silent: bool) -> Callable[[float], tuple[Onlooker, ...]]:
    """What goes along with a look of so many seconds. DeviceTrouble, at once, where a window is wanted without a screen."""
    shown: tuple[Onlooker, ...] = (EyesWindow(),) if window else ()
    return lambda seconds: shown if silent else (LookingTone(seconds), *shown)


def camera_of(eyes: list[str], settings: Settings) -> Callable[[], Camera]:
    """Opens the eyes: a camera by number, a video, or picture files that each look takes one of."""
    if not eyes or (len(eyes) == 1 and eyes[0].isdigit()):
        number = int(eyes[0]) if eyes else settings.camera
        return lambda: OpenCvCamera(number)
    paths = [Path(name) for name in eyes]
    if len(paths) == 1 and paths[0].suffix.lower() in (".mp4", ".avi", ".mkv", ".mov"):
        return lambda: OpenCvCamera(paths[0])
    check_pictures(paths)
    rest = deque(paths)
    return lambda: _next_picture(rest)


def _next_picture(rest: deque[Path]) -> Camera:
    """Each look has one picture: the next."""
    if not rest:
        raise DeviceTrouble("there are no more pictures", where="--eyes", do="give one picture for each part")
    return PictureFiles([rest.popleft()])
