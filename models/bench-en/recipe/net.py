"""The network: a factored time-delay network (Povey et al. 2018), made only of parts that Kaldi's nnet3 has too."""

from dataclasses import asdict, dataclass
from typing import Any

import torch
from features import BANDS
from lexicon import UNITS
from torch import nn

SKIP = 0.66
"""Share of a layer's input that goes round it, as in Kaldi's recipes."""
BATCH_NORM_EPS = 1e-3
OUTPUT_FRAMES = 3
"""One output for so many frames of 10 ms."""


@dataclass(frozen=True)
class Shape:
    """Sizes of the network."""

    pdfs: int
    hidden: int = 640
    bottleneck: int = 144
    fine: int = 2
    """Layers that look one frame around, before frames are thinned."""
    coarse: int = 7
    """Layers that look three frames around."""
    before_output: int = 192

    @property
    def context(self) -> int:
        """Frames of 10 ms before and after an output's own that it depends on."""
        return 2 + self.fine + OUTPUT_FRAMES * self.coarse


class Network(nn.Module):
    """Features to scores of pdfs: one head for the objective, one for cross-entropy while training."""

    def __init__(self, shape: Shape, dropout: float = 0.0) -> None:
        super().__init__()
        self.shape, self.dropout = shape, dropout
        layers = shape.fine + shape.coarse
        self.first = nn.Conv1d(BANDS, shape.hidden, 5)
        self.narrow = nn.ModuleList(nn.Conv1d(shape.hidden, shape.bottleneck, 2, bias=False) for _ in range(layers))
        self.widen = nn.ModuleList(nn.Conv1d(shape.bottleneck, shape.hidden, 2) for _ in range(layers))
        self.norms = nn.ModuleList(
            nn.BatchNorm1d(shape.hidden, affine=False, eps=BATCH_NORM_EPS, momentum=0.02) for _ in range(layers + 1)
        )
        self.before, self.before_entropy = (
            nn.Conv1d(shape.hidden, shape.before_output, 1, bias=False) for _ in range(2)
        )
        self.output, self.output_entropy = (nn.Conv1d(shape.before_output, shape.pdfs, 1) for _ in range(2))
        nn.init.zeros_(self.output.weight)
        nn.init.zeros_(self.output_entropy.weight)
        self.register_buffer("mean", torch.zeros(BANDS))
        self.register_buffer("deviation", torch.ones(BANDS))

    def _dropped(self, hidden: torch.Tensor) -> torch.Tensor:
        """Kaldi's continuous dropout: a factor around 1 for each unit, the same at all times."""
        if not self.training or not self.dropout:
            return hidden
        factor = 2 * torch.rand(hidden.shape[0], hidden.shape[1], 1, device=hidden.device) - 1
        return hidden * (1 + 2 * self.dropout * factor)

    def hidden(self, features: torch.Tensor) -> torch.Tensor:
        """[B, 3 T + 2 context - 2 to 0, 40] to [B, hidden, T]."""
        normal = ((features - self.mean) / self.deviation).transpose(1, 2)
        hidden = self._dropped(self.norms[0](torch.relu(self.first(normal))))
        for k, (narrow, widen) in enumerate(zip(self.narrow, self.widen, strict=True)):
            if k == self.shape.fine:
                hidden = hidden[:, :, ::OUTPUT_FRAMES]
            wide = self._dropped(self.norms[k + 1](torch.relu(widen(narrow(hidden)))))
            hidden = wide + SKIP * hidden[:, :, 1:-1]
        return hidden

    def heads(self, hidden: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        """[B, hidden, T] to twice [B, T, pdfs]: for the objective, and for cross-entropy."""
        return (
            self.output(self.before(hidden)).transpose(1, 2),
            self.output_entropy(self.before_entropy(hidden)).transpose(1, 2),
        )

    def forward(self, features: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        """Both heads of `features` [B, 3 T + 2 context - 2 to 0, 40]: twice [B, T, pdfs]."""
        return self.heads(self.hidden(features))


def padded(features: torch.Tensor, context: int) -> torch.Tensor:
    """[B, T, 40] with the first and last frame repeated, as Kaldi does at the ends."""
    first, last = features[:, :1].expand(-1, context, -1), features[:, -1:].expand(-1, context, -1)
    return torch.cat([first, features, last], 1)


def checkpoint(weights: dict[str, torch.Tensor], shape: Shape) -> dict[str, Any]:
    """What is written: weights, sizes, and the units that the pdfs belong to."""
    return {"weights": {k: v.detach().cpu() for k, v in weights.items()}, "shape": asdict(shape), "units": list(UNITS)}


def load(path: str, device: torch.device | str = "cpu") -> Network:
    """The network of a checkpoint, in evaluation mode; ValueError where its units are not those of `lexicon.py`."""
    kept = torch.load(path, map_location=device, weights_only=True)
    if kept["units"] != list(UNITS):
        raise ValueError(
            f"{path}: trained with other units than lexicon.py has; take the lexicon.py it was trained with"
        )
    network = Network(Shape(**kept["shape"])).to(device)
    network.load_state_dict({k: v.float() if v.is_floating_point() else v for k, v in kept["weights"].items()})
    return network.eval()
