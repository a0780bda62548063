"""Words as Whisper's pieces, and how many numbers of the development speakers it has right.

    python3 spelled.py WHISPER DATA.json OUT.npz    # weights and the pieces of all words of the data, 55 MB, to travel to a GPU

WHISPER is the folder models/whisper-tiny-en, DATA.json `pack.py`'s.
"""

import json
import math
import sys
from pathlib import Path

import augment
import numpy as np
import torch
from features import RATE_HZ
from sampling import Drawn
from torch.nn import functional
from whisper_net import WINDOW_SAMPLES, Whisper, in_windows, pack_weights

MARGINS = RATE_HZ // 2
NONE = -100
"""Torch's mark of a place that is not scored."""


class Spelling:
    """Words as Whisper's pieces."""

    def __init__(self, spelled: dict[str, list[int]]) -> None:
        self.pieces = spelled
        self.begin, self.stop, (self.end,) = spelled["<begin>"], spelled["."], spelled["<end>"]

    def targets(self, drawn: list[Drawn]) -> tuple[torch.Tensor, torch.Tensor]:
        """[B, n] what was said before and [B, n] what comes next, where it is scored."""
        rows = [self.of(one.spelled) for one in drawn]
        long, lead = max(map(len, rows)) + len(self.begin) - 1, len(self.begin) - 1
        before = torch.full((len(rows), long), self.end)
        after = torch.full((len(rows), long), NONE)
        for k, row in enumerate(rows):
            said = torch.tensor([*self.begin, *row])
            before[k, : len(said) - 1] = said[:-1]
            after[k, lead : lead + len(row)] = said[len(self.begin) :]
        return before, after

    def of(self, words: tuple[str, ...] | list[str]) -> list[int]:
        """The words, a full stop where there are any, and the end."""
        return [*(piece for word in words for piece in self.pieces[word]), *(self.stop if words else []), self.end]


class Development:
    """The development speakers' numbers: how many are right word for word, and the mean log probability of what was said."""

    def __init__(self, spoken: list[tuple[str, torch.Tensor]], spelling: Spelling, device: torch.device) -> None:
        self.words, self.spelling, self.device = [words.split() for words, _ in spoken], spelling, device
        samples = max(len(sound) for _, sound in spoken)
        with torch.random.fork_rng([device] if device.type == "cuda" else []):
            torch.manual_seed(5)
            many = len(spoken)
            noises = {"steady": augment.coloured(many, samples, device), "hum": augment.hum(many, samples, device)}
        clean = torch.stack([functional.pad(sound, (0, samples - len(sound))) for _, sound in spoken])
        power = torch.stack([sound.std() for _, sound in spoken])[:, None].to(device)
        self.sounds = {"clean": clean} | {
            f"{name} {db} dB": clean + noise * power * 10 ** (-db / 20)
            for name, noise in noises.items()
            for db in (10, 5, 0)
        }
        self.windows = math.ceil((samples + MARGINS) / WINDOW_SAMPLES)

    @torch.no_grad()
    def report(self, network: Whisper) -> str:
        """One line."""
        network.eval()
        parts = []
        before, after = self.spelling.targets([Drawn([], [], 0, 0, spelled=tuple(w)) for w in self.words])
        before, after = before.to(self.device), after.to(self.device)
        for name, sound in self.sounds.items():
            encoded = network.encode(network.log_mel(in_windows(sound, self.windows)))
            scores = network.decode(before, encoded).float().log_softmax(-1)
            marked = after != NONE
            told = scores.gather(2, after.clamp_min(0)[..., None])[..., 0]
            right = ((scores.argmax(-1) == after) | ~marked).all(1).sum()
            parts.append(f"{name} {int(right)} ({float((told * marked).sum(1).mean()):.2f})")
        network.train()
        return f"development numbers, all pieces likeliest, of {len(self.words)}: " + ", ".join(parts)


def prepare(model: Path, data: Path, out: Path) -> None:
    """Weights and pieces of all the words of the data."""
    import tokenizers

    sys.path.insert(0, str(Path(__file__).resolve().parents[3]))
    from assistant.devices.recognisers.whisper_manner import as_written

    spell = tokenizers.Tokenizer.from_file(str(model / "tokenizer.json"))
    words = {
        word for one in json.loads(data.read_text(encoding="utf-8"))["utterances"] for word in one["words"].split()
    }
    pieces = {word: spell.encode(f" {as_written(word)}", add_special_tokens=False).ids for word in sorted(words)}
    pieces["."] = spell.encode(".", add_special_tokens=False).ids
    pieces["<begin>"] = [spell.token_to_id(name) for name in ("<|startoftranscript|>", "<|notimestamps|>")]
    pieces["<end>"] = [spell.token_to_id("<|endoftext|>")]
    np.savez(out, pieces=np.frombuffer(json.dumps(pieces).encode(), np.uint8), **pack_weights(model / "model.bin"))


if __name__ == "__main__":
    prepare(*map(Path, sys.argv[1:4]))
