"""Texts for the parsers of labels by hypothesis: good ones with a piece cut out, put in twice or replaced, and any others."""

from __future__ import annotations

import time
from collections.abc import Mapping
from datetime import date

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from assistant.measure.label_parsers import PARSERS, SEEDS, Fault, Parser, faults_by

ALPHABET = st.characters(codec="utf-8")
TODAYS = st.one_of(st.just(date(2026, 11, 26)), st.dates())
ROUND = 500


@st.composite
def bent(draw: st.DrawFn) -> str:
    """A good text with a piece cut out, put in twice, or replaced."""
    text = draw(st.sampled_from(SEEDS))
    start = draw(st.integers(0, len(text)))
    end = draw(st.integers(start, len(text)))
    middle = draw(
        st.one_of(st.just(text[start:end] * 2), st.text(ALPHABET, max_size=8), st.text("0123456789\x1d", max_size=8))
    )
    return text[:start] + middle + text[end:]


TEXTS = st.one_of(bent(), st.text(ALPHABET, max_size=60), st.text("0123456789", max_size=20))


def bend(seconds: float, parsers: Mapping[str, Parser] = PARSERS) -> tuple[int, tuple[Fault, ...]]:
    """For so long, in whole rounds of `ROUND` texts: how many, and what the parsers raised."""
    began_s, rounds, inputs, faults = time.monotonic(), 0, 0, list[Fault]()

    def one(text: str, today: date) -> None:
        nonlocal inputs
        inputs += 1
        faults.extend(faults_by(text, today, parsers))

    while not rounds or time.monotonic() - began_s < seconds:
        bounds = settings(
            max_examples=ROUND,
            deadline=None,
            database=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        seed(rounds)(bounds(given(text=TEXTS, today=TODAYS)(one)))()
        rounds += 1
    return inputs, tuple(faults)
