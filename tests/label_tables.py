"""The tables of tests/tables, and the small pictures that the label tests draw."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from assistant.core.events import Label
from assistant.devices.symbol_places import Found, corners_of

TABLES = Path(__file__).parent / "tables"
LABELS = Path(__file__).parent.parent / "demo" / "labels"

_WIDTHS = (
    "212222 222122 222221 121223 121322 131222 122213 122312 132212 221213 221312 231212 112232 122132 122231 113222 "
    "123122 123221 223211 221132 221231 213212 223112 312131 311222 321122 321221 312212 322112 322211 212123 212321 "
    "232121 111323 131123 131321 112313 132113 132311 211313 231113 231311 112133 112331 132131 113123 113321 133121 "
    "313121 211331 231131 213113 213311 213131 311123 311321 331121 312113 312311 332111 314111 221411 431111 111224 "
    "111422 121124 121421 141122 141221 112214 112412 122114 122411 142112 142211 241211 221114 413111 241112 134111 "
    "111242 121142 121241 114212 124112 124211 411212 421112 421211 212141 214121 412121 111143 111341 131141 114113 "
    "114311 411113 411311 113141 114131 311141 411131 211412 211214 211232"
)
CODE_128_WIDTHS = _WIDTHS.split()
"""Bar and space widths of the values 0 to 105 (ISO/IEC 15417 table 1, from memory; the decoders agree with it)."""

CODE_128_STOP = "2331112"


def rows(name: str) -> list[dict[str, str]]:
    """A table's rows by column, comments left out."""
    lines = [line for line in (TABLES / name).read_text("utf-8").splitlines() if not line.startswith("# ")]
    head = lines[0].split("\t")
    return [dict(zip(head, line.split("\t"), strict=True)) for line in lines[1:]]


def drawn_code_128(values: list[int], module_px: int = 3) -> np.ndarray:
    """A symbol of these values as they stand, check value included, on white: height by width, grey."""
    widths = "".join(CODE_128_WIDTHS[v] for v in values) + CODE_128_STOP
    line: list[int] = []
    for i, width in enumerate(widths):
        line += [0 if i % 2 == 0 else 255] * (int(width) * module_px)
    return np.pad(np.tile(np.array(line, np.uint8), (120, 1)), 40, constant_values=255)


SCRIPTED_PX = 64
"""Breadth of the pictures that a scripted decoder is shown, before a rung makes them larger or smaller."""


def lines_at(label: Label, x: float, y: float = 20, width: float = 4, height: float = 2) -> Found:
    """Read here, in pixels of the scripted picture."""
    return Found(label, corners_of([(x, y), (x + width, y), (x + width, y + height), (x, y + height)]))


class ScriptedDecoder:
    """Finds the next of these in each picture, where they lie on the rung's larger or smaller one; then nothing."""

    def __init__(self, *found: tuple[Found, ...]) -> None:
        self.found = list(found)

    def decode(self, grey: np.ndarray) -> tuple[Found, ...]:
        found, scale = self.found.pop(0) if self.found else (), grey.shape[1] / SCRIPTED_PX
        return tuple(Found(one.label, corners_of(one.corners * scale)) for one in found)

    def close(self) -> None:
        pass
