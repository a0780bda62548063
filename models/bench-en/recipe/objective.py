"""Lattice-free maximum mutual information (Povey et al. 2016) from a flat start: no alignments are needed.

    log p(what was said | sound) - log p(anything | sound)

Both are sums over all alignments by forward-backward. What was said is a small graph of its units with optional silence;
anything is a bigram of units. A state is one unit: its first frame is scored by pdf 2u, each later one by 2u + 1.
Checked against a sum over all paths, and against automatic differentiation, in `tests/test_bench_recipe.py`.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import torch
from lexicon import SILENCE, UNIT_ID, UNITS, UNKNOWN

Array = npt.NDArray[np.float64]
Choices = list[list[list[str]]]
"""For each word, its pronunciations, each a list of units."""
PAUSE = 0.4
"""Probability of silence between two words."""
AROUND = 0.85
"""Probability of silence before and after."""
MOST_BYTES = 60e9
"""Of GPU memory; beyond it, no further shape is captured as a CUDA graph."""


@dataclass(frozen=True)
class Bigram:
    """Probabilities of units: one after another, first, last."""

    following: Array
    first: Array
    last: Array


def count_bigram(said: list[Choices | None], draw: np.random.Generator) -> Bigram:
    """The bigram of random paths through what is said; None is any mixture of silence and unknown words."""
    units = len(UNITS)
    pairs, first, last = np.zeros((units, units)), np.zeros(units), np.zeros(units)
    for words in said:
        path = random_path([[["SPN"]]] * int(draw.integers(1, 7)) if words is None else words, draw)
        first[path[0]] += 1
        last[path[-1]] += 1
        np.add.at(pairs, (path[:-1], path[1:]), 1)
    pairs += last[:, None] * first[None] * 0.05 / len(said)  # a little of: the end, and a start again
    whole = pairs.sum(1) + last
    enters_a_word = np.array([not ("." in unit and not unit.endswith(".0")) for unit in UNITS])
    alone = pairs.sum(0) * enters_a_word
    alone /= alone.sum()
    back_off = np.array([0.002 if "." in unit else 0.02 for unit in UNITS])[:, None]
    following = (1 - back_off) * pairs / whole[:, None].clip(1) + back_off * alone[None]
    return Bigram(following, 0.98 * first / first.sum() + 0.02 * alone, 0.999 * last / whole.clip(1) + 1e-3)


def random_path(words: Choices, draw: np.random.Generator) -> list[int]:
    """Units of one way to say the words, with pauses."""
    path = [SILENCE] if not words or draw.random() < AROUND else []
    for k, ways in enumerate(words):
        path += [UNIT_ID[unit] for unit in ways[draw.integers(len(ways))]]
        if draw.random() < (PAUSE if k < len(words) - 1 else AROUND):
            path.append(SILENCE)
    return path


@dataclass(frozen=True)
class Graph:
    """What was said: the unit of each state, arcs between states, where it may start and end."""

    units: list[int]
    arcs: list[tuple[int, int]]
    starts: list[int]
    ends: list[int]


def graph_of(words: Choices | None) -> Graph:
    """All ways to say the words with silence allowed around and between; None is speech played backwards."""
    if words is None:
        return Graph([SILENCE, UNKNOWN], [(0, 1), (1, 0), (1, 1)], [0, 1], [0, 1])
    graph = Graph([SILENCE], [], [0], [0])
    ends = graph.ends
    for k, ways in enumerate(words):
        finals = []
        for way in ways:
            state = len(graph.units)
            graph.units.extend(UNIT_ID[unit] for unit in way)
            graph.arcs.extend((end, state) for end in ends)
            graph.arcs.extend((state + i, state + i + 1) for i in range(len(way) - 1))
            finals.append(len(graph.units) - 1)
            if k == 0:
                graph.starts.append(state)
        pause = len(graph.units)
        graph.units.append(SILENCE)
        graph.arcs.extend((final, pause) for final in finals)
        ends = [*finals, pause]
    return Graph(graph.units, graph.arcs, graph.starts, ends)


def forward_backward(
    scores: torch.Tensor, units: torch.Tensor, following: torch.Tensor, first: torch.Tensor, last: torch.Tensor
) -> tuple[torch.Tensor, torch.Tensor]:
    """Log of the sum over all paths [B], and the posterior of each pdf [B, T, P].

    `scores` [B, T, P] are log-likelihoods (double), `units` [B, S] the unit of each state, `following` [B, S, S] or, the same
    for all, [S, S] the probability of entering a state from another; staying costs nothing, `first` and `last` [B, S].
    """
    many, frames, _ = scores.shape
    entering = (2 * units)[:, None].expand(many, frames, units.shape[1])
    enter, stay = scores.gather(2, entering), scores.gather(2, entering + 1)
    most = torch.maximum(enter.amax(2), stay.amax(2))
    enter = torch.exp(enter - most[..., None]).transpose(0, 1).contiguous()
    stay = torch.exp(stay - most[..., None]).transpose(0, 1).contiguous()
    backwards = following.transpose(-1, -2).contiguous()
    shared = following.dim() == 2

    def through(state: torch.Tensor, matrix: torch.Tensor) -> torch.Tensor:
        return state @ matrix if shared else torch.bmm(state[:, None], matrix)[:, 0]

    alpha, entered, beta = torch.empty_like(enter), torch.empty_like(enter), torch.empty_like(enter)
    scale = torch.empty(frames, many, 1, dtype=scores.dtype, device=scores.device)
    entered[0] = first
    state = first * enter[0]
    for t in range(frames):
        if t:
            entered[t] = through(state, following)
            state = torch.addcmul(entered[t] * enter[t], state, stay[t])
        scale[t] = state.sum(1, keepdim=True)
        state = state / scale[t]
        alpha[t] = state
    final = (state * last).sum(1, keepdim=True)
    total = torch.log(scale).sum((0, 2)) + most.sum(1) + torch.log(final)[:, 0]
    state = last / final
    for t in range(frames - 1, -1, -1):
        state = state / scale[t]
        beta[t] = state
        if t:
            state = torch.addcmul(through(enter[t] * state, backwards), stay[t], state)
    staying = torch.zeros_like(enter)
    staying[1:] = alpha[:-1] * stay[1:] * beta[1:]
    posterior = torch.zeros_like(scores)
    posterior.scatter_add_(2, entering, (entered * enter * beta).transpose(0, 1))
    posterior.scatter_add_(2, entering + 1, staying.transpose(0, 1))
    return total, posterior


class ForwardBackward:
    """`forward_backward` through one CUDA graph for each shape: the loop over time is bound by the launches of its kernels."""

    def __init__(self) -> None:
        self.captured: dict[
            tuple[torch.Size, ...], tuple[list[torch.Tensor], torch.cuda.CUDAGraph, tuple[torch.Tensor, ...]]
        ] = {}

    def __call__(self, *takes: torch.Tensor) -> tuple[torch.Tensor, ...]:
        """As `forward_backward`. What it gives is overwritten by the next call of the same shape."""
        shapes = tuple(tensor.shape for tensor in takes)
        if not takes[0].is_cuda or (shapes not in self.captured and torch.cuda.memory_reserved() > MOST_BYTES):
            return forward_backward(*takes)
        if shapes not in self.captured:
            self.captured[shapes] = self._capture(takes)
        inputs, graph, gives = self.captured[shapes]
        for own, given in zip(inputs, takes, strict=True):
            own.copy_(given)
        graph.replay()
        return gives

    def _capture(
        self, takes: tuple[torch.Tensor, ...]
    ) -> tuple[list[torch.Tensor], torch.cuda.CUDAGraph, tuple[torch.Tensor, ...]]:
        inputs = [tensor.clone() for tensor in takes]
        if not self.captured:
            forward_backward(*inputs)  # cuBLAS must have been used before
        torch.cuda.synchronize()
        graph = torch.cuda.CUDAGraph()
        # thread_local: the watchdog thread of NCCL asks for events meanwhile, which the default mode forbids
        with torch.cuda.graph(graph, capture_error_mode="thread_local"):
            gives = forward_backward(*inputs)
        return inputs, graph, gives
