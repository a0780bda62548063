"""The fit of `core.speech.calibration`: how much each ear's scores are worth, by maximum likelihood on tuning speakers alone.

A row is one utterance: what each ear made of it and what was meant (nothing, for talk). The model is that of
`core.speech.evidence`; its numbers are those under which what was meant, or "other words" where nothing was or no ear thought
of it, has the highest probability. Sets of ears are fitted apart, since one ear alone must be trusted less.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.core.events import Take
from assistant.core.speech.calibration import Calibration, Trust
from assistant.core.speech.evidence import Sense, distances, signs
from assistant.core.speech.weighing import sense_of
from assistant.measure.speech_moments import AnyNumbers
from assistant.measure.speech_trials import Trial

Floats = npt.NDArray[np.float64]
PRIOR = 1e-3
"""Weight of the pull towards small numbers, so that what no row tells about stays at 0."""
PEOPLE = 4.0
"""How often an utterance of a person counts (the numbers of AN4): there are few, and synthesised voices flatter Vosk."""
START_SCALE, START_FLOOR = 0.5, 5.0
SIGNS = 3
"""How many signs of other words an ear gives: `evidence.signs`."""


@dataclass(frozen=True)
class Row:
    """Takes of one utterance by each ear alone and after they compared, what strings mean at its moment, and what was meant:
    empty for talk."""

    takes: tuple[Take, ...]
    compared: tuple[Take, ...]
    sense: Sense[Any]
    meant: frozenset[Hashable]
    weight: float = 1.0


def row_of(trial: Trial) -> Row:
    """A trial of `layup measure speech` as a row."""
    moment = trial.of.moment
    plain: Sense[Any] = Sense(lambda said: moment.meanings(" ".join(said)))
    if isinstance(moment, AnyNumbers):
        return Row(trial.takes, trial.compared, plain, trial.meant, PEOPLE)
    return Row(trial.takes, trial.compared, sense_of(plain.means), trial.meant)


def fits(rows: Sequence[Row]) -> Iterator[str]:
    """`core/speech/calibration.py`'s table for these rows, as Python text: the ears together, and each alone."""
    both = tuple(dict.fromkeys(take.ear for row in rows for take in row.takes))
    for ears in dict.fromkeys((both, *((ear,) for ear in both))):
        found = fit(rows, ears)
        yield f"    frozenset({set(ears)!r}): Calibration("
        yield "        {"
        for ear, trust in found.trust.items():
            yield f"            {ear!r}: {trust!r},"
        yield "        },"
        yield f"        other={found.other}, lone_word={found.lone_word}, rare={found.rare},"
        yield "    ),"


@dataclass(frozen=True)
class _Table:
    """A row as numbers: what each ear listed, what that means and which is right, and the signs of other words."""

    logp: Floats  # (ears, strings), minus infinity where the ear did not list it
    words: Floats  # (strings,) how many
    means: npt.NDArray[np.bool_]  # (strings, meanings)
    heard: npt.NDArray[np.bool_]  # (ears,): it listed any
    right: npt.NDArray[np.bool_]  # (meanings,)
    rare: Floats  # (meanings,) 0 or 1
    lone: float
    signs: Floats  # (ears, 3)
    weight: float


def fit(rows: Sequence[Row], ears: tuple[str, ...]) -> Calibration:
    """The calibration of these ears together. Needs scipy (an extra of this project: `measure`)."""
    from scipy.optimize import minimize

    tables = [_table(row, ears) for row in rows]
    count = len(ears)
    start = np.concatenate(
        (np.log([START_SCALE] * count), np.log([START_FLOOR] * count), [-4.0, 0.0, 0.0], np.zeros((SIGNS + 1) * count))
    )
    lowest = (
        [(-4.0, 1.5)] * count
        + [(0.0, 3.0)] * count
        + [(-15.0, 5.0)] * 2
        + [(-15.0, 0.0)]
        + ([(0.0, 15.0)] * SIGNS + [(-5.0, 10.0)]) * count
    )
    found = minimize(_loss, start, args=(tables,), method="L-BFGS-B", bounds=lowest).x
    return _calibration(found, ears)


def _table(row: Row, ears: tuple[str, ...]) -> _Table:
    takes = [next(take for take in _takes(row, ears) if take.ear == ear) for ear in ears]
    near = [distances(take, row.sense.means, 0.0) for take in takes]
    meanings = list(dict.fromkeys(m for each in near for m in each))
    listed = [{c.words: c.logp for c in take.candidates} for take in takes]
    strings = list(dict.fromkeys(said for each in listed for said in each))
    logp = [[each.get(said, -math.inf) for said in strings] for each in listed]
    means = [[m in set(row.sense.means(said)) for m in meanings] for said in strings]
    best = max(meanings, key=lambda m: sum(each.get(m, -START_FLOOR) for each in near), default=None)
    return _Table(
        np.array(logp, float).reshape(len(ears), len(strings)),
        np.array([len(said) for said in strings], float),
        np.array(means, bool).reshape(len(strings), len(meanings)),
        np.array([bool(each) for each in near]),
        np.array([m in row.meant for m in meanings], bool),
        np.array([row.sense.is_rare(m) for m in meanings], float),
        float(best is not None and row.sense.is_word(best)),
        np.array([signs(take, found=bool(each)) for take, each in zip(takes, near, strict=True)], float),
        row.weight,
    )


def _takes(row: Row, ears: tuple[str, ...]) -> tuple[Take, ...]:
    return row.compared if len(ears) > 1 else row.takes


def _loss(numbers: Floats, tables: Sequence[_Table]) -> float:
    total = sum(table.weight * _unlikely(numbers, table) for table in tables)
    return float(
        total / sum(table.weight for table in tables) + PRIOR * np.square(numbers[2 * len(tables[0].heard) :]).mean()
    )


def _unlikely(numbers: Floats, table: _Table) -> float:
    """Minus the log-probability of what was meant."""
    ears = len(table.heard)
    scale, floor = np.exp(numbers[:ears]), np.exp(numbers[ears : 2 * ears])
    other, lone, rare = numbers[2 * ears : 2 * ears + 3]
    weights = numbers[2 * ears + 3 :].reshape(ears, SIGNS + 1)
    near = np.maximum(_near(table, weights[:, SIGNS]), -floor[:, None]) * (scale * table.heard)[:, None]
    scores = np.append(
        near.sum(axis=0) + rare * table.rare, other + lone * table.lone + (weights[:, :SIGNS] * table.signs).sum()
    )
    wanted = scores[:-1][table.right] if table.right.any() else scores[-1:]
    return float(np.logaddexp.reduce(scores) - np.logaddexp.reduce(wanted))


def _near(table: _Table, word: Floats) -> Floats:
    """(ears, meanings): `evidence.distances`, with each ear's nats a word; minus infinity where it did not list it."""
    logp = table.logp + word[:, None] * table.words
    summed: Floats = np.logaddexp.reduce(np.where(table.means, logp[:, :, None], -np.inf), axis=1)
    top = summed.max(axis=1, initial=-np.inf, keepdims=True)
    return np.asarray(np.subtract(summed, top, out=np.zeros_like(summed), where=np.isfinite(top)))


def _calibration(numbers: Floats, ears: tuple[str, ...]) -> Calibration:
    count, own = len(ears), SIGNS + 1
    scale, floor = np.exp(numbers[:count]), np.exp(numbers[count : 2 * count])
    other, lone, rare, *weights = (round(float(x), 3) for x in numbers[2 * count :])
    each = [
        (round(float(scale[n]), 3), round(float(floor[n]), 3), *weights[own * n : own * (n + 1)]) for n in range(count)
    ]
    return Calibration({ear: Trust(*one) for ear, one in zip(ears, each, strict=True)}, other, lone, rare)
