"""Whose speech may be trained on: by speaker and by voice, never by utterance.

Who is kept apart stands in `assistant/measure/speakers.toml`, which the measurements read too, so the two cannot drift.
`python3 split.py SPEECH` prints the lists.
"""

import csv
import sys
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Literal

APART = tomllib.loads(
    (Path(__file__).resolve().parents[3] / "assistant/measure/speakers.toml").read_text(encoding="utf-8")
)
DEVELOPMENT = frozenset(APART["an4"]["tune"])
"""AN4 speakers scored while training, never trained on."""
AN4_TEST = frozenset(APART["an4"]["measure"])
LIBRI_TEST = frozenset(APART["talk"]["librispeech-other"]["measure"])
SINGLE_WORDS_APART = tuple(APART["talk"]["single-words"]["tune"] + APART["talk"]["single-words"]["measure"])
"""First signs of the Speech Commands speakers that are kept apart."""
KOKORO_TEST = ("am_michael", "af_sarah", "bf_emma", "bm_lewis")
ESPEAK_TEST = ("f5", "Michael", "steph", "caleb", "m8", "Gene", "norbert", "travis", "Jacky", "pedro", "sandro")
"""Variants of eSpeak NG kept apart in every dialect, their numbered kin (*steph2*) too."""
FLITE_TEST = ("awb",)
Part = Literal["train", "development"]


def part_of(source: str, speaker: str, row: int = 0) -> Part | None:
    """Where this recording may go; None: it stays at home. `row` is its place in its manifest, from 0."""
    if source == "an4":
        return "development" if speaker in DEVELOPMENT else None if speaker in AN4_TEST else "train"
    if source == "librispeech-other":
        return None if speaker in LIBRI_TEST else "train"
    if source == "other-talk":
        return "train" if row % 2 == 0 else None
    if source == "single-words":
        return None if speaker.startswith(SINGLE_WORDS_APART) else "train"
    return None if is_test_voice(source, speaker) else "train"


def is_test_voice(source: str, voice: str) -> bool:
    """Whether a synthetic voice, or either half of a mixed one, is kept apart."""
    if source == "kokoro":
        return any(half in KOKORO_TEST for half in voice.split("+"))
    if source == "espeak":
        return voice.partition("+")[2].startswith(ESPEAK_TEST)
    if source == "flite":
        return voice in FLITE_TEST
    if source in ("piper", "festival"):
        return False
    raise ValueError(f"{source}: no such source of speech; name its rule here first")


def real_speech(speech: Path) -> Iterable[tuple[str, dict[str, str], int]]:
    """(source, row of its manifest, place of the row) of every real recording in the folder of speech."""
    for source in ("an4", "librispeech-other", "other-talk", "single-words"):
        with (speech / source / "manifest.csv").open(encoding="utf-8", newline="") as lines:
            for place, row in enumerate(csv.DictReader(lines)):
                yield source, row, place


def main() -> None:
    """Print who is where."""
    found: dict[tuple[str, str], set[str]] = {}
    for source, row, place in real_speech(Path(sys.argv[1])):
        kept = part_of(source, row["speaker"], place) or "apart"
        found.setdefault((source, kept), set()).add(row["speaker"] or "not named")
    for (source, kept), speakers in found.items():
        print(f"{source:18} {kept:12} {len(speakers):3} {' '.join(sorted(speakers))}")


if __name__ == "__main__":
    main()
