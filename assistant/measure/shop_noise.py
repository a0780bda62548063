"""The noise of a bay, made by rule: pink noise, an engine idling, blows and a ratchet; and speech mixed with it.

16 kHz; everything follows from the seed. Engine: half orders of a crankshaft at about 1500 rev/min up to 1 kHz, as a
four-stroke fires every second turn, with broadband noise that swells with the firing, 6 dB below. Blows: three damped
modes between 0.8 and 7.5 kHz. Ratchet: bursts of light blows, 15 to 28 a second (made by ear, no source).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from assistant.devices.protocols import RATE_HZ, Samples

Noise = npt.NDArray[np.float64]
_FRAME = 320  # 20 ms
_FULL = 32_000.0


def pink(samples: int, seed: int) -> Noise:
    """Equal power in each octave from 30 Hz up; rms 1."""
    rng = np.random.default_rng(seed)
    spectrum = np.fft.rfft(rng.standard_normal(samples))
    shaped = spectrum / np.sqrt(np.maximum(np.fft.rfftfreq(samples, 1 / RATE_HZ), 30.0))
    return _unit(np.fft.irfft(shaped, samples))


def engine(samples: int, seed: int) -> Noise:
    """A four-stroke idling at 1350 to 1650 rev/min, hunting by 2 %; rms 1."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(samples) / RATE_HZ
    hunting = 1 + 0.02 * np.sin(2 * np.pi * rng.uniform(0.3, 1.0) * time_s + rng.uniform(0, 6))
    turns = 2 * np.pi * np.cumsum(25.0 * rng.uniform(0.9, 1.1) * hunting) / RATE_HZ
    orders = np.zeros(samples)
    for order in np.arange(1, 81) * 0.5:
        orders += np.sin(order * turns + rng.uniform(0, 6)) * rng.uniform(0.3, 1) / max(order, 2.0) ** 0.7
    broadband = _unit(pink(samples, seed + 1) * (1 + 0.5 * np.sin(turns)))
    return _unit(_unit(orders) + 0.5 * broadband)


def impacts(samples: int, seed: int) -> Noise:
    """Hammer blows, about two a second, over a faint floor; rms 1."""
    rng = np.random.default_rng(seed)
    blows = [(at, rng.uniform(0.7, 1.5)) for at in _moments(samples, 0.45, rng)]
    return _struck(samples, blows, rng)


def ratchet(samples: int, seed: int) -> Noise:
    """Bursts of a ratchet handle, five to thirteen clicks each; rms 1."""
    rng = np.random.default_rng(seed)
    clicks = []
    for start in _moments(samples, 0.9, rng):
        apart = int(RATE_HZ / rng.uniform(15, 28))
        clicks += [(start + tooth * apart, rng.uniform(0.3, 0.6)) for tooth in range(rng.integers(5, 14))]
    return _struck(samples, clicks, rng)


NOISES: dict[str, Callable[[int, int], Noise]] = {
    "pink": pink,
    "engine": engine,
    "impacts": impacts,
    "ratchet": ratchet,
}


def noise_alone(noise: str, seconds: float, rms: float, seed: int) -> Samples:
    """The noise by itself at an rms of so many steps of 16 bit (a loud bay on a headset: about 1000)."""
    return _sixteen_bit(NOISES[noise](round(seconds * RATE_HZ), seed) * rms)


def mix(samples: Samples, noise: str, snr_db: float, seed: int) -> Samples:
    """The speech with noise all along it, made softer as a whole where it would overload.

    The ratio is that of the speech's rms while it is spoken (`speech_rms`) to the noise's.
    """
    made = NOISES[noise](len(samples), seed) * speech_rms(samples) / 10 ** (snr_db / 20)
    return _sixteen_bit(samples + made)


def speech_rms(samples: Samples) -> float:
    """The rms of the 20 ms frames within 20 dB of the loudest: quiet around the words does not count, however long.

    A simple stand-in for the active speech level of ITU-T P.56, which follows the envelope and has a margin of 15.9 dB.
    """
    frames = samples[: len(samples) // _FRAME * _FRAME].astype(np.float64).reshape(-1, _FRAME)
    energies = (frames**2).mean(axis=1)
    return float(np.sqrt(energies[energies >= energies.max(initial=0.0) / 100].mean())) if len(energies) else 0.0


def _moments(samples: int, apart_s: float, rng: np.random.Generator) -> list[int]:
    at, moments = 0, []
    while at < samples:
        moments.append(at)
        at += int(rng.exponential(apart_s) * RATE_HZ) + 800
    return moments


def _struck(samples: int, blows: list[tuple[int, float]], rng: np.random.Generator) -> Noise:
    ring = 3200
    time_s = np.arange(ring) / RATE_HZ
    sound = 1e-3 * rng.standard_normal(samples + ring)
    for at, force in blows:
        if at < samples:
            for low_hz, high_hz, decay_s in ((800, 2000, 0.03), (2000, 4000, 0.012), (4000, 7500, 0.006)):
                tone = np.sin(2 * np.pi * rng.uniform(low_hz, high_hz) * time_s + rng.uniform(0, 6))
                sound[at : at + ring] += force * rng.uniform(0.3, 1) * tone * np.exp(-time_s / decay_s)
    return _unit(sound[:samples])


def _unit(sound: Noise) -> Noise:
    return np.asarray(sound / np.sqrt((sound**2).mean()))


def _sixteen_bit(sound: Noise) -> Samples:
    loudest = float(np.abs(sound).max(initial=0.0))
    return np.rint(sound * min(1.0, _FULL / max(loudest, 1.0))).astype(np.int16)
