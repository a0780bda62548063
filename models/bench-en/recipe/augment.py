"""Bays, microphones and machines for training: rooms, bands, levels, noises of several kinds; all on the GPU.

The noises are made here and share no code with the noises that the project measures with, nor any recording.
"""

import math
from dataclasses import dataclass

import numpy as np
import torch
from features import RATE_HZ

HUM, KNOCKS = 0.35, 0.4
"""Shares of noises with a machine's hum, with knocks."""


def smooth_curve(many: int, bins: int, spread_db: float, knots: int, device: torch.device | str) -> torch.Tensor:
    """[many, bins] random gains in dB over frequency, straight lines between knots at even steps of pitch."""
    gains = torch.randn(many, knots, device=device) * spread_db
    hertz = torch.linspace(0, RATE_HZ / 2, bins, device=device).clamp_min(50)
    place = torch.log(hertz / 50) / math.log(RATE_HZ / 2 / 50) * (knots - 1)
    left = place.floor().clamp(0, knots - 2).long()
    share = place - left
    return gains[:, left] * (1 - share) + gains[:, left + 1] * share


def level(sound: torch.Tensor) -> torch.Tensor:
    """[B, 1] root mean square, never 0."""
    return sound.std(1, keepdim=True) + 1e-9


def coloured(many: int, samples: int, device: torch.device | str) -> torch.Tensor:
    """Steady noise: a fifth white, a fifth pink or brown, the rest of any slope and with humps; some of it swells."""
    spectrum = torch.fft.rfft(torch.randn(many, samples, device=device))
    hertz = torch.linspace(0, RATE_HZ / 2, spectrum.shape[1], device=device).clamp_min(30)
    kind, slope = torch.rand(many, 1, device=device), torch.rand(many, 1, device=device) * 1.4 - 0.1
    slope = torch.where(kind < 0.2, 0.0, torch.where(kind < 0.33, 0.5, torch.where(kind < 0.4, 1.0, slope)))
    humps_db = smooth_curve(many, spectrum.shape[1], 6.0, 9, device) * (kind >= 0.4)
    noise = torch.fft.irfft(spectrum * (torch.pow(hertz / 1000, -slope) * 10 ** (humps_db / 20)), samples)
    noise = noise / level(noise)
    time_s = torch.arange(samples, device=device)[None] / RATE_HZ
    depth = (torch.rand(many, 1, device=device) < 0.5) * torch.rand(many, 1, device=device)
    beat_hz = torch.rand(many, 1, device=device) * 20 + 0.3
    return noise * (1 + depth * torch.sin(2 * math.pi * beat_hz * time_s + torch.rand(many, 1, device=device) * 6.3))


def hum(many: int, samples: int, device: torch.device | str) -> torch.Tensor:
    """Engines, fans, whines: up to thirty harmonics of 12 to 400 Hz whose speed wavers."""
    time_s = torch.arange(samples, device=device)[None] / RATE_HZ

    def drawn() -> torch.Tensor:
        return torch.rand(many, 1, device=device)

    lowest_hz = torch.exp(drawn() * math.log(400 / 12) + math.log(12))
    wavering = lowest_hz * (1 + 0.03 * drawn() * torch.sin(2 * math.pi * drawn() * 1.5 * time_s))
    phase = 2 * math.pi * torch.cumsum(wavering, 1) / RATE_HZ
    noise, fall = torch.zeros(many, samples, device=device), drawn() * 1.2
    for harmonic in range(1, 31):
        strength = (0.3 + 0.7 * drawn()) * harmonic**-fall * (harmonic * lowest_hz < 7800)
        noise += torch.sin(harmonic * phase + drawn() * 6.3) * strength
    return noise / level(noise)


def add_knocks(noise: torch.Tensor, draw: np.random.Generator) -> None:
    """Blows, clanks and ratchets into one noise [N]: four decaying tones each, at random or in bursts."""
    samples, device = len(noise), noise.device
    at = np.cumsum(draw.exponential(0.5 * RATE_HZ, 30))
    if draw.random() < 0.5:
        bursts = np.cumsum(draw.exponential(1.2 * RATE_HZ, 12))
        at = np.concatenate(
            [start + np.arange(draw.integers(3, 16)) * RATE_HZ / draw.uniform(6, 40) for start in bursts]
        )
    for start in at[at < samples - 10].astype(int):
        long = min(3000, samples - start)
        time_s = torch.arange(long, device=device)[None] / RATE_HZ
        hertz = torch.tensor(np.exp(draw.uniform(math.log(200), math.log(7000), (4, 1))), device=device).float()
        decay = torch.tensor(np.exp(draw.uniform(math.log(15), math.log(300), (4, 1))), device=device).float()
        blow = (torch.exp(-time_s * decay) * torch.sin(2 * math.pi * hertz * time_s)).sum(0)
        noise[start : start + long] += blow * draw.uniform(0.5, 4)


def noises(many: int, samples: int, device: torch.device | str, draw: np.random.Generator) -> torch.Tensor:
    """[many, samples] of all kinds, each of level 1."""
    made = coloured(many, samples, device)
    humming = torch.tensor(np.flatnonzero(draw.random(many) < HUM), device=device)
    if len(humming):
        beside = 0.1 + 0.9 * torch.rand(len(humming), 1, device=device)
        made[humming] = made[humming] * beside + hum(len(humming), samples, device)
    for k in np.flatnonzero(draw.random(many) < KNOCKS):
        if draw.random() < 0.5:
            made[k] *= 0.1
        add_knocks(made[k], draw)
    return made / level(made)


@dataclass(frozen=True)
class Strength:
    """How hard the bay is made. `progress` 0 to 1 is the curriculum; `loud` the share of speech at -2 to 6 dB."""

    progress: float = 1.0
    loud: float = 0.2
    babble: float = 0.1


def snr_db(many: int, strength: Strength, device: torch.device | str) -> torch.Tensor:
    """[many, 1] signal-to-noise ratios: some nearly clean, most 0 to 22 dB, the `loud` share below."""
    ease = 1 - strength.progress
    kind, place = torch.rand(many, 1, device=device), torch.rand(many, 1, device=device)
    usual = place * (22 + 6 * ease) + 4 * ease
    ratio = torch.where(kind < strength.loud * strength.progress, 8 * place - 2, usual)
    return torch.where(kind > 0.8 - 0.4 * ease, 25 + 20 * place, ratio)


def coloured_by_room(sound: torch.Tensor) -> torch.Tensor:
    """[B, N] through a microphone (humps, telephone-like low-pass, high-pass) and, two times in five, a room."""
    many, samples = sound.shape
    device, long = sound.device, samples + 8000

    def drawn() -> torch.Tensor:
        return torch.rand(many, 1, device=device)

    bins = long // 2 + 1
    hertz = torch.linspace(0, RATE_HZ / 2, bins, device=device)[None]
    gain_db = smooth_curve(many, bins, 4.5, 7, device) * (drawn() < 0.5)
    gain_db = gain_db - (drawn() < 0.22) * 60 * torch.sigmoid((hertz - 2800 - drawn() * 1400) / 80)
    gain_db = gain_db - (drawn() < 0.25) * 30 * torch.sigmoid((80 + drawn() * 250 - hertz) / 30)
    taps = 6400
    t60_samples = (0.08 + 0.5 * drawn()) * RATE_HZ
    tail = torch.randn(many, taps, device=device) * torch.exp(
        -6.9 * torch.arange(taps, device=device)[None] / t60_samples
    )
    tail[:, :32] = 0
    tail = tail / (tail**2).sum(1, keepdim=True).sqrt() * (0.1 + 0.9 * drawn()) * (drawn() < 0.4)
    tail[:, 0] = 1
    through = torch.fft.rfft(sound, long) * (10 ** (gain_db / 20)) * torch.fft.rfft(tail, long)
    return torch.fft.irfft(through, long)[:, :samples]


def augment(sound: torch.Tensor, speech: torch.Tensor, noise: torch.Tensor, strength: Strength) -> torch.Tensor:
    """[B, N] speech to what a microphone in a bay gives, in int16 scale. `speech` [B, N] marks where the level counts."""
    many, device = len(sound), sound.device

    def drawn() -> torch.Tensor:
        return torch.rand(many, 1, device=device)

    def spoken_level(of: torch.Tensor) -> torch.Tensor:
        return torch.sqrt((of**2 * speech).sum(1, keepdim=True) / speech.sum(1, keepdim=True).clamp_min(1) + 1e-9)

    sound = coloured_by_room(sound)
    sound = sound / spoken_level(sound)
    others = sum(torch.roll(sound, shift, 0) for shift in (1, 2, 3))
    babble = drawn() < strength.babble
    noise = torch.where(babble, others / level(others) + 0.1 * noise, noise)
    ratio_db = snr_db(many, strength, device) + 8 * babble
    sound = (sound + noise * 10 ** (-ratio_db / 20)) * 10 ** (1.4 + 2.0 * drawn())
    sound = sound + torch.randn_like(sound) * (0.3 + 3 * drawn())
    most = sound.abs().amax(1, keepdim=True)
    return (
        torch.minimum(sound.abs(), torch.where(drawn() < 0.04, 0.3 * most, most)).copysign(sound).clamp(-32768, 32767)
    )
