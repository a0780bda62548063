"""No parser of labels ever raises: any text, bent from a good one or not, on any day. Longer: `layup measure labels --fuzz`."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings

from assistant.measure.label_bending import TEXTS, TODAYS
from assistant.measure.label_parsers import PARSERS


@pytest.mark.parametrize("name", PARSERS)
@settings(max_examples=300, deadline=None)
@given(text=TEXTS, today=TODAYS)
def test_no_parser_raises(name: str, text: str, today: date) -> None:
    """Faults are values: there is no documented exception, so there is none at all."""
    PARSERS[name](text, today)
