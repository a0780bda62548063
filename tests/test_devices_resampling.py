"""Resampling against tones whose samples at the other rate are known by formula."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.devices.resampling import Resampler, resample

RATES = [8000, 11025, 22050, 44100, 48000, 96000]


def tone(hz: float, rate_hz: int, seconds: float = 0.5) -> np.ndarray:
    return np.rint(10_000 * np.sin(2 * np.pi * hz * np.arange(round(seconds * rate_hz)) / rate_hz)).astype(np.int16)


@pytest.mark.parametrize("rate_hz", RATES)
def test_a_tone_stays_what_it_is(rate_hz: int) -> None:
    """A tone in the band comes out as the same tone sampled at 16 kHz, to within 1.5 steps of 16 bit, with no delay."""
    made = resample(tone(1000.0, rate_hz), rate_hz, 16_000)
    wanted = tone(1000.0, 16_000)[: len(made)].astype(float)
    assert np.abs(made.astype(float) - wanted)[500:-500].max() <= 1.5


@pytest.mark.parametrize("rate_hz", [22050, 44100, 48000, 96000])
@pytest.mark.parametrize("hz", [8400.0, 9000.0, 10_500.0])
def test_what_16_khz_cannot_hold_is_gone(rate_hz: int, hz: float) -> None:
    """A tone above 8 kHz leaves less than a hundred thousandth of its power (no alias)."""
    stream = Resampler(rate_hz, 16_000)
    left = stream.feed(tone(hz, rate_hz).astype(np.float32))[500:-500]
    assert np.mean(left**2) < 1e-5 * 10_000**2 / 2


@settings(deadline=None)  # the first of each rate makes its filter
@given(sizes=st.lists(st.integers(1, 3000), min_size=1, max_size=6), rate_hz=st.sampled_from(RATES))
def test_pieces_give_what_the_whole_gives(sizes: list[int], rate_hz: int) -> None:
    """A stream cut anywhere gives the same samples, and as many as its length asks for."""
    whole = np.random.default_rng(1).standard_normal(sum(sizes)).astype(np.float32)
    stream = Resampler(rate_hz, 16_000)
    parts = [stream.feed(part) for part in np.split(whole, np.cumsum(sizes)[:-1])]
    at_once = Resampler(rate_hz, 16_000)
    expected = np.concatenate((at_once.feed(whole), at_once.finish()))
    assert np.array_equal(np.concatenate((*parts, stream.finish())), expected)
    assert len(expected) == -(-len(whole) * 16_000 // rate_hz)


def test_the_same_rate_is_left_alone() -> None:
    """Nothing is done to what is at 16 kHz already."""
    sound = tone(440.0, 16_000)
    assert resample(sound, 16_000, 16_000) is sound
