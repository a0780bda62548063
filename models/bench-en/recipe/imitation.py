"""Whisper's encoder as a teacher: while it learns, the network also imitates what Whisper makes of the same speech.

    python3 imitation.py WHISPER OUT.npz        # WHISPER: the folder models/whisper-tiny-en

Whisper heard hundreds of thousands of hours of people; what its encoder makes of a sound tells sounds of speech apart whoever
says them. It hears each training utterance clean, the network hears it in the bay. Checked against CTranslate2's encoder in
`tests/test_bench_recipe.py`.
"""

import struct
import sys
from pathlib import Path
from typing import BinaryIO

import numpy as np
import torch
from features import RATE_HZ, STEP
from net import OUTPUT_FRAMES
from torch import nn
from torch.nn import functional

BANDS, WINDOW, HEADS = 80, 400, 6
"""Whisper tiny's (Radford et al. 2022)."""
WHISPER_STEP = 2 * STEP
"""Samples from one of Whisper's frames to the next."""
FIRST_CENTRE = 200
"""Samples to the middle of the network's first frame; Whisper's first frame is centred on the first sample."""
WHOLE_SAMPLES = 30 * RATE_HZ
SPOKEN_LEVEL = 0.05
"""Root mean square that each utterance is brought to, of full scale: that of plain speech (common practice, no source)."""


def read_encoder(model: Path) -> dict[str, np.ndarray]:
    """The encoder's weights of a CTranslate2 model file, less the positions, which are sines."""
    return {
        name.removeprefix("encoder/"): array
        for name, array in read_weights(model).items()
        if name.startswith("encoder/") and "position" not in name
    }


def read_weights(model: Path) -> dict[str, np.ndarray]:
    """All weights of a CTranslate2 model file, float16; ValueError where it holds no Whisper model."""
    with model.open("rb") as file:
        _numbers(file, "I")
        name = _text(file)
        if name != "WhisperSpec":
            raise ValueError(f"{model}: holds a {name}; a Whisper model is needed")
        _numbers(file, "I")
        kept = {}
        for _ in range(_numbers(file, "I")[0]):
            variable, rank = _text(file), _numbers(file, "B")[0]
            shape, _, size = _numbers(file, f"{rank}I"), *_numbers(file, "BI")
            raw = file.read(size)
            if rank:
                kept[variable] = np.frombuffer(raw, np.float16).reshape(shape)
        return kept


def _numbers(file: BinaryIO, kinds: str) -> tuple[int, ...]:
    return struct.unpack(f"<{kinds}", file.read(struct.calcsize(f"<{kinds}")))


def _text(file: BinaryIO) -> str:
    return file.read(_numbers(file, "H")[0])[:-1].decode()


def sines(frames: int, width: int) -> torch.Tensor:
    """[frames, width] Whisper's positions: sines of wavelengths from 2 pi to 20,000 pi frames, then cosines."""
    places = torch.arange(frames)[:, None] * torch.exp(-np.log(10_000) / (width // 2 - 1) * torch.arange(width // 2))
    return torch.cat([places.sin(), places.cos()], 1)


def whisper_bands() -> np.ndarray:
    """[201, 80] triangles of unit area on the mel scale of Slaney's Auditory Toolbox (1998), 0 to 8 kHz.

    The program has them too (`assistant/devices/recognisers/log_mel.py`), but is not there where this runs; a test compares.
    """
    above = 1000 / (200 / 3)
    highest = above + np.log(8000 / 1000) / (np.log(6.4) / 27)
    mel = np.linspace(0, highest, BANDS + 2)
    knots = np.where(mel < above, mel * 200 / 3, 1000 * np.exp(np.log(6.4) / 27 * (mel - above)))
    hertz = np.arange(WINDOW // 2 + 1)[:, None] * RATE_HZ / WINDOW
    low, peak, high = knots[:-2], knots[1:-1], knots[2:]
    return np.clip(np.minimum((hertz - low) / (peak - low), (high - hertz) / (high - peak)), 0, None) * 2 / (high - low)


def log_mel(sound: torch.Tensor, window: torch.Tensor, bank: torch.Tensor) -> torch.Tensor:
    """[B, N] of full scale 1 to [B, 80, N / 160], as Whisper wants it."""
    spectrum = torch.stft(sound, WINDOW, STEP, window=window, return_complex=True)[..., :-1]
    loudness = ((spectrum.abs() ** 2).transpose(1, 2) @ bank).clamp_min(1e-10).log10()
    return ((torch.maximum(loudness, loudness.amax((1, 2), keepdim=True) - 8) + 4) / 4).transpose(1, 2)


class Teacher:
    """What Whisper's encoder makes of sound, at the network's frames."""

    def __init__(self, weights: dict[str, np.ndarray], device: torch.device | str) -> None:
        self.device = device
        half = torch.float16 if torch.device(device).type == "cuda" else torch.float32
        self.weights = {name: torch.tensor(array, dtype=half, device=device) for name, array in weights.items()}
        self.half, self.width = half, self.weights["conv1/bias"].shape[0]
        self.layers = sum(name.endswith("ffn/linear_0/bias") for name in weights)
        self.bank = torch.tensor(whisper_bands(), dtype=torch.float32, device=device)
        self.window = torch.hann_window(WINDOW, device=device)

    @torch.no_grad()
    def __call__(self, sound: torch.Tensor, frames: int) -> torch.Tensor:
        """[B, N] at any level, at most 30 seconds, to [B, frames, 384], at the network's output frames."""
        made = self.encode(self.log_mel(sound / (sound.std(1, keepdim=True) + 1e-6) * SPOKEN_LEVEL))
        at = (torch.arange(frames, device=self.device) * OUTPUT_FRAMES * STEP + FIRST_CENTRE) / WHISPER_STEP
        left = at.floor().long().clamp_max(made.shape[1] - 2)
        share = (at - left).clamp(0, 1)[None, :, None]
        return made[:, left] * (1 - share) + made[:, left + 1] * share

    def log_mel(self, sound: torch.Tensor) -> torch.Tensor:
        """[B, N] and silence up to the 30 seconds that Whisper always hears, to [B, 80, 3000]."""
        sound = functional.pad(sound, (0, WHOLE_SAMPLES - sound.shape[1]))
        return log_mel(sound, self.window, self.bank)

    def encode(self, bands: torch.Tensor) -> torch.Tensor:
        """[B, 80, frames] to [B, frames / 2, 384], as float."""
        w = self.weights
        hidden = functional.gelu(functional.conv1d(bands.to(self.half), w["conv1/weight"], w["conv1/bias"], padding=1))
        hidden = functional.gelu(functional.conv1d(hidden, w["conv2/weight"], w["conv2/bias"], stride=2, padding=1))
        hidden = hidden.transpose(1, 2)
        hidden = hidden + sines(hidden.shape[1], self.width).to(hidden)
        for k in range(self.layers):
            hidden = hidden + self._attention(self._norm(hidden, f"layer_{k}/self_attention/layer_norm"), k)
            inner = functional.gelu(
                self._linear(self._norm(hidden, f"layer_{k}/ffn/layer_norm"), f"layer_{k}/ffn/linear_0")
            )
            hidden = hidden + self._linear(inner, f"layer_{k}/ffn/linear_1")
        return self._norm(hidden, "layer_norm").float()

    def _attention(self, hidden: torch.Tensor, layer: int) -> torch.Tensor:
        many, frames, _ = hidden.shape
        parts = self._linear(hidden, f"layer_{layer}/self_attention/linear_0").view(many, frames, 3, HEADS, -1)
        query, key, value = parts.permute(2, 0, 3, 1, 4)
        taken = functional.scaled_dot_product_attention(query, key, value)
        return self._linear(taken.transpose(1, 2).reshape(many, frames, -1), f"layer_{layer}/self_attention/linear_1")

    def _linear(self, hidden: torch.Tensor, name: str) -> torch.Tensor:
        return functional.linear(hidden, self.weights[f"{name}/weight"], self.weights[f"{name}/bias"])

    def _norm(self, hidden: torch.Tensor, name: str) -> torch.Tensor:
        weight, bias = self.weights[f"{name}/gamma"], self.weights[f"{name}/beta"]
        return functional.layer_norm(hidden, (self.width,), weight, bias)


class Imitation(nn.Module):
    """From the network's last hidden layer to the teacher's frames, both brought to one scale; only while training."""

    def __init__(self, hidden: int, width: int) -> None:
        super().__init__()
        self.head = nn.Conv1d(hidden, width, 1)
        self.register_buffer("mean", torch.zeros(width))
        self.register_buffer("deviation", torch.ones(width))

    def scale_to(self, taught: torch.Tensor) -> None:
        """Take mean and deviation from some of the teacher's frames [B, T, 384]."""
        self.mean.copy_(taught.mean((0, 1)))
        self.deviation.copy_(taught.std((0, 1)))

    def forward(self, hidden: torch.Tensor, taught: torch.Tensor) -> torch.Tensor:
        """Mean squared difference, in the teacher's variances; [B, hidden, T] and [B, T, 384]."""
        return ((self.head(hidden).transpose(1, 2) - (taught - self.mean) / self.deviation) ** 2).mean()


if __name__ == "__main__":
    np.savez(sys.argv[2], **read_encoder(Path(sys.argv[1]) / "model.bin"))
