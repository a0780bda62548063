"""How much of speech stands above noise: against ANSI S3.5-1997 from speech and noise apart, on people's voices."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from assistant.devices.audibility import audible
from assistant.devices.protocols import RATE_HZ, Samples
from assistant.devices.sound_file import read_sound
from assistant.measure.recordings import read_manifest
from assistant.measure.shop_noise import mix, noise_alone
from assistant.measure.speech_campaign import speakers

AN4 = Path(__file__).parents[2] / "shared" / "speech" / "an4"
people = pytest.mark.skipif(not AN4.is_dir(), reason=f"the AN4 recordings are not there: {AN4}")

OCTAVE_BANDS = (
    (177, 355, 0.0617), (355, 710, 0.1671), (710, 1420, 0.2373), (1420, 2840, 0.2648), (2840, 5680, 0.2142),
    (5680, 8000, 0.0549),
)  # fmt: skip
"""From, to (Hz) and importance: ANSI S3.5-1997, Table 4, as R's package SII has it; the last goes on to 11,360 Hz."""


def spoken() -> list[Samples]:
    """Every fifth recording of the tuning speakers."""
    who = speakers("an4", "tune")
    return [read_sound(r.path) for r in read_manifest(AN4) if r.speaker in who][::5]


def band_level_db(sound: npt.NDArray[np.float64], low_hz: float, high_hz: float) -> float:
    """The power in a band, by one spectrum over the whole sound."""
    power = np.abs(np.fft.rfft(sound)) ** 2
    hz = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    return float(10 * np.log10(power[(hz >= low_hz) & (hz < high_hz)].sum() / len(sound) ** 2))


def by_the_standard(speech: npt.NDArray[np.float64], noise: npt.NDArray[np.float64]) -> float:
    """The index from speech (without the quiet around it) and noise, each known by itself."""
    frames = speech[: len(speech) // 320 * 320].reshape(-1, 320)
    energies = (frames**2).mean(axis=1)
    said = frames[energies > energies.max() / 1000].ravel()
    ratios = [(band_level_db(said, a, b) - band_level_db(noise, a, b), weight) for a, b, weight in OCTAVE_BANDS]
    return sum(weight * min(max((ratio + 15) / 30, 0), 1) for ratio, weight in ratios)


@people
@pytest.mark.parametrize(
    ("noise", "snr_db", "off"),
    [
        ("pink", 20, 0.05),
        ("pink", 10, 0.08),
        ("pink", 5, 0.1),
        ("engine", 10, 0.06),
        ("engine", 5, 0.1),
        ("engine", 0, 0.1),
    ],
)
def test_it_is_the_index_of_the_standard(noise: str, snr_db: float, off: float) -> None:
    """Of speech and steady noise put together it finds, in the median, what the standard gives of the two apart."""
    differences = []
    for seed, sound in enumerate(spoken()):
        mixed = mix(sound, noise, snr_db, seed).astype(np.float64)
        speech = sound * (mixed @ sound) / np.square(sound.astype(np.float64)).sum()
        differences.append(audible(mixed.astype(np.int16)) - by_the_standard(speech, mixed - speech))
    assert abs(float(np.median(differences))) <= off, np.round(np.quantile(differences, [0.05, 0.5, 0.95]), 3)


@people
def test_the_louder_the_noise_the_less_is_audible() -> None:
    """From quiet to noise far above the speech, for each recording; in quiet nearly all of it is."""
    for seed, sound in enumerate(spoken()):
        index = [audible(mix(sound, "pink", snr_db, seed)) for snr_db in (40, 20, 10, 5, 0, -5)]
        assert index == sorted(index, reverse=True)
        assert audible(sound) >= index[0] > 0.85
        assert index[-1] < 0.55


@people
def test_blows_with_quiet_between_them_drown_little() -> None:
    """Beside blows as loud as the speech all of it counts as audible: what is said between them is heard."""
    assert all(audible(mix(sound, "impacts", 0.0, seed)) > 0.9 for seed, sound in enumerate(spoken()))


@people
def test_the_quiet_kept_around_it_does_not_count() -> None:
    """A margin of 0.3 s before and after in the same noise changes it by less than 0.08."""
    for seed, sound in enumerate(spoken()):
        margin = np.zeros(round(0.3 * RATE_HZ), np.int16)
        bare, wide = mix(sound, "pink", 7.5, seed), mix(np.concatenate([margin, sound, margin]), "pink", 7.5, seed)
        assert abs(audible(bare) - audible(wide)) < 0.08


@pytest.mark.parametrize("noise", ["pink", "engine"])
def test_of_noise_alone_hardly_anything_is_speech(noise: str) -> None:
    """It is far below what a reading needs."""
    assert all(audible(noise_alone(noise, 2.0, 1000.0, seed)) < 0.45 for seed in range(20))


def test_of_too_short_a_sound_nothing_is_told() -> None:
    """Less than 0.2 s, or no sound at all, has none of it."""
    assert audible(np.zeros(0, np.int16)) == 0.0
    assert audible(noise_alone("pink", 0.15, 1000.0, 1)) == 0.0
