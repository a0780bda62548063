"""The network, its averaged weights, and one step of learning."""

import itertools
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import torch
from features import BANDS
from imitation import Imitation, Teacher
from lexicon import PDFS, UNITS
from mixing import Mixed, Mixer
from net import OUTPUT_FRAMES, Network, Shape
from net import load as load_network
from objective import Bigram, ForwardBackward
from options import Options
from sampling import Batch
from torch import distributed

LONGEST_AVERAGE = 0.999


class Trainer:
    """The network, its averaged weights, and one step."""

    def __init__(self, options: Options, bigram: Bigram, device: torch.device, workers: int) -> None:
        self.options, self.device, self.workers = options, device, workers
        shape = Shape(PDFS, options.hidden, options.bottleneck)
        if options.init:
            self.network = load_network(options.init, device)
            self.network.dropout = options.dropout
        else:
            self.network = Network(shape, options.dropout).to(device)
        self.teacher, self.imitation = None, None
        if options.teacher:
            self.teacher = Teacher(dict(np.load(options.teacher)), device)
            self.imitation = Imitation(self.network.shape.hidden, self.teacher.width).to(device)
            if options.init:
                beside = Path(options.init).with_name("imitation.pt")
                self.imitation.load_state_dict(torch.load(beside, map_location=device, weights_only=True))
        self.parts = [part for part in (self.network, self.imitation) if part is not None]
        self.parameters = [parameter for part in self.parts for parameter in part.parameters()]
        self.average = {k: v.clone() for k, v in self.network.state_dict().items()}
        self.optimizer = torch.optim.AdamW(
            self.parameters, lr=options.lr, weight_decay=options.decay, betas=(0.9, 0.98)
        )
        self.following, self.first, self.last = (
            torch.tensor(part, device=device) for part in (bigram.following, bigram.first, bigram.last)
        )
        self.all_units = torch.arange(len(UNITS), device=device)
        self.sums = ForwardBackward()
        self.step = 0

    def share_weights(self) -> None:
        """All processes begin with the first one's."""
        if self.workers > 1:
            for part in self.parts:
                for tensor in part.state_dict().values():
                    distributed.broadcast(tensor, 0)
        self.average = {k: v.clone() for k, v in self.network.state_dict().items()}

    def _posteriors(
        self, scores: torch.Tensor, batch: Batch
    ) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor, torch.Tensor]:
        """Said and anything: [B, T, P] each; log probability ratio [B]; which utterances are sound [B]."""
        many, states = batch.units.shape
        arcs, to = batch.arcs.to(self.device), self.device
        following = torch.zeros(many, states, states, dtype=torch.float64, device=to)
        if len(arcs):
            following[arcs[:, 0], arcs[:, 1], arcs[:, 2]] = batch.arc_weights.to(to)
        said, of_said = self.sums(scores, batch.units.to(to), following, batch.first.to(to), batch.last.to(to))
        units, first, last = (part[None].expand(many, -1) for part in (self.all_units, self.first, self.last))
        said, of_said = said.clone(), of_said.clone()
        anything, of_anything = self.sums(scores, units, self.following, first, last)
        good = torch.isfinite(said) & torch.isfinite(anything) & torch.isfinite(of_said).all(2).all(1)
        keep = good[:, None, None]
        zero = torch.zeros_like(of_said)
        return torch.where(keep, of_said, zero), torch.where(keep, of_anything, zero), said - anything, good

    def begin(self, mixer: Mixer, batches: Iterator[Batch], many: int) -> None:
        """Scale the features, and what the teacher makes of them, by some batches."""
        some = [mixer.mixed(batch, self.options.strength(0.0), 0) for batch in itertools.islice(batches, many)]
        features = torch.cat([mixed.features.reshape(-1, BANDS) for mixed in some])
        self.network.mean.copy_(features.mean(0))
        self.network.deviation.copy_(features.std(0))
        if self.teacher is not None and self.imitation is not None:
            taught = [self.teacher(mixed.clean, mixed.features.shape[1] // OUTPUT_FRAMES) for mixed in some]
            self.imitation.scale_to(torch.cat([frames.flatten(0, 1) for frames in taught])[None])
        self.share_weights()

    def learn(self, mixed: Mixed, batch: Batch, clock: float, rate: float) -> tuple[float, dict[str, float]]:
        """One step. `clock` is this process's share of the time gone; the first process's comes back, with sums for the log."""
        network, options = self.network.train(), self.options
        hidden = network.hidden(mixed.features)
        scores, for_entropy = network.heads(hidden)
        with torch.no_grad():
            of_said, of_anything, ratio, good = self._posteriors(scores.double(), batch)
        frames = len(batch.drawn) * batch.frames
        gradient = (of_said - of_anything).float()
        entropy = -(of_said.float() * torch.log_softmax(for_entropy, 2)).sum() / frames
        loss = -(gradient * scores).sum() / frames + options.entropy * entropy + options.flatness * (scores**2).mean()
        distance = torch.zeros(())
        if self.teacher is not None and self.imitation is not None:
            distance = self.imitation(hidden, self.teacher(mixed.clean, batch.frames))
            loss = loss + options.imitate * distance
        self.optimizer.zero_grad()
        loss.backward()
        clock = self._average_gradients(clock)
        torch.nn.utils.clip_grad_norm_(self.parameters, 2.0)
        for group in self.optimizer.param_groups:
            group["lr"] = rate
        self.optimizer.step()
        self.step += 1
        keep = min(LONGEST_AVERAGE, (1 + self.step) / (20 + self.step))
        with torch.no_grad():
            for name, tensor in network.state_dict().items():
                if tensor.dtype.is_floating_point:
                    self.average[name].lerp_(tensor, 1 - keep)
        return clock, {
            "objective": float(ratio[good].sum()),
            "frames": float(good.sum()) * batch.frames,
            "bad": float((~good).sum()),
            "entropy": float(entropy.detach()),
            "distance": float(distance.detach()),
            "steps": 1.0,
        }

    def _average_gradients(self, clock: float) -> float:
        """Mean over the processes, in one message, in which the first process's clock travels too."""
        if self.workers == 1:
            return clock
        gradients = [p.grad for p in self.parameters]
        own = torch.tensor([clock if distributed.get_rank() == 0 else 0.0], device=self.device)
        message = torch.cat([own, *(gradient.flatten() for gradient in gradients)])
        distributed.all_reduce(message)
        at = 1
        for gradient in gradients:
            gradient.copy_(message[at : at + gradient.numel()].view_as(gradient) / self.workers)
            at += gradient.numel()
        return float(message[0])

    def averaged(self) -> Network:
        """A network of the averaged weights."""
        network = Network(self.network.shape).to(self.device)
        network.load_state_dict(self.average)
        return network.eval()

    def finished(self, mixer: Mixer, batches: Iterator[Batch], many: int) -> Network:
        """The averaged network, its batch-norm statistics those of so many batches."""
        network = self.averaged().train()
        for norm in network.norms:
            norm.momentum = None
            norm.reset_running_stats()
        with torch.no_grad():
            for _ in range(many):
                network(mixer.mixed(next(batches), self.options.strength(1.0), network.shape.context).features)
        return network.eval()
