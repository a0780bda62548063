"""Sound as Whisper wants it: the logarithm of 80 mel bands, one column every 10 ms.

Rules from the Whisper paper (Radford et al. 2022, section 2.2: 80 channels, 25 ms windows, 10 ms apart, scaled to
about -1 to 1) and its published code (Hann window, reflected edges, last frame dropped, floor of 1e-10, everything
more than 8 decades below the loudest raised to there, then (x + 4) / 4). The bands stand on the mel scale of Slaney's
Auditory Toolbox of 1998 (linear to 1 kHz, above it 27 steps to each factor of 6.4), each triangle of unit area.
"""

from __future__ import annotations

from functools import cache
from typing import cast

import numpy as np
import numpy.typing as npt

from assistant.devices.protocols import RATE_HZ, Samples

Floats = npt.NDArray[np.float32]

BANDS = 80
WINDOW_SAMPLES = 400  # 25 ms
HOP_SAMPLES = 160  # 10 ms

_LINEAR_STEP_HZ = 200 / 3
_LOG_FROM_HZ = 1000.0
_LOG_FROM_MEL = _LOG_FROM_HZ / _LINEAR_STEP_HZ
_LOG_STEP = np.log(6.4) / 27


def _hz_of_mel(mel: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    above = _LOG_FROM_HZ * np.exp(_LOG_STEP * (mel - _LOG_FROM_MEL))
    return np.where(mel < _LOG_FROM_MEL, mel * _LINEAR_STEP_HZ, above)


def _mel_of_hz(hz: float) -> float:
    if hz < _LOG_FROM_HZ:
        return hz / _LINEAR_STEP_HZ
    return float(_LOG_FROM_MEL + np.log(hz / _LOG_FROM_HZ) / _LOG_STEP)


@cache
def mel_bands() -> Floats:
    """The weights of each band, shape (80, 201): triangles of unit area from 0 to 8 kHz."""
    corners = _hz_of_mel(np.linspace(0.0, _mel_of_hz(RATE_HZ / 2), BANDS + 2))
    bins = np.fft.rfftfreq(WINDOW_SAMPLES, 1 / RATE_HZ)
    low, peak, high = (corners[i : i + BANDS, None] for i in range(3))
    triangle = np.minimum((bins - low) / (peak - low), (high - bins) / (high - peak))
    return cast(Floats, (np.maximum(triangle, 0.0) * (2 / (high - low))).astype(np.float32))


def log_mel(samples: Samples, seconds: int) -> Floats:
    """The sound padded with silence (or cut) to `seconds`; shape (80, 100 * seconds), about -1 to 1.5."""
    sound = np.zeros(seconds * RATE_HZ, np.float32)
    kept = samples[: len(sound)]
    sound[: len(kept)] = kept.astype(np.float32) / 32768
    edged = np.pad(sound, WINDOW_SAMPLES // 2, mode="reflect")
    frames = np.lib.stride_tricks.sliding_window_view(edged, WINDOW_SAMPLES)[:-1:HOP_SAMPLES]
    spectrum = np.fft.rfft(frames * _hann())
    power = (spectrum.real**2 + spectrum.imag**2).astype(np.float32)
    loudness = np.log10(np.maximum(mel_bands() @ power.T, np.float32(1e-10)))
    return cast(Floats, (np.maximum(loudness, loudness.max() - 8) + 4) / 4)


@cache
def _hann() -> Floats:
    return cast(Floats, (0.5 - 0.5 * np.cos(2 * np.pi * np.arange(WINDOW_SAMPLES) / WINDOW_SAMPLES)).astype(np.float32))
