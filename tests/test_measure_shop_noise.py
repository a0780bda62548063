"""Shop noise: the ratio that is asked for, the same for the same seed, and each kind's own shape."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.devices.protocols import RATE_HZ
from assistant.measure.shop_noise import NOISES, engine, impacts, mix, noise_alone, pink, speech_rms

TONE = np.rint(2000 * np.sin(np.arange(2 * RATE_HZ) * 0.3)).astype(np.int16)


@settings(deadline=None, max_examples=40)
@given(noise=st.sampled_from(sorted(NOISES)), snr_db=st.floats(0, 30), seed=st.integers(0, 1000))
def test_the_ratio_is_what_was_asked_for(noise: str, snr_db: float, seed: int) -> None:
    """Speech rms over noise rms, in dB, to within 0.2 (rounding to 16 bit), where nothing had to be made softer."""
    added = mix(TONE, noise, snr_db, seed).astype(float) - TONE
    if np.abs(added + TONE).max() < 31_999:
        assert 20 * np.log10(speech_rms(TONE) / added.std()) == pytest.approx(snr_db, abs=0.2)


def test_quiet_around_the_words_does_not_count() -> None:
    """Speech is as loud with a minute of silence as without."""
    padded = np.concatenate((np.zeros(RATE_HZ * 60, np.int16), TONE))
    assert speech_rms(padded) == pytest.approx(speech_rms(TONE), rel=0.01)
    assert speech_rms(TONE) == pytest.approx(2000 / np.sqrt(2), rel=0.01)


@pytest.mark.parametrize("noise", sorted(NOISES))
def test_the_seed_is_everything(noise: str) -> None:
    """The same seed gives the same sound, another seed another."""
    made = [noise_alone(noise, 1.0, 1000.0, seed) for seed in (1, 1, 2)]
    assert np.array_equal(made[0], made[1])
    assert not np.array_equal(made[0], made[2])
    assert np.abs(made[0]).max() <= 32_000


def band_power(sound: np.ndarray, low_hz: float, high_hz: float) -> float:
    spectrum = np.abs(np.fft.rfft(sound)) ** 2
    hz = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    return float(spectrum[(hz >= low_hz) & (hz < high_hz)].sum())


def test_pink_noise_has_the_same_power_in_each_octave() -> None:
    """By definition, to within 1 dB."""
    sound = pink(RATE_HZ * 20, seed=4)
    octaves = [band_power(sound, low, 2 * low) for low in (125, 250, 500, 1000, 2000)]
    assert 10 * np.log10(max(octaves) / min(octaves)) < 1.0


def test_an_engine_is_low_and_blows_are_sudden() -> None:
    """Most of an engine's power is below 1 kHz; blows have a crest factor far above noise."""
    idle = engine(RATE_HZ * 5, seed=4)
    assert band_power(idle, 0, 1050) > 0.8 * band_power(idle, 0, 8001)
    assert np.abs(impacts(RATE_HZ * 5, seed=4)).max() > 2 * np.abs(pink(RATE_HZ * 5, seed=4)).max()
