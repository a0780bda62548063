"""Reading CTranslate2's model files: what is cut short or something else is said, never half used."""

import struct
from pathlib import Path

import numpy as np
import pytest

from assistant.core.problems import ModelProblem
from assistant.devices.recognisers.whisper_decoder import WhisperDecoder
from assistant.devices.recognisers.whisper_weights import read_weights


def text(name: str) -> bytes:
    return struct.pack("<H", len(name) + 1) + name.encode() + b"\0"


def model_bin(version: int = 6) -> bytes:
    """One matrix and one alias, laid out by CTranslate2's `ModelSpec.save`."""
    data = np.arange(6, dtype=np.float16).tobytes()
    head = struct.pack("<I", version) + text("WhisperSpec") + struct.pack("<II", 3, 1)
    matrix = text("a/weight") + struct.pack("<BIIBI", 2, 2, 3, 4, len(data)) + data
    return head + matrix + struct.pack("<I", 1) + text("b/weight") + text("a/weight")


def test_variables_and_aliases(tmp_path: Path) -> None:
    """A matrix comes back with its shape and type, also under its second name."""
    (tmp_path / "model.bin").write_bytes(model_bin())
    weights = read_weights(tmp_path / "model.bin")
    assert weights["a/weight"].dtype == np.float16
    np.testing.assert_array_equal(weights["b/weight"], [[0, 1, 2], [3, 4, 5]])


@pytest.mark.parametrize("kept", range(0, len(model_bin()) - 1, 7))
def test_a_file_cut_short_is_a_problem(tmp_path: Path, kept: int) -> None:
    """Cut anywhere, the file is refused with its name."""
    path = tmp_path / "model.bin"
    path.write_bytes(model_bin()[:kept])
    with pytest.raises(ModelProblem, match=r"model\.bin: the weights cannot be read"):
        read_weights(path)


def test_another_format_is_a_problem(tmp_path: Path) -> None:
    """A later version of the format is named, not guessed at."""
    (tmp_path / "model.bin").write_bytes(model_bin(version=7))
    with pytest.raises(ModelProblem, match="its format is 7"):
        read_weights(tmp_path / "model.bin")


def test_another_model_is_a_problem(tmp_path: Path) -> None:
    """Weights without Whisper's decoder are refused."""
    (tmp_path / "model.bin").write_bytes(model_bin())
    with pytest.raises(ModelProblem, match="not a Whisper model"):
        WhisperDecoder(read_weights(tmp_path / "model.bin"))
