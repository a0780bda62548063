"""Whisper's decoder in NumPy: the probability of every word piece after any beginning, many beginnings at once.

CTranslate2 decodes as it likes and shows no probabilities on the way; a search that is held to a grammar needs them
all. Shapes: B beginnings, n new positions, D the width of the model, H heads of 64, F frames of encoded sound, V
pieces. The network is the Transformer decoder of the Whisper paper (Radford et al. 2022, section 2.2): layer norm
before each part, attention to what was said, attention to the sound, and a feed-forward part with GELU.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.core.problems import ModelProblem
from assistant.devices.recognisers.whisper_weights import Weights

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]

HEAD_WIDTH = 64
_NORM_EPSILON = 1e-5
_FEW_ROWS = 3


@dataclass(frozen=True, eq=False)
class Sound:
    """One layer's view of the encoded sound: keys (H, 64, F), already scaled, and values (H, F, 64)."""

    keys: Floats
    values: Floats


@dataclass(frozen=True, eq=False)
class Past:
    """One layer's view of what has been said, oldest first: keys and values, both (B, H, positions, 64)."""

    keys: Floats
    values: Floats

    def of(self, rows: Ints) -> Past:
        """The past of these beginnings only, in this order."""
        return Past(self.keys[rows], self.values[rows])

    def and_then(self, keys: Floats, values: Floats) -> Past:
        """With new positions at its end."""
        return Past(np.concatenate([self.keys, keys], 2), np.concatenate([self.values, values], 2))


class _Linear:
    """x W + b, with the weights laid out for multiplication from the left."""

    def __init__(self, weights: Weights, name: str) -> None:
        self.weight = _floats(weights, f"{name}/weight", transposed=True)
        width = self.weight.shape[1]
        self.bias = _floats(weights, f"{name}/bias") if f"{name}/bias" in weights else np.zeros(width, np.float32)

    def __call__(self, x: Floats) -> Floats:
        y = _times(x, self.weight)
        y += self.bias
        return y


class _Norm:
    """Layer normalisation."""

    def __init__(self, weights: Weights, name: str) -> None:
        self.gamma = _floats(weights, f"{name}/gamma")
        self.beta = _floats(weights, f"{name}/beta")

    def __call__(self, x: Floats) -> Floats:
        centred: Floats = x - x.mean(-1, keepdims=True)
        spread = np.sqrt((centred * centred).mean(-1, keepdims=True) + np.float32(_NORM_EPSILON))
        centred /= spread
        centred *= self.gamma
        centred += self.beta
        return centred


class _Layer:
    """One of the decoder's layers."""

    def __init__(self, weights: Weights, name: str) -> None:
        self.norm_said = _Norm(weights, f"{name}/self_attention/layer_norm")
        self.ask_said = _Linear(weights, f"{name}/self_attention/linear_0")
        self.told_said = _Linear(weights, f"{name}/self_attention/linear_1")
        self.norm_sound = _Norm(weights, f"{name}/attention/layer_norm")
        self.ask_sound = _Linear(weights, f"{name}/attention/linear_0")
        self.see_sound = _Linear(weights, f"{name}/attention/linear_1")
        self.told_sound = _Linear(weights, f"{name}/attention/linear_2")
        self.norm_forward = _Norm(weights, f"{name}/ffn/layer_norm")
        self.widen = _Linear(weights, f"{name}/ffn/linear_0")
        self.narrow = _Linear(weights, f"{name}/ffn/linear_1")

    def look(self, encoded: Floats) -> Sound:
        keys, values = (_heads(part) for part in np.split(self.see_sound(encoded), 2, -1))
        scaled = keys.transpose(0, 2, 1) * np.float32(HEAD_WIDTH**-0.5)
        return Sound(np.ascontiguousarray(scaled), np.ascontiguousarray(values))

    def forward(self, x: Floats, sound: Sound, past: Past | None) -> tuple[Floats, Past]:
        said, now = self._attend_said(self.norm_said(x), past)
        x = x + said
        x = x + self._attend_sound(self.norm_sound(x), sound)
        return x + self.narrow(_gelu(self.widen(self.norm_forward(x)))), now

    def _attend_said(self, x: Floats, past: Past | None) -> tuple[Floats, Past]:
        query, key, value = (_heads(part) for part in np.split(self.ask_said(x), 3, -1))
        now = past.and_then(key, value) if past else Past(key, value)
        scores = query @ now.keys.transpose(0, 1, 3, 2) * np.float32(HEAD_WIDTH**-0.5)
        new, known = scores.shape[-2:]
        if new > 1:  # a position sees itself and what is before it
            scores += np.triu(np.full((new, known), -1e9, np.float32), known - new + 1)
        return self.told_said(_joined(_softmax(scores) @ now.values)), now

    def _attend_sound(self, x: Floats, sound: Sound) -> Floats:
        rows, new, width = x.shape
        query = _heads(self.ask_sound(x).reshape(rows * new, width))
        found = _softmax(query @ sound.keys) @ sound.values
        return self.told_sound(_joined(found).reshape(rows, new, width))


class WhisperDecoder:
    """The decoder of one model; it keeps nothing between calls."""

    def __init__(self, weights: Weights) -> None:
        try:
            self.pieces = weights["decoder/embeddings/weight"]  # stays in the mapped file: a few rows are used
            self.logits_of = _floats(weights, "decoder/embeddings/weight", transposed=True)
            self.positions = _floats(weights, "decoder/position_encodings/encodings")
            self.norm = _Norm(weights, "decoder/layer_norm")
            count = sum(name.endswith("ffn/layer_norm/gamma") for name in weights if name.startswith("decoder/layer_"))
            self.layers = [_Layer(weights, f"decoder/layer_{i}") for i in range(count)]
        except KeyError as missing:
            raise ModelProblem(
                f"the weights lack {missing}: not a Whisper model",
                do="fetch it again with `layup models get whisper-tiny-en`.",
            ) from missing

    def look(self, encoded: Floats) -> list[Sound]:
        """What each layer sees of one utterance; `encoded` has the shape (F, D)."""
        return [layer.look(encoded) for layer in self.layers]

    def forward(
        self, tokens: Ints, sounds: list[Sound], pasts: list[Past] | None, at: int
    ) -> tuple[Floats, list[Past]]:
        """The decoder's state after each of the `tokens` (B, n), the first of them at position `at`; (B, n, D)."""
        x: Floats = self.pieces[tokens].astype(np.float32) + self.positions[at : at + tokens.shape[1]]
        now = []
        for i, layer in enumerate(self.layers):
            x, past = layer.forward(x, sounds[i], pasts[i] if pasts else None)
            now.append(past)
        return x, now

    def log_probabilities(self, states: Floats) -> Floats:
        """Of every word piece to come next, natural logarithms; (B, D) -> (B, V)."""
        logits = _times(self.norm(states), self.logits_of)
        for b in range(len(logits)):  # one at a time: a row stays in the processor's cache
            logits[b] -= logits[b].max()
            logits[b] -= np.log(np.exp(logits[b]).sum())
        return logits


def _floats(weights: Weights, name: str, transposed: bool = False) -> Floats:
    array = weights[name].astype(np.float32)
    return np.ascontiguousarray(array.T) if transposed else array


def _times(x: Floats, weight: Floats) -> Floats:
    """x @ weight; a few rows go one by one: the weights are read once a row, but not rearranged (3 times faster)."""
    rows = x.reshape(-1, x.shape[-1])
    product: Floats = np.stack([row @ weight for row in rows]) if len(rows) <= _FEW_ROWS else rows @ weight
    return product.reshape(*x.shape[:-1], -1)


def _heads(x: Floats) -> Floats:
    """(..., n, H * 64) -> (..., H, n, 64)."""
    return x.reshape(*x.shape[:-1], -1, HEAD_WIDTH).swapaxes(-3, -2)


def _joined(x: Floats) -> Floats:
    """(..., H, n, 64) -> (..., n, H * 64)."""
    x = x.swapaxes(-3, -2)
    return x.reshape(*x.shape[:-2], -1)


def _softmax(x: Floats) -> Floats:
    y: Floats = np.exp(x - x.max(-1, keepdims=True))
    y /= y.sum(-1, keepdims=True)
    return y


def _gelu(x: Floats) -> Floats:
    """x times the normal distribution function, by Abramowitz and Stegun 7.1.26 (error below 1.5e-7)."""
    z = np.abs(x) * np.float32(2**-0.5)
    t = 1 / (1 + np.float32(0.3275911) * z)
    series = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    tail = 0.5 * series * np.exp(-z * z)  # the part of the distribution beyond |x|
    y: Floats = x * np.where(x < 0, tail, 1 - tail)
    return y
