"""Our own reader of worn linear codes: its tables against others', its search against trying all, and what it must not read."""

from __future__ import annotations

import shutil
from itertools import pairwise, product

import numpy as np
import pytest
from label_tables import CODE_128_WIDTHS, SCRIPTED_PX, ScriptedDecoder, lines_at, rows

from assistant.core.events import Label
from assistant.core.labels.check_digit import mod10_fault
from assistant.devices.label_reader import ZbarReader
from assistant.devices.linear_codes.alphabets import CODE_128, EAN_SETS
from assistant.devices.linear_codes.code_128 import code_128_label
from assistant.devices.linear_codes.ean_codes import best_two
from assistant.devices.linear_codes.reading import read_linear
from assistant.devices.linear_codes.rendering import EAN_8, Geometry, costs_of, drawn, laid
from assistant.devices.plain_decoders import by_pyzbar, by_zxing
from assistant.measure.label_pictures import LabelPicture, Shot, take
from assistant.measure.label_symbols import draw_symbol

needs_zint = pytest.mark.skipif(shutil.which("zint") is None, reason="zint draws these symbols: apt-get install zint")


def tuning_picture(symbology: str, damage: str, number: int) -> LabelPicture:
    return take(Shot(symbology, damage, number), "tune")


def test_code_128_patterns_are_those_of_the_test_table() -> None:
    """Typed in twice, and both decoders read what is drawn from the tests' own."""
    for pattern, widths in zip(CODE_128, CODE_128_WIDTHS, strict=True):
        assert "".join("10"[k % 2] * int(w) for k, w in enumerate(widths)) == "".join(str(int(b)) for b in pattern)


@needs_zint
@pytest.mark.parametrize("symbology", ["EAN-13", "EAN-8", "UPC-A"])
def test_ean_patterns_are_those_that_zint_draws(symbology: str) -> None:
    """Each right-hand digit of a drawn symbol is the pattern of number set C; every pattern has 7 modules, 2 bars."""
    symbol = draw_symbol(symbology, np.random.default_rng(3))
    bars = (symbol.modules[0] < 128).astype(int)
    half = 4 if symbology == "EAN-8" else 6
    right = bars[-3 - 7 * half : -3].reshape(half, 7)
    assert [EAN_SETS[2].astype(int).tolist().index(p.tolist()) for p in right] == [int(c) for c in symbol.text[-half:]]
    assert {int(np.abs(np.diff(np.pad(p, 1))).sum()) for s in EAN_SETS for p in s} == {4}


@pytest.mark.parametrize("row", rows("code128.tsv"), ids=lambda r: r["data"])
def test_code_128_values_are_spelt_as_published(row: dict[str, str]) -> None:
    """The published symbols (their sources stand in the table) give their published text."""
    label = code_128_label([*(int(v) for v in row["values"].split()), int(row["check"])])
    assert label is not None
    assert label.text == row["data"]


def test_the_search_finds_what_trying_all_numbers_finds() -> None:
    """Best and second best of four-figure numbers with a right check digit, against all 10,000 of them."""
    rng = np.random.default_rng(5)
    for _ in range(3):
        single = rng.normal(size=(1, 4, 10)).astype(np.float32)
        pairs = rng.normal(size=(1, 3, 10, 10)).astype(np.float32)
        costs = sorted(
            (
                sum(single[0, k, d] for k, d in enumerate(n)) + sum(pairs[0, k, n[k], n[k + 1]] for k in range(3)),
                n,
            )
            for n in product(range(10), repeat=4)
            if mod10_fault("".join(map(str, n))) is None
        )
        best, behind, _, digits = best_two(single, pairs, has_first=False)
        assert digits == costs[0][1]
        others = [min(c for c, n in costs if n[k] != digits[k]) - costs[0][0] for k in range(4)]
        assert [best, *behind] == pytest.approx([costs[0][0], *others], abs=1e-5)


def test_costs_add_up_to_the_squared_difference() -> None:
    """Base, single and pair costs of a symbol are the squared difference between it and a line, kernel by kernel."""
    rng = np.random.default_rng(1)
    line = laid(rng.random(400).astype(np.float32), [Geometry(30, 370)], EAN_8.modules)
    names = (1, 2, 3, 4, 25, 26, 27, 28)
    for kernel in ("soft 0.3", "soft 1.1", "moved 2.0"):
        costs = costs_of(line, EAN_8, kernel)
        beside = [(a, b) for k, (a, b) in enumerate(pairwise(names)) if k != 3]
        total = (
            costs.base[0]
            + sum(costs.single[0, k, n] for k, n in enumerate(names))
            + sum(costs.pairs[p] for p in beside)
        )
        assert total == pytest.approx(float(np.square(line[0] - drawn(EAN_8, kernel, names)).sum()), rel=1e-2)


BOTH_MISS = [
    ("EAN-13", "blur", 0),
    ("UPC-A", "blur", 2),
    ("CODE-128", "motion", 0),
]


@needs_zint
@pytest.mark.parametrize(("symbology", "damage", "number"), BOTH_MISS)
def test_what_both_decoders_miss_is_read(symbology: str, damage: str, number: int) -> None:
    """Blurred and moved symbols of the generator: neither decoder finds anything, ours has the whole text."""
    one = tuning_picture(symbology, damage, number)
    assert (by_pyzbar(one.picture), by_zxing(one.picture)) == ((), ())
    assert [label.text.replace("\x1d", "") for label in read_linear(one.picture)] == [one.text]


@needs_zint
def test_nothing_is_read_where_no_such_code_is() -> None:
    """Print, stripes, the bare bench, and Code 39, which it does not know."""
    pictures = [tuning_picture("", "text", 0), tuning_picture("", "stripes", 0), tuning_picture("CODE-39", "blur", 0)]
    assert [read_linear(one.picture) for one in pictures] == [()] * len(pictures)


EAN, OTHER = Label("EAN-13", "2990001000421"), Label("EAN-13", "2990001000285")
LOT = Label("GS1-128", "10F2604")
UPC_E, CODE_39, QR = Label("EAN-13", "0012345000065"), Label("CODE-39", "T3-1142"), Label("QR", "T3-1142")


def side_by_side(script: list[tuple[Label, ...]]) -> ScriptedDecoder:
    """Each label at a place of its own."""
    stands = {label: 10 * k for k, label in enumerate((EAN, OTHER, LOT, UPC_E, CODE_39, QR))}
    return ScriptedDecoder(*[tuple(lines_at(label, stands[label]) for label in found) for found in script])


@pytest.mark.parametrize(
    ("zbar", "zxing", "read"),
    [
        ([(EAN,)], [(EAN,)], (EAN,)),
        ([(), (EAN,), (EAN,)], [], (EAN,)),
        ([(EAN,)], [], ()),
        ([(EAN,), (EAN,)], [(OTHER,)], (EAN,)),
        ([(UPC_E,)] * 7, [], ()),
        ([(UPC_E,)], [(), (UPC_E,)], (UPC_E,)),
        ([], [(QR,)], (QR,)),
        ([(EAN,)], [(EAN, LOT), (LOT,)], (EAN, LOT)),
        ([(EAN, LOT)], [(EAN,)], (EAN,)),
        ([(EAN, LOT)], [(EAN, OTHER), (OTHER,), (LOT,)], (EAN, OTHER, LOT)),
        ([(EAN, OTHER), (EAN, OTHER)], [], (EAN, OTHER)),
        ([], [(QR, EAN), (EAN,)], (QR, EAN)),
        ([(EAN,), (OTHER,)], [(EAN,), (OTHER,)], (EAN,)),
        ([(CODE_39,)] * 7, [], (CODE_39,)),
    ],
    ids=[
        "both",
        "two rungs",
        "once",
        "twice against once",
        "UPC-E by one",
        "UPC-E by both",
        "matrix",
        "two labels, one on a later rung",
        "two labels, one of them once",
        "two labels, and another packet beside them",
        "two products of one rung",
        "matrix, and a linear one beside it",
        "all agreed: no more rungs",
        "no check: doubted",
    ],
)
def test_a_still_is_read_twice(
    zbar: list[tuple[Label, ...]], zxing: list[tuple[Label, ...]], read: tuple[Label, ...]
) -> None:
    """A linear code counts when it was read twice, a UPC-E when both decoders read it; a matrix code at once.

    What was read by the rung that agrees may still be agreed on later. One
    without a check is handed on, for `is_sure` to ask both decoders.
    """
    reader = ZbarReader(still=True)
    reader._zbar.close()
    reader._zbar, reader._zxing = side_by_side(zbar), side_by_side(zxing)
    assert reader.read(np.full((SCRIPTED_PX, SCRIPTED_PX), 200, np.uint8)) == read
