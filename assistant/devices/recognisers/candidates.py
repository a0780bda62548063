"""Scores of strings of words made into candidates, the same way for every ear."""

from __future__ import annotations

import math
from collections.abc import Mapping

from assistant.core.events import Candidate


def log_sum(logs: list[float]) -> float:
    """The logarithm of the sum of what `logs` are logarithms of; minus infinity for none."""
    top = max(logs, default=-math.inf)
    return top if math.isinf(top) else top + math.log(sum(math.exp(x - top) for x in logs))


def candidates_of(scores: Mapping[tuple[str, ...], float]) -> tuple[Candidate, ...]:
    """Candidates from the logp of each string of words, best first; their shares add up to 1."""
    whole = log_sum(list(scores.values()))
    ranked = sorted(scores.items(), key=lambda item: -item[1])
    return tuple(Candidate(words, logp, math.exp(logp - whole)) for words, logp in ranked)
