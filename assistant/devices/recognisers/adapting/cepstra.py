"""Sound as our Vosk models take it: mel cepstra, one row every 10 ms, as Kaldi computes them.

Rules from Kaldi's `feat/feature-window.cc`, `mel-computations.cc` and `feature-mfcc.cc` (from memory;
`tests/test_enrol_network.py` compares with figures of kaldi-native-fbank, another hand's): 25 ms windows, mean taken
out, pre-emphasis 0.97, Povey's window, mel = 1127 ln(1 + Hz / 700), orthonormal cosine transform, lifter of 22. The
options are those of the model's `conf/mfcc.conf`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.core.problems import FileProblem, Place
from assistant.devices.protocols import RATE_HZ, Samples

Floats = npt.NDArray[np.float32]
Doubles = npt.NDArray[np.float64]

WINDOW_SAMPLES, HOP_SAMPLES, FFT_SAMPLES = 400, 160, 512
PRE_EMPHASIS = 0.97
LIFTER = 22
FLOOR = float(np.finfo(np.float32).eps)
DITHER = 1.0
"""Noise of one step of 16 bit, which the ear adds to what Vosk hears, so that digital silence has a spectrum."""


@dataclass(frozen=True)
class Cepstra:
    """What the model's options say: bands, coefficients, and the edges of the bands in Hz."""

    bands: int = 23
    coefficients: int = 13
    low_hz: float = 20.0
    high_hz: float = RATE_HZ / 2

    def of(self, samples: Samples, dither: float = DITHER) -> Floats:
        """Shape (frames, coefficients); none for a sound shorter than one window."""
        frames = np.lib.stride_tricks.sliding_window_view(samples.astype(np.float64), WINDOW_SAMPLES)[::HOP_SAMPLES]
        frames = frames + dither * np.random.default_rng(0).standard_normal(frames.shape)
        frames = frames - frames.mean(axis=1, keepdims=True)
        before = np.concatenate((frames[:, :1], frames[:, :-1]), axis=1)
        spectrum = np.fft.rfft((frames - PRE_EMPHASIS * before) * _povey(), FFT_SAMPLES)[:, :-1]
        mel = np.maximum((spectrum.real**2 + spectrum.imag**2) @ self._bands.T, FLOOR)
        return (np.log(mel) @ self._cosines.T).astype(np.float32)

    @cached_property
    def _bands(self) -> Doubles:
        """Triangles, shape (bands, FFT_SAMPLES / 2)."""
        corners = np.linspace(_mel(self.low_hz), _mel(self.high_hz), self.bands + 2)
        at = _mel(np.arange(FFT_SAMPLES // 2) * RATE_HZ / FFT_SAMPLES)
        low, peak, high = (corners[i : i + self.bands, None] for i in range(3))
        return np.asarray(np.maximum(np.minimum((at - low) / (peak - low), (high - at) / (high - peak)), 0.0))

    @cached_property
    def _cosines(self) -> Doubles:
        """The cosine transform with the lifter in it, shape (coefficients, bands)."""
        k = np.arange(self.coefficients)[:, None]
        table = np.sqrt(2 / self.bands) * np.cos(np.pi / self.bands * k * (np.arange(self.bands) + 0.5))
        table[0] = np.sqrt(1 / self.bands)
        return np.asarray(table * (1 + LIFTER / 2 * np.sin(np.pi * k / LIFTER)))


def _mel(hz: Doubles | float) -> Doubles:
    return np.asarray(1127.0 * np.log(1 + np.asarray(hz) / 700))


def _povey() -> Doubles:
    hann = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(WINDOW_SAMPLES) / (WINDOW_SAMPLES - 1))
    return np.asarray(hann**0.85)


_ALWAYS = {"sample-frequency": float(RATE_HZ), "use-energy": "false"}
_EAR_DOES = "dither"  # `VoskEar` adds its own
_OPTIONS = {"num-mel-bins": "bands", "num-ceps": "coefficients", "low-freq": "low_hz", "high-freq": "high_hz"}


def read_cepstra(path: Path) -> Cepstra:
    """The options of `conf/mfcc.conf`. FileProblem for one that is not computed here, with its line."""
    found: dict[str, Any] = {}
    fixed: dict[str, float | str] = {"use-energy": "true"}
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        name, _, value = line.strip().removeprefix("--").partition("=")
        if name in _OPTIONS:
            found[_OPTIONS[name]] = float(value) if "freq" in name else int(value)
        elif name in _ALWAYS:
            fixed[name] = float(value) if name == "sample-frequency" else value
        elif name and name != _EAR_DOES:
            raise _unlike(path, number, f"the option {name}")
    if fixed["use-energy"] != "false" or fixed.get("sample-frequency", RATE_HZ) != RATE_HZ:
        raise _unlike(path, 0, "energy in place of the first coefficient, or another rate than 16 kHz,")
    return Cepstra(**found)


def _unlike(path: Path, line: int, what: str) -> FileProblem:
    do = "a voice can be learnt only for models made like our own bench-en"
    return FileProblem(f"{what} is not computed here", where=Place(str(path), line), do=do)
