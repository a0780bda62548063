"""All speech for training and development into one file of Opus and an index, small enough to travel to a GPU.

    python3 pack.py OUT SPEECH --said FOLDER... [--older QUARRY] [--cut-with MODEL]

SPEECH is the folder of real recordings (`split.py` says whose), FOLDERs are `synthesise.py`'s. QUARRY (`data` of
`data.bin` and `data.json`) is an older pack: its synthetic speech is used again, and its words of other-talk, which are
Whisper tiny.en's guesses. MODEL, a Vosk model, finds where the words of AN4's training speakers begin and end, so that
training can string one speaker's figures together anew; without it, it does not.

OUT.bin holds the Opus files one after the other, OUT.json `{"lexicon": ..., "utterances": [...]}`, an utterance as `Packed`.
"""

import argparse
import io
import json
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import soundfile as sf
from lexicon import make_lexicon
from split import part_of, real_speech
from words import NUMBER_WORDS, VOCABULARY

RATE_HZ = 16_000
Sound = npt.NDArray[np.float32]
COMPRESSION = {"real": 0.95, "said": 0.96, "older": 0.97}
"""Libsndfile's; measured on synthetic speech: 20, 18 and 16 kbit/s. Older speech was Opus before."""
OLDER_LEFT_OUT = {"espeak": 3, "flite": 3}
"""Every so many-th of the older, plainer voices stays out, for the size."""


@dataclass(frozen=True)
class Packed:
    """One utterance: where it lies, what is said, by whom. `edges` and `cuts` are samples."""

    words: str
    source: str
    speaker: str
    part: str
    group: str
    """What training draws by: an4, kokoro, kokoro:older, foreign, words ..."""
    samples: int = 0
    offset: int = 0
    size: int = 0
    edges: tuple[int, int] = (0, 0)
    cuts: tuple[tuple[str, int, int], ...] = ()


def plain(text: str) -> str:
    """Lower case, no marks but apostrophes."""
    return " ".join(re.sub(r"[^a-z' ]", " ", text.lower().replace("-", " ")).split())


def real(speech: Path, guesses: dict[str, str]) -> Iterator[tuple[Packed, Sound]]:
    """What may travel of the real recordings; of the development speakers their numbers only."""
    for source, row, place in real_speech(speech):
        part = part_of(source, row["speaker"], place)
        words = guesses.get(Path(row["path"]).name, "") if source == "other-talk" else row["words"]
        if part is None or not words or (part == "development" and not set(words.split()) <= {*NUMBER_WORDS, "and"}):
            continue
        sound, rate_hz = sf.read(speech / source / row["path"], dtype="float32")
        if rate_hz != RATE_HZ:
            raise ValueError(f"{speech / source / row['path']}: {rate_hz} Hz; 16000 are needed")
        yield Packed(words, source, row["speaker"], part, source), sound


def said(folder: Path) -> Iterator[tuple[Packed, Sound]]:
    """What `synthesise.py` wrote."""
    for line in (folder / "manifest.tsv").read_text(encoding="utf-8").splitlines():
        name, _, source, voice, words = line.split("\t")
        if part_of(source, voice) is not None:
            group = "foreign" if not set(words.split()) & set(VOCABULARY) else source
            group = "words" if folder.name.startswith("words") else group
            yield Packed(words, source, voice, "train", group), sf.read(folder / name, dtype="float32")[0]


def older(quarry: Path) -> Iterator[tuple[Packed, Sound]]:
    """The synthetic speech of an older pack, save the voices that are kept apart now."""
    seen: Counter[str] = Counter()
    sounds = quarry.with_suffix(".bin").read_bytes()
    for offset, size, samples, words, kind, voice, _ in json.loads(quarry.with_suffix(".json").read_text()):
        source, _, name = voice.partition(":")
        if kind != "tts" or part_of(source, name) is None or "thou" in words.split():
            continue  # its *thou* is the pronoun
        seen[source] += 1
        if source in OLDER_LEFT_OUT and seen[source] % OLDER_LEFT_OUT[source] == 0:
            continue
        sound = sf.read(io.BytesIO(sounds[offset : offset + size]), dtype="float32")[0]
        yield Packed(words, source, name, "train", f"{source}:older"), sound[:samples]


def guessed_words(quarry: Path) -> dict[str, str]:
    """File name of other-talk to what Whisper made of it."""
    rows = json.loads(quarry.with_suffix(".json").read_text())
    return {speaker: plain(words) for *_, words, kind, speaker, _ in rows if kind == "talk"}


def edges_of(sound: Sound) -> tuple[int, int]:
    """Where speech begins and ends: frames of 10 ms within 32 dB of the loudest and 8 dB over the quietest tenth."""
    frames = sound[: len(sound) // 160 * 160].reshape(-1, 160)
    level_db = 10 * np.log10((frames.astype(float) ** 2).mean(1) + 1e-10)
    loud = np.flatnonzero((level_db > level_db.max() - 32) & (level_db > np.percentile(level_db, 10) + 8))
    return (int(loud[0]) * 160, int(loud[-1] + 1) * 160) if len(loud) else (0, len(sound))


def cuts_by(model_folder: Path) -> Any:
    """A function (words, sound) -> where each number word lies, by a Vosk model held to exactly these words."""
    import vosk

    vosk.SetLogLevel(-1)
    model = vosk.Model(str(model_folder))

    def cuts(words: str, sound: Sound) -> tuple[tuple[str, int, int], ...]:
        if not set(words.split()) & set(NUMBER_WORDS) or not set(words.split()) <= set(VOCABULARY):
            return ()
        native = vosk.KaldiRecognizer(model, RATE_HZ, json.dumps([words]))
        native.SetWords(True)
        quiet = np.zeros(RATE_HZ // 4, np.int16)  # the same before, as the decoder needs some
        native.AcceptWaveform(np.concatenate([quiet, (sound * 32767).astype(np.int16), quiet]).tobytes())
        found = [entry for entry in json.loads(native.FinalResult()).get("result", []) if entry["word"] != "[unk]"]
        if [entry["word"] for entry in found] != words.split():
            return ()
        starts = [int((entry["start"] - 0.25) * RATE_HZ) for entry in found]
        ends = [int((entry["end"] - 0.25) * RATE_HZ) for entry in found]
        return tuple(
            (entry["word"], max(0, start), min(len(sound), end))
            for entry, start, end in zip(found, starts, ends, strict=True)
            if entry["word"] in NUMBER_WORDS and 0.05 * RATE_HZ < end - start < 0.9 * RATE_HZ
        )

    return cuts


def as_opus(sound: Sound, compression: float) -> bytes:
    """The sound as Ogg Opus."""
    buffer = io.BytesIO()
    sf.write(buffer, np.clip(sound, -1, 1), RATE_HZ, format="OGG", subtype="OPUS", compression_level=compression)
    return buffer.getvalue()


def everything(asked: argparse.Namespace) -> Iterator[tuple[Packed, Sound, float]]:
    """All utterances with the compression of each."""
    guesses = guessed_words(asked.older) if asked.older else {}
    cuts = cuts_by(asked.cut_with) if asked.cut_with else lambda _words, _sound: ()
    for packed, sound in real(asked.speech, guesses):
        pieces = cuts(packed.words, sound) if (packed.source, packed.part) == ("an4", "train") else ()
        yield replace(packed, cuts=pieces), sound, COMPRESSION["real"]
    for folder in asked.said:
        for packed, sound in said(folder):
            yield packed, sound, COMPRESSION["said"]
    if asked.older:
        for packed, sound in older(asked.older):
            yield packed, sound, COMPRESSION["older"]


def print_sums(packed: list[Packed]) -> None:
    """Utterances, minutes and megabytes by group."""
    for group in dict.fromkeys((one.group, one.part) for one in packed):
        these = [one for one in packed if (one.group, one.part) == group]
        minutes, megabytes = sum(one.samples for one in these) / RATE_HZ / 60, sum(one.size for one in these) / 1e6
        print(f"{group[0]:20} {group[1]:12} {len(these):5} utterances {minutes:6.1f} min {megabytes:6.2f} MB")
    print(f"{len(packed)} utterances, {sum(one.size for one in packed) / 1e6:.2f} MB")


def main() -> None:
    """Write the pack."""
    told = argparse.ArgumentParser(description="Speech for training into one file.")
    told.add_argument("out", type=Path)
    told.add_argument("speech", type=Path)
    told.add_argument("--said", type=Path, nargs="*", default=[])
    told.add_argument("--older", type=Path)
    told.add_argument("--cut-with", type=Path)
    asked = told.parse_args()
    packed: list[Packed] = []
    with asked.out.with_suffix(".bin").open("wb") as out:
        for one, sound, compression in everything(asked):
            opus = as_opus(sound, compression)
            packed.append(replace(one, samples=len(sound), offset=out.tell(), size=len(opus), edges=edges_of(sound)))
            out.write(opus)
    words = {*VOCABULARY, *(word for one in packed if one.group != "foreign" for word in one.words.split())}
    index = {"lexicon": make_lexicon(words), "utterances": [asdict(one) for one in packed]}
    asked.out.with_suffix(".json").write_text(json.dumps(index, separators=(",", ":")), encoding="utf-8")
    print_sums(packed)


if __name__ == "__main__":
    main()
