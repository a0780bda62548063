"""Trains the network on a pack: on the CPU, one GPU, or several GPUs of one machine (torchrun).

    python3 train.py PACK OUT SECONDS [name=value ...]
    torchrun --nproc_per_node=2 --master_addr=127.0.0.1 --master_port=29511 train.py PACK OUT SECONDS [name=value ...]

SECONDS count from when everything is imported, the end included. Names are those of `Options`. OUT/am.pt is written every
minute (weights averaged over time) and at the end (with their batch-norm statistics made anew); OUT/log.txt says how it goes.
Each process draws, augments and scores its own batches; gradients are averaged, and the first process's clock is everyone's.
A flat start decodes nothing until about step 1,000: judge after 2,000.
"""

import math
import os
import random
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, fields
from multiprocessing import active_children
from pathlib import Path
from typing import Any

import numpy as np
import torch
from augment import Strength
from features import RATE_HZ
from lexicon import PDFS, UNITS
from mixing import Mixer, decode_all
from net import Network, Shape, checkpoint
from net import load as load_network
from objective import Bigram, ForwardBackward, count_bigram
from sampling import Batch, Batches, Pack, Sampler
from sayings import saying
from scoring import Development
from torch import distributed
from torch.utils.data import DataLoader

BEGAN = time.time()
FINISH_S = 25.0
"""Kept back of the time for the last statistics and the last scores."""
KEEP_EVERY_S = 60.0
LONGEST_AVERAGE = 0.999
RAMP = 0.25
"""Share of the time until noise is at full strength."""


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
    """A checkpoint to go on from; then there is no curriculum."""
    warmup: int = 300

    def strength(self, gone: float) -> Strength:
        """How hard the bay is made after this share of the time."""
        return Strength(min(1.0, gone / RAMP), self.loud, self.babble)

    @classmethod
    def read(cls, arguments: list[str]) -> "Options":
        """From NAME=VALUE arguments."""
        kinds, read = {f.name: type(f.default) for f in fields(cls)}, {}
        for argument in arguments:
            name, _, value = argument.partition("=")
            if name not in kinds:
                sys.exit(f"{argument}: no such option; there are {', '.join(kinds)}")
            read[name] = kinds[name](value)
        return cls(**read)


def language(pack: Pack, seed: int) -> Bigram:
    """The denominator's bigram: of training utterances as they are drawn, and a third as many sentences of the bench."""
    sampler, draw = Sampler(pack, random.Random(77)), random.Random(5)
    said = [sampler.utterance().words for _ in range(30_000)]
    said += [[pack.lexicon.get(word, [["SPN"]]) for word in saying(draw)] for _ in range(10_000)]
    return count_bigram(said, np.random.default_rng(seed))


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
        self.average = {k: v.clone() for k, v in self.network.state_dict().items()}
        self.optimizer = torch.optim.AdamW(
            self.network.parameters(), lr=options.lr, weight_decay=options.decay, betas=(0.9, 0.98)
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
            for tensor in self.network.state_dict().values():
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

    def learn(self, features: torch.Tensor, batch: Batch, clock: float, rate: float) -> tuple[float, dict[str, float]]:
        """One step. `clock` is this process's share of the time gone; the first process's comes back, with sums for the log."""
        network, options = self.network.train(), self.options
        scores, for_entropy = network(features)
        scores, for_entropy = scores[:, : batch.frames], for_entropy[:, : batch.frames]
        with torch.no_grad():
            of_said, of_anything, ratio, good = self._posteriors(scores.double(), batch)
        frames = len(batch.drawn) * batch.frames
        gradient = (of_said - of_anything).float()
        entropy = -(of_said.float() * torch.log_softmax(for_entropy, 2)).sum() / frames
        loss = -(gradient * scores).sum() / frames + options.entropy * entropy + options.flatness * (scores**2).mean()
        self.optimizer.zero_grad()
        loss.backward()
        clock = self._average_gradients(clock)
        torch.nn.utils.clip_grad_norm_(network.parameters(), 2.0)
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
            "steps": 1.0,
        }

    def _average_gradients(self, clock: float) -> float:
        """Mean over the processes, in one message, in which the first process's clock travels too."""
        if self.workers == 1:
            return clock
        gradients = [p.grad for p in self.network.parameters()]
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
                network(mixer.features(next(batches), self.options.strength(1.0)))
        return network.eval()


def learning_rate(options: Options, step: int, gone: float) -> float:
    """Up in `warmup` steps, down along half a cosine."""
    return options.lr * min(1.0, (step + 1) / options.warmup) * (0.5 * (1 + math.cos(math.pi * gone)) + 0.005)


def say(text: str, out: Path) -> None:
    """On the screen and into the log."""
    line = f"{time.time() - BEGAN:6.1f} s  {text}"
    print(line, flush=True)
    with (out / "log.txt").open("a", encoding="utf-8") as log:
        log.write(line + "\n")


def keep(network: Network, out: Path) -> None:
    """Write the checkpoint, so that there is always a whole one."""
    torch.save(checkpoint(network.state_dict(), network.shape), out / "am.tmp")
    (out / "am.tmp").replace(out / "am.pt")


def main() -> None:
    """Train."""
    path, out, limit_s, options = Path(sys.argv[1]), Path(sys.argv[2]), float(sys.argv[3]), Options.read(sys.argv[4:])
    rank, workers = int(os.environ.get("RANK", "0")), int(os.environ.get("WORLD_SIZE", "1"))
    out.mkdir(parents=True, exist_ok=True)
    seed = 1000 * options.seed + rank
    torch.manual_seed(seed)
    pack = Pack.read(path)
    bigram = language(pack, options.seed)

    def progress() -> float:
        """The curriculum, in loading processes too."""
        return 1.0 if options.init else (time.time() - BEGAN) / limit_s

    loading: dict[str, Any] = {"prefetch_factor": 6} if options.workers else {}
    stream = Batches(pack, bigram, options.batch, seed, progress)
    batches = iter(DataLoader(stream, batch_size=None, num_workers=options.workers, **loading))
    recordings = decode_all(path, pack, max(1, min(16, (os.cpu_count() or 1) // workers)))
    device = prepare_device(workers)
    trainer = Trainer(options, bigram, device, workers)
    trainer.share_weights()
    mixer = Mixer(recordings, device, options.bank, seed)
    if rank == 0:
        hours = len(mixer.samples) / RATE_HZ / 3600
        weights = sum(p.numel() for p in trainer.network.parameters()) / 1e6
        say(
            f"{len(recordings)} recordings, {hours:.2f} h, {len(UNITS)} units, {weights:.2f} M weights, "
            f"{workers} x {device.type}",
            out,
        )
    if not options.init:
        with torch.no_grad():
            some = torch.cat([mixer.features(next(batches), options.strength(0.0)).reshape(-1, 40) for _ in range(4)])
        trainer.network.mean.copy_(some.mean(0))
        trainer.network.deviation.copy_(some.std(0))
        trainer.share_weights()
    spoken = [(one.words, mixer.recording(k)) for k, one in enumerate(pack.utterances) if one.part == "development"]
    development = Development(spoken, device) if rank == 0 else None
    run(trainer, mixer, batches, development, out, limit_s)
    if workers > 1:
        distributed.barrier()  # the others wait for the first one's last scores
    for child in active_children():
        child.kill()
    sys.stdout.flush()
    os._exit(0)  # the loading processes and NCCL are not waited for


def prepare_device(workers: int) -> torch.device:
    """This process's GPU, or the CPU; and the others' addresses."""
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    device = torch.device("cpu")
    if torch.cuda.is_available():
        device = torch.device("cuda", int(os.environ.get("LOCAL_RANK", "0")))
        torch.cuda.set_device(device)
    if workers > 1:
        distributed.init_process_group("nccl" if device.type == "cuda" else "gloo")
    return device


def run(
    trainer: Trainer, mixer: Mixer, batches: Iterator[Batch], development: Development | None, out: Path, limit_s: float
) -> None:  # fmt: skip
    """Steps until the time is over; the first process writes and scores."""
    options, started, kept = trainer.options, time.time(), time.time()
    sums: dict[str, float] = {}
    waited, gone = 0.0, 0.0
    while gone < 1:
        before = time.time()
        batch = next(batches)
        waited += time.time() - before
        clock = (time.time() - started) / (limit_s - FINISH_S - (started - BEGAN))
        if options.steps:
            clock = (trainer.step + 1) / options.steps
        curriculum = 1.0 if options.init else clock
        with torch.no_grad():
            features = mixer.features(batch, options.strength(curriculum))
        rate = learning_rate(options, trainer.step, min(1.0, gone))
        gone, made = trainer.learn(features, batch, clock, rate)
        if development is None:
            continue
        sums = {name: sums.get(name, 0.0) + made[name] for name in made}
        if trainer.step % options.say_every == 0 or trainer.step in (5, 20, 60):
            memory = torch.cuda.max_memory_allocated() / 1e9 if mixer.device.type == "cuda" else 0.0
            say(
                f"step {trainer.step}  objective/frame {sums['objective'] / max(1.0, sums['frames']):.4f}"
                f"  entropy {sums['entropy'] / sums['steps']:.3f}  bad {sums['bad']:.0f}  waited {waited:.1f} s"
                f"  graphs {len(trainer.sums.captured)}  {memory:.1f} GB  rate {rate:.5f}", out,
            )  # fmt: skip
            sums, waited = {}, 0.0
        if trainer.step % options.score_every == 0:
            say(development.report(trainer.averaged()), out)
        if time.time() - kept > KEEP_EVERY_S:
            keep(trainer.averaged(), out)
            kept = time.time()
    if development is not None:
        network = trainer.finished(mixer, batches, 4 if options.steps else 60)
        keep(network, out)
        say(f"{trainer.step} steps; {development.report(network)}", out)


if __name__ == "__main__":
    main()
