"""No parser of labels ever raises: any text, bent from a good one or not, on any day. By hypothesis, and by atheris where it
is installed (coverage leads it; `pip install atheris`)."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from label_parsers import PARSERS, SEEDS

TODAYS = st.one_of(st.just(date(2026, 11, 26)), st.dates())
ALPHABET = st.characters(codec="utf-8")
RUNS = 2_000


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


@pytest.mark.parametrize("name", PARSERS)
@settings(max_examples=300, deadline=None)
@given(text=st.one_of(bent(), st.text(ALPHABET, max_size=60), st.text("0123456789", max_size=20)), today=TODAYS)
def test_no_parser_raises(name: str, text: str, today: date) -> None:
    """Faults are values: there is no documented exception, so there is none at all."""
    PARSERS[name](text, today)


@pytest.mark.skipif(importlib.util.find_spec("atheris") is None, reason="atheris is not installed")
def test_no_parser_raises_when_coverage_leads(tmp_path: Path) -> None:
    """So many texts by atheris, from the same seeds, through all of them."""
    corpus = tmp_path / "corpus"
    corpus.mkdir()
    for number, seed in enumerate(SEEDS):
        (corpus / str(number)).write_bytes(bytes([0]) + seed.encode())
    call = [sys.executable, str(Path(__file__).parent / "fuzz_labels.py"), str(corpus), f"-runs={RUNS}", "-max_len=120"]
    done = subprocess.run(call, cwd=tmp_path, capture_output=True, text=True, timeout=600, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    assert f"Done {RUNS}" in done.stderr
