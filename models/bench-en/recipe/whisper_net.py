"""Whisper tiny.en in torch, its weights fixed, with what it is to learn beside them.

Beside each weight matrix stands a product of two narrow ones that is added to it (low-rank adaptation, Hu et al. 2021); biases,
norms and the first convolutions are learnt whole. All of it is the *lesson*: 5 MB, added to the weights by the program.
Names are those of CTranslate2's file. Checked against CTranslate2 and the program's decoder in `tests/test_bench_recipe.py`.
"""

import math
from pathlib import Path

import numpy as np
import torch
from features import RATE_HZ
from imitation import HEADS, WINDOW, log_mel, read_weights, sines, whisper_bands
from torch import nn
from torch.nn import functional

EMBEDDING = "decoder/embeddings/weight"
POSITIONS = "decoder/position_encodings/encodings"
FIXED = (EMBEDDING, POSITIONS)
WHOLE = ("conv1/weight", "conv2/weight", "bias", "gamma", "beta")
"""Ends of the names of what is learnt whole."""
WINDOW_SAMPLES = 2 * RATE_HZ
"""The program's windows are multiples of this."""


def pack_weights(model: Path) -> dict[str, np.ndarray]:
    """What travels to the GPU of a CTranslate2 model: its weights as float16, the pieces' vectors as int8 with scales."""
    weights = {name: array for name, array in read_weights(model).items() if "encoder/position" not in name}
    vectors = weights.pop(EMBEDDING).astype(np.float32)
    scale = np.abs(vectors).max(1, keepdims=True) / 127
    weights[EMBEDDING] = np.rint(vectors / scale).astype(np.int8)
    weights["scale"] = scale.astype(np.float32)
    return weights


class Whisper(nn.Module):
    """Encoder and decoder; what is learnt are its parameters, everything else buffers."""

    def __init__(self, weights: dict[str, np.ndarray], rank: int, dropout: float = 0.0) -> None:
        super().__init__()
        self.dropout = dropout
        whole = {name: torch.tensor(array).float() for name, array in weights.items() if name != "scale"}
        whole[EMBEDDING] = whole[EMBEDDING] * torch.tensor(weights["scale"]) if "scale" in weights else whole[EMBEDDING]
        self.learnt = nn.ParameterDict()
        for name, weight in whole.items():
            if name.endswith(WHOLE):
                self.learnt[_safe(name)] = nn.Parameter(weight)
            else:
                self.register_buffer(_safe(name), weight, persistent=False)
            if weight.dim() == 2 and name not in FIXED:
                wide, narrow = weight.shape
                self.learnt[_safe(f"{name}/in")] = nn.Parameter(torch.randn(rank, narrow) / math.sqrt(narrow))
                self.learnt[_safe(f"{name}/out")] = nn.Parameter(torch.zeros(wide, rank))
        self.width = whole[POSITIONS].shape[1]
        self.layers = {part: sum(n.startswith(part) and n.endswith("ffn/linear_0/bias") for n in whole)
                       for part in ("encoder", "decoder")}  # fmt: skip
        self.register_buffer("bank", torch.tensor(whisper_bands(), dtype=torch.float32), persistent=False)
        self.register_buffer("window", torch.hann_window(WINDOW), persistent=False)

    def log_mel(self, sound: torch.Tensor) -> torch.Tensor:
        """[B, N] of full scale 1 to [B, 80, N / 160]."""
        return log_mel(sound.float(), self.window, self.bank)

    def encode(self, bands: torch.Tensor) -> torch.Tensor:
        """[B, 80, frames] to [B, frames / 2, 384]."""
        hidden = functional.gelu(functional.conv1d(bands, *self._both("encoder/conv1"), padding=1))
        hidden = functional.gelu(functional.conv1d(hidden, *self._both("encoder/conv2"), stride=2, padding=1))
        hidden = hidden.transpose(1, 2)
        hidden = hidden + sines(hidden.shape[1], self.width).to(hidden)
        for k in range(self.layers["encoder"]):
            hidden = self._attend(hidden, f"encoder/layer_{k}/self_attention")
            hidden = self._feed_forward(hidden, f"encoder/layer_{k}/ffn")
        return self._norm(hidden, "encoder/layer_norm")

    def decode(self, pieces: torch.Tensor, encoded: torch.Tensor) -> torch.Tensor:
        """[B, n] pieces to [B, n, V] scores of what comes next."""
        hidden = functional.embedding(pieces, self._fixed(EMBEDDING)) + self._fixed(POSITIONS)[: pieces.shape[1]]
        for k in range(self.layers["decoder"]):
            hidden = self._attend(hidden, f"decoder/layer_{k}/self_attention", causal=True)
            hidden = self._look(hidden, encoded, f"decoder/layer_{k}/attention")
            hidden = self._feed_forward(hidden, f"decoder/layer_{k}/ffn")
        return self._norm(hidden, "decoder/layer_norm") @ self._fixed(EMBEDDING).T.to(hidden)

    def lesson(self) -> dict[str, np.ndarray]:
        """What was learnt, float16: NAME/in and NAME/out of a matrix, NAME of what is learnt whole."""
        return {name.replace("|", "/"): p.detach().half().cpu().numpy() for name, p in self.learnt.items()}

    def take(self, lesson: dict[str, np.ndarray]) -> None:
        """Go on from a lesson."""
        for name, learnt in lesson.items():
            self.learnt[_safe(name)].data.copy_(torch.tensor(learnt).float())

    def _fixed(self, name: str) -> torch.Tensor:
        return self.get_buffer(_safe(name))

    def _both(self, name: str) -> tuple[torch.Tensor, torch.Tensor]:
        return self.learnt[_safe(f"{name}/weight")], self.learnt[_safe(f"{name}/bias")]

    def _norm(self, hidden: torch.Tensor, name: str) -> torch.Tensor:
        gamma, beta = self.learnt[_safe(f"{name}/gamma")], self.learnt[_safe(f"{name}/beta")]
        return functional.layer_norm(hidden.float(), (self.width,), gamma, beta)

    def _linear(self, hidden: torch.Tensor, name: str) -> torch.Tensor:
        weight = f"{name}/weight"
        bias = dict(self.learnt).get(_safe(f"{name}/bias"))
        less = functional.dropout(hidden, self.dropout, self.training)
        added = functional.linear(functional.linear(less, self.learnt[_safe(f"{weight}/in")]),
                                  self.learnt[_safe(f"{weight}/out")])  # fmt: skip
        return functional.linear(hidden, self._fixed(weight), bias) + added

    def _attend(self, hidden: torch.Tensor, name: str, *, causal: bool = False) -> torch.Tensor:
        query, key, value = self._linear(self._norm(hidden, f"{name}/layer_norm"), f"{name}/linear_0").chunk(3, -1)
        return hidden + self._linear(_attention(query, key, value, causal=causal), f"{name}/linear_1")

    def _look(self, hidden: torch.Tensor, encoded: torch.Tensor, name: str) -> torch.Tensor:
        query = self._linear(self._norm(hidden, f"{name}/layer_norm"), f"{name}/linear_0")
        key, value = self._linear(encoded, f"{name}/linear_1").chunk(2, -1)
        return hidden + self._linear(_attention(query, key, value), f"{name}/linear_2")

    def _feed_forward(self, hidden: torch.Tensor, name: str) -> torch.Tensor:
        inner = functional.gelu(self._linear(self._norm(hidden, f"{name}/layer_norm"), f"{name}/linear_0"))
        return hidden + self._linear(inner, f"{name}/linear_1")


def _attention(query: torch.Tensor, key: torch.Tensor, value: torch.Tensor, *, causal: bool = False) -> torch.Tensor:
    many, rows, width = query.shape
    query, key, value = (part.view(many, part.shape[1], HEADS, -1).transpose(1, 2) for part in (query, key, value))
    taken = functional.scaled_dot_product_attention(query, key, value, is_causal=causal)
    return taken.transpose(1, 2).reshape(many, rows, width)


def _safe(name: str) -> str:
    """Torch allows no full stop in a parameter's name, and makes attributes of them."""
    return name.replace("/", "|")


def in_windows(sound: torch.Tensor, windows: int) -> torch.Tensor:
    """[B, N] in int16 scale, a margin of silence before, and silence after to `windows` times two seconds; full scale 1."""
    margin, whole = RATE_HZ // 4, windows * WINDOW_SAMPLES
    return functional.pad(sound[:, : whole - margin] / 32768, (margin, max(0, whole - margin - sound.shape[1])))
