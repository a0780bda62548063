"""Which ears are used, and why."""

from pathlib import Path

from assistant.devices.recognisers.choosing import choose_ears
from assistant.files.model_store import models_root


def test_without_its_weights_it_runs_on_vosk_alone(tmp_path: Path) -> None:
    """An empty folder: our own Vosk model, no Whisper, and how to get it."""
    chosen = choose_ears(tmp_path)
    assert chosen.whisper is None
    assert "`layup models get whisper-tiny-en`" in chosen.why
    assert choose_ears(models_root()).vosk == models_root() / "bench-en"


def test_with_its_weights_whisper_weighs(tmp_path: Path) -> None:
    """Weights that are there are used, with the lesson that comes with the program, unless the settings say no."""
    (tmp_path / "whisper-tiny-en").mkdir()
    (tmp_path / "whisper-tiny-en" / "model.bin").touch()
    chosen = choose_ears(tmp_path)
    assert chosen.whisper == tmp_path / "whisper-tiny-en"
    assert chosen.lesson == models_root() / "bench-lesson" / "lesson.npz"
    off = choose_ears(tmp_path, whisper=False)
    assert (off.whisper, off.lesson) == (None, None)
    assert "switched off" in off.why


def test_a_named_vosk_folder_is_used(tmp_path: Path) -> None:
    """The settings' folder goes before our own, there or not: the ear says what is wrong with it."""
    chosen = choose_ears(tmp_path, tmp_path / "other")
    assert chosen.vosk == tmp_path / "other"
    assert "fitted for bench-en" in chosen.why


def test_our_own_model_by_its_path_is_our_own() -> None:
    """Then the numbers fit, and nothing is said of others."""
    ours = choose_ears(models_root())
    assert choose_ears(models_root(), models_root() / "bench-en").why == ours.why
    assert "fitted" not in ours.why
