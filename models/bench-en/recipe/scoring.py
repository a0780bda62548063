"""How many numbers of the development speakers the network hears whole: Viterbi over a free loop of number words."""

import itertools
import math

import augment
import numpy as np
import numpy.typing as npt
import torch
from features import RATE_HZ, Front
from lexicon import NUMBER_UNITS, UNIT_ID
from net import Network, padded
from objective import forward_backward
from words import NUMBER_WORDS

QUIET_SAMPLES = RATE_HZ // 4
FAINT = 3.0
"""Level of the noise that every microphone has: no training sound has zeros either."""
WORDS = (*NUMBER_WORDS, "and")
STATES = [("", UNIT_ID["SIL"])] + [
    (word if k == 0 else "", unit)
    for word, units in (
        *((word, [UNIT_ID[f"{word}.{k}"] for k in range(NUMBER_UNITS[word])]) for word in NUMBER_WORDS),
        ("and", [UNIT_ID[phone] for phone in ("AH", "N", "D")]),
    )
    for k, unit in enumerate(units)
]
"""(word that begins here, unit); silence first."""
BEGINS = np.array([bool(word) for word, _ in STATES])
ENDS = np.array([*BEGINS[1:], True]) | (np.arange(len(STATES)) == 0)


def _costs() -> npt.NDArray[np.float64]:
    """[S, S] log of entering a state from another: words alike likely, silence e^-1."""
    costs = np.full((len(STATES), len(STATES)), -np.inf)
    costs[np.ix_(ENDS, BEGINS)] = -math.log(BEGINS.sum())
    costs[ENDS, 0] = -1.0
    costs[0, 0] = -np.inf
    for state in np.flatnonzero(~ENDS):
        costs[state, state + 1] = 0.0
    return costs


COSTS = _costs()


def heard(scores: npt.NDArray[np.float64]) -> list[str]:
    """The likeliest words of [T, pdfs]."""
    enter, stay = (scores[:, [2 * unit + later for _, unit in STATES]] for later in (0, 1))
    best = np.where(BEGINS | (np.arange(len(STATES)) == 0), enter[0], -np.inf)
    came_from = []
    for t in range(1, len(scores)):
        ways = best[:, None] + COSTS
        origin = ways.argmax(0)
        entered, stayed = ways[origin, np.arange(len(STATES))] + enter[t], best + stay[t]
        came_from.append(np.where(stayed >= entered, -1, origin))
        best = np.maximum(stayed, entered)
    state = int(np.where(ENDS, best, -np.inf).argmax())
    words = []
    for origin in reversed(came_from):
        if origin[state] >= 0:
            words.append(STATES[state][0])
            state = int(origin[state])
    return [word for word in reversed([*words, STATES[state][0]]) if word]


ENTERED = np.exp(COSTS)
"""[S, S] probabilities of entering a state from another, in the loop of number words."""


def log_certainty(scores: torch.Tensor, words: list[str]) -> float:
    """Log of the probability of `words` among all strings of number words; `scores` [1, T, pdfs]."""

    def log_sum(
        states: list[int],
        following: npt.NDArray[np.float64],
        first: npt.NDArray[np.bool_],
        last: npt.NDArray[np.bool_],
    ) -> float:
        units = torch.tensor([[STATES[state][1] for state in states]], device=scores.device)
        entering = [torch.tensor(part, dtype=torch.float64, device=scores.device) for part in (following, first, last)]
        total, _ = forward_backward(scores.double(), units, entering[0], entering[1][None], entering[2][None])
        return float(total)

    states, path = list(range(len(STATES))), [0]
    for word in words:
        begin = next(k for k, (of, _) in enumerate(STATES) if of == word)
        path += [begin, *itertools.takewhile(lambda k: not BEGINS[k], states[begin + 1 :]), 0]
    place = np.arange(len(path))
    ahead, spoken = place - place[:, None], np.array(path) != 0
    skips = (ahead == 2) & spoken[:, None] & spoken
    following = ENTERED[np.ix_(path, path)] * ((ahead == 1) | skips)
    said = log_sum(path, following, place < 2, place >= len(path) - 2)
    return said - log_sum(states, ENTERED, BEGINS | (np.array(states) == 0), ENDS)


class Development:
    """The development numbers, clean and in two noises of `augment` at 10 and 5 dB: always the same."""

    def __init__(self, spoken: list[tuple[str, torch.Tensor]], device: torch.device | str) -> None:
        """`spoken`: words and samples (int16 scale)."""
        self.front, self.spoken = Front(device), spoken
        samples = max((len(sound) for _, sound in spoken), default=0) + 2 * QUIET_SAMPLES
        with torch.random.fork_rng([device] if torch.device(device).type == "cuda" else []):
            torch.manual_seed(5)
            many = len(spoken)
            self.noises = {
                "coloured": augment.coloured(many, samples, device),
                "hum": augment.hum(many, samples, device),
            }
            self.faint = torch.randn(many, samples, device=device) * FAINT

    def whole(self, network: Network, noise: str = "", ratio_db: float = 0.0) -> tuple[int, float]:
        """How many are right in every word, and the mean log probability of what was said."""
        right, certainty = 0, 0.0
        for k, (words, sound) in enumerate(self.spoken):
            power = float((sound**2).mean().sqrt()) + 1e-9
            taken = torch.nn.functional.pad(sound, (QUIET_SAMPLES, QUIET_SAMPLES))
            taken = taken + self.faint[k, : len(taken)]
            if noise:
                taken = taken + self.noises[noise][k, : len(taken)] * power * 10 ** (-ratio_db / 20)
            with torch.no_grad():
                scores = network(padded(self.front.mfcc(taken[None]), network.shape.context))[0][0]
            right += heard(scores.double().cpu().numpy()) == words.split()
            certainty += log_certainty(scores[None], words.split())
        return right, certainty / len(self.spoken)

    def report(self, network: Network) -> str:
        """One line."""
        asked: list[tuple[str, float]] = [("", 0.0), *[(noise, db) for noise in self.noises for db in (10.0, 5.0)]]
        scored = [(noise, db, *self.whole(network, noise, db)) for noise, db in asked]
        parts = [f"{f'{noise} {db:.0f} dB' if noise else 'clean'} {n} ({sure:.2f})" for noise, db, n, sure in scored]
        return f"development numbers whole, of {len(self.spoken)}: " + ", ".join(parts)
