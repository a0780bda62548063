"""How well sound fits words: the sum over all alignments, by forward-backward, and its slope by the network's output.

A phone has one state here: its first row of the network's output when it is entered, its later row while it stays
(the "chain" model of Povey et al. 2016). Utterances of one call run side by side, the shorter ones padded. Sums are
in ordinary numbers, scaled at every row (Rabiner 1989, section V.A).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.core.problems import CallProblem
from assistant.devices.recognisers.adapting.acoustic_file import AcousticFile
from assistant.devices.recognisers.adapting.pronouncing import Lexicon, Phones

Doubles = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float32]

QUIET = 0.5
"""Share of places between words, before and after them, at which there is quiet: for what was said and for all else."""


@dataclass(frozen=True, eq=False)
class Graph:
    """Ways through states: shares of beginning, going on, ending. Shapes (states,); `enter` from row to column."""

    first: Ints
    later: Ints
    stay: Doubles
    begin: Doubles
    enter: Doubles
    end: Doubles


class _Draft:
    """States, and what leads into them, while a graph is made."""

    def __init__(self, model: AcousticFile) -> None:
        self._model = model
        self.phones: list[int] = []
        self.arcs: list[tuple[int, int, float]] = []

    def chain(self, phones: Phones) -> tuple[int, int]:
        """States of these phones, each leading to the next: the first and the last."""
        at = len(self.phones)
        self.phones += phones
        self.arcs += [(at + i, at + i + 1, 1.0) for i in range(len(phones) - 1)]
        return at, len(self.phones) - 1

    def graph(self, begin: Sequence[tuple[int, float]], end: Sequence[tuple[int, float]]) -> Graph:
        many = len(self.phones)
        rows = [self._model.phones[p] for p in self.phones]
        goes_in = np.exp([r.log_enter for r in rows])
        enter, starts, ends = np.zeros((many, many)), np.zeros(many), np.zeros(many)
        for source, to, share in self.arcs:
            enter[source, to] += share
        for to, share in begin:
            starts[to] += share
        for source, share in end:
            ends[source] += share
        first, later = (np.array([getattr(r, n) for r in rows]) for n in ("first", "later"))
        stay = np.exp([r.log_stay for r in rows])
        return Graph(first, later, stay, starts * goes_in, enter * goes_in, ends)


def _known(lexicon: Lexicon, word: str) -> tuple[Phones, ...]:
    if word not in lexicon.words:
        raise CallProblem(f"the model does not know the word {word!r}", do="leave out what has it, or say it otherwise")
    return lexicon.words[word]


def graph_of_words(words: Sequence[str], lexicon: Lexicon, model: AcousticFile) -> Graph:
    """Exactly these words, quiet between them or not. CallProblem for a word that the model does not know."""
    draft = _Draft(model)
    quiet = draft.chain((lexicon.silence,))[0]
    begin: list[tuple[int, float]] = [(quiet, QUIET)]
    before: list[tuple[int, float]] = [(quiet, 1.0)]
    for number, text in enumerate(words):
        ways = _known(lexicon, text)
        chains = [draft.chain(phones) for phones in ways]
        share = 1 / len(ways)
        if not number:
            begin += [(a, (1 - QUIET) * share) for a, _ in chains]
        draft.arcs += [(source, a, weight * share) for source, weight in before for a, _ in chains]
        quiet = draft.chain((lexicon.silence,))[0]
        draft.arcs += [(z, quiet, QUIET) for _, z in chains]
        before = [(quiet, 1.0), *((z, 1 - QUIET) for _, z in chains)]
    return draft.graph(begin, before)


def graph_of_any(vocabulary: Sequence[str], lexicon: Lexicon, model: AcousticFile) -> Graph:
    """Any words of the vocabulary, one or more, all equally likely."""
    draft = _Draft(model)
    quiet = draft.chain((lexicon.silence,))[0]
    chains = [(draft.chain(phones), len(ways)) for ways in (_known(lexicon, w) for w in vocabulary) for phones in ways]
    starts = [(a, 1 / (len(vocabulary) * ways)) for (a, _), ways in chains]
    for source, weight in ((quiet, 1.0), *((z, 1 - QUIET) for (_, z), _ in chains)):
        draft.arcs += [(source, a, weight * share) for a, share in starts]
    draft.arcs += [(z, quiet, QUIET) for (_, z), _ in chains]
    begin = [(quiet, QUIET), *((a, (1 - QUIET) * share) for a, share in starts)]
    return draft.graph(begin, [(quiet, 1.0), *((z, 1 - QUIET) for (_, z), _ in chains)])


def stacked(graphs: Sequence[Graph]) -> Graph:
    """Graphs side by side for utterances side by side: every shape gets a first axis; missing states are never entered."""
    most = max(len(g.first) for g in graphs)

    def padded(name: str) -> npt.NDArray[np.float64]:
        each = [getattr(g, name) for g in graphs]
        return np.stack([np.pad(a, [(0, most - n) for n in a.shape]) for a in each])

    first, later = (padded(name).astype(np.int64) for name in ("first", "later"))
    return Graph(first, later, *(padded(name) for name in ("stay", "begin", "enter", "end")))


def log_likelihood(outputs: Sequence[Floats], graph: Graph) -> tuple[Doubles, list[Floats]]:
    """For each utterance the logarithm of the likelihood summed over every way through the graph, and its slope.

    `outputs` (rows, outputs of the network) each, and so are the slopes; `graph` one for all, or stacked. Minus infinity,
    with no slope, where an utterance has fewer rows than the graph needs.
    """
    rows = np.array([len(o) for o in outputs])
    many, longest, width = len(rows), int(rows.max()), outputs[0].shape[1]
    logs = np.stack([np.pad(o, ((0, longest - len(o)), (0, 0))) for o in outputs]).astype(np.float64)
    top = logs.max(axis=2)
    shares = np.exp(logs - top[:, :, None])
    each = (many, len(graph.first)) if graph.first.ndim == 1 else graph.first.shape
    first, later = (np.broadcast_to(at, each)[:, None, :] for at in (graph.first, graph.later))
    entered, stayed = (np.take_along_axis(shares, at, axis=2) for at in (first, later))
    within = np.arange(longest)[:, None] < rows[None, :]
    forward, sums = _forward(graph, entered, stayed, within)
    found, fresh, old = _shares(graph, entered, stayed, within, forward, sums)
    with np.errstate(divide="ignore"):
        total = np.where(within.T, np.log(sums).T + top, 0.0).sum(axis=1) + np.log(found)
    slopes = np.zeros((many, longest, width))
    at_u, at_t = np.ogrid[:many, :longest]
    for where, share in ((first, fresh), (later, old)):
        np.add.at(slopes, (at_u[:, :, None], at_t[:, :, None], np.broadcast_to(where, share.shape)), share)
    good = np.isfinite(total)
    slopes[~good] = 0.0
    return total, [s[:n].astype(np.float32) for s, n in zip(slopes, rows, strict=True)]


def _step(states: Doubles, enter: Doubles) -> Doubles:
    """From states to those entered next, for every utterance."""
    return states @ enter if enter.ndim == 2 else np.matmul(states[:, None, :], enter)[:, 0]


Batch = npt.NDArray[np.bool_]


def _forward(graph: Graph, entered: Doubles, stayed: Doubles, within: Batch) -> tuple[Doubles, Doubles]:
    """Shares of each state at each row, shape (rows, utterances, states), that sum to 1; and what they were divided by."""
    now = np.broadcast_to(graph.begin, entered[:, 0].shape) * entered[:, 0]
    found, sums = [], []
    for t in range(entered.shape[1]):
        if t:
            new = now * graph.stay * stayed[:, t] + _step(now, graph.enter) * entered[:, t]
            now = np.where(within[t][:, None], new, now)
        total = np.maximum(now.sum(axis=1), np.finfo(float).tiny)
        now = now / total[:, None]
        found.append(now)
        sums.append(np.where(within[t], total, 1.0))
    return np.stack(found), np.stack(sums)


def _shares(
    graph: Graph, entered: Doubles, stayed: Doubles, within: Batch, forward: Doubles, sums: Doubles
) -> tuple[Doubles, Doubles, Doubles]:
    """Of each utterance the share that may end; and how likely each state is entered, and stayed in, at each row."""
    back = np.broadcast_to(graph.end, forward[0].shape)
    found = (forward[-1] * back).sum(axis=1)
    per = 1 / np.maximum(found, np.finfo(float).tiny)[:, None]
    fresh, old = np.zeros_like(entered), np.zeros_like(entered)
    outward = np.swapaxes(graph.enter, -1, -2)
    for t in reversed(range(entered.shape[1])):
        here = within[t][:, None]
        if not t:
            fresh[:, 0] = forward[0] * back * per
            break
        scaled = back / sums[t][:, None]
        via = entered[:, t] * scaled
        fresh[:, t] = np.where(here, _step(forward[t - 1], graph.enter) * via * per, 0.0)
        old[:, t] = np.where(here, forward[t - 1] * graph.stay * stayed[:, t] * scaled * per, 0.0)
        back = np.where(here, graph.stay * stayed[:, t] * scaled + _step(via, outward), back)
    return found, fresh, old
