"""Which ears there are, and why: Vosk always, Whisper where its weights have been fetched."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import assistant

BENCH_MODEL = "bench-en"
WHISPER_MODEL = "whisper-tiny-en"
LESSON_MODEL = "bench-lesson"
LESSON = "lesson.npz"
FITTED_FOR_OURS = (
    f"How sure it must be was fitted for {BENCH_MODEL}; `layup measure speech --fit --vosk-model DIR` prints numbers for "
    "another, for assistant/core/speech/calibration.py."
)
"""An ear's scores mean what they meant when they were fitted; another model's may claim too much, or too little."""
TAUGHT_IS_OURS = (
    f"The lesson is for {WHISPER_MODEL} alone, and how sure it must be was fitted for that with its lesson: this one is heard "
    "as it came."
)


@dataclass(frozen=True)
class EarsChosen:
    """The model folder of each ear (no Whisper: None), and why: one sentence for each, a line each.

    `voice` says for the record which learnt voice's model Vosk has; empty where it is nobody's. `lesson` is what is added to
    Whisper's weights; None for another Whisper than ours.
    """

    vosk: Path
    whisper: Path | None
    why: str
    voice: str = ""
    lesson: Path | None = None


def hear_it(language: str) -> bool:
    """Do the models that come with the program hear a language of that code: English alone, whatever is said in it.

    >>> hear_it("en"), hear_it("en-bay"), hear_it("es")
    (True, True, False)
    """
    return language.partition("-")[0] == "en"


def choose_ears(
    models: Path, vosk_folder: Path | None = None, *, whisper: bool = True, language: str = "en"
) -> EarsChosen:
    """Look into the folder of models; `vosk_folder` and `whisper` are the settings. Nothing is loaded or checked."""
    vosk, why_vosk = _choose_vosk(models, vosk_folder)
    folder, why_whisper = _choose_whisper(models / WHISPER_MODEL, whisper, language)
    lesson = _folder_of(LESSON_MODEL, models) / LESSON if folder else None
    return EarsChosen(vosk, folder, f"{why_vosk}\n{why_whisper}", lesson=lesson)


def _choose_whisper(folder: Path, wanted: bool, language: str) -> tuple[Path | None, str]:
    alone = "it runs on Vosk alone, and asks more"
    if not wanted:
        return None, f"whisper: switched off in the settings, so {alone}."
    if not hear_it(language):
        return None, f"whisper: {WHISPER_MODEL} hears English alone, so {alone}."
    if not (folder / "model.bin").is_file():
        return None, f"whisper: not fetched, so {alone}; `layup models get {WHISPER_MODEL}` fetches it."
    return folder, f"whisper: weighs every utterance, with {WHISPER_MODEL} taught for the bench."


def _choose_vosk(models: Path, named: Path | None) -> tuple[Path, str]:
    folder = _folder_of(BENCH_MODEL, models)
    if named is not None and named.resolve() != folder.resolve():
        return named, f"vosk: hears while you speak, with {named}, as the settings say. {FITTED_FOR_OURS}"
    return folder, f"vosk: hears while you speak, with our own {BENCH_MODEL}."


def _folder_of(committed: str, models: Path) -> Path:
    """Where a model that comes with the program lies: among the others, or with the installed program."""
    shipped = Path(assistant.__file__).resolve().parent / "shipped" / "models"
    checkout = Path(assistant.__file__).resolve().parents[1] / "models"
    places = [root / committed for root in (models, shipped, checkout)]
    return next((place for place in places if place.is_dir()), places[0])
