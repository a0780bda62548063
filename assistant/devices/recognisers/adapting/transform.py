"""A linear change of the features, and its place in the model: the weights and offsets of the layers that read the
input.

For one voice and microphone: x -> A x + b on the cepstra (constrained maximum likelihood linear regression has this
form: Gales 1998; feature-space discriminative linear regression for neural networks: Seide et al. 2011). Where the
network repeats an utterance's first and last frame the change is the same, so the changed model on plain sound is
exactly the plain model on changed features.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.devices.recognisers.adapting.acoustic_file import AcousticFile
from assistant.devices.recognisers.adapting.network import AFFINE, INPUT, Network

Doubles = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Transform:
    """`matrix` (coefficients, coefficients) and `offset` (coefficients,)."""

    matrix: Doubles
    offset: Doubles

    @classmethod
    def identity(cls, coefficients: int) -> Transform:
        """Changes nothing."""
        return cls(np.eye(coefficients), np.zeros(coefficients))

    def of(self, frames: Floats) -> Floats:
        """Changed features, shape (frames, coefficients)."""
        return (frames @ self.matrix.T + self.offset).astype(np.float32)


def folded(model: AcousticFile, transform: Transform) -> AcousticFile:
    """The model that does to plain features what `model` does to changed ones. The identity gives the same file."""
    width = len(transform.offset)
    for node in Network(model).nodes:
        reads = [[term for term in part if term.node == INPUT] for part in node.parts]
        if not any(reads):
            continue
        c = node.component
        if c.kind not in AFFINE or any(len(part) != 1 or part[0].scale != 1 for part in node.parts):
            raise ValueError(f"{node.name} reads the input and is no affine layer of spliced frames")
        weights = c.array("LinearParams").astype(np.float64).reshape(-1, len(node.parts), width)
        bias = c.array("BiasParams") + (weights @ transform.offset).sum(axis=1)
        new = (weights @ transform.matrix).reshape(len(bias), -1)
        model = model.with_component(c.changed(LinearParams=new.astype(np.float32), BiasParams=bias.astype(np.float32)))
    return model
