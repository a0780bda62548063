"""The model's network in NumPy, forward, and backward to its input: what Vosk computes, and how it would change with
the features.

Wired from the file's own lines, of any sizes: affine layers over spliced frames, ReLU, batch norm with its kept
statistics, sums and scalings. Each part is computed at the frames that something after it asks for, as in Kaldi: at
all of them, or at every third. Utterances lie one after the other on one tape, each with its first and last frame
repeated as far as the network looks; what is computed where two of them meet is used by nobody, and its price is less
than that of picking frames out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.core.problems import ModelProblem
from assistant.devices.recognisers.adapting.acoustic_file import AcousticFile, Component

Floats = npt.NDArray[np.float32]

EVERY = 3
"""Frames for each row of the output (`--frame-subsampling-factor`)."""
INPUT = "input"
AFFINE = ("AffineComponent", "NaturalGradientAffineComponent")


@dataclass(frozen=True)
class Term:
    """The value of a node so many frames later, scaled."""

    node: str
    later: int = 0
    scale: float = 1.0


@dataclass(frozen=True)
class Node:
    """A component's place: its input is the `parts` side by side, each the sum of its terms."""

    name: str
    component: Component
    parts: tuple[tuple[Term, ...], ...]


@dataclass(frozen=True, eq=False)
class Tape:
    """Utterances one after the other. `frames` (frames, coefficients); `rows[u]` the times of utterance u's output."""

    frames: Floats
    rows: tuple[range, ...]


class Network:
    """The network of a model file. ModelProblem where it has a part that our models do not."""

    def __init__(self, model: AcousticFile) -> None:
        components = {c.name: c for c in model.components}
        self.nodes = tuple(_nodes(model.wiring, components))
        self.output = _output(model.wiring)
        self.before, self.after = self._looks()

    def _looks(self) -> tuple[int, int]:
        """How many frames before and after an output row the network looks."""
        times = self.times(range(0, 1, EVERY))[INPUT]
        return -times.start, times.stop - 1

    def times(self, wanted: range) -> dict[str, range]:
        """At which frames each node is needed: a range that holds them, with a step of one or `EVERY`."""
        needed: dict[str, range] = {self.output: wanted}
        for node in reversed(self.nodes):
            here = needed.get(node.name, wanted[:0])
            for term in (t for part in node.parts for t in part):
                asked = range(here.start + term.later, here.stop + term.later, here.step)
                needed[term.node] = _both(needed[term.node], asked) if term.node in needed else asked
        return needed

    def tape(self, utterances: Sequence[Floats]) -> Tape:
        """The features of utterances, laid out."""
        pieces: list[Floats] = []
        rows: list[range] = []
        at = 0
        for features in utterances:
            fill = -(len(features) + self.before + self.after) % EVERY  # so that all rows fall on every third frame
            pieces.append(np.pad(features, ((self.before, self.after + fill), (0, 0)), mode="edge"))
            rows.append(range(at, at + len(features), EVERY))
            at += len(pieces[-1])
        return Tape(np.concatenate(pieces), tuple(rows))

    def run(self, tape: Tape) -> Run:
        """A plan for this tape, to be gone through with its frames or with changed ones."""
        return Run(self, tape)


class Run:
    """The network on one tape: `forward`, then, once, `backward` through the same pass. Holds only what that needs."""

    def __init__(self, network: Network, tape: Tape) -> None:
        self._nodes, self._output = network.nodes, network.output
        rows = range(0, tape.rows[-1][-1] + 1, EVERY)
        times = {**network.times(rows), INPUT: range(-network.before, len(tape.frames) - network.before)}
        self._places = {
            node.name: [[_places(times[t.node], times[node.name], t.later) for t in part] for part in node.parts]
            for node in self._nodes
        }
        self._rows = [slice(r.start // EVERY, r.start // EVERY + len(r)) for r in tape.rows]
        self._back: dict[str, Callable[[Floats], list[Floats]]] = {}
        self._shapes: dict[str, tuple[int, ...]] = {}
        last = {term.node: node.name for node in self._nodes for part in node.parts for term in part}
        self._done_with = {name: [n for n, user in last.items() if user == name] for name in set(last.values())}

    def forward(self, frames: Floats) -> list[Floats]:
        """The output rows of each utterance, shape (rows, outputs), for frames laid out as the tape's."""
        values = {INPUT: frames}
        for node in self._nodes:
            pieces = [
                _sum(
                    t.scale * values[t.node][i] if t.scale != 1 else values[t.node][i]
                    for t, i in zip(p, at, strict=True)
                )
                for p, at in zip(node.parts, self._places[node.name], strict=True)
            ]
            values[node.name], self._back[node.name] = _apply(node.component, pieces)
            self._shapes[node.name] = values[node.name].shape
            for name in self._done_with.get(node.name, ()):
                self._shapes[name] = values.pop(name).shape
        return [values[self._output][rows] for rows in self._rows]

    def backward(self, slopes: Sequence[Floats]) -> Floats:
        """From the slope of something by each output row: its slope by each frame, shape of the tape's frames."""
        found = {self._output: np.zeros(self._shapes[self._output], slopes[0].dtype)}
        for rows, slope in zip(self._rows, slopes, strict=True):
            found[self._output][rows] = slope
        for node in reversed(self._nodes):
            if node.name not in found:
                continue
            pieces = self._back.pop(node.name)(found.pop(node.name))
            for part, at, piece in zip(node.parts, self._places[node.name], pieces, strict=True):
                for term, place in zip(part, at, strict=True):
                    if term.node not in found:
                        found[term.node] = np.zeros(self._shapes[term.node], piece.dtype)
                    found[term.node][place] += term.scale * piece if term.scale != 1 else piece
        return found[INPUT]

    def forget(self) -> None:
        """Let go of the last pass: `backward` will not be asked for."""
        self._back.clear()


def _both(one: range, other: range) -> range:
    """A range that holds both."""
    step = EVERY if one.step == other.step == EVERY and (one.start - other.start) % EVERY == 0 else 1
    last = max(one[-1], other[-1])
    return range(min(one.start, other.start), last + 1, step)


def _places(there: range, here: range, later: int) -> slice:
    """Where, among a node's times, those stand that are `later` than these."""
    step = here.step // there.step
    first = (here.start + later - there.start) // there.step
    return slice(first, first + step * (len(here) - 1) + 1, step)


def _sum(values: Iterable[Floats]) -> Floats:
    first, *others = values
    for other in others:
        first = first + other
    return first


def _apply(c: Component, pieces: list[Floats]) -> tuple[Floats, Callable[[Floats], list[Floats]]]:
    """A component's output, and what takes a slope by its output to those by the pieces of its input."""
    if c.kind in AFFINE:
        each = np.split(c.array("LinearParams"), len(pieces), axis=1)
        y = pieces[0] @ each[0].T
        for x, weights in zip(pieces[1:], each[1:], strict=True):
            y += x @ weights.T
        y += c.array("BiasParams")
        return y, lambda slope: [slope @ weights for weights in each]
    if len(pieces) > 1:
        raise _unlike(f"a {c.kind} over spliced frames")
    [x] = pieces
    if c.kind == "RectifiedLinearComponent":
        y = np.maximum(x, 0)
        return y, lambda slope: [slope * (y > 0)]
    if c.kind == "BatchNormComponent":
        scale = c.number("TargetRms") / np.sqrt(c.array("StatsVar") + np.float32(c.number("Epsilon")))
        y = x * scale
        y -= c.array("StatsMean") * scale
        return y, lambda slope: [slope * scale]
    return x, lambda slope: [slope]


def _nodes(wiring: Sequence[str], components: dict[str, Component]) -> Iterable[Node]:
    for line in wiring:
        if line.startswith("component-node "):
            said = dict(re.findall(r"(\w+)=(.+?)(?= \w+=|$)", line))
            component = components[said["component"]]
            if component.kind not in (*AFFINE, "RectifiedLinearComponent", "BatchNormComponent", "NoOpComponent"):
                raise _unlike(f"a {component.kind}")
            yield Node(said["name"], component, _parts(said["input"]))
        elif not line.startswith(("input-node ", "output-node ")):
            raise _unlike(f"the line {line!r}")


def _output(wiring: Sequence[str]) -> str:
    for line in wiring:
        if line.startswith("output-node ") and (found := re.search(r"name=output input=(\S+)", line)):
            return found[1]
    raise _unlike("no output")


def _parts(text: str) -> tuple[tuple[Term, ...], ...]:
    name, inside = _call(text)
    return tuple(_terms(part) for part in inside) if name == "Append" else (_terms(text),)


def _terms(text: str) -> tuple[Term, ...]:
    name, inside = _call(text)
    match name:
        case "Sum":
            return tuple(term for part in inside for term in _terms(part))
        case "Offset":
            later = int(inside[1])
            return tuple(Term(t.node, t.later + later, t.scale) for t in _terms(inside[0]))
        case "Scale":
            return tuple(Term(t.node, t.later, t.scale * float(inside[0])) for t in _terms(inside[1]))
        case "":
            return (Term(text.strip()),)
        case _:
            raise _unlike(f"{name}(...) between its layers")


def _call(text: str) -> tuple[str, list[str]]:
    """`Name(a, b)` -> its name and what stands between the outer commas; a bare name -> ("", [])."""
    found = re.fullmatch(r"\s*(\w+)\((.*)\)\s*", text)
    if not found:
        return "", []
    inside, depth = [""], 0
    for sign in found[2]:
        depth += (sign == "(") - (sign == ")")
        if sign == "," and not depth:
            inside.append("")
        else:
            inside[-1] += sign
    return found[1], inside


def _unlike(what: str) -> ModelProblem:
    return ModelProblem(
        f"this network has {what}, which is not computed here",
        do="a voice can be learnt only for models made like our own bench-en",
    )
