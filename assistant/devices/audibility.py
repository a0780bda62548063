"""How much of what is said can be heard above the noise: the speech intelligibility index of ANSI S3.5-1997, from one sound.

The standard's octave band procedure: in each band the share of the speech's range, 15 dB either side of its mean, that stands
above the noise, weighted by how much the band matters to speech. The standard is given speech and noise apart. Here only
their sum is known: the noise is taken to be what the band is never quieter than, and the speech what is louder. So noise that
comes in blows with quiet between counts for nothing, and what is said between them is heard. Noise that sets in within the
utterance, or that a gate in the microphone cuts off between words, is taken for speech: of that this tells nothing. The
standard's masking of one band by another, and its threshold of hearing, are left out.

>>> silence = np.zeros(8_000, np.int16)
>>> audible(np.concatenate([silence, np.tile(np.array([9_000, -9_000, 4_000], np.int16), 4_000), silence]))
1.0
>>> audible(silence)
0.0
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from assistant.devices.protocols import RATE_HZ, Samples

Floats = npt.NDArray[np.float64]

OCTAVES_HZ = (250, 500, 1000, 2000, 4000, 8000)
IMPORTANCE = np.array([0.0617, 0.1671, 0.2373, 0.2648, 0.2142, 0.0549])
"""Middles of the bands, and how much each matters (ANSI S3.5-1997, Table 4, as the R package SII quotes it). Of the highest
only what lies below half the rate is there."""
BELOW_MEAN_DB, RANGE_DB = 15.0, 30.0
"""How far speech reaches below its mean, and how wide its range is (the same standard, from memory)."""
FRAME, HOP = 512, 256
SMOOTHED = 6
"""Frames over which power is smoothed first, 112 ms: noise in a narrow band rises and falls by itself."""
QUIETEST, LOUDER = 0.1, 0.5
"""Share of the time that is taken for noise alone, and that after which speech is: half, so that the quiet kept around it
does not count. Against the index of speech and noise apart, AN4's tuning speakers in steady noise: 0.03 to 0.06 more where
that is 0.6 to 0.95, 0.1 more where it is 0.26 to 0.4 (medians; `tests/test_devices_audibility.py`)."""
LEAST_POWER = 1.0
"""Far below one step of a 16-bit sample: keeps silence from being divided by."""


def audible(samples: Samples) -> float:
    """The index, 0 (nothing stands above the noise) to 1 (all does); 0 for less than 0.2 s, of which nothing can be told."""
    powers = _band_powers(samples)
    if len(powers) < 2 * SMOOTHED:
        return 0.0
    smooth = _smoothed(powers)
    noise = np.quantile(smooth, QUIETEST, axis=0)
    loud = np.sort(smooth, axis=0)[round(len(smooth) * LOUDER) :].mean(axis=0)
    with np.errstate(divide="ignore"):
        ratio_db = 10 * np.log10(np.maximum(loud - noise, 0.0) / noise)
    return round(float(IMPORTANCE @ np.clip((ratio_db + BELOW_MEAN_DB) / RANGE_DB, 0.0, 1.0)), 3)


def _band_powers(samples: Samples) -> Floats:
    """(frames, bands)."""
    count = max(0, 1 + (len(samples) - FRAME) // HOP)
    frames = samples.astype(np.float64)[np.arange(FRAME) + HOP * np.arange(count)[:, None]] * np.hanning(FRAME)
    found: Floats = np.abs(np.fft.rfft(frames)) ** 2 @ _BANDS + LEAST_POWER
    return found


def _smoothed(powers: Floats) -> Floats:
    summed = np.cumsum(np.vstack([np.zeros(powers.shape[1]), powers]), axis=0)
    smooth: Floats = (summed[SMOOTHED:] - summed[:-SMOOTHED]) / SMOOTHED
    return smooth


def _bands() -> Floats:
    """(bins, bands): which bin of the spectrum lies in which band."""
    bins_hz = np.fft.rfftfreq(FRAME, 1 / RATE_HZ)[:, None]
    middles_hz = np.array(OCTAVES_HZ)
    return ((bins_hz >= middles_hz / 2**0.5) & (bins_hz < middles_hz * 2**0.5)).astype(np.float64)


_BANDS = _bands()
