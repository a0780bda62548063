"""Learning a voice: the change of the features under which what was said is likelier than all else that could have
been said.

What is made large is the logarithm of P(these words | sound) among all strings of the vocabulary (maximum mutual
information: Bahl et al. 1986), summed over utterances, less a penalty on how far the change is from none.
Coefficients are measured in their own spread over the voice's frames, so one penalty does for all. Climbed by L-BFGS
(Nocedal and Wright 2006, algorithm 7.4) on the network's own slope.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.devices.protocols import Samples
from assistant.devices.recognisers.adapting.acoustic_file import AcousticFile, read_acoustic_file
from assistant.devices.recognisers.adapting.cepstra import Cepstra, read_cepstra
from assistant.devices.recognisers.adapting.likelihood import graph_of_any, graph_of_words, log_likelihood, stacked
from assistant.devices.recognisers.adapting.network import Network
from assistant.devices.recognisers.adapting.pronouncing import Lexicon, read_lexicon
from assistant.devices.recognisers.adapting.transform import Transform

Doubles = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]
Progress = Callable[[int, int], None]
"""Told after each step how many are done, of how many at most."""

PENALTY = 100.0
"""Of 1 to 300, tried on the tuning voices (half of the prompts, then without units, judged by: 106 words) and on AN4's
tuning speakers (six, and four in noise, 6 or 7 recordings each to learn from). Words wrong:

    who, channel                      before     1     3    10    30   100   300
    +Michael, tilted                      13     -     0     -     2     -     5
    +Michael, engine 10 dB                 6     -     -     2     2     2     -
    +f5, telephone band                    1     -     1     -     1     -     0
    +f5, clean                             0     -     0     -     0     -     0
    six people, clean, 229 words          19     -     -     -    22    21     -
    four people, pink 10 dB, 152 words    21    31     -    25     -    21     -

People who say 40 words are not learnt from them, and the nearer to none, the less is lost; voices gain over a wide range.
"""
STEPS = 12
REMEMBERED = 8
LEAST_STEP_GAIN = 1e-3
"""A step that gains less than so much of a word's logarithm, over all words, was the last."""
HALVINGS = 12
"""A step that gains too little even when halved so often is not taken: this is as low as it goes."""
FIRST_STEP = 0.1
"""Length of the first way that is tried, in spreads."""


@dataclass(frozen=True, eq=False)
class Said:
    """A sound and the words that are said in it."""

    samples: Samples
    words: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class BaseModel:
    """A Vosk model as it is learnt with."""

    acoustic: AcousticFile
    cepstra: Cepstra
    lexicon: Lexicon

    @property
    def vocabulary(self) -> frozenset[str]:
        """The words it knows."""
        return frozenset(self.lexicon.words)


def read_base(folder: Path) -> BaseModel:
    """The Vosk model in `folder`. ModelProblem or FileProblem where it is not of our own models' kind."""
    acoustic = read_acoustic_file(folder / "am" / "final.mdl")
    return BaseModel(acoustic, read_cepstra(folder / "conf" / "mfcc.conf"), read_lexicon(folder, acoustic))


class Fit:
    """How well utterances fit their words under a change of the features, with the slope by that change."""

    def __init__(self, base: BaseModel, said: Sequence[Said], vocabulary: Sequence[str]) -> None:
        network = Network(base.acoustic)
        self._tape = network.tape([base.cepstra.of(s.samples) for s in said])
        self._run = network.run(self._tape)
        self._meant = stacked([graph_of_words(s.words, base.lexicon, base.acoustic) for s in said])
        self._any = graph_of_any(vocabulary, base.lexicon, base.acoustic)
        self.words = np.array([len(s.words) for s in said])
        self._chance = self.words * np.log(len(vocabulary))
        self.spread = np.maximum(self._tape.frames.std(axis=0, dtype=np.float64), 1e-3)

    def scores(self, change: Transform | None = None) -> Doubles:
        """log P(words | sound) of each utterance; minus infinity where it is too short for its words."""
        scores = self._scored(change)[0]
        self._run.forget()
        return scores

    def _scored(self, change: Transform | None) -> tuple[Doubles, list[Floats]]:
        frames = self._tape.frames if change is None else change.of(self._tape.frames)
        outputs = self._run.forward(frames)
        meant, up = log_likelihood(outputs, self._meant)
        every, down = log_likelihood(outputs, self._any)
        return meant - self._chance - every, [a - b for a, b in zip(up, down, strict=True)]

    def slope(self, change: Transform) -> tuple[float, Transform]:
        """The summed logarithm, and its slope by the matrix and the offset; what is too short counts for nothing."""
        scores, slopes = self._scored(change)
        usable = np.isfinite(scores)
        by_frame = self._run.backward([s * u for s, u in zip(slopes, usable, strict=True)]).astype(np.float64)
        return float(scores[usable].sum()), Transform(by_frame.T @ self._tape.frames, by_frame.sum(axis=0))


def learn(fit: Fit, penalty: float = PENALTY, steps: int = STEPS, progress: Progress = lambda *_: None) -> Transform:
    """The change under which the utterances fit best, less the penalty: half of it times each squared departure, in spreads."""
    spread = fit.spread
    size = len(spread)

    def change_of(x: Doubles) -> Transform:
        departure = x[size:].reshape(size, size)
        return Transform(np.eye(size) + departure * spread[:, None] / spread, x[:size] * spread)

    def cost(x: Doubles) -> tuple[float, Doubles]:
        gained, slope = fit.slope(change_of(x))
        by_x = np.concatenate((slope.offset * spread, (slope.matrix * spread[:, None] / spread).ravel()))
        return penalty / 2 * float(x @ x) - gained, penalty * x - by_x

    return change_of(descend(cost, np.zeros(size + size * size), steps, LEAST_STEP_GAIN, progress))


def descend(
    cost: Callable[[Doubles], tuple[float, Doubles]],
    start: Doubles,
    steps: int,
    least_gain: float,
    progress: Progress = lambda *_: None,
) -> Doubles:
    """The lowest place found by L-BFGS in so many steps, each halved until it gains enough (Armijo's rule)."""
    x, (value, slope) = start, cost(start)
    known: deque[tuple[Doubles, Doubles]] = deque(maxlen=REMEMBERED)
    for step in range(steps):
        way = -_turned(slope, known)
        length = 1.0 if known else FIRST_STEP / max(1.0, float(np.linalg.norm(slope)))
        for _ in range(HALVINGS):
            new = x + length * way
            new_value, new_slope = cost(new)
            if new_value <= value + 1e-4 * length * float(slope @ way):
                break
            length /= 2
        else:
            return x
        if float((new_slope - slope) @ (new - x)) > 0:
            known.append((new - x, new_slope - slope))
        gained, x, value, slope = value - new_value, new, new_value, new_slope
        progress(step + 1, steps)
        if gained < least_gain:
            break
    return x


def _turned(slope: Doubles, known: deque[tuple[Doubles, Doubles]]) -> Doubles:
    """The slope times the inverse curvature, as far as the last steps tell of it."""
    way, shares = slope.copy(), []
    for moved, turned in reversed(known):
        share = float(moved @ way) / float(moved @ turned)
        shares.append(share)
        way -= share * turned
    if known:
        moved, turned = known[-1]
        way *= float(moved @ turned) / float(turned @ turned)
    for (moved, turned), share in zip(known, reversed(shares), strict=True):
        way += (share - float(turned @ way) / float(moved @ turned)) * moved
    return way
