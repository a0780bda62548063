"""The parts of the weighing ear's time, and the plain way beside it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from assistant.bench.equipment import chosen_ears, load_ears
from assistant.core.problems import CallProblem
from assistant.files.model_store import models_root
from assistant.measure.recordings import Recording
from assistant.measure.speech_moments import AnyNumbers
from assistant.measure.speech_parts import PARTS, Reprompting, measure_parts
from assistant.measure.speech_sets import SpeechSet
from assistant.settings import Settings

SOUND = Path(__file__).parent / "sounds" / "numbers.flac"
NUMBERS = SpeechSet("numbers", AnyNumbers(), (Recording(SOUND, "thirty three four six ninety two"),))


class Array:
    """Stands for CTranslate2's array."""

    def __init__(self, values: np.typing.NDArray[np.float32]) -> None:
        self.values = values

    @classmethod
    def from_array(cls, values: np.typing.NDArray[np.float32]) -> Array:
        return cls(values)

    def __array__(self, dtype: Any = None, copy: Any = None) -> np.typing.NDArray[np.float32]:
        return self.values


class Native:
    """Stands for CTranslate2's Whisper: each prompt makes its last piece the likeliest by log 3."""

    def __init__(self) -> None:
        self.prompts: list[list[list[int]]] = []

    def generate(self, sound: Array, prompts: list[list[int]], **options: Any) -> Sequence[Any]:
        assert len(sound.values) == len(prompts)
        most = options["max_length"]
        assert min(most // 2, most - 2) == len(prompts[0]) - 1  # CTranslate2's rule: the words so far, and one piece
        self.prompts.append(prompts)
        return [SimpleNamespace(logits=[[5.0 + np.log(1.0 + 2.0 * (np.arange(4) == p[-1]))]]) for p in prompts]


def test_the_plain_way_prompts_anew_with_all_that_was_said() -> None:
    """Rows are followed by their pieces, whatever the order asked; what is told are log-probabilities."""
    native = Native()
    teller = Reprompting(native, Array(np.zeros((1, 2, 3), np.float32)), [7, 1])
    assert np.exp(teller.first()) == pytest.approx(np.array([[1, 3, 1, 1]]) / 6)
    teller.after([0, 0], [2, 3])
    assert np.exp(teller.after([1, 0], [0, 2])) == pytest.approx(np.array([[3, 1, 1, 1], [1, 1, 3, 1]]) / 6)
    assert native.prompts == [[[7, 1]], [[7, 1, 2], [7, 1, 3]], [[7, 1, 3, 0], [7, 1, 2, 2]]]


def test_without_the_weighing_ear_there_are_no_parts() -> None:
    """The call says how to get it."""
    with pytest.raises(CallProblem, match="no weighing ear"):
        measure_parts(None, [NUMBERS], print)


@pytest.mark.speech
def test_the_parts_are_found_in_the_real_ear() -> None:
    """Every part has a time above zero, and the plain way finds the same words."""
    ear = load_ears(chosen_ears(Settings(), models_root())).weighing
    if ear is None:
        pytest.skip("Whisper is not fetched")
    lines: list[str] = []
    measure_parts(ear, [NUMBERS], lines.append)
    for part in PARTS:
        [row] = [line for line in lines if line.startswith(f"{part:<34}")]
        assert float(row.split()[-4]) > 0
    assert lines[-1] == "1 recordings; the plain way had the same best string in 1"
