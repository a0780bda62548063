"""Recordings and noises on the device, and how a batch of features is made of them."""

import io
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

import augment
import numpy as np
import torch
from features import RATE_HZ, STEP, WARPS, Front, mask, resample
from net import OUTPUT_FRAMES, padded
from pack import Packed
from sampling import Batch, Drawn, Pack

BANK_S = 17.5
"""Length of the noises of the bank."""
FADE_SAMPLES = 64
LOUDNESS = 2000.0
"""Level that every recording is brought to, in int16 scale."""


def decode(taken: tuple[Path, Packed]) -> np.ndarray:
    """One recording as int16 at `LOUDNESS`."""
    import soundfile as sf

    path, one = taken
    with path.open("rb") as sounds:
        sounds.seek(one.offset)
        sound = sf.read(io.BytesIO(sounds.read(one.size)), dtype="float32")[0][: one.samples]
    sound = np.pad(sound, (0, one.samples - len(sound)))
    return (sound / (np.sqrt((sound**2).mean()) + 1e-6) * LOUDNESS).clip(-32000, 32000).astype(np.int16)


def decode_all(path: Path, pack: Pack, processes: int) -> list[np.ndarray]:
    """All recordings, by several processes. Must come before CUDA is used: the processes are forked."""
    with get_context("fork").Pool(processes) as pool:
        return pool.map(decode, [(path.with_suffix(".bin"), one) for one in pack.utterances], chunksize=32)


@dataclass(frozen=True)
class Mixed:
    """A batch as the network hears it, [B, 3 frames + twice the context, 40], and its clean speech [B, samples]."""

    features: torch.Tensor
    clean: torch.Tensor


class Mixer:
    """Recordings and noises on the device, and how a batch is made of them."""

    def __init__(self, recordings: list[np.ndarray], device: torch.device, bank: int, seed: int) -> None:
        self.device, self.front = device, Front(device)
        self.draw = np.random.default_rng(seed)
        self.offsets = torch.tensor(np.r_[0, np.cumsum([len(r) for r in recordings])], device=device)
        self.samples = torch.from_numpy(np.concatenate(recordings)).to(device)
        self.long = int(BANK_S * RATE_HZ)
        many = max(1, bank // 32)
        parts = [augment.noises(min(32, bank), self.long, device, self.draw).half() for _ in range(many)]
        self.bank = torch.cat(parts)

    def recording(self, number: int) -> torch.Tensor:
        """One, as float."""
        return self.samples[self.offsets[number] : self.offsets[number + 1]].float()

    def _noise(self, many: int, samples: int) -> torch.Tensor:
        """[many, samples] from anywhere in the bank, at level 1."""
        which = torch.randint(0, len(self.bank), (many, 1), device=self.device)
        start = torch.randint(0, self.long, (many, 1), device=self.device)
        at = (start + torch.arange(samples, device=self.device)[None]) % self.long
        noise = self.bank[which, at].float()
        return noise / augment.level(noise)

    def _cut(self, drawn: list[Drawn]) -> tuple[torch.Tensor, list[int]]:
        """Each segment of these at its speed, its ends faded; and their lengths."""
        segments = [(s, one) for one in drawn for s in one.segments]
        start, end = (
            torch.tensor([getattr(s, side) for s, _ in segments], device=self.device) for side in ("start", "end")
        )
        offset = self.offsets[torch.tensor([s.recording for s, _ in segments], device=self.device)]
        speed = torch.tensor([one.speed for _, one in segments], device=self.device)
        backwards = torch.tensor([one.backwards for _, one in segments], device=self.device)[:, None]
        long = (end - start)[:, None]
        at = torch.arange(int(long.max()), device=self.device)[None]
        place = torch.where(backwards, long - 1 - at, at).clamp_min(0) + (offset + start)[:, None]
        raw = self.samples[place.clamp_max(len(self.samples) - 1)].float()
        raw = raw * (torch.minimum(at, long - 1 - at) / FADE_SAMPLES).clamp(0, 1)
        cut, lengths = resample(raw, long[:, 0], speed)
        return cut, lengths.tolist()

    def mixed(self, batch: Batch, strength: augment.Strength, context: int) -> Mixed:
        """The batch, augmented; at its ends the frames are repeated as Kaldi does it, so each frame of it is scored."""
        sound, clean = self.in_the_bay(batch.drawn, batch.frames * OUTPUT_FRAMES * STEP + 400, strength)
        likely = np.exp(-0.5 * ((np.arange(len(WARPS)) - len(WARPS) // 2) / 2.2) ** 2)
        warp = torch.tensor(self.draw.choice(len(WARPS), len(sound), p=likely / likely.sum()), device=self.device)
        bands = self.front.log_mel(sound, warp)[:, : OUTPUT_FRAMES * batch.frames]
        return Mixed(padded(mask(bands) @ self.front.cosines, context), clean)

    def in_the_bay(
        self, drawn: list[Drawn], samples: int, strength: augment.Strength
    ) -> tuple[torch.Tensor, torch.Tensor]:
        """[B, samples] as a microphone in the bay gives it, in int16 scale, and the clean speech."""
        many = len(drawn)
        sound = torch.zeros(many, samples, device=self.device)
        speech = torch.zeros(many, samples, dtype=torch.bool, device=self.device)
        if any(one.segments for one in drawn):
            cut, lengths = self._cut(drawn)
            number = 0
            for k, one in enumerate(drawn):
                at = one.lead
                for segment in one.segments:
                    at += segment.gap
                    end = min(samples, at + lengths[number])
                    if end > at:
                        sound[k, at:end] += cut[number, : end - at] * 10 ** (self.draw.normal(0, 2) / 20)
                        speech[k, at:end] = True
                    at, number = end, number + 1
        speech |= ~speech.any(1, keepdim=True)
        clean = sound / 1000 + torch.randn_like(sound) * 1e-3
        return augment.augment(clean, speech, self._noise(many, samples), strength), clean
