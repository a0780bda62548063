"""Checkpoints to one Vosk model folder that takes a grammar while it runs.

    python3 export.py CHECKPOINT... FOLDER [--unknown-cost NATS] [--silence PROBABILITY]

Of several networks the model's scores are the mean: what was learnt from different random beginnings is right together more
often than alone (an ensemble; Hansen and Salamon 1990).

What Kaldi has no word for is said otherwise: the linear halves are affine with no bias, a layer's skip is a NoOp over a sum;
the normalisation of the features is put into the first layer. No priors, no softmax, acoustic scale 1. The words are those of
`words.py` as it is now: one more, that CMUdict has, needs no training.
"""

import argparse
import shutil
from collections.abc import Mapping, Sequence
from functools import reduce
from pathlib import Path
from typing import Any

import graphs
import numpy as np
import torch
from features import BANDS, HIGHEST_HZ, LOWEST_HZ, RATE_HZ
from kaldi_files import Component, Writer, write_network, write_transitions
from lexicon import for_decoding, make_lexicon
from net import BATCH_NORM_EPS, OUTPUT_FRAMES, SKIP, Network, load
from words import VOCABULARY

MFCC = f"""--sample-frequency={RATE_HZ}
--use-energy=false
--num-mel-bins={BANDS}
--num-ceps={BANDS}
--low-freq={LOWEST_HZ:.0f}
--high-freq={HIGHEST_HZ:.0f}
--dither=0
"""
DECODER = f"""--min-active=200
--max-active=3000
--beam=13.0
--lattice-beam=6.0
--acoustic-scale=1.0
--frame-subsampling-factor={OUTPUT_FRAMES}
--endpoint.silence-phones=1
--endpoint.rule2.min-trailing-silence=0.5
--endpoint.rule3.min-trailing-silence=0.75
--endpoint.rule4.min-trailing-silence=1.0
"""


def side_by_side(kernel: np.ndarray) -> np.ndarray:
    """[out, in, taps] as the matrix over appended frames [out, taps * in]."""
    return np.concatenate([kernel[:, :, k] for k in range(kernel.shape[2])], 1)


class Nodes:
    """Collects nodes and components."""

    def __init__(self, network: Network, place: int) -> None:
        self.config, self.components = list[str](), list[Component]()
        self.network, self.hidden, self.place = network, network.shape.hidden, place

    def add(self, name: str, kind: str, values: Mapping[str, Any], takes: str) -> str:
        """A component and the node that feeds it; its name."""
        name = f"n{self.place}.{name}"
        self.config.append(f"component-node name={name} component={name} input={takes}")
        self.components.append(Component(name, kind, dict(values)))
        return name

    def affine(self, name: str, matrix: np.ndarray, bias: np.ndarray | None, takes: str) -> str:
        """An affine map."""
        bias = np.zeros(len(matrix)) if bias is None else bias
        return self.add(name, "AffineComponent", {"<LinearParams>": matrix, "<BiasParams>": bias}, takes)

    def normalised(self, layer: int, takes: str) -> str:
        """ReLU and batch norm of a layer."""
        norm, dim = self.network.norms[layer], {"<Dim>": self.hidden}
        takes = self.add(f"l{layer}.relu", "RectifiedLinearComponent", dim, takes)
        values = dim | {
            "<BlockDim>": self.hidden, "<Epsilon>": BATCH_NORM_EPS, "<Count>": 1000.0,
            "<StatsMean>": norm.running_mean.numpy(), "<StatsVar>": norm.running_var.numpy(),
        }  # fmt: skip
        return self.add(f"l{layer}.norm", "BatchNormComponent", values, takes)


def nodes_of(network: Network, place: int) -> tuple[Nodes, str]:
    """The network in nnet3's terms, its names led by its place among others, and the name of its scores."""
    made, shape = Nodes(network, place), network.shape
    mean, deviation = network.mean.numpy(), network.deviation.numpy()
    kernel = network.first.weight.detach().numpy()
    bias = network.first.bias.detach().numpy() - (kernel * (mean / deviation)[None, :, None]).sum((1, 2))
    frames = ", ".join("input" if k == 0 else f"Offset(input, {k})" for k in range(-2, 3))
    first = side_by_side(kernel / deviation[None, :, None])
    hidden = made.normalised(0, made.affine("l0.affine", first, bias, f"Append({frames})"))
    for k, (narrow, widen) in enumerate(zip(network.narrow, network.widen, strict=True), start=1):
        step = 1 if k <= shape.fine else OUTPUT_FRAMES
        matrix = side_by_side(narrow.weight.detach().numpy())
        low = made.affine(f"l{k}.narrow", matrix, None, f"Append(Offset({hidden}, -{step}), {hidden})")
        matrix = side_by_side(widen.weight.detach().numpy())
        high = made.affine(f"l{k}.widen", matrix, widen.bias.detach().numpy(), f"Append({low}, Offset({low}, {step}))")
        high = made.normalised(k, high)
        hidden = made.add(f"l{k}.sum", "NoOpComponent", {"<Dim>": made.hidden}, f"Sum(Scale({SKIP}, {hidden}), {high})")
    before = made.affine("before", network.before.weight.detach().numpy()[:, :, 0], None, hidden)
    output = network.output.weight.detach().numpy()[:, :, 0]
    return made, made.affine("output.affine", output, network.output.bias.detach().numpy(), before)


def mean_of(scores: Sequence[str]) -> str:
    """The mean of nodes, as nnet3 writes it: it knows the sum of two."""
    share = [f"Scale({1 / len(scores):.7f}, {name})" for name in scores]
    return reduce("Sum({}, {})".format, share) if len(scores) > 1 else scores[0]


def write_model(networks: Sequence[Network], path: Path) -> None:
    """final.mdl: transitions and networks."""
    made = [nodes_of(network.eval(), place) for place, network in enumerate(networks)]
    nodes = [line for of, _ in made for line in of.config]
    mean = mean_of([name for _, name in made])
    config = [
        f"input-node name=input dim={BANDS}", *nodes, f"component-node name=mean component=mean input={mean}",
        "output-node name=output input=mean objective=linear",
    ]  # fmt: skip
    components = [one for of, _ in made for one in of.components]
    components.append(Component("mean", "NoOpComponent", {"<Dim>": networks[0].shape.pdfs}))
    context, file = max(network.shape.context for network in networks), Writer()
    write_transitions(file, graphs.pdfs())
    write_network(file, config, components, context, context)
    file.save(path)


def export(networks: Sequence[Network], folder: Path, unknown_cost: float = 0.0, silence: float = 0.4) -> None:
    """The whole folder `am`, `conf`, `graph`, in place of what was there."""
    for part in ("am", "conf", "graph"):
        shutil.rmtree(folder / part, ignore_errors=True)
        (folder / part).mkdir(parents=True)
    with torch.no_grad():
        write_model(networks, folder / "am/final.mdl")
    (folder / "conf/mfcc.conf").write_text(MFCC)
    (folder / "conf/model.conf").write_text(DECODER)
    graphs.write_graphs(for_decoding(make_lexicon(VOCABULARY)), VOCABULARY, folder / "graph", silence, unknown_cost)


def main() -> None:
    """Export."""
    told = argparse.ArgumentParser(description="Checkpoints to a Vosk model folder.")
    told.add_argument("checkpoints", nargs="+")
    told.add_argument("folder", type=Path)
    told.add_argument("--unknown-cost", type=float, default=0.0)
    told.add_argument("--silence", type=float, default=0.4)
    asked = told.parse_args()
    export([load(one) for one in asked.checkpoints], asked.folder, asked.unknown_cost, asked.silence)


if __name__ == "__main__":
    main()
