"""Kaldi's MFCC (40 of 40 bands, 20 to 7600 Hz, no dither, no energy) in torch, with vocal-tract warping for training.

Checked against kaldi-native-fbank in `tests/test_bench_recipe.py`. Must stay what `conf/mfcc.conf` of the export says.
"""

import math

import numpy as np
import torch

RATE_HZ = 16_000
BANDS = 40
FRAME, STEP, FFT = 400, 160, 512
"""Samples: 25 ms every 10 ms."""
LOWEST_HZ, HIGHEST_HZ = 20.0, 7600.0
WARPS = np.linspace(0.86, 1.16, 13)
"""How much longer the vocal tract seems."""
LIFTER = 22.0


def mel_bank(warp: float = 1.0) -> np.ndarray:
    """[257, 40] triangles on the mel scale (Kaldi's `mel-computations.cc`); the bin at half the rate is left out, as there."""

    def mel(hertz: np.ndarray | float) -> np.ndarray:
        return 1127.0 * np.log(1 + np.asarray(hertz) / 700.0)

    at = mel(np.arange(FFT // 2 + 1) * RATE_HZ / FFT * warp)
    knots = np.linspace(mel(LOWEST_HZ), mel(HIGHEST_HZ), BANDS + 2)
    rising = (at[:, None] - knots[:-2]) / (knots[1:-1] - knots[:-2])
    falling = (knots[2:] - at[:, None]) / (knots[2:] - knots[1:-1])
    bank = np.clip(np.minimum(rising, falling), 0, None).astype(np.float32)
    bank[-1] = 0
    return bank


class Front:
    """Samples (int16 scale) to features, on one device."""

    def __init__(self, device: torch.device | str) -> None:
        k = np.arange(BANDS)
        cosines = np.sqrt(2 / BANDS) * np.cos(np.pi / BANDS * (k[None] + 0.5) * k[:, None])
        cosines[0] = np.sqrt(1 / BANDS)
        lifted = cosines * (1 + 0.5 * LIFTER * np.sin(np.pi * k / LIFTER))[:, None]
        povey = (0.5 - 0.5 * np.cos(2 * np.pi * np.arange(FRAME) / (FRAME - 1))) ** 0.85
        self.window = torch.tensor(povey, dtype=torch.float32, device=device)
        self.banks = torch.tensor(np.stack([mel_bank(warp) for warp in WARPS]), device=device)
        self.bank = torch.tensor(mel_bank(), device=device)
        self.cosines = torch.tensor(lifted.T, dtype=torch.float32, device=device)

    def log_mel(self, sound: torch.Tensor, warp: torch.Tensor | None = None) -> torch.Tensor:
        """[B, N] to [B, 1 + (N - 400) // 160, 40]; `warp` [B] are places in `WARPS`."""
        frames = sound.unfold(1, FRAME, STEP)
        frames = frames - frames.mean(2, keepdim=True)
        first, rest = frames[..., :1] * (1 - 0.97), frames[..., 1:] - 0.97 * frames[..., :-1]
        power = torch.fft.rfft(torch.cat([first, rest], 2) * self.window, FFT).abs() ** 2
        bands = power @ self.bank if warp is None else torch.bmm(power, self.banks[warp])
        return torch.log(bands.clamp_min(1.1920929e-07))  # Kaldi's floor: the smallest step of a float

    def mfcc(self, sound: torch.Tensor) -> torch.Tensor:
        """[B, N] to [B, frames, 40]."""
        return self.log_mel(sound) @ self.cosines


def resample(sound: torch.Tensor, lengths: torch.Tensor, speed: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
    """[B, N] read at `speed` [B] (tempo and pitch together) by a windowed sinc of 16 taps; with the new lengths [B]."""
    new_lengths = (lengths / speed).long()
    places = torch.arange(int(new_lengths.max()), device=sound.device)[None] * speed[:, None]
    whole = places.floor()
    within, whole = places - whole, whole.long()
    made = torch.zeros_like(places)
    for tap in range(-7, 9):
        away = within - tap
        weight = torch.sinc(away * 0.97) * 0.97 * (0.5 + 0.5 * torch.cos(math.pi * (away / 8).clamp(-1, 1)))
        made += weight * sound.gather(1, (whole + tap).clamp(0, sound.shape[1] - 1))
    return made * (torch.arange(made.shape[1], device=sound.device)[None] < new_lengths[:, None]), new_lengths


def mask(bands: torch.Tensor) -> torch.Tensor:
    """[B, T, 40] with small holes in time and in frequency (SpecAugment, Park et al. 2019), filled with the mean."""
    many, frames, _ = bands.shape
    device, mean = bands.device, bands.mean((1, 2), keepdim=True)
    time = torch.arange(frames, device=device)[None, :, None]
    band = torch.arange(BANDS, device=device)[None, None]

    def drawn(high: float) -> torch.Tensor:
        return torch.rand(many, 1, 1, device=device) * high

    for _ in range(2):
        for axis, length, widest in ((band, BANDS, 8.0), (time, frames, 12.0)):
            width, start, wanted = drawn(widest), drawn(length), drawn(1) < 0.5
            bands = torch.where((axis >= start) & (axis < start + width) & wanted, mean, bands)
    return bands
