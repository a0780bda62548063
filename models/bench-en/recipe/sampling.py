"""What one training utterance is made of: drawn recordings, joined, and what they say as units.

Speakers are never mixed within an utterance, save babble. Silence around is drawn; joints are often near zero, since the
model before this one merged and dropped the figures of fast speakers.
"""

import json
import math
import random
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import torch
from features import RATE_HZ, STEP
from lexicon import Lexicon
from net import OUTPUT_FRAMES
from objective import Bigram, Choices, graph_of
from pack import Packed
from torch.utils.data import IterableDataset
from words import NUMBER_WORDS, SOMETIMES_UNKNOWN, VOCABULARY

SHARES = {
    "an4": 0.27, "an4 figures": 0.18, "librispeech-other": 0.05, "other-talk": 0.08, "single-words": 0.05,
    "kokoro": 0.18, "kokoro:older": 0.07, "piper": 0.03, "piper:older": 0.015, "espeak": 0.055, "espeak:older": 0.01,
    "flite": 0.025, "flite:older": 0.01, "festival": 0.02, "festival:older": 0.01, "foreign": 0.055,
    "backwards": 0.025, "noise": 0.015, "words": 0.15,
}  # fmt: skip
"""How often each kind is drawn, where the pack has it; real speech half of the time, though it is a fifth of the minutes."""
UNKNOWN_SHARE = {"librispeech-other": 0.5, "other-talk": 0.7, "single-words": 0.7, "foreign": 0.8, "an4": 0.04}
"""How often foreign words are the unknown unit rather than their phones (0.5 elsewhere)."""
KNOWN = frozenset(VOCABULARY) - SOMETIMES_UNKNOWN
LONGEST_S, SHORTEST_S = 15.5, 0.125
STATES_STEP, FRAMES_STEP = 32, 24
"""Sizes of graphs and lengths are rounded up to these, so that few shapes occur."""
MOST_STATES = 3.2e7
"""Of all squares of a batch's graphs together."""


@dataclass(frozen=True)
class Segment:
    """Samples `start` to `end` of a recording, `gap` samples after the one before."""

    recording: int
    start: int
    end: int
    gap: int = 0


@dataclass(frozen=True)
class Drawn:
    """One training utterance. `words` None: speech backwards."""

    segments: list[Segment]
    words: Choices | None
    lead: int
    tail: int
    speed: float = 1.0
    backwards: bool = False
    spelled: tuple[str, ...] = ()
    """The words as they are written; none of noise and of speech backwards."""

    @property
    def samples(self) -> float:
        """Its length at its speed."""
        return sum(s.end - s.start + s.gap for s in self.segments) / self.speed + self.lead + self.tail


@dataclass
class Pack:
    """What `pack.py` wrote, without the sound."""

    utterances: list[Packed]
    lexicon: Lexicon
    groups: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    numbers_of: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    figures_of: dict[str, list[tuple[str, Segment]]] = field(default_factory=lambda: defaultdict(list))

    @classmethod
    def read(cls, path: Path) -> "Pack":
        """From NAME.json."""
        index = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
        pack = cls([Packed(**one) for one in index["utterances"]], index["lexicon"])
        for k, one in enumerate(pack.utterances):
            if one.part == "train" and SHORTEST_S * RATE_HZ < one.samples < LONGEST_S * RATE_HZ:
                number = set(one.words.split()) <= {*NUMBER_WORDS, "and", "minus"}
                pack.groups[one.group] += [k] * (2 if one.source == "an4" and number else 1)
                if one.source == "an4" and number:
                    pack.numbers_of[one.speaker].append(k)
                pack.figures_of[one.speaker] += [(word, Segment(k, a, b)) for word, a, b in one.cuts]
        pack.figures_of = {who: cuts for who, cuts in pack.figures_of.items() if len(cuts) >= 6}
        return pack


class Sampler:
    """Draws training utterances; `progress` 0 to 1 is the curriculum of unknown words."""

    def __init__(self, pack: Pack, draw: random.Random) -> None:
        self.pack, self.draw = pack, draw
        made = {"noise": True, "backwards": bool(pack.groups.get("an4")), "an4 figures": bool(pack.figures_of)}
        self.kinds = [kind for kind in SHARES if made.get(kind, kind in pack.groups)]
        self.shares = [SHARES[kind] for kind in self.kinds]

    def utterance(self, progress: float = 1.0) -> Drawn:
        """One more."""
        draw = self.draw
        kind = draw.choices(self.kinds, self.shares)[0]
        lead, tail = int(draw.uniform(0.05, 0.7) * RATE_HZ), int(draw.uniform(0.15, 0.6) * RATE_HZ)
        speed = draw.uniform(0.97, 1.03) if draw.random() < 0.4 else draw.uniform(0.85, 1.25)
        if kind == "noise":
            return Drawn([], [], int(draw.uniform(1, 3) * RATE_HZ), 0)
        if kind == "backwards":
            among = [name for name in ("librispeech-other", "other-talk", "an4") if name in self.pack.groups]
            whole = self._whole(draw.choice(self.pack.groups[draw.choice(among)]))
            return Drawn([whole], None, lead, tail, speed if whole.end < 10 * RATE_HZ else 1.0, backwards=True)
        if kind == "an4 figures":
            said = self._figures()
            ways, spelled = [self._ways(word, unknown=False) for word, _ in said], tuple(word for word, _ in said)
            return Drawn([cut for _, cut in said], ways, lead, tail, speed, spelled=spelled)
        segments = self._joined(kind)
        unknown = draw.random() < min(1.0, progress / 0.3) * UNKNOWN_SHARE.get(kind, 0.5)
        words = [word for s in segments for word in self.pack.utterances[s.recording].words.split()]
        ways = [self._ways(word, unknown=unknown) for word in words]
        return Drawn(segments, ways, lead, tail, speed, spelled=tuple(words))

    def _whole(self, recording: int) -> Segment:
        return Segment(recording, 0, self.pack.utterances[recording].samples)

    def _joined(self, kind: str) -> list[Segment]:
        """A recording of this kind, now and then more: of AN4 the same speaker's, of Speech Commands and voices any."""
        draw, group = self.draw, self.pack.groups[kind]
        chosen = [draw.choice(group)]
        if kind == "single-words":
            chosen += [draw.choice(group) for _ in range(draw.choice((0, 0, 1)))]
        elif kind == "an4":
            same = self.pack.numbers_of[self.pack.utterances[chosen[0]].speaker]
            if chosen[0] in same and draw.random() < 0.4:
                chosen.append(draw.choice(same))
        elif kind != "librispeech-other" and draw.random() < 0.2:
            chosen.append(draw.choice(group))
        if sum(self.pack.utterances[k].samples for k in chosen) > LONGEST_S * RATE_HZ:
            chosen = chosen[:1]
        return self._close(chosen) if len(chosen) > 1 else [self._whole(chosen[0])]

    def _gap(self) -> int:
        """Samples between joined pieces: mostly near none."""
        draw = self.draw
        return int((draw.uniform(0, 0.05) if draw.random() < 0.6 else abs(draw.gauss(0, 0.2))) * RATE_HZ)

    def _close(self, chosen: list[int]) -> list[Segment]:
        """Recordings one after the other, their own silence at the joints left out."""
        joined = []
        for place, k in enumerate(chosen):
            one, around = self.pack.utterances[k], int(self.draw.uniform(0.01, 0.05) * RATE_HZ)
            start = max(0, one.edges[0] - around) if place else 0
            end = min(one.samples, one.edges[1] + around) if place < len(chosen) - 1 else one.samples
            joined.append(Segment(k, start, end, self._gap() if place else 0))
        return joined

    def _figures(self) -> list[tuple[str, Segment]]:
        """Two to seven number words of one AN4 speaker in an order that was never said, doubled ones among them."""
        draw = self.draw
        cuts = self.pack.figures_of[draw.choice(list(self.pack.figures_of))]
        by_word = defaultdict(list)
        for word, cut in cuts:
            by_word[word].append(cut)
        said: list[tuple[str, Segment]] = []
        while len(said) < draw.choice((2, 3, 3, 4, 5, 6, 7)):
            word = said[-1][0] if said and draw.random() < 0.2 else draw.choice(list(by_word))
            cut, around = draw.choice(by_word[word]), int(draw.uniform(0, 0.02) * RATE_HZ)
            most = self.pack.utterances[cut.recording].samples
            gap = self._gap() if said else 0
            said.append((word, Segment(cut.recording, max(0, cut.start - around), min(most, cut.end + around), gap)))
        return said

    def _ways(self, word: str, *, unknown: bool) -> list[list[str]]:
        """Pronunciations to train with; the unknown unit for a word that nobody knows, or that is to be unknown now."""
        if word not in self.pack.lexicon or (unknown and word not in KNOWN):
            return [["SPN"]]
        return [list(way) for way in self.pack.lexicon[word]]


@dataclass(frozen=True)
class Batch:
    """Utterances of like length, and their graphs as tensors (see `objective.forward_backward`)."""

    drawn: list[Drawn]
    frames: int
    """Outputs of the network."""
    units: torch.Tensor
    first: torch.Tensor
    last: torch.Tensor
    arcs: torch.Tensor
    """[arcs, 3]: utterance, from, to."""
    arc_weights: torch.Tensor


def batch_of(drawn: list[Drawn], bigram: Bigram) -> Batch:
    """The batch of these; fewer of them where their graphs would be too large."""
    samples = max(one.samples for one in drawn)
    frames = math.ceil((samples / STEP - 2) / OUTPUT_FRAMES / FRAMES_STEP) * FRAMES_STEP
    graphs = [graph_of(one.words) for one in drawn]
    states = math.ceil(max(len(graph.units) for graph in graphs) / STATES_STEP) * STATES_STEP
    if states * states * len(drawn) > MOST_STATES and len(drawn) > 1:
        return batch_of(drawn[: len(drawn) // 2], bigram)
    units = np.zeros((len(drawn), states), np.int64)
    first, last = np.zeros((len(drawn), states)), np.zeros((len(drawn), states))
    arcs: list[tuple[int, int, int]] = []
    weights: list[float] = []
    for k, graph in enumerate(graphs):
        of = np.array(graph.units)
        units[k, : len(of)] = of
        first[k, graph.starts] = bigram.first[of[graph.starts]]
        last[k, graph.ends] = bigram.last[of[graph.ends]]
        arcs += [(k, a, b) for a, b in graph.arcs]
        weights += [bigram.following[graph.units[a], graph.units[b]] for a, b in graph.arcs]
    return Batch(
        drawn, frames, torch.from_numpy(units), torch.from_numpy(first), torch.from_numpy(last),
        torch.tensor(arcs, dtype=torch.long).reshape(-1, 3), torch.tensor(weights, dtype=torch.float64),
    )  # fmt: skip


class Draws(IterableDataset):
    """Utterances of like length, so many at a time without end, one stream for each worker."""

    def __init__(self, pack: Pack, size: int, seed: int, progress: Any) -> None:
        self.pack, self.size, self.seed, self.progress = pack, size, seed, progress

    def __iter__(self) -> Iterator[Any]:
        """Six batches' worth at a time, sorted by length, in random order."""
        worker = torch.utils.data.get_worker_info()
        sampler = Sampler(self.pack, random.Random(f"{self.seed} {worker.id if worker else 0}"))
        while True:
            pool = [sampler.utterance(self.progress()) for _ in range(6 * self.size)]
            pool.sort(key=lambda one: one.samples)
            batches = [pool[at : at + self.size] for at in range(0, len(pool), self.size)]
            sampler.draw.shuffle(batches)
            yield from batches


class Batches(Draws):
    """The same with their graphs."""

    def __init__(self, pack: Pack, bigram: Bigram, size: int, seed: int, progress: Any) -> None:
        super().__init__(pack, size, seed, progress)
        self.bigram = bigram

    def __iter__(self) -> Iterator[Batch]:
        """A batch after the other."""
        for drawn in super().__iter__():
            yield batch_of(drawn, self.bigram)
