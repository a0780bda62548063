"""The log-mel extractor against an independent one."""

from pathlib import Path

import numpy as np

from assistant.devices.recognisers.log_mel import log_mel, mel_bands

REFERENCE = Path(__file__).parent / "tables" / "log_mel_reference.csv"


def seven_seconds() -> np.typing.NDArray[np.int16]:
    """A rising tone with a sawtooth of noise, by formula."""
    n = np.arange(112_000)
    sound = 8000 * np.sin(2 * np.pi * (100 + 0.03 * n) * n / 16000) + (n * 7919 % 4001 - 2000)
    return sound.astype(np.int16)


def test_it_agrees_with_faster_whisper() -> None:
    """Ten frames of a known signal are those of faster-whisper's extractor, to five decimals."""
    reference = np.loadtxt(REFERENCE, delimiter=",")
    np.testing.assert_allclose(log_mel(seven_seconds(), 10)[:, ::100].T, reference, atol=2e-5)


def test_its_shape_is_the_window() -> None:
    """However long the sound, the result is the window's: 80 bands, 100 frames a second."""
    for seconds in (0, 3, 7):
        assert log_mel(seven_seconds()[: seconds * 16000], 5).shape == (80, 500)


def test_each_band_has_unit_area() -> None:
    """Slaney's bands: each triangle sums to 1 over frequency, to the width of a bin (40 Hz)."""
    areas = mel_bands().sum(1) * 16000 / 400
    np.testing.assert_allclose(areas[30:], 1.0, atol=0.1)
