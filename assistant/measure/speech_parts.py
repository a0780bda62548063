"""`layup measure speech --parts`: where the weighing ear's time goes, beside the plain way to do the same.

The parts are timed by Python's profiler around the ear as it is, by the names of the functions; what the profiler itself costs
shows as the difference between the sum and the first row. The plain way is what CTranslate2's public interface offers for a
search that needs all probabilities: a whole prompt and one new piece a call. Both search the same grammar with the same rule.
"""

from __future__ import annotations

import cProfile
import statistics
import time
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np

from assistant.core.problems import CallProblem
from assistant.devices.protocols import RATE_HZ, Utterance
from assistant.devices.recognisers.held_search import Beam, Floats, search
from assistant.devices.recognisers.whisper_ear import DROP, LOOSE_WIDTH, WIDTH, WhisperEar
from assistant.measure.speech_sets import CLEAN, SpeechSet, sound_in

RECORDINGS = 20
BEFORE_WORDS = 2
"""Pieces of a taught ear's prompt."""
PARTS = {"log-mel": "log_mel", "encoder": "encode", "search": "search"}
"""Part -> the function whose time it is; `encode` is CTranslate2's own."""


def measure_parts(ear: object, sets: Sequence[SpeechSet], line: Callable[[str], None]) -> int:
    """Milliseconds of each part, a table a set. CallProblem without the weighing ear, or any set."""
    if not isinstance(ear, WhisperEar):
        raise CallProblem("there is no weighing ear", where="--parts", do="`layup models get whisper-tiny-en`")
    if not sets:
        raise CallProblem("no recording says what this grammar allows", where="--parts", do="choose another --grammar")
    for one in sets:
        for text in _measure(ear, one):
            line(text)
    return 0


def _measure(ear: WhisperEar, one: SpeechSet) -> Iterator[str]:
    ear.listen_for(one.moment.grammar)
    utterances = [_utterance(one, n) for n in range(len(one.recordings))]
    ear.hear(utterances[0])  # the first is slower: memory is fetched
    rows: dict[str, list[float]] = {}
    same = 0
    for utterance in utterances:
        best, seconds = _by_part(ear, one, utterance)
        plain, seconds["search, one public call a piece"] = _plainly(ear, utterance)
        same += best == plain
        for part, value in seconds.items():
            rows.setdefault(part, []).append(value)
    yield from _table(one.name, rows)
    yield f"{len(utterances)} recordings; the plain way had the same best string in {same}"


def _utterance(one: SpeechSet, number: int) -> Utterance:
    sound = sound_in(one.recordings[number], CLEAN)
    return Utterance(sound, 0.0, len(sound) / RATE_HZ)


def _by_part(ear: WhisperEar, one: SpeechSet, utterance: Utterance) -> tuple[tuple[str, ...], dict[str, float]]:
    began_s = time.perf_counter()
    take = ear.hear(utterance)
    seconds = {"the ear, without the profiler": time.perf_counter() - began_s}
    profile = cProfile.Profile()
    profile.runcall(ear.hear, utterance)
    spent: dict[str, float] = {}
    for entry in profile.getstats():
        built_in = isinstance(entry.code, str)
        file, name = ("~", entry.code) if isinstance(entry.code, str) else (entry.code.co_filename, entry.code.co_name)
        wanted = next((part for part, function in PARTS.items() if _is_named(function, file, name)), "")
        spent[wanted] = spent.get(wanted, 0.0) + (entry.inlinetime if built_in else entry.totaltime)
    seconds |= {part: spent.get(part, 0.0) for part in PARTS}
    began_s = time.perf_counter()
    one.moment.decide((take,))
    seconds["weighing"] = time.perf_counter() - began_s
    return take.candidates[0].words if take.candidates else (), seconds


def _is_named(function: str, file: str, name: str) -> bool:
    """A function of ours by its name, CTranslate2's `encode` by that of the built-in method."""
    if function == "encode":
        return file == "~" and "encode" in name and "ctranslate2" in name
    return name == function and file.endswith(("held_search.py", "log_mel.py"))


def _plainly(ear: WhisperEar, utterance: Utterance) -> tuple[tuple[str, ...], float]:
    """The best string by one call a piece, and the seconds of the search."""
    encoded = ear._encoded(utterance.samples)
    held, loose = Beam(ear._held, WIDTH, DROP), Beam(ear._loose, LOOSE_WIDTH, DROP)
    began_s = time.perf_counter()
    search(Reprompting(ear._native, encoded, ear._prompt), held, loose)
    seconds = time.perf_counter() - began_s
    return max(held.done, key=held.done.__getitem__, default=()), seconds


class Reprompting:
    """A `Teller` that prompts CTranslate2 anew for every piece: nothing of the last call is used again."""

    def __init__(self, native: Any, encoded: Any, prompt: Sequence[int]) -> None:
        """`native` CTranslate2's Whisper, `encoded` its array of one encoded sound."""
        self._native = native
        self._array_of: Any = type(encoded)
        self._encoded = np.array(encoded)
        self._said = [list(prompt)]

    def first(self) -> Floats:
        """What comes first."""
        return self._tell()

    def after(self, rows: Sequence[int], pieces: Sequence[int]) -> Floats:
        """What comes next after these."""
        self._said = [[*self._said[row], piece] for row, piece in zip(rows, map(int, pieces), strict=True)]
        return self._tell()

    def _tell(self) -> Floats:
        sound = np.ascontiguousarray(np.repeat(self._encoded, len(self._said), 0))
        wanted = len(self._said[0]) - BEFORE_WORDS + 1
        found = self._native.generate(
            self._array_of.from_array(sound),
            self._said,
            beam_size=1,
            max_length=max(wanted + BEFORE_WORDS, 2 * wanted),  # the lesser of half of it and it less the prompt counts
            return_logits_vocab=True,
            suppress_blank=False,
            suppress_tokens=[],
        )
        logits = np.stack([np.array(one.logits[0][-1], np.float32).reshape(-1) for one in found])
        logits -= logits.max(-1, keepdims=True)
        told: Floats = logits - np.log(np.exp(logits).sum(-1, keepdims=True))
        return told


def _table(title: str, rows: dict[str, list[float]]) -> Iterator[str]:
    yield f"{title:<34}{'median':>10}{'p90':>10}"
    for part, values in rows.items():
        ninth = sorted(values)[min(len(values) - 1, int(0.9 * len(values)))]
        yield f"{part:<34}{1000 * statistics.median(values):>7.1f} ms{1000 * ninth:>7.1f} ms"
