"""Trains the network on a pack: on the CPU, one GPU, or several GPUs of one machine (torchrun).

    python3 train.py PACK OUT SECONDS [name=value ...]
    torchrun --nproc_per_node=2 --master_addr=127.0.0.1 --master_port=29511 train.py PACK OUT SECONDS [name=value ...]

SECONDS count from when everything is imported, the end included. Names are those of `Options`. OUT/am.pt is written every
minute (weights averaged over time) and at the end (with their batch-norm statistics made anew); OUT/log.txt says how it goes.
Each process draws, augments and scores its own batches; gradients are averaged, and the first process's clock is everyone's.
A flat start decodes nothing until about step 1,000: judge after 2,000.
"""

import os
import random
import sys
import time
from collections.abc import Iterator
from multiprocessing import active_children
from pathlib import Path
from typing import Any

import numpy as np
import torch
from features import RATE_HZ
from lexicon import UNITS
from mixing import Mixer, decode_all
from net import Network, checkpoint
from objective import Bigram, count_bigram
from options import Options, learning_rate
from sampling import Batch, Batches, Pack, Sampler
from sayings import saying
from scoring import Development
from torch import distributed
from torch.utils.data import DataLoader
from trainer import Trainer

BEGAN = time.time()
FINISH_S = 25.0
"""Kept back of the time for the last statistics and the last scores."""
KEEP_EVERY_S = 60.0


def language(pack: Pack, seed: int) -> Bigram:
    """The denominator's bigram: of training utterances as they are drawn, and a third as many sentences of the bench."""
    sampler, draw = Sampler(pack, random.Random(77)), random.Random(5)
    said = [sampler.utterance().words for _ in range(30_000)]
    said += [[pack.lexicon.get(word, [["SPN"]]) for word in saying(draw)] for _ in range(10_000)]
    return count_bigram(said, np.random.default_rng(seed))


def say(text: str, out: Path) -> None:
    """On the screen and into the log."""
    line = f"{time.time() - BEGAN:6.1f} s  {text}"
    print(line, flush=True)
    with (out / "log.txt").open("a", encoding="utf-8") as log:
        log.write(line + "\n")


def keep(network: Network, trainer: Trainer, out: Path) -> None:
    """Write the checkpoint, so that there is always a whole one; and beside it the head that imitates."""
    torch.save(checkpoint(network.state_dict(), network.shape), out / "am.tmp")
    (out / "am.tmp").replace(out / "am.pt")
    if trainer.imitation is not None:
        torch.save(trainer.imitation.state_dict(), out / "imitation.pt")


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
        return options.of_all((time.time() - BEGAN) / limit_s)

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
            trainer.begin(mixer, batches, 4)
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
        with torch.no_grad():
            mixed = mixer.mixed(batch, options.strength(options.of_all(clock)), trainer.network.shape.context)
        rate = learning_rate(options, trainer.step, options.of_all(gone))
        gone, made = trainer.learn(mixed, batch, clock, rate)
        if development is None:
            continue
        sums = {name: sums.get(name, 0.0) + made[name] for name in made}
        if trainer.step % options.say_every == 0 or trainer.step in (5, 20, 60):
            memory = torch.cuda.max_memory_allocated() / 1e9 if mixer.device.type == "cuda" else 0.0
            mean = {name: sums[name] / sums["steps"] for name in ("entropy", "distance")}
            say(
                f"step {trainer.step}  objective/frame {sums['objective'] / max(1.0, sums['frames']):.4f}"
                f"  entropy {mean['entropy']:.3f}  distance {mean['distance']:.3f}  bad {sums['bad']:.0f}"
                f"  waited {waited:.1f} s  graphs {len(trainer.sums.captured)}  {memory:.1f} GB  rate {rate:.5f}", out,
            )  # fmt: skip
            sums, waited = {}, 0.0
        if trainer.step % options.score_every == 0:
            say(development.report(trainer.averaged()), out)
        if time.time() - kept > KEEP_EVERY_S:
            keep(trainer.averaged(), trainer, out)
            kept = time.time()
    if development is not None:
        network = trainer.finished(mixer, batches, 4 if options.steps else 60)
        keep(network, trainer, out)
        say(f"{trainer.step} steps; {development.report(network)}", out)


if __name__ == "__main__":
    main()
