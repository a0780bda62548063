"""Reading CTranslate2's model files, and adding a lesson: what is cut short or something else is said, never half used."""

import struct
from pathlib import Path

import numpy as np
import pytest

from assistant.core.problems import ModelProblem
from assistant.devices.recognisers.whisper_decoder import WhisperDecoder
from assistant.devices.recognisers.whisper_weights import read_model


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
    weights = read_model(tmp_path / "model.bin").weights
    assert weights["a/weight"].dtype == np.float16
    np.testing.assert_array_equal(weights["b/weight"], [[0, 1, 2], [3, 4, 5]])


@pytest.mark.parametrize("kept", range(0, len(model_bin()) - 1, 7))
def test_a_file_cut_short_is_a_problem(tmp_path: Path, kept: int) -> None:
    """Cut anywhere, the file is refused with its name."""
    path = tmp_path / "model.bin"
    path.write_bytes(model_bin()[:kept])
    with pytest.raises(ModelProblem, match=r"model\.bin: the weights cannot be read"):
        read_model(path)


def test_another_format_is_a_problem(tmp_path: Path) -> None:
    """A later version of the format is named, not guessed at."""
    (tmp_path / "model.bin").write_bytes(model_bin(version=7))
    with pytest.raises(ModelProblem, match="its format is 7"):
        read_model(tmp_path / "model.bin")


def test_another_model_is_a_problem(tmp_path: Path) -> None:
    """Weights without Whisper's decoder are refused."""
    (tmp_path / "model.bin").write_bytes(model_bin())
    with pytest.raises(ModelProblem, match="not a Whisper model"):
        WhisperDecoder(read_model(tmp_path / "model.bin").weights)


def lesson(folder: Path, **learnt: np.ndarray) -> Path:
    """A file of what was learnt; `__` stands for `/`."""
    path = folder / "lesson.npz"
    np.savez(path, **{name.replace("__", "/"): array for name, array in learnt.items()})
    return path


def test_a_lesson_is_added_to_its_matrix_and_the_file_stays_as_it_was(tmp_path: Path) -> None:
    """Two narrow matrices multiplied and added, to the alias and to the bytes too."""
    path = tmp_path / "model.bin"
    path.write_bytes(model_bin())
    model = read_model(path)
    wide, narrow = np.array([[1.0], [2.0]], np.float16), np.array([[10.0, 0.0, -4.0]], np.float16)
    model.learn(lesson(tmp_path, a__weight__out=wide, a__weight__in=narrow))
    taught = np.array([[10, 1, -2], [23, 4, -3]], np.float16)
    np.testing.assert_array_equal(model.weights["b/weight"], taught)
    assert model_bin().replace(np.arange(6, dtype=np.float16).tobytes(), taught.tobytes()) == model.data.tobytes()
    assert path.read_bytes() == model_bin()


def test_what_is_learnt_whole_takes_the_place_of_what_was(tmp_path: Path) -> None:
    """A name of its own is put in."""
    (tmp_path / "model.bin").write_bytes(model_bin())
    model = read_model(tmp_path / "model.bin")
    model.learn(lesson(tmp_path, a__weight=np.full((2, 3), 7, np.float16)))
    np.testing.assert_array_equal(model.weights["a/weight"], np.full((2, 3), 7))


@pytest.mark.parametrize(
    "learnt",
    [
        {"a__weight": np.zeros((3, 2), np.float16)},
        {"c__weight": np.zeros((2, 3), np.float16)},
        {"a__weight__out": np.zeros((2, 1), np.float16)},
        {"a__weight__in": np.zeros((1, 3), np.float16)},
        {"a__weight__out": np.zeros((2, 1), np.float16), "a__weight__in": np.zeros((2, 3), np.float16)},
    ],
    ids=["another shape", "another model", "half of it", "the other half", "no product"],
)
def test_a_lesson_for_other_weights_is_a_problem(tmp_path: Path, learnt: dict[str, np.ndarray]) -> None:
    """Both files are named."""
    (tmp_path / "model.bin").write_bytes(model_bin())
    with pytest.raises(ModelProblem, match=r"lesson\.npz: what Whisper was taught cannot be added to .*model\.bin"):
        read_model(tmp_path / "model.bin").learn(lesson(tmp_path, **learnt))


@pytest.mark.parametrize("content", [b"", b"no zip", b"PK\x03\x04", b"\x93NUMPY"])
def test_a_broken_lesson_is_a_problem(tmp_path: Path, content: bytes) -> None:
    """Never half used: restore it."""
    (tmp_path / "model.bin").write_bytes(model_bin())
    (tmp_path / "lesson.npz").write_bytes(content)
    with pytest.raises(ModelProblem, match="restore it from the project"):
        read_model(tmp_path / "model.bin").learn(tmp_path / "lesson.npz")
