"""A fuzz campaign by atheris over every parser of labels, run by hand or by test_core_labels_fuzz.py:

    .venv/bin/pip install atheris
    .venv/bin/python tests/fuzz_labels.py FOLDER -max_total_time=600

FOLDER keeps the texts that reached new code. The first two bytes choose the day; the rest is the text, for all parsers.
"""

from __future__ import annotations

import sys
from datetime import date, timedelta

import atheris

with atheris.instrument_imports(include=["assistant.core.labels", "assistant.core.trade"]):
    from label_parsers import PARSERS


def one_input(data: bytes) -> None:
    provider = atheris.FuzzedDataProvider(data)
    today = date(1990, 1, 1) + timedelta(days=provider.ConsumeIntInRange(0, 40_000))
    text = provider.ConsumeUnicodeNoSurrogates(200)
    for parse in PARSERS.values():
        parse(text, today)


if __name__ == "__main__":
    atheris.Setup(sys.argv, one_input)
    atheris.Fuzz()
