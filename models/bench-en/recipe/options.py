"""What the trainer's command line may set, and how the learning rate goes."""

import math
import sys
from dataclasses import dataclass, fields
from typing import TypeVar

from augment import Strength

RAMP = 0.25
"""Share of the training until noise is at full strength."""


Kind = TypeVar("Kind")


def read_options(kind: type[Kind], arguments: list[str]) -> Kind:
    """A dataclass of options from NAME=VALUE arguments; what it does not have ends the program."""
    kinds, read = {f.name: type(f.default) for f in fields(kind)}, {}
    for argument in arguments:
        name, _, value = argument.partition("=")
        if name not in kinds:
            sys.exit(f"{argument}: no such option; there are {', '.join(kinds)}")
        read[name] = kinds[name](value)
    return kind(**read)


@dataclass
class Options:
    """What the command line may set."""

    batch: int = 96
    lr: float = 2e-3
    hidden: int = 640
    bottleneck: int = 144
    dropout: float = 0.15
    decay: float = 1e-3
    entropy: float = 0.1
    """Weight of the cross-entropy head."""
    flatness: float = 2e-4
    """Weight of the squared scores."""
    loud: float = 0.2
    """Share of speech at -2 to 6 dB."""
    babble: float = 0.1
    workers: int = 13
    bank: int = 1536
    """Noises made beforehand."""
    steps: int = 0
    """Stop after so many, whatever the clock says."""
    say_every: int = 200
    score_every: int = 1000
    seed: int = 1
    init: str = ""
    """A checkpoint to go on from."""
    begins: float = 0.0
    ends: float = 1.0
    """Which share of the whole training this run is: of the curriculum and of the learning rate's fall."""
    teacher: str = ""
    """Whisper's encoder by `imitation.py`."""
    imitate: float = 0.3
    """Weight of the imitation."""
    warmup: int = 300

    def of_all(self, gone: float) -> float:
        """Share of the whole training that is gone after this share of this run."""
        return self.begins + (self.ends - self.begins) * min(1.0, gone)

    def strength(self, gone: float) -> Strength:
        """How hard the bay is made after this share of the whole training."""
        return Strength(min(1.0, gone / RAMP), self.loud, self.babble)

    @classmethod
    def read(cls, arguments: list[str]) -> "Options":
        """From NAME=VALUE arguments."""
        return read_options(cls, arguments)


def learning_rate(options: Options, step: int, gone: float) -> float:
    """Up in `warmup` steps, down along half a cosine; `gone` of the whole training."""
    return options.lr * min(1.0, (step + 1) / options.warmup) * (0.5 * (1 + math.cos(math.pi * gone)) + 0.005)
