"""Teach Whisper tiny.en the bench: the words of numbers, units and commands, in noise and in short windows.

    python3 teach.py DATA WHISPER.npz OUT SECONDS [NAME=VALUE...]     # on a GPU; WHISPER.npz by `spelled.py`

DATA is `pack.py`'s. OUT gets `lesson.npz` and a log. The same recordings, joints, noises and rooms as the bench model has.
Speech of no bench word is learnt by its words too, so that what was not said stays unlikely; noise and speech backwards as
nothing said.
"""

import json
import math
import random
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import augment
import numpy as np
import torch
from mixing import Mixer, decode_all
from options import read_options
from sampling import Drawn, Draws, Pack
from spelled import MARGINS, NONE, Development, Spelling
from torch.nn import functional
from torch.utils.data import DataLoader
from train import BEGAN, say
from whisper_net import WINDOW_SAMPLES, Whisper, in_windows

FINISH_S = 15
LONGER = (0, 0, 0, 1, 3)
"""Windows more than are needed, drawn from these."""
MOST_WINDOWS = 15


@dataclass
class Options:
    """What the command line may set."""

    batch: int = 128
    lr: float = 1e-3
    rank: int = 32
    dropout: float = 0.05
    decay: float = 1e-2
    loud: float = 0.3
    babble: float = 0.1
    workers: int = 10
    bank: int = 1024
    steps: int = 0
    warmup: int = 200
    say_every: int = 200
    score_every: int = 1000
    seed: int = 1
    init: str = ""
    """A lesson to go on from."""
    begins: float = 0.0
    ends: float = 1.0
    average: float = 0.999


class Lesson:
    """The network, what it learns from, and its averaged weights."""

    def __init__(self, options: Options, weights: dict[str, np.ndarray], mixer: Mixer) -> None:
        self.options, self.mixer = options, mixer
        self.spelling = Spelling(json.loads(weights.pop("pieces").tobytes()))
        self.network = Whisper(weights, options.rank, options.dropout).to(mixer.device)
        if options.init:
            self.network.take(dict(np.load(options.init)))
        self.averaged = {name: p.detach().clone() for name, p in self.network.named_parameters()}
        self.optimizer = torch.optim.AdamW(
            self.network.parameters(), options.lr, betas=(0.9, 0.98), weight_decay=options.decay
        )
        self.draw = random.Random(options.seed)
        self.step = 0

    def learn(self, drawn: list[Drawn], gone: float) -> torch.Tensor:
        """One step, after this share of the run; the loss."""
        options = self.options
        of_all = options.begins + (options.ends - options.begins) * gone
        warm = min(1.0, (self.step + 1) / options.warmup)
        for parameters in self.optimizer.param_groups:
            parameters["lr"] = options.lr * warm * (0.5 * (1 + math.cos(math.pi * of_all)) + 0.01)
        loss = self._loss(drawn)
        self.optimizer.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(self.network.parameters(), 1.0)
        self.optimizer.step()
        self.step += 1
        keep = min(options.average, (self.step + 1) / (self.step + 10))
        with torch.no_grad():
            for name, p in self.network.named_parameters():
                self.averaged[name].lerp_(p, 1 - keep)
        return loss.detach()

    def _loss(self, drawn: list[Drawn]) -> torch.Tensor:
        """Nats a piece."""
        samples, device = int(max(one.samples for one in drawn)), self.mixer.device
        windows = min(MOST_WINDOWS, math.ceil((samples + MARGINS) / WINDOW_SAMPLES) + self.draw.choice(LONGER))
        before, after = (part.to(device, non_blocking=True) for part in self.spelling.targets(drawn))
        with torch.no_grad():
            strength = augment.Strength(1.0, self.options.loud, self.options.babble)
            sound, _ = self.mixer.in_the_bay(drawn, samples, strength)
            bands = holes(self.network.log_mel(in_windows(sound, windows)))
        with torch.autocast(device.type, torch.bfloat16):
            scores = self.network.decode(before, self.network.encode(bands))
        return functional.cross_entropy(scores.float().flatten(0, 1), after.flatten(), ignore_index=NONE)

    @torch.no_grad()
    def finish(self, development: Development, out: Path) -> str:
        """Write the averaged weights; how they do."""
        kept = {name: p.detach().clone() for name, p in self.network.named_parameters()}
        for name, p in self.network.named_parameters():
            p.copy_(self.averaged[name])
        np.savez(out / "lesson.tmp.npz", **self.network.lesson())
        (out / "lesson.tmp.npz").replace(out / "lesson.npz")
        report = development.report(self.network)
        for name, p in self.network.named_parameters():
            p.copy_(kept[name])
        return report


def holes(bands: torch.Tensor) -> torch.Tensor:
    """Half of the utterances lose a hole of up to 12 bands and one of up to 0.12 s, filled with the mean."""
    many, heights, long = bands.shape
    lost = torch.rand(many, 1, 1, device=bands.device) < 0.5

    def hole(size: int, most: int) -> torch.Tensor:
        wide = torch.rand(many, 1, device=bands.device) * most
        start = torch.rand(many, 1, device=bands.device) * size
        at = torch.arange(size, device=bands.device)[None]
        return (at >= start) & (at < start + wide)

    gone = (hole(heights, 12)[:, :, None] | hole(long, 12)[:, None, :]) & lost
    return torch.where(gone, bands.mean((1, 2), keepdim=True), bands)


def main() -> None:
    """Teach."""
    path, base, out, limit_s = Path(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3]), float(sys.argv[4])
    options = read_options(Options, sys.argv[5:])
    out.mkdir(parents=True, exist_ok=True)
    torch.manual_seed(options.seed)
    pack = Pack.read(path)
    loading = {"prefetch_factor": 8} if options.workers else {}
    stream = Draws(pack, options.batch, options.seed, lambda: 1.0)
    draws = iter(DataLoader(stream, batch_size=None, num_workers=options.workers, **loading))
    recordings = decode_all(path, pack, 16)
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    lesson = Lesson(options, dict(np.load(base)), Mixer(recordings, device, options.bank, options.seed))
    spoken = [
        (one.words, lesson.mixer.recording(k)) for k, one in enumerate(pack.utterances) if one.part == "development"
    ]
    development = Development(spoken, lesson.spelling, device)
    learnt = sum(p.numel() for p in lesson.network.parameters())
    say(f"{len(recordings)} recordings, {learnt / 1e6:.2f} M weights to learn", out)
    run(lesson, draws, development, out, limit_s)
    sys.stdout.flush()


def run(lesson: Lesson, draws: Iterator[list[Drawn]], development: Development, out: Path, limit_s: float) -> None:
    """Steps until the time is over."""
    options, started, losses = lesson.options, time.time(), []
    while True:
        gone = (time.time() - started) / (limit_s - (started - BEGAN) - FINISH_S)
        if options.steps:
            gone = lesson.step / options.steps
        if gone >= 1:
            break
        losses.append(lesson.learn(next(draws), gone))
        if lesson.step % options.say_every == 0:
            say(f"step {lesson.step}  nats a piece {torch.stack(losses).mean():.4f}", out)
            losses = []
        if lesson.step % options.score_every == 0:
            say(lesson.finish(development, out), out)
    say(f"{lesson.step} steps; {lesson.finish(development, out)}", out)


if __name__ == "__main__":
    main()
